// Clips found: by what is held here, or by the server.
import type { Book } from "../engine/book";
import type { ClipList, ClipQuery, Finder } from "../find";

export interface ClipsParts {
  book: Book;
  ask: (name: string, message: object) => Promise<{ value: unknown }>;
  askServer: (path: string) => Promise<Response>;
  /** invented says that the production that is open is the invented one. */
  invented: () => boolean;
}

export class Clips {
  readonly #is: ClipsParts;
  #finder: { edition: string; finder: Finder } | undefined;

  constructor(parts: ClipsParts) { this.#is = parts; }

  async find(query: ClipQuery, production: string | undefined): Promise<ClipList> {
    const { book, ask } = this.#is;
    if (book.gone !== undefined || query.least) return this.#foundThere(query, production);
    const edition = `${book.production} ${book.edition}`;
    if (this.#finder?.edition !== edition) {
      const { Finder } = await import("../find");
      this.#finder = { edition, finder: new Finder((name, message) => ask(name, message).then(({ value }) => value as never)) };
    }
    return this.#finder.finder.find(query);
  }

  async #foundThere({ begins, ...query }: ClipQuery, production: string | undefined): Promise<ClipList> {
    const of = new URLSearchParams({ ...query, ...(begins && { name: `${begins}*` }) });
    const around = this.#is.invented() ? "/look-around" : "";
    const answer = await this.#is.askServer(`${around}/v1/productions/${production}/clips?${of}`);
    return await answer.json() as ClipList;
  }
}
