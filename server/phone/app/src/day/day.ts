import { drawID } from "../capture";
import type { Bundled, SetUpLine, Verdict } from "../engine/answers.gen";
import { Book } from "../engine/book";
import type { ClipList, ClipQuery } from "../find";
import type { Admission } from "../link";
import { Store, StoreFault, type NotMade, type ProductionRow } from "../store";
import { Acts, type Act, type Save, type Settle } from "./acts";
import { Address } from "./address";
import { sources } from "./asked";
import { bundleOf, bundleWithout, handOut, productionIn, takeIn } from "./carried";
import { Clips } from "./clips";
import { Clock } from "./clock";
import { Drafts } from "./drafts";
import type { Here, What } from "./here";
import { Notices } from "./notices";
import { Offline } from "./offline";
import { Productions } from "./productions";
import { Reach } from "./reach";
import type { Notice, Status } from "./status";

/** When the engine begins though nothing was painted, as in a tab that nobody sees. */
const paintedBy = 1_000;

/** Day is what screens use: what is open, the acts, and where the data is. It tells "change" of itself. */
class Day extends EventTarget {
  readonly #store = new Store();
  readonly #clock = new Clock();
  readonly #book = new Book(this.#store);
  readonly #notices = new Notices(() => this.#tell());
  readonly #acts = new Acts(this.#store, this.#book, this.#clock, () => ({ by: this.by, device: this.device }));
  readonly #reach = new Reach({
    store: this.#store, book: this.#book, clock: this.#clock, line: (production) => this.#acts.line(production),
    handing: (production) => this.#acts.handing(production), lineOver: () => this.#acts.endLines(),
    device: () => this.device, production: () => this.production,
    productions: () => this.productions, changed: () => this.#tell(), note: (notice, holds) => this.note(notice, holds),
    marks: (marks) => this.#acts.onMarks(marks), failed: (e) => this.#notices.failed(e),
  });
  readonly #offline = new Offline(() => this.#tell());
  readonly #address: Address = new Address({
    known: (to) => this.#productions.known(to), arrived: (before) => this.#arrived(before),
  });
  readonly #productions = new Productions({
    store: this.#store, book: this.#book, acts: this.#acts, address: this.#address, server: this.#reach.server,
    device: () => this.device, kept: (what) => this.#kept(what), changed: () => this.#tell(),
  });
  readonly #clips = new Clips({
    book: this.#book, ask: (name, message) => this.ask(name, message), askServer: (path) => this.askServer("GET", path),
    invented: () => this.production?.invented ?? false,
  });
  /** #started is when the store was opened, or could not be. */
  readonly #started = Promise.withResolvers<void>();
  readonly drafts = new Drafts(this.#store, this.#started.promise);
  /** #closed is why the store could not be opened: then nothing can be kept. */
  #closed: StoreFault | undefined;
  /** isOpen says that the store was opened, or could not be: before, no form finds what it is about, nor its draft. */
  isOpen = false;
  /** by is who holds this phone: the author of each edit. */
  by = "";
  /** device is this phone's id in edits. */
  device = "";
  /** marks are edits that apply to nothing, with the reason, as the engine told them in this start. */
  marks: readonly Verdict[] = [];
  /** #wasOpen says that the engine ran in this start, and #recovered when it was started again last. */
  #wasOpen = false;
  #recovered = -60_000;
  #begun = false;
  /** last is the act that was done last. */
  last: Act | undefined;

  constructor() {
    super();
    sources.desk = { book: this.#book, clock: this.#clock, store: this.#store };
    this.#book.addEventListener("change", () => {
      if (this.#book.isOpen && this.here.setUp === undefined) void this.#aSetUp().catch(() => {}); // the first that is heard of
      this.#tell();
      if (this.#book.gone !== undefined) this.#recover();
    });
    this.#acts.onMarks = (marks) => {
      this.marks = [...this.marks, ...marks];
      this.#tell();
    };
    this.#acts.onHandedIn = () => void this.#reach.count();
    this.#acts.onStored = (edits) => {
      void this.#reach.count(edits);
      this.#reach.link.soon();
    };
  }

  #tell() {
    const { notices, production } = this;
    this.#notices.follow({
      olderDays: this.#book.isOpen && this.#book.early, engineGone: this.#book.gone !== undefined,
      otherTab: !this.#store.seat.writes && !notices.has("storeDenied"), newerStore: this.#store.newer,
      invented: production?.invented ?? false, removedThere: production?.gone !== undefined,
      newVersion: this.#offline.newVersion && this.here.sheet === undefined,
    });
    this.#reach.worksOffline = this.#offline.works;
    this.dispatchEvent(new Event("change"));
  }

  get notices(): ReadonlySet<Notice> { return this.#notices.all; }

  note(notice: Notice, holds = true) { this.#notices.note(notice, holds); }

  /** production is the one that is open. */
  get production(): ProductionRow | undefined { return this.productions.find((p) => p.id === this.here.production); }

  /** status is where the data is: the status line's one state. */
  get status(): Status { return this.#reach.status; }

  /** paired says whether a server let this phone in. */
  get paired() { return this.#reach.paired; }

  /** admission is what the server said of this phone: its role, and in which productions. */
  get admission(): Admission | undefined { return this.#reach.server.admission; }

  /** looks is the role by which the server takes no entry of this phone but notes; undefined where it takes them. */
  get looks(): "reader" | "post" | "guest" | undefined {
    const role = this.admission?.role;
    return !this.production?.invented && (role === "reader" || role === "post" || role === "guest") ? role : undefined;
  }

  /** kept says whether the browser promised to clear nothing here by itself; undefined where it was not asked. */
  get kept() { return this.#offline.kept; }

  /** mayWrite says whether anything can be logged here: not in a second tab, nor in an app that is older than the store. */
  get mayWrite() { return this.#store.mayWrite; }

  /** now is the time by the device's clock, put right by the server's. */
  now() { return this.#clock.now(); }

  /** start opens the store and what was open last; the engine begins after the first paint. */
  async start(): Promise<void> {
    try {
      await this.#store.open(() => { // the tab that wrote is closed
        this.#tell();
        void this.#acts.carryOutAll().catch(() => {}).finally(() => this.#reach.link.soon());
      }, () => this.note("storeHeld"));
      this.note("storeHeld", false);
      if (this.#store.lost) await this.#store.keepSetting("lost", true);
      if (await this.#store.setting<boolean>("lost")) this.note("storeLost");
      this.by = (await this.#store.setting<string>("by")) ?? "";
      this.#clock.offsetMs = (await this.#store.setting<number>("offsetMs")) ?? 0;
      await this.#productions.read();
      this.device = (await this.#store.setting<string>("device")) ?? "";
      if (this.device === "" && this.#store.mayWrite) {
        this.device = drawID(this.#clock.now());
        await this.#store.keepSetting("device", this.device);
      }
      const before = await this.#store.setting<{ production?: string; setUp?: string }>("open");
      const production = this.here.production ?? before?.production ?? this.productions[0]?.id;
      this.here = this.#productions.known({ ...this.here, production, setUp: this.here.setUp ?? before?.setUp });
      this.#book.production = this.here.production;
      await this.#reach.open();
    } catch (e) {
      if (e instanceof StoreFault && e.trouble !== "full") this.#closed = e;
      this.#notices.failed(e);
    }
    this.isOpen = true;
    this.#started.resolve();
    this.#store.onOthers = (production, bytes) => {
      if (production === this.#book.production) void this.#book.handIn(bytes, false);
    };
    this.#tell();
    requestAnimationFrame(() => setTimeout(() => void this.#begin()));
    setTimeout(() => void this.#begin(), paintedBy);
  }

  async #begin() {
    if (this.#begun) return;
    this.#begun = true;
    void this.#offline.start();
    try {
      const loaded = this.#book.start(); // what is stored is read meanwhile
      void loaded.catch(() => {}).then(() => this.#store.newLog()).catch(() => {}); // whoever keeps something is told why nothing can be
      await (this.here.production ? Promise.all([loaded, this.#opened(this.here.production)]) : loaded);
    } catch { /* the book says that it is gone, and why */ }
  }

  /** #recover starts an engine again that was ended, as for want of memory: once a minute at most. */
  #recover() {
    const now = performance.now();
    if (!this.#wasOpen || now - this.#recovered < 60_000) return;
    this.#recovered = now;
    void this.engineAgain().catch(() => {}); // the book says why
  }

  async #opened(production: string) {
    const { all } = await this.#book.open(production, this.device);
    this.#wasOpen = true;
    await this.#aSetUp();
    this.#tell();
    try {
      await all;
      await this.#acts.carryOutAll();
      await this.#productions.named(production);
      await this.#reach.count();
    } finally {
      this.#reach.link.soon();
    }
  }

  /** #aSetUp opens the latest set-up where none is open, of the production that is. */
  async #aSetUp() {
    const of = this.#book.production;
    const { setUps } = JSON.parse((await this.#book.ask("setUps", {})).text) as { setUps: SetUpLine[] };
    if (this.here.production !== of || this.#book.production !== of) return; // another is being opened
    const latest = setUps[0]?.setUp;
    if (latest === this.here.setUp || setUps.some((s) => s.setUp === this.here.setUp)) return;
    this.here = { ...this.here, setUp: latest };
    this.#address.write();
    this.#tell();
  }

  #arrived(before: string | undefined) {
    if (this.here.production !== before && this.here.production) {
      this.#reach.link.stop();
      void this.#opened(this.here.production).catch(() => {}); // the book says why
    }
    this.#remember();
    this.#tell();
  }

  #remember() {
    const { production, setUp } = this.here;
    if (this.#store.mayWrite && this.production) void this.#store.keepSetting("open", { production, setUp }).catch(() => {});
  }

  get here(): Here { return this.#address.here; }

  set here(to: Here) { this.#address.here = to; }

  /** secret is that of the address which was scanned. */
  get secret() { return this.#address.secret; }

  /** go opens a place, or a sheet on what is open; what says what it is about: setUp, camera, light, record … */
  go(name: string, what: What = {}) { this.#address.go(name, what); }

  /** mark notes in the address what is picked here: who comes back to it, or loads the app anew, finds it picked. */
  mark(what: What) {
    this.#address.mark(what);
    this.#tell();
  }

  /** back closes the sheet on top, as the system's Back does. */
  back() { this.#address.back(); }

  /** hold says who holds this phone from now on. */
  async hold(by: string) {
    await this.#kept(() => this.#store.keepSetting("by", by));
    this.by = by;
    this.#tell();
  }

  async #kept<T>(what: () => Promise<T>): Promise<T> {
    await this.#started.promise;
    if (this.#closed) throw this.#closed;
    try {
      const out = await what();
      for (const over of ["storeFull", "storeFailed"] as const) this.note(over, false);
      return out;
    } catch (e) {
      if (e instanceof StoreFault) this.#notices.failed(e);
      throw e;
    }
  }

  /** #done stores an act, unless the server would take nothing of the kind from this phone. */
  async #done(what: () => Promise<Act>, kind = ""): Promise<Act> {
    if (this.looks !== undefined && !(this.looks === "post" && kind === "note")) throw new StoreFault("looksOnly");
    const act = await this.#kept(what);
    this.last = act;
    this.#tell();
    return act;
  }

  /** event logs what happened at the slate in a set-up, such as {event: "nextTake"}. */
  event(setUp: string, event: object) { return this.#done(() => this.#acts.event(setUp, event)); }

  /** save stores what a form holds. */
  save(what: Save) { return this.#done(() => this.#acts.save(what), what.kind); }

  /** create makes a record of an object as the contract has it. */
  create(kind: string, object: object) { return this.#done(() => this.#acts.create(kind, object), kind); }

  settle(answer: Settle) { return this.#done(() => this.#acts.settle(answer)); }

  strike(kind: string, record: string) { return this.#done(() => this.#acts.strike(kind, record)); }

  restore(kind: string, record: string) { return this.#done(() => this.#acts.restore(kind, record)); }

  undo(act: Act) { return this.#done(() => this.#acts.undo(act)); }

  /** ask asks the engine once, such as what a value means while it is typed (color, judge). */
  async ask<T>(name: string, message: object, bytes?: Uint8Array<ArrayBuffer>): Promise<{ value: T; bytes?: Uint8Array }> {
    const { text, bytes: out } = await this.#book.ask(name, { ...message, now: this.#clock.now() }, bytes);
    return { value: JSON.parse(text) as T, ...(out && { bytes: out }) };
  }

  /**
   * find finds clips by what is held here; where no engine runs, and by how far they are off, by the server. It may throw CannotAsk,
   * Refused, Unreachable.
   */
  find(query: ClipQuery): Promise<ClipList> { return this.#clips.find(query, this.here.production); }

  get productions(): readonly ProductionRow[] { return this.#productions.rows; }

  /** open opens another production that is here. */
  open(production: string) { this.#productions.open(production); }

  /** lookAround takes the invented production in, and opens it. Nothing of it, and nothing done in it, is ever sent. */
  lookAround() { return this.#productions.lookAround(); }

  /** remove takes a production off this phone, for good. What was not sent of it is lost: ask first, unless it is invented. */
  remove(production: string) { return this.#productions.remove(production); }

  /** begins says whether this phone may begin a production: an owner of the whole server may. */
  get begins() { return this.admission?.role === "owner" && this.admission.productions.includes("*"); }

  /** newProduction opens one of which nothing is stored yet, under the form that begins it. */
  newProduction() { this.go("production", { production: drawID(this.now()) }); }

  /** begin stores the production that is open: what its form holds is its first edit. It is sent as all others are. */
  async begin(what: Save): Promise<Act> {
    const act = await this.#productions.begin(what);
    this.#remember();
    return act;
  }

  /** pair lets this phone in by a typed code, or by the secret of a scanned address. by is who holds it. */
  async pair(code: string, { label = "", by }: { label?: string; by?: string } = {}) {
    const admission = await this.#kept(() => this.#reach.pair(code, label));
    await this.#kept(() => this.#store.keepSetting("device", admission.device));
    await this.#kept(() => this.#store.keepSetting("lost", false));
    this.note("storeLost", false);
    this.device = admission.device;
    this.#acts.endLines();
    if (by !== undefined) await this.hold(by);
    void this.#offline.ask();
    const open = this.production, first = (await this.productionsThere())[0];
    if (open?.invented && first) this.#productions.open(first, true);
    else if (open) await this.#opened(open.id); // under the id that this phone has now
  }

  /** productionsThere takes over which productions the server has for this phone, and opens one where none is open. */
  productionsThere() { return this.#productions.there(); }

  /** saveAsFile hands out the production that is open, or what of it was not sent, as a file. */
  async saveAsFile(unsent: boolean) {
    const production = this.here.production, title = this.production?.title ?? "", at = new Date(this.#clock.now());
    if (production === undefined) return "given up";
    const made = this.#book.isOpen && !this.#book.early ? bundleOf(this.#book, title, unsent, at)
      : bundleWithout(this.#store, production, title, at); // what of it was not sent only the engine knows: all of it goes
    return handOut(await made);
  }

  /** takeFile takes in such a file. undefined says that it is none. A production that is not here begins with it. */
  async takeFile(file: File): Promise<Bundled | undefined> {
    const bytes = new Uint8Array(await file.arrayBuffer()), production = productionIn(bytes);
    if (production === undefined) return undefined;
    if (!this.#productions.has(production)) await this.#productions.keep({ id: production, title: "", invented: false });
    if (this.#book.production !== production) {
      await (await this.#book.open(production, this.device)).all;
      this.#address.push({ ...this.here, production, setUp: undefined });
    }
    const told = await this.#kept(() => takeIn(this.#book, this.#store, production, bytes));
    await this.#productions.named(production);
    await this.#aSetUp();
    this.#reach.link.soon();
    this.#tell();
    return told;
  }

  /**
   * askServer asks the server what this phone cannot answer: devices, invitations, downloads, files. It may throw Refused or Unreachable.
   */
  askServer(method: string, path: string, body?: object | string | Blob, type = "application/json", signal?: AbortSignal) {
    const sent = typeof body === "string" || body instanceof Blob ? body : JSON.stringify(body);
    return this.#reach.server.ask(method, path, {
      ...(body !== undefined && { headers: { "Content-Type": type }, body: sent }), ...(signal && { signal }) });
  }

  /** exchange exchanges now. */
  exchange() { this.#reach.link.soon(); }

  /** takeVersion loads the version of the app that is waiting. */
  takeVersion() { this.#offline.take(); }

  /** notMade lists what was pressed and could not be logged, with the reason. */
  async notMade(): Promise<NotMade[]> {
    return (await this.#store.waiting()).filter((w): w is NotMade => w.id !== undefined && w.fault !== undefined);
  }

  /** tryAgain has the engine make edits of it anew. */
  async tryAgain(row: NotMade) {
    const { fault: _, ...asPressed } = row;
    await this.#kept(() => this.#store.wait(asPressed));
    await this.#acts.carryOutAll();
    await this.#reach.count();
  }

  /** dropNotMade gives up what could not be logged. */
  async dropNotMade(id: number) {
    await this.#kept(() => this.#store.dropWaiting(id));
    await this.#reach.count();
  }

  /** engineAgain starts an engine anew that did not load or was ended. */
  async engineAgain() {
    await this.#book.start();
    if (this.here.production) await this.#opened(this.here.production);
  }
}

export const day = new Day();
