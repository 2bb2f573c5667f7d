import { drawID } from "../capture";
import type { Bundled, SetUpLine, Verdict } from "../engine/answers.gen";
import { Book } from "../engine/book";
import type { ClipList, ClipQuery, Finder } from "../find";
import type { Admission } from "../link";
import { Store, StoreFault, type NotMade, type ProductionRow } from "../store";
import { Acts, type Act, type Save, type Settle } from "./acts";
import { fetched } from "./around";
import { sources } from "./asked";
import { bundleOf, bundleWithout, handOut, productionIn, takeIn } from "./carried";
import { Clock } from "./clock";
import { Drafts } from "./drafts";
import { closed, marked, moved, read, written, type Here, type What } from "./here";
import { Offline } from "./offline";
import { Reach } from "./reach";
import type { Notice, Status } from "./status";

/** When the engine begins though nothing was painted, as in a tab that nobody sees. */
const paintedBy = 1_000;

/** These notices stay until what they say is over; the others follow from what is. */
const noted = ["storeFull", "storeDenied", "storeFailed", "storeLost", "notMade", "looksOnly", "setAside"] as const;

/** Day is what screens use: what is open, the acts, and where the data is. It tells "change" of itself. */
class Day extends EventTarget {
  readonly #store = new Store();
  readonly #clock = new Clock();
  readonly #book = new Book(this.#store);
  readonly #acts = new Acts(this.#store, this.#book, this.#clock, () => ({ by: this.by, device: this.device }));
  readonly #reach = new Reach({
    store: this.#store, book: this.#book, clock: this.#clock, line: (production) => this.#acts.line(production),
    handing: (production) => this.#acts.handing(production), lineOver: () => this.#acts.endLines(),
    device: () => this.device, production: () => this.production,
    productions: () => this.productions, changed: () => this.#tell(), note: (notice, holds) => this.note(notice, holds),
    marks: (marks) => this.#acts.onMarks(marks), failed: (e) => this.#failed(e),
  });
  readonly #offline = new Offline(() => this.#tell());
  readonly drafts = new Drafts(this.#store);
  /** #started is when the store was opened, or could not be. */
  readonly #started = Promise.withResolvers<void>();
  /** #closed is why the store could not be opened: then nothing can be kept. */
  #closed: StoreFault | undefined;
  here: Here = read(location.hash);
  /** #address is where here was read from, or was written to. */
  #address = location.hash;
  /** by is who holds this phone: the author of each edit. */
  by = "";
  /** device is this phone's id in edits. */
  device = "";
  productions: readonly ProductionRow[] = [];
  notices: ReadonlySet<Notice> = new Set();
  /** marks are edits that apply to nothing, with the reason, as the engine told them in this start. */
  marks: readonly Verdict[] = [];
  /** #wasOpen says that the engine ran in this start, and #recovered when it was started again last. */
  #wasOpen = false;
  #recovered = -60_000;
  /** secret is that of the address which was scanned; it stands in no address any more. */
  secret: string | undefined;
  #finder: { edition: string; finder: Finder } | undefined;
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
    this.#invited();
    addEventListener("hashchange", () => this.#arrive());
    addEventListener("popstate", () => this.#arrive());
  }

  /** #invited takes the secret of an invitation out of the address and of the history. */
  #invited() {
    if (!location.pathname.endsWith("/pair")) return;
    this.secret = location.hash.slice(1) || undefined;
    this.here = read("#now/pair");
    history.replaceState(null, "", `./${written(this.here)}`);
    this.#address = location.hash;
  }

  #tell() {
    const is = (notice: Notice, holds: boolean) => (holds ? [notice] : []);
    const stays = noted.filter((n) => this.notices.has(n));
    this.notices = new Set<Notice>([
      ...stays, ...is("olderDays", this.#book.isOpen && this.#book.early), ...is("engineGone", this.#book.gone !== undefined),
      ...is("otherTab", !this.#store.seat.writes && !this.notices.has("storeDenied")), ...is("newerStore", this.#store.newer),
      ...is("invented", this.production?.invented ?? false), ...is("removedThere", this.production?.gone !== undefined),
      ...is("newVersion", this.#offline.newVersion && this.here.sheet === undefined),
    ]);
    this.#reach.worksOffline = this.#offline.works;
    this.dispatchEvent(new Event("change"));
  }

  note(notice: Notice, holds = true) {
    if (this.notices.has(notice) === holds) return;
    const all = new Set(this.notices);
    if (holds) all.add(notice);
    else all.delete(notice);
    this.notices = all;
    this.#tell();
  }

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
      });
      if (this.#store.lost) await this.#store.keepSetting("lost", true);
      if (await this.#store.setting<boolean>("lost")) this.note("storeLost");
      this.by = (await this.#store.setting<string>("by")) ?? "";
      this.#clock.offsetMs = (await this.#store.setting<number>("offsetMs")) ?? 0;
      this.productions = await this.#store.productions();
      this.device = (await this.#store.setting<string>("device")) ?? "";
      if (this.device === "" && this.#store.mayWrite) {
        this.device = drawID(this.#clock.now());
        await this.#store.keepSetting("device", this.device);
      }
      const before = await this.#store.setting<{ production?: string; setUp?: string }>("open");
      const production = this.here.production ?? before?.production ?? this.productions[0]?.id;
      this.here = this.#known({ ...this.here, production, setUp: this.here.setUp ?? before?.setUp });
      this.#book.production = this.here.production;
      await this.#reach.open();
    } catch (e) {
      if (e instanceof StoreFault && e.trouble !== "full") this.#closed = e;
      this.#failed(e);
    }
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
      await this.#book.start();
      if (this.here.production) await this.#opened(this.here.production);
    } catch { /* the book says that it is gone, and why */ }
  }

  /** #recover starts an engine again that was ended, as for want of memory: once a minute at most. */
  #recover() {
    const now = performance.now();
    if (!this.#wasOpen || now - this.#recovered < 60_000) return;
    this.#recovered = now;
    void this.engineAgain().catch(() => {}); // the book says why
  }

  #failed(e: unknown) {
    const trouble = e instanceof StoreFault ? e.trouble : "failed";
    const notice = { full: "storeFull", denied: "storeDenied", newer: "newerStore", otherTab: "otherTab", failed: "storeFailed" } as const;
    if (trouble !== "looksOnly") this.note(notice[trouble]); // which stands there already
  }

  async #opened(production: string) {
    const { all } = await this.#book.open(production, this.device);
    this.#wasOpen = true;
    await this.#aSetUp();
    this.#tell();
    try {
      await all;
      await this.#acts.carryOutAll();
      await this.#named(production);
      await this.#reach.count();
    } finally {
      this.#reach.link.soon();
    }
  }

  /** #named notes how the production is called, for the list of productions. */
  async #named(production: string) {
    const row = this.productions.find((p) => p.id === production), title = this.#book.state?.title;
    if (!row || !title || row.title === title || !this.mayWrite) return;
    await this.#keepProduction({ ...row, title }).catch(() => {}); // it is noted the next time
  }

  async #keepProduction(row: ProductionRow) {
    await this.#kept(() => this.#store.keepProduction(row));
    this.productions = await this.#store.productions();
    this.#tell();
  }

  /** #aSetUp opens the latest set-up where none is open. */
  async #aSetUp() {
    const { setUps } = JSON.parse((await this.#book.ask("setUps", {})).text) as { setUps: SetUpLine[] };
    const latest = setUps[0]?.setUp;
    if (latest === this.here.setUp || setUps.some((s) => s.setUp === this.here.setUp)) return;
    this.here = { ...this.here, setUp: latest };
    this.#write();
    this.#tell();
  }

  /** #write puts what is open into the address, unless that leads on already and is only not heard of yet. */
  #write() {
    if (location.hash !== this.#address) return;
    history.replaceState(history.state, "", written(this.here));
    this.#address = location.hash;
  }

  #arrive() {
    const before = this.here.production;
    this.#address = location.hash;
    this.here = this.#known(read(location.hash, this.here));
    if (this.here.production !== before && this.here.production) {
      this.#reach.link.stop();
      void this.#opened(this.here.production).catch(() => {}); // the book says why
    }
    this.#remember();
    this.#tell();
  }

  /** #known leaves a production out that is not here, as one whose form was given up. */
  #known(to: Here): Here {
    const known = to.sheet === "production" || this.productions.some((p) => p.id === to.production);
    return known ? to : { ...to, production: this.productions[0]?.id, setUp: undefined };
  }

  #remember() {
    const { production, setUp } = this.here;
    if (this.#store.mayWrite && this.production) void this.#store.keepSetting("open", { production, setUp }).catch(() => {});
  }

  /** go opens a place, or a sheet on what is open; what says what it is about: setUp, camera, light, record … */
  go(name: string, what: What = {}) {
    const to = moved(this.here, name, what);
    history.pushState({ depth: ((history.state as { depth?: number } | null)?.depth ?? 0) + 1 }, "", written(to));
    this.#arrive();
  }

  /** mark notes in the address what is picked here: who comes back to it, or loads the app anew, finds it picked. */
  mark(what: What) {
    this.here = marked(this.here, what);
    this.#write();
    this.#tell();
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
    await this.#started.promise;
    if (this.#closed) throw this.#closed;
    try {
      const out = await what();
      if (this.notices.has("storeFull")) this.note("storeFull", false);
      return out;
    } catch (e) {
      if (e instanceof StoreFault) this.#failed(e);
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
  async find(query: ClipQuery): Promise<ClipList> {
    if (this.#book.gone !== undefined || query.least) return this.#foundThere(query);
    const edition = `${this.#book.production} ${this.#book.edition}`;
    if (this.#finder?.edition !== edition) {
      const { Finder } = await import("../find");
      this.#finder = { edition, finder: new Finder((name, message) => this.ask(name, message).then(({ value }) => value as never)) };
    }
    return this.#finder.finder.find(query);
  }

  async #foundThere({ begins, ...query }: ClipQuery): Promise<ClipList> {
    const of = new URLSearchParams({ ...query, ...(begins && { name: `${begins}*` }) });
    const around = this.production?.invented ? "/look-around" : "";
    const answer = await this.askServer("GET", `${around}/v1/productions/${this.here.production}/clips?${of}`);
    return await answer.json() as ClipList;
  }

  /** open opens another production that is here. */
  open(production: string) { this.go("now", { production }); }

  /** lookAround takes the invented production in, and opens it. Nothing of it, and nothing done in it, is ever sent. */
  async lookAround() {
    const { row, bundle } = await fetched();
    if (!this.productions.some((p) => p.id === row.id)) {
      await this.#keepProduction(row);
      await this.#book.open(row.id, this.device);
      await this.#kept(() => takeIn(this.#book, this.#store, row.id, bundle));
    }
    this.here = { ...this.here, production: undefined, setUp: undefined };
    this.open(row.id);
  }

  /** remove takes a production off this phone, for good. What was not sent of it is lost: ask first, unless it is invented. */
  async remove(production: string) {
    await this.#kept(() => this.#store.remove(production));
    this.productions = await this.#store.productions();
    if (this.here.production !== production) {
      this.#tell();
      return;
    }
    this.#book.close();
    this.here = { ...this.here, production: undefined, setUp: undefined };
    const next = this.productions[0];
    if (next) this.open(next.id);
    else this.go("now");
  }

  /** begins says whether this phone may begin a production: an owner of the whole server may. */
  get begins() { return this.admission?.role === "owner" && this.admission.productions.includes("*"); }

  /** newProduction opens one of which nothing is stored yet, under the form that begins it. */
  newProduction() { this.go("production", { production: drawID(this.now()) }); }

  /** begin stores the production that is open: what its form holds is its first edit. It is sent as all others are. */
  async begin({ fields, form }: Save): Promise<Act> {
    const id = this.here.production ?? "", { title } = fields;
    await this.#keepProduction({ id, title: typeof title === "string" ? title : "", invented: false });
    const act = await this.#kept(() => this.#acts.save({ kind: "production", record: id, fields, ...(form && { form }) }));
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
    if (open?.invented && first) this.#openFirst(first);
    else if (open) await this.#opened(open.id); // under the id that this phone has now
  }

  #openFirst(production: string) {
    this.here = { ...this.here, production: undefined, setUp: undefined };
    this.open(production);
  }

  /** productionsThere takes over which productions the server has for this phone, and opens one where none is open. */
  async productionsThere(): Promise<string[]> {
    const answer = await this.#reach.server.ask("GET", "/v1/productions");
    const { productions } = await answer.json() as { productions: { id: string; title?: string }[] };
    for (const { id, title } of productions) {
      const row = this.productions.find((p) => p.id === id);
      if (row?.invented) await this.#kept(() => this.#store.remove(id)); // what was tried in it stays out of the real one
      if (!row || row.invented) await this.#keepProduction({ id, title: title ?? "", invented: false });
    }
    const first = productions[0]?.id;
    if (first && !this.production) this.#openFirst(first);
    this.#tell();
    return productions.map((p) => p.id);
  }

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
    if (!this.productions.some((p) => p.id === production)) await this.#keepProduction({ id: production, title: "", invented: false });
    if (this.#book.production !== production) {
      await (await this.#book.open(production, this.device)).all;
      this.here = { ...this.here, production, setUp: undefined };
      history.pushState(history.state, "", written(this.here));
      this.#address = location.hash;
    }
    const told = await this.#kept(() => takeIn(this.#book, this.#store, production, bytes));
    await this.#named(production);
    await this.#aSetUp();
    this.#reach.link.soon();
    this.#tell();
    return told;
  }

  /**
   * askServer asks the server what this phone cannot answer: devices, invitations, downloads, files. It may throw Refused or Unreachable.
   */
  askServer(method: string, path: string, body?: object | string, type = "application/json") {
    const asking = body !== undefined
      && { headers: { "Content-Type": type }, body: typeof body === "string" ? body : JSON.stringify(body) };
    return this.#reach.server.ask(method, path, asking || undefined);
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
