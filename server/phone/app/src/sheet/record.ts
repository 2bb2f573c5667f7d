// Record: what became of a record, field by field, who said it and when. Nothing disappears.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched } from "../day";
import type { Edit, HandsetRecord, History } from "../engine/answers.gen";
import { actRow, noActs, Screen, type Act } from "../look";
import { shown } from "../place/choices";
import { mayWrite, whyNot } from "../place/may";
import { clock, labelOf, record as words, spoken, states, upper } from "../words";
import { change } from "./change";
import { valueOf } from "./form-values";
import { nameOf, type Listed } from "./names";

export class RecordSheet extends Screen {
  private readonly record = new Asked<HandsetRecord>(this, "record", () => this.message());
  private readonly history = new Asked<History>(this, "history", () => this.message());

  constructor() {
    super();
    new Watched(this);
  }

  private message(): object | undefined {
    const { kind, record } = day.here.what;
    return kind && record ? { kind, record } : undefined;
  }

  protected override render(): TemplateResult {
    const { kind = "", record = "", field } = day.here.what, r = this.record.value;
    const name = r ? nameOf(r.record as Listed) : "";
    const edits = (this.history.value?.edits ?? []).filter((e) => !field || field in e.set).reverse();
    const deleted = (r?.record as { deleted?: boolean } | undefined)?.deleted === true;
    return html`<main><div class="head"><h1>${field ? `${name}: ${labelOf(field).toLowerCase()}` : upper(name)}</h1><p
      class="s">${spoken(kind)}</p></div>
        ${r || this.record.fault ? nothing : html`<p>${states.reading}</p>`}${this.record.fault
          ? html`<p>${this.record.fault.message}</p>` : nothing}
        ${deleted ? html`<p><b>${words.isStruck}</b></p>` : nothing}
        ${edits.map((e, i) => this.edit(e, field, i > 0 && field !== undefined && mayWrite()))}
      </main>
      <footer class="hand"><ew-done></ew-done>${mayWrite() && r ? actRow([{ words: words.back, press: () => day.back() }, this.other(kind,
        record, deleted)])
        : html`${noActs(whyNot())}${actRow([{ words: words.back, press: () => day.back() }])}`}</footer>`;
  }

  private other(kind: string, record: string, deleted: boolean): Act {
    return deleted ? { words: words.restore, press: () => void day.restore(kind, record) } : { words: words.strike, press: () =>
      void day.strike(kind, record) };
  }

  private edit(e: Edit, field: string | undefined, older: boolean): TemplateResult {
    const after = this.history.value?.afterClosing?.includes(`${e.line}.${e.n}`);
    const set = Object.entries(e.set).filter(([name]) => !field || name === field);
    return html`<section class="panel"><p><b>${clock(Date.parse(e.at) + e.offsetMs)}</b> ${e.by || words.nobody}
        <span class="s">${words.from(e.device === day.device)}${after ? `, ${words.afterClosing}` : ""}</span></p>
      ${set.map(([name, v]) => html`<p>${field ? "" : `${labelOf(name)}: `}<b>${name === "deleted" ? (v === true ? words.isStruck
        : words.isBack) : shown(v)}</b></p>`)}
      ${older && field && set[0] ? html`<button type="button" class="b" @click=${() => void change(e.kind, e.record,
        { [field]: valueOf(set[0]![1]) })}>${words.setBack}</button>` : nothing}
    </section>`;
  }
}
customElements.define("ew-record", RecordSheet);
