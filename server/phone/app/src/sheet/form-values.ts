// What stands in a form: values as they were typed.
import { Digits, digits, type Value } from "../capture";
import type { Row } from "../engine/answers.gen";

/** What stands in the fields of a form, by their names in an edit. */
export type Values = Readonly<Record<string, Value | undefined>>;

/** valueOf takes a value of an answer whose numbers were read as numbers. */
export function valueOf(answered: unknown): Value {
  if (answered === null || answered === undefined) return null;
  if (typeof answered === "number") return new Digits(String(answered));
  if (typeof answered === "string" || typeof answered === "boolean" || answered instanceof Digits) return answered;
  if (Array.isArray(answered)) return answered.map(valueOf);
  return Object.fromEntries(Object.entries(answered).map(([name, member]) => [name, valueOf(member)]));
}

/** numberTyped is what somebody typed as a number; undefined where it is none yet. */
export function numberTyped(text: string): Digits | undefined {
  try {
    return digits(text);
  } catch {
    return undefined;
  }
}

export const isList = (value: Value | undefined): value is readonly Value[] => Array.isArray(value);

export function isGroup(value: Value | undefined): value is { readonly [name: string]: Value } {
  return typeof value === "object" && value !== null && !(value instanceof Digits) && !isList(value);
}

/** isEmpty reports whether nothing was entered: no text, no item of a list, no member of a group. */
export function isEmpty(value: Value | undefined): boolean {
  if (value === null || value === undefined || value === "") return true;
  if (isList(value)) return value.every(isEmpty);
  return isGroup(value) && Object.values(value).every(isEmpty);
}

/** filled leaves out the empty items of lists and members of groups. */
export function filled(value: Value): Value {
  if (isList(value)) return value.filter((item) => !isEmpty(item)).map(filled);
  if (!isGroup(value)) return value;
  return Object.fromEntries(Object.entries(value).filter(([, member]) => !isEmpty(member)).map(([name, member]) => [name, filled(member)]));
}

/** missing names the required rows of a form in which nothing stands. */
export function missing(rows: readonly Row[], values: Values): string[] {
  return rows.filter((row) => row.required && !row.name.includes("*") && isEmpty(values[row.name])).map((row) => row.name);
}
