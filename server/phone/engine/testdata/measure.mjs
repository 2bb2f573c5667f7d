// node measure.mjs wasm_exec.js engine.wasm all allSetUp day daySetUp production: prints figures
// of the engine as one object of JSON. all and day are files of stored edits, in frames.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const [runtime, engine, all, allSetUp, day, daySetUp, production] = process.argv.slice(2);
await import(pathToFileURL(runtime).href);
const program = readFileSync(engine);
const device = "00000000-0001-7000-8000-000000000001";
const now = 1_990_000_000_000;

function ask(name, message, bytes) {
  const answer = globalThis.evenwhite(name, JSON.stringify(message), bytes);
  if (!answer.ok) throw new Error(name + ": " + answer.text);
  return JSON.parse(answer.text);
}

async function start() {
  const go = new globalThis.Go();
  const { instance } = await WebAssembly.instantiate(program, go.importObject);
  go.run(instance);
  return () => instance.exports.mem.buffer.byteLength;
}

function took(f) {
  const began = performance.now();
  f();
  return performance.now() - began;
}

// hold hands stored edits in and has ready what answers need, and says how long each took.
function hold(stored) {
  const edits = new Uint8Array(readFileSync(stored));
  ask("open", { production, device, rest: 1 });
  let held = 0;
  const holding = took(() => {
    for (let at = 0; at < edits.length; ) {
      const end = pageEnd(edits, at);
      held = ask("hold", { rest: end < edits.length ? 1 : 0 }, edits.subarray(at, end)).held;
      at = end;
    }
  });
  const preparing = took(() => {
    while (!ask("prepare", { most: 256 }).done);
  });
  return { held, holding, preparing };
}

// tap is a next take, as the engine answers it: the edits, and the screen after them.
function tap(setUp, n) {
  const chance = n.toString(16).padStart(32, "0");
  const message = { now, by: "Ada", line: "00c0ffee00c0ffee", n, chance, setUp, event: { event: "nextTake" } };
  const answer = globalThis.evenwhite("event", JSON.stringify(message));
  if (!answer.ok) throw new Error("event: " + answer.text);
  ask("hold", { wrote: true }, answer.bytes);
  ask("now", { now, setUp });
  return n + JSON.parse(answer.text).edits.length;
}

// taps is the median of five, after the first, for which nothing is compiled yet.
function taps(setUp) {
  let n = tap(setUp, 1);
  const times = [1, 2, 3, 4, 5].map(() => took(() => (n = tap(setUp, n))));
  return times.sort((a, b) => a - b)[2];
}

let memory = await start();
const one = took(() => hold(day));
const figures = { engine_day_ms: one, engine_tap_day_ms: taps(daySetUp), memory_day_mb: memory() / 1e6 };

memory = await start();
const whole = hold(all);
figures.memory_bytes_per_edit = memory() / whole.held;
figures.engine_all_ms = whole.holding;
figures.engine_prepare_ms = whole.preparing;
figures.engine_tap_ms = taps(allSetUp);
figures.memory_all_mb = memory() / 1e6;

console.log(JSON.stringify(figures));
process.exit(0);

// pageEnd is the end of the last whole frame within a page.
function pageEnd(edits, at) {
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
