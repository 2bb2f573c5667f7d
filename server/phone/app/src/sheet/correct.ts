// Correct: an entry that is kept and changes nothing gets the value that was meant.
import { html, type TemplateResult } from "lit";
import { Asked, day, Watched, type Value } from "../day";
import type { Form, Quarantine } from "../engine/answers.gen";
import { actRow, Screen } from "../look";
import { correct as words, states, upper } from "../words";
import type { FieldTyped } from "./field";
import "./field";

export class Correct extends Screen {
  static override properties = { typed: { state: true } };
  private declare typed: Record<string, Value | undefined>;

  private readonly kept = new Asked<Quarantine>(this, "quarantine", () => ({}));
  private readonly form = new Asked<Form>(this, "form", () => (this.one ? { kind: this.one.edit?.kind ?? "" } : undefined));

  constructor() {
    super();
    new Watched(this);
    this.typed = {};
  }

  private get one() { return this.kept.value?.refused?.find((r) => r.dot === day.here.what["dot"]); }

  protected override render(): TemplateResult {
    const r = this.one, back = { words: words.back, press: () => day.back() };
    const save = { words: words.save, press: () => void this.save() };
    return html`<main class="low"><div class="head"><h1>${words.title}</h1></div>
        ${r ? html`<p>${upper(r.reason)}</p>` : html`<p>${states.reading}</p>`}
        ${(r?.open ?? []).map((name) => {
          const row = this.form.value?.fields?.find((f) => f.name === name);
          return row ? html`<ew-field .row=${row} .name=${name} .value=${this.typed[name]}
            @ew-typed=${(e: CustomEvent<FieldTyped>) => { this.typed = { ...this.typed, [name]: e.detail.value }; }}></ew-field>` : "";
        })}</main>
      <footer class="hand">${actRow([back], Object.values(this.typed).some((v) => v !== undefined && v !== null) ? save
        : undefined)}</footer>`;
  }

  private async save(): Promise<void> {
    const patch = Object.fromEntries(Object.entries(this.typed).filter(([, v]) => v !== undefined));
    await day.settle({ correct: day.here.what["dot"] ?? "", patch });
    day.back();
  }
}
customElements.define("ew-correct", Correct);
