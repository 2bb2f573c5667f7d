// Messages as JSON: numbers that somebody typed keep their digits.
import { Digits, parse, type Value } from "../capture";

/** textOf writes a message. Members that are undefined are left out. */
export function textOf(v: unknown): string {
  if (v instanceof Digits) return v.text;
  if (Array.isArray(v)) return `[${v.map(textOf).join(",")}]`;
  if (v === null || typeof v !== "object") return JSON.stringify(v ?? null);
  const members = Object.entries(v).filter(([, value]) => value !== undefined);
  return `{${members.map(([name, value]) => `${JSON.stringify(name)}:${textOf(value)}`).join(",")}}`;
}

const shownIn: Record<string, string> = { form: "values", record: "fields" };

/**
 * answerOf reads the answer to a message. What stands in the fields of a form or a record is read with its
 * digits: numbers there are Digits, so that they are shown, and carried over, as they were typed.
 */
export function answerOf<T>(name: string, text: string): T {
  const answer = JSON.parse(text) as T;
  const shown = shownIn[name];
  if (shown !== undefined) {
    const exact = (parse(text) as { [name: string]: { [field: string]: { value: Value } } })[shown] ?? {};
    const fields = (answer as Record<string, Record<string, { value: Value }>>)[shown] ?? {};
    for (const [field, is] of Object.entries(fields)) is.value = exact[field]!.value;
  }
  return answer;
}
