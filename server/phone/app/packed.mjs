// Packed writes .gz and .br beside each file of a build, where they are smaller. What was packed
// before lies in the folder of temporary files by its hash: the engine takes half a minute.
import { createHash } from "node:crypto";
import { copyFileSync, existsSync, mkdirSync, readFileSync, readdirSync, renameSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { extname, join } from "node:path";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";

const packedAlready = new Set([".png", ".gz", ".br", ".woff2"]);
const ways = {
  ".gz": (bytes) => gzipSync(bytes, { level: 9 }),
  ".br": (bytes) => brotliCompressSync(bytes, {
    params: { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_LGWIN]: 24, [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length },
  }),
};

function pack(file, kept) {
  const bytes = readFileSync(file);
  const hash = createHash("sha256").update(bytes).digest("hex").slice(0, 32);
  for (const [ending, way] of Object.entries(ways)) {
    const before = join(kept, hash + ending);
    if (!existsSync(before)) {
      writeFileSync(`${before}.${process.pid}`, way(bytes)); // a build that is ended leaves no half
      renameSync(`${before}.${process.pid}`, before);
    }
    if (readFileSync(before).length < bytes.length) copyFileSync(before, file + ending);
  }
}

export function packed() {
  let out, kept;
  return {
    name: "packed",
    apply: "build",
    configResolved(config) {
      out = join(config.root, config.build.outDir);
      kept = join(tmpdir(), "evenwhite-packed");
    },
    closeBundle() {
      mkdirSync(kept, { recursive: true });
      for (const entry of readdirSync(out, { withFileTypes: true, recursive: true })) {
        const file = join(entry.parentPath, entry.name);
        if (entry.isFile() && !packedAlready.has(extname(file))) pack(file, kept);
      }
    },
  };
}
