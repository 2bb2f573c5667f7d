// When this phone exchanges with the server: at start, when it is seen again or online, after each
// edit, when it is woken, and now and then.
import type { Verdict } from "../engine/answers.gen";
import { EngineGone } from "../engine";
import { StoreFault, type ProductionRow, type Store } from "../store";
import type { Book } from "../engine/book";
import { exchange } from "./exchange";
import { Refused, Server, Unreachable } from "./server";
import { listen } from "./wake";

/** How long to wait before the next try: twice as long each time, drawn from the upper half. */
const shortest = 1_000, longest = 60_000, between = 30_000;

export interface Told {
  /** sent is told that an exchange went through. */
  sent(offsetMs: number | undefined, marks: readonly Verdict[]): void;
  /** lineOver is told that somebody else wrote under this start's line. */
  lineOver(): void;
  /** away is told that the server did not answer, or could not serve. */
  away(why: string): void;
  revoked(): void;
  /** strange is told that the server does not know this phone: it is to be paired again. */
  strange(): void;
  gone(production: string, why: string): void;
  looksOnly(is: boolean): void;
  aside(): void;
  failed(e: StoreFault): void;
}

interface Parts {
  server: Server;
  book: Book;
  store: Store;
  told: Told;
  /** open is the production that is open. */
  open: () => ProductionRow | undefined;
  line: (production: string) => string;
}

export class Link {
  readonly server: Server;
  readonly #book: Book;
  readonly #store: Store;
  readonly #told: Told;
  readonly #open: () => ProductionRow | undefined;
  readonly #line: (production: string) => string;
  #timer = 0;
  #tries = 0;
  #running = false;
  #again = false;
  #stream: AbortController | undefined;
  #listens = "";

  constructor(parts: Parts) {
    this.server = parts.server;
    this.#book = parts.book;
    this.#store = parts.store;
    this.#told = parts.told;
    this.#open = parts.open;
    this.#line = parts.line;
    addEventListener("online", () => this.soon());
    document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") this.soon(); });
  }

  /** may says whether there is anything to exchange: not an invented production, nor one that was removed there. */
  get #may(): ProductionRow | undefined {
    const open = this.#open();
    if (!this.server.admission || !this.#store.mayWrite || !open || open.invented || open.gone || this.#book.early) return undefined;
    return open.id === this.#book.production ? open : undefined;
  }

  /** soon exchanges as soon as can be: what was typed waits for nobody. */
  soon() {
    this.#tries = 0;
    clearTimeout(this.#timer);
    void this.#run();
  }

  #later(ms: number) {
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.#run(), ms / 2 + Math.random() * ms / 2);
  }

  async #run() {
    if (this.#running) {
      this.#again = true;
      return;
    }
    const open = this.#may;
    if (!open) {
      this.#later(between); // as while older days are still being read
      return;
    }
    this.#running = true;
    let wait = between;
    try {
      do {
        this.#again = false;
        await this.#once(open);
      } while (this.#again);
      this.#tries = 0;
      this.#listen(open.id);
    } catch (e) {
      wait = this.#refused(e, open.id);
    } finally {
      this.#running = false;
    }
    if (wait > 0) this.#later(wait);
  }

  async #once(open: ProductionRow) {
    const done = await exchange(this.#book, this.#store, this.server, { production: open.id, log: open.log, line: this.#line(open.id) });
    if (done.lineOver) this.#told.lineOver();
    this.#told.looksOnly(done.looksOnly);
    for (const dot of done.aside) await this.#store.setAside(open.id, dot);
    if (done.aside.length > 0) {
      this.#told.aside();
      await this.#book.again();
      this.#again = true;
    }
    this.#told.sent(done.offsetMs, done.marks);
  }

  /** #refused tells why it did not go through, and returns how long to wait; 0 where waiting would not help. */
  #refused(e: unknown, production: string): number {
    this.#tries++;
    const wait = Math.min(longest, shortest * 2 ** Math.min(this.#tries, 10));
    if (e instanceof StoreFault) {
      this.#told.failed(e);
      return longest;
    }
    if (e instanceof EngineGone) return longest; // the book says so
    if (e instanceof Refused) {
      if (e.type === "revoked") this.#told.revoked();
      else if (e.type === "unknown-device" || e.type === "other-server") this.#told.strange();
      else if (e.status === 410) this.#told.gone(production, e.message);
      else {
        this.#told.away(e.message);
        return Math.max(wait, e.after * 1000);
      }
      return 0;
    }
    this.#told.away(e instanceof Error ? e.message : String(e));
    if (!(e instanceof Unreachable)) console.error(e);
    return wait;
  }

  /** #listen lets the server wake this phone; where the stream ends, the next exchange begins another. */
  #listen(production: string) {
    if (this.#stream && this.#listens === production) return;
    this.#stream?.abort();
    const stream = new AbortController();
    this.#stream = stream;
    this.#listens = production;
    void listen(this.server, production, stream.signal, () => this.soon()).catch(() => {}).finally(() => {
      if (this.#stream !== stream) return;
      this.#stream = undefined;
      if (!stream.signal.aborted) this.#later(shortest);
    });
  }

  /** stop ends the stream, as when another production is opened. */
  stop() {
    clearTimeout(this.#timer);
    this.#stream?.abort();
    this.#stream = undefined;
  }
}
