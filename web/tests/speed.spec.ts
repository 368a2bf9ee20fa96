/** How quick the page is, and how light. */
import { gzipSync } from "node:zlib";
import { hardship, ok, test, until } from "./harness";
import { littlePlant } from "./plants";
import { on, book, view, stand, type, saved, answered, precise } from "./steps";

test("a warm server shows its answer at once, and the page is light", async ({ serve, open, folder, note }) => {
  const server = await serve(await littlePlant(folder));
  const first = await open(`${server.url}/`);
  await precise(first);
  const began = Date.now();
  const page = await open(`${server.url}/`);
  await answered(page);
  const shown = Date.now() - began;
  const times = hardship();
  note(`first answer on screen after ${shown} ms${on(times)}`);
  ok(shown < 1_500 * times, `the first answer takes ${shown} ms`);
  const html = await (await fetch(`${server.url}/`)).text();
  const fetched = (): Promise<string[]> =>
    page.evaluate(() =>
      performance
        .getEntriesByType("resource")
        .map((entry) => entry.name)
        .filter((name) => name.includes("/assets/")),
    );
  const weight = async (files: string[]): Promise<number> => {
    let bytes = gzipSync(html).length;
    for (const file of new Set(files)) bytes += gzipSync(Buffer.from(await (await fetch(file)).arrayBuffer())).length;
    return bytes;
  };
  const firstView = await weight(await fetched());
  // The other views come behind the first, so that they open at once.
  await page.waitForTimeout(4_000);
  const all = await weight(await fetched());
  note(`the first view weighs ${(firstView / 1000).toFixed(0)} kB gzip, all of them ${(all / 1000).toFixed(0)} kB`);
  ok(firstView < 250_000 && all < 300_000, `the page weighs ${firstView} bytes, all views ${all}`);
  ok(all > firstView, "the other views are fetched behind the first");
  ok(!/<script(?![^>]*src=)/.test(html) && !/ on\w+=/.test(html), "no script stands in the page itself");
});

test("on the demo plant a key moves the plan's figures within a tenth of a second", async ({
  serve,
  open,
  demo,
  note,
}) => {
  const server = await serve(demo);
  const page = await open(view(server, "answer"));
  await page.waitForSelector("figure.strip svg text.neededword");
  const columns = (await book(server)).tables.find((at) => at.name === "stations")?.columns ?? [];
  await stand(page, server, "stations", 52, "cycle_s");
  ok(columns.includes("cycle_s"), "the column");
  // From the key to the plan's figures in the page's own text, by the page's own clock.
  await page.evaluate(() => {
    const seen: number[] = [];
    (window as unknown as { seen: number[] }).seen = seen;
    let pressed = 0;
    document.addEventListener(
      "keydown",
      (event) => {
        if (event.key === "Enter") pressed = performance.now();
      },
      true,
    );
    const line = document.querySelector(".planline");
    const figure = (): string => line?.querySelector("a.figure")?.textContent ?? "";
    let before = figure();
    new MutationObserver(() => {
      if (figure() === before || figure() === "") return;
      before = figure();
      seen.push(performance.now() - pressed);
    }).observe(line ?? document.body, { subtree: true, childList: true, characterData: true });
  });
  const seen = (): Promise<number[]> => page.evaluate(() => (window as unknown as { seen: number[] }).seen);
  // The framing gate is the weakest, so each cycle is another figure. The first key is a warm-up.
  for (let i = 0; i < 10; i += 1) {
    await type(page, String(190 + i));
    await until("the figure moves", async () => (await seen()).length === i + 1);
    await saved(page);
    await page.keyboard.press("ArrowUp");
  }
  const times = (await seen()).slice(1).sort((a, b) => a - b);
  const median = times[Math.floor(times.length / 2)] ?? Infinity;
  const longer = hardship();
  note(`key to figure: median ${median.toFixed(0)} ms of ${times.map((ms) => ms.toFixed(0)).join(", ")}${on(longer)}`);
  ok(median < 100 * longer, `key to figure takes ${median} ms`);
});

test("a preview run of the demo plant takes less than a second", async ({ serve, demo, note }) => {
  const server = await serve(demo);
  const { revision, tables } = await book(server);
  const stations = tables.find((at) => at.name === "stations");
  const row = stations?.rows[50]?.id;
  let base = revision.id;
  const times: number[] = [];
  const send = async <T>(path: string, body: unknown): Promise<T> => {
    const reply = await fetch(server.url + path, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(body),
    });
    ok(reply.ok, `${path}: ${reply.status}`);
    return (await reply.json()) as T;
  };
  for (const value of ["175", "176", "177", "178", "179"]) {
    const patches = [{ set: { table: "stations", row, column: "cycle_s", value } }];
    base = (
      await send<{ revision: { id: number } }>("/api/variants/1/edits", { base, author: "Ada", note: "", patches })
    ).revision.id;
    const began = performance.now();
    const { job } = await send<{ job: number }>(`/api/revisions/${base}/runs`, { kind: "preview" });
    // The stream of events ends with the job.
    const events = await (await fetch(`${server.url}/api/jobs/${job}/events`)).text();
    times.push(performance.now() - began);
    ok(events.includes('"done"'), "the run ends well");
    const answer = (await (await fetch(`${server.url}/api/revisions/${base}/answer?kind=preview`)).json()) as {
      made: { half_width: number | null };
    };
    ok((answer.made.half_width ?? 0) > 0, "its interval is shown");
  }
  const longer = hardship();
  note(`preview runs: ${times.map((ms) => ms.toFixed(0)).join(", ")} ms${on(longer)}`);
  ok(Math.min(...times) < 1_000 * longer, "the preview is slow");
});
