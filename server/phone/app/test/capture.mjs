// node test/capture.mjs: reads forms as JSON, one a line, and prints the bytes of the edit that the
// page makes of each, in hexadecimal digits. The page's own source is built, nothing of it is copied.
import { rmSync } from "node:fs";
import { mkdtemp } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { text } from "node:stream/consumers";
import { fileURLToPath, pathToFileURL } from "node:url";
import { build } from "vite";

const root = fileURLToPath(new URL("..", import.meta.url));
const folder = await mkdtemp(join(tmpdir(), "capture-"));
try {
  await build({
    configFile: false, root, logLevel: "warn", publicDir: false,
    build: { outDir: folder, emptyOutDir: true, minify: false,
      lib: { entry: join(root, "src/capture/index.ts"), formats: ["es"], fileName: () => "capture.mjs" } },
  });
  const { bytesOfEdit, hexOf, headOf, parse, parseDot } = await import(pathToFileURL(join(folder, "capture.mjs")).href);
  for (const line of (await text(process.stdin)).split("\n").filter(Boolean)) {
    const form = JSON.parse(line);
    const bytes = bytesOfEdit({
      production: form.production, kind: form.kind, record: form.record, device: form.device, dot: { line: form.line, n: form.n },
      at: form.at, offsetMs: form.offsetMs, by: form.by, ...(form.act && { act: parseDot(form.act) }),
      changes: form.fields.map((f) => ({ field: f.name, value: parse(f.value), over: f.over ?? [] })),
    });
    const { production, record, device, n, kind, at } = headOf(bytes); // what the store files it under
    console.log(JSON.stringify({ bytes: hexOf(bytes), head: { production, record, device, line: headOf(bytes).line, n, kind, at } }));
  }
} finally {
  rmSync(folder, { recursive: true });
}
