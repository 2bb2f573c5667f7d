// Where the data is, as the way to the server tells it: kept true by each exchange that went through
// or did not.
import type { Verdict } from "../engine/answers.gen";
import type { Book } from "../engine/book";
import { Link, Server, type Told } from "../link";
import { StoreFault, type ProductionRow, type Store } from "../store";
import type { Clock } from "./clock";
import { oldAfter, type Notice, type Status } from "./status";

export interface ReachParts {
  store: Store;
  book: Book;
  clock: Clock;
  line: (production: string) => string;
  handing: (production: string) => number;
  lineOver: () => void;
  device: () => string;
  production: () => ProductionRow | undefined;
  productions: () => readonly ProductionRow[];
  changed: () => void;
  note: (notice: Notice, holds: boolean) => void;
  marks: (marks: readonly Verdict[]) => void;
  failed: (e: StoreFault) => void;
}

export class Reach implements Told {
  readonly server: Server;
  readonly link: Link;
  readonly #is: ReachParts;
  #revoked = false;
  #since: Date | undefined;
  #at: Date | undefined;
  /** #waiting are events that are not edits yet. */
  #waiting = 0;
  /** #held is since when something is on this phone alone. */
  #held: number | undefined;

  constructor(parts: ReachParts) {
    this.#is = parts;
    this.server = new Server(parts.store, () => parts.clock.own());
    this.server.unsent = () => this.#count();
    const { book, store, line, device, productions } = parts;
    this.link = new Link({ server: this.server, book, store, told: this, open: parts.production, productions, device, line });
    setInterval(() => parts.changed(), 60_000); // "older than ten minutes" becomes true by itself
  }

  async open() {
    await this.server.open();
    this.#revoked = (await this.#is.store.setting<boolean>("revoked")) ?? false;
    this.#held = await this.#is.store.setting<number>("heldSince");
    await this.count();
  }

  get paired() { return this.server.admission !== undefined; }

  /** #unsent is how much of the production that is open is on this phone alone; undefined until all of it is read. */
  get #unsent(): number | undefined {
    const { book, handing } = this.#is, open = this.#is.production()?.id ?? "";
    return book.early || book.production !== open ? undefined : (book.state?.unsent ?? 0) + handing(open);
  }

  /** #count is how much is on this phone alone: of the production that is open, and of the others as they were left. */
  #count() {
    const open = this.#is.production(), here = open?.invented ? 0 : (this.#unsent ?? open?.unsent ?? 0);
    const others = this.#is.productions().filter((p) => p.id !== open?.id && !p.invented);
    return others.reduce((sum, p) => sum + (p.unsent ?? 0), here) + this.#waiting;
  }

  /** count looks anew at what is on this phone alone. more were stored just now. */
  async count(more = 0) {
    const open = this.#is.production(), unsent = this.#unsent ?? (more > 0 ? (open?.unsent ?? 0) + more : undefined);
    if (open && unsent !== undefined) await this.#note(open, unsent);
    const waiting = await this.#is.store.waiting().catch(() => []);
    this.#is.note("notMade", waiting.some((w) => w.fault !== undefined));
    const invented = new Set(this.#is.productions().filter((p) => p.invented).map((p) => p.id));
    this.#waiting = waiting.filter((w) => !invented.has(w.production)).length;
    const held = this.#count() === 0 ? undefined : (this.#held ?? this.#is.clock.own());
    if (held !== this.#held) {
      this.#held = held;
      if (this.#is.store.mayWrite) await this.#is.store.keepSetting("heldSince", held).catch(() => {});
    }
    this.#is.changed();
  }

  async #note(row: ProductionRow, unsent: number) {
    if (row.unsent === unsent || !this.#is.store.mayWrite) return;
    row.unsent = unsent;
    await this.#is.store.noteUnsent(row.id, unsent).catch(() => {});
  }

  /** status is the one state of the status line: the first that holds. */
  get status(): Status {
    const count = this.#count(), told = { count, since: this.#since, at: this.#at };
    if (this.#revoked) return { state: "revoked", ...told };
    if (!this.paired) return { state: "unpaired", ...told };
    if (!this.worksOffline) return { state: "notSetUp", ...told };
    if (count > 0 && this.#held !== undefined && this.#is.clock.own() - this.#held > oldAfter) return { state: "old", ...told };
    if (count > 0 || this.#since) return { state: "here", ...told };
    return { state: "sent", ...told };
  }

  /** worksOffline says whether the app itself is kept here, so that it opens without a server. */
  worksOffline = false;

  async pair(code: string, label: string) {
    const admission = await this.server.pair(code, label);
    this.#revoked = false;
    await this.#is.store.keepSetting("revoked", false);
    return admission;
  }

  sent(offsetMs: number | undefined, marks: readonly Verdict[]) {
    this.#since = undefined;
    this.#at = new Date(this.#is.clock.now());
    if (offsetMs !== undefined && Math.abs(offsetMs - this.#is.clock.offsetMs) > 500) {
      this.#is.clock.offsetMs = offsetMs;
      void this.#is.store.keepSetting("offsetMs", offsetMs).catch(() => {});
    }
    if (marks.length > 0) this.#is.marks(marks);
    void this.count().then(() => this.#tell());
  }

  /** #told is what the server was told last of how much is unsent. */
  #told: number | undefined;

  /** #tell tells the server how much is unsent, and hears what this phone may do by now. */
  async #tell() {
    const unsent = this.#count(), production = this.#is.production()?.id ?? "";
    const writes = ["owner", "editor"].includes(this.server.admission?.role ?? "");
    if (unsent === this.#told && writes) return; // who may only look hears soon when that is over
    const answer = await this.server.ask("PATCH", "/v1/me", {
      headers: { "Content-Type": "application/merge-patch+json" }, body: JSON.stringify({ unsent, program: "evenwhite phone" }),
    }).catch(() => undefined); // with the next exchange
    if (!answer) return;
    this.#told = unsent;
    const { roles } = await answer.json() as { roles: Record<string, string> }, role = roles[production] ?? roles["*"];
    const admission = this.server.admission;
    if (!admission || role === undefined || role === admission.role) return;
    await this.server.admit({ ...admission, role }).catch(() => {});
    this.#is.changed();
  }

  lineOver() { this.#is.lineOver(); }

  away() {
    this.#since ??= new Date(this.#is.clock.now());
    this.#is.changed();
  }

  revoked() {
    this.#revoked = true;
    void this.#is.store.keepSetting("revoked", true).catch(() => {});
    this.#is.changed();
  }

  strange() {
    this.server.forget();
    this.#is.changed();
  }

  gone(production: string, why: string) {
    const row = this.#is.productions().find((p) => p.id === production);
    if (row) {
      row.gone = why;
      void this.#is.store.keepProduction({ ...row }).catch(() => {});
    }
    this.#is.changed();
  }

  looksOnly(is: boolean) { this.#is.note("looksOnly", is); }

  aside() { this.#is.note("setAside", true); }

  failed(e: StoreFault) { this.#is.failed(e); }

  async left(production: string, unsent: number) {
    const row = this.#is.productions().find((p) => p.id === production);
    if (row) await this.#note(row, unsent);
    await this.count();
  }
}
