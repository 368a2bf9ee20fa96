import { mkdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { accessible, ok, same, test, until } from "./harness";
import { littlePlant } from "./plants";
import { cell, saved, view } from "./steps";

const LONG = { timeout: 40_000 };

test("a log of the plant's own run tells the day in cars, is noted in the morning report, and what the book has wrong is taken over", async ({
  serve,
  open,
  folder,
}) => {
  const plant = await littlePlant(folder);
  const server = await serve(plant);
  const page = await open(view(server, "happened"));
  await page.locator("button", { hasText: "Write a log of the plant’s own run" }).click();
  await page.locator(".planstate button", { hasText: "Replay the day" }).click(LONG);
  await page.locator("section[aria-labelledby=hours] svg[role=img]").waitFor(LONG);
  await accessible(page, "the day");
  await page.locator("section[aria-labelledby=losses] button", { hasText: "Note" }).first().click();
  await page.locator("#note-what:focus").waitFor();
  await page.keyboard.type("dress the tips at the break");
  await page.keyboard.press("Enter");
  await page.locator("section[aria-labelledby=losses] td", { hasText: "dress the tips" }).waitFor();
  const report = await page.locator("a", { hasText: "Morning report" }).getAttribute("href");
  ok(
    (await (await fetch(server.url + report)).text()).includes("dress the tips at the break"),
    "the note stands in the morning report",
  );
  same(
    (await fetch(server.url + (await page.locator("a", { hasText: "The day (.xlsx)" }).getAttribute("href")))).status,
    200,
    "the day as a workbook",
  );

  for (const [name, inside] of [
    ["stops", "#pareto"],
    ["figures", "#figures"],
    ["fits", "figure svg[role=img]"],
    ["trend", "#weeks"],
    ["log", "#wrong"],
  ] as const) {
    await page
      .locator("ul.tabs a", {
        hasText: { stops: "Stops", figures: "Figures", fits: "Fits", trend: "Trend", log: "The log" }[name],
      })
      .first()
      .click();
    await page.locator(inside).first().waitFor();
    await accessible(page, `what happened, ${name}`);
  }

  // The book says something else than the log: one value is ticked and taken over.
  await page.goto(view(server, "book/stations?row=3&column=mtbf_min"));
  await page.waitForSelector(".grid .cell.here");
  await page.locator(".grid").focus();
  await page.keyboard.type("2000");
  await page.keyboard.press("Enter");
  await saved(page);
  await page.goto(view(server, "happened/truth"));
  await page.locator("input[aria-label='Take over time between stops, min of B2 rivet']").check(LONG);
  await accessible(page, "the book against the truth");
  await page.locator("button", { hasText: "Take one value over" }).click();
  await saved(page);
  const taken = Number(await cell(server, "stations", "B2 rivet", "mtbf_min"));
  ok(taken > 50 && taken < 1000, `the log's value is in the book: ${taken}`);
  await page.keyboard.press("Control+z");
  await until("undo takes it back", async () => (await cell(server, "stations", "B2 rivet", "mtbf_min")) === "2000");
  await page.locator(".planstate button", { hasText: "Run the plant against the log" }).click(LONG);
  await page.locator("section[aria-labelledby=believe] tbody tr").first().waitFor(LONG);
  ok(
    (await page.locator("section[aria-labelledby=believe]").innerText()).includes("mended"),
    "the model is told as it stands and mended",
  );
});

test("a log with words of its own is mapped once, and wrong logs are told with a way out", async ({
  serve,
  open,
  folder,
}) => {
  const server = await serve(await littlePlant(folder));
  const logs = join(folder, "logs");
  await mkdir(logs);
  const row = (station: string, state: string, hour: number): string =>
    `${station};2026-03-02 ${String(6 + hour).padStart(2, "0")}:00:00;2026-03-02 ${String(7 + hour).padStart(2, "0")}:00:00;${state}`;
  const rows = (stations: string[]): string =>
    stations
      .flatMap((name) => Array.from({ length: 8 }, (_, hour) => row(name, hour === 3 ? "STAND" : "working", hour)))
      .join("\n");
  const mine = ["B1 frame", "B2 rivet", "B3 finish", "T1 doors", "T2 seats", "T3 test"];
  const write = async (name: string, text: string): Promise<string> => {
    await writeFile(join(logs, name), text);
    return join(logs, name);
  };
  const head = "Maschine;from;to;Status";
  const page = await open(view(server, "happened"));
  await page.locator("#send").waitFor();
  await accessible(page, "no log yet");

  const keep = async (): Promise<void> => {
    await page.locator("button", { hasText: "Keep the log" }).click();
    await page.waitForURL(/log=\d+/);
  };
  const send = async (path: string): Promise<void> => {
    await page.goto(view(server, "happened/log"));
    await page.locator("input[type=file]").setInputFiles(path);
    await page.locator("#sent").waitFor();
  };
  await send(await write("shift.csv", `${head}\n${rows(mine)}\n`));
  await page.locator("select").filter({ hasText: "left aside" }).selectOption("states");
  ok(await page.locator("button", { hasText: "Keep the log" }).isDisabled(), "columns are missing");
  await page.locator("select[aria-label='station of shift.csv']").selectOption("Maschine");
  await page.locator("select[aria-label='state of shift.csv']").selectOption("Status");
  await accessible(page, "columns of a log");
  await keep();
  await page.goto(view(server, "happened/log"));
  await page.locator("select[aria-label='State STAND means']").selectOption("stopped", LONG);
  await page.locator("button", { hasText: "Read the log anew so" }).click();
  await page.locator("#wrong + p", { hasText: "all 48 rows count" }).waitFor(LONG);

  // The header is remembered, and so is what STAND means.
  await send(await write("next.csv", `${head}\n${rows(["B1 frame"])}\n`));
  ok((await page.locator("#sent").innerText()).includes("seen before"), "the header is known");
  await keep();
  await page.locator(".caution", { hasText: "one station only" }).waitFor(LONG);
  await send(await write("other.csv", `${head}\n${rows(["OP10", "OP20", "B1 frames"])}\n`));
  await keep();
  await page.locator(".caution", { hasText: "0 of 3 names match the 6 stations" }).waitFor(LONG);
  await page.goto(view(server, "happened/log"));
  await page.locator("button", { hasText: "Take the nearest name" }).click(LONG);
  same(await page.locator("input[aria-label='B1 frames is in the book']").inputValue(), "B1 frame", "the nearest name");
  await accessible(page, "a log of another plant");
  await send(await write("empty.csv", `${head}\n`));
  await keep();
  await page.locator(".caution", { hasText: "a header and no rows" }).waitFor(LONG);
  await page.goto(view(server, "happened/log"));
  await page.locator("input[type=file]").setInputFiles(await write("picture.png", "no log"));
  await page.locator(".caution", { hasText: "is no log" }).waitFor();
  await page.locator("input[type=file]").setInputFiles(await write("states.parquet", "PAR1"));
  await page
    .locator(".caution", { hasText: "which this build cannot read; export the log as CSV, or build with" })
    .waitFor();
  await page.goto(view(server, "happened/day?log=1&day=1999-01-01"));
  await page.locator(".caution", { hasText: "no 1999-01-01" }).waitFor(LONG);
  await page.goto(view(server, "happened/day?log=99"));
  await page.locator("p", { hasText: "There is no log 99" }).waitFor();
  ok((await readFile(join(logs, "empty.csv"), "utf8")).length > 0, "the reader's files are as they were");
});

test("a figure over the weeks is drawn with its band and the book's line, says in a word that it drifts, and is read by keyboard and on paper", async ({
  serve,
  open,
  folder,
}) => {
  const server = await serve(await littlePlant(folder));
  // Four weeks: T1 doors as planned, B2 rivet six seconds slower each week.
  const pad = (n: number): string => String(n).padStart(2, "0");
  const rows = [2, 9, 16, 23].flatMap((monday, week) =>
    [0, 1, 2, 3, 4].flatMap((day) =>
      (
        [
          ["B2 rivet", 310 + 6 * week],
          ["T1 doors", 320],
        ] as const
      ).flatMap(([station, cycle]) =>
        Array.from({ length: 20 }, (_, job) => {
          const stamp = (s: number): string =>
            `2026-03-${pad(monday + day)}T${pad(Math.floor(s / 3600))}:${pad(Math.floor(s / 60) % 60)}:${pad(s % 60)}Z`;
          const from = 7 * 3600 + job * 900;
          return `${station},${stamp(from)},${stamp(from + cycle + (job % 5))},working,Dunlin,${station} ${monday + day} ${job}`;
        }),
      ),
    ),
  );
  const log = join(folder, "weeks.csv");
  await writeFile(log, `station,from,to,state,product,item\n${rows.join("\n")}\n`);
  const page = await open(view(server, "happened/log"));
  await page.locator("input[type=file]").setInputFiles(log);
  await page.locator("button", { hasText: "Keep the log" }).click();
  await page.waitForURL(/log=\d+/);
  await page.goto(view(server, "happened/trend"));

  const slow = page.locator("figure.weeks", { hasText: "Time worked over planned" });
  await slow.locator(".verdict", { hasText: "rises" }).waitFor(LONG);
  await page.locator("#moving ~ ul a", { hasText: "B2 rivet" }).waitFor();
  ok(
    (await slow.locator("svg[role=group]").getAttribute("aria-label"))?.includes("the book has 1.000") === true,
    "the drawing is told in words",
  );
  same(await slow.locator("line.needed").count(), 1, "the book's value as a line");
  same(await slow.locator("circle").count(), 4, "a point a week");
  await slow.locator("a.bar").first().focus();
  await page.keyboard.press("Tab");
  await slow.locator(".reading", { hasText: "Week of 2026-03-09" }).waitFor();
  await page
    .locator("figure.weeks", { hasText: "Time worked between stops" })
    .locator("a[aria-label*='not less than']")
    .first()
    .waitFor();
  ok(
    (await page.locator("section[aria-labelledby=weeks] tbody").innerText()).includes("no stop"),
    "the exact figures stay in the table",
  );
  await accessible(page, "trend over weeks");
  await page.locator("input[list=trend-stations]").fill("T1 doors");
  await page.keyboard.press("Enter");
  await slow.locator(".verdict", { hasText: "steady" }).waitFor();
  for (const width of [400, 1280]) {
    await page.setViewportSize({ width, height: 900 });
    ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `nothing runs over at ${width}`);
  }
  await page.emulateMedia({ media: "print" });
  ok(await slow.locator("svg").isVisible(), "the drawing is on paper");
  await page.locator("input[list=trend-stations]").waitFor({ state: "hidden" });
});
