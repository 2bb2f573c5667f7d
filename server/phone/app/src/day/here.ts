// What is open: a place, sheets on it, and what they are about. It stands behind the # of the
// address, so that the system's Back closes a sheet.

export const places = ["now", "lights", "takes", "settle", "handover"] as const;
export type Place = (typeof places)[number];

export interface Here {
  place: Place;
  /** sheets that lie on the place; the last one is on top. */
  sheets: readonly string[];
  sheet: string | undefined;
  production: string | undefined;
  setUp: string | undefined;
  camera: string | undefined;
  /** what else a sheet is about, such as the light of a reading. */
  what: Readonly<Record<string, string>>;
}

/** What go is told: an empty text leaves a member out. */
export type What = Record<string, string | undefined>;

const isPlace = (name: string): name is Place => (places as readonly string[]).includes(name);

/** read takes an address apart. Production and set-up stay as they were where it names none. */
export function read(hash: string, before?: Here): Here {
  const [path = "", query = ""] = hash.replace(/^#/, "").split("?");
  const [first = "", ...rest] = path.split("/").filter(Boolean).map(decodeURIComponent);
  const place = isPlace(first) ? first : (before?.place ?? "now");
  const sheets = isPlace(first) || first === "" ? rest : [first, ...rest];
  const { production, setUp, camera, ...what } = Object.fromEntries(new URLSearchParams(query)) as Record<string, string>;
  return {
    place, sheets, sheet: sheets.at(-1), production: production ?? before?.production,
    setUp: setUp ?? (production && production !== before?.production ? undefined : before?.setUp), camera, what,
  };
}

/** written is the address of what is open. */
export function written(h: Here): string {
  const query = new URLSearchParams();
  for (const [name, value] of Object.entries({ production: h.production, setUp: h.setUp, camera: h.camera, ...h.what })) {
    if (value) query.set(name, value);
  }
  return `#${[h.place, ...h.sheets].map(encodeURIComponent).join("/")}?${query}`;
}

/** moved is where go leads from here: a place closes all sheets, a sheet lies on what is open. */
export function moved(from: Here, name: string, what: What): Here {
  const { production = from.production, setUp, camera, ...rest } = what;
  const other = production !== from.production;
  const base = { production, setUp: setUp ?? (other ? undefined : from.setUp) };
  const about = Object.fromEntries(Object.entries(rest).filter((e): e is [string, string] => Boolean(e[1])));
  if (isPlace(name)) return { ...base, place: name, sheets: [], sheet: undefined, camera, what: about };
  const sheets = from.sheet === name ? from.sheets : [...from.sheets, name];
  return { ...base, place: from.place, sheets, sheet: name, camera: camera ?? from.camera, what: { ...from.what, ...about } };
}

/** marked is the same place or sheet about something else: an empty text takes a member away. */
export function marked(at: Here, { camera = at.camera, ...what }: What): Here {
  const about = Object.entries({ ...at.what, ...what }).filter((e): e is [string, string] => Boolean(e[1]));
  return { ...at, camera: camera || undefined, what: Object.fromEntries(about) };
}

/** closed is what is open once the sheet on top is closed. */
export function closed(from: Here): Here {
  const sheets = from.sheets.slice(0, -1);
  return { ...from, sheets, sheet: sheets.at(-1), ...(from.sheets.length === 0 && { place: "now" as const }) };
}
