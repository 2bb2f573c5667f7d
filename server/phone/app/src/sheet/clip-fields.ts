// The fields of one clip on the Take sheet: its dials by their own steps, the rest folded.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, digits, Digits, type Value } from "../day";
import type { ClipLine, Form, HandsetRecord } from "../engine/answers.gen";
import { Plain, stepper } from "../look";
import { verdict } from "../look/verdict";
import { howKnown, labelOf, take as words } from "../words";
import type { FieldTyped } from "./field";
import { kelvinBeside, tintBeside } from "./steps";
import "./field";

type Dial = "kelvin" | "tint" | "amberBlue";
const folded = ["whiteMode", "preset", "name", "card", "timecode/start", "timecode/end", "recordingMode", "lens", "filters",
  "sensitivity", "shutter", "sensorRate", "rolled"];

/** ew-clip-fields saves each field at once. */
export class ClipFields extends Plain {
  static override properties = { line: { attribute: false }, only: {} };
  declare line: ClipLine;
  declare only: Dial | ""; // the one dial that is shown here, for the hand

  private readonly form = new Asked<Form>(this, "form", () => (this.line ? { kind: "clip", record: this.line.clip } : undefined));
  private readonly body = new Asked<HandsetRecord>(this, "record", () => {
    const body = this.form.value?.values["body"]?.value;
    return typeof body === "string" ? { kind: "body", record: body } : undefined;
  });

  private value(name: string): Value | undefined { return this.form.value?.values[name]?.value as Value | undefined; }

  private save(fields: Record<string, Value>): void {
    const form = this.form.value;
    if (form) void day.save({ kind: "clip", record: this.line.clip, fields, form });
  }

  /** dialled is saved as read off now: whoever steps a dial has looked at it. */
  private dialled(dial: Dial, to: number): void {
    this.save({ [dial]: digits(String(to)), settingsAre: "readOff", readOffAt: new Date(day.now()).toISOString() });
  }

  constructor() {
    super();
    this.only = "";
  }

  protected override render(): TemplateResult | typeof nothing {
    const { line } = this;
    if (this.only) return this.form.value ? this.dial(this.only) : nothing;
    return html`<section class="panel" aria-label=${words.camera(line.letter)}>
      <p class="say"><b class="tag sq">${line.letter}</b><b>${line.name ?? words.noName}</b>
        ${line.verdict ? verdict({ word: line.verdict, times: line.times, mired: line.offAim?.mired }) : nothing}
        <span class="s">${howKnown(line.settingsAre, line.readOffAt)}</span></p>
      ${this.form.value ? this.fields() : nothing}</section>`;
  }

  private fields(): TemplateResult {
    const rows = this.form.value?.fields ?? [];
    return html`
      <details><summary class="b left">${words.moreOf(this.line.letter)}</summary><div class="inside">${folded.map((name) => {
        const row = rows.find((r) => r.name === name);
        return row ? html`<ew-field .row=${row} .name=${name} .value=${this.value(name)} .late=${true}
          @ew-typed=${(e: CustomEvent<FieldTyped>) =>
          this.typed(e.detail)}></ew-field>
          ${this.history(name)}` : nothing;
      })}</div></details>
      ${(["amberBlue", "tint"] as const).map((d) => html`<div class="stepped">${this.dial(d)}${this.value(d) === undefined ? nothing
        : this.history(d)}</div>`)}
      ${this.value("kelvin") === undefined ? nothing : html`<p
        class="row apart"><span>${labelOf("kelvin")} <b>${String(this.value("kelvin"))} K</b></span>${this.history("kelvin")}</p>`}`;
  }

  private typed({ name, value }: FieldTyped): void {
    if (value !== undefined) this.save({ [name]: value });
  }

  private dial(dial: Dial): TemplateResult | typeof nothing {
    const v = this.value(dial), body = this.body.value, hasTint = body?.fields["tint"] !== undefined;
    if (!(v instanceof Digits) && (dial !== "tint" || !hasTint || this.value("whiteMode") !== "kelvin")) return nothing;
    const at = v instanceof Digits ? Number(v.text) : 0;
    const beside = dial === "kelvin" ? kelvinBeside(body, at) : tintBeside(body, at, dial);
    const side = (by: 1 | -1) => {
      const to = by > 0 ? beside.up : beside.down;
      return to === undefined ? undefined : { words: words.step(by, Math.abs(to - at)), label: words.stepTo(words.step(by,
        Math.abs(to - at)), labelOf(dial), to), press: () => this.dialled(dial, to) };
    };
    return stepper({
      label: words.dialOf(this.line.letter, labelOf(dial)), small: words.small(this.line.letter, dial),
      value: words.value(dial, v instanceof Digits ? v.text : "0"), down: side(-1), up: side(1),
    });
  }

  private history(field: string): TemplateResult {
    return html`<button type="button" class="b" aria-label=${words.historyOf(labelOf(field))}
      @click=${() => day.go("record", { kind: "clip", record: this.line.clip, field })}>${words.history}</button>`;
  }
}
customElements.define("ew-clip-fields", ClipFields);
