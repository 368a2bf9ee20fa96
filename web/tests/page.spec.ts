import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import type { Page } from "playwright-core";
import { accessible, ok, same, test, until, type Server } from "./harness";
import { littlePlant, longForecast } from "./plants";

interface Row { id: string; line: number; cells: string[] }
interface Book { revision: { id: number }; tables: { name: string; columns: string[]; rows: Row[] }[]; problems: { code: string; severity: string }[] }

const VIEWS = ["answer", "shops", "flow", "book", "book/stations", "compare", "working", "report", "formulas", "formulas/takt"];

async function book(server: Server): Promise<Book> {
  const variants = (await (await fetch(`${server.url}/api/variants`)).json()) as { head: { id: number } }[];
  return (await (await fetch(`${server.url}/api/revisions/${variants[0]?.head.id}/book`)).json()) as Book;
}

async function cell(server: Server, table: string, key: string, column: string): Promise<string | undefined> {
  const found = (await book(server)).tables.find((at) => at.name === table);
  return found?.rows.find((row) => row.cells[0] === key)?.cells[found.columns.indexOf(column)];
}

const view = (server: Server, path: string): string => `${server.url}/#/v/1/r/head/${path}`;

/** Puts the grid's cursor on a cell, as a link from elsewhere does. */
async function stand(page: Page, server: Server, table: string, line: number, column: string): Promise<void> {
  // A changed address alone does not load the page again.
  await page.goto(`${view(server, `book/${table}`)}?row=${line}&column=${column}`);
  await page.waitForSelector(".grid .cell.here");
  await until("the cursor stands there", () => page.evaluate(([line, column]) => {
    const here = document.querySelector(".grid .cell.here");
    const row = here?.parentElement?.querySelector(".number")?.textContent;
    return row === String(line) && document.querySelector(".grid .head.here")?.textContent?.trim().startsWith(String(column));
  }, [line, column] as const));
  await page.locator(".grid").focus();
}

async function type(page: Page, text: string): Promise<void> {
  await page.keyboard.type(text);
  await page.keyboard.press("Enter");
}

async function paste(page: Page, text: string): Promise<void> {
  await page.evaluate((text) => navigator.clipboard.writeText(text), text);
  await page.locator(".grid").focus();
  await page.keyboard.press("Control+v");
}

const saved = (page: Page): Promise<boolean> => until("everything is saved", async () => (await page.locator("header").innerText()).includes("saved") && !(await page.locator("header").innerText()).includes("not saved"));
const answered = (page: Page): Promise<unknown> => page.waitForSelector("h1.sentence .verdict", { timeout: 180_000 });
/** The newest revision has its precise answer. */
async function ran(server: Server): Promise<void> {
  const { revision } = await book(server);
  await until("the precise run is done", async () => (await fetch(`${server.url}/api/revisions/${revision.id}/answer?kind=precise`)).ok, 200_000);
}
const precise = (page: Page): Promise<boolean> => until("the precise answer is there", async () => (await page.locator("header .run").innerText()).includes("precise answer"), 200_000);

test("first open: the answer in a sentence, the strip from coil to car, every view free of barriers", async ({ serve, open, root, note }) => {
  const server = await serve(join(root, "demo", "merrow-quay"));
  const began = Date.now();
  const page = await open(`${server.url}/`);
  await page.waitForSelector("figure.strip svg text.neededword");
  note(`strip with the plan on screen after ${Date.now() - began} ms`);
  await answered(page);
  note(`first simulated answer on screen after ${Date.now() - began} ms`);
  ok(/\d ± \d+ cars a week/.test(await page.locator("h1").innerText()), "the sentence holds an interval");
  same(await page.locator("figure.strip svg a").count(), 8, "shops of the strip");
  ok(/#\/v\/1\/r\/head\/answer$/.test(page.url()), "the view has an address");
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

test("a warm server shows its answer at once, and the page is light", async ({ serve, open, folder, note }) => {
  const server = await serve(await littlePlant(folder));
  const first = await open(`${server.url}/`);
  await precise(first);
  const began = Date.now();
  const page = await open(`${server.url}/`);
  await answered(page);
  note(`first answer on screen after ${Date.now() - began} ms`);
  ok(Date.now() - began < 5_000, "the first answer takes long");
  const html = await (await fetch(`${server.url}/`)).text();
  const files = [...html.matchAll(/(?:src|href)="(\/[^"]+)"/g)].map((match) => match[1] ?? "");
  let bytes = gzipSync(html).length;
  for (const file of files) bytes += gzipSync(Buffer.from(await (await fetch(server.url + file)).arrayBuffer())).length;
  note(`the page weighs ${(bytes / 1000).toFixed(0)} kB gzip`);
  ok(bytes < 250_000, `the page weighs ${bytes} bytes`);
  ok(!/<script(?![^>]*src=)/.test(html) && !/ on\w+=/.test(html), "no script stands in the page itself");
});

test("a block with decimal commas lands as numbers, in one step to undo and redo", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"), { locale: "de-DE" });
  await stand(page, server, "stations", 3, "cycle_s");
  await paste(page, "312,5\t1.240,25\n306,25\t\n");
  await until("the block is on the server", async () => (await cell(server, "stations", "B2 rivet", "cycle_s")) === "312.5");
  same(await cell(server, "stations", "B2 rivet", "mtbf_min"), "1240.25", "a point for thousands");
  same(await cell(server, "stations", "B3 finish", "cycle_s"), "306.25", "the second row");
  ok((await page.locator(".grid").innerText()).includes("312,5"), "the reader sees their own comma");
  await page.keyboard.press("Control+c");
  same(await page.evaluate(() => navigator.clipboard.readText()), "312,5\t1240,25\n306,25\t", "what is copied");
  await page.keyboard.press("Control+z");
  await until("one step takes it all back", async () => (await cell(server, "stations", "B2 rivet", "cycle_s")) === "310");
  same(await cell(server, "stations", "B2 rivet", "mtbf_min"), "240", "the other cell of the block");
  await page.keyboard.press("Control+Shift+Z");
  await until("and again", async () => (await cell(server, "stations", "B3 finish", "cycle_s")) === "306.25");
});

test("a block longer than the table adds rows, fill down and delete are each one step", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await stand(page, server, "products", 3, "product");
  await paste(page, "Curlew\t130\nGodwit\t40\nKnot\t10");
  await until("rows are added", async () => (await cell(server, "products", "Knot", "cars_per_week")) === "10");
  await stand(page, server, "products", 3, "cars_per_week");
  await page.keyboard.press("Shift+ArrowDown");
  await page.keyboard.press("Shift+ArrowDown");
  await page.keyboard.press("Control+d");
  await until("filled down", async () => (await cell(server, "products", "Knot", "cars_per_week")) === "130");
  await page.keyboard.press("Shift+Delete");
  await until("rows are deleted", async () => (await book(server)).tables.find((at) => at.name === "products")?.rows.length === 1);
  for (let i = 0; i < 3; i += 1) await page.keyboard.press("Control+z");
  await until("three steps back", async () => (await cell(server, "products", "Curlew", "cars_per_week")) === "120");
  same((await book(server)).tables.find((at) => at.name === "products")?.rows.map((row) => row.cells[0]), ["Dunlin", "Curlew"], "rows in their order");
});

test("a problem is a marked cell with its reason and its way out", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await answered(page);
  await stand(page, server, "links", 3, "to");
  await type(page, "B3 finsh");
  await page.waitForSelector(".grid .cell.wrong[aria-invalid=true]");
  await page.keyboard.press("ArrowUp");
  const told = page.locator(".tells .mark");
  await until("the reason is told", async () => (await told.innerText()).includes("B3 finsh"));
  ok((await told.innerText()).includes("Way out"), "the way out is told");
  await page.locator("nav a", { hasText: "Answer" }).click();
  await page.waitForSelector("ul.problems li.error");
  await accessible(page, "a book with errors");
  ok((await page.locator("h1").innerText()).includes("cannot be computed"), "no plan is shown for a wrong book");
  await page.locator("ul.problems li.error a").first().click();
  await page.waitForSelector(".tells .mark button");
  await accessible(page, "a marked cell");
  await page.locator(".tells .mark button").click();
  await until("it is mended", async () => (await cell(server, "links", "B2 rivet", "to")) === "B3 finish");
  await page.locator("nav a", { hasText: "Answer" }).click();
  await answered(page);
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
  await page.locator("section", { hasText: "What changed since" }).locator("li", { hasText: "T2 seats" }).first().waitFor();
});

test("on the demo plant a key moves the plan's figures in a moment", async ({ serve, open, root, note }) => {
  const server = await serve(join(root, "demo", "merrow-quay"));
  const page = await open(view(server, "answer"));
  await page.waitForSelector("figure.strip svg text.neededword");
  const times: number[] = [];
  for (const cycle of ["161", "162", "163"]) {
    await stand(page, server, "stations", 53, "cycle_s");
    await type(page, cycle);
    await saved(page);
    await page.goto(view(server, "answer"));
    const words = page.locator(".under", { hasText: "Plan computed" });
    await words.waitFor();
    times.push(Number(/Plan computed (\d+) ms/.exec(await words.innerText())?.[1]));
  }
  note(`key to plan: ${times.join(", ")} ms`);
  ok(Math.min(...times) < 1_000, "the plan is slow");
  await answered(page);
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
  ok(findings.every((text) => /a difference|only luck/.test(text)), `every figure has its finding: ${findings.join(" | ")}`);
  ok(findings.some((text) => text.includes("only luck")), "a tenth of a second beside the constraint is only luck");
});

test("a cancelled run says so and can be run again", async ({ serve, open, root }) => {
  const server = await serve(join(root, "demo", "merrow-quay"));
  const page = await open(`${server.url}/`);
  await page.locator("header button", { hasText: "Cancel run" }).click();
  await until("it is cancelled", async () => (await page.locator("header .run").innerText()).includes("cancelled"));
  await page.locator("main p", { hasText: "The run was cancelled" }).waitFor();
  await accessible(page, "a cancelled run");
  await page.locator("header button", { hasText: "Run again" }).click();
  await page.locator("header progress").waitFor();
});

test("a reload during a run picks the run up", async ({ serve, open, root }) => {
  const server = await serve(join(root, "demo", "merrow-quay"));
  const page = await open(`${server.url}/`);
  await page.locator("header progress").waitFor();
  const jobs = async (): Promise<{ id: number; kind: string }[]> => (await (await fetch(`${server.url}/api/jobs`)).json()) as { id: number; kind: string }[];
  await until("a precise run", async () => (await jobs()).some((job) => job.kind === "precise"), 120_000);
  const before = (await jobs()).length;
  await page.reload();
  await page.locator("header progress").waitFor();
  await answered(page);
  same((await jobs()).length, before, "no second run is begun");
});

test("two readers: different cells merge, the same cell is a conflict with both values", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const ada = await open(view(server, "answer"));
  const ben = await open(view(server, "answer"));
  await ada.locator("header input").fill("Ada");
  await ben.locator("header input").fill("Ben");
  await stand(ada, server, "stations", 2, "cycle_s");
  await stand(ben, server, "stations", 3, "cycle_s");
  // Ben's page must not learn of Ada's edit before he has made his.
  await ben.route("**/api/variants", (route) => route.abort());
  await type(ada, "301");
  await saved(ada);
  await type(ben, "311");
  await until("both are there", async () => (await cell(server, "stations", "B1 frame", "cycle_s")) === "301" && (await cell(server, "stations", "B2 rivet", "cycle_s")) === "311");
  await until("Ben sees Ada's", async () => (await ben.locator(".grid").innerText()).includes("301"));
  await stand(ada, server, "stations", 5, "cycle_s");
  await until("Ada sees Ben's", async () => (await ada.locator(".grid").innerText()).includes("311"));
  await stand(ben, server, "stations", 5, "cycle_s");
  await type(ada, "321");
  await saved(ada);
  await type(ben, "322");
  const dialog = ben.locator("dialog");
  await dialog.waitFor();
  const text = await dialog.innerText();
  ok(["320", "321", "322"].every((value) => text.includes(value)), `the dialog shows what it was, theirs and yours: ${text}`);
  await accessible(ben, "a conflict");
  await ben.unroute("**/api/variants");
  await dialog.locator("label", { hasText: "322" }).click();
  await dialog.locator("button").click();
  await until("what was chosen stands", async () => (await cell(server, "stations", "T1 doors", "cycle_s")) === "322");
});

test("server gone: a change is kept and sent when it is back", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await stand(page, server, "stations", 2, "cycle_s");
  await server.kill();
  await type(page, "299");
  await page.locator(".notice", { hasText: "kept in this browser" }).waitFor();
  await accessible(page, "no server");
  ok((await page.locator(".grid").innerText()).includes("299"), "the change stays on screen");
  await server.again();
  await until("the change arrives", async () => (await cell(server, "stations", "B1 frame", "cycle_s")) === "299");
  await saved(page);
});

test("a change that could not be sent outlives a reload", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await stand(page, server, "stations", 2, "cycle_s");
  await page.route("**/edits", (route) => route.abort());
  await type(page, "298");
  await page.locator(".notice", { hasText: "kept in this browser" }).waitFor();
  await page.unroute("**/edits");
  await page.reload();
  await until("the change arrives", async () => (await cell(server, "stations", "B1 frame", "cycle_s")) === "298");
});

test("a file that is no book is refused in words, and the book stays", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const file = join(folder, "notes.xlsx");
  await writeFile(file, "these are no tables");
  const page = await open(view(server, "book"));
  const before = (await book(server)).revision.id;
  await page.locator("input[type=file]").setInputFiles(file);
  await page.locator(".notice.trouble", { hasText: "was not imported" }).waitFor();
  same((await book(server)).revision.id, before, "the revision");
});

test("a file dropped on the book is imported", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "book/products"));
  await page.waitForSelector(".grid .cell");
  const dropped = await page.evaluateHandle(() => {
    const data = new DataTransfer();
    data.items.add(new File(["product;cars_per_week\nDunlin;310,5\n"], "products.csv", { type: "text/csv" }));
    return data;
  });
  await page.dispatchEvent(".book", "dragover", { dataTransfer: dropped });
  await page.dispatchEvent(".book", "drop", { dataTransfer: dropped });
  await page.locator(".notice", { hasText: "is revision" }).waitFor();
  await until("the reader sees their own decimal mark", async () => (await page.locator(".grid").innerText()).includes("310.5"));
  await stand(page, server, "products", 2, "cars_per_week");
  await type(page, "311.25");
  await until("the table keeps its commas", async () => (await cell(server, "products", "Dunlin", "cars_per_week")) === "311,25");
});

test("export and import again lose nothing", async ({ serve, open, folder, root }) => {
  const server = await serve(join(root, "demo", "merrow-quay"));
  const page = await open(view(server, "book"));
  await page.locator("a", { hasText: "Export .xlsx" }).waitFor();
  const before = (await book(server)).tables.map(({ name, columns, rows }) => ({ name, columns, rows: rows.map((row) => row.cells) }));
  const [download] = await Promise.all([page.waitForEvent("download"), page.locator("a", { hasText: "Export .xlsx" }).click()]);
  const file = join(folder, "book.xlsx");
  await download.saveAs(file);
  await stand(page, server, "stations", 3, "cycle_s");
  await type(page, "1");
  await saved(page);
  await page.locator("input[type=file]").setInputFiles(file);
  await page.locator(".notice", { hasText: "is revision" }).waitFor();
  const after = (await book(server)).tables.map(({ name, columns, rows }) => ({ name, columns, rows: rows.map((row) => row.cells) }));
  const sorted = <T extends { name: string }>(tables: T[]): T[] => tables.toSorted((a, b) => a.name.localeCompare(b.name));
  same(sorted(after), sorted(before), "the book after the round");
});

test("a table of 5,000 rows: drawn, found in, filtered, sorted, and its book unchanged by that", async ({ serve, open, folder, note }) => {
  const server = await serve(await littlePlant(folder));
  const file = join(folder, "forecast.csv");
  await writeFile(file, longForecast(5000));
  const page = await open(view(server, "book"));
  await page.locator("input[type=file]").setInputFiles(file);
  await page.locator(".notice", { hasText: "is revision" }).waitFor();
  const revision = (await book(server)).revision.id;
  const began = Date.now();
  await stand(page, server, "forecast", 5001, "cars_per_week");
  note(`row 5,001 on screen after ${Date.now() - began} ms`);
  ok((await page.locator(".grid [role=row]").count()) < 200, "only the rows in sight are drawn");
  await page.locator("button", { hasText: "Filter" }).click();
  await page.locator("input[aria-label='Filter cars_per_week']").fill(">288");
  await until("the filter holds", async () => (await page.locator(".grid").getAttribute("aria-rowcount")) === String(Math.floor(5000 / 90) + 1));
  await page.locator(".grid .head button", { hasText: "period" }).click();
  await page.keyboard.press("Control+f");
  await page.keyboard.type("2034");
  await page.keyboard.press("Enter");
  await page.locator("[role=status]", { hasText: / of / }).first().waitFor();
  await accessible(page, "a filtered table");
  same((await book(server)).revision.id, revision, "the book is the same revision");
});

test("an empty store begins a book", async ({ serve, open }) => {
  const server = await serve(null);
  const page = await open(`${server.url}/`);
  await page.locator("h1", { hasText: /empty|No plant yet/ }).waitFor();
  await accessible(page, "an empty store");
  // The program may have begun a first variant by itself.
  if (await page.locator("button", { hasText: "Begin a plant" }).count()) await page.locator("button", { hasText: "Begin a plant" }).click();
  await page.locator("h1", { hasText: "empty" }).waitFor();
  await page.locator("nav a", { hasText: "Book" }).click();
  await page.locator("button", { hasText: "begin with" }).click();
  await page.locator("ul.tables a", { hasText: "stations" }).click();
  await page.locator("button", { hasText: "Add row" }).click();
  await until("a row is there", async () => (await book(server)).tables.find((at) => at.name === "stations")?.rows.length === 1);
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

test("at 400 wide nothing runs out of the page; print fits", async ({ serve, open, root }) => {
  const server = await serve(join(root, "demo", "merrow-quay"));
  const page = await open(`${server.url}/`, { viewport: { width: 400, height: 800 } });
  await answered(page);
  for (const name of VIEWS) {
    await page.goto(view(server, name));
    await page.waitForSelector("main h1");
    await page.waitForTimeout(300);
    const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    ok(over <= 0, `${name} is ${over} px too wide`);
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
  for (let i = 0; i < 80 && !(await page.evaluate(() => document.activeElement?.classList.contains("grid"))); i += 1) await page.keyboard.press("Tab");
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
  ok((await page.locator("section.working tr", { hasText: "weighted" }).first().innerText()).includes("222"), "the weighted load");
});

test("the report and the figures come as files", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await precise(page);
  await page.goto(view(server, "report"));
  const href = await page.locator("a", { hasText: "Open the report" }).getAttribute("href");
  const report = await (await fetch(server.url + href)).text();
  ok(report.includes("<html") && !/(?:src|href)="https?:/.test(report), "one file that asks for nothing else");
  const [download] = await Promise.all([page.waitForEvent("download"), page.locator("a", { hasText: "Save all figures" }).click()]);
  const file = join(folder, "figures.xlsx");
  await download.saveAs(file);
  same((await readFile(file)).subarray(0, 2).toString(), "PK", "a workbook");
});
