// The productions on this phone: begun here, had of the server, looked around in, and removed.
import type { Book } from "../engine/book";
import type { Server } from "../link";
import type { ProductionRow, Store } from "../store";
import type { Act, Acts, Save } from "./acts";
import type { Address } from "./address";
import { fetched } from "./around";
import { takeIn } from "./carried";
import type { Here } from "./here";

export interface ProductionsParts {
  store: Store;
  book: Book;
  acts: Acts;
  address: Address;
  server: Server;
  device: () => string;
  /** kept says what could not be stored, and throws it on. */
  kept: <T>(what: () => Promise<T>) => Promise<T>;
  changed: () => void;
}

export class Productions {
  rows: readonly ProductionRow[] = [];
  readonly #is: ProductionsParts;

  constructor(parts: ProductionsParts) { this.#is = parts; }

  /** read takes over which are stored. */
  async read() { this.rows = await this.#is.store.productions(); }

  /** has says whether one is here. */
  has(production: string | undefined) { return this.rows.some((p) => p.id === production); }

  /** known leaves a production out that is not here, as one whose form was given up. */
  known(to: Here): Here {
    return to.sheet === "production" || this.has(to.production) ? to : { ...to, production: this.rows[0]?.id, setUp: undefined };
  }

  async keep(row: ProductionRow) {
    await this.#is.kept(() => this.#is.store.keepProduction(row));
    await this.read();
    this.#is.changed();
  }

  /** named notes how a production is called, for the list of productions. */
  async named(production: string) {
    const row = this.rows.find((p) => p.id === production), title = this.#is.book.state?.title;
    if (!row || !title || row.title === title || !this.#is.store.mayWrite) return;
    await this.keep({ ...row, title }).catch(() => {}); // it is noted the next time
  }

  /** open opens one that is here; first, as the first that this phone has. */
  open(production: string, first = false) {
    if (first) this.#leave();
    this.#is.address.go("now", { production });
  }

  /** #leave opens none. */
  #leave() {
    const { address } = this.#is;
    address.here = { ...address.here, production: undefined, setUp: undefined };
  }

  async lookAround() {
    const { book, store, device, kept } = this.#is, { row, bundle } = await fetched();
    const here = this.has(row.id);
    this.#leave(); // before the engine holds another production: no screen asks that about a set-up of this one
    try {
      if (here) return;
      await this.keep(row);
      await book.open(row.id, device());
      await kept(() => takeIn(book, store, row.id, bundle));
    } finally {
      this.open(row.id, true);
    }
  }

  async remove(production: string) {
    const { address, book, store, kept, changed } = this.#is;
    await kept(() => store.remove(production));
    await this.read();
    if (address.here.production !== production) {
      changed();
      return;
    }
    book.close();
    const next = this.rows[0];
    if (next) this.open(next.id, true);
    else {
      this.#leave();
      address.go("now", {});
    }
  }

  async begin({ fields, form }: Save): Promise<Act> {
    const { acts, address, kept } = this.#is, id = address.here.production ?? "", { title } = fields;
    await this.keep({ id, title: typeof title === "string" ? title : "", invented: false });
    return kept(() => acts.save({ kind: "production", record: id, fields, ...(form && { form }) }));
  }

  /** there takes over which productions the server has for this phone, and opens one where none is open. */
  async there(): Promise<string[]> {
    const { address, server, store, kept, changed } = this.#is, answer = await server.ask("GET", "/v1/productions");
    const { productions } = await answer.json() as { productions: { id: string; title?: string }[] };
    for (const { id, title } of productions) {
      const row = this.rows.find((p) => p.id === id);
      if (row?.invented) await kept(() => store.remove(id)); // what was tried in it stays out of the real one
      if (!row || row.invented) await this.keep({ id, title: title ?? "", invented: false });
    }
    const first = productions[0]?.id;
    if (first && !this.has(address.here.production)) this.open(first, true);
    changed();
    return productions.map((p) => p.id);
  }
}
