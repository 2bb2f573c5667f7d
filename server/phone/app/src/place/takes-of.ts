// The takes of one set-up. They are asked for, and stand in the page, only while they are near the
// eye: of ten thousand takes some twenty do.
import { html, nothing, type PropertyValues, type TemplateResult } from "lit";
import { Asked } from "../day";
import type { SetUpLine, TakeLine, Takes } from "../engine/answers.gen";
import { Plain, takeRow, type TakeSaid } from "../look";
import { clipWords, clock, takes as words, upper } from "../words";

/** Filter is what of the takes is listed. */
export interface Filter { day?: string; scene?: string; camera?: string; off?: boolean; clip?: string }

/** Picked is a take, or a clip that is in none. */
export interface Picked { key: string; take: TakeLine }

export const takeKey = (t: TakeLine): string => t.take ?? t.clips?.[0]?.clip ?? "";

// How high a row is before one was drawn, and how far from the screen rows are made.
const guessedRow = 96;
const margin = "800px 0px";

let rowHeight = guessedRow;

export class TakesOf extends Plain {
  static override properties = { line: { attribute: false }, filter: { attribute: false }, picked: {}, near: { state: true } };

  declare line: SetUpLine;
  declare filter: Filter;
  declare picked: string;
  private declare near: boolean;
  private height = 0; // as it was drawn last

  private readonly list = new Asked<Takes>(this, "list", () => {
    if (!this.near) return undefined;
    const { camera, off, clip } = this.filter;
    return { setUp: this.line.setUp, limit: 500, ...(camera && { camera }), ...(off && { off: "any" }), ...(clip && { clip }) };
  });

  private readonly watch = new IntersectionObserver((seen) => {
    const near = seen.at(-1)?.isIntersecting ?? false;
    if (this.near && !near) this.height = this.box?.offsetHeight ?? this.height;
    this.near = near;
  }, { rootMargin: margin });

  constructor() {
    super();
    this.filter = {};
    this.picked = "";
    this.near = false;
  }

  private get box(): HTMLElement | null { return this.querySelector("section"); }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.watch.disconnect();
  }

  protected override firstUpdated(): void {
    if (this.box) this.watch.observe(this.box);
  }

  protected override willUpdate(changed: PropertyValues<this>): void {
    if (changed.has("filter")) this.height = 0;
  }

  protected override updated(): void {
    const row = this.querySelector<HTMLElement>(".take");
    if (row) rowHeight = row.offsetHeight + 8;
    const box = this.box;
    if (box) box.style.minHeight = this.list.value ? "" : `${this.height || 32 + rowHeight * Math.max(1, this.line.takes)}px`;
  }

  protected override render(): TemplateResult {
    const all = this.list.value?.takes ?? [];
    const none = this.list.value !== undefined && all.length === 0;
    return html`<section class="of" aria-label=${this.line.name}>
      ${none ? nothing : html`<h2>${this.line.name} <span class="s">${[this.line.place, this.line.date].filter(Boolean).join(", ")}</span></h2>`}
      ${all.map((t) => takeRow(said(t), takeKey(t) === this.picked, () => this.tell<Picked>("ew-picked", { key: takeKey(t), take: t })))}
    </section>`;
  }
}
customElements.define("ew-takes-of", TakesOf);

function said(t: TakeLine): TakeSaid {
  const state = t.state === "noGood" ? words.isNoGood : t.wanted ? words.wanted : t.state && t.state !== "complete" ? upper(t.state) : undefined;
  return {
    name: upper(t.name), state, time: clock(t.at),
    clips: (t.clips ?? []).map((c) => ({
      letter: c.letter, name: c.name ?? words.noName, set: clipWords(c),
      verdict: c.verdict === undefined ? undefined : { word: c.verdict, times: c.times, mired: c.offAim?.mired },
    })),
  };
}
