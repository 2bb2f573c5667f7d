// A choice among the records of one kind, by the names that the crew gave them.
import { html, type TemplateResult } from "lit";
import { Asked } from "../day";
import type { RecordsPage } from "../engine/answers.gen";
import { Plain } from "../look/element";
import { form as words } from "../words";
import { nameOf, type Listed } from "./names";

/** ew-reference tells ew-picked: the id, "" where none is picked. */
export class Reference extends Plain {
  static override properties = { kinds: { attribute: false }, value: {}, control: {} };

  declare kinds: readonly string[];
  declare value: string;
  declare control: string; // the id by which its label finds it

  private readonly records = new Asked<RecordsPage>(this, "list", () => (this.kinds.length === 1 ? { kind: this.kinds[0], limit: 500 }
    : undefined));

  constructor() {
    super();
    this.kinds = [];
    this.value = this.control = "";
  }

  protected override render(): TemplateResult {
    const all = (this.records.value?.records ?? []) as Listed[];
    return html`<select class="input" id=${this.control} @change=${(e: Event) => this.tell("ew-picked",
      (e.target as HTMLSelectElement).value)}>
      <option value="" ?selected=${this.value === ""}>${words.none}</option>
      ${all.map((r) => html`<option value=${r.id} ?selected=${r.id === this.value}>${nameOf(r)}</option>`)}
    </select>`;
  }
}
customElements.define("ew-reference", Reference);
