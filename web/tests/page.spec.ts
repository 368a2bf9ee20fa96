import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { accessible, ok, same, test, until } from "./harness";
import { littlePlant, longForecast } from "./plants";
import { VIEWS, book, cell, view, stand, type, paste, saved, answered, ran, precise } from "./steps";

test("first open: the answer in a sentence, the strip from coil to car, every view free of barriers", async ({
  serve,
  open,
  root,
  note,
}) => {
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

test("a server that is told to end answers what is under way and loses nothing", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await stand(page, server, "stations", 3, "cycle_s");
  await type(page, "312");
  await saved(page);
  same(await server.terminate(), 0, "the exit code");
  await page.locator(".notice.trouble", { hasText: "does not answer" }).waitFor();
  await server.again();
  same(await cell(server, "stations", "B2 rivet", "cycle_s"), "312", "the edit");
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
  const jobs = async (): Promise<{ id: number; kind: string }[]> =>
    (await (await fetch(`${server.url}/api/jobs`)).json()) as { id: number; kind: string }[];
  await until("a precise run", async () => (await jobs()).some((job) => job.kind === "precise"), 120_000);
  const before = (await jobs()).length;
  await page.reload();
  await page.locator("header progress").waitFor();
  await answered(page);
  same((await jobs()).length, before, "no second run is begun");
});

test("two readers: different cells merge, the same cell is a conflict with both values", async ({
  serve,
  open,
  folder,
}) => {
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
  await until(
    "both are there",
    async () =>
      (await cell(server, "stations", "B1 frame", "cycle_s")) === "301" &&
      (await cell(server, "stations", "B2 rivet", "cycle_s")) === "311",
  );
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
  ok(
    ["320", "321", "322"].every((value) => text.includes(value)),
    `the dialog shows what it was, theirs and yours: ${text}`,
  );
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

test("offline: the page keeps what it shows and what is typed, and catches up", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await precise(page);
  await stand(page, server, "stations", 2, "cycle_s");
  await until("the other views are fetched", () =>
    page.evaluate(() => performance.getEntriesByType("resource").some((entry) => entry.name.includes("/Formulas-"))),
  );
  await page.context().setOffline(true);
  await type(page, "297");
  await page.locator(".notice", { hasText: "kept in this browser" }).waitFor();
  await page.locator("nav a", { hasText: "Answer" }).click();
  await page.locator("h1.sentence .verdict").waitFor();
  await page.locator("nav a", { hasText: "Flow" }).click();
  await page.locator("section[aria-labelledby=course] svg").first().waitFor();
  await page.context().setOffline(false);
  await until("the change arrives", async () => (await cell(server, "stations", "B1 frame", "cycle_s")) === "297");
  await saved(page);
});

test("a change that could not be sent outlives a reload", async ({ serve, open, folder }) => {
  const server = await serve(await littlePlant(folder));
  const page = await open(view(server, "answer"));
  await stand(page, server, "stations", 2, "cycle_s");
  await page.route("**/edits*", (route) => route.abort());
  await type(page, "298");
  await page.locator(".notice", { hasText: "kept in this browser" }).waitFor();
  await page.unroute("**/edits*");
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

test("export and import again lose nothing", async ({ serve, open, folder, root }) => {
  const server = await serve(join(root, "demo", "merrow-quay"));
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

test("at 1280, at 1920 and at 400 wide nothing runs out of the page; print fits", async ({ serve, open, root }) => {
  const server = await serve(join(root, "demo", "merrow-quay"));
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
