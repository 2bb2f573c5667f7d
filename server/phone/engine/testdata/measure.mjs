// node measure.mjs wasm_exec.js engine.wasm stored production setUp: prints figures of the
// engine as one object of JSON.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";

const [runtime, engine, stored, production, setUp] = process.argv.slice(2);
await import(pathToFileURL(runtime).href);
const program = readFileSync(engine);
const go = new globalThis.Go();
const { instance } = await WebAssembly.instantiate(program, go.importObject);
go.run(instance);

function ask(name, message, bytes) {
  const answer = globalThis.evenwhite(name, JSON.stringify(message), bytes);
  if (!answer.ok) throw new Error(name + ": " + answer.text);
  return answer;
}

const device = "00000000-0001-7000-8000-000000000001";
const edits = new Uint8Array(readFileSync(stored));
ask("open", { production, device, rest: 1 });
const from = performance.now();
let held = 0;
for (let at = 0; at < edits.length; ) {
  const end = pageEnd(at);
  held = JSON.parse(ask("hold", { rest: end < edits.length ? 1 : 0 }, edits.subarray(at, end)).text).held;
  at = end;
}
const all = performance.now() - from;
const memory = instance.exports.mem.buffer.byteLength;
const now = 1_990_000_000_000;
const times = [];
for (let n = 1, i = 0; i < 6; i++) {
  const chance = n.toString(16).padStart(32, "0");
  const began = performance.now();
  const made = ask("event", { now, by: "Ada", line: "00c0ffee00c0ffee", n, chance, setUp, event: { event: "nextTake" } });
  times.push(performance.now() - began);
  n += JSON.parse(made.text).edits.length;
  ask("hold", { wrote: true }, made.bytes);
}
times.shift(); // the first one looks at all clips
times.sort((a, b) => a - b);
const quality = { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_LGWIN]: 24, [constants.BROTLI_PARAM_SIZE_HINT]: program.length };
console.log(JSON.stringify({
  engine_gzip_bytes: gzipSync(program, { level: 9 }).length,
  engine_brotli_bytes: brotliCompressSync(program, { params: quality }).length,
  memory_all_mb: memory / 1e6, memory_bytes_per_edit: memory / held, engine_all_ms: all, event_ms: times[2],
}));
process.exit(0);

// pageEnd is the end of the last whole frame within a page.
function pageEnd(at) {
  for (const end = at + (256 << 10); at < edits.length && at < end; ) {
    let size = 0;
    for (let shift = 0, more = true; more; shift += 7) {
      more = edits[at] >= 0x80;
      size |= (edits[at++] & 0x7f) << shift;
    }
    at += size;
  }
  return at;
}
