// The set-ups of one day, in Takes. Only those of days near the eye stand in the page: a long job has
// more than a thousand. A day that is far is a heading over as much room as it takes, so that a hand, the
// keyboard and a reader of screens come to it, and it is there once they do.
import { html, type PropertyValues, type TemplateResult } from "lit";
import { repeat } from "lit/directives/repeat.js";
import type { SetUpLine } from "../engine/answers.gen";
import type { NoteRow } from "./asked-notes";
import { Near, NearPart } from "./near";
import { guessedHeight, type Filter } from "./takes-of";

const nearDays = new Near(1200, 3);

/** byDay parts set-ups by their days, in the order in which the days come. */
export function byDay(lines: readonly SetUpLine[]): SetUpLine[][] {
  const days = new Map<string, SetUpLine[]>();
  for (const line of lines) {
    const of = line.day ?? "", day = days.get(of);
    if (day) day.push(line);
    else days.set(of, [line]);
  }
  return [...days.values()];
}

export class TakesDay extends NearPart {
  static override properties = { lines: { attribute: false }, filter: { attribute: false }, picked: {}, wanted: {},
    notes: { attribute: false },
    wide: { type: Boolean } };

  declare lines: readonly SetUpLine[];
  declare filter: Filter;
  declare picked: string;
  declare wanted: { setUp: string | undefined; record: string }; // the take or clip that somebody goes to
  declare notes: readonly NoteRow[];
  declare wide: boolean;
  protected readonly by = nearDays;

  protected get box(): HTMLElement | null { return this.querySelector(".day-of"); }

  protected override willUpdate(changed: PropertyValues<this>): void {
    if (changed.has("filter")) this.height = 0;
    if (this.isWanted) this.near = true; // until it is scrolled to: once it is picked nobody wants it any more
  }

  private get isWanted(): boolean {
    const { setUp, record } = this.wanted;
    return record !== "" && this.lines.some((l) => l.setUp === setUp);
  }

  protected override updated(): void {
    const guessed = this.lines.reduce((sum, l) => sum + guessedHeight(l), 0);
    if (this.box) this.box.style.minHeight = this.near ? "" : `${this.height || guessed}px`;
  }

  protected override render(): TemplateResult {
    const { setUp, record } = this.wanted, first = this.lines[0];
    return html`<div class="day-of of">${this.near
      ? repeat(this.lines, (l) => l.setUp,
        (l) => html`<ew-takes-of .line=${l} .filter=${this.filter} .picked=${this.picked} .notes=${this.notes}
          .wide=${this.wide} .wanted=${l.setUp === setUp ? record : ""}></ew-takes-of>`)
      : html`<h2 class="s">${first?.date ?? first?.name ?? ""}</h2>`}</div>`;
  }
}
customElements.define("ew-takes-day", TakesDay);
