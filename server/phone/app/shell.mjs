// Shell makes the service worker of a build: src/sw.ts with the list of all files that make the
// app work without a server, and a version that is their hash.
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, readdirSync, rmSync } from "node:fs";
import { join, relative } from "node:path";
import { build } from "vite";

const placeholder = "placeholder"; // what git keeps of the folder

export function shell() {
  let root, out;
  return {
    name: "shell",
    apply: "build",
    configResolved(config) {
      root = config.root;
      out = join(config.root, config.build.outDir);
    },
    buildStart() {
      mkdirSync(out, { recursive: true });
      for (const name of readdirSync(out)) if (name !== placeholder) rmSync(join(out, name), { recursive: true });
    },
    async writeBundle() {
      const files = readdirSync(out, { withFileTypes: true, recursive: true }).filter((e) => e.isFile())
        .map((e) => relative(out, join(e.parentPath, e.name))).filter((name) => name !== placeholder).sort();
      const version = createHash("sha256");
      for (const name of files) version.update(name).update(readFileSync(join(out, name)));
      await build({
        configFile: false, root, logLevel: "warn", publicDir: false,
        define: { __FILES__: JSON.stringify(files), __VERSION__: JSON.stringify(version.digest("hex").slice(0, 16)) },
        build: {
          outDir: out, emptyOutDir: false, reportCompressedSize: false, target: "es2022",
          lib: { entry: join(root, "src/sw.ts"), formats: ["es"], fileName: () => "sw.js" },
        },
      });
    },
  };
}
