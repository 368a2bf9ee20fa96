import type { Page } from "playwright-core";
import { accessible, ok, same, test, until, type Server } from "./harness";
import { strainedPlant } from "./plants";
import { answered, cell, saved, stand, type, view } from "./steps";

/** The demo's strips are seconds of computing. */
const LONG = { timeout: 200_000 };

async function planned(server: Server): Promise<string[]> {
  const jobs = (await (await fetch(`${server.url}/api/jobs`)).json()) as { kind: string }[];
  return jobs.map((job) => job.kind).filter((kind) => kind === "coil" || kind === "press");
}

const to = (page: Page, server: Server, path: string): Promise<unknown> => page.goto(view(server, path));

test("the coil shop draws each part on its strip with the runner-up, tells which coils to hold and what to order", async ({
  serve,
  open,
  demo,
  note,
}) => {
  const server = await serve(demo);
  const page = await open(`${server.url}/`);
  await answered(page);
  same(await planned(server), [], "nothing is planned before its page is opened");
  const began = Date.now();
  await to(page, server, "shops/blanking");
  await page.locator("ul.tabs a", { hasText: "strips" }).click();
  await page.locator(".planstate button", { hasText: "Cancel" }).click();
  await page.locator(".planstate", { hasText: "was cancelled" }).waitFor();
  await accessible(page, "a cancelled shop plan");
  await page.locator(".planstate button", { hasText: "Make it" }).click();
  await page.locator(".strip-drawing svg[role=img] path.blank").first().waitFor(LONG);
  note(`strips on screen after ${Date.now() - began} ms, one cancel in between`);
  const part = page.locator("section[aria-labelledby=parts] tbody th a").nth(4);
  const name = await part.innerText();
  await part.focus();
  await page.keyboard.press("Enter");
  await page.locator("h2#strip", { hasText: name }).waitFor();
  ok(page.url().includes("part="), "the choice has an address");
  const label = await page.locator(".strip-drawing svg[role=img]").first().getAttribute("aria-label");
  ok(/\d+ blanks? in a pitch of [\d.,]+ mm/.test(label ?? ""), `the drawing is told in words: ${label}`);
  const strip = page.locator("section[aria-labelledby=strip]");
  ok(
    /It costs [\d.,]+ \w+ more a blank|no runner-up/.test(await strip.innerText()),
    "the runner-up and what it costs more",
  );
  await accessible(page, "strips");
  await strip.locator("tbody a.figure").first().click();
  await page.locator("section.working", { hasText: "Source:" }).waitFor();
  await accessible(page, "the working of a shop's figure");
  await to(page, server, "shops/blanking?show=coils");
  await page.locator("table.matrix").first().waitFor();
  await accessible(page, "coils to hold");
  await to(page, server, "shops/blanking?show=orders");
  await page.locator("table.weeks").first().waitFor();
  same(await page.locator("section[aria-labelledby=cover] thead th").count(), 15, "thirteen weeks, now and the coil");
  same(
    await page.locator("section[aria-labelledby=cover] td b", { hasText: "lowest" }).count(),
    1,
    "the lowest cover of all is named once",
  );
  await accessible(page, "cover and orders");
});

test("the press shop shows force with its caution, the die timetable with stock curves, racks, and what half a changeover gives", async ({
  serve,
  open,
  demo,
}) => {
  const server = await serve(demo);
  const page = await open(view(server, "shops/press?show=timetable"));
  await page.locator("section[aria-labelledby=timetable] svg a.bar").first().waitFor(LONG);
  const section = page.locator("section[aria-labelledby=timetable]");
  const curves = (): Promise<number> => section.locator("svg text.name", { hasText: ": stock" }).count();
  same(await curves(), 1, "the stock of the part that gets oldest");
  await section.locator("svg a.bar:not(.chosen)").first().focus();
  await page.keyboard.press("Enter");
  await until("two stock curves", async () => (await curves()) === 2);
  ok(page.url().includes("stock="), "the choice has an address");
  await accessible(page, "the timetable over its cycle");
  await section.locator("a", { hasText: "the week over its shifts" }).click();
  await until("the week is drawn", async () =>
    ((await section.locator("svg[role=group]").getAttribute("aria-label")) ?? "").includes("one week"),
  );
  await accessible(page, "the timetable over the week");
  for (const [name, heading] of [
    ["force", "#force"],
    ["racks", "#racks"],
    ["changeovers", "#halved"],
  ] as const) {
    await to(page, server, `shops/press?show=${name}`);
    await page.locator(`h2${heading}`).waitFor();
    await accessible(page, name);
  }
  await to(page, server, "shops/press?show=force");
  await page.locator("p.caution", { hasText: "licensed" }).waitFor();
});

test("an edit while a shop's page is open marks the plan as older and brings the new one", async ({
  serve,
  open,
  demo,
}) => {
  const server = await serve(demo);
  const page = await open(view(server, "shops/press?show=timetable"));
  await page.locator("h2#lines").waitFor(LONG);
  const before = await page.locator("section[aria-labelledby=lines] tbody tr").first().innerText();
  // Somebody else's edit, which the open page sees by itself.
  const variants = (await (await fetch(`${server.url}/api/variants`)).json()) as { head: { id: number } }[];
  const base = variants[0]?.head.id ?? 0;
  const { tables } = (await (await fetch(`${server.url}/api/revisions/${base}/book`)).json()) as {
    tables: { name: string; columns: string[]; rows: { id: string; cells: string[] }[] }[];
  };
  const lines = tables.find((at) => at.name === "press_lines");
  const row = lines?.rows.find((at) => at.cells[lines.columns.indexOf("kind")] === "press")?.id;
  const patches = [{ set: { table: "press_lines", row, column: "change_min", value: "4" } }];
  await fetch(`${server.url}/api/variants/1/edits`, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ base, author: "Ben", note: "", patches }),
  });
  await page.locator(".planstate", { hasText: "before this change" }).waitFor();
  await until(
    "the new plan is there",
    async () => (await page.locator("section[aria-labelledby=lines] tbody tr").first().innerText()) !== before,
    200_000,
  );
  await until(
    "and is no longer called older",
    async () => !(await page.locator(".planstate").innerText()).includes("before this change"),
  );
});

test("a shop's plan of a book with errors leads to the cells", async ({ serve, open, demo }) => {
  const server = await serve(demo);
  const page = await open(view(server, "book"));
  await stand(page, server, "press_lines", 2, "kind");
  await type(page, "blankng");
  await saved(page);
  await to(page, server, "shops/press?show=timetable");
  await page.locator("ul.problems li.error").first().waitFor();
  same(await planned(server), [], "nothing is planned of a wrong book");
});

test("the pages of a shop fit a narrow screen", async ({ serve, open, demo }) => {
  const server = await serve(demo);
  const page = await open(view(server, "shops/press?show=timetable"), { viewport: { width: 400, height: 800 } });
  for (const path of [
    "shops/press?show=timetable",
    "shops/press?show=force",
    "shops/press?show=racks",
    "shops/press?show=changeovers",
    "shops/blanking?show=strips",
    "shops/blanking?show=coils",
    "shops/blanking?show=orders",
    "shops/assembly?show=stations&line=trim%201",
    "shops/assembly?show=order&line=trim%201",
    "shops/assembly?show=moves",
    "shops/assembly?show=who&line=trim%202",
    "shops/assembly?show=robots",
    "shops/assembly?show=carts",
  ]) {
    await to(page, server, path);
    await page.locator("main section h2").first().waitFor(LONG);
    same(
      await page.evaluate(() => Math.max(0, document.documentElement.scrollWidth - window.innerWidth)),
      0,
      `pixels that ${path} is too wide`,
    );
  }
});

test("a task moves to another station by hand, today's line follows at once, and undo takes it back", async ({
  serve,
  open,
  demo,
  note,
}) => {
  const server = await serve(demo);
  const page = await open(view(server, "shops/assembly?show=stations&line=trim%202"));
  const chart = page.locator("section[aria-labelledby=stations] svg[role=group]");
  await chart.locator("a.segment").first().waitFor(LONG);
  const broken = page.locator("dl.facts dd .verdict").last();
  same(await broken.innerText(), "none", "the demo's line of today keeps every rule");
  await accessible(page, "work to stations");
  await chart.locator("a.bar").first().focus();
  await page.keyboard.press("Enter");
  const task = page.locator("section[aria-labelledby=station] tbody th a").first();
  const name = await task.innerText();
  await task.focus();
  await page.keyboard.press("Enter");
  await page.locator("h3#moving", { hasText: name }).waitFor();
  const before = await cell(server, "tasks", name, "station");
  const select = page.locator(".moving select");
  const last = (await select.locator("option").last().getAttribute("value")) ?? "";
  await select.selectOption(last);
  await page.locator(".moving button.main").click();
  await page.locator("ul.problems li.error", { hasText: name }).first().waitFor();
  await until("the book has it", async () => (await cell(server, "tasks", name, "station")) === last);
  note(await page.locator("p.measured").innerText());
  await accessible(page, "a task moved against the order");
  await page.keyboard.press("Control+z");
  await until("undo takes it back", async () => (await cell(server, "tasks", name, "station")) === before);
  await until("and the line is as it was", async () => (await broken.innerText()) === "none");
});

test("at another rate the lines balance anew, and all moves are accepted as one step", async ({
  serve,
  open,
  demo,
  note,
}) => {
  const server = await serve(demo);
  const page = await open(view(server, "shops/pack?show=moves"));
  await page.locator("section[aria-labelledby=moves] .verdict.met", { hasText: "none" }).waitFor(LONG);
  await page.locator("form.rate input[name=cars]").fill("1700");
  const began = Date.now();
  await page.keyboard.press("Enter");
  const accept = page.locator("button", { hasText: "Accept all" });
  await accept.waitFor(LONG);
  const took = Date.now() - began;
  note(`from another rate to its moves ${took} ms`);
  ok(page.url().includes("cars=1700"), "the rate has an address");
  await accessible(page, "moves at another rate");
  const rows = page.locator("section[aria-labelledby=moves] tbody tr");
  const first = await rows.first().locator("th, td").allInnerTexts();
  const [task = "", from = "", to = ""] = first;
  await accept.click();
  await until("the move is in the book", async () => (await cell(server, "tasks", task, "station")) === to);
  await page.locator("section[aria-labelledby=moves] .verdict.met", { hasText: "none" }).waitFor(LONG);
  await page.keyboard.press("Control+z");
  await until("and one step takes it back", async () => (await cell(server, "tasks", task, "station")) === from);
});

test("the order of work, who does it, robots and carts are shown with their cautions", async ({
  serve,
  open,
  demo,
}) => {
  const server = await serve(demo);
  const page = await open(view(server, "shops/assembly?show=order&line=trim%202"));
  await page.locator("svg a.task").first().waitFor(LONG);
  same(
    await page.locator(".drawing.order").evaluate((drawing) => drawing.scrollWidth <= drawing.clientWidth),
    true,
    "the picture is no wider than the page",
  );
  await page.locator("svg a.task").first().focus();
  await page.keyboard.press("ArrowDown");
  await page.locator("p.quiet", { hasText: "waits for" }).waitFor();
  await page.locator("svg a.task").nth(20).focus();
  await page.keyboard.press("Enter");
  await page.locator("h3", { hasText: "must come before" }).waitFor();
  same(await page.locator("svg a.task.chosen").count(), 1, "the chosen task");
  await accessible(page, "the order of work");
  await to(page, server, "shops/assembly?show=who&line=trim%202");
  await page.locator("section[aria-labelledby=who] tbody tr").first().waitFor(LONG);
  await page.locator("p.caution", { hasText: "NIOSH" }).waitFor();
  await accessible(page, "person or robot");
  await page.locator("section[aria-labelledby=lifting] a.figure").first().click();
  await page.locator("section.working", { hasText: "Source:" }).waitFor();
  await to(page, server, "shops/assembly?show=robots");
  await page.locator(".cell-time svg[role=img]").first().waitFor(LONG);
  await page.locator("p.caution", { hasText: "validates" }).waitFor();
  await accessible(page, "robots");
  await to(page, server, "shops/assembly?show=carts");
  await page.locator("section[aria-labelledby=loops] tbody tr").first().waitFor(LONG);
  same(
    await page.locator("section[aria-labelledby=stores] tbody th").allInnerTexts(),
    ["cockpit", "pack", "drive unit", "rear axle", "doors"],
    "each store has its planned size before any run",
  );
  await page.locator(".planstate button", { hasText: "Cancel" }).click();
  await page.locator(".planstate", { hasText: "was cancelled" }).waitFor();
  await accessible(page, "carts");
});

test("two parts on one strip are drawn with their names, a line that lacks time and a part too strong tell their ways out", async ({
  serve,
  open,
  demo,
  folder,
}) => {
  const server = await serve(await strainedPlant(demo, folder));
  const page = await open(view(server, "shops/press?show=timetable"));
  const mark = page.locator("section[aria-labelledby=lines] .mark", { hasText: "press line 2 lacks" });
  await mark.waitFor(LONG);
  ok(/minutes on each changeover/.test(await mark.innerText()), "the minutes that would do");
  ok((await mark.locator("a").count()) > 0, "the parts to move lead to their cells");
  same(await page.locator("a[href$='press.ics']").count(), 1, "the lines that keep up have their calendar");
  await accessible(page, "a line that lacks time");
  await to(page, server, "shops/press?show=force");
  await page.locator("p", { hasText: "battery bay side member needs" }).waitFor();
  same(await page.locator("tr.over .verdict", { hasText: "too strong" }).count(), 1, "the row is marked in words");
  await accessible(page, "a part too strong");
  await to(page, server, "shops/blanking?show=strips&part=front%20rail%20left");
  const drawing = page.locator(".strip-drawing svg[role=img]").first();
  await drawing.waitFor(LONG);
  const label = (await drawing.getAttribute("aria-label")) ?? "";
  ok(label.startsWith("front rail left and front rail right on a strip"), `both parts are named: ${label}`);
  same(await drawing.locator("text.value").allTextContents(), ["A1", "B2"], "their blanks are told apart by letters");
  const [a, b] = await Promise.all([0, 1].map((i) => drawing.locator("text.value").nth(i).boundingBox()));
  ok(a && b && Math.hypot(a.x - b.x, a.y - b.y) > 20, "each letter stands on its own blank");
  await accessible(page, "two parts on one strip");
});

test("the answer names the tasks that not everybody may do, and says so where nobody may", async ({
  serve,
  open,
  demo,
}) => {
  const server = await serve(demo);
  const page = await open(view(server, "answer"));
  const rows = page.locator("section[aria-labelledby=screened] tr");
  // What stands in nobody's way is not told as loudly as what does.
  await page.locator("section[aria-labelledby=screened] summary").first().click(LONG);
  await rows.filter({ hasText: "set bulkhead" }).filter({ hasText: "so it takes an aid" }).waitFor(LONG);
  same(await page.locator("p.under .verdict.missed").count(), 0, "somebody may do every task of the demo");
  await accessible(page, "who may not do what");
  await stand(page, server, "tasks", 275, "tolerance_mm");
  await type(page, "0.01");
  await saved(page);
  await to(page, server, "answer");
  await page.locator("p.under .verdict.missed", { hasText: "1 task has nobody who may do it" }).waitFor(LONG);
  const nobody = rows.filter({ hasText: "nobody" });
  ok(/Way out: change what refuses it/.test(await nobody.first().innerText()), "the way out stands beside it");
});
