// Pages are copies of stored edits that an engine held and found valid, many in one piece: the next start reads them in a tenth of
// the time, and need not judge them. The edits themselves stay what counts: what no page holds is read by itself.
import type { Dot } from "../capture";
import type { EditRow } from "./tables";

/** A span is the numbers of a line from one to another. */
type Span = [line: string, from: number, to: number];

/** What is said of a page. rules is the version of the rules by which its edits are valid; to is when the newest of them was made. */
export interface PageOf { rank: 0 | 1; to: number; rules: number; spans: Span[] }

/** Page is one on its way to the engine: edits as they are stored, or, in frames, all of a page that was kept. */
export type Page = OnItsWay & ({ rows: EditRow[] } | { bytes: Uint8Array<ArrayBuffer>; rowsInstead: () => Promise<EditRow[]> });

interface OnItsWay {
  rank: 0 | 1;
  count: number;
  /** from is since when all that was shot is here, once this page is; it is missing with the last page, and before what was shot. */
  from?: number;
  last: boolean;
}

export const countOf = (spans: Span[]) => spans.reduce((sum, [, from, to]) => sum + to - from + 1, 0);

export const holds = (spans: Span[], { line, n }: Dot) => spans.some(([l, from, to]) => l === line && from <= n && n <= to);

/** pageOf says what a page of rows is. */
export function pageOf(rows: EditRow[], rules: number): PageOf {
  const dots = rows.toSorted((a, b) => (a.line < b.line ? -1 : a.line > b.line ? 1 : a.n - b.n)), spans: Span[] = [];
  for (const { line, n } of dots) {
    const last = spans.at(-1);
    if (last && last[0] === line && last[2] + 1 === n) last[2] = n;
    else spans.push([line, n, n]);
  }
  return { rank: rows[0]!.rank, to: Math.max(...rows.map((r) => r.at)), rules, spans };
}

/** before orders pages as they are handed in: what was prepared, then the newest. */
export const before = (a: { rank: 0 | 1; to: number }, b: { rank: 0 | 1; to: number }) => b.rank - a.rank || b.to - a.to;

/** Paged is which dots are on pages. */
export class Paged {
  readonly #lines = new Map<string, [from: number, to: number][]>();

  constructor(pages: readonly PageOf[]) {
    for (const { spans } of pages) for (const [line, from, to] of spans) {
      const all = this.#lines.get(line);
      if (all) all.push([from, to]);
      else this.#lines.set(line, [[from, to]]);
    }
    for (const all of this.#lines.values()) all.sort((a, b) => a[0] - b[0]);
  }

  /** around finds the last number of those that are paged without a gap from n on, or else where the next paged ones begin. */
  around({ line, n }: Dot): { to: number } | { next: number | undefined } {
    let end: number | undefined;
    for (const [from, to] of this.#lines.get(line) ?? []) {
      if (from > (end === undefined ? n : end + 1)) return end === undefined ? { next: from } : { to: end };
      if (to >= n) end = Math.max(end ?? to, to);
    }
    return end === undefined ? { next: undefined } : { to: end };
  }
}

/** sliced cuts rows into pages of at most so many, in the order in which they are handed in. */
export function sliced(rows: EditRow[], most: number): EditRow[][] {
  const out: EditRow[][] = [];
  for (const row of rows.toSorted((a, b) => b.rank - a.rank || b.at - a.at)) {
    const last = out.at(-1);
    if (last && last.length < most && last[0]!.rank === row.rank) last.push(row);
    else out.push([row]);
  }
  return out;
}
