// The Take sheet: every field of a take and of its clips, each saved at once, its history behind it.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched, type Value } from "../day";
import type { Form, TakeLine, Takes } from "../engine/answers.gen";
import { actRow, chips, noActs, Screen, type Act } from "../look";
import { atSetUp, setUpsAsked } from "../place/set-ups";
import { setUpName } from "../place/findings";
import { mayWrite, whyNot } from "../place/may";
import { clock, labelOf, states, take as words, upper } from "../words";
import type { FieldTyped } from "./field";
import "./clip-fields";
import "./field";

const folded = ["number", "suffix", "takeKind", "slate", "sky", "startedAt", "endedAt"];

export class Take extends Screen {
  private readonly list = new Asked<Takes>(this, "list", () => atSetUp({ limit: 500 }));
  private readonly setUps = setUpsAsked(this);
  private readonly form = new Asked<Form>(this, "form", () => (this.line?.take ? { kind: "take", record: this.line.take } : undefined));

  constructor() {
    super();
    new Watched(this);
  }

  private get line(): TakeLine | undefined {
    const { record } = day.here.what;
    return this.list.value?.takes?.find((t) => t.take === record || (!t.take && (t.clips ?? []).some((c) => c.clip === record)));
  }

  private save(fields: Record<string, Value>): void {
    const form = this.form.value, record = this.line?.take;
    if (form && record) void day.save({ kind: "take", record, fields, form });
  }

  protected override render(): TemplateResult {
    const line = this.line, back: Act = { words: words.back, press: () => day.back() };
    if (!line) return html`<main><h1>${words.title}</h1><p>${this.list.value ? words.gone : states.reading}</p></main><footer
      class="hand"><ew-done></ew-done>${actRow([back])}</footer>`;
    const name = `${setUpName(this.setUps.value?.setUps, line.setUp)}, ${line.name}`;
    return html`<main><div class="head"><h1>${name}</h1><p class="s">${clock(line.at)}</p></div>
        ${mayWrite() ? html`${this.form.value ? this.ofTake(line) : nothing}${(line.clips ?? []).map((c) => html`<ew-clip-fields
          .line=${c}></ew-clip-fields>`)}` : nothing}
      </main><footer class="hand"><ew-done></ew-done>${mayWrite() ? this.dials(line) : nothing}${mayWrite() ? this.acts(line, back)
        : html`${noActs(whyNot())}${actRow([back])}`}</footer>`;
  }

  /** dials stand at the thumb: to correct one is what this sheet is opened for mostly. */
  private dials(line: TakeLine): TemplateResult {
    return html`<div class="dials">${(line.clips ?? []).map((c) => html`<ew-clip-fields .line=${c}
      .only=${"kelvin"}></ew-clip-fields>`)}</div>`;
  }

  private ofTake(line: TakeLine): TemplateResult {
    const form = this.form.value!;
    return html`<section class="panel" aria-label=${words.title}>
      ${chips(words.ended, ["complete", "noGood", "falseStart", "numberUsedAgain"].map((s) => ({ words: upper(words.states[s] ?? s),
        value: s })), line.state ?? "complete", (state) => this.save({ state }))}
      ${chips(words.wanted, [{ words: words.wanted, value: true }, { words: words.notWanted, value: false }], line.wanted === true,
        (wanted) => this.save({ wanted }))}
      <details><summary class="b left">${words.moreOfTake}</summary><div class="inside">${folded.map((name) => {
        const row = form.fields?.find((r) => r.name === name);
        return row ? html`<ew-field .row=${row} .name=${name} .value=${form.values[name]?.value as Value | undefined} .late=${true}
          @ew-typed=${(e: CustomEvent<FieldTyped>) =>
            { if (e.detail.value !== undefined) this.save({ [name]: e.detail.value }); }}></ew-field>
          ${this.history(name)}` : nothing;
      })}</div></details>
      ${this.history("")}</section>`;
  }

  private history(field: string): TemplateResult {
    return html`<button type="button" class="b" aria-label=${field ? words.historyOf(labelOf(field)) : words.historyOfAll}
      @click=${() => day.go("record", { kind: "take", record: this.line?.take, field })}>${words.history}</button>`;
  }

  private acts(line: TakeLine, back: Act): TemplateResult {
    if (!line.take) return actRow([back]);
    const bad = line.state === "noGood";
    return actRow([back], { words: bad ? words.good : words.noGood, press: () => this.save({ state: bad ? "complete" : "noGood" }) });
  }
}
customElements.define("ew-take", Take);
