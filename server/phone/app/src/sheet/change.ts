// A change to a record that stands on the screen without its form: the heads are asked for first.
import { day, type Act, type Value } from "../day";
import type { Form } from "../engine/answers.gen";

export async function change(kind: string, record: string, fields: Readonly<Record<string, Value>>): Promise<Act> {
  const { value: form } = await day.ask<Form>("form", { kind, record });
  return day.save({ kind, record, fields, form });
}
