// What was pressed and waits to become edits, in words.
import type { NotMade } from "../day";
import { now, other, spoken, upper } from "../words";

interface Pressed { setUp: string | undefined; words: string }

const events: Record<string, readonly [string, string]> = other.events;

/** pressed is an event of the slate in a set-up, or a record that was to be made. */
export function pressed(row: NotMade): Pressed {
  const said = JSON.parse(row.message) as { setUp?: string; event?: { event?: string }; kind?: string; object?: { setUp?: string } };
  const event = said.event?.event, called = (name: string): string => events[name]?.[0] ?? upper(spoken(name));
  if (event !== undefined) return { setUp: said.setUp, words: event === "nextTake" ? now.nextTake : called(event) };
  return { setUp: said.object?.setUp, words: upper(spoken(said.kind ?? "")) };
}
