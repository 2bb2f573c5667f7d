// An edit as a form makes it. What must come out stands in logbook/handset/doc.go ("Capture") and
// in logbook/handset/testdata/capture.json.
import { Writer } from "./bytes";
import { bytesOf, canonical, inOrder, type Value } from "./value";

/** The identity of an edit: what a start of the program wrote as its nth. */
export interface Dot { line: string; n: number }

export const dotText = (d: Dot) => `${d.line}.${d.n}`;

export function parseDot(text: string): Dot {
  const [, line, n] = /^([0-9a-f]{16})\.(\d+)$/.exec(text) ?? [];
  if (line === undefined) throw new RangeError(`${text} is the dot of no edit`);
  return { line, n: Number(n) };
}

export interface Change {
  field: string;
  value: Value;
  /** over are the dots of what the form showed in the field. */
  over?: readonly string[];
}

export interface Draft {
  production: string;
  kind: string;
  record: string;
  device: string;
  dot: Dot;
  /** at is the device's own clock; offsetMs is what puts it right. */
  at: number;
  offsetMs: number;
  by: string;
  act?: Dot;
  changes: readonly Change[];
}

/** What is above these bounds can be no edit. */
export const mostBytes = 65536;
export const mostName = 200;

/** TooLong is thrown for what cannot be an edit, before it is stored. */
export class TooLong extends RangeError {
  constructor(readonly field: string, readonly bytes: number, readonly most: number) {
    super(`${field} has ${bytes} bytes; at most ${most} are possible`);
  }
}

const bare = (id: string) => id.replaceAll("-", "");

function dotsOf(texts: readonly string[]): Dot[] {
  const all = [...new Set(texts)].map(parseDot);
  return all.sort((a, b) => (a.line === b.line ? a.n - b.n : a.line < b.line ? -1 : 1));
}

/** bytesOfEdit makes the byte form of an edit. */
export function bytesOfEdit(d: Draft): Uint8Array<ArrayBuffer> {
  const w = new Writer();
  w.byte(1);
  for (const id of [d.production, d.record, d.device]) w.hex(bare(id));
  w.hex(d.dot.line);
  w.uvarint(d.dot.n);
  w.text(d.kind);
  w.varint(d.at);
  w.varint(d.offsetMs);
  w.text(d.by);
  if (!d.act) w.byte(0);
  else if (d.act.line === d.dot.line) w.byte(1);
  else {
    w.byte(2);
    w.hex(d.act.line);
  }
  if (d.act) w.uvarint(d.act.n);
  const changes = d.changes.map((c) => ({ ...c, field: c.field.toWellFormed() })).sort((a, b) => inOrder(a.field, b.field));
  w.uvarint(changes.length);
  for (const c of changes) {
    const length = bytesOf(c.field).length;
    if (length > mostName) throw new TooLong(c.field, length, mostName);
    w.text(c.field);
    w.text(canonical(c.value));
    const over = dotsOf(c.over ?? []);
    w.uvarint(over.length);
    for (const o of over) {
      w.hex(o.line);
      w.uvarint(o.n);
    }
  }
  w.uvarint(0); // members of a newer version
  const out = w.done();
  if (out.length > mostBytes) throw new TooLong("the entry", out.length, mostBytes);
  return out;
}
