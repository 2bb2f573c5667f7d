// The takes of one set-up. They are asked for, and stand in the page, only while they are near the
// eye: of ten thousand takes some twenty do. So do the set-ups of a day (takes-day).
import { html, nothing, type PropertyValues, type TemplateResult } from "lit";
import { Asked } from "../day";
import type { ClipLine, SetUpLine, TakeLine, Takes } from "../engine/answers.gen";
import { takeRow, type TakeSaid } from "../look";
import { clipWords, clock, spoken, takes as words, upper } from "../words";
import { openAt, type NoteRow } from "./asked-notes";
import { Near, NearPart } from "./near";
import { rowKey, takesTable } from "./takes-table";

/** Filter is what of the takes is listed. */
export interface Filter { day?: string; scene?: string; camera?: string; off?: boolean }

/** Picked is a take, or a clip that is in none; on a wide screen one clip of it. */
export interface Picked { key: string; take: TakeLine; clip: ClipLine | undefined }

export const takeKey = (t: TakeLine): string => t.take ?? t.clips?.[0]?.clip ?? "";

/** has says whether a take, or one of its clips, is meant by an id. */
const has = (t: TakeLine, id: string): boolean => t.take === id || (t.clips ?? []).some((c) => c.clip === id);

const nearRows = new Near(600, 0);

/** rowHeight is how high a take is, with the gap: a guess before one was drawn. */
let rowHeight = 96, drawn = false;

/** guessedHeight is how high the takes of a set-up are before they were drawn. */
export const guessedHeight = (line: SetUpLine): number => 32 + rowHeight * Math.max(1, line.takes);

export class TakesOf extends NearPart {
  static override properties = { line: { attribute: false }, filter: { attribute: false }, picked: {}, wanted: {},
    notes: { attribute: false },
    wide: { type: Boolean } };

  declare line: SetUpLine;
  declare filter: Filter;
  declare picked: string;
  declare wanted: string; // a take or clip that somebody goes to: it is picked once it is here
  declare notes: readonly NoteRow[];
  declare wide: boolean;
  protected readonly by = nearRows;

  private readonly list = new Asked<Takes>(this, "list", () => {
    if (!this.near && !this.wanted) return undefined;
    const { camera, off } = this.filter;
    return { setUp: this.line.setUp, limit: 500, ...(camera && { camera }), ...(off && { off: "any" }) };
  });

  constructor() {
    super();
    this.filter = {};
    this.notes = [];
    this.picked = this.wanted = "";
    this.wide = false;
  }

  protected get box(): HTMLElement | null { return this.querySelector("section"); }

  protected override willUpdate(changed: PropertyValues<this>): void {
    if (changed.has("filter")) this.height = 0;
  }

  protected override updated(): void {
    const row = drawn ? null : this.querySelector<HTMLElement>(".take, tbody tr");
    if (row) { // of the first row alone: to measure one, the browser lays out all that is new
      rowHeight = row.offsetHeight + 8;
      drawn = true;
    }
    if (this.box) this.box.style.minHeight = this.list.value ? "" : `${this.height || guessedHeight(this.line)}px`;
    const take = this.wanted ? this.list.value?.takes?.find((t) => has(t, this.wanted)) : undefined;
    if (!take) return;
    this.near = true; // until it is scrolled to
    this.pick(take, take.clips?.find((c) => c.clip === this.wanted) ?? take.clips?.[0]);
    const at = this.querySelector(this.wide ? `[data-clip="${this.wanted}"]` : '[aria-pressed="true"]') ?? this.box;
    requestAnimationFrame(() => at?.scrollIntoView({ block: "center" }));
  }

  private pick(take: TakeLine, clip: ClipLine | undefined): void {
    this.tell<Picked>("ew-picked", { key: this.wide && clip ? rowKey(take, clip) : takeKey(take), take, clip });
  }

  protected override render(): TemplateResult {
    const all = this.list.value?.takes ?? [];
    const none = this.list.value !== undefined && all.length === 0;
    return html`<section class="of" aria-label=${this.line.name}>
      ${none ? nothing : html`<h2>${this.line.name} <span class="s">${[this.line.place,
        this.line.date].filter(Boolean).join(", ")}</span></h2>`}
      ${this.wide && all.length > 0 ? takesTable(all, this.notes, this.picked, (t, c) => this.pick(t, c)) : nothing}
      ${this.wide ? nothing : all.map((t) => takeRow(said(t, this.notes), takeKey(t) === this.picked, () => this.pick(t, t.clips?.[0])))}
    </section>`;
  }
}
customElements.define("ew-takes-of", TakesOf);

function said(t: TakeLine, notes: readonly NoteRow[]): TakeSaid {
  const state = t.state === "noGood" ? words.isNoGood : t.wanted ? words.wanted : t.state && t.state !== "complete" ? upper(t.state)
    : undefined;
  return {
    name: upper(spoken(t.name)), state, time: clock(t.at), asked: openAt(t, notes) && words.asked,
    clips: (t.clips ?? []).map((c) => ({
      letter: c.letter, name: c.name ?? words.noName, set: clipWords(c),
      verdict: c.verdict === undefined ? undefined : { word: c.verdict, times: c.times, mired: c.offAim?.mired },
    })),
  };
}
