import { drawID } from "../capture";
import type { SetUpLine, Verdict } from "../engine/answers.gen";
import { Store, StoreFault, type ProductionRow } from "../store";
import { Acts, type Act, type Save, type Settle } from "./acts";
import { sources } from "./asked";
import { Book } from "./book";
import { Clock } from "./clock";
import { Drafts } from "./drafts";
import { closed, moved, read, written, type Here, type What } from "./here";
import type { Notice, Status } from "./status";

/** Day is what screens use: what is open, the acts, and where the data is. It tells "change" of itself. */
class Day extends EventTarget {
  readonly #store = new Store();
  readonly #clock = new Clock();
  readonly #book = new Book(this.#store);
  readonly #acts = new Acts(this.#store, this.#book, this.#clock, () => ({ by: this.by, device: this.device }));
  readonly drafts = new Drafts(this.#store);
  here: Here = read(location.hash);
  /** by is who holds this phone: the author of each edit. */
  by = "";
  /** device is this phone's id in edits. */
  device = "";
  productions: readonly ProductionRow[] = [];
  notices: ReadonlySet<Notice> = new Set();
  status: Status = { state: "unpaired", count: 0, since: undefined, at: undefined };
  /** marks are edits that apply to nothing, with the reason, as the engine told them in this start. */
  marks: readonly Verdict[] = [];
  /** last is the act that was done last. */
  last: Act | undefined;

  constructor() {
    super();
    sources.desk = { book: this.#book, clock: this.#clock, store: this.#store };
    this.#book.addEventListener("change", () => this.#tell());
    this.#acts.onMarks = (marks) => {
      this.marks = [...this.marks, ...marks];
      this.#tell();
    };
    this.#acts.onStored = () => void this.#count();
    addEventListener("hashchange", () => this.#arrive());
    addEventListener("popstate", () => this.#arrive());
  }

  #tell() {
    const is = (notice: Notice, holds: boolean) => (holds ? [notice] : []);
    const stays = (["storeFull", "storeDenied", "storeFailed", "newVersion", "notMade", "notKept"] as const).filter((n) => this.notices.has(n));
    this.notices = new Set<Notice>([
      ...stays, ...is("olderDays", this.#book.isOpen && this.#book.early), ...is("engineGone", this.#book.gone !== undefined),
      ...is("otherTab", !this.#store.seat.writes && !this.notices.has("storeDenied")), ...is("newerStore", this.#store.newer),
      ...is("invented", this.production?.invented ?? false),
    ]);
    this.dispatchEvent(new Event("change"));
  }

  note(notice: Notice, holds = true) {
    const all = new Set(this.notices);
    if (holds) all.add(notice);
    else all.delete(notice);
    this.notices = all;
    this.#tell();
  }

  /** production is the one that is open. */
  get production(): ProductionRow | undefined { return this.productions.find((p) => p.id === this.here.production); }

  /** mayWrite says whether anything can be logged here: not in a second tab, nor in an app that is older than the store. */
  get mayWrite() { return this.#store.mayWrite; }

  /** now is the time by the device's clock, put right by the server's. */
  now() { return this.#clock.now(); }

  /** start opens the store and what was open last; the engine begins after the first paint. */
  async start(): Promise<void> {
    try {
      await this.#store.open(() => this.#tell());
      this.by = (await this.#store.setting<string>("by")) ?? "";
      this.#clock.offsetMs = (await this.#store.setting<number>("offsetMs")) ?? 0;
      this.productions = await this.#store.productions();
      this.device = (await this.#store.setting<string>("device")) ?? "";
      if (this.device === "" && this.#store.mayWrite) {
        this.device = drawID(this.#clock.now());
        await this.#store.keepSetting("device", this.device);
      }
      const before = await this.#store.setting<{ production?: string; setUp?: string }>("open");
      this.here = { ...this.here, production: this.here.production ?? before?.production ?? this.productions[0]?.id, setUp: this.here.setUp ?? before?.setUp };
      this.#book.production = this.here.production;
    } catch (e) {
      this.#failed(e);
    }
    this.#store.onOthers = (production, bytes) => {
      if (production === this.#book.production) void this.#book.handIn(bytes, false);
    };
    this.#tell();
    requestAnimationFrame(() => setTimeout(() => void this.#begin()));
  }

  async #begin() {
    try {
      await this.#book.start();
      if (this.here.production) await this.#opened(this.here.production);
    } catch { /* the book says that it is gone, and why */ }
  }

  #failed(e: unknown) {
    const trouble = e instanceof StoreFault ? e.trouble : "failed";
    const notice = { full: "storeFull", denied: "storeDenied", newer: "newerStore", otherTab: "otherTab", failed: "storeFailed" } as const;
    this.note(notice[trouble]);
  }

  async #opened(production: string) {
    const { all } = await this.#book.open(production, this.device);
    await this.#aSetUp();
    this.#tell();
    await all;
    await this.#acts.carryOutAll();
    await this.#count();
  }

  /** #aSetUp opens the latest set-up where none is open. */
  async #aSetUp() {
    const { setUps } = JSON.parse((await this.#book.ask("setUps", {})).text) as { setUps: SetUpLine[] };
    if (setUps.some((s) => s.setUp === this.here.setUp)) return;
    const latest = setUps[0]?.setUp;
    this.here = { ...this.here, setUp: latest };
    history.replaceState(history.state, "", written(this.here));
  }

  async #count() {
    const waiting = await this.#store.waiting().catch(() => []);
    this.note("notMade", waiting.some((w) => w.fault !== undefined));
    const count = (this.#book.state?.unsent ?? this.status.count) + waiting.length;
    this.status = { ...this.status, count };
    this.#tell();
  }

  #arrive() {
    const before = this.here.production;
    this.here = read(location.hash, this.here);
    if (this.here.production !== before && this.here.production) void this.#opened(this.here.production);
    this.#remember();
    this.#tell();
  }

  #remember() {
    if (this.#store.mayWrite) void this.#store.keepSetting("open", { production: this.here.production, setUp: this.here.setUp }).catch(() => {});
  }

  /** go opens a place, or a sheet on what is open; what says what it is about: setUp, camera, light, record … */
  go(name: string, what: What = {}) {
    const to = moved(this.here, name, what);
    history.pushState({ depth: ((history.state as { depth?: number } | null)?.depth ?? 0) + 1 }, "", written(to));
    this.#arrive();
  }

  /** back closes the sheet on top, as the system's Back does. */
  back() {
    if (((history.state as { depth?: number } | null)?.depth ?? 0) > 0) {
      history.back();
      return;
    }
    history.replaceState(history.state, "", written(closed(this.here)));
    this.#arrive();
  }

  /** hold says who holds this phone from now on. */
  async hold(by: string) {
    await this.#kept(() => this.#store.keepSetting("by", by));
    this.by = by;
    this.#tell();
  }

  async #kept<T>(what: () => Promise<T>): Promise<T> {
    try {
      const out = await what();
      if (this.notices.has("storeFull")) this.note("storeFull", false);
      return out;
    } catch (e) {
      if (e instanceof StoreFault) this.#failed(e);
      throw e;
    }
  }

  async #done(what: () => Promise<Act>): Promise<Act> {
    const act = await this.#kept(what);
    this.last = act;
    this.#tell();
    return act;
  }

  /** event logs what happened at the slate in a set-up, such as {event: "nextTake"}. */
  event(setUp: string, event: object) { return this.#done(() => this.#acts.event(setUp, event)); }

  /** save stores what a form holds. */
  save(what: Save) { return this.#done(() => this.#acts.save(what)); }

  /** create makes a record of an object as the contract has it. */
  create(kind: string, object: object) { return this.#done(() => this.#acts.create(kind, object)); }

  settle(answer: Settle) { return this.#done(() => this.#acts.settle(answer)); }

  strike(kind: string, record: string) { return this.#done(() => this.#acts.strike(kind, record)); }

  restore(kind: string, record: string) { return this.#done(() => this.#acts.restore(kind, record)); }

  undo(act: Act) { return this.#done(() => this.#acts.undo(act)); }

  /** ask asks the engine once, such as what a value means while it is typed (color, judge). */
  async ask<T>(name: string, message: object, bytes?: Uint8Array<ArrayBuffer>): Promise<{ value: T; bytes?: Uint8Array }> {
    const { text, bytes: out } = await this.#book.ask(name, { ...message, now: this.#clock.now() }, bytes);
    return { value: JSON.parse(text) as T, ...(out && { bytes: out }) };
  }

  /** engineAgain starts an engine anew that did not load or was ended. */
  async engineAgain() { await this.#book.again(); }
}

export const day = new Day();
