// One row of a form: its label, its control, its unit and limits.
import { html, nothing, type TemplateResult } from "lit";
import { Digits, type Value } from "../capture";
import type { Row } from "../engine/answers.gen";
import { Plain } from "../look/element";
import { choiceWords, form as words, labelOf } from "../words";
import { isGroup, isList, numberTyped } from "./form-values";
import "./reference";

/** What a person put into a field. Of digits that are no number yet value is undefined, and text says them. */
export interface FieldTyped { name: string; value: Value | undefined; text?: string }

const lists = new Set(["group", "form", "list"]);

/** ew-field tells ew-typed (FieldTyped) at each change. */
export class Field extends Plain {
  static override properties = {
    row: { attribute: false }, name: {}, label: {}, value: { attribute: false }, fault: {}, remark: {}, carried: { type: Boolean },
    late: { type: Boolean }, digits: { state: true },
  };

  declare row: Row;
  declare name: string; // in the edit, where a key stands for the star of its row
  declare label: string; // "" for that of the row
  declare value: Value | undefined;
  declare fault: string;
  declare remark: string;
  declare carried: boolean;
  declare late: boolean; // it is told when it is left, as where each change is saved at once
  private declare digits: string | undefined; // while they are no number, or another spelling of it

  constructor() {
    super();
    this.label = this.fault = this.remark = "";
    this.carried = this.late = false;
  }

  private put(value: Value | undefined, text?: string): void {
    this.tell<FieldTyped>("ew-typed", text === undefined ? { name: this.name, value } : { name: this.name, value, text });
  }

  protected override render(): TemplateResult {
    const row = this.row, id = `f-${this.name}`;
    const label = html`<b>${this.label || labelOf(this.name)}</b>${row.required ? nothing : html` <span
      class="s">${words.optional}</span>`}`;
    const notes = html`
      ${row.doc ? html`<span class="s">${row.doc}</span>` : nothing}
      ${this.carried ? html`<span class="s">${words.carried}</span>` : nothing}
      ${this.fault ? html`<span class="fault" role="alert">${this.fault}</span>` : nothing}
      ${this.remark ? html`<span class="fault">${this.remark}</span>` : nothing}`;
    if (row.type === "choice" || row.type === "flag" || lists.has(row.type)) {
      return html`<fieldset class="label"><legend>${label}</legend>${notes}${this.control(id)}</fieldset>`;
    }
    return html`<div class="label"><label for=${id}>${label}</label>${notes}${this.control(id)}</div>`;
  }

  private control(id: string): TemplateResult {
    const { row, value } = this;
    switch (row.type) {
      case "choice": return this.chips(row.choices ?? [], typeof value === "string" ? value : "", (v) => this.put(v));
      case "flag": return this.chips(["yes", "no"], value === true ? "yes" : value === false ? "no" : "", (v) => this.put(v === null
        ? null : v === "yes"));
      case "whole": case "decimal": return this.number(id);
      case "date": return html`<input class="input" type="date" id=${id} .value=${typeof value === "string" ? value : ""}
        @change=${(e: Event) => this.put((e.target as HTMLInputElement).value || null)}>`;
      case "instant": return this.instant(id);
      case "reference": return html`<ew-reference .control=${id} .kinds=${row.to ?? []} .value=${typeof value === "string" ? value : ""}
        @ew-picked=${(e: CustomEvent<string>) => this.put(e.detail || null)}></ew-reference>`;
      case "group": return this.members(row.members ?? [], value);
      case "form": return this.oneOf(value);
      case "list": return this.items(value);
    }
    const text = typeof value === "string" ? value : "";
    const typed = (e: Event): void => {
      if (this.late === (e.type === "change")) this.put((e.target as HTMLInputElement).value || null);
    };
    return (row.longest ?? 0) > 200
      ? html`<textarea class="input" id=${id} maxlength=${row.longest ?? 2000} .value=${text} @input=${typed} @change=${typed}></textarea>`
      : html`<input class="input" id=${id} maxlength=${row.longest ?? 200} autocomplete="off" .value=${text} @input=${typed}
        @change=${typed}>`;
  }

  /** chips are choices as buttons; pressing the one that is on takes it back. */
  private chips(choices: readonly string[], on: string, put: (choice: string | null) => void): TemplateResult {
    return html`<div class="row">${choices.map((c) => html`<button type="button" class="b" aria-pressed=${c === on}
      @click=${() => put(c === on ? null : c)}>${choiceWords(c)}</button>`)}</div>`;
  }

  private number(id: string): TemplateResult {
    const { row, value } = this;
    const shown = value instanceof Digits ? value.text : "";
    const put = (text: string, left = true): void => {
      const typed = numberTyped(text);
      this.digits = typed?.text === text && (left || !this.late) ? undefined : text;
      if (left || !this.late) this.put(text.trim() === "" ? null : typed, text);
    };
    const turn = (): void => put(shown.startsWith("-") ? shown.slice(1) : `-${this.digits ?? shown}`);
    return html`<div class="row number">
      <input class="input" id=${id} inputmode=${row.type === "whole" ? "numeric" : "decimal"} autocomplete="off" aria-describedby="${id}-u"
        .value=${this.digits ?? shown} @input=${(e: Event) => put((e.target as HTMLInputElement).value, false)}
        @change=${(e: Event) => { if (this.late) put((e.target as HTMLInputElement).value); }}>
      ${row.min?.startsWith("-") ? html`<button type="button" class="b" aria-label=${words.turnSign} @click=${turn}>±</button>` : nothing}
      <span id="${id}-u">${row.unit ?? ""} <span class="s">${words.range(row.min, row.max, row.usualMin,
        row.usualMax)}</span></span></div>`;
  }

  /** instant is entered in the time of this device, and stands with its offset. */
  private instant(id: string): TemplateResult {
    const at = typeof this.value === "string" ? new Date(this.value) : undefined;
    const local = at ? new Date(at.getTime() - at.getTimezoneOffset() * 60000).toISOString().slice(0, 16) : "";
    return html`<div class="row"><input class="input grow" type="datetime-local" id=${id} .value=${local}
        @change=${(e: Event) => { const v = (e.target as HTMLInputElement).value; this.put(v ? new Date(v).toISOString() : null); }}>
      <button type="button" class="b" @click=${() => this.put(new Date().toISOString())}>${words.now}</button></div>`;
  }

  /** within shows a row inside this one, and puts what is typed there into the whole. */
  private within(row: Row, name: string, value: Value | undefined, put: (value: Value | undefined, text?: string) => void): TemplateResult {
    return html`<ew-field .row=${row} .name=${`${this.name}.${name}`} .label=${row.name ? "" : words.item(name)} .value=${value}
      .late=${this.late}
      @ew-typed=${(e: CustomEvent<FieldTyped>) => { e.stopPropagation(); put(e.detail.value, e.detail.text); }}></ew-field>`;
  }

  private members(rows: readonly Row[], value: Value | undefined, fixed: Record<string, Value> = {}): TemplateResult {
    const group = isGroup(value) ? value : {};
    return html`<div class="inside">${rows.map((row) => this.within(row, row.name, group[row.name],
      (v, text) => this.put({ ...group, ...fixed, [row.name]: v ?? null }, v === undefined ? text : undefined)))}</div>`;
  }

  private oneOf(value: Value | undefined): TemplateResult {
    const as = isGroup(value) && typeof value["as"] === "string" ? value["as"] : "";
    const chosen = this.row.forms?.find((f) => f.name === as);
    return html`${this.chips((this.row.forms ?? []).map((f) => f.name), as, (v) => this.put(v === null ? null : { as: v }))}
      ${chosen?.members ? this.members(chosen.members, value, { as }) : nothing}`;
  }

  private items(value: Value | undefined): TemplateResult {
    const item = this.row.item;
    if (!item) return html``;
    const all: readonly Value[] = isList(value) ? value : [];
    if (item.type === "choice") {
      return html`<div class="row">${(item.choices ?? []).map((c) => html`<button type="button" class="b" aria-pressed=${all.includes(c)}
        @click=${() => this.put(all.includes(c) ? all.filter((v) => v !== c) : [...all, c])}>${choiceWords(c)}</button>`)}</div>`;
    }
    const put = (at: number, v: Value | undefined): void => this.put(all.map((old, i) => (i === at ? v ?? null : old)));
    return html`${all.map((v, i) => html`<div class="inside">${this.within(item, String(i + 1), v, (typed) => put(i, typed))}
        <button type="button" class="b" @click=${() => this.put(all.filter((_, at) => at !== i))}>${words.takeOut(i + 1)}</button></div>`)}
      ${all.length < (this.row.longest ?? 32)
        ? html`<button type="button" class="b" @click=${() => this.put([...all, item.type === "group" ? {}
          : null])}>${words.addOne}</button>` : nothing}`;
  }
}
customElements.define("ew-field", Field);
