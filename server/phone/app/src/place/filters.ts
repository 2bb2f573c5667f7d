// The filters of Takes, in the strip: pressed, a button opens its choices above the row.
import { html, nothing, type TemplateResult } from "lit";
import { Asked } from "../day";
import type { RecordsPage, SetUpLine } from "../engine/answers.gen";
import { chips, Plain } from "../look";
import { nameOf, type Listed } from "../sheet/names";
import { takes as words } from "../words";
import type { Filter } from "./takes-of";

type Of = "day" | "scene" | "camera";

/** ew-filters tells ew-filter (Filter). */
export class Filters extends Plain {
  static override properties = { filter: { attribute: false }, setUps: { attribute: false }, open: { state: true } };
  declare filter: Filter;
  declare setUps: readonly SetUpLine[];
  private declare open: Of | undefined;

  private readonly records = new Asked<RecordsPage>(this, "list", () => (this.open ? { kind: this.open, limit: 500 } : undefined));

  constructor() {
    super();
    this.filter = {};
    this.setUps = [];
  }

  private set(of: Of, id: string): void {
    const { [of]: was, ...rest } = this.filter;
    this.open = undefined;
    this.tell<Filter>("ew-filter", was === id ? rest : { ...rest, [of]: id });
  }

  protected override render(): TemplateResult {
    const one = (of: Of): TemplateResult => html`<button type="button" class="b" aria-pressed=${this.filter[of] !== undefined}
      aria-expanded=${this.open === of} @click=${() => { this.open = this.open === of ? undefined : of; }}>${words.by[of]}</button>`;
    return html`${this.choices()}<div class="row four" role="group" aria-label=${words.which}>
      ${one("day")}${one("scene")}${one("camera")}
      <button type="button" class="b" aria-pressed=${this.filter.off === true}
        @click=${() => this.tell<Filter>("ew-filter", { ...this.filter, off: !this.filter.off })}>${words.onlyOff}</button></div>`;
  }

  private choices(): TemplateResult | typeof nothing {
    const of = this.open;
    if (!of) return nothing;
    const all = ((this.records.value?.records ?? []) as Listed[]).map((r) => ({ words: nameOf(r), value: r.id }));
    return html`<div class="choices">${chips(words.by[of], of === "day" ? all.reverse() : all, this.filter[of], (id) => this.set(of,
      id))}</div>`;
  }
}
customElements.define("ew-filters", Filters);
