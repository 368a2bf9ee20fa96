// Runs tests/*.spec.ts against the real binary in a headless browser.
//
//   LINEWRIGHT_BIN=/path/to/linewright npm run browser [words of a test's name]
//
// The browser is CHROME, else an installed Chrome, Chromium or Edge, else the
// one of the optional package @sparticuz/chromium (Linux x64).
import { readdir } from "node:fs/promises";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { createServer } from "vite";

const here = dirname(fileURLToPath(import.meta.url));
const vite = await createServer({
  root: dirname(here),
  configFile: false,
  logLevel: "error",
  appType: "custom",
  optimizeDeps: { noDiscovery: true },
  server: { middlewareMode: true, hmr: false, ws: false, watch: null },
});
let failed = 1;
try {
  const harness = await vite.ssrLoadModule("/tests/harness.ts");
  for (const file of (await readdir(here)).filter((name) => name.endsWith(".spec.ts")).sort()) {
    await vite.ssrLoadModule(`/tests/${file}`);
  }
  failed = await harness.run(process.argv.slice(2).join(" "), join(dirname(here), ".."));
} finally {
  await vite.close();
}
process.exit(failed === 0 ? 0 : 1);
