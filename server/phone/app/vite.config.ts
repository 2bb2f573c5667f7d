// Builds the app into ../dist: hashed files with .gz and .br beside them.
import { defineConfig } from "vite";
import { packed } from "./packed.mjs";
import { shell } from "./shell.mjs";

export default defineConfig({
  base: "./", // the app is at the root of its origin, and at /app/ on the machine itself
  build: {
    outDir: "../dist", emptyOutDir: false, target: "es2022", modulePreload: { polyfill: false }, assetsInlineLimit: 0,
    reportCompressedSize: false, chunkSizeWarningLimit: 1000,
    rolldownOptions: {
      input: { index: "index.html", day: "src/day/index.ts" }, // tests act by what screens act by
      preserveEntrySignatures: "allow-extension",
    },
  },
  worker: { format: "es" },
  plugins: [shell(), packed()],
});
