import { accessible, ok, same, test } from "./harness";
import { pricedPlant } from "./plants";
import { answered, precise, view } from "./steps";

const LONG = { timeout: 120_000 };

test("the cost of a car is a stack whose pieces open their working, with a missing price said and lost cars, parts and ideas at addresses of their own", async ({
  serve,
  open,
  folder,
}) => {
  const server = await serve(await pricedPlant(folder));
  const page = await open(view(server, "answer"));
  await answered(page);
  await page.goto(view(server, "money"));
  await page.locator("section[aria-labelledby=stack] svg a").first().waitFor(LONG);
  await accessible(page, "the cost of a car");
  const choice = page.locator("fieldset", { hasText: "What ideas give goes by" });
  ok(await choice.getByLabel("without runs").isChecked(), "what a car costs waits for no run");
  // With runs it says of how many cars, and they are those of the answer.
  await choice.getByLabel("runs of the plant, made now").check();
  const over = page.locator("section[aria-labelledby=stack] p", { hasText: "The run makes" });
  await over.waitFor(LONG);
  const runs = (await over.innerText()).match(/The run makes (\S+ ± \S+):/)?.[1] ?? "";
  await precise(page);
  await page.goto(view(server, "answer"));
  const sentence = await page.locator("h1.sentence", { hasText: "cars a week" }).innerText();
  ok(runs !== "" && sentence.includes(`${runs} cars a week`), `money says ${runs}, the answer: ${sentence}`);
  await page.goto(view(server, "money"));
  await page.locator("section[aria-labelledby=stack] svg a").first().waitFor(LONG);
  ok(
    (await page.locator("section[aria-labelledby=missing]").innerText()).includes("parts, row 3, price"),
    "the missing price is named with its place",
  );
  await page.locator("ul.tabs a", { hasText: "Curlew" }).click();
  ok(page.url().includes("product=Curlew"), "the product has an address");
  await page.locator("section[aria-labelledby=stack] svg a").first().click();
  await page.locator("section.working", { hasText: "Source:" }).waitFor();
  await page.goto(view(server, "money/lost"));
  await page.locator("h2#lostcar").waitFor();
  await accessible(page, "a lost car");
  await page.goto(view(server, "money/hours"));
  await page.locator("h2#hours").waitFor();
  await page.goto(view(server, "money/parts?part=body"));
  await page.locator("h2#onepart", { hasText: "Body" }).waitFor();
  await accessible(page, "make or buy");
  await page.goto(view(server, "money/ideas?idea=two trim places"));
  await page.locator("h2#onecase").waitFor();
  same(
    await page.locator("section[aria-labelledby=exclusive] tbody tr").count(),
    1,
    "two ideas on one cell exclude each other",
  );
  await accessible(page, "ideas and their value");
});

test("what ideas give goes by the ranking that was kept where that is chosen, and by the plan without a run", async ({
  serve,
  open,
  folder,
}) => {
  const server = await serve(await pricedPlant(folder));
  const page = await open(view(server, "money/ideas"));
  const choice = page.locator("fieldset", { hasText: "What ideas give goes by" });
  const said = page.locator("section[aria-labelledby=cases] p").first();
  await choice.waitFor(LONG);
  const kept = choice.getByLabel("the ranking that was kept");
  await page.getByText("No ranking of this revision is kept").waitFor(LONG);
  ok(await kept.isDisabled(), "without a ranking there is nothing to go by");
  await choice.getByLabel("the plan's weakest station, without runs").check();
  await said.getByText("the plan's weakest station").waitFor(LONG);
  await accessible(page, "ideas by the plan");
  await page.goto(view(server, "improve"));
  await page.getByRole("button", { name: "Rank the ideas" }).click();
  await page.getByText("First:").waitFor(LONG);
  await page.goto(view(server, "money/ideas"));
  await page.locator("summary", { hasText: "The kept ranking" }).click();
  ok(
    (await page.locator("details li").allInnerTexts()).some((text) => text.includes("two trim places")),
    "the gains that are kept are listed",
  );
  await kept.check();
  await said.getByText("the ranking of ideas that was kept").waitFor(LONG);
  const file = page.locator("p.files a");
  ok((await file.getAttribute("href"))?.endsWith("money.xlsx?ideas=kept") === true, "the file is of what is shown");
  await accessible(page, "ideas by the kept ranking");
});

test("growth draws each shop against the forecast with the day to decide by, and the ramp of a start", async ({
  serve,
  open,
  folder,
}) => {
  const server = await serve(await pricedPlant(folder));
  const page = await open(view(server, "growth"));
  const drawing = page.locator("section[aria-labelledby=lines] svg[role=img]");
  await drawing.waitFor(LONG);
  ok(/runs out in 2031 Q2/.test((await drawing.getAttribute("aria-label")) ?? ""), "the drawing is told in words");
  await accessible(page, "shops against the forecast");
  await page.locator("ul.tabs a", { hasText: "trim" }).click();
  ok(page.url().includes("shop=trim"), "the shop has an address");
  await page.goto(view(server, "growth/decisions"));
  await page.locator("h2#steps").waitFor();
  const facts = await page.locator("dl.facts").innerText();
  ok(/EUR\s+[\d,]+ once, [\d,]+ a year from then on/.test(facts), `money once and a year: ${facts}`);
  await accessible(page, "decisions and money");
  await page.goto(view(server, "growth/ramp"));
  await page.locator("h2#ramp").waitFor();
  ok(
    (await page.locator("section[aria-labelledby=ramp]").innerText()).includes("unit model"),
    "the model of learning is said",
  );
  await accessible(page, "the ramp");
});

test("a decision whose day has passed is marked, with the day from which the idea works now", async ({
  serve,
  open,
  folder,
}) => {
  const server = await serve(await pricedPlant(folder));
  const page = await open(server.url);
  await page.clock.setFixedTime(new Date("2031-03-30T08:00:00"));
  await page.goto(view(server, "growth/decisions"));
  const late = page.locator("section[aria-labelledby=steps] tbody tr", { hasText: "days ago" });
  await late.first().waitFor(LONG);
  const idea = await late.first().locator("th").innerText();
  const said = page.locator("main > p", { hasText: "was to be decided by" }).filter({ hasText: idea });
  ok(/decided today it works from 203\d-\d\d-\d\d, not from the start of/.test(await said.innerText()), "the way on");
  await accessible(page, "a decision whose day has passed");
});

test("a forecast with a gap is said with its row and the way out", async ({ serve, open, folder }) => {
  const server = await serve(await pricedPlant(folder, ["2031 Q1", "2031 Q3"]));
  const page = await open(view(server, "growth"));
  await page.locator(".planstate", { hasText: "right after" }).waitFor(LONG);
  ok((await page.locator(".planstate").innerText()).includes("add rows for 2031 Q2"), "the way out is said");
  await accessible(page, "a forecast with a gap");
});

test("every period of the forecast is run when that is asked for, and can be cancelled", async ({
  serve,
  open,
  folder,
}) => {
  // So many periods that there is time to cancel.
  const years = Array.from({ length: 30 }, (_, i) => 2031 + i);
  const quarters = years.flatMap((year) => ["Q1", "Q2", "Q3", "Q4"].map((quarter) => `${year} ${quarter}`));
  const server = await serve(await pricedPlant(folder, quarters));
  const page = await open(view(server, "growth"));
  const runs = page.locator("section[aria-labelledby=byrun]");
  const button = runs.locator("button", { hasText: "Run every period" });
  await button.click({ timeout: 120_000 });
  await runs.locator("button", { hasText: "Cancel" }).click();
  await runs.locator("text=was cancelled").waitFor();
  await runs.locator("button", { hasText: "Begin anew" }).click();
  await runs.locator("tbody tr").nth(2).waitFor({ timeout: 120_000 });
  const cells = await runs.locator("tbody tr").first().locator("td").allInnerTexts();
  ok(/±/.test(cells[2] ?? "") && /met|not shown/.test(cells[3] ?? ""), `made and judged: ${cells.join(" | ")}`);
  await accessible(page, "growth with its runs");
  const link = await page.locator("a[download]", { hasText: "growth with the runs" }).getAttribute("href");
  same(await page.evaluate(async (at) => (await fetch(at ?? "")).status, link), 200, "the workbook");
});
