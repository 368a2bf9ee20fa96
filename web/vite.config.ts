import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vitest/config";

const desk = process.env["LINEWRIGHT_URL"] ?? "http://127.0.0.1:8080";

// The server's content security policy knows no inline script, so nothing may
// be inlined; the module preload helper would be.
export default defineConfig({
  plugins: [svelte()],
  build: { target: "es2022", assetsInlineLimit: 0, modulePreload: { polyfill: false } },
  test: { include: ["src/**/*.test.ts"] },
  // The desk takes changes from its own page alone; while the page is written it
  // is served from elsewhere.
  server: { proxy: { "/api": { target: desk, changeOrigin: true, headers: { origin: desk } } } },
});
