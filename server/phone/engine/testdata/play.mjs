// node play.mjs wasm_exec.js engine.wasm steps.json: asks the engine one thing after another
// and prints each answer as a line of JSON.
import { readFileSync, writeSync } from "node:fs";
import { pathToFileURL } from "node:url";

const [runtime, engine, steps] = process.argv.slice(2);
await import(pathToFileURL(runtime).href);
const go = new globalThis.Go();
const { instance } = await WebAssembly.instantiate(readFileSync(engine), go.importObject);
go.run(instance); // never ends
for (const step of JSON.parse(readFileSync(steps, "utf8"))) {
  const bytes = step.bytes ? new Uint8Array(Buffer.from(step.bytes, "base64")) : undefined;
  const answer = globalThis.evenwhite(step.name, step.text, bytes);
  const line = { ok: answer.ok, text: answer.text, bytes: answer.bytes ? Buffer.from(answer.bytes).toString("base64") : "" };
  writeAll(JSON.stringify(line) + "\n");
}
process.exit(0);

// A pipe may take less than it is given.
function writeAll(text) {
  for (let left = Buffer.from(text); left.length > 0; ) {
    try {
      left = left.subarray(writeSync(1, left));
    } catch (e) {
      if (e.code !== "EAGAIN") throw e;
    }
  }
}
