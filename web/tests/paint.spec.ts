import { accessible, ok, same, test, until } from "./harness";
import { saved, stand, type, view } from "./steps";

const LONG = { timeout: 120_000 };

test("the paint line is drawn to scale with its windows, and films, blocks and repairs have pages", async ({
  serve,
  open,
  demo,
}) => {
  const server = await serve(demo);
  const page = await open(view(server, "shops/paint?show=line"));
  const line = page.locator("section[aria-labelledby=along] svg[role=group]");
  await line.locator("a.bar").first().waitFor(LONG);
  const label = (await line.getAttribute("aria-label")) ?? "";
  ok(
    /clear cure from [\d.,]+ m, [\d.,]+ m, [\d.,]+ min; metal [\d.,]+ of \d+–\d+/.test(label),
    `the drawing is told in words: ${label}`,
  );
  await line.locator("a.bar").nth(6).focus();
  await page.keyboard.press("Enter");
  await until("the step has an address", async () => page.url().includes("step="));
  await accessible(page, "the paint line");
  await page.locator("section[aria-labelledby=windows] a.figure").first().click();
  await page.locator("section.working", { hasText: "Source:" }).waitFor();
  for (const [name, heading] of [
    ["films", "#films"],
    ["colours", "#blocks"],
    ["repairs", "#loop"],
  ] as const) {
    await page.goto(view(server, `shops/paint?show=${name}`));
    await page.locator(`h2${heading}`).waitFor(LONG);
    await accessible(page, name);
  }
  await page.locator("p.caution", { hasText: "isocyanates" }).waitFor();
});

test("an oven made too short says by how much, and another rate changes the robots", async ({ serve, open, demo }) => {
  const server = await serve(demo);
  const page = await open(view(server, "book"));
  await stand(page, server, "coats", 18, "length_m");
  await type(page, "50");
  await saved(page);
  await page.goto(view(server, "shops/paint?show=line"));
  await page.locator("ul.problems li.error", { hasText: "row 18, length_m" }).waitFor(LONG);
  ok((await page.locator("ul.problems li.error").first().innerText()).includes("make it at least"), "the way out");
  await page.goto(view(server, "shops/paint?show=films&cars=900"));
  await page.locator("form.rate", { hasText: "the book stays as it is" }).waitFor(LONG);
  // A figure of this plan opens its own working, there and after a reload, and those that it is made of.
  const looked = page.locator("section[aria-labelledby=films] td:nth-last-child(2) a.figure").first();
  await until("the plan at the other rate", async () => (await looked.getAttribute("href"))?.includes("of=900"));
  const shown = (await looked.innerText()).trim();
  await looked.click();
  const result = page.locator("p.result");
  await result.waitFor();
  same(Number((await result.innerText()).split(" ")[0]), Number(shown.split(" ")[0]), "the figure that was followed");
  await page.locator("p.quiet", { hasText: "Of the plan at 900 cars a week" }).waitFor();
  await page.reload();
  await page.locator("p.quiet", { hasText: "Of the plan at 900 cars a week" }).waitFor(LONG);
  same(Number((await result.innerText()).split(" ")[0]), Number(shown.split(" ")[0]), "and after a reload");
  await page.locator("section.working a[href*='of=900']").first().click();
  await page.locator("p.quiet", { hasText: "Of the plan at 900 cars a week" }).waitFor();
  await page.goto(view(server, "shops/paint?show=films&cars=900"));
  await page.locator("form.rate", { hasText: "the book stays as it is" }).waitFor(LONG);
  await page.locator("form.rate input").fill("none");
  await page.locator("form.rate button").click();
  await page.locator("form.rate [role=alert]").waitFor();
});

test("the pages of paint fit a narrow screen", async ({ serve, open, demo }) => {
  const server = await serve(demo);
  const page = await open(view(server, "shops/paint?show=line"), { viewport: { width: 400, height: 800 } });
  for (const show of ["line", "films", "colours", "repairs"]) {
    await page.goto(view(server, `shops/paint?show=${show}`));
    await page.locator("main section h2").first().waitFor(LONG);
    same(
      await page.evaluate(() => Math.max(0, document.documentElement.scrollWidth - window.innerWidth)),
      0,
      `pixels that ${show} is too wide`,
    );
  }
});
