// A note about the last take, or the set-up; and the answer to one that asks.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched, type answers } from "../day";
import { actRow, chips, Screen } from "../look";
import { notesAsked, notesIn, type NoteRow } from "../place/asked-notes";
import { mayNote, mayWrite, onlyBack } from "../place/may";
import { clock, note as words, states, upper } from "../words";
import { change } from "./change";

interface Draft { text: string; to: "set" | "post" }

export class Note extends Screen {
  static override properties = { draft: { state: true }, wrong: { state: true } };
  declare draft: Draft;
  declare wrong: string | undefined;
  readonly takes = new Asked<answers.Takes>(this, "list", () => (day.here.setUp ? { setUp: day.here.setUp, limit: 1 } : undefined));

  readonly notes = notesAsked(this);

  constructor() {
    super();
    this.draft = { text: "", to: "post" };
    new Watched(this);
    void day.drafts.read<Draft>("note", this.#of).then((kept) => { if (kept) this.draft = kept; });
  }

  /** #of is whose draft it is: that of the question that is answered, else of the set-up. */
  get #of(): string | undefined { return day.here.what["answers"] ?? day.here.setUp; }

  /** #question is the note that this one answers. */
  get #question(): NoteRow | undefined { return notesIn(this.notes.value).find((n) => n.id === day.here.what["answers"]); }

  /** #about is what the sheet was opened on, else the last take, else the set-up. */
  get #about(): { record: string | undefined; words: string } {
    const { record, name } = day.here.what, take = this.takes.value?.takes.find((t) => t.take);
    if (record && name) return { record, words: name };
    return take ? { record: take.take, words: take.name } : { record: day.here.setUp, words: "" };
  }

  #draft(change: Partial<Draft>): void {
    this.draft = { ...this.draft, ...change };
    this.wrong = undefined;
    void day.drafts.keep("note", this.#of, this.draft);
  }

  async #save(): Promise<void> {
    const text = this.draft.text.trim(), asked = this.#question, about = asked ? asked.about : this.#about.record;
    if (!text || !about) {
      this.wrong = words.empty;
      return;
    }
    await day.save({ kind: "note", fields: asked ? { about, text, to: { as: "post" }, answers: asked.id }
      : { about, text, to: { as: this.draft.to } } });
    void day.drafts.drop("note", this.#of);
    if (asked) day.back();
    else day.go(day.here.place); // not back to what else happened
  }

  protected override render(): TemplateResult {
    return day.here.what["answers"] ? this.#answer() : this.#note();
  }

  #typed(label: TemplateResult): TemplateResult {
    return html`<label class="label"><span>${label}</span>
        <textarea class="input" maxlength="2000" .value=${this.draft.text}
          @input=${(e: Event) => this.#draft({ text: (e.target as HTMLTextAreaElement).value })}></textarea></label>
      <p role="alert">${this.wrong ?? ""}</p>`;
  }

  /** #answer answers a question, or says that none is needed. */
  #answer(): TemplateResult {
    const asked = this.#question, back = { words: words.back, press: () => day.back() };
    if (!asked) return html`<main><h1 class="big">${words.answerTitle}</h1><p>${this.notes.value ? words.gone : states.reading}</p></main>
      <footer class="hand">${actRow([back])}</footer>`;
    const done = { words: words.done, press: () => void change("note", asked.id, { state: "done" }).then(() => day.back()) };
    return html`<main class="low"><h1 class="big">${words.answerTitle}</h1>
      <section class="panel"><p class="s">${words.asks(asked.madeBy ?? "", clock(asked.madeAt ?? ""))}</p><p>“${asked.text}”</p></section>
      ${this.#typed(html`${words.answer}`)}</main>
      <footer class="hand">${mayNote() ? actRow(mayWrite() ? [back, done] : [back], { words: words.save, press: () => void this.#save() })
        : onlyBack()}</footer>`;
  }

  #note(): TemplateResult {
    const about = this.#about.words;
    return html`<main class="low"><h1 class="big">${words.title}</h1>
      ${this.#typed(html`${words.label}${about ? html` <span class="s">${words.about(about)}</span>` : nothing}`)}
      ${chips(words.to, [{ words: words.set, value: "set" as const }, { words: words.post, value: "post" as const }], this.draft.to,
        (to) => this.#draft({ to }))}</main>
      <footer class="hand">${mayNote() ? actRow([{ words: words.back, press: () => day.back() }],
        { words: words.save, small: upper(about), press: () => void this.#save() }) : onlyBack()}</footer>`;
  }
}
customElements.define("ew-note", Note);
