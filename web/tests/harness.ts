/** A small test runner: names, a server and a browser for each test. */
import { spawn, type ChildProcess } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdtemp, readFile, rm } from "node:fs/promises";
import { createRequire } from "node:module";
import { createServer } from "node:net";
import { availableParallelism, loadavg, tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import { chromium, type Browser, type BrowserContext, type BrowserContextOptions, type Page } from "playwright-core";

export interface Server {
  url: string;
  /** As a power cut does. */
  kill: () => Promise<void>;
  /** As a system ends its services; the exit code. */
  terminate: () => Promise<number | null>;
  again: () => Promise<void>;
}

export interface Bench {
  /** A folder of this test's own. */
  folder: string;
  /** The book of the invented plant where it lies, not to be changed. */
  demo: string;
  serve: (book: string | null) => Promise<Server>;
  /** A page in a browser of its own; errors on it fail the test. */
  open: (url: string, options?: BrowserContextOptions) => Promise<Page>;
  /** Prints a measure beside the test's name. */
  note: (text: string) => void;
}

type Test = { name: string; body: (bench: Bench) => Promise<void> };
const tests: Test[] = [];
const SLOWEST_MS = 240_000;

export function test(name: string, body: Test["body"]): void {
  tests.push({ name, body });
}

export function ok(holds: unknown, what: string): asserts holds {
  if (!holds) throw new Error(what);
}

export function same<T>(seen: T, wanted: T, what: string): void {
  const [a, b] = [JSON.stringify(seen), JSON.stringify(wanted)];
  ok(a === b, `${what}: seen ${a}, wanted ${b}`);
}

/** Asks again and again until it holds. */
export async function until<T>(
  what: string,
  ask: () => Promise<T | false | null | undefined>,
  ms = 60_000,
): Promise<T> {
  const end = Date.now() + ms;
  for (;;) {
    const got = await ask();
    if (got) return got;
    ok(Date.now() < end, `never happened: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
}

/** What so much arithmetic takes on a quiet machine of today. */
const QUIET_MS = 40;

/** Milliseconds that so much arithmetic takes now. */
function arithmetic(): number {
  const began = performance.now();
  let word = 1;
  for (let i = 0; i < 20_000_000; i += 1) {
    word ^= word << 13;
    word ^= word >>> 17;
    word ^= word << 5;
  }
  const took = performance.now() - began;
  ok(word !== 0, "the arithmetic is done");
  return took;
}

/**
 * How many times longer than on a quiet machine of today work takes here and now: what a measured time may be
 * multiplied by. By how many programs want each processor, or by arithmetic where that tells more. Squared, since what
 * goes back and forth between the browser and the server waits for its turn and is then slow.
 */
export function hardship(): number {
  const programs = (loadavg()[0] ?? 0) / availableParallelism();
  return Math.max(1, programs, arithmetic() / QUIET_MS) ** 2;
}

function installed(): string | null {
  const names = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "microsoft-edge"];
  for (const folder of (process.env["PATH"] ?? "").split(delimiter)) {
    const found = names.map((name) => join(folder, name)).find((path) => existsSync(path));
    if (found) return found;
  }
  const usual = [
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe",
    "C:\\Program Files (x86)\\Microsoft\\Edge\\Application\\msedge.exe",
  ];
  return usual.find((path) => existsSync(path)) ?? null;
}

async function launch(): Promise<Browser> {
  const own = process.env["CHROME"] ?? installed();
  const args = ["--no-sandbox", "--disable-dev-shm-usage"];
  if (own) return chromium.launch({ executablePath: own, args });
  interface Packed {
    args: string[];
    executablePath: () => Promise<string>;
  }
  const module = createRequire(import.meta.url)("@sparticuz/chromium") as Packed & { default?: Packed };
  const packed = module.default ?? module;
  // In a single process a page that ends badly takes the browser along.
  const apart = packed.args.filter((arg) => arg !== "--single-process");
  return chromium.launch({ executablePath: await packed.executablePath(), args: apart });
}

async function freePort(): Promise<number> {
  const probe = createServer();
  await new Promise<void>((resolve) => probe.listen(0, "127.0.0.1", resolve));
  const address = probe.address();
  await new Promise((resolve) => probe.close(resolve));
  ok(address !== null && typeof address === "object", "no free port");
  return address.port;
}

async function serve(binary: string, store: string, book: string | null): Promise<Server> {
  const port = await freePort();
  let child: ChildProcess | null = null;
  const start = async (): Promise<void> => {
    const args = ["serve", ...(book === null ? [] : [book]), "--store", store, "--port", String(port)];
    const begun = spawn(binary, args, { stdio: ["ignore", "pipe", "pipe"] });
    child = begun;
    let said = "";
    begun.stdout.on("data", (text) => (said += String(text)));
    begun.stderr.on("data", (text) => (said += String(text)));
    await until(
      `the server listens (${binary} ${args.join(" ")})`,
      async () => {
        ok(begun.exitCode === null, `the server ended: ${said}`);
        return fetch(`http://127.0.0.1:${port}/api/health`).then(
          (reply) => reply.ok,
          () => false,
        );
      },
      30_000,
    );
  };
  const kill = async (): Promise<void> => {
    const running = child;
    if (!running || running.exitCode !== null) return;
    const ended = new Promise((resolve) => running.once("exit", resolve));
    running.kill("SIGKILL");
    await ended;
  };
  const terminate = async (): Promise<number | null> => {
    const running = child;
    ok(running && running.exitCode === null, "the server runs");
    const ended = new Promise<number | null>((resolve) => running.once("exit", (code) => resolve(code)));
    running.kill("SIGTERM");
    return ended;
  };
  await start();
  return { url: `http://127.0.0.1:${port}`, kill, terminate, again: start };
}

/** A page's own complaints. A view that asks what is not computed yet gets a 404, and the browser says so. */
const EXPECTED =
  /status of (404|409|422)|ERR_CONNECTION_REFUSED|ERR_FAILED|ERR_CONNECTION_RESET|ERR_INTERNET_DISCONNECTED|ERR_INCOMPLETE_CHUNKED|ERR_EMPTY_RESPONSE|ERR_SOCKET_NOT_CONNECTED/;

export async function run(only: string, root: string): Promise<number> {
  const binary =
    process.env["LINEWRIGHT_BIN"] ??
    join(root, "target", "release", process.platform === "win32" ? "linewright.exe" : "linewright");
  if (!existsSync(binary)) {
    console.error(`there is no ${binary}; build it, or name another in LINEWRIGHT_BIN`);
    return 1;
  }
  let browser = await launch();
  let [passed, failed] = [0, 0];
  const chosen = tests.filter((one) => one.name.includes(only));
  for (let at = 0, begunAnew = false; at < chosen.length; at += begunAnew ? 0 : 1) {
    const { name, body } = chosen[at] as (typeof chosen)[number];
    const isSecond: boolean = begunAnew;
    begunAnew = false;
    if (!browser.isConnected()) browser = await launch();
    const folder = await mkdtemp(join(tmpdir(), "linewright-page-"));
    const servers: Server[] = [];
    const contexts: BrowserContext[] = [];
    const complaints: string[] = [];
    const notes: string[] = [];
    const bench: Bench = {
      folder,
      demo: join(root, "demo", "merrow-quay"),
      note: (text) => notes.push(text),
      serve: async (book) => {
        const server = await serve(binary, join(folder, `store-${servers.length}.db`), book);
        servers.push(server);
        return server;
      },
      open: async (url, options = {}) => {
        // Without a language of its own the packed browser reports one that no formatter knows.
        const context = await browser.newContext({
          locale: "en-GB",
          viewport: { width: 1280, height: 900 },
          permissions: ["clipboard-read", "clipboard-write"],
          ...options,
        });
        contexts.push(context);
        const page = await context.newPage();
        page.setDefaultTimeout(60_000);
        page.on("pageerror", (error) => complaints.push(error.message));
        page.on("console", (message) => {
          if (message.type() === "error" && !EXPECTED.test(message.text())) complaints.push(message.text());
        });
        await page.goto(url);
        return page;
      },
    };
    const began = Date.now();
    let timer: ReturnType<typeof setTimeout> | undefined;
    try {
      const late = new Promise<never>((_, reject) => {
        timer = setTimeout(() => reject(new Error(`not done after ${SLOWEST_MS / 1000} s`)), SLOWEST_MS);
      });
      await Promise.race([body(bench), late]);
      same(complaints, [], "errors on the page");
      passed += 1;
      console.log(
        `ok    ${name} (${((Date.now() - began) / 1000).toFixed(1)} s)${notes.map((text) => `\n        ${text}`).join("")}`,
      );
    } catch (error) {
      // The browser's own end says nothing of the page; a second one does.
      begunAnew = !browser.isConnected() && !isSecond;
      if (begunAnew) {
        console.log(`the browser ended by itself; once more: ${name}`);
        continue;
      }
      failed += 1;
      console.log(
        `FAIL  ${name}\n      ${error instanceof Error ? (error.stack ?? error.message) : String(error)}${complaints.map((text) => `\n      page: ${text}`).join("")}`,
      );
      const pictures = process.env["LINEWRIGHT_PICTURES"];
      for (const [i, context] of contexts.entries()) {
        const page = context.pages()[0];
        if (pictures && page)
          await page
            .screenshot({ path: join(pictures, `${name.replace(/\W+/g, "-")}-${i}.png`) })
            .catch(() => undefined);
      }
    } finally {
      clearTimeout(timer);
      await Promise.all(contexts.map((context) => context.close().catch(() => undefined)));
      await Promise.all(servers.map((server) => server.kill()));
      await rm(folder, { recursive: true, force: true });
    }
  }
  await browser.close();
  console.log(`\n${passed} passed, ${failed} failed`);
  return passed === 0 ? 1 : failed;
}

/** The rules of WCAG 2.2 AA that a machine can check; none may be broken. */
export async function accessible(page: Page, where: string): Promise<void> {
  const source = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
  await page.evaluate(source);
  const found = await page.evaluate(async () => {
    const axe = (
      window as unknown as {
        axe: {
          run: (
            root: Document,
            options: unknown,
          ) => Promise<{
            violations: { id: string; help: string; nodes: { target: string[]; failureSummary?: string }[] }[];
          }>;
        };
      }
    ).axe;
    const { violations } = await axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    });
    return violations.map(
      ({ id, help, nodes }) =>
        `${id}: ${help} at ${nodes
          .slice(0, 3)
          .map((node) => `${node.target.join(" ")} (${node.failureSummary ?? ""})`)
          .join("; ")}`,
    );
  });
  same(found, [], `axe on ${where}`);
}
