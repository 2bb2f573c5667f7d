// Choose: what several people said, side by side. The tool has no opinion: no button is filled.
import { html, nothing, type TemplateResult } from "lit";
import { Asked, day, Watched } from "../day";
import type { HandsetRecord, SetUpNow } from "../engine/answers.gen";
import { evenActs, noActs, Screen, type Act } from "../look";
import { verdict } from "../look/verdict";
import { mayWrite, whyNot } from "./may";
import { settle as words, states, upper } from "../words";
import { setUpName } from "./findings";
import type { Question } from "./questions";
import { setUpsAsked } from "./set-ups";
import {
  conflictActs, conflictSides, headlineOf, notMadeActs, notMadeSide, refusedSide, twinActs, whiteActs, whiteSides, whoAsked, type Side,
} from "./choices";

const wordOf: Partial<Record<Question["of"], string>> = { refused: "can't tell", notMade: "missing" };

export class Choose extends Screen {
  static override properties = { waits: { attribute: false }, read: { attribute: false }, strip: { attribute: false },
    picked: { state: true } };
  declare waits: Question[];
  declare read: boolean;
  declare strip: TemplateResult;
  private declare picked: string;

  private readonly setUps = setUpsAsked(this);
  private readonly now = new Asked<SetUpNow>(this, "now", () => (this.one?.of === "apart" && this.one.setUp ? { setUp: this.one.setUp }
    : undefined));
  private readonly record = new Asked<HandsetRecord>(this, "record", () => {
    const q = this.one;
    if (q?.of === "twins") return { kind: q.twins.kind, record: q.twins.records?.[0]?.id };
    return q?.of === "conflict" ? { kind: q.conflict.kind, record: q.conflict.record } : undefined;
  });

  constructor() {
    super();
    new Watched(this);
    this.waits = [];
    this.read = false;
    this.picked = day.here.what["question"] ?? "";
  }

  private pick(question: string): void {
    this.picked = question;
    day.mark({ part: "choose", question });
  }

  private get one(): Question | undefined { return this.waits.find((q) => q.key === this.picked) ?? this.waits[0]; }

  protected override render(): TemplateResult {
    const one = this.one;
    return html`<main><h1 class="vh">${words.chooseTitle}</h1>
        ${!this.read ? html`<p>${states.reading}</p>` : one ? nothing : html`<p>${words.nothingWaits}</p>`}
        ${this.waits.map((q) => (q === one ? this.open(q) : this.closed(q)))}
      </main>
      <footer class="hand"><ew-done></ew-done>${this.strip}${one ? this.acts(one) : nothing}</footer>`;
  }

  private head(q: Question): TemplateResult {
    return html`<span class="top">${verdict({ word: wordOf[q.of] ?? "not settled" })}<span
      class="s">${setUpName(this.setUps.value?.setUps, q.setUp)}</span></span>`;
  }

  private closed(q: Question): TemplateResult {
    return html`<button type="button" class="find" aria-pressed="false" @click=${() => this.pick(q.key)}>
      ${this.head(q)}<span class="ttl">${headlineOf(q)}</span><span class="todo">${whoAsked(q)}</span></button>`;
  }

  private open(q: Question): TemplateResult {
    return html`<section class="find on" aria-current="true">${this.head(q)}<h2 class="ttl">${headlineOf(q, this.record.value)}</h2>
      ${this.sides(this.sidesOf(q))}${this.meanwhile(q)}</section>`;
  }

  private sidesOf(q: Question): Side[] {
    switch (q.of) {
      case "apart": return whiteSides(q.apart, this.now.value);
      case "conflict": return conflictSides(q.conflict);
      case "twins": return (q.twins.records ?? []).map((r) => ({ big: r.madeBy, lines: [], small: [words.when(r.madeAt,
        r.device === day.device)] }));
      case "refused": return [refusedSide(q.refused)];
      case "notMade": return [notMadeSide(q.row)];
    }
  }

  private sides(all: Side[]): TemplateResult {
    return html`<div class="pair">${all.map((s) => html`<div><p><b class="big">${s.big}</b></p>
      ${s.lines.map((l) => html`<p>${l}</p>`)}${s.small.map((l) => html`<p class="s">${l}</p>`)}</div>`)}</div>`;
  }

  private meanwhile(q: Question): TemplateResult {
    const shown = this.now.value?.white;
    if (q.of === "apart" && shown?.color) return html`<p class="s">${words.countsMeanwhile(shown.color.words)}</p>`;
    if (q.of === "conflict") return html`<p class="s">${words.firstCounts}</p>`;
    if (q.of === "refused") return html`<p class="s">${upper(q.refused.reason)}</p>`;
    if (q.of === "notMade") return html`<p class="s">${words.keptHere}</p>`;
    return html``;
  }

  private acts(q: Question): TemplateResult {
    if (!mayWrite()) return noActs(whyNot());
    const acts = ((): Act[] => {
      switch (q.of) {
        case "apart": return whiteActs(q.apart, this.now.value);
        case "conflict": return conflictActs(q.conflict);
        case "twins": return twinActs(q.twins);
        case "notMade": return notMadeActs(q.row);
        case "refused": return [
          { words: words.discard, press: () => void day.settle({ discard: q.refused.dot }) },
          { words: words.correct, press: () => day.go("correct", { dot: q.refused.dot }) },
        ];
      }
    })();
    return evenActs(acts);
  }
}
customElements.define("ew-choose", Choose);
