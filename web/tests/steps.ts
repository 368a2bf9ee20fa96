/** Steps that the browser tests share: what a reader does, and what the server then holds. */
import type { Page } from "playwright-core";
import { until, type Server } from "./harness";

export interface Row {
  id: string;
  line: number;
  cells: string[];
}
export interface Book {
  revision: { id: number };
  tables: { name: string; columns: string[]; rows: Row[] }[];
  problems: { code: string; severity: string }[];
}

/** Said beside a measure where the machine is allowed longer than a quiet one. */
export const on = (times: number): string =>
  times > 1 ? ` (on a machine that is allowed ${times.toFixed(1)} times as long)` : "";

export const VIEWS = [
  "answer",
  "improve",
  "shops",
  "flow",
  "book",
  "book/stations",
  "compare",
  "working",
  "report",
  "formulas",
  "formulas/takt",
];

export async function book(server: Server): Promise<Book> {
  const variants = (await (await fetch(`${server.url}/api/variants`)).json()) as { head: { id: number } }[];
  return (await (await fetch(`${server.url}/api/revisions/${variants[0]?.head.id}/book`)).json()) as Book;
}

export async function cell(server: Server, table: string, key: string, column: string): Promise<string | undefined> {
  const found = (await book(server)).tables.find((at) => at.name === table);
  return found?.rows.find((row) => row.cells[0] === key)?.cells[found.columns.indexOf(column)];
}

export const view = (server: Server, path: string): string => `${server.url}/#/v/1/r/head/${path}`;

/** Puts the grid's cursor on a cell, as a link from elsewhere does. */
export async function stand(page: Page, server: Server, table: string, line: number, column: string): Promise<void> {
  // A changed address alone does not load the page again.
  await page.goto(`${view(server, `book/${table}`)}?row=${line}&column=${column}`);
  await page.waitForSelector(".grid .cell.here");
  await until("the cursor stands there", () =>
    page.evaluate(
      ([line, column]) => {
        const here = document.querySelector(".grid .cell.here");
        const row = here?.parentElement?.querySelector(".number")?.textContent;
        return (
          row === String(line) &&
          document.querySelector(".grid .head.here")?.textContent?.trim().startsWith(String(column))
        );
      },
      [line, column] as const,
    ),
  );
  await page.locator(".grid").focus();
}

export async function type(page: Page, text: string): Promise<void> {
  await page.keyboard.type(text);
  await page.keyboard.press("Enter");
}

export async function paste(page: Page, text: string): Promise<void> {
  await page.evaluate((text) => navigator.clipboard.writeText(text), text);
  await page.locator(".grid").focus();
  await page.keyboard.press("Control+v");
}

export const saved = (page: Page): Promise<boolean> =>
  until(
    "everything is saved",
    async () =>
      (await page.locator("header").innerText()).includes("saved") &&
      !(await page.locator("header").innerText()).includes("not saved"),
  );
export const answered = (page: Page): Promise<unknown> =>
  page.waitForSelector("h1.sentence .verdict", { timeout: 180_000 });
/** The newest revision has its precise answer. */
export async function ran(server: Server): Promise<void> {
  const { revision } = await book(server);
  await until(
    "the precise run is done",
    async () => (await fetch(`${server.url}/api/revisions/${revision.id}/answer?kind=precise`)).ok,
    200_000,
  );
}
export const precise = (page: Page): Promise<boolean> =>
  until(
    "the precise answer is there",
    async () => (await page.locator("header .run").innerText()).includes("precise answer"),
    200_000,
  );
