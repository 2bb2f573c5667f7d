import { openDB, type IDBPObjectStore, type IDBPTransaction, type StoreNames } from "idb";
import { headOf, type Dot } from "../capture";
import { faultOf, StoreFault } from "./fault";
import {
  upgrade, version, type AnswerRow, type Database, type EditRow, type PageRow, type ProductionRow, type Tables,
  type WaitingRow,
} from "./tables";
import { before, countOf, holds, Paged, pageOf, sliced, type Page, type PageOf } from "./pages";
import { Seat } from "./writer";

type Bytes = Uint8Array<ArrayBuffer>;

/** What was stored together with edits. */
export interface Kept {
  /** line and from are the numbers that the edits were made for: they hold only while the counter stands before them. */
  line?: string;
  from?: number;
  log?: { log: string; known: Uint8Array<ArrayBuffer> };
  /** waiting is an event that these edits are made of. */
  waiting?: number;
}

/** What is prepared is handed to the engine first: everything refers to it, and it is little. */
const prepared = new Set(["production", "day", "scene", "body", "camera", "lamp", "gel", "meter"]);

/** Of how many questions the last answers are kept: a screen asks some ten, and a first screen is one that was open lately. */
const mostAnswers = 200;

/** What Chromium gathers in the file that it writes everything to first, before it begins another: at most 4 MiB. */
const aLog = 5 << 20;

/** What that is filled with: drafts of so many bytes. Of larger values it makes files of their own. */
const filler = new Uint8Array(60_000);

type Write<N extends StoreNames<Tables>> = IDBPTransaction<Tables, N[], "readwrite">;

export class Store {
  readonly seat = new Seat();
  /** newer says that a newer version of the app has been here: this one only reads. */
  newer = false;
  /** lost says that the browser threw away what it had kept here, before this start opened the store. */
  lost = false;
  #db: Database | undefined;
  #tabs = new BroadcastChannel("evenwhite-store");
  /** onOthers is told what another tab stored. */
  onOthers: (production: string, bytes: Uint8Array<ArrayBuffer>[]) => void = () => {};

  /**
   * open opens the store. onFree is called when this tab becomes the one that writes, and onHeld when a tab with an older version of
   * the app keeps the store as that has it: until it is closed, this waits.
   */
  async open(onFree: () => void, onHeld: () => void): Promise<void> {
    try {
      this.#db = await this.#opened(onHeld);
    } catch (e) {
      throw faultOf(e);
    }
    this.#tabs.onmessage = ({ data }) => this.onOthers(data.production, data.bytes);
    await this.seat.take(onFree);
  }

  /**
   * newLog has Chromium begin a new file and put the one before away. Where it was ended in the middle of a write, it goes on behind
   * what is half written, and the start after the next finds that, and throws away all that it kept for this page.
   */
  async newLog() {
    if (!this.mayWrite || !("userAgentData" in navigator)) return; // other browsers keep it in another way
    await this.#write(["drafts"], async (tx) => {
      const drafts = tx.objectStore("drafts");
      for (let i = 0; i * filler.length < aLog; i++) await drafts.put({ id: `filler/${i}`, at: 0, value: filler }); // each a short task
    }, "relaxed");
    await this.#write(["drafts"], (tx) => tx.objectStore("drafts").delete(IDBKeyRange.bound("filler/", "filler/\uffff")), "relaxed");
  }

  async #opened(blocked: () => void): Promise<Database> {
    const blocking = { blocking: () => { // a newer version of the app is open in another tab
      this.newer = true;
      this.#db?.close();
    } };
    try {
      return await openDB<Tables>("evenwhite", version, { ...blocking, blocked, upgrade: (db, from, to, tx, event) => {
        this.lost = (event as IDBVersionChangeEvent & { dataLoss?: string }).dataLoss === "total"; // Chromium alone says so
        upgrade(db, from, to, tx);
      } });
    } catch (e) {
      if (!(e instanceof DOMException) || e.name !== "VersionError") throw e;
      this.newer = true;
      return openDB<Tables>("evenwhite", undefined, blocking);
    }
  }

  get #open(): Database {
    if (!this.#db) throw new StoreFault("denied");
    return this.#db;
  }

  /** mayWrite says whether this tab of this version may write now. */
  get mayWrite() { return this.#db !== undefined && this.seat.writes && !this.newer; }

  /** write runs one transaction and returns when it is complete. */
  async #write<N extends StoreNames<Tables>, T>(
    names: N[], what: (tx: Write<N>) => Promise<T>, durability: IDBTransactionDurability = "strict",
  ): Promise<T> {
    if (this.newer) throw new StoreFault("newer");
    if (!this.seat.writes) throw new StoreFault("otherTab");
    try {
      const tx = this.#open.transaction(names, "readwrite", { durability }) as Write<N>;
      tx.done.catch(() => {}); // told below
      let out: T;
      try {
        out = await what(tx);
      } catch (e) {
        try {
          tx.abort();
        } catch { /* it was aborted already */ }
        throw e;
      }
      await tx.done;
      return out;
    } catch (e) {
      throw e instanceof Moved ? e : faultOf(e);
    }
  }

  /** capture stores one edit under the next number of a line, which make is told. */
  async capture(production: string, line: string, make: (n: number) => Bytes): Promise<{ n: number; bytes: Bytes }> {
    const made = await this.#write(["edits", "lines"], async (tx) => {
      const n = ((await tx.objectStore("lines").get(line)) ?? 0) + 1;
      const bytes = make(n);
      await tx.objectStore("edits").add(rowOf(bytes));
      await tx.objectStore("lines").put(n, line);
      return { n, bytes };
    });
    this.#tabs.postMessage({ production, bytes: [made.bytes] });
    return made;
  }

  /** keep stores edits, and what belongs to them, in one transaction; false where the counter had moved on meanwhile. */
  async keep(production: string, edits: Uint8Array<ArrayBuffer>[], kept: Kept = {}): Promise<boolean> {
    try {
      await this.#write(["edits", "lines", "logs", "waiting", "productions"], async (tx) => {
        if (kept.line !== undefined) {
          const n = (await tx.objectStore("lines").get(kept.line)) ?? 0;
          if (n + 1 !== kept.from) throw new Moved();
          await tx.objectStore("lines").put(n + edits.length, kept.line);
        }
        await add(tx.objectStore("edits"), edits.map(rowOf));
        if (kept.log) {
          await tx.objectStore("logs").put({ production, ...kept.log });
          const row = await tx.objectStore("productions").get(production);
          if (row && row.log !== kept.log.log) await tx.objectStore("productions").put({ ...row, log: kept.log.log });
        }
        if (kept.waiting !== undefined) await tx.objectStore("waiting").delete(kept.waiting);
      });
    } catch (e) {
      if (e instanceof Moved) return false;
      throw e;
    }
    if (edits.length > 0) this.#tabs.postMessage({ production, bytes: edits });
    return true;
  }

  /** setAside notes that no server can take an edit; the page that holds it is given up. */
  setAside(production: string, dot: Dot) {
    return this.#write(["edits", "pages", "pageBytes"], async (tx) => {
      const row = await tx.objectStore("edits").get([production, dot.line, dot.n]);
      if (!row) return;
      await tx.objectStore("edits").put({ ...row, aside: true });
      for (const { n, spans } of await tx.objectStore("pages").getAll(ofProduction(production))) {
        if (holds(spans, dot)) await giveUp(tx, production, n);
      }
    });
  }

  /** next is the number that the next edit of a line will have. */
  async next(line: string): Promise<number> {
    return ((await this.#open.get("lines", line)) ?? 0) + 1;
  }

  /** rows hands out the edits of a production: what was prepared, then the newest, so many at a time. */
  async *rows(production: string, most: number): AsyncGenerator<Extract<Page, { rows: EditRow[] }>> {
    for (let end: IDBValidKey | undefined; ;) {
      const index = this.#open.transaction("edits").store.index("newest");
      const left = end === undefined ? ofProduction(production) : upTo(production, end);
      const cursor = await index.openKeyCursor(left, "prev");
      if (!cursor) return;
      const newest = cursor.key, first = await cursor.advance(most); // the first of the next page; null: this is the last
      const rows = await index.getAll(first ? IDBKeyRange.bound(first.key, newest, true) : left);
      const [, rank, at = 0] = first?.key ?? [];
      yield { rows, rank: rows[0]!.rank, count: rows.length, ...(rank === 0 && { from: at + 1 }), last: !first };
      if (!first) return;
      end = first.key;
    }
  }

  /** pages hands out the edits of a production in the same order: pages as they are, by these rules or older ones, and what is on none. */
  async *pages(production: string, most: number, rules: number): AsyncGenerator<Page> {
    const kept = (await this.#kept(production)).filter((p) => p.rules <= rules);
    if (kept.length === 0) {
      yield* this.rows(production, most);
      return;
    }
    const loose = sliced(await this.#loose(production, new Paged(kept)), most).map((rows) => ({ ...pageOf(rows, rules), rows }));
    const all = [...kept, ...loose].sort(before);
    for (const [i, page] of all.entries()) {
      const next = all[i + 1], { rank } = page, count = countOf(page.spans);
      const said = { rank, count, ...(next?.rank === 0 && { from: next.to + 1 }), last: !next };
      if ("rows" in page) {
        yield { ...said, rows: page.rows };
        continue;
      }
      const bytes = (await this.#open.get("pageBytes", [production, page.n]))?.bytes, rowsInstead = () => this.#rowsInstead(page);
      if (bytes) yield { ...said, bytes, rowsInstead };
      else yield { ...said, rows: await rowsInstead() };
    }
  }

  /** #kept reads what is said of pages, some at a time: of a long job it is some tens of thousands of spans. */
  async #kept(production: string): Promise<PageRow[]> {
    const out: PageRow[] = [], some = 16;
    for (let after = 0, last = false; !last;) {
      const rows = await this.#open.getAll("pages", IDBKeyRange.bound([production, after], [production, []], true), some);
      out.push(...rows);
      last = rows.length < some;
      after = rows.at(-1)?.n ?? after;
    }
    return out;
  }

  /** #rowsInstead gives up a page that cannot be read, and reads its edits by themselves. */
  async #rowsInstead({ production, n, spans }: PageRow): Promise<EditRow[]> {
    if (this.mayWrite) await this.#write(["pages", "pageBytes"], (tx) => giveUp(tx, production, n));
    const ranges = spans.map(([line, from, to]) => IDBKeyRange.bound([production, line, from], [production, line, to]));
    return (await Promise.all(ranges.map((range) => this.#open.getAll("edits", range)))).flat();
  }

  /** #loose finds the edits that are on no page. */
  async #loose(production: string, paged: Paged): Promise<EditRow[]> {
    const edits = this.#open.transaction("edits").store, out: EditRow[] = [];
    for (let from: IDBValidKey = [production], behind = false; ;) {
      const key = await edits.getKey(IDBKeyRange.bound(from, [production, []], behind));
      if (!key) return out;
      const [, line, n] = key, is = paged.around({ line, n });
      if ("to" in is) {
        from = [production, line, is.to];
        behind = true;
        continue;
      }
      const end: IDBValidKey = [production, line, is.next ?? []];
      out.push(...await edits.getAll(IDBKeyRange.bound(key, end, false, true)));
      from = end;
      behind = false;
    }
  }

  /** keepPage keeps a page of rows for the next start, unless the production was removed meanwhile. */
  keepPage(production: string, page: PageOf, bytes: Bytes) {
    return this.#write(["productions", "pages", "pageBytes"], async (tx) => {
      if (!await tx.objectStore("productions").getKey(production)) return;
      const last = await tx.objectStore("pages").openKeyCursor(ofProduction(production), "prev"), n = last ? last.key[1] + 1 : 1;
      await tx.objectStore("pages").put({ production, n, ...page });
      await tx.objectStore("pageBytes").put({ production, n, bytes });
    }, "relaxed");
  }

  logs(production: string) { return this.#open.getAll("logs", IDBKeyRange.bound([production], [production, []])); }

  answer(production: string, question: string) { return this.#open.get("answers", [production, question]); }

  /** keepAnswer keeps an answer for the first screen of the next start, and drops the oldest ones above so many. */
  keepAnswer(row: AnswerRow): Promise<void> {
    return this.#write(["answers"], async (tx) => {
      const answers = tx.objectStore("answers");
      await answers.put(row);
      const over = await answers.count() - mostAnswers;
      if (over <= 0) return;
      let oldest = await answers.index("oldest").openKeyCursor();
      for (let left = over; oldest && left > 0; left--, oldest = await oldest.continue()) await answers.delete(oldest.primaryKey);
    }, "relaxed");
  }

  wait(row: WaitingRow) { return this.#write(["waiting"], (tx) => tx.objectStore("waiting").put(row)); }

  waiting(): Promise<WaitingRow[]> { return this.#open.getAll("waiting"); }

  dropWaiting(id: number) { return this.#write(["waiting"], (tx) => tx.objectStore("waiting").delete(id)); }

  draft(id: string) { return this.#open.get("drafts", id); }

  keepDraft(id: string, value: unknown): Promise<unknown> {
    return this.#write(["drafts"], (tx): Promise<unknown> => value === undefined
      ? tx.objectStore("drafts").delete(id) : tx.objectStore("drafts").put({ id, at: Date.now(), value }), "relaxed");
  }

  productions(): Promise<ProductionRow[]> { return this.#open.getAll("productions"); }

  keepProduction(row: ProductionRow) { return this.#write(["productions"], (tx) => tx.objectStore("productions").put(row)); }

  /** noteUnsent notes how many edits of a production are on this phone alone. */
  noteUnsent(id: string, unsent: number) {
    return this.#write(["productions"], async (tx) => {
      const row = await tx.objectStore("productions").get(id);
      if (row) await tx.objectStore("productions").put({ ...row, unsent });
    }, "relaxed");
  }

  /** remove takes a production off the phone, for good. */
  remove(production: string) {
    return this.#write(["productions", "edits", "pages", "pageBytes", "logs", "answers", "waiting"], async (tx) => {
      const all = IDBKeyRange.bound([production], [production, []]);
      for (const name of ["edits", "pages", "pageBytes", "logs", "answers"] as const) await tx.objectStore(name).delete(all as never);
      await tx.objectStore("productions").delete(production);
      for (const row of await tx.objectStore("waiting").getAll()) {
        if (row.production === production) await tx.objectStore("waiting").delete(row.id!);
      }
    });
  }

  setting<T>(name: string): Promise<T | undefined> { return this.#open.get("settings", name) as Promise<T | undefined>; }

  keepSetting(name: string, value: unknown) { return this.#write(["settings"], (tx) => tx.objectStore("settings").put(value, name)); }
}

type WithPages = IDBPTransaction<Tables, ("pages" | "pageBytes" | StoreNames<Tables>)[], "readwrite">;

async function giveUp(tx: WithPages, production: string, n: number): Promise<void> {
  for (const name of ["pages", "pageBytes"] as const) await tx.objectStore(name).delete([production, n]);
}

/** Moved says that the counter of a line had moved on while edits were made. */
class Moved extends Error {}

/** add adds the rows whose dot is not there: of two edits under one dot the one that came first stays. */
async function add(to: IDBPObjectStore<Tables, ("edits" | StoreNames<Tables>)[], "edits", "readwrite">, rows: EditRow[]): Promise<void> {
  const there = await Promise.all(rows.map((r) => to.getKey([r.production, r.line, r.n])));
  const fresh = new Map(rows.filter((_, i) => there[i] === undefined).reverse().map((r) => [`${r.line}.${r.n}`, r]));
  await Promise.all([...fresh.values()].map((r) => to.add(r)));
}

function rowOf(bytes: Uint8Array<ArrayBuffer>): EditRow {
  const { production, line, n, kind, at } = headOf(bytes);
  return { production, line, n, rank: prepared.has(kind) ? 1 : 0, at, bytes };
}

const ofProduction = (production: string) => IDBKeyRange.bound([production], [production, []]);

const upTo = (production: string, end: IDBValidKey) => IDBKeyRange.bound([production], end);
