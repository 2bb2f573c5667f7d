// A note about the last take, or the set-up.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched, type answers } from "../day";
import { actRow, chips, Screen } from "../look";
import { mayNote, onlyBack } from "../place/may";
import { note as words, upper } from "../words";

interface Draft { text: string; to: "set" | "post" }

export class Note extends Screen {
  static override properties = { draft: { state: true }, wrong: { state: true } };
  declare draft: Draft;
  declare wrong: string | undefined;
  readonly takes = new Asked<answers.Takes>(this, "list", () => (day.here.setUp ? { setUp: day.here.setUp, limit: 1 } : undefined));

  constructor() {
    super();
    this.draft = { text: "", to: "post" };
    new Watched(this);
    void day.drafts.read<Draft>("note", day.here.setUp).then((kept) => { if (kept) this.draft = kept; });
  }

  /** #about is what the sheet was opened on, else the last take, else the set-up. */
  get #about(): { record: string | undefined; words: string } {
    const { record, name } = day.here.what, take = this.takes.value?.takes.find((t) => t.take);
    if (record && name) return { record, words: name };
    return take ? { record: take.take, words: take.name } : { record: day.here.setUp, words: "" };
  }

  #draft(change: Partial<Draft>): void {
    this.draft = { ...this.draft, ...change };
    this.wrong = undefined;
    void day.drafts.keep("note", day.here.setUp, this.draft);
  }

  async #save(): Promise<void> {
    const text = this.draft.text.trim(), about = this.#about.record;
    if (!text || !about) {
      this.wrong = words.empty;
      return;
    }
    await day.save({ kind: "note", fields: { about, text, to: { as: this.draft.to } } });
    void day.drafts.drop("note", day.here.setUp);
    day.go(day.here.place); // not back to what else happened
  }

  protected override render(): TemplateResult {
    const about = this.#about.words;
    return html`<main class="low"><h1 class="big">${words.title}</h1>
      <label class="label"><span>${words.label}${about ? html` <span class="s">${words.about(about)}</span>` : nothing}</span>
        <textarea class="input" maxlength="2000" .value=${this.draft.text}
          @input=${(e: Event) => this.#draft({ text: (e.target as HTMLTextAreaElement).value })}></textarea></label>
      <p role="alert">${this.wrong ?? ""}</p>
      ${chips(words.to, [{ words: words.set, value: "set" as const }, { words: words.post, value: "post" as const }], this.draft.to,
        (to) => this.#draft({ to }))}</main>
      <footer class="hand">${mayNote() ? actRow([{ words: words.back, press: () => day.back() }],
        { words: words.save, small: upper(about), press: () => void this.#save() }) : onlyBack()}</footer>`;
  }
}
customElements.define("ew-note", Note);
