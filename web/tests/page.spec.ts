/** The views of the page: the answer, what its figures rest on, comparing, addresses, widths, keyboard, paper. */
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { accessible, ok, same, test, until } from "./harness";
import { littlePlant } from "./plants";
import { VIEWS, book, cell, view, stand, type, saved, answered, ran, precise } from "./steps";

test("first open: the answer in a sentence, the strip from coil to car, every view free of barriers", async ({
  serve,
  open,
  demo,
  note,
}) => {
  const server = await serve(demo);
  const began = Date.now();
  const page = await open(`${server.url}/`);
  await page.waitForSelector("figure.strip svg text.neededword");
  note(`strip with the plan on screen after ${Date.now() - began} ms`);
  await answered(page);
  note(`first simulated answer on screen after ${Date.now() - began} ms`);
  ok(/\d ± \d+ cars a week/.test(await page.locator("h1").innerText()), "the sentence holds an interval");
  same(await page.locator("figure.strip svg a").count(), 8, "shops of the strip");
  ok(/#\/v\/1\/r\/head\/answer$/.test(page.url()), "the view has an address");
  const right = page.locator("section", { has: page.locator("h2", { hasText: "First time right" }) });
  ok(
    /\d ± \d[\d.]*\s%.*first try, \d.*\s% by plan; the target is 72/s.test(await right.innerText()),
    "first time right as made, as planned and as wanted",
  );
  ok((await right.locator("tbody tr").count()) >= 5, "the checks that first time right is lost at");
  for (const name of VIEWS) {
    await page.goto(view(server, name));
    await page.waitForSelector("main h1");
    await page.waitForTimeout(400);
    await accessible(page, name);
  }
  await page.goto(`${view(server, "flow")}?station=${encodeURIComponent("FR-02 framing gate")}`);
  await page.waitForSelector("aside.card dl");
  await accessible(page, "a station's card");
});

test("a change moves the plan at once and the runs follow", async ({ serve, open, folder, note }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await precise(page);
  const before = await page.locator("h1.sentence").innerText();
  await stand(page, server, "stations", 6, "cycle_s");
  await type(page, "260");
  await saved(page);
  await page.goto(view(server, "answer"));
  const words = page.locator(".under", { hasText: "Plan computed" });
  await words.waitFor();
  note(/Plan computed \d+ ms/.exec(await words.innerText())?.[0] ?? "");
  await precise(page);
  await until("the answer is another", async () => (await page.locator("h1.sentence").innerText()) !== before);
  await page
    .locator("section", { hasText: "What changed since" })
    .locator("li", { hasText: "T2 seats" })
    .first()
    .waitFor();
});

test("the flow view draws the days and the whole spread of times, and tells both as tables", async ({
  serve,
  open,
  folder,
}) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await page
    .locator("section", { hasText: "What changed since" })
    .locator("p", { hasText: "The book begins here" })
    .waitFor();
  await precise(page);
  await page.goto(view(server, "flow"));
  const course = page.locator("section[aria-labelledby=course]");
  await course.locator("svg[role=img] rect").first().waitFor();
  same(await course.locator("tbody tr").count(), 28, "four weeks of days");
  const time = page.locator("section[aria-labelledby=time]");
  same(await time.locator("tbody tr").count(), 51, "the cumulative curve in steps of 2 %");
  for (const section of [course, time])
    ok(/Over \d+ replications after \d+ h of warm-up/.test(await section.innerText()), "how it was simulated");
  await time.locator("summary").click();
  await accessible(page, "the days and the spread");
  await page.goto(view(server, "shops/trim"));
  await page.locator("dl.facts div", { hasText: "sends on in the flow" }).locator("a").click();
  await page.locator("dt", { hasText: "replications" }).waitFor();
});

test("compare names the changed cell and tells luck from difference", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await precise(page);
  await stand(page, server, "stations", 4, "cycle_s");
  await type(page, "304.9");
  await saved(page);
  await page.goto(view(server, "answer"));
  await ran(server);
  await precise(page);
  await page.goto(view(server, "compare"));
  await page.locator("tr", { hasText: "304.9" }).first().waitFor();
  const run = page.locator("section", { hasText: "Simulated figures" }).locator("tbody tr");
  await run.first().waitFor();
  const findings = await run.allInnerTexts();
  ok(
    findings.every((text) => /a difference|only luck/.test(text)),
    `every figure has its finding: ${findings.join(" | ")}`,
  );
  ok(
    findings.some((text) => text.includes("only luck")),
    "a tenth of a second beside the constraint is only luck",
  );
});

test("compare runs what has not been run, between variants as well, and says how", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const post = async (path: string, body: unknown): Promise<{ head: { id: number }; revision: { id: number } }> =>
    (await (
      await fetch(server.url + path, {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify(body),
      })
    ).json()) as { head: { id: number }; revision: { id: number } };
  const { revision, tables } = await book(server);
  const row = tables.find((at) => at.name === "stations")?.rows[4]?.id;
  const branch = await post("/api/variants", { name: "quicker seats", from_revision: revision.id, author: "Ben" });
  const patches = [{ set: { table: "stations", row, column: "cycle_s", value: "250" } }];
  const { revision: quicker } = await post("/api/variants/2/edits", {
    base: branch.head.id,
    author: "Ben",
    note: "",
    patches,
  });
  const page = await open(`${view(server, "compare")}?a=${revision.id}&b=${quicker.id}`);
  await page.locator("button", { hasText: "Run a preview of both" }).click();
  const section = page.locator("section", { hasText: "Simulated figures" });
  await section.locator("tbody tr", { hasText: "cars made" }).first().waitFor();
  ok(/\d replications of one week after \d+ h of warm-up/.test(await section.innerText()), "how it was simulated");
  await page.locator("section", { hasText: "Changed cells" }).locator("tr", { hasText: "T2 seats" }).waitFor();
  await accessible(page, "a comparison of variants");
});

test("every view has an address, and the back button leads back", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await page.locator("nav a", { hasText: "Shops" }).click();
  await page.locator("ul.tabs a", { hasText: "trim" }).click();
  await page.locator("table a.figure").first().click();
  await page.locator("h1", { hasText: "Working" }).waitFor();
  await page.locator("pre.expression").waitFor();
  await page.locator(".working a").first().click();
  await page.waitForSelector("main h1");
  for (const name of ["working", "shops/trim", "shops", "answer"]) {
    await page.goBack();
    await until(`back to ${name}`, async () => page.url().split("?")[0]?.includes(`/${name}`));
  }
});

test("at 1280, at 1920 and at 400 wide nothing runs out of the page; print fits", async ({ serve, open, demo }) => {
  const server = await serve(demo);
  const page = await open(`${server.url}/`, { viewport: { width: 400, height: 800 } });
  await answered(page);
  for (const width of [1920, 1280, 400]) {
    await page.setViewportSize({ width, height: 800 });
    for (const name of VIEWS) {
      await page.goto(view(server, name));
      await page.waitForSelector("main h1");
      await page.waitForTimeout(300);
      const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
      ok(over <= 0, `${name} is ${over} px too wide at ${width}`);
    }
  }
  await page.goto(view(server, "answer"));
  await answered(page);
  const pdf = await page.pdf({ format: "A3", landscape: true });
  ok(pdf.length > 10_000, "the print holds the answer");
});

test("the keyboard alone reaches the answer's figures and edits a cell", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "book/stations"));
  await page.waitForSelector(".grid .cell");
  await page.keyboard.press("Tab");
  same(await page.evaluate(() => document.activeElement?.textContent), "Skip to the content", "the first stop");
  for (let i = 0; i < 80 && !(await page.evaluate(() => document.activeElement?.classList.contains("grid"))); i += 1)
    await page.keyboard.press("Tab");
  ok(await page.evaluate(() => document.activeElement?.classList.contains("grid")), "Tab reaches the grid");
  for (let i = 0; i < 3; i += 1) await page.keyboard.press("ArrowRight");
  await page.keyboard.press("F2");
  await page.keyboard.type("307");
  await page.keyboard.press("Enter");
  await until("the cell is written", async () => (await cell(server, "stations", "B1 frame", "cycle_s")) === "307");
  await page.keyboard.press("Tab");
  ok(!(await page.evaluate(() => document.activeElement?.classList.contains("grid"))), "Tab leaves the grid");
});

test("a formula computes what is typed, in the reader's own numbers", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "formulas/mixed-load"), { locale: "de-DE" });
  await page.locator("#in-mix").fill("0,6;0,3;0,1");
  await page.locator("#in-station_times").fill("200;240;300");
  await page.locator("#in-takt").fill("237,6");
  await page.locator("button", { hasText: "Compute" }).click();
  // 0.6 * 200 + 0.3 * 240 + 0.1 * 300, by hand
  await page.locator("section.working tr", { hasText: "weighted" }).first().waitFor();
  ok(
    (await page.locator("section.working tr", { hasText: "weighted" }).first().innerText()).includes("222"),
    "the weighted load",
  );
});

test("the report and the figures come as files", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await precise(page);
  await page.goto(view(server, "report"));
  const href = await page.locator("a", { hasText: "Open the report" }).getAttribute("href");
  const report = await (await fetch(server.url + href)).text();
  ok(report.includes("<html") && !/(?:src|href)="https?:/.test(report), "one file that asks for nothing else");
  const [download] = await Promise.all([
    page.waitForEvent("download"),
    page.locator("a", { hasText: "Save all figures" }).click(),
  ]);
  const file = join(folder, "figures.xlsx");
  await download.saveAs(file);
  same((await readFile(file)).subarray(0, 2).toString(), "PK", "a workbook");
});
