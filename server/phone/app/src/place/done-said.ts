// What an act says of itself once its edits are made.
import type { Act } from "../day";
import type { Made } from "../day/acts";
import type { UndoSaid } from "../look";
import { camera as cameraWords, clock, done as words } from "../words";

type Said = Omit<UndoSaid, "time">;

const text = (v: unknown): string => (v === undefined || v === null ? "" : String(v));

/** takeIn is the take that an act made or changed. */
export const takeIn = (made: readonly Made[]): Made | undefined => made.findLast((m) => m.kind === "take" && m.created)
  ?? made.find((m) => m.kind === "take");

/** madeSaid is the title of an act, and each camera's clip with its values and how they are known. */
export function madeSaid(act: Act, made: readonly Made[], letters: ReadonlyMap<string, string>): Said {
  if (act.name === "undo") return { title: words.undone, lines: [] };
  const clips = made.filter((m) => m.kind === "clip" && m.created);
  return { title: titleOf(made, clips, letters), lines: clips.map((c) => clipLine(c.set, letters)) };
}

function titleOf(made: readonly Made[], clips: readonly Made[], letters: ReadonlyMap<string, string>): string {
  const take = takeIn(made), first = made[0];
  if (take?.created) return words.take(text(take.set["number"]) + text(take.set["suffix"]), text(take.set["state"]));
  if (take) return take.set["state"] === "noGood" ? words.takeNoGood : words.changed;
  if (clips[0]) return words.clip(text(clips[0].set["clipKind"]), text(clips[0].set["part"]));
  if (first?.kind === "camera") {
    const set = first.set["set"] as Record<string, unknown> | undefined;
    const letter = letters.get(first.record) ?? "";
    if (set) return words.isSet(letter,
      `${text(set["kelvin"])} K${set["tint"] === undefined ? "" : `, ${cameraWords.tint(Number(set["tint"]))}`}`);
    if (first.set["card"] !== undefined) return words.card(letter, text(first.set["card"]));
    if (first.set["newBatteryAt"] !== undefined) return words.battery(letter);
  }
  return words.of(first?.kind ?? "", first?.created ?? false);
}

function clipLine(set: Readonly<Record<string, unknown>>, letters: ReadonlyMap<string, string>): Said["lines"][number] {
  const name = text((set["name"] as { text?: unknown } | undefined)?.text) || (set["rolled"] === false ? words.stood : words.noName);
  const values = set["kelvin"] !== undefined ? `${text(set["kelvin"])} K, ${cameraWords.tint(Number(set["tint"] ?? 0))}`
    : text(set["preset"]) || cameraWords.modes[text(set["whiteMode"])] || "";
  const at = text(set["readOffAt"]), read = set["settingsAre"] === "readOff";
  const source = !values ? words.readThem : read ? words.readOff(at ? clock(at) : "") : words.carriedOver;
  return { letter: letters.get(text(set["camera"])) ?? "", words: [name, values].filter(Boolean).join(", "), source };
}
