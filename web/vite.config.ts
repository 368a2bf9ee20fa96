import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vitest/config";

// The server's content security policy knows no inline script, so nothing may
// be inlined; the module preload helper would be.
export default defineConfig({
  plugins: [svelte()],
  build: { target: "es2022", assetsInlineLimit: 0, modulePreload: { polyfill: false } },
  test: { include: ["src/**/*.test.ts"] },
  server: { proxy: { "/api": process.env["LINEWRIGHT_URL"] ?? "http://127.0.0.1:8080" } },
});
