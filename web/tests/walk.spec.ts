/** A first day: from an empty desk to a week's order, by keyboard alone. */
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { ok, same, test, until } from "./harness";
import { littlePlant } from "./plants";
import { answered, book, cell, saved } from "./steps";

const LONG = { timeout: 120_000 };

/** Goes on with Tab until what is focused says so. */
async function tabTo(page: Page, word: RegExp, most = 160): Promise<void> {
  for (let i = 0; i < most; i += 1) {
    const says = await page.evaluate(() => {
      const at = document.activeElement;
      if (!at || at.matches("body, main")) return "";
      return `${at.textContent ?? ""} ${at.getAttribute("aria-label") ?? ""} ${at.className}`.trim();
    });
    if (word.test(says)) return;
    await page.keyboard.press("Tab");
  }
  ok(false, `Tab never came to ${word}`);
}

async function press(page: Page, word: RegExp): Promise<void> {
  await tabTo(page, word);
  await page.keyboard.press("Enter");
}

test("the first day by keyboard: tables pasted with their heads, a problem mended, the answer, a week's order, a car moved", async ({
  serve,
  open,
  folder,
}) => {
  const plant = await littlePlant(folder);
  const text = async (name: string): Promise<string> =>
    (await readFile(join(plant, `${name}.csv`), "utf8")).trimEnd().replaceAll(",", "\t");
  const server = await serve(null);
  const page = await open(`${server.url}/`);
  const begin = page.locator("button", { hasText: "Begin a plant" });
  await page.locator("h1", { hasText: /empty|No plant yet/ }).waitFor();
  if ((await begin.count()) > 0) await press(page, /Begin a plant/);
  await page.locator("h1", { hasText: "This book is empty" }).waitFor();
  await press(page, /^Book/);
  await page.locator("h2", { hasText: "The book is empty" }).waitFor();
  await press(page, /begin with shifts/);
  await saved(page);
  const put = async (name: string, block: string): Promise<void> => {
    await press(page, new RegExp(`^${name} \\d`));
    await until(`the table ${name} is open`, async () => page.url().includes(`book/${name}`));
    await page.evaluate((block) => navigator.clipboard.writeText(block), block);
    if ((await page.locator("button", { hasText: "Begin it" }).count()) > 0) {
      await press(page, /^Begin it/);
      await until("the keyboard is in the new table", () =>
        page.evaluate(() => !!document.activeElement?.matches(".grid")),
      );
    } else await tabTo(page, /\bgrid\b/);
    await page.keyboard.press("Control+v");
    await saved(page);
    const rows = block.split("\n").length - 1;
    await until(
      `${name} has its rows`,
      async () => (await book(server)).tables.find((at) => at.name === name)?.rows.length === rows,
    );
  };
  await put("shifts", await text("shifts"));
  await put("products", await text("products"));
  // Its columns stand in another order, one is written otherwise and one is misspelt in a cell.
  const stations = (await text("stations")).replace("cycle_s", "Cycle s").replace("B2 rivet\tbody", "B2 rivet\tbdy");
  await put("stations", stations);
  await put("links", await text("links"));
  same(await cell(server, "stations", "B1 frame", "cycle_s"), "300", "the column was found by its name");
  // One step to undo, one to do again.
  await page.keyboard.press("Control+z");
  await until(
    "the block is gone",
    async () => (await book(server)).tables.find((at) => at.name === "links")?.rows.length === 0,
  );
  await page.keyboard.press("Control+y");
  await until("and back", async () => (await book(server)).tables.find((at) => at.name === "links")?.rows.length === 5);
  // The problem leads to its cell.
  await press(page, /^stations \d/);
  const problem = page.locator("ul.problems li", { hasText: "bdy" }).first();
  await problem.waitFor();
  await press(page, /^stations, row 3/);
  await until("the cursor stands on it", async () =>
    /bdy/.test(
      await page
        .locator(".grid .cell.here")
        .innerText()
        .catch(() => ""),
    ),
  );
  await tabTo(page, /\bgrid\b/);
  await page.keyboard.type("body");
  await page.keyboard.press("Enter");
  await saved(page);
  await press(page, /^Answer/);
  await answered(page);
  ok(/cars a week/.test(await page.locator("h1.sentence").innerText()), "the answer in a sentence");
  // A line of its own name is told with the names there are, and mended.
  await press(page, /^Build order/);
  await page.locator(".planstate ul.problems li", { hasText: "order_shop" }).waitFor(LONG);
  await press(page, /^Book/);
  await put("plant", "setting\tvalue\norder_shop\ttrim");
  await press(page, /^Build order/);
  await page.locator("[role=option]").first().waitFor(LONG);
  await tabTo(page, /strip-list/);
  for (const key of ["ArrowRight", "ArrowRight", "x", "ArrowRight", "ArrowRight", "Enter"])
    await page.keyboard.press(key);
  await page.locator(".byhand", { hasText: "1 move by hand" }).waitFor();
  await page.keyboard.press("Control+z");
  await until("the move is taken back", async () => (await page.locator(".byhand").count()) === 0);
  await tabTo(page, /order \(CSV\)/);
  const link = await page.evaluate(() => (document.activeElement as HTMLAnchorElement).href);
  same(await page.evaluate(async (at) => (await fetch(at)).status, link), 200, "the order to take along");
});
