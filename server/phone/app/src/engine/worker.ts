// The worker that runs the engine: it loads it, and asks it one thing after another.
import "../../built/wasm_exec.js";
import engineURL from "../../built/evenwhite-engine.wasm?url";
import type { Ask, Reply } from "./messages";

declare const self: DedicatedWorkerGlobalScope & {
  Go: new () => { importObject: WebAssembly.Imports; run(instance: WebAssembly.Instance): Promise<void> };
  evenwhite?: (name: string, text: string, bytes?: Uint8Array) => { ok: boolean; text: string; bytes?: Uint8Array<ArrayBuffer> };
};

const tell = (reply: Reply, give: Transferable[] = []) => self.postMessage(reply, give);

/** kept is the engine's file of the shell that works without a server: through the service worker, 9 MB take three times as long. */
const kept = () => self.caches?.match(engineURL).catch(() => undefined);

async function load() {
  const go = new self.Go();
  const file = await kept() ?? await fetch(engineURL);
  if (!file.ok) throw new Error(`the engine's file was answered ${file.status}`);
  const { instance } = await WebAssembly.instantiateStreaming(Promise.resolve(file), go.importObject);
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
