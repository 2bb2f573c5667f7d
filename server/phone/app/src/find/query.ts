// What is looked for, as the service and the command "find" have it, and what is found.

/** ClipQuery says which clips are wanted; what is left out asks nothing. */
export interface ClipQuery {
  /** begins is the beginning of a name in any case, or of a timecode; the service's name with a * behind it. */
  begins?: string;
  /** name is a clip name; * stands for any letters and ? for one. */
  name?: string;
  /** camera is a letter; scene a name; take number and suffix. */
  camera?: string;
  card?: string;
  scene?: string;
  take?: string;
  /** day and setUp are records. */
  day?: string;
  setUp?: string;
  timecodeFrom?: string;
  timecodeTo?: string;
  /** deviation is a kind of deviation that lists the clip. */
  deviation?: string;
  /** least is how far off it is at least at the clip, with its unit, as the service reads it. It alone knows how far each clip is. */
  least?: string;
}

/** ListedClip is a clip that was found, as the service lists it. */
export interface ListedClip {
  clip: string;
  name?: string;
  camera?: string;
  card?: string;
  day?: string;
  scene?: string;
  setUp?: string;
  setUpRecord?: string;
  takes?: string[];
  timecodeStart?: string;
  timecodeEnd?: string;
}

/** ClipList has at most as many as an answer lists, by time, then by camera; more is how many were found beside. */
export interface ClipList { clips: ListedClip[]; more?: number }

export const mostFound = 500;

/** kinds of deviations that may list clips, in the order in which they are told. */
export const deviationKinds = [
  "automatic-white", "no-settings", "setting-not-on-body", "white-unresolved", "setting-off-aim", "aim-not-reachable", "cameras-differ",
  "takes-differ", "set-ups-differ", "light-off-reference", "light-off-own-color", "light-drifted", "mix-drifted", "mix-disagrees",
  "light-leaving", "light-changed", "reading-stale", "white-outlived", "no-white", "no-reading", "white-not-known", "not-logged", "no-body",
  "no-camera", "settings-carried-over", "no-chart", "take-number-twice", "clip-name-twice", "timecode-impossible", "take-ends-first",
  "reference-leads-nowhere",
] as const;

/** fits reports whether a name is what a pattern says. */
export function fits(pattern: string, name: string): boolean {
  const p = [...pattern], n = [...name];
  let star = -1, from = 0, at = 0;
  for (let i = 0; i < n.length;) {
    if (p[at] === "*") {
      star = at++;
      from = i;
    } else if (at < p.length && (p[at] === "?" || p[at] === n[i])) {
      at++;
      i++;
    } else if (star >= 0) {
      i = ++from;
      at = star + 1;
    } else return false;
  }
  while (p[at] === "*") at++;
  return at === p.length;
}

/** asked makes a query of what was typed: a timecode or two, a pattern, the beginning of a name, or exactly that name. */
export function asked(text: string, exactly: boolean): ClipQuery {
  const typed = text.trim(), [from = "", to = ""] = typed.split(/\s*\/\s*/);
  if (/^\d\d:\d\d:\d\d[:;]\d\d$/.test(from)) return { timecodeFrom: from, ...(to && { timecodeTo: to }) };
  if (typed === "") return {};
  return exactly || /[*?]/.test(typed) ? { name: typed } : { begins: typed };
}
