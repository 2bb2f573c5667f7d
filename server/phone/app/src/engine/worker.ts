// The worker that runs the engine: it loads it, and asks it one thing after another.
import "../../built/wasm_exec.js";
import engineURL from "../../built/evenwhite-engine.wasm?url";
import type { Ask, Reply } from "./messages";

declare const self: DedicatedWorkerGlobalScope & {
  Go: new () => { importObject: WebAssembly.Imports; run(instance: WebAssembly.Instance): Promise<void> };
  evenwhite?: (name: string, text: string, bytes?: Uint8Array) => { ok: boolean; text: string; bytes?: Uint8Array<ArrayBuffer> };
};

const tell = (reply: Reply, give: Transferable[] = []) => self.postMessage(reply, give);

async function load() {
  const go = new self.Go();
  const file = await fetch(engineURL); // of what is fetched, and of nothing else, a browser keeps the compiled code
  if (!file.ok) throw new Error(`the engine's file was answered ${file.status}`);
  const { instance } = await WebAssembly.instantiateStreaming(file, go.importObject);
  void go.run(instance).finally(() => tell({ ended: "the engine ended" }));
}

self.onmessage = ({ data }: MessageEvent<Ask>) => {
  try {
    const answer = self.evenwhite!(data.name, data.text, data.bytes);
    const { ok, text, bytes } = answer;
    tell({ id: data.id, ok, text, ...(bytes && { bytes }) }, bytes ? [bytes.buffer] : []);
  } catch (e) {
    tell({ ended: String(e) });
  }
};

load().then(() => tell({ ready: true }), (e: unknown) => tell({ ended: String(e) }));
