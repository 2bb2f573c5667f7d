// Questions to the set: notes that nobody answered and nobody said are done.
import type { ReactiveControllerHost } from "lit";
import { Asked } from "../day";
import type { ClipLine, RecordsPage, TakeLine } from "../engine/answers.gen";

/** NoteRow is a note as it is listed. */
export interface NoteRow {
  id: string; about?: string; text?: string; to?: { as?: string; name?: string }; answers?: string; state?: string; deleted?: boolean;
  madeBy?: string; madeAt?: string;
}

export const notesAsked = (host: ReactiveControllerHost): Asked<RecordsPage> =>
  new Asked<RecordsPage>(host, "list", () => ({ kind: "note", limit: 500 }));

export const notesIn = (page: RecordsPage | undefined): NoteRow[] => (page?.records ?? []) as NoteRow[];

/** isOpen says that a note asks the set or a person, and waits: as the check at the wrap has it. */
export const isOpen = (n: NoteRow, all: readonly NoteRow[]): boolean => (n.to?.as === "set" || n.to?.as === "person") && n.state !== "done"
  && !n.answers && !all.some((a) => a.answers === n.id);

/** openAt is the first open question about a take or one of its clips. */
export const openAt = (t: TakeLine, all: readonly NoteRow[]): NoteRow | undefined => {
  const about: readonly (string | undefined)[] = [t.take, ...(t.clips ?? []).map((c: ClipLine) => c.clip)];
  return all.find((n) => n.about !== undefined && about.includes(n.about) && isOpen(n, all));
};
