// The production that is open, in the engine: handed in from the store, the newest first, and asked.
import { dotText, frames, framed } from "../capture";
import { Engine, EngineFault, EngineGone, type Answer } from "./index";
import type { Held, Prepared, State, Verdict } from "./answers.gen";
import { textOf } from "./message";
import { pageOf, type EditRow, type Store } from "../store";

/** What a page of edits holds at most: handing one in keeps the engine for some tens of milliseconds. */
const page = 512;

/** After so many edits of what was shot, about a day, the screens ask anew; then once all is here. Each time costs some pages. */
const aDay = 3 * page;

/** How many records the engine prepares at once: some milliseconds, so that an answer hardly waits. */
const slice = 1024;

export class Book extends EventTarget {
  readonly #engine = new Engine();
  readonly #store: Store;
  production: string | undefined;
  state: State | undefined;
  /** gone says why the engine does not run. */
  gone: string | undefined;
  /** edition changes with everything that may change an answer. */
  edition = 0;
  /** holds counts what was handed in: a state is older than those that came in after it. */
  holds = 0;
  #opening = 0;
  /** #told says that about a day is held: before, the engine knows too little to be asked. */
  #told = false;
  #prepared = false;
  #device = "";

  constructor(store: Store) {
    super();
    this.#store = store;
  }

  /** early says that older days are still being read: answers may move. It holds until all is prepared that needs every day. */
  get early() { return this.state === undefined || this.state.rest > 0 || !this.#prepared; }

  get isOpen() { return this.state !== undefined && this.gone === undefined; }

  #changed() {
    this.edition++;
    this.dispatchEvent(new Event("change"));
  }

  /** start loads the engine. */
  async start(): Promise<void> {
    this.gone = undefined;
    try {
      await this.#engine.start((why) => this.#ended(why));
    } catch (e) {
      this.#ended(e instanceof Error ? e.message : String(e));
      throw e;
    }
  }

  #ended(why: string) {
    this.gone = why;
    this.state = undefined;
    this.#changed();
  }

  /** open hands the stored edits of a production in; it resolves when about a day is held, all resolves when every one is. */
  async open(production: string, device: string): Promise<{ all: Promise<void> }> {
    const turn = ++this.#opening;
    this.production = production;
    this.#device = device;
    this.state = undefined;
    this.#told = this.#prepared = false;
    const known = (await this.#store.logs(production)).map((l) => l.known);
    const opened = await this.#engine.ask("open", { production, device, rest: 1 }, framed(known));
    if (turn !== this.#opening) throw new EngineGone("another production was opened");
    this.state = JSON.parse(opened.text) as State;
    const first = Promise.withResolvers<void>();
    const all = this.#fill(production, turn, first.resolve);
    all.catch(first.reject);
    await first.promise;
    return { all };
  }

  /** close forgets which production was open. */
  close() {
    this.#opening++;
    this.production = this.state = undefined;
    this.#changed();
  }

  async #fill(production: string, turn: number, first: () => void) {
    let shot = 0, said = false, whole = false;
    for await (const next of ahead(this.#store.pages(production, page, this.state!.rules))) {
      if (turn !== this.#opening) return;
      whole = next.last;
      const message = { rest: next.last ? 0 : 1, from: next.from };
      if ("rows" in next) await this.#holdRows(production, next.rows, message);
      else if (!await this.#holdPage(next.bytes, message)) {
        if (turn !== this.#opening) return; // the engine refused it for another production
        await this.#holdRows(production, await next.rowsInstead(), message);
      }
      shot += next.rank === 0 ? next.count : 0;
      if (shot >= aDay && !said) {
        said = this.#told = true;
        this.#changed();
        first();
      }
    }
    if (turn === this.#opening && !whole) await this.#hold(framed([]), { rest: 0 }); // there was none
    await this.#prepare(turn);
    if (turn === this.#opening) this.#told = true;
    this.#changed();
    first();
  }

  /** #holdPage hands in a page that was kept; false where something on it cannot be read. */
  async #holdPage(bytes: Uint8Array<ArrayBuffer>, message: object): Promise<boolean> {
    try {
      return (await this.#hold(bytes, { ...message, valid: true })).marks.length === 0;
    } catch (e) {
      if (e instanceof EngineFault) return false;
      throw e;
    }
  }

  /** #holdRows hands in stored edits that are on no page, and keeps those that are valid as one, if they are many. */
  async #holdRows(production: string, rows: EditRow[], message: object) {
    const handed = rows.filter((r) => !r.aside);
    const { marks, rules } = await this.#hold(framed(handed.map((r) => r.bytes)), message);
    if (handed.length < page / 4 || !this.#store.mayWrite) return;
    const marked = new Set(marks.map((m) => m.dot)), valid = handed.filter((r) => !marked.has(dotText(r)));
    if (marked.has(undefined) || valid.length === 0) return; // one cannot be read
    const bytes = framed(valid.map((r) => r.bytes));
    void this.#store.keepPage(production, pageOf(valid, rules), bytes).catch(() => {}); // then they are read by themselves
  }

  /** #prepare has the engine work out, bit by bit, what answers need of all days: the first to ask would wait for all of it. */
  async #prepare(turn: number) {
    while (turn === this.#opening && !this.#prepared) {
      const { text } = await this.#engine.ask("prepare", { most: slice });
      if (turn === this.#opening) this.#prepared = (JSON.parse(text) as Prepared).done;
    }
  }

  async #hold(edits: Uint8Array<ArrayBuffer>, message: object): Promise<Held> {
    const turn = this.#opening, answer = await this.#engine.ask("hold", textOf(message), edits);
    const held = JSON.parse(answer.text) as Held;
    if (turn !== this.#opening) return held; // another production was opened
    this.state = held;
    this.holds++;
    return held;
  }

  /** handIn gives the engine edits that were stored. wrote says that this phone made them. */
  async handIn(edits: Uint8Array<ArrayBuffer>[], wrote: boolean): Promise<Verdict[]> {
    if (!this.isOpen) return []; // they are handed in when it is opened
    const held = await this.#hold(framed(edits), { wrote });
    this.#changed();
    return held.marks;
  }

  /** ask asks about the production that is open. */
  async ask(name: string, message: object | string, bytes?: Uint8Array<ArrayBuffer>): Promise<Answer> {
    if (this.gone !== undefined) throw new EngineGone(this.gone);
    if (this.state === undefined || !this.#told) throw new EngineFault("not-open", "no production is open");
    return this.#engine.ask(name, typeof message === "string" ? message : textOf(message), bytes);
  }

  /** took notes the state that an answer of the service left, where holds is still how much was handed in. */
  took(production: string, state: State, { changed, holds }: { changed: boolean; holds: number }) {
    if (production !== this.production) return;
    if (holds === this.holds) this.state = state;
    if (changed) this.#changed();
  }

  /** end lets go of the engine. */
  end() {
    this.close();
    this.#engine.stop("the production was closed");
  }

  /** again starts the engine anew with the production that was open. */
  async again(): Promise<void> {
    await this.start();
    if (this.production) await (await this.open(this.production, this.#device)).all;
  }
}

export const editsIn = (answer: Answer) => frames(answer.bytes ?? new Uint8Array());

/** ahead reads the next page while the one before is worked on. */
async function* ahead<T>(pages: AsyncGenerator<T>): AsyncGenerator<T> {
  const read = (): Promise<IteratorResult<T>> => {
    const next = pages.next();
    next.catch(() => {}); // whoever takes it is told
    return next;
  };
  for (let next = read(); ;) {
    const { value, done } = await next;
    if (done) return;
    next = read();
    yield value;
  }
}
