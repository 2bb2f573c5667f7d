// Accept: a person's word that a finding is deliberate. A reason is one tap: the last ones, or typed.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched, type Value } from "../day";
import type { Deviation, RecordsPage, Size } from "../engine/answers.gen";
import { actRow, chips, Screen } from "../look";
import { setUpsAsked } from "../place/set-ups";
import { findingsAsked } from "../place/findings";
import { accept as words, labelOf, states } from "../words";
import { isEmpty, numberTyped, valueOf } from "./form-values";
import type { Listed } from "./names";

type Scope = "clip" | "fromTakeOn" | "setUp" | "scene" | "day";
type Part = "mired" | "duv" | "steps";
const parts: readonly Part[] = ["mired", "duv", "steps"];

export class Accept extends Screen {
  static override properties = { scope: { state: true }, ceiling: { state: true }, reason: { state: true } };
  private declare scope: Scope;
  private declare ceiling: Partial<Record<Part, string>>; // as typed
  private declare reason: string;

  private readonly setUps = setUpsAsked(this);
  private readonly off = findingsAsked(this, this.setUps, false);
  private readonly accepted = new Asked<RecordsPage>(this, "list", () => ({ kind: "acceptance", limit: 500 }));

  constructor() {
    super();
    new Watched(this);
    this.scope = "setUp";
    this.ceiling = {};
    this.reason = "";
  }

  private get reasons(): string[] {
    const all = ((this.accepted.value?.records ?? []) as Listed[]).map((r) => String(r["reason"] ?? ""));
    return [...new Set([...all.reverse(), ...words.reasons])].filter(Boolean).slice(0, 5);
  }

  protected override render(): TemplateResult {
    const d = this.off.value?.deviations?.find((x) => x.cause === day.here.what["cause"]);
    const back = { words: words.back, press: () => day.back() };
    if (!d) return html`<main><h1>${words.title}</h1><p>${this.off.value ? words.gone : states.reading}</p></main><footer
      class="hand">${actRow([back])}</footer>`;
    const keep = (reason: string): void => void this.save(d, reason);
    return html`<main class="low"><div class="head"><h1>${words.title}</h1></div><p>${d.headline}</p><p class="s">${words.by(day.by)}</p>
        <h2 class="ttl">${words.reach}</h2>
        ${chips(words.reach, this.scopes(d).map((s) => ({ words: words.scopes[s], value: s })), this.scope, (s) => { this.scope = s; })}
        ${d.value && parts.some((p) => d.value?.[p] !== undefined) ? html`<h2 class="ttl">${words.ceiling}</h2><div
          class="row">${parts.map((p) => this.bound(d, p))}</div>` : nothing}
        <label class="label"><span>${words.reason}</span><input class="input" maxlength="500" .value=${this.reason}
          @input=${(e: Event) => { this.reason = (e.target as HTMLInputElement).value; }}></label>
      </main>
      <footer class="hand"><div class="two" role="group" aria-label=${words.reason}>${this.reasons.map((r) => html`<button type="button"
        class="b" @click=${() => keep(r)}>${r}</button>`)}</div>
        ${actRow([back], this.reason.trim() ? { words: words.accept, press: () => keep(this.reason.trim()) } : undefined)}</footer>`;
  }

  private scopes(d: Deviation): Scope[] {
    const all: Scope[] = [];
    if ((d.clips ?? []).length === 1) all.push("clip");
    if ((d.takes ?? []).length > 0) all.push("fromTakeOn");
    return [...all, "setUp", "scene", "day"];
  }

  private bound(d: Deviation, part: Part): TemplateResult | typeof nothing {
    const found = d.value?.[part];
    if (found === undefined) return nothing;
    return html`<label class="label grow"><span>${labelOf(part)}</span><input class="input" inputmode="decimal"
      .value=${this.ceiling[part] ?? String(Math.abs(found))}
      @input=${(e: Event) => { this.ceiling = { ...this.ceiling, [part]: (e.target as HTMLInputElement).value }; }}></label>`;
  }

  private async save(d: Deviation, reason: string): Promise<void> {
    const found = (d.value ?? {}) as Size;
    const said = parts.filter((p) => found[p] !== undefined);
    const ceiling = Object.fromEntries(said.map((p) => [p,
      numberTyped(this.ceiling[p] ?? String(Math.abs(found[p]!))) ?? valueOf(Math.abs(found[p]!))]));
    const about = this.scope === "clip" ? d.clips ?? [] : this.scope === "fromTakeOn" ? (d.takes ?? []).slice(0, 1) : [];
    const fields: Record<string, Value> = {
      deviation: d.kind, subjects: [...new Set([...(d.subjects ?? []), ...about])], scope: this.scope, reason, decidedBy: day.by,
    };
    if (d.comparedWith?.record) fields["comparedWith"] = d.comparedWith.record;
    if (!isEmpty(ceiling)) {
      fields["accepted"] = Object.fromEntries(said.map((p) => [p, valueOf(found[p])]));
      fields["ceiling"] = ceiling;
    }
    await day.save({ kind: "acceptance", fields });
    day.back();
  }
}
customElements.define("ew-accept", Accept);
