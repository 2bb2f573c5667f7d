// Why: the long sentence of a finding with all its numbers, and what follows from the same cause.
import { html, nothing, type TemplateResult } from "lit";
import { day, Watched } from "../day";
import type { Finding } from "../engine/answers.gen";
import { actRow, Screen } from "../look";
import { setUpsAsked } from "../place/set-ups";
import { findingsAsked, goThere } from "../place/findings";
import { sizeWords, states, upper, why as words } from "../words";

export class Why extends Screen {
  private readonly setUps = setUpsAsked(this);
  private readonly off = findingsAsked(this, this.setUps, day.here.what["accepted"] === "yes");

  constructor() {
    super();
    new Watched(this);
  }

  protected override render(): TemplateResult {
    const d = this.off.value?.deviations?.find((x) => x.cause === day.here.what["cause"]);
    const back = { words: words.back, press: () => day.back() };
    if (!d) return html`<main><h1>${words.title}</h1><p>${this.off.value ? words.gone : states.reading}</p></main><footer
      class="hand">${actRow([back])}</footer>`;
    const there = goThere(d);
    return html`<main tabindex="0"><div class="head"><h1>${d.headline}</h1></div>
        ${d.toDo ? html`<p class="ttl">${upper(d.toDo)}</p>` : nothing}
        ${this.finding(d)}
        ${(d.also ?? []).length > 0 ? html`<h2 class="ttl">${words.also}</h2>${d.also!.map((f) => html`<section
          class="panel"><p><b>${f.headline}</b></p>${this.finding(f)}</section>`)}` : nothing}
        ${d.accepted ? html`<p>${words.accepted(d.accepted.by, d.accepted.reason)}</p>` : nothing}
      </main>
      <footer class="hand">${actRow([back], { words: words.goThere, small: there.words, press: () => day.go(there.place,
        there.what) })}</footer>`;
  }

  private finding(f: Finding): TemplateResult {
    return html`<p>${upper(f.words)}.</p>${f.value ? html`<dl class="facts"><dt>${words.found}</dt><dd>${sizeWords(f.value, true)}</dd>
      ${f.limit ? html`<dt>${words.limit}</dt><dd>${sizeWords(f.limit)}</dd>` : nothing}
      ${f.comparedWith ? html`<dt>${words.against}</dt><dd>${f.comparedWith.words}</dd>` : nothing}</dl>` : nothing}`;
  }
}
customElements.define("ew-why", Why);
