// Values as an edit holds them: JSON in one spelling, numbers as they were typed.

/** A number by the digits that somebody typed; one of JavaScript would lose "5600.0". */
export class Digits {
  constructor(readonly text: string) {
    if (!/^-?(0|[1-9]\d*)(\.\d+)?([eE][+-]?\d+)?$/.test(text)) throw new TypeError(`${text} is no number`);
  }

  toString() { return this.text; }

  toJSON() { return Number(this.text); }
}

/** digits makes a number of what somebody typed: comma or point, with or without a leading zero. */
export function digits(typed: string): Digits {
  const [, sign = "", whole = "", part = ""] = /^([-−+]?)(\d*)(?:[.,](\d*))?$/.exec(typed.trim()) ?? [];
  if (whole === "" && part === "") throw new TypeError(`${typed} is no number`);
  const minus = sign === "-" || sign === "−" ? "-" : "";
  return new Digits(`${minus}${whole.replace(/^0+(?=\d)/, "") || "0"}${part === "" ? "" : `.${part}`}`);
}

export type Value = null | boolean | string | Digits | readonly Value[] | { readonly [name: string]: Value };

const utf8 = new TextEncoder();

/** bytesOf is a text in UTF-8; a lone half of a surrogate pair becomes U+FFFD. */
export const bytesOf = (text: string) => utf8.encode(text);

/** inOrder compares texts by their bytes in UTF-8, which is not the order of UTF-16. */
export function inOrder(a: string, b: string): number {
  const x = bytesOf(a), y = bytesOf(b);
  for (let i = 0; i < x.length && i < y.length; i++) {
    if (x[i] !== y[i]) return x[i]! - y[i]!;
  }
  return x.length - y.length;
}

const escapes: Record<string, string> = { '"': '\\"', "\\": "\\\\", "\n": "\\n", "\r": "\\r", "\t": "\\t" };

function written(text: string): string {
  const escaped = text.replace(/["\\\u0000-\u001f]/g, (c) => escapes[c] ?? `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`);
  return `"${escaped.toWellFormed()}"`;
}

/** canonical is a value in the one spelling of an edit. */
export function canonical(v: Value): string {
  if (v === null || typeof v === "boolean") return String(v);
  if (typeof v === "string") return written(v);
  if (v instanceof Digits) return v.text;
  if (Array.isArray(v)) return `[${v.map(canonical).join(",")}]`;
  const members = Object.entries(v as { [name: string]: Value }).map(([name, value]) => [name.toWellFormed(), value] as const);
  members.sort(([a], [b]) => inOrder(a, b));
  return `{${members.map(([name, value]) => `${written(name)}:${canonical(value)}`).join(",")}}`;
}

/** parse reads JSON, and keeps the digits of its numbers. */
export function parse(text: string): Value {
  let at = 0;
  const fail = (): never => { throw new SyntaxError(`no JSON at ${at}: ${text.slice(at, at + 20)}`); };
  const space = () => { while (at < text.length && " \n\r\t".includes(text[at]!)) at++; };
  const take = (c: string) => { space(); if (text[at] !== c) fail(); at++; };
  const next = () => { space(); return text[at]; };
  const string = (): string => {
    const m = /"(?:[^"\\]|\\.)*"/y;
    m.lastIndex = at;
    const found = m.exec(text)?.[0] ?? fail();
    at += found.length;
    return JSON.parse(found) as string;
  };
  const value = (): Value => {
    switch (next()) {
      case "{": {
        const out: [string, Value][] = [];
        for (take("{"); next() !== "}";) {
          if (out.length > 0) take(",");
          space();
          const name = string();
          take(":");
          out.push([name, value()]);
        }
        take("}");
        return Object.fromEntries(out);
      }
      case "[": {
        const out: Value[] = [];
        for (take("["); next() !== "]";) {
          if (out.length > 0) take(",");
          out.push(value());
        }
        take("]");
        return out;
      }
      case '"': return string();
    }
    const m = /true|false|null|-?[0-9.eE+-]+/y;
    m.lastIndex = at;
    const found = m.exec(text)?.[0] ?? fail();
    at += found.length;
    return found === "true" ? true : found === "false" ? false : found === "null" ? null : new Digits(found);
  };
  const out = value();
  if (next() !== undefined) fail();
  return out;
}
