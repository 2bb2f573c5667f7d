// What a person does. Each act resolves when it is stored, and not before.
import {
  bytesOfEdit, dotText, drawChance, drawID, drawLine, type Change, type Value,
} from "../capture";
import { EngineFault, EngineGone } from "../engine";
import type { Edit, Form, HandsetRecord, Verdict, Written } from "../engine/answers.gen";
import { answerOf, textOf } from "../engine/message";
import type { Store, WaitingRow } from "../store";
import { editsIn, type Book } from "../engine/book";
import type { Clock } from "./clock";

/** One change to one record, as an act made it. */
export interface Made {
  dot: string;
  kind: string;
  record: string;
  set: Readonly<Record<string, unknown>>;
  /** created says that the act made the record: undoing it strikes the record out. */
  created: boolean;
}

/** What was done. It is stored when whoever did it is told of it. */
export interface Act {
  readonly production: string;
  readonly name: string;
  readonly at: number;
  /** made are its edits: at once of a form, else as soon as the engine made them. It rejects with why it made none. */
  readonly made: Promise<readonly Made[]>;
}

/** What a form saves. */
export interface Save {
  kind: string;
  /** record is left out for a new one. */
  record?: string;
  /** fields are those that a person touched, by their names in an edit; numbers are Digits; null clears. */
  fields: Readonly<Record<string, Value>>;
  /** form is the answer "form" that was shown: its heads are what is replaced, its carried values go into a new record. */
  form?: Form;
}

export type Settle =
  | { twins: { records: readonly string[]; answer: "one" | "two"; wholeRun?: boolean } }
  | { correct: string; patch: object }
  | { discard: string };

export interface Writer { by: string; device: string }

/** What the engine must look at before it is written: whose edit names what it rests on. */
const restsOnOthers = new Set(["white"]);

export class Acts {
  readonly #store: Store;
  readonly #book: Book;
  readonly #clock: Clock;
  readonly #writer: () => Writer;
  /** #lines are this start's, one for each production, so that no number of one is passed over. */
  readonly #lines = new Map<string, string>();
  #chain: Promise<unknown> = Promise.resolve();
  /** #pending are the acts of this start that wait to become edits, by the id of their row. */
  readonly #pending = new Map<number, PromiseWithResolvers<readonly Made[]>>();
  /** #mine are the last dots of forms in this start, by record and field, with all that they stand over. */
  readonly #mine = new Map<string, { dot: string; over: ReadonlySet<string> }>();
  /** onMarks is told which edits apply to nothing, and why. */
  onMarks: (marks: readonly Verdict[]) => void = () => {};
  /** onStored is told how many edits were made of no event: those that waited are counted already. */
  onStored: (edits: number) => void = () => {};
  /** onHandedIn is told when the engine holds what was stored. */
  onHandedIn: () => void = () => {};
  readonly #handing = new Map<string, number>();

  constructor(store: Store, book: Book, clock: Clock, writer: () => Writer) {
    this.#store = store;
    this.#book = book;
    this.#clock = clock;
    this.#writer = writer;
  }

  /** line is that of a production. It is drawn at the first edit of a start. */
  line(production: string): string {
    const line = this.#lines.get(production) ?? drawLine();
    this.#lines.set(production, line);
    return line;
  }

  /** endLines has other lines drawn: the engine says that one is over, or this phone goes by another id. */
  endLines() { this.#lines.clear(); }

  /** handing is how many edits of a production are stored that the engine does not hold yet. */
  handing(production: string): number { return this.#handing.get(production) ?? 0; }

  #hands(production: string, by: 1 | -1) {
    this.#handing.set(production, this.handing(production) + by);
    if (by < 0) this.onHandedIn();
  }

  #production(): string {
    if (this.#book.production === undefined) throw new EngineFault("not-open", "no production is open");
    return this.#book.production;
  }

  /** save makes the edit of a form by itself, and waits for no engine. */
  async save({ kind, record, fields, form }: Save): Promise<Act> {
    const production = this.#production();
    if (record === undefined && restsOnOthers.has(kind)) return this.#later("write", { do: "create", kind, object: nested(fields) });
    const now = this.#clock.now(), at = this.#clock.own(), { by, device } = this.#writer();
    const id = record ?? drawID(now);
    const changes = record === undefined ? begun(fields, form) : changed(fields, form).map((c) => this.#overMine(id, c));
    const line = this.line(production);
    const { n, bytes } = await this.#store.capture(production, line, (n) => bytesOfEdit({
      production, kind, record: id, device, dot: { line, n }, at, offsetMs: this.#clock.offsetMs, by, changes,
    }));
    for (const c of changes) this.#isMine(id, c, dotText({ line, n }));
    this.#hands(production, 1);
    void this.#handIn(production, [bytes]).finally(() => this.#hands(production, -1)); // before it is asked what is to be sent
    this.onStored(1);
    const set = Object.fromEntries(changes.map((c) => [c.field, c.value]));
    const made = { dot: dotText({ line, n }), kind, record: id, set, created: record === undefined };
    return { production, name: kind, at, made: Promise.resolve([made]) };
  }

  /** #overMine stands over what was saved here since the form was read: whoever pressed twice is in no conflict with himself. */
  #overMine(record: string, c: Change): Change {
    const mine = this.#mine.get(`${record} ${c.field}`), over = c.over ?? [];
    if (!mine || over.length > 0 && !over.some((dot) => mine.over.has(dot))) return c;
    return { ...c, over: [...over.filter((dot) => !mine.over.has(dot)), mine.dot] };
  }

  #isMine(record: string, c: Change, dot: string) {
    const name = `${record} ${c.field}`, before = this.#mine.get(name);
    this.#mine.set(name, { dot, over: new Set([...c.over ?? [], ...before?.over ?? [], ...before ? [before.dot] : []]) });
  }

  /** event logs what happened at the slate. It is stored as it was pressed; the engine then makes edits of it. */
  event(setUp: string, event: object): Promise<Act> { return this.#later("event", { setUp, event }); }

  /** create makes a record of an object as the contract has it, where a form would not do. */
  create(kind: string, object: object): Promise<Act> { return this.#later("write", { do: "create", kind, object }); }

  async #later(name: WaitingRow["name"], message: object): Promise<Act> {
    const production = this.#production(), { by } = this.#writer();
    const row: WaitingRow = { production, name, message: textOf(message), at: this.#clock.own(), offsetMs: this.#clock.offsetMs, by };
    row.id = await this.#store.wait(row);
    this.onStored(0);
    const made = Promise.withResolvers<readonly Made[]>();
    made.promise.catch(() => {}); // whoever shows the act is told; what was not made is told by day.notices
    this.#pending.set(row.id, made);
    void this.carryOutAll();
    return { production, name, at: row.at, made: made.promise };
  }

  /**
   * carryOutAll makes edits of what was pressed. Before all days are read it waits: the number of the next take
   * follows from all that is held.
   */
  async carryOutAll(): Promise<void> {
    await this.#inTurn(async () => {
      for (const row of await this.#store.waiting()) {
        if (!this.#book.isOpen || this.#book.early) return; // it is done when the book is open
        if (row.fault === undefined && row.production === this.#book.production) await this.#carryOut(row);
      }
    });
  }

  async #carryOut(row: WaitingRow) {
    const told = this.#pending.get(row.id!);
    try {
      const made = await this.#written(row.name, row.message, row);
      told?.resolve(made);
    } catch (e) {
      if (e instanceof EngineGone || e instanceof EngineFault && e.type === "not-open") return; // it is done later
      told?.reject(e);
      if (!(e instanceof EngineFault)) throw e;
      await this.#store.wait({ ...row, fault: e.message });
      this.onStored(0);
    }
    this.#pending.delete(row.id!);
  }

  /** #inTurn lets one act after another be made, so that each stands on the one before it. */
  #inTurn<T>(what: () => Promise<T>): Promise<T> {
    const mine = this.#chain.then(what, what);
    this.#chain = mine.catch(() => {});
    return mine;
  }

  /** #written asks the engine for edits, stores them, and hands them in. Where the counter moved on meanwhile it asks again. */
  async #written(name: string, message: string, row?: WaitingRow): Promise<readonly Made[]> {
    const production = this.#production();
    for (;;) {
      const line = this.line(production), n = await this.#store.next(line), { by, offsetMs, at } = row ?? this.#who();
      const who = { by, now: at + offsetMs, offsetMs, line, n, chance: drawChance() };
      const answer = await this.#book.ask(name, `${message.slice(0, -1)},${textOf(who).slice(1)}`);
      const { edits } = JSON.parse(answer.text) as Written, bytes = editsIn(answer);
      const made = await Promise.all(edits.map((e) => this.#made(e)));
      if (!await this.#store.keep(production, bytes, { line, from: n, ...(row?.id !== undefined && { waiting: row.id }) })) continue;
      await this.#handIn(production, bytes);
      this.onStored(0);
      return made;
    }
  }

  #who() { return { by: this.#writer().by, offsetMs: this.#clock.offsetMs, at: this.#clock.own() }; }

  async #made(e: Edit): Promise<Made> {
    const there = await this.#book.ask("record", { kind: e.kind, record: e.record }).then(() => true, () => false);
    return { dot: dotText({ line: e.line, n: e.n }), kind: e.kind, record: e.record, set: e.set, created: !there };
  }

  async #handIn(production: string, bytes: Uint8Array<ArrayBuffer>[]) {
    if (production !== this.#book.production) return;
    try {
      const marks = await this.#book.handIn(bytes, true);
      if (this.#book.state?.lineOver) this.endLines();
      if (marks.length > 0) this.onMarks(marks);
    } catch (e) {
      if (!(e instanceof EngineGone)) throw e; // it is stored, and handed in when the engine runs again
    }
  }

  async #direct(name: string, act: string, message: object): Promise<Act> {
    const at = this.#clock.own(), production = this.#production();
    const made = await this.#inTurn(() => this.#written(name, textOf(message)));
    return { production, name: act, at, made: Promise.resolve(made) };
  }

  /** settle answers what waits for a person. A conflict is settled by save, with the value that was chosen. */
  settle(answer: Settle): Promise<Act> { return this.#direct("settle", "settle", answer); }

  async #seen(kind: string, record: string): Promise<string> {
    return answerOf<HandsetRecord>("record", (await this.#book.ask("record", { kind, record })).text).tag;
  }

  async strike(kind: string, record: string): Promise<Act> {
    return this.#direct("write", "strike", { do: "strike", kind, record, seen: await this.#seen(kind, record) });
  }

  async restore(kind: string, record: string): Promise<Act> {
    return this.#direct("write", "restore", { do: "restore", kind, record, seen: await this.#seen(kind, record) });
  }

  /** undo sets back what an act did, the last edit first; what it made is struck out. It is an edit too. */
  async undo(act: Act): Promise<Act> {
    const all: Made[] = [], struck = new Set<string>();
    const edits = await act.made;
    for (const e of edits) if (e.created) struck.add(e.record);
    for (const e of edits.toReversed()) {
      if (struck.has(e.record) && !e.created) continue; // it goes with its record
      const done = e.created ? await this.strike(e.kind, e.record)
        : await this.#direct("undo", "undo", { kind: e.kind, record: e.record, dot: e.dot, seen: await this.#seen(e.kind, e.record) });
      all.push(...await done.made);
    }
    return { production: act.production, name: "undo", at: this.#clock.own(), made: Promise.resolve(all) };
  }
}

/** begun are the changes of a new record: what was touched, and what the form carried over. */
function begun(fields: Readonly<Record<string, Value>>, form: Form | undefined): Change[] {
  const carried = Object.entries(form?.values ?? {}).filter(([, v]) => v.carried).map(([name, v]) => [name, v.value as Value] as const);
  const all = Object.entries({ ...Object.fromEntries(carried), ...fields });
  return all.filter(([, v]) => v !== null).map(([field, value]) => ({ field, value }));
}

/** changed are the changes of a record that was shown: of facts nothing is replaced. */
function changed(fields: Readonly<Record<string, Value>>, form: Form | undefined): Change[] {
  return Object.entries(fields).map(([field, value]) => ({ field, value, over: form?.values[field]?.heads ?? [] }));
}

/** nested makes of names with slashes what the contract has: objects in objects. */
function nested(fields: Readonly<Record<string, Value>>): object {
  const out: Record<string, unknown> = {};
  for (const [name, value] of Object.entries(fields)) {
    let at = out;
    const parts = name.split("/"), last = parts.pop()!;
    for (const part of parts) at = (at[part] ??= {}) as Record<string, unknown>;
    at[last] = value;
  }
  return out;
}

