/** The page and its server: runs cancelled and picked up, two readers, a server that is gone. */
import { accessible, ok, same, test, until } from "./harness";
import { littlePlant } from "./plants";
import { cell, view, stand, type, saved, answered, precise } from "./steps";

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

test("a cancelled run says so and can be run again", async ({ serve, open, demo }) => {
  const server = await serve(demo);
  const page = await open(`${server.url}/`);
  await page.locator("header button", { hasText: "Cancel run" }).click();
  await until("it is cancelled", async () => (await page.locator("header .run").innerText()).includes("cancelled"));
  await page.locator("main p", { hasText: "The run was cancelled" }).waitFor();
  await accessible(page, "a cancelled run");
  await page.locator("header button", { hasText: "Run again" }).click();
  await page.locator("header progress").waitFor();
});

test("a reload during a run picks the run up", async ({ serve, open, demo }) => {
  const server = await serve(demo);
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
