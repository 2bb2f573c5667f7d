// What must be said beside where the data is.
import { StoreFault } from "../store";
import type { Notice } from "./status";

/** These notices stay until what they say is over; the others follow from what is. */
const noted = ["storeFull", "storeDenied", "storeFailed", "storeLost", "storeHeld", "notMade", "looksOnly", "setAside"] as const;

export class Notices {
  all: ReadonlySet<Notice> = new Set();
  readonly #changed: () => void;

  constructor(changed: () => void) { this.#changed = changed; }

  /** follow takes over those that follow from what is. */
  follow(is: Partial<Record<Notice, boolean>>) {
    const stays = noted.filter((n) => this.all.has(n)), follows = (Object.keys(is) as Notice[]).filter((n) => is[n]);
    this.all = new Set<Notice>([...stays, ...follows]);
  }

  note(notice: Notice, holds = true) {
    if (this.all.has(notice) === holds) return;
    const all = new Set(this.all);
    if (holds) all.add(notice);
    else all.delete(notice);
    this.all = all;
    this.#changed();
  }

  /** failed says what could not be stored, and why. */
  failed(e: unknown) {
    const trouble = e instanceof StoreFault ? e.trouble : "failed";
    const notice = { full: "storeFull", denied: "storeDenied", newer: "newerStore", otherTab: "otherTab", failed: "storeFailed" } as const;
    if (trouble !== "looksOnly") this.note(notice[trouble]); // which stands there already
  }
}
