import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { accessible, ok, same, test, until } from "./harness";
import { littlePlant } from "./plants";
import { book, saved, view } from "./steps";

const LONG = { timeout: 120_000 };
const planned = (page: Page): Promise<void> => page.locator("[role=option]").first().waitFor(LONG);
const told = (page: Page): Promise<string> => page.locator(".handbar .told").innerText();
const by = (page: Page, word: string): Promise<void> => page.locator(".byhand", { hasText: word }).waitFor();

/** The little plant with two options under a rule and three colours. */
async function coloured(folder: string, more: Record<string, string> = {}): Promise<string> {
  const plant = await littlePlant(folder);
  const tables: Record<string, string> = {
    options: "option,share,at_most,in_every\ntow bar,0.25,1,3\nroof rails,0.3,1,2\n",
    colours: "colour,share,change_s,purge_l\nchalk white,0.5,12,0.3\nslate blue,0.3,12,0.3\nbrick red,0.2,12,0.3\n",
    plant: "setting,value\nname,Little Quay\norder_shop,trim\nlongest_colour_block,12\n",
    orders: "order,product,options,colour,due_place\nLQ-1,Dunlin,tow bar,slate blue,40\n",
    ...more,
  };
  for (const [name, text] of Object.entries(tables)) await writeFile(join(plant, `${name}.csv`), text);
  return plant;
}

/** A finger taps a car and drags it; laid on what is not chosen it scrolls and moves nothing. */
async function byTouch(page: Page): Promise<void> {
  await planned(page);
  const finger = await page.context().newCDPSession(page);
  const middle = async (place: number): Promise<{ x: number; y: number }> => {
    const box = await page.locator(`#car-${place}`).boundingBox();
    ok(box, `place ${place} on screen`);
    return { x: box.x + box.width * 0.7, y: box.y + box.height - 12 };
  };
  const stroke = async (from: { x: number; y: number }, to: { x: number; y: number }): Promise<void> => {
    await finger.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints: [from] });
    for (let n = 1; n <= 8; n += 1)
      await finger.send("Input.dispatchTouchEvent", {
        type: "touchMove",
        touchPoints: [{ x: from.x + ((to.x - from.x) * n) / 8, y: from.y + ((to.y - from.y) * n) / 8 }],
      });
    await finger.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
  };
  await page.locator("#car-30").scrollIntoViewIfNeeded();
  const car = (await page.locator("#car-20").getAttribute("aria-label"))?.slice(3);
  const tapped = await middle(20);
  await page.touchscreen.tap(tapped.x, tapped.y);
  await until(
    "the car tapped is chosen",
    async () => (await page.locator("#car-20").getAttribute("aria-selected")) === "true",
  );
  await until("places are judged", async () => /better|as good/.test(await told(page)));
  await stroke(await middle(20), await middle(23));
  await by(page, "1 move by hand");
  same((await page.locator("#car-23").getAttribute("aria-label"))?.slice(3), car, "the car dragged stands there");
  const before = await page.evaluate(() => window.scrollY);
  const away = await middle(30);
  await stroke(away, { x: away.x, y: away.y - 240 });
  await until("a finger elsewhere scrolls", async () => (await page.evaluate(() => window.scrollY)) > before + 60);
  ok(/moves=20\.1\.23(&|$)/.test(page.url()), `nothing else was moved: ${page.url()}`);
}

test("a car and a block are moved by pointer and keyboard, undone, kept over a reload, taken along and kept in the book", async ({
  serve,
  open,
  folder,
  note,
}) => {
  const server = await serve(await coloured(folder));
  const page = await open(view(server, "order"));
  await planned(page);
  same(await page.locator("[role=option]").count(), 420, "a car in every place");
  await accessible(page, "the build order");
  const first = await page.locator("#car-20").getAttribute("aria-label");
  // By keyboard: a car is picked up, carried and put down.
  await page.locator("#car-20").click();
  await until("places are judged", async () => /better|as good/.test(await told(page)));
  await page.keyboard.press("x");
  for (let i = 0; i < 3; i += 1) await page.keyboard.press("ArrowRight");
  ok(/At place 23:/.test(await told(page)), `the effect is told before it is put down: ${await told(page)}`);
  await page.keyboard.press("Enter");
  await by(page, "1 move by hand");
  ok((await page.locator("#car-23").getAttribute("aria-label"))?.slice(3) === first?.slice(3), "the car stands there");
  const ms = Number(/Shown ([\d,]+) ms/.exec(await page.locator(".byhand").innerText())?.[1]?.replace(",", ""));
  note(`a move's figures after ${ms} ms`);
  // A whole block, by its colour.
  const block = page.locator(".striprow").nth(2).locator(".car").nth(5);
  await block.scrollIntoViewIfNeeded();
  const box = await block.boundingBox();
  ok(box, "a car on screen");
  await page.mouse.move(box.x + 4, box.y + 24);
  await page.mouse.down();
  const to = await page.locator(".striprow").nth(1).locator(".car").nth(3).boundingBox();
  ok(to, "another");
  await page.mouse.move(to.x + 30, to.y + 60, { steps: 4 });
  await page.mouse.move(to.x + 3, to.y + 60);
  await page.mouse.up();
  await by(page, "2 moves by hand");
  ok(/moves=20\.1\.23_\d+\.\d+\.\d+/.test(page.url()), `the moves have an address: ${page.url()}`);
  await page.keyboard.press("Control+z");
  await by(page, "1 move by hand");
  await page.keyboard.press("Control+y");
  await by(page, "2 moves by hand");
  await page.reload();
  await by(page, "2 moves by hand");
  await accessible(page, "an order moved by hand");
  const csv = await page.evaluate(async () =>
    (
      await fetch(
        [...document.querySelectorAll<HTMLAnchorElement>("a[download]")].find((a) => a.href.includes(".csv"))?.href ??
          "",
      )
    ).text(),
  );
  same(csv.trim().split("\r\n").length, 421, "a line a car and the headers");
  const car = csv.split("\r\n")[20]?.split(",")[2];
  ok(
    (await page.locator("#car-20").getAttribute("aria-label"))?.includes(car ?? "?"),
    "the file has the order as moved",
  );
  const xlsx = await page.evaluate(
    async () =>
      (
        await fetch(
          [...document.querySelectorAll<HTMLAnchorElement>("a[download]")].find((a) => a.href.includes(".xlsx"))
            ?.href ?? "",
        )
      ).status,
  );
  same(xlsx, 200, "the workbook");
  // The rows of the book hold it from then on.
  const label = await page.locator("#car-23").getAttribute("aria-label");
  await page.getByLabel("places to freeze").fill("30");
  await page.locator("section[aria-labelledby=keep] button.main").click();
  await saved(page);
  const rows = (await book(server)).tables.find((table) => table.name === "orders")?.rows ?? [];
  ok(rows.length >= 30 && rows.length <= 31, `thirty frozen rows and the order that was there: ${rows.length}`);
  await until("the order is planned anew behind them", async () =>
    (await page.locator("#car-23").getAttribute("aria-label"))?.includes("frozen"),
  );
  const colour = label?.split(", ").find((word) => /white|blue|red/.test(word));
  ok(
    (await page.locator("#car-23").getAttribute("aria-label"))?.includes(colour ?? "?"),
    "the car moved by hand is frozen in its place",
  );
});

test("rules, colours, part use, promises, stations and store have pages; what cannot be ordered is told with its rows", async ({
  serve,
  open,
  folder,
}) => {
  const plant = await coloured(folder);
  const server = await serve(plant);
  const page = await open(view(server, "order"));
  await planned(page);
  for (const [show, word] of [
    ["rules", "What must hold"],
    ["colours", "changes of colour"],
    ["level", "level line"],
    ["promises", "LQ-1"],
    ["stations", "The same in the flow run"],
    ["store", "Lanes over time"],
  ] as const) {
    await page.goto(view(server, `order?show=${show}`));
    await page.locator("main section", { hasText: word }).first().waitFor();
    await accessible(page, `the build order's ${show}`);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    same(wide, 0, `no page wider than the window: ${show}`);
  }
  await page.setViewportSize({ width: 400, height: 800 });
  for (const show of ["strip", "rules", "level", "store"]) {
    await page.goto(view(server, `order?show=${show}`));
    await page.locator("main section").first().waitFor();
    same(
      await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth),
      0,
      `nothing runs out of the page at 400: ${show}`,
    );
  }
  await byTouch(await open(view(server, "order"), { hasTouch: true, viewport: { width: 400, height: 800 } }));
  await page.setViewportSize({ width: 1280, height: 900 });
  // A promise that a hard rule forbids: twenty tow bars among the first thirty.
  const orders = Array.from({ length: 20 }, (_, n) => `LQ-${n + 1},Dunlin,tow bar,,30,yes`);
  await writeFile(join(plant, "orders.csv"), `order,product,options,colour,due_place,must\n${orders.join("\n")}\n`);
  await writeFile(
    join(plant, "options.csv"),
    (await readFile(join(plant, "options.csv"), "utf8"))
      .replace("at_most,in_every", "at_most,in_every,must")
      .replace("1,3", "1,3,yes"),
  );
  const strict = await serve(plant);
  await page.goto(view(strict, "order"));
  const problem = page.locator(".planstate ul.problems li").first();
  await problem.waitFor(LONG);
  ok(/20 cars with .tow bar.*orders promised by then: LQ-1/.test(await problem.innerText()), await problem.innerText());
  await problem.locator("a").click();
  await page.waitForSelector(".grid .cell.here");
});

test("what must hold stands apart from wishes, and overruns of the run beside the planned ones", async ({
  serve,
  open,
  folder,
}) => {
  const levelled = await coloured(folder, {
    options: "option,share,at_most,in_every,must\ntow bar,0.25,1,3,yes\nroof rails,0.3,1,2,\n",
    cycles: "station,product,option,cycle_s\nT1 doors,,roof rails,420\n",
  });
  const stations = join(levelled, "stations.csv");
  await writeFile(stations, (await readFile(stations, "utf8")).replace("trim,trim,320", "trim,trim,250"));
  const server = await serve(levelled);
  const page = await open(view(server, "order?show=rules"));
  const musts = page.locator("section[aria-labelledby=musts]");
  await musts.locator("text=All that must hold is kept").waitFor(LONG);
  same(await musts.locator("tbody th").allInnerTexts(), ["tow bar"], "the rule that must hold");
  const wishes = page.locator("section[aria-labelledby=rules] tbody th");
  ok(!(await wishes.allInnerTexts()).includes("tow bar"), "what must hold is no wish");
  ok((await wishes.allInnerTexts()).includes("roof rails"), "the wish is one");
  const columns = (): Promise<string[]> => page.locator("section[aria-labelledby=rules] thead th").allInnerTexts();
  ok((await columns()).includes("runs past it"), `breaks have a column: ${(await columns()).join(" | ")}`);
  ok(!(await columns()).includes("as planned"), "what was planned is not told twice");
  await page.goto(view(server, "order"));
  await planned(page);
  await page.locator("#car-20").click();
  await until("places are judged", async () => /better|as good/.test(await told(page)));
  await page.keyboard.press("Alt+ArrowRight");
  await by(page, "1 move by hand");
  await page.locator("ul[aria-label='Pages of the build order'] a", { hasText: "rules" }).click();
  await until("once a car was moved it stands beside", async () => (await columns()).includes("as planned"));
  await page.goto(view(server, "order?show=stations"));
  const inRun = page.locator("section[aria-labelledby=inrun]");
  await inRun.locator("text=releases cars levelled").waitFor(LONG);
  await writeFile(
    join(levelled, "plant.csv"),
    `${await readFile(join(levelled, "plant.csv"), "utf8")}order_from_plan,yes\n`,
  );
  const driven = await serve(levelled);
  await page.goto(view(driven, "order?show=stations"));
  const row = inRun.locator("tbody tr", { hasText: "T1 doors" });
  await row.waitFor(LONG);
  const cells = await row.locator("td").allInnerTexts();
  same(cells.length, 10, `planned and in the run: ${cells.join(" | ")}`);
  ok(/±/.test(cells[5] ?? "") && /roof rails/.test(cells[9] ?? ""), `the run with its worst car: ${cells.join(" | ")}`);
  await accessible(page, "overruns in the run");
});

test("a longer search is asked for, cut short with its best, moved by hand, and made to its end", async ({
  serve,
  open,
  folder,
}) => {
  const server = await serve(await coloured(folder));
  const page = await open(view(server, "order"));
  await planned(page);
  await page.locator("main", { hasText: "moves and seed 1" }).waitFor();
  await page.getByLabel("search").selectOption("64");
  await page.locator("progress").waitFor();
  ok(/effort=64/.test(page.url()), "the effort has an address");
  const best = page.locator(".sofar", { hasText: "changes of colour" });
  await best.waitFor(LONG);
  ok(/runs of cars past a rule\s*\d/.test(await best.innerText()), `the best so far: ${await best.innerText()}`);
  await accessible(page, "a search that tells its best so far");
  await page.locator(".planstate button", { hasText: "Cancel" }).click();
  const cut = page.locator(".mark", { hasText: "The search was cut short after" });
  await cut.waitFor(LONG);
  same(await page.locator("[role=option]").count(), 420, "the best so far has every car");
  await page.locator("#car-20").click();
  await until("places are judged", async () => /better|as good/.test(await told(page)));
  await page.keyboard.press("Alt+ArrowRight");
  await by(page, "1 move by hand");
  await accessible(page, "an order cut short");
  await page.reload();
  await by(page, "1 move by hand");
  await cut.waitFor();
  // The whole search makes another order, on which the move would move another car.
  await page.getByLabel("search").selectOption("4");
  await page.locator("main", { hasText: "--effort 4" }).waitFor(LONG);
  same(await cut.count(), 0, "a search that came to its end says so");
});
