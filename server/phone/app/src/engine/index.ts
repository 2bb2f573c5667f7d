// The engine, in a worker. A page asks by name, and is answered or told a fault; what kills the
// worker is told once, and the engine is started again.
import type { Fault, FieldFault } from "./answers.gen";
import type { Ask, Reply } from "./messages";

/** EngineFault is why a message was not carried out. The engine is as it was. */
export class EngineFault extends Error {
  readonly errors: readonly FieldFault[];
  constructor(readonly type: string, detail: string, errors: readonly FieldFault[] = []) {
    super(detail);
    this.errors = errors;
  }
}

/** EngineGone is why nothing can be asked: the engine did not load, or its worker was ended. */
export class EngineGone extends Error {}

export interface Answer { text: string; bytes?: Uint8Array<ArrayBuffer> }

interface Waiting { ask: Ask; done: (a: Answer) => void; failed: (e: Error) => void }

export class Engine {
  #worker: Worker | undefined;
  #waiting = new Map<number, Waiting>();
  #last = 0;
  #ready = Promise.withResolvers<void>();

  /** start makes a worker; it resolves when the engine can be asked. onEnd is told when it ends by itself. */
  async start(onEnd: (why: string) => void): Promise<void> {
    this.stop("it is started again");
    const ready = Promise.withResolvers<void>();
    ready.promise.catch(() => {});
    this.#ready = ready;
    const worker = new Worker(new URL("./worker.ts", import.meta.url), { type: "module" });
    this.#worker = worker;
    const end = (why: string) => {
      if (this.#worker !== worker) return;
      this.stop(why);
      ready.reject(new EngineGone(why));
      onEnd(why);
    };
    worker.onerror = (e) => end(e.message || "its worker could not be started");
    worker.onmessageerror = () => end("an answer could not be read");
    worker.onmessage = ({ data }: MessageEvent<Reply>) => {
      if ("ready" in data) ready.resolve();
      else if ("ended" in data) end(data.ended);
      else this.#answered(data.id, data);
    };
    await ready.promise;
  }

  /** stop ends the worker; what is being asked is told so. */
  stop(why: string) {
    this.#worker?.terminate();
    this.#worker = undefined;
    const left = [...this.#waiting.values()];
    this.#waiting.clear();
    for (const w of left) w.failed(new EngineGone(why));
  }

  #answered(id: number, a: { ok: boolean; text: string; bytes?: Uint8Array<ArrayBuffer> }) {
    const w = this.#waiting.get(id);
    this.#waiting.delete(id);
    if (!w) return;
    if (a.ok) {
      w.done({ text: a.text, ...(a.bytes && { bytes: a.bytes }) });
      return;
    }
    const fault = JSON.parse(a.text) as Fault;
    w.failed(new EngineFault(fault.type, fault.detail, fault.errors ?? []));
  }

  /** ask asks the engine. The members of message are those of logbook/handset; bytes are handed over. */
  async ask(name: string, message: object | string, bytes?: Uint8Array<ArrayBuffer>): Promise<Answer> {
    await this.#ready.promise;
    return new Promise((done, failed) => {
      if (!this.#worker) {
        failed(new EngineGone("the engine is not running"));
        return;
      }
      const text = typeof message === "string" ? message : JSON.stringify(message);
      const ask: Ask = { id: ++this.#last, name, text, ...(bytes && { bytes }) };
      this.#waiting.set(ask.id, { ask, done, failed });
      this.#worker.postMessage(ask, bytes ? [bytes.buffer] : []);
    });
  }
}
