// How the rows of a form stand on a screen: in parts, the commonest first.
import type { Row } from "../engine/answers.gen";
import { isEmpty, type Values } from "./form-values";

/** A Part is a row, or the rows of one map or group of names: cameras/…, limits/…, rigged/…. */
export interface Part {
  name: string;
  rows: Row[];
  keyed: boolean; // its second name is a key, which a star stands for
}

// What no form enters: answers about twins, and what is written by whoever makes the edit.
const left = new Set(["deleted", "same", "since", "restsOn", "settles", "struckOut", "newBatteryAt"]);

/** partsOf groups rows by what stands before their slash. */
export function partsOf(rows: readonly Row[]): Part[] {
  const parts: Part[] = [];
  for (const row of rows) {
    const [first = row.name, second] = row.name.split("/");
    if (left.has(first)) continue;
    const last = parts.at(-1);
    if (second !== undefined && last?.name === first) last.rows.push(row);
    else parts.push({ name: first, rows: [row], keyed: second === "*" });
  }
  return parts;
}

const commonest: Record<string, string> = {
  production: "title timeZone frameRate gelFamily slating",
  day: "number date place unit closed",
  scene: "name location intendedCast",
  setUp: "day scene name place cameras referenceLight referencePosition",
  lamp: "name count family kelvinDial greenMagentaDial",
  light: "name lamp role intent position rigged",
  gel: "name gelKind shiftMired cc quantity",
  body: "label whiteModes kelvinRanges tint recordingModes clipNameRule timecode",
  camera: "letter body operator",
  meter: "name meterKind serial",
};

/** ordered splits parts into those that are mostly entered, with all that must be and all that is, and the rest. */
export function ordered(kind: string, parts: readonly Part[], values: Values): { first: Part[]; more: Part[] } {
  const names = (commonest[kind] ?? "").split(" ");
  const said = (p: Part): boolean => Object.entries(values).some(([name, v]) => !isEmpty(v) && (name === p.name
    || name.startsWith(`${p.name}/`)));
  const wanted = (p: Part): boolean => names.includes(p.name) || p.rows.some((r) => r.required && !p.keyed);
  const rank = (p: Part): number => (names.includes(p.name) ? names.indexOf(p.name) : names.length);
  const first = parts.filter((p) => wanted(p) || said(p)).sort((a, b) => rank(a) - rank(b));
  return { first, more: parts.filter((p) => !first.includes(p)) };
}

/** keysOf lists the keys under which something stands: of "cameras" those in cameras/KEY/lens. */
export function keysOf(map: string, values: Values): string[] {
  const keys = new Set<string>();
  for (const [name, value] of Object.entries(values)) {
    const [first, key] = name.split("/");
    if (first === map && key !== undefined && !isEmpty(value)) keys.add(key);
  }
  return [...keys];
}

/** under is the name of a row where a key stands for its star. */
export const under = (row: Row, key: string): string => row.name.replace("*", key);

/** slug makes a key of a name: of "8 bit, baked" "8-bit-baked". taken are the keys that are in use. */
export function slug(name: string, taken: readonly string[]): string {
  const plain = name.normalize("NFKD").replace(/[^\w]+/g, "-").replace(/^-+|-+$/g, "").slice(0, 48) || "other";
  for (let n = 1; ; n++) {
    const key = n === 1 ? plain : `${plain}-${n}`;
    if (!taken.includes(key)) return key;
  }
}
