// Picture: what the engine drew, whole, and the same facts as a table under it.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched } from "../day";
import type { SetUpDrift, SetUpPlane, SetUpSwatches } from "../engine/answers.gen";
import { actRow, chips, Screen } from "../look";
import { atSetUp } from "../place/set-ups";
import { clock, picture as words, states, upper } from "../words";
import { drawing } from "./drawing";

type Which = "plane" | "drift" | "swatches";

export class Picture extends Screen {
  static override properties = { which: { state: true } };
  private declare which: Which;

  private readonly plane = new Asked<SetUpPlane>(this, "plane", () => this.message("plane"));
  private readonly drift = new Asked<SetUpDrift>(this, "drift", () => this.message("drift",
    { zoneMinutes: -new Date().getTimezoneOffset() }));
  private readonly swatches = new Asked<SetUpSwatches>(this, "swatches", () => this.message("swatches"));

  constructor() {
    super();
    new Watched(this);
    this.which = "plane";
  }

  private message(which: Which, more: object = {}): object | undefined {
    return this.which === which ? atSetUp({ draw: true, ...more }) : undefined;
  }

  protected override render(): TemplateResult {
    const asked = { plane: this.plane, drift: this.drift, swatches: this.swatches }[this.which];
    return html`<main><div class="head"><h1>${words.title(asked.value?.name ?? "")}</h1></div>
        ${asked.value ? html`<p>${upper(asked.value.words)}</p>` : html`<p>${asked.fault?.message ?? states.reading}</p>`}
        ${drawing(asked.svg)}${this.table()}</main>
      <footer class="hand">
        ${chips(words.which, [{ words: words.plane, value: "plane" as Which }, { words: words.drift, value: "drift" as Which },
          { words: words.swatches, value: "swatches" as Which }],
          this.which, (w) => { this.which = w; })}
        ${actRow([{ words: words.back, press: () => day.back() }])}</footer>`;
  }

  private table(): TemplateResult | typeof nothing {
    switch (this.which) {
      case "plane": return this.rows([words.mark, words.colour, words.off],
        (this.plane.value?.points ?? []).map((p) => [p.name === p.key ? p.name : `${p.key} ${p.name}`, p.color.words, p.off?.words ?? ""]));
      case "drift": return this.rows([words.light, words.at, words.colour],
        (this.drift.value?.lights ?? []).flatMap((l) => (l.readings ?? []).map((r) => [`${l.key} ${l.name}`, clock(r.takenAt),
          r.color?.words ?? r.problem ?? ""])));
      case "swatches": return this.rows([words.light, words.seenBy, words.off],
        (this.swatches.value?.lights ?? []).flatMap((l) => (l.pictures ?? []).map((p) => [`${l.key} ${l.name}`, p.key,
          p.cast?.words ?? p.problem ?? ""])));
    }
  }

  private rows(heads: string[], rows: string[][]): TemplateResult | typeof nothing {
    if (rows.length === 0) return nothing;
    return html`<div class="table" tabindex="0" role="region" aria-label=${words.table}><table><thead><tr>${heads.map((h) => html`<th
      scope="col">${h}</th>`)}</tr></thead>
      <tbody>${rows.map((r) => html`<tr>${r.map((c, i) => (i === 0 ? html`<th scope="row">${c}</th>`
        : html`<td>${c}</td>`))}</tr>`)}</tbody></table></div>`;
  }
}
customElements.define("ew-picture", Picture);
