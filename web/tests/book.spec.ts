/** The book as a spreadsheet: pasting, undoing, problems, columns of one's own, files in and out. */
import { writeFile } from "node:fs/promises";
import { join } from "node:path";
import { accessible, ok, same, test, until } from "./harness";
import { littlePlant, longForecast } from "./plants";
import { book, cell, view, stand, type, paste, saved, answered } from "./steps";

test("a block with decimal commas lands as numbers, in one step to undo and redo", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"), { locale: "de-DE" });
  await stand(page, server, "stations", 3, "cycle_s");
  await paste(page, "312,5\t1.240,25\n306,25\t\n");
  await until(
    "the block is on the server",
    async () => (await cell(server, "stations", "B2 rivet", "cycle_s")) === "312.5",
  );
  same(await cell(server, "stations", "B2 rivet", "mtbf_min"), "1240.25", "a point for thousands");
  same(await cell(server, "stations", "B3 finish", "cycle_s"), "306.25", "the second row");
  ok((await page.locator(".grid").innerText()).includes("312,5"), "the reader sees their own comma");
  await page.keyboard.press("Control+c");
  same(await page.evaluate(() => navigator.clipboard.readText()), "312,5\t1240,25\n306,25\t", "what is copied");
  await page.keyboard.press("Control+z");
  await until(
    "one step takes it all back",
    async () => (await cell(server, "stations", "B2 rivet", "cycle_s")) === "310",
  );
  same(await cell(server, "stations", "B2 rivet", "mtbf_min"), "240", "the other cell of the block");
  await page.keyboard.press("Control+Shift+Z");
  await until("and again", async () => (await cell(server, "stations", "B3 finish", "cycle_s")) === "306.25");
});

test("a block longer than the table adds rows, fill down and delete are each one step", async ({
  serve,
  open,
  folder,
}) => {
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
  await until(
    "rows are deleted",
    async () => (await book(server)).tables.find((at) => at.name === "products")?.rows.length === 1,
  );
  for (let i = 0; i < 3; i += 1) await page.keyboard.press("Control+z");
  await until("three steps back", async () => (await cell(server, "products", "Curlew", "cars_per_week")) === "120");
  same(
    (await book(server)).tables.find((at) => at.name === "products")?.rows.map((row) => row.cells[0]),
    ["Dunlin", "Curlew"],
    "rows in their order",
  );
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

test("a column of one's own is added, filled, deleted and brought back", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  const columns = async (): Promise<string[]> =>
    (await book(server)).tables.find((at) => at.name === "stations")?.columns ?? [];
  await stand(page, server, "stations", 2, "cycle_s");
  await page.locator("button", { hasText: "Add column" }).click();
  await page.keyboard.type("cycle_s");
  await page.locator("#column-said", { hasText: "already" }).waitFor();
  await page.keyboard.press("Control+a");
  await page.keyboard.type("who measured");
  await accessible(page, "naming a column");
  await page.keyboard.press("Enter");
  await until("the column is there", async () => (await columns()).includes("who measured"));
  await stand(page, server, "stations", 2, "who measured");
  await type(page, "Ada");
  await until("it is filled", async () => (await cell(server, "stations", "B1 frame", "who measured")) === "Ada");
  await page.locator("button", { hasText: "Delete column who measured" }).click();
  await until("it is gone", async () => !(await columns()).includes("who measured"));
  await page.locator(".grid").focus();
  await page.keyboard.press("Control+z");
  await until(
    "it is back with what it held",
    async () => (await cell(server, "stations", "B1 frame", "who measured")) === "Ada",
  );
  for (let i = 0; i < 2; i += 1) await page.keyboard.press("Control+z");
  await until("as it was", async () => !(await columns()).includes("who measured"));
});

test("an import is one step that undo takes back and redo does again, and others' edits stay", async ({
  serve,
  open,
  folder,
}) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "book"));
  const rows = async (): Promise<number> =>
    (await book(server)).tables.find((at) => at.name === "forecast")?.rows.length ?? -1;
  const file = join(folder, "forecast.csv");
  await writeFile(file, longForecast(24));
  await page.locator("input[type=file]").setInputFiles(file);
  await page.locator(".notice", { hasText: "is revision" }).waitFor();
  same(await rows(), 24, "the table came in");
  await stand(page, server, "stations", 3, "cycle_s");
  await type(page, "311");
  await saved(page);
  await page.keyboard.press("Control+z");
  await until("the edit is undone", async () => (await cell(server, "stations", "B2 rivet", "cycle_s")) === "310");
  await saved(page);
  // Somebody else's edit, in between.
  const { revision, tables } = await book(server);
  const other = tables.find((at) => at.name === "stations")?.rows[0]?.id;
  const patches = [{ set: { table: "stations", row: other, column: "cycle_s", value: "299" } }];
  await fetch(`${server.url}/api/variants/1/edits`, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ base: revision.id, author: "Ben", note: "", patches }),
  });
  await page.locator("button", { hasText: "Undo" }).click();
  await until("the import is undone", async () => (await rows()) === -1);
  same(await cell(server, "stations", "B1 frame", "cycle_s"), "299", "Ben's edit stays");
  await page.locator(".notice", { hasText: "Undone: import of forecast.csv" }).waitFor();
  await page.locator("button", { hasText: "Redo" }).click();
  await until("the import is there again", async () => (await rows()) === 24);
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
  await until("the reader sees their own decimal mark", async () =>
    (await page.locator(".grid").innerText()).includes("310.5"),
  );
  await stand(page, server, "products", 2, "cars_per_week");
  await type(page, "311.25");
  await until(
    "the table keeps its commas",
    async () => (await cell(server, "products", "Dunlin", "cars_per_week")) === "311,25",
  );
});

test("export and import again lose nothing", async ({ serve, open, folder, demo }) => {
  const server = await serve(demo);
  const page = await open(view(server, "book"));
  await page.locator("a", { hasText: "Export .xlsx" }).waitFor();
  const before = (await book(server)).tables.map(({ name, columns, rows }) => ({
    name,
    columns,
    rows: rows.map((row) => row.cells),
  }));
  const [download] = await Promise.all([
    page.waitForEvent("download"),
    page.locator("a", { hasText: "Export .xlsx" }).click(),
  ]);
  const file = join(folder, "book.xlsx");
  await download.saveAs(file);
  await stand(page, server, "stations", 3, "cycle_s");
  await type(page, "1");
  await saved(page);
  await page.locator("input[type=file]").setInputFiles(file);
  await page.locator(".notice", { hasText: "is revision" }).waitFor();
  const after = (await book(server)).tables.map(({ name, columns, rows }) => ({
    name,
    columns,
    rows: rows.map((row) => row.cells),
  }));
  const sorted = <T extends { name: string }>(tables: T[]): T[] =>
    tables.toSorted((a, b) => a.name.localeCompare(b.name));
  same(sorted(after), sorted(before), "the book after the round");
});

test("a table of 5,000 rows: drawn, found in, filtered, sorted, and its book unchanged by that", async ({
  serve,
  open,
  folder,
  note,
}) => {
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
  await until(
    "the filter holds",
    async () => (await page.locator(".grid").getAttribute("aria-rowcount")) === String(Math.floor(5000 / 90) + 1),
  );
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
  if (await page.locator("button", { hasText: "Begin a plant" }).count())
    await page.locator("button", { hasText: "Begin a plant" }).click();
  await page.locator("h1", { hasText: "empty" }).waitFor();
  await page.locator("nav a", { hasText: "Book" }).click();
  await page.locator("button", { hasText: "begin with" }).click();
  await page.locator("ul.tables a", { hasText: "stations" }).click();
  await page.locator("button", { hasText: "Add row" }).click();
  await until(
    "a row is there",
    async () => (await book(server)).tables.find((at) => at.name === "stations")?.rows.length === 1,
  );
});
