// The sides of a question, and what choosing one of them saves.
import { day, type NotMade } from "../day";
import type { Apart, Conflict, HandsetRecord, Refused, SetUpNow, TwinGroup } from "../engine/answers.gen";
import type { Act } from "../look";
import { nameOf, type Listed } from "../sheet/names";
import { pressed } from "../sheet/pressed";
import { change } from "../sheet/change";
import { valueOf } from "../sheet/form-values";
import { clock, labelOf, settle as words, spoken, upper } from "../words";
import type { Question } from "./questions";

/** A Side is one of the answers: what it says, what it would make of things, who said it. */
export interface Side { big: string; lines: string[]; small: string[] }

export function headlineOf(q: Question, record?: HandsetRecord): string {
  switch (q.of) {
    case "apart": return words.apart(spoken(q.apart.kind), (q.apart.choices ?? []).length);
    case "twins": return words.oneOrTwo(record ? nameOf(record.record as Listed) : "", spoken(q.twins.kind), q.twins.count);
    case "refused": return words.kept(spoken(q.refused.edit?.kind ?? ""));
    case "notMade": return words.notLogged(pressed(q.row).words);
  }
  const c = q.conflict, name = record ? nameOf(record.record as Listed) : upper(spoken(c.kind));
  return c.deletion ? words.struckOrNot(name) : `${name}: ${words.or(labelOf(c.field).toLowerCase(), (c.values ?? []).map((v) =>
    shown(v.value)))}`;
}

export function whoAsked(q: Question): string {
  switch (q.of) {
    case "apart": return (q.apart.choices ?? []).map((c) => `${c.by} ${clock(c.correctedAt)}`).join(", ");
    case "twins": return (q.twins.records ?? []).map((r) => `${r.madeBy} ${clock(r.madeAt)}`).join(", ");
    case "conflict": return (q.conflict.values ?? []).map((v) => `${v.by} ${clock(v.correctedAt)}`).join(", ");
    case "refused": return `${q.refused.edit?.by ?? ""} ${clock(q.refused.edit?.at ?? 0)}`;
    case "notMade": return `${q.row.by} ${clock(q.row.at + q.row.offsetMs)}`;
  }
}

/** shown is a value as people read it. */
export function shown(v: unknown): string {
  if (v === null || v === undefined) return words.nothing;
  if (typeof v === "boolean") return v ? words.yes : words.no;
  if (Array.isArray(v)) return v.map(shown).join(", ") || words.nothing;
  if (typeof v !== "object") return /^[0-9a-f]{8}-[0-9a-f-]{27}$/.test(String(v)) ? words.another : spoken(String(v));
  return Object.entries(v).map(([name, member]) => (name === "as" ? spoken(String(member))
    : `${labelOf(name).toLowerCase()} ${shown(member)}`)).join(", ");
}

const dialsBy = (now: SetUpNow | undefined, white: string): string[] => (now?.cameras ?? []).map((c) => {
  const dial = now?.white?.white === white ? c.toDial : c.contested?.find((o) => o.white === white)?.toDial;
  if (!dial) return `${c.letter} ${words.notKnown}`;
  return `${c.letter} ${dial.words === c.last?.setting.words ? words.asItIs : dial.words}`;
});

/** whiteSides says of each white that counts what it would make one dial. */
export function whiteSides(a: Apart, now: SetUpNow | undefined): Side[] {
  return (a.choices ?? []).map((c) => {
    const color = colorOf(c.record, now);
    const dials = a.kind === "white" ? dialsBy(now, c.record) : [];
    return {
      big: color ?? c.words, lines: color ? [c.words] : [],
      small: [words.when(c.correctedAt, c.device === day.device, c.by), ...(dials.length > 0 ? [words.thenDial, ...dials] : [])],
    };
  });
}

function colorOf(white: string, now: SetUpNow | undefined): string | undefined {
  if (now?.white?.white === white) return now.white.color?.words;
  return now?.cameras?.flatMap((c) => c.contested ?? []).find((o) => o.white === white)?.aim?.words;
}

/** whiteActs settle by a white of the same rule that names all of them: both stay in the history. */
export function whiteActs(a: Apart, now: SetUpNow | undefined): Act[] {
  return (a.choices ?? []).map((c) => ({
    words: words.use(colorOf(c.record, now)?.split(",")[0] ?? c.words), small: c.words,
    press: () => void (a.kind === "white" ? useWhite(c.record, a) : strikeOthers(c.record, a)),
  }));
}

async function useWhite(chosen: string, a: Apart): Promise<void> {
  const { value } = await day.ask<HandsetRecord>("record", { kind: "white", record: chosen });
  const of = value.record as Record<string, unknown>;
  const object = Object.fromEntries(["setUp", "from", "intendedCast", "exceptions", "appliesFrom", "judgedOn", "restsOn"]
    .filter((name) => of[name] !== undefined).map((name) => [name, of[name]]));
  await day.create("white", {
    ...object, decidedBy: day.by, supersedes: chosen, settles: (a.choices ?? []).map((c) => c.record).filter((id) => id !== chosen),
  });
}

async function strikeOthers(chosen: string, a: Apart): Promise<void> {
  for (const c of a.choices ?? []) {
    if (c.record !== chosen) await day.strike(a.kind, c.record);
  }
}

export const conflictSides = (c: Conflict): Side[] => (c.values ?? []).map((v) => ({
  big: c.deletion ? (v.value === true ? words.struckOut : words.stays) : upper(shown(v.value)), lines: [],
  small: [words.when(v.correctedAt, v.device === day.device, v.by)],
}));

/** conflictActs set the field to the value that was chosen, over all that were seen. */
export function conflictActs(c: Conflict): Act[] {
  if (c.deletion) {
    return [
      { words: words.strikeOut, press: () => void day.strike(c.kind, c.record) },
      { words: words.keepIt, press: () => void day.restore(c.kind, c.record) },
    ];
  }
  return (c.values ?? []).map((v) => ({
    words: words.use(shown(v.value)), small: `${v.by} ${clock(v.correctedAt)}`,
    press: () => void change(c.kind, c.record, { [c.field]: valueOf(v.value) }),
  }));
}

export const twinActs = (t: TwinGroup): Act[] => {
  const records = (t.records ?? []).map((r) => r.id), kind = spoken(t.kind);
  return (["one", "two"] as const).map((answer) => ({
    words: words.twin[answer](kind), press: () => void day.settle({ twins: { records, answer, ...(records.length > 2
      && { wholeRun: true }) } }),
  }));
};

export function refusedSide(r: Refused): Side {
  const said = Object.entries(r.edit?.set ?? {}).filter(([name]) => (r.open ?? []).includes(name));
  return {
    big: said.map(([name, v]) => `${labelOf(name)} ${shown(v)}`).join(", "), lines: [words.changesNothing],
    small: [words.when(r.edit?.at ?? "", r.edit?.device === day.device, r.edit?.by)],
  };
}

export const notMadeSide = (row: NotMade): Side => ({
  big: pressed(row).words, lines: [`${upper(row.fault)}.`], small: [words.when(row.at + row.offsetMs, true, row.by)],
});

/** notMadeActs are the ways out: what it lacked is put right and it is made anew, or it is given up. */
export function notMadeActs(row: NotMade): Act[] {
  const { setUp } = pressed(row), here = row.production === day.here.production;
  const go = { words: words.goThere, press: () => day.go("now", { production: row.production, setUp }) };
  return [
    { words: words.giveUp, press: () => void day.dropNotMade(row.id) }, ...(setUp === undefined && here ? [] : [go]),
    ...(here ? [{ words: words.tryAgain, press: () => void day.tryAgain(row) }] : []),
  ];
}
