// What is off in the day that is open, and where it is shown.
import { Asked, day } from "../day";
import type { Deviation, Findings, SetUpLine } from "../engine/answers.gen";
import type { ReactiveControllerHost } from "lit";
import { settle as words } from "../words";
import type { SetUpLines } from "./set-ups";

/** findingsAsked asks about the day of the set-up that is open. */
export const findingsAsked = (host: ReactiveControllerHost, lines: Asked<SetUpLines>, accepted: boolean): Asked<Findings> =>
  new Asked<Findings>(host, "findings", () => {
    const of = dayOpen(lines.value?.setUps);
    return of ? { day: of, accepted } : undefined;
  });

/** dayOpen is the day of the set-up that is open. */
export const dayOpen = (lines: readonly SetUpLine[] | null | undefined): string | undefined => lines?.find((l) =>
  l.setUp === day.here.setUp)?.day;

export const setUpName = (lines: readonly SetUpLine[] | null | undefined, setUp: string | undefined): string =>
  lines?.find((l) => l.setUp === setUp)?.name ?? "";

/** goThere is the place that shows a finding, and what that place is about. */
export function goThere(d: Deviation): { place: string; words: string; what: Record<string, string> } {
  const setUp = d.setUp ? { setUp: d.setUp } : {};
  const shot = d.takes?.[0] ?? d.clips?.[0];
  if (/^(light-|reading-|no-reading|mix-)/.test(d.kind)) return { place: "lights", words: words.there.lights, what: { ...setUp,
    ...lightOf(d) } };
  if (/^(white-|no-white|aim-)/.test(d.kind) || shot === undefined) return { place: "now", words: words.there.now, what: setUp };
  return { place: "takes", words: words.there.takes, what: { ...setUp, record: shot } };
}

/** The subjects of a finding about one light are the light and its set-up. */
function lightOf(d: Deviation): Record<string, string> {
  const others = (d.subjects ?? []).filter((id) => id !== d.setUp);
  return others.length === 1 ? { light: others[0]! } : {};
}
