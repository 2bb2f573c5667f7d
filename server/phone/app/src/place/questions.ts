// What waits for a person's choice: each question in one form, from four lists of the engine.
import { pressed } from "../sheet/pressed";
import type { NotMade } from "../day";
import type { Apart, Conflict, ConflictsPage, Quarantine, Refused, TwinGroup, TwinsPage } from "../engine/answers.gen";

export type Question =
  | { of: "apart"; key: string; setUp: string | undefined; apart: Apart }
  | { of: "twins"; key: string; setUp: string | undefined; twins: TwinGroup }
  | { of: "conflict"; key: string; setUp: string | undefined; conflict: Conflict }
  | { of: "refused"; key: string; setUp: undefined; refused: Refused }
  | { of: "notMade"; key: string; setUp: string | undefined; row: NotMade };

/** questions puts first what is not logged at all, then whites: what is dialled hangs on them. */
export function questions(
  page: ConflictsPage | undefined, twins: TwinsPage | undefined, kept: Quarantine | undefined, notMade: readonly NotMade[],
): Question[] {
  const apart = (page?.apart ?? []).map((a): Question => ({ of: "apart", key: (a.choices ?? []).map((c) => c.record).join(" "),
    setUp: a.setUp, apart: a }));
  const open = (kept?.refused ?? []).filter((r) => !r.discarded && (r.open ?? []).length > 0);
  return [
    ...notMade.map((row): Question => ({ of: "notMade", key: `pressed ${row.id}`, setUp: pressed(row).setUp, row })),
    ...apart,
    ...(twins?.twins ?? []).map((t): Question => ({ of: "twins", key: t.run, setUp: t.setUp, twins: t })),
    ...(page?.conflicts ?? []).map((c): Question => ({ of: "conflict", key: `${c.record} ${c.field}`, setUp: c.setUp, conflict: c })),
    ...open.map((r): Question => ({ of: "refused", key: r.dot, setUp: undefined, refused: r })),
  ];
}
