// Off and Accepted: findings in the engine's order, the picked one with its acts.
import { html, nothing, type TemplateResult } from "lit";
import { day, Watched } from "../day";
import type { Deviation, Findings } from "../engine/answers.gen";
import { actRow, findingRow, noActs, Screen, type Act } from "../look";
import { mayWrite, whyNot } from "./may";
import { settle as words, states } from "../words";
import { goThere, setUpName } from "./findings";
import { setUpsAsked } from "./set-ups";

export class Off extends Screen {
  static override properties = { found: { attribute: false }, accepted: { attribute: false }, strip: { attribute: false },
    picked: { state: true } };
  declare found: Findings | undefined;
  declare accepted: boolean;
  declare strip: TemplateResult;
  private declare picked: string;

  private readonly setUps = setUpsAsked(this);

  constructor() {
    super();
    new Watched(this);
    this.accepted = false;
    this.picked = day.here.what["finding"] ?? "";
  }

  private get all(): Deviation[] { return this.found?.deviations ?? []; }

  private get one(): Deviation | undefined { return this.all.find((d) => d.cause === this.picked) ?? this.all[0]; }

  protected override render(): TemplateResult {
    const one = this.one;
    return html`<main><h1 class="vh">${this.accepted ? words.acceptedTitle : words.offTitle}</h1>
        ${this.found === undefined ? html`<p>${states.reading}</p>` : this.all.length === 0 ? html`<p>${this.accepted ? words.noneAccepted
          : words.nothingOff}</p>` : nothing}
        ${this.all.map((d, i) => this.row(d, i, d === one))}
      </main>
      <footer class="hand"><ew-done></ew-done>${this.strip}${one ? this.acts(one) : nothing}</footer>`;
  }

  private pick(cause: string): void {
    this.picked = cause;
    day.mark({ part: this.accepted ? "accepted" : "off", finding: cause });
  }

  private row(d: Deviation, i: number, picked: boolean): TemplateResult {
    const v = this.found?.verdicts?.[i];
    const accepted = d.accepted;
    return findingRow({
      verdict: { word: v?.word ?? "off", times: v?.times, minutes: v?.minutes, mired: d.value?.mired },
      where: words.where(setUpName(this.setUps.value?.setUps, d.setUp), d.setUp !== undefined && d.setUp === day.here.setUp),
      headline: d.headline, toDo: accepted ? words.because(accepted.reason, accepted.by) : d.toDo
        && d.toDo.charAt(0).toUpperCase() + d.toDo.slice(1),
    }, picked, () => this.pick(d.cause));
  }

  private acts(d: Deviation): TemplateResult {
    const there = goThere(d);
    const go: Act = { words: words.goThere, small: there.words, press: () => day.go(there.place, there.what) };
    const why: Act = { words: words.why, press: () => day.go("why", { cause: d.cause, accepted: this.accepted ? "yes" : undefined }) };
    if (!mayWrite()) return html`${noActs(whyNot())}${actRow([why], go)}`;
    const other: Act = d.accepted
      ? { words: words.takeBack, press: () => void day.strike("acceptance", d.accepted!.acceptance) }
      : { words: words.accept, press: () => day.go("accept", { cause: d.cause }) };
    return actRow([why, other], go);
  }
}
customElements.define("ew-off", Off);
