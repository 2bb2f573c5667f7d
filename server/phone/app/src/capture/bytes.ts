// The byte form of an edit and of its parts, as logbook/exchange/rows.md says it.
import { bytesOf } from "./value";

/** A Writer puts numbers and texts behind one another. */
export class Writer {
  #parts: number[] = [];

  byte(n: number) { this.#parts.push(n); }

  bytes(b: Uint8Array) { for (const n of b) this.#parts.push(n); }

  /** uvarint writes seven bits a byte, the lowest first. */
  uvarint(n: bigint | number) {
    let left = BigInt(n);
    for (; left >= 0x80n; left >>= 7n) this.#parts.push(Number(left & 0x7fn) | 0x80);
    this.#parts.push(Number(left));
  }

  varint(n: number) {
    const whole = BigInt(n);
    this.uvarint(whole >= 0n ? whole * 2n : -whole * 2n - 1n);
  }

  text(t: string) {
    const b = bytesOf(t);
    this.uvarint(b.length);
    this.bytes(b);
  }

  hex(digits: string) { this.bytes(hexBytes(digits)); }

  done() { return Uint8Array.from(this.#parts); }
}

/** hexOf writes bytes as digits. */
export const hexOf = (b: Uint8Array) => Array.from(b, (n) => n.toString(16).padStart(2, "0")).join("");

/** hexBytes reads such digits. */
export const hexBytes = (digits: string) => Uint8Array.from(digits.match(/../g) ?? [], (two) => Number.parseInt(two, 16));

const idOf = (b: Uint8Array) => hexOf(b).replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");

function uvarint(b: Uint8Array, at: number): [bigint, number] {
  let n = 0n;
  for (let shift = 0n; ; shift += 7n) {
    const part = b[at++];
    if (part === undefined) throw new RangeError("the bytes end too early");
    n |= BigInt(part & 0x7f) << shift;
    if (part < 0x80) return [n, at];
  }
}

/** What stands at the beginning of an edit: whose it is, and when it was made. */
export interface Head {
  production: string;
  record: string;
  device: string;
  line: string;
  n: number;
  kind: string;
  /** at is by the clock of the device, put right: milliseconds since 1970. */
  at: number;
}

/** headOf reads the beginning of an edit's bytes. */
export function headOf(b: Uint8Array): Head {
  if (b[0] !== 1 || b.length < 60) throw new RangeError("these are no bytes of an edit");
  const [n, kindAt] = uvarint(b, 57);
  const [size, textAt] = uvarint(b, kindAt);
  const end = textAt + Number(size);
  const [at, offsetAt] = uvarint(b, end);
  const [offset] = uvarint(b, offsetAt);
  const signed = (u: bigint) => Number(u & 1n ? -((u + 1n) / 2n) : u / 2n);
  return {
    production: idOf(b.subarray(1, 17)), record: idOf(b.subarray(17, 33)), device: idOf(b.subarray(33, 49)),
    line: hexOf(b.subarray(49, 57)),
    n: Number(n), kind: new TextDecoder().decode(b.subarray(textAt, end)), at: signed(at) + signed(offset),
  };
}

/** framed puts the length of each part before it, and all behind one another. */
export function framed(parts: readonly Uint8Array[]): Uint8Array<ArrayBuffer> {
  const heads = parts.map((p) => {
    const w = new Writer();
    w.uvarint(p.length);
    return w.done();
  });
  const out = new Uint8Array(parts.reduce((sum, p, i) => sum + p.length + heads[i]!.length, 0));
  let at = 0;
  parts.forEach((p, i) => {
    out.set(heads[i]!, at);
    out.set(p, at + heads[i]!.length);
    at += heads[i]!.length + p.length;
  });
  return out;
}

/** frames are the parts that framed put together. */
export function frames(b: Uint8Array): Uint8Array<ArrayBuffer>[] {
  const out: Uint8Array<ArrayBuffer>[] = [];
  for (let at = 0; at < b.length;) {
    const [size, begin] = uvarint(b, at);
    at = begin + Number(size);
    if (at > b.length) throw new RangeError("the bytes end too early");
    out.push(b.slice(begin, at));
  }
  return out;
}
