// Takes: what did we shoot, newest first; correct it. Set-up by set-up, and only those near the eye are asked for.
import { html, nothing, type TemplateResult } from "lit";
import { day, Watched } from "../day";
import type { SetUpLine, TakeLine } from "../engine/answers.gen";
import { actRow, noActs, Screen, type Act } from "../look";
import { change } from "../sheet/change";
import { mayNot, states, takes as words } from "../words";
import { setUpsAsked } from "./set-ups";
import { takeKey, type Filter, type Picked } from "./takes-of";
import "./filters";
import "./takes-of";

export class Takes extends Screen {
  static override properties = { filter: { state: true }, picked: { state: true } };
  private declare filter: Filter;
  private declare picked: Picked | undefined;

  private readonly setUps = setUpsAsked(this);

  constructor() {
    super();
    new Watched(this);
    this.filter = {};
  }

  /** lines are the set-ups that the filter leaves, newest first. */
  private get lines(): SetUpLine[] {
    const { day: of, scene } = this.filter;
    return (this.setUps.value?.setUps ?? []).filter((l) => (!of || l.day === of) && (!scene || l.scene === scene));
  }

  protected override render(): TemplateResult {
    return html`<main class="takes"><h1 class="vh">${words.title}</h1>
        ${this.setUps.early ? html`<p class="s">${states.olderDays}</p>` : nothing}
        ${this.setUps.value && this.lines.length === 0 ? html`<p>${words.none}</p>` : nothing}
        ${this.lines.map((l) => html`<ew-takes-of .line=${l} .filter=${this.filter} .picked=${this.picked?.key ?? ""}
          @ew-picked=${(e: CustomEvent<Picked>) => { this.picked = e.detail; }}></ew-takes-of>`)}
      </main>
      <footer class="hand"><ew-done></ew-done>
        <ew-filters .filter=${this.filter} .setUps=${this.setUps.value?.setUps ?? []}
          @ew-filter=${(e: CustomEvent<Filter>) => { this.filter = e.detail; }}></ew-filters>
        ${day.mayWrite ? this.acts(this.picked?.take) : noActs(mayNot)}
      </footer>`;
  }

  private acts(take: TakeLine | undefined): TemplateResult {
    const next: Act = { words: words.next, press: () => day.go("now") };
    if (!take) return actRow([], next);
    const acts: Act[] = [];
    if (take.take) acts.push({ words: take.state === "noGood" ? words.good : words.noGood, press: () => void this.noGood(take) });
    acts.push({ words: words.change, press: () => day.go("take", { setUp: take.setUp, kind: take.take ? "take" : "clip", record: takeKey(take) }) });
    return actRow(acts, next);
  }

  private async noGood(take: TakeLine): Promise<void> {
    await change("take", take.take ?? "", { state: take.state === "noGood" ? "complete" : "noGood" });
  }
}
customElements.define("ew-takes", Takes);
