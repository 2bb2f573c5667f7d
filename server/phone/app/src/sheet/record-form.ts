// One form for every kind, made from the table of kinds. What is typed is kept as a draft until it
// is saved; saved is what a person touched, and of a new record what was carried over.
import { html, nothing, type PropertyValues, type TemplateResult } from "lit";
import { canonical, parse, type Value } from "../capture";
import { Asked, day, type Act, type Save } from "../day";
import type { Form, Judged } from "../engine/answers.gen";
import { Plain } from "../look/element";
import { form as words } from "../words";
import type { FieldTyped } from "./field";
import { ordered, partsOf, slug, type Part } from "./form-parts";
import { filled, isEmpty, isGroup, missing, type Values } from "./form-values";
import { newKey } from "./keyed";
import "./field";

const shownIn = (form: Form | undefined): Values =>
  Object.fromEntries(Object.entries(form?.values ?? {}).map(([name, shown]) => [name, shown.value as Value]));

/** ew-record-form tells ew-changed at each change, and ew-saved: the id of the record. save() is called by the sheet's first act. */
export class RecordForm extends Plain {
  static override properties = {
    kind: {}, record: {}, like: {}, given: { attribute: false }, begun: { attribute: false }, likely: { attribute: false },
    saving: { attribute: false },
    typed: { state: true }, bad: { state: true }, judged: { state: true }, tried: { state: true },
  };

  declare kind: string;
  declare record: string; // "" for a new one
  declare like: string; // the record that a new one is copied from
  declare given: Values; // what a new one has without being asked: its set-up
  declare begun: Values; // what is entered for the person, who may change it
  declare likely: Values; // the same, where no draft says otherwise
  declare saving: (what: Save) => Promise<Act>;
  private declare typed: Values;
  private declare bad: Record<string, string>; // digits that are no number, by field
  private declare judged: Judged | undefined;
  private declare tried: boolean;

  private readonly form = new Asked<Form>(this, "form", () => (this.kind === "" ? undefined
    : { kind: this.kind, ...(this.record && { record: this.record }), ...(this.like && { like: this.like }) }));

  constructor() {
    super();
    this.kind = this.record = this.like = "";
    this.given = this.begun = this.likely = this.typed = {};
    this.saving = (what) => day.save(what);
    this.bad = {};
    this.tried = false;
  }

  private draftOf: string | undefined; // whose draft was read
  private start: Values = {}; // what stood in it before anybody typed

  private get draft(): string { return `${this.kind}/${this.record || this.like || "new"}`; }

  protected override willUpdate(changed: PropertyValues<this>): void {
    if (changed.has("kind") || changed.has("record") || changed.has("like")) this.begin();
    if (!this.form.value || this.draftOf === this.draft) return;
    this.draftOf = this.draft; // the store is open, as it answered
    void this.takeDraft(this.draft);
  }

  private begin(): void {
    this.typed = this.start = { ...this.likely, ...this.begun };
    this.bad = {};
    this.tried = false;
    this.draftOf = undefined;
  }

  private async takeDraft(of: string): Promise<void> {
    const kept = await day.drafts.read("prep", of);
    if (typeof kept !== "string" || of !== this.draft || this.typed !== this.start) return;
    this.typed = { ...this.likely, ...(parse(kept) as Values), ...this.begun };
  }

  /** values are what the form shows: what stands in the record, then what was typed. */
  private get values(): Values {
    return { ...shownIn(this.form.value), ...this.given, ...this.typed };
  }

  private put(e: CustomEvent<FieldTyped>): void {
    e.stopPropagation();
    const { name, value, text } = e.detail;
    if (value === undefined) {
      this.bad = { ...this.bad, [name]: words.noNumber(text ?? "") };
      return;
    }
    const { [name]: _, ...rest } = this.bad;
    this.bad = rest;
    this.typed = { ...this.typed, [name]: value };
    this.tell<FieldTyped>("ew-changed", e.detail);
    void day.drafts.keep("prep", this.draft, canonical(this.typed as Value));
    void this.judge();
  }

  private async judge(): Promise<void> {
    const fields = Object.fromEntries(Object.entries(this.typed).filter(([name, v]) => !name.includes(newKey) && !isEmpty(v)).map(([n,
      v]) => [n, filled(v!)]));
    const judged = await day.ask<Judged>("judge", { kind: this.kind, fields }).then((a) => a.value, () => undefined);
    this.judged = judged; // without an engine it is judged later: saving waits for none
  }

  private readonly faultOf = (name: string): string => {
    const at = (field: string): boolean => field === name || field.startsWith(`${name}/`);
    const wrong = this.judged?.errors?.find((f) => at(f.field));
    if (this.bad[name] ?? wrong) return this.bad[name] ?? words.fault(wrong!.value, wrong!.allowed);
    const lacks = this.tried && this.form.value && missing(this.form.value.fields ?? [], this.values).includes(name);
    return lacks ? words.needed : "";
  };

  private remarkOf(name: string): string {
    return this.judged?.remarks?.find((r) => r.field === name || r.field.startsWith(`${name}/`))?.words ?? "";
  }

  /** save stores what was touched; false where something is missing or wrong: then the form says so. */
  async save(): Promise<boolean> {
    const form = this.form.value;
    if (!form) return false;
    this.tried = true;
    const lacks = missing(form.fields ?? [], this.values).length > 0; // as it was when Save was pressed
    await this.judge();
    if (lacks || Object.keys(this.bad).length > 0 || (this.judged?.errors ?? []).length > 0) {
      await this.updateComplete;
      this.querySelector<HTMLElement>(".fault")?.scrollIntoView({ block: "center" });
      return false;
    }
    const of = this.draft;
    const act = await this.saving({ kind: this.kind, ...(this.record && { record: this.record }), fields: this.fields(), form });
    void day.drafts.drop("prep", of);
    this.typed = {};
    this.tried = false;
    this.tell<string>("ew-saved", (await act.made)[0]?.record ?? this.record);
    return true;
  }

  /** fields are what is saved; entries that were begun here get their keys from their names. */
  private fields(): Record<string, Value> {
    const keys = new Map<string, string>(), taken = Object.keys(this.values).map((name) => name.split("/")[1] ?? "");
    const keyOf = (entry: string, value: Value | undefined): string => {
      const said = isGroup(value) ? value["name"] : undefined;
      const key = keys.get(entry) ?? slug(typeof said === "string" ? said : "", [...taken, ...keys.values()]);
      keys.set(entry, key);
      return key;
    };
    const out: Record<string, Value> = {};
    for (const [name, value] of Object.entries(this.record ? this.typed : { ...this.given, ...this.typed })) {
      const [map = "", key = "", ...rest] = name.split("/");
      const at = key.startsWith(newKey) ? [map, keyOf(`${map}/${key}`, value), ...rest].join("/") : name;
      if (value !== undefined) out[at] = isEmpty(value) ? null : filled(value);
    }
    return out;
  }

  protected override render(): TemplateResult {
    const form = this.form.value;
    if (this.form.fault) return html`<p role="alert">${this.form.fault.message}</p>`;
    if (!form) return html`<p>${words.reading}</p>`;
    const values = this.values;
    const { first, more } = ordered(this.kind, partsOf(form.fields ?? []), values);
    return html`<div class="form" @ew-typed=${this.put}>${first.map((p) => this.rows(p, form, values))}
      ${more.length === 0 ? nothing : html`<details class="inside"><summary class="b left">${words.more(more.length)}</summary>
        ${more.map((p) => this.rows(p, form, values))}</details>`}</div>`;
  }

  private rows(part: Part, form: Form, values: Values): TemplateResult | typeof nothing {
    if (part.keyed) return html`<ew-keyed .of=${part} .values=${values} .faultOf=${this.faultOf}></ew-keyed>`;
    return html`${part.rows.filter((r) => this.given[r.name] === undefined && !(this.record && r.fact)).map((row) => html`
      <ew-field .row=${row} .name=${row.name} .value=${values[row.name]} .fault=${this.faultOf(row.name)} .remark=${this.remarkOf(row.name)}
        .carried=${form.values[row.name]?.carried === true && this.typed[row.name] === undefined}></ew-field>`)}`;
  }
}
customElements.define("ew-record-form", RecordForm);
