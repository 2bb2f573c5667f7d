// What may be chosen as a white, as the record says it.
import { digits, type answers, type Value } from "../day";
import { clock, now, upper, white as words } from "../words";
import { settingWords } from "../place/camera-said";

/** A Choice is a rule with its words. */
export interface Choice { key: string; from: { readonly [name: string]: Value }; words: string; small: string }

interface ReadingRow {
  id: string; takenAt?: string; position?: string; of?: { as: string; light?: string }; struckOut?: unknown;
  measured?: { cctKelvin?: number; duv?: number };
}

/** measuredWords are what a meter said in kelvin and Duv; other ways to say it stand in the panel once it is picked. */
const measuredWords = (m: ReadingRow["measured"]): string => (m?.cctKelvin === undefined ? ""
  : [`${m.cctKelvin} K`, m.duv === undefined ? "" : now.duv(m.duv)].filter(Boolean).join(", "));

/** readingChoices are the readings of a set-up, the newest first, that were not struck out. */
export function readingChoices(records: readonly unknown[], n: answers.SetUpNow | undefined): Choice[] {
  const named = new Map(n?.lights.map((l) => [l.light, l] as const));
  return (records as ReadingRow[]).filter((r) => !r.struckOut).sort((a,
    b) => Date.parse(b.takenAt ?? "") - Date.parse(a.takenAt ?? "")).map((r) => {
    const l = named.get(r.of?.light ?? "");
    return {
      key: r.id, from: { as: "readings", readings: [{ reading: r.id }] },
      words: words.reading(upper(l?.name ?? words.everything), r.takenAt ? clock(r.takenAt) : ""),
      small: [measuredWords(r.measured), r.position].filter(Boolean).join(", "),
    };
  });
}

/** otherChoices are the mix, what a camera is set to, and the whites of other set-ups. */
export function otherChoices(n: answers.SetUpNow | undefined, lines: readonly answers.SetUpLine[]): Choice[] {
  const all: Choice[] = [];
  if ((n?.lights.length ?? 0) > 1) all.push({ key: "mix", from: { as: "mix" }, words: words.mix, small: "" });
  for (const c of n?.cameras ?? []) {
    const set = c.last?.setting;
    if (set?.kelvin === undefined) continue;
    all.push({ key: c.camera, words: words.camera(c.letter, settingWords(set)), small: "", from: {
      as: "cameraSetting", camera: c.camera, kelvin: digits(String(set.kelvin)),
        ...(set.tint !== undefined && { tint: digits(String(set.tint)) }) } });
  }
  for (const s of lines.filter((l) => l.setUp !== n?.setUp).slice(0, 6)) {
    all.push({ key: s.setUp, from: { as: "sameAs", setUp: s.setUp }, words: words.sameAs(s.name), small: s.place ?? "" });
  }
  return all;
}
