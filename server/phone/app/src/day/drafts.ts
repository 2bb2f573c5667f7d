// Drafts of forms survive rotation, Back and reload: by sheet and record.
import type { Store } from "../store";

const idOf = (sheet: string, record: string | undefined) => `${sheet} ${record ?? ""}`;

export class Drafts {
  readonly #store: Store;
  readonly #opened: Promise<void>;

  /** opened is when the store was opened, or could not be: a form may be on the screen before. */
  constructor(store: Store, opened: Promise<void>) {
    this.#store = store;
    this.#opened = opened;
  }

  /** read is what was typed into a sheet and not saved, or undefined. */
  async read<T>(sheet: string, record?: string): Promise<T | undefined> {
    await this.#opened;
    return (await this.#store.draft(idOf(sheet, record)).catch(() => undefined))?.value as T | undefined;
  }

  /** keep notes what is typed. A draft that cannot be kept is lost with the page, and nothing else is. */
  async keep(sheet: string, record: string | undefined, value: unknown): Promise<void> {
    await this.#opened;
    await this.#store.keepDraft(idOf(sheet, record), value).catch(() => {});
  }

  /** drop forgets it, once it was saved or given up. */
  async drop(sheet: string, record?: string): Promise<void> { await this.keep(sheet, record, undefined); }
}
