// Where one is in the app, as the browser's address and history have it.
import { closed, marked, moved, read, written, type Here, type What } from "./here";

export interface AddressParts {
  /** known leaves out what is not on this phone. */
  known: (to: Here) => Here;
  /** arrived is told that the address leads somewhere else, and which production was open before. */
  arrived: (before: string | undefined) => void;
}

export class Address {
  here: Here = read(location.hash);
  /** secret is that of the address which was scanned; it stands in no address any more. */
  secret: string | undefined;
  /** #at is where here was read from, or was written to. */
  #at = location.hash;
  readonly #is: AddressParts;

  constructor(parts: AddressParts) {
    this.#is = parts;
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
    this.#at = location.hash;
  }

  /** write puts what is open into the address, unless that leads on already and is only not heard of yet. */
  write() {
    if (location.hash !== this.#at) return;
    history.replaceState(history.state, "", written(this.here));
    this.#at = location.hash;
  }

  /** push leaves where one was in the history, under the same depth. */
  push(to: Here) {
    this.here = to;
    history.pushState(history.state, "", written(this.here));
    this.#at = location.hash;
  }

  #arrive() {
    const before = this.here.production;
    this.#at = location.hash;
    this.here = this.#is.known(read(location.hash, this.here));
    this.#is.arrived(before);
  }

  go(name: string, what: What) {
    const to = moved(this.here, name, what);
    history.pushState({ depth: ((history.state as { depth?: number } | null)?.depth ?? 0) + 1 }, "", written(to));
    this.#arrive();
  }

  mark(what: What) {
    this.here = marked(this.here, what);
    this.write();
  }

  back() {
    if (((history.state as { depth?: number } | null)?.depth ?? 0) > 0) {
      history.back();
      return;
    }
    history.replaceState(history.state, "", written(closed(this.here)));
    this.#arrive();
  }
}
