// When this phone exchanges with the server: at start, when it is seen again or online, after each
// edit, when it is woken, and now and then.
import type { Verdict } from "../engine/answers.gen";
import { EngineFault, EngineGone } from "../engine";
import { StoreFault, type ProductionRow, type Store } from "../store";
import { Book } from "../engine/book";
import { exchange, type Exchanged } from "./exchange";
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
  /** left is told how much of a production that is not open is still on this phone alone. */
  left(production: string, unsent: number): Promise<void>;
}

interface Parts {
  server: Server;
  book: Book;
  store: Store;
  told: Told;
  /** open is the production that is open. */
  open: () => ProductionRow | undefined;
  productions: () => readonly ProductionRow[];
  device: () => string;
  line: (production: string) => string;
}

export class Link {
  readonly server: Server;
  readonly #book: Book;
  readonly #store: Store;
  readonly #told: Told;
  readonly #open: () => ProductionRow | undefined;
  readonly #productions: () => readonly ProductionRow[];
  readonly #device: () => string;
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
    this.#productions = parts.productions;
    this.#device = parts.device;
    this.#line = parts.line;
    addEventListener("online", () => this.soon());
    document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") this.soon(); });
  }

  /** #may says whether anything of a production may be exchanged: not of an invented one, nor of one that was removed there. */
  #may(row: ProductionRow): boolean { return this.server.admission !== undefined && this.#store.mayWrite && !row.invented && !row.gone; }

  /** #ready is the production that is open, once all of it is read. */
  get #ready(): ProductionRow | undefined {
    const open = this.#open();
    return open && this.#may(open) && !this.#book.early && open.id === this.#book.production ? open : undefined;
  }

  /** #behind are those that are not open, and of which something is on this phone alone. */
  get #behind(): ProductionRow[] {
    return this.#productions().filter((p) => p.id !== this.#open()?.id && (p.unsent ?? 0) > 0 && this.#may(p));
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
    this.#running = true;
    let wait = between;
    const tried = new Set<string>();
    let at = this.#open()?.id ?? "";
    try {
      for (let next: ProductionRow | undefined; ;) {
        this.#again = false;
        const open = this.#ready; // else it is being read, which ends with another exchange
        if (open) {
          at = open.id;
          await this.#once(open);
          this.#tries = 0;
          this.#listen(open.id);
        }
        if (this.#again) continue;
        next = this.#behind.find((p) => !tried.has(p.id));
        if (!next) break;
        tried.add(at = next.id);
        await this.#beside(next);
      }
    } catch (e) {
      wait = e instanceof EngineGone && this.#again ? 1 : this.#refused(e, at); // another production was opened, and waits
    } finally {
      this.#running = false;
    }
    if (wait > 0) this.#later(wait);
  }

  /** #beside exchanges a production that is not open, with an engine of its own that ends with it. */
  async #beside(row: ProductionRow) {
    const book = new Book(this.#store);
    try {
      await book.start();
      await (await book.open(row.id, this.#device())).all;
      await this.#exchanged(row, book);
      await this.#told.left(row.id, book.state?.unsent ?? 0);
    } catch (e) { // what keeps this one alone from going says nothing of the one that is open
      if (e instanceof Refused && e.status === 410) this.#told.gone(row.id, e.message);
      else if (!(e instanceof EngineFault || e instanceof EngineGone || e instanceof Refused && e.status === 403)) throw e;
    } finally {
      book.end();
    }
    if (this.#book.production === row.id) await this.#book.again(); // it was opened meanwhile, and lacks what came
  }

  async #once(open: ProductionRow) {
    const done = await this.#exchanged(open, this.#book);
    if (done.lineOver) this.#told.lineOver();
    this.#told.looksOnly(done.looksOnly);
    if (done.aside.length > 0) {
      await this.#book.again();
      this.#again = true;
    }
    this.#told.sent(done.offsetMs, done.marks);
  }

  async #exchanged(row: ProductionRow, book: Book): Promise<Exchanged> {
    const done = await exchange(book, this.#store, this.server, { production: row.id, log: row.log, line: this.#line(row.id) });
    for (const dot of done.aside) await this.#store.setAside(row.id, dot);
    if (done.aside.length > 0) this.#told.aside();
    return done;
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
