// The entries of a map in a form: one for each camera, role or scene, or with names of their own.
import { html, nothing, type TemplateResult } from "lit";
import { Asked } from "../day";
import type { RecordsPage } from "../engine/answers.gen";
import { Plain } from "../look/element";
import { form as words, labelOf, spoken } from "../words";
import type { FieldTyped } from "./field";
import { keysOf, under, type Part } from "./form-parts";
import { isGroup, type Values } from "./form-values";
import { nameOf, type Listed } from "./names";

// What the keys of a map name: records of a kind, or roles. Other maps have keys of their own.
const keyKinds: Record<string, string> = { cameras: "camera", exceptions: "camera", mustLookLike: "scene", lightsAsSet: "light",
  takes: "take" };
const roles = ["camera", "key", "fill", "back", "background", "practical", "ambient", "screen"];

/** newKey begins the keys of entries that have no name yet: they are named when they are saved. */
export const newKey = "new:";

/** ew-keyed passes ew-typed of its fields on, by their names in an edit. */
export class Keyed extends Plain {
  static override properties = { of: { attribute: false }, values: { attribute: false }, faultOf: { attribute: false },
    opened: { state: true } };

  declare of: Part;
  declare values: Values;
  declare faultOf: (name: string) => string;
  private declare opened: number;

  private readonly records = new Asked<RecordsPage>(this, "list", () => {
    const kind = keyKinds[this.of?.name ?? ""];
    return kind === undefined ? undefined : { kind, limit: 500 };
  });

  constructor() {
    super();
    this.values = {};
    this.faultOf = () => "";
    this.opened = 0;
  }

  private entries(): { key: string; name: string }[] {
    if (this.of.name === "limits") return roles.map((key) => ({ key, name: spoken(key) }));
    if (keyKinds[this.of.name]) return ((this.records.value?.records ?? []) as Listed[]).map((r) => ({ key: r.id, name: nameOf(r) }));
    const keys = keysOf(this.of.name, this.values);
    for (let n = 1; n <= this.opened; n++) {
      if (!keys.includes(newKey + n)) keys.push(newKey + n);
    }
    return keys.map((key) => ({ key, name: this.called(key) }));
  }

  private called(key: string): string {
    const group = this.values[`${this.of.name}/${key}`];
    const name = isGroup(group) ? group["name"] : undefined;
    return typeof name === "string" && name !== "" ? name : key.startsWith(newKey) ? words.newOne : key;
  }

  protected override render(): TemplateResult {
    const free = this.of.name !== "limits" && !keyKinds[this.of.name];
    const filled = keysOf(this.of.name, this.values);
    return html`<fieldset class="label"><legend><b>${labelOf(this.of.name)}</b></legend>
      ${this.of.rows.length === 1 && this.of.rows[0]?.doc ? html`<span class="s">${this.of.rows[0].doc}</span>` : nothing}
      ${this.entries().map(({ key, name }) => this.entry(key, name, filled.includes(key) || key.startsWith(newKey)))}
      ${free ? html`<button type="button" class="b" @click=${() => { this.opened++; }}>${words.addOne}</button>` : nothing}</fieldset>`;
  }

  private entry(key: string, name: string, open: boolean): TemplateResult {
    const only = this.of.rows.length === 1 ? this.of.rows[0] : undefined;
    if (only?.type === "flag") return this.field(only, key, name);
    return html`<details class="inside" ?open=${open}><summary class="b left">${name}</summary>
      ${this.of.rows.map((row) => this.field(row, key, only ? name : ""))}</details>`;
  }

  private field(row: Part["rows"][number], key: string, label: string): TemplateResult {
    const name = under(row, key);
    return html`<ew-field .row=${row} .name=${name} .label=${label} .value=${this.values[name]} .fault=${this.faultOf(name)}
      @ew-typed=${(e: CustomEvent<FieldTyped>) => { e.stopPropagation(); this.tell<FieldTyped>("ew-typed", e.detail); }}></ew-field>`;
  }
}
customElements.define("ew-keyed", Keyed);
