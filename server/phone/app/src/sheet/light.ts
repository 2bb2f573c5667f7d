// A light: entered, or changed. A dial that is named for the first time is asked about: so it was
// when it was read, or turned since.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, digits, Watched, type Value } from "../day";
import type { Form, SetUpNow } from "../engine/answers.gen";
import { actRow, chips, Screen } from "../look";
import { atSetUp } from "../place/set-ups";
import { clock, labelOf, light as words } from "../words";
import { change } from "./change";
import type { FieldTyped } from "./field";
import { numberTyped, type Values } from "./form-values";
import type { RecordForm } from "./record-form";
import "./record-form";

const dials = ["rigged/dialKelvin", "rigged/dialGreenMagenta", "rigged/levelPercent"];

export class LightSheet extends Screen {
  static override properties = { named: { state: true }, turned: { state: true }, was: { state: true } };
  private declare named: Record<string, Value>; // dials that are typed here
  private declare turned: boolean;
  private declare was: Record<string, string>; // what they stood at when it was read, as typed

  private readonly now = new Asked<SetUpNow>(this, "now", () => atSetUp());
  private readonly form = new Asked<Form>(this, "form", () => (this.record ? { kind: "light", record: this.record } : undefined));

  constructor() {
    super();
    new Watched(this);
    this.named = this.advised();
    this.turned = Object.keys(this.named).length > 0;
    this.was = {};
  }

  private get record(): string { return day.here.what["light"] === "new" ? "" : day.here.what["light"] ?? ""; }

  /** advised are the dials of the plan that somebody says are turned now. */
  private advised(): Record<string, Value> {
    return Object.fromEntries(dials.flatMap((name) => {
      const text = day.here.what[name.split("/")[1] ?? ""];
      return text ? [[name, digits(text)]] : [];
    }));
  }

  private get readAt(): string | undefined { return this.now.value?.lights?.find((l) => l.light === this.record)?.takenAt; }

  /** unsaid are the dials typed here that nobody had named before. */
  private get unsaid(): string[] {
    if (!this.readAt || !this.form.value) return [];
    return Object.keys(this.named).filter((name) => this.form.value?.values[name] === undefined);
  }

  protected override render(): TemplateResult {
    const given: Values = this.record ? {} : { setUp: day.here.setUp };
    return html`<main><div class="head"><h1>${this.record ? words.change : words.add}</h1></div>
        <ew-record-form .kind=${"light"} .record=${this.record} .given=${given} .begun=${this.advised()}
          @ew-changed=${(e: CustomEvent<FieldTyped>) => this.typed(e.detail)} @ew-saved=${() => day.back()}></ew-record-form></main>
      <footer class="hand"><ew-done></ew-done>${this.unsaid.length > 0 ? this.question() : nothing}
        ${actRow([{ words: words.back, press: () => day.back() }], { words: words.save, press: () => void this.save() })}</footer>`;
  }

  private typed({ name, value }: FieldTyped): void {
    if (dials.includes(name) && value !== undefined && value !== null) this.named = { ...this.named, [name]: value };
  }

  private question(): TemplateResult {
    const at = clock(this.readAt ?? "");
    return html`<section class="panel"><p>${words.wasItSo(this.unsaid.map((n) => labelOf(n)).join(", "))}</p>
      ${chips(words.question, [{ words: words.soItWas(at), value: false }, { words: words.turnedSince, value: true }], this.turned, (t) =>
        { this.turned = t; })}
      ${this.turned ? this.unsaid.map((name) => html`<label class="label"><span>${words.stoodAt(labelOf(name), at)}</span>
        <input class="input" inputmode="decimal" .value=${this.was[name] ?? ""} @input=${(e: Event) => { this.was = { ...this.was,
          [name]: (e.target as HTMLInputElement).value }; }}></label>`) : nothing}
      ${this.turned ? html`<p class="s">${words.elseRead}</p>` : nothing}</section>`;
  }

  private async save(): Promise<void> {
    const before: Record<string, Value> = {};
    for (const name of this.turned ? this.unsaid : []) {
      const stood = numberTyped(this.was[name] ?? "");
      if (stood) before[name] = stood;
    }
    if (Object.keys(before).length > 0) await change("light", this.record, before);
    await this.querySelector<RecordForm>("ew-record-form")?.save();
  }
}
customElements.define("ew-light", LightSheet);
