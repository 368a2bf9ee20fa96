import { writeFile } from "node:fs/promises";
import { join } from "node:path";
import { accessible, ok, same, test, until } from "./harness";
import { littlePlant } from "./plants";
import { cell, saved, view } from "./steps";

const LONG = { timeout: 120_000 };

test("ideas are ranked, tried together in the flow and accepted into the book; the way to a rate and the banks have their pages", async ({
  serve,
  open,
  folder,
}) => {
  const plant = await littlePlant(folder);
  await writeFile(
    join(plant, "ideas.csv"),
    "idea,table,row,column,from,to,investment,cost_per_year,weeks\nquick doors,stations,T1 doors,cycle_s,320,290,40000,0,4\nquick seats,stations,T2 seats,cycle_s,330,290,60000,1000,6\nas it is,stations,B1 frame,cycle_s,300,300,1,0,1\n",
  );
  const server = await serve(plant);
  const page = await open(view(server, "answer"));
  const next = page.locator("section[aria-labelledby=next]");
  await next.locator("a", { hasText: "Rank the ideas" }).click(LONG);
  await page.locator(".planstate button", { hasText: "Rank the ideas" }).click();
  const rows = page.locator("section[aria-labelledby=ranked] tbody tr");
  await rows.first().waitFor(LONG);
  ok(
    (await page.locator("section[aria-labelledby=ranked] details").innerText()).includes("not run"),
    "ideas that were not run are counted",
  );
  await accessible(page, "ranked ideas");
  // The answer names the best of them, before it tells of days and products.
  await page.goto(view(server, "answer"));
  const best = next.locator("li").first();
  await best.waitFor(LONG);
  ok(/: \+[\d.]+ ± [\d.]+ cars a week/.test(await best.innerText()), await best.innerText());
  const heads = await page.locator("h2").allInnerTexts();
  const place = (word: string): number => heads.findIndex((head) => head.startsWith(word));
  ok(place("What to do next") >= 0 && place("What to do next") < place("Coil to car"), heads.join(" | "));
  await accessible(page, "the answer with what to do next");
  await page.goto(view(server, "improve"));
  await rows.first().waitFor(LONG);
  await page.locator("input[aria-label='Try quick seats']").check();
  await page.locator("input[aria-label='Try quick doors']").check();
  ok(/tick=1(%2C|,)2/.test(page.url()), `the tray has an address: ${page.url()}`);
  await page.locator("section[aria-labelledby=tray] button", { hasText: "Run the plant with all" }).click();
  await page.locator("section[aria-labelledby=tray] dl.facts").waitFor(LONG);
  await accessible(page, "the what-if tray");
  await page.locator("section[aria-labelledby=tray] button", { hasText: "Accept into the book" }).click();
  await saved(page);
  await until("the book holds it", async () => (await cell(server, "stations", "T2 seats", "cycle_s")) === "290");
  same(await cell(server, "stations", "T1 doors", "cycle_s"), "290", "both ideas are in the book");

  await page.goto(view(server, "improve?show=way&cars=1"));
  await page.locator(".planstate button", { hasText: "Find the cheapest way" }).click();
  await page.locator("p", { hasText: "as it is" }).last().waitFor(LONG);
  await page.locator("section[aria-labelledby=curve] svg[role=img]").waitFor();
  await accessible(page, "the way to a rate");
  await page.goto(view(server, "improve?show=way&cars=&days=30"));
  await page.locator(".planstate button", { hasText: "Find the cheapest way" }).click();
  await page.locator("p", { hasText: "days from coil to car as it is" }).waitFor(LONG);
  await page.goto(view(server, "improve?show=way&cars=-5"));
  await page.locator(".planstate", { hasText: "more than 0" }).waitFor();
  await page.goto(view(server, "improve?show=buffers"));
  await page.locator(".planstate button", { hasText: "Price the banks" }).click();
  await page.locator("section[aria-labelledby=banks] tbody tr").first().waitFor(LONG);
  await accessible(page, "banks both ways");
});
