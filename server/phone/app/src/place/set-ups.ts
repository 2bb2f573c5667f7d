// The set-ups of the day that is open, and which of them a place is about.
import { html, nothing, type ReactiveControllerHost, type TemplateResult } from "lit";
import { Asked, day } from "../day";
import type { SetUpLine } from "../engine/answers.gen";
import { lights as words } from "../words";

export interface SetUpLines { setUps: SetUpLine[] | null }

/** setUpsAsked asks for all set-ups, the latest first. */
export const setUpsAsked = (host: ReactiveControllerHost): Asked<SetUpLines> => new Asked<SetUpLines>(host, "setUps", () => ({}));

/** atSetUp is the message about the set-up that is open; none where no set-up is. */
export const atSetUp = (more: object = {}): object | undefined => {
  const setUp = day.here.setUp;
  return setUp ? { setUp, ...more } : undefined;
};

/** nearSetUps are the one that is open and the latest others of its day: as many as a thumb finds. */
export function nearSetUps(all: readonly SetUpLine[], most: number): SetUpLine[] {
  const open = all.find((l) => l.setUp === day.here.setUp) ?? all[0];
  const same = all.filter((l) => l.day === open?.day);
  const near = same.slice(0, most);
  if (open && !near.includes(open)) near[near.length - 1] = open;
  return near.reverse();
}

/** setUpChips are the set-ups near the one that is open, and what stands behind them. */
export function setUpChips(all: readonly SetUpLine[], go: (setUp: string) => void, after: TemplateResult | typeof nothing): TemplateResult {
  return html`<div class="row" role="group" aria-label=${words.whichSetUp}>
    ${nearSetUps(all, 2).map((l) => html`<button type="button" class="b" aria-pressed=${l.setUp === day.here.setUp} @click=${() =>
      go(l.setUp)}>${l.name}</button>`)}
    ${after}</div>`;
}
