// Packed writes .gz and .br beside each file of a build, where they are smaller. What was packed
// before lies in the folder of temporary files by its hash: the engine takes a minute of the processor.
import { createHash } from "node:crypto";
import { copyFileSync, existsSync, mkdirSync, readFileSync, readdirSync, renameSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { extname, join } from "node:path";
import { promisify } from "node:util";
import { brotliCompress, constants } from "node:zlib";
import { gzip } from "@gfx/zopfli";

const packedAlready = new Set([".png", ".gz", ".br", ".woff2"]);
const brotli = promisify(brotliCompress), zopfli = promisify(gzip);
const ways = [ // brotli runs in a thread of its own
  { ending: ".br", keptAs: ".br", way: (bytes) => brotli(bytes, {
    params: { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_LGWIN]: 24, [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length },
  }) },
  { ending: ".gz", keptAs: ".zopfli", way: (bytes) => zopfli(bytes, { numiterations: 1 }) }, // a twentieth smaller than zlib makes it
];

async function pack(file, kept) {
  const bytes = readFileSync(file);
  const hash = createHash("sha256").update(bytes).digest("hex").slice(0, 32);
  await Promise.all(ways.map(async ({ ending, keptAs, way }) => {
    const before = join(kept, hash + keptAs);
    if (!existsSync(before)) {
      writeFileSync(`${before}.${process.pid}`, await way(bytes)); // a build that is ended leaves no half
      renameSync(`${before}.${process.pid}`, before);
    }
    if (readFileSync(before).length < bytes.length) copyFileSync(before, file + ending);
  }));
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
    async closeBundle() {
      mkdirSync(kept, { recursive: true });
      for (const entry of readdirSync(out, { withFileTypes: true, recursive: true })) {
        const file = join(entry.parentPath, entry.name);
        if (entry.isFile() && !packedAlready.has(extname(file))) await pack(file, kept);
      }
    },
  };
}
