import { html, nothing, type TemplateResult } from "lit";
import { Plain } from "./element";

/** PadField is a number that is being typed: text as it stands, with a point, never through a number. */
export interface PadField {
  name: string;
  label: string;
  text: string;
  unit?: string;
  sign?: boolean; // may be negative, and says so: +0.0022
  fallback?: string; // shown where nothing is typed: what is carried over
  full?: (text: string) => boolean; // goes on to the next by itself
}

/** kelvinIsFull after four digits whose first is 2 or more; 10000 has five. */
export const kelvinIsFull = (text: string): boolean => /^[2-9]\d{3}$/.test(text) || /^1\d{4}$/.test(text);

/** fourDecimals are all that a meter shows of Duv, x and y. */
export const fourDecimals = (text: string): boolean => /^-?0?\.\d{4}$/.test(text);

/** typed is what a key makes of a text. A comma is a point. */
export function typed(text: string, key: string): string {
  switch (key) {
    case "delete": return text === "-" ? "" : text.slice(0, -1);
    case "sign": return text.startsWith("-") ? text.slice(1) : `-${text}`;
    case ".":
    case ",": return text.includes(".") ? text : `${text === "" || text === "-" ? `${text}0` : text}.`;
    default: return text.length < 12 ? text + key : text;
  }
}

/** PadWords are the words of the keys, and what they do for who hears them. */
export interface PadWords {
  digits: string;
  next: string;
  nextField: string;
  delete: string;
  deleteDigit: string;
  sign: string;
  changeSign: string;
}

/** The pad: fields and our own digits, so that no keyboard jumps. */
export class NumberPad extends Plain {
  static override properties = {
    fields: { attribute: false }, at: { attribute: false }, save: { attribute: false }, words: { attribute: false },
  };
  declare fields: PadField[];
  declare at: string; // the name of the field that is typed into
  declare save: string; // the first act's word
  declare words: PadWords;
  #keys = (e: KeyboardEvent): void => this.#keyboard(e);

  constructor() {
    super();
    this.fields = [];
    this.at = "";
  }

  override connectedCallback(): void {
    super.connectedCallback();
    document.addEventListener("keydown", this.#keys);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    document.removeEventListener("keydown", this.#keys);
  }

  /** A keyboard types as well, where nothing else takes its keys. */
  #keyboard(e: KeyboardEvent): void {
    if (e.ctrlKey || e.metaKey || e.altKey || (e.target as Element).closest("input, textarea, select")) return;
    if (e.key === "Enter" && !(e.target as Element).closest("button, a, label, summary")) {
      e.preventDefault();
      this.tell("ew-save", undefined);
      return;
    }
    const key = /^[\d.,]$/.test(e.key) ? e.key : e.key === "Backspace" ? "delete" : e.key === "-" || e.key === "+" ? "sign" : "";
    if (!key) return;
    e.preventDefault();
    this.#press(key);
  }

  #press(key: string): void {
    const field = this.fields.find((f) => f.name === this.at);
    if (!field || (key === "sign" && !field.sign)) return;
    const text = typed(field.text, key);
    this.tell("ew-type", { name: field.name, text });
    if (/^\d$/.test(key) && field.full?.(text)) this.#next();
  }

  #next(): void {
    const next = this.fields[(this.fields.findIndex((f) => f.name === this.at) + 1) % this.fields.length];
    if (next) this.tell("ew-field", next.name);
  }

  #key(key: string): TemplateResult {
    return html`<button type="button" class="b" @click=${() => this.#press(key)}>${key}</button>`;
  }

  protected override render(): TemplateResult {
    const signs = this.fields.some((f) => f.sign), w = this.words;
    return html`
      <div class="pad" role="group" aria-label=${w.digits}>
        ${["7", "8", "9"].map((k) => this.#key(k))}
        <button type="button" class="b t" aria-label=${w.deleteDigit} @click=${() => this.#press("delete")}>${w.delete}</button>
        ${["4", "5", "6"].map((k) => this.#key(k))}
        <button type="button" class="b t" aria-label=${w.nextField} @click=${() => this.#next()}>${w.next}</button>
        ${["1", "2", "3"].map((k) => this.#key(k))}
        <button type="button" class=${this.save.length > 5 ? "b act save t" : "b act save"}
          @click=${() => this.tell("ew-save", undefined)}>${this.save}</button>
        ${this.#key(".")}${this.#key("0")}
        <button type="button" class="b t" aria-label=${w.changeSign} aria-disabled=${signs ? nothing : "true"}
          @click=${() => this.#press("sign")}>${w.sign}</button>
      </div>`;
  }
}
customElements.define("ew-pad", NumberPad);

/** padFields stand above the pad, in what one reads and picks. */
export function padFields(fields: PadField[], at: string, pick: (name: string) => void): TemplateResult {
  return html`<div class="fields">${fields.map((f) => html`
    <button type="button" class="field" aria-pressed=${f.name === at ? "true" : "false"} @click=${() => pick(f.name)}>
      <span class="s">${f.label}</span><span class="v">${shown(f)}${f.name === at ? html`<span class="caret"></span>` : nothing}${
        f.unit ? html` <small>${f.unit}</small>` : nothing}</span></button>`)}</div>`;
}

function shown(f: PadField): TemplateResult | string {
  if (f.text === "") return f.fallback ? html`<small>${f.fallback}</small>` : "";
  const text = f.text.replace("-", "−");
  return f.sign && !f.text.startsWith("-") && Number(f.text) !== 0 ? `+${text}` : text;
}
