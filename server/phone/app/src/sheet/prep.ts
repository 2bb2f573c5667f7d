// Prep: what is entered before the day, by one form for every kind.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched } from "../day";
import type { RecordsPage } from "../engine/answers.gen";
import { actRow, chips, noActs, Screen, type Act } from "../look";
import { mayWrite, whyNot } from "../place/may";
import { prep as words, spoken, states, upper } from "../words";
import { nameOf, type Listed } from "./names";
import type { RecordForm } from "./record-form";
import "./record-form";

const kinds = ["production", "day", "scene", "setUp", "body", "camera", "lamp", "gel", "meter"] as const;
type Kind = (typeof kinds)[number];

export class Prep extends Screen {
  private readonly records = new Asked<RecordsPage>(this, "list", () => ({ kind: this.kind, limit: 500 }));

  constructor() {
    super();
    new Watched(this);
  }

  private get kind(): Kind { return kinds.find((k) => k === day.here.what["kind"]) ?? "day"; }

  protected override render(): TemplateResult {
    const { record, like } = day.here.what;
    return record ? this.form(record === "new" ? "" : record, like ?? "") : this.list();
  }

  private list(): TemplateResult {
    const all = (this.records.value?.records ?? []) as Listed[];
    return html`<main><div class="head"><h1>${words.title}</h1></div>
        ${this.records.value ? nothing : html`<p>${states.reading}</p>`}${this.records.value && all.length === 0
          ? html`<p>${words.none(spoken(this.kind))}</p>` : nothing}
        ${all.map((r) => html`<button type="button" class="note" @click=${() => this.open({ record: r.id })}><b
          class="grow">${upper(nameOf(r))}</b></button>`)}</main>
      <footer class="hand"><ew-done></ew-done>
        ${chips(words.which, kinds.map((k) => ({ words: words.kinds[k], value: k as Kind })), this.kind, (kind) => day.go("prep", { kind,
          record: "", like: "" }))}
        ${mayWrite() ? actRow([this.back()], this.kind === "production" ? undefined : { words: words.add(spoken(this.kind)), press: () =>
          this.open({ record: "new" }) })
          : html`${noActs(whyNot())}${actRow([this.back()])}`}</footer>`;
  }

  private open(what: { record: string; like?: string }): void { day.go("prep", { kind: this.kind, like: "", ...what }); }

  private back(): Act { return { words: words.back, press: () => day.back() }; }

  private form(record: string, like: string): TemplateResult {
    const save = { words: words.save, press: () => void this.querySelector<RecordForm>("ew-record-form")?.save() };
    const copy: Act[] = record && this.kind !== "production" && this.kind !== "day" ? [{ words: words.copy, press: () =>
      this.open({ record: "new", like: record }) }] : [];
    const history: Act[] = record ? [{ words: words.history, press: () => day.go("record", { kind: this.kind, record }) }] : [];
    return html`<main><div class="head"><h1>${record ? words.change(spoken(this.kind)) : words.add(spoken(this.kind))}</h1></div>
        ${this.kind === "camera" && record ? html`<p class="s">${words.swap}</p>` : nothing}
        <ew-record-form .kind=${this.kind} .record=${record} .like=${like} @ew-saved=${() => day.back()}></ew-record-form></main>
      <footer class="hand">${mayWrite() ? actRow([this.back(), ...copy, ...history], save)
        : html`${noActs(whyNot())}${actRow([this.back()])}`}</footer>`;
  }
}
customElements.define("ew-prep", Prep);
