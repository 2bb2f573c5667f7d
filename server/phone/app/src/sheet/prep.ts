// Prep: what is entered before the day, by one form for every kind.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, digits, Watched } from "../day";
import type { RecordsPage } from "../engine/answers.gen";
import { actRow, chips, Screen, type Act } from "../look";
import { setUpName } from "../place/findings";
import { mayWrite, onlyBack } from "../place/may";
import { setUpsAsked } from "../place/set-ups";
import { date, prep as words, production as begun, spoken, states, upper } from "../words";
import type { Values } from "./form-values";
import { nameOf, type Listed } from "./names";
import { nextName } from "./next-name";
import type { RecordForm } from "./record-form";
import "./record-form";

const kinds = ["production", "day", "scene", "setUp", "body", "camera", "lamp", "gel", "meter"] as const;
type Kind = (typeof kinds)[number];

export class Prep extends Screen {
  private readonly records = new Asked<RecordsPage>(this, "list", () => ({ kind: this.kind, limit: 500 }));
  private readonly bodies = new Asked<RecordsPage>(this, "list", () => (this.kind === "camera" ? { kind: "body", limit: 500 } : undefined));
  private readonly setUps = setUpsAsked(this);

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
          class="grow">${upper(this.name(r))}</b></button>`)}</main>
      <footer class="hand"><ew-done></ew-done>
        ${chips(words.which, kinds.map((k) => ({ words: words.kinds[k], value: k as Kind })), this.kind,
          (kind) => day.mark({ kind }))}
        ${this.kind === "production" && !day.begins ? html`<p class="s">${begun.rule}</p>` : nothing}
        ${mayWrite() ? actRow([this.back()], this.add()) : onlyBack()}</footer>`;
  }

  private add(): Act | undefined {
    if (this.kind !== "production") return { words: words.add(spoken(this.kind)), press: () => this.open({ record: "new" }) };
    return day.begins ? { words: begun.add, press: () => day.newProduction() } : undefined;
  }

  /** name is what the crew calls it: a set-up with its scene. */
  private name(r: Listed): string {
    return (r.kind === "setUp" && setUpName(this.setUps.value?.setUps, r.id)) || nameOf(r);
  }

  /** likely is what stands in a new record before anybody typed: the next day is today, the next camera the next letter. */
  private get likely(): Values | undefined {
    const all = this.records.value?.records as Listed[] | undefined;
    if (!all) return undefined;
    if (this.kind === "day") {
      const last = Math.max(0, ...all.map((r) => Number(r["number"] ?? 0)));
      return { number: digits(String(last + 1)), date: date(day.now()) };
    }
    if (this.kind !== "camera") return {};
    const bodies = this.bodies.value?.records as Listed[] | undefined;
    if (!bodies) return undefined;
    const used = all.map((r) => (r["body"] as { body?: string } | undefined)?.body);
    const free = bodies.filter((b) => !used.includes(b.id));
    const last = all.map((r) => String(r["letter"] ?? "")).sort().at(-1) ?? "";
    const letter = all.length === 0 ? "A" : nextName(last, [], "IO");
    return { ...(letter && { letter }), ...(free.length === 1 && { body: { body: free[0]!.id } }) };
  }

  private open(what: { record: string; like?: string }): void { day.go("prep", { kind: this.kind, like: "", ...what }); }

  private back(): Act { return { words: words.back, press: () => day.back() }; }

  private form(record: string, like: string): TemplateResult {
    const save = { words: words.save, press: () => void this.querySelector<RecordForm>("ew-record-form")?.save() };
    const copy: Act[] = record && this.kind !== "production" && this.kind !== "day" ? [{ words: words.copy, press: () =>
      this.open({ record: "new", like: record }) }] : [];
    const history: Act[] = record ? [{ words: words.history, press: () => day.go("record", { kind: this.kind, record }) }] : [];
    const likely = record || like ? {} : this.likely;
    if (!likely) return html`<main><p>${states.reading}</p></main><footer class="hand">${actRow([this.back()])}</footer>`;
    return html`<main><div class="head"><h1>${record ? words.change(spoken(this.kind)) : words.add(spoken(this.kind))}</h1></div>
        ${this.kind === "camera" && record ? html`<p class="s">${words.swap}</p>` : nothing}
        <ew-record-form .kind=${this.kind} .record=${record} .like=${like} .likely=${likely}
          @ew-saved=${() => day.back()}></ew-record-form></main>
      <footer class="hand">${mayWrite() ? actRow([this.back(), ...copy, ...history], save) : onlyBack()}</footer>`;
  }
}
customElements.define("ew-prep", Prep);
