// The words of Lights, Takes, Settle, Hand over, and of the sheets that open from them.
import type { StatusState } from "../day";
import { clock, upper } from "../words";

const spokenNames: Record<string, string> = {
  cctKelvin: "kelvin", duv: "Duv", miredPerUnit: "mired a unit", duvPerUnit: "Duv a unit", greenMagentaDial: "green–magenta dial",
  dialGreenMagenta: "green–magenta on its dial", dialKelvin: "kelvin on its dial", levelPercent: "level", floorXY: "floor in x y", cc: "CC",
  amberBlue: "amber–blue", setUpKind: "kind", gelKind: "kind", meterKind: "kind", takeKind: "kind", clipKind: "kind",
    whiteModes: "ways to set white",
  duvGreen: "green limit, Duv", duvMagenta: "magenta limit, Duv", steps: "picture steps", uvPrime: "u' v'", xy: "x y", on: "lit",
  remeasureAfterMinutes: "a reading is old after", falseTakeNumber: "number of a false take", twoColorLed: "two-colour LED",
    fullColorLed: "full-colour LED",
  whiteLed: "white LED", based5500: "5500 based", based6500: "6500 based", cctDuv: "kelvin and Duv", holdOwnColor: "hold its colour",
    setUp: "set-up",
  acesCct: "ACEScct", acesAp0: "ACES AP0", acesAp1: "ACES AP1", primariesXY: "primaries in x y",
  sRGB: "sRGB", bt1886: "BT.1886", bt709: "BT.709", bt2020: "BT.2020", p3D65: "P3 D65", pq: "PQ", hlg: "HLG", whiteMode: "white is set by",
};

/** spoken says a name of the table in words: "tintPerKelvin" is "tint per kelvin". */
export const spoken = (name: string): string =>
  spokenNames[name] ?? name.replace(/([a-z])([A-Z])/g, (_, a: string, b: string) => `${a} ${b.toLowerCase()}`).replaceAll("color",
    "colour");

/** labelOf is the label of a field by its name in an edit: "rigged/dialKelvin", "tint.min". */
export const labelOf = (name: string): string => upper(spoken(name.split(/[/.]/).at(-1) ?? name));

export const choiceWords = (choice: string): string => spoken(choice);

export const mayNot = "This phone may look. The owner can change that.";

export const states = {
  reading: "It is being read.",
  noSetUp: "No set-up yet.",
  olderDays: "Older days are still being read; learnt values may move.",
};

export const intents: Record<string, string> = { match: "match", holdOwnColor: "own colour", leave: "left as it is" };

export const lights = {
  title: (setUp: string) => `Lights of ${setUp}`,
  whichSetUp: "Which set-up",
  add: "Add light",
  change: "Change",
  none: "No light yet",
  picture: "Picture",
  measure: "Measure",
  gelIsOn: "Gel is on",
  dialled: "Dialled",
  dial: (kelvin?: number, greenMagenta?: number) =>
    [kelvin === undefined ? "" : `${kelvin} K`, greenMagenta === undefined ? "" : `tint ${greenMagenta > 0 ? "+"
      : ""}${greenMagenta}`].filter(Boolean).join(", "),
  switchedOff: "Switched off",
  readIt: "Read it",
  notRead: "not read yet",
  readAgain: "read it again",
  onTheWhite: "on the white",
  then: (off: string) => `then ${off}`,
  loses: (stops: number) => `loses ${stops} ${stops === 1 ? "stop" : "stops"}`,
};

export const takes = {
  title: "Takes",
  none: "No take yet.",
  next: "Next take",
  noGood: "No good",
  good: "Good",
  isNoGood: "No good",
  wanted: "Wanted",
  change: "Change",
  which: "Which takes",
  by: { day: "Day", scene: "Scene", camera: "Camera" },
  onlyOff: "Only off",
  noName: "no name",
  columns: ["take", "clip", "timecode", "set to", "settings are", "verdict", "picture"],
  up: "Row up",
  down: "Row down",
  open: "Open",
  find: "Find",
  nextIs: (setUp: string, number: string) => `${setUp}, take ${number}`,
  isLogged: "It is logged. Press again for the next one.",
  asked: "Asked",
  asks: (by: string) => `${by || "Somebody"} asks`,
  answer: "Answer",
};

const knownHow: Record<string, string> = { carriedOver: "carried over", readOff: "read off", fromFile: "from the file" };

export const knownHowOf = (settingsAre: string): string => knownHow[settingsAre] ?? settingsAre;

/** howKnown says how the settings of a clip are known. */
export const howKnown = (settingsAre: string, at?: string): string =>
  settingsAre === "readOff" && at ? `read off ${clock(at)}` : knownHow[settingsAre] ?? settingsAre;

export const clipWords = (c: { setting: { words: string }; settingsAre: string; readOffAt?: string }): string =>
  `${c.setting.words}, ${howKnown(c.settingsAre, c.readOffAt)}`;

export const form = {
  reading: "The form is being read.",
  optional: "may be left out",
  carried: "carried over",
  needed: "This is needed.",
  now: "Now",
  none: "none",
  newOne: "new",
  addOne: "Add one",
  turnSign: "turn the sign",
  item: (n: string) => `number ${n}`,
  takeOut: (n: number) => `Take out ${n}`,
  more: (n: number) => `${n} more`,
  noNumber: (text: string) => `“${text}” is no number yet. Nothing is lost: correct it or press Back.`,
  fault: (value: string, allowed: string) => `${value} cannot be; allowed is ${allowed}. Nothing is lost: correct it or press Back.`,
  range: (min?: string, max?: string, usualMin?: string, usualMax?: string) => {
    if (usualMin !== undefined || usualMax !== undefined) return `mostly ${usualMin ?? min} to ${usualMax ?? max}`;
    return min === undefined && max === undefined ? "" : `${min ?? ""} to ${max ?? ""}`;
  },
};

export const settle = {
  which: "Which questions",
  choose: (n: number) => `Choose ${n}`,
  off: (n: number) => `Off ${n}`,
  accepted: (n: number) => `Accepted ${n}`,
  chooseTitle: "Choose",
  offTitle: "What is off",
  acceptedTitle: "Accepted",
  nothingWaits: "Nothing waits.",
  nothingOff: "Nothing is off.",
  noneAccepted: "Nothing was accepted.",
  where: (setUp: string, here: boolean) => (here ? `${setUp}, here` : setUp),
  because: (reason: string, by: string) => `${reason}: ${by}`,
  goThere: "Go there",
  there: { lights: "lights", now: "Now", takes: "takes" },
  why: "Why",
  accept: "Accept",
  takeBack: "Take back",
  apart: (kind: string, n: number) => `${n === 2 ? "Two" : n} ${kind}s, chosen apart`,
  oneOrTwo: (name: string, kind: string, n: number) => `${name ? `${upper(name)}: one` : "One"} ${kind} or ${n === 2 ? "two" : n}?`,
  struckOrNot: (name: string) => `${name}: struck out here, changed there`,
  notLogged: (what: string) => `${what}: pressed, and not logged`,
  keptHere: "It is kept on this phone. Put right what it lacks, then try again; or give it up.",
  giveUp: "Give up",
  tryAgain: "Try again",
  kept: (kind: string) => `A ${kind} entry is kept and changes nothing`,
  or: (field: string, values: string[]) => `${field} ${values.join(" or ")}?`,
  nothing: "nothing",
  yes: "yes",
  no: "no",
  another: "another record",
  notKnown: "not known",
  asItIs: "as it is",
  thenDial: "then dial",
  when: (at: string | number, here: boolean, by?: string) => `${by ? `${by} ` : ""}${clock(at)}, ${here ? "this phone" : "another phone"}`,
  countsMeanwhile: (white: string) => `${white} counts until you choose. All stay in the history.`,
  firstCounts: "The first counts until you choose. All stay in the history.",
  changesNothing: "Kept, changes nothing",
  use: (value: string) => `Use ${value}`,
  struckOut: "Struck out",
  stays: "Stays",
  strikeOut: "Strike out",
  keepIt: "Keep it",
  twin: { one: (kind: string) => `One ${kind}`, two: (kind: string) => `Two ${kind}s` },
  discard: "Discard",
  correct: "Correct",
};

/** sizeWords says how large something is, with its units; found, to which side it lies too, which a limit does not. */
export const sizeWords = (s: { mired?: number; duv?: number; steps?: number; minutes?: number }, found = false): string => [
  s.mired === undefined ? "" : `${Math.abs(s.mired)} mired${found && s.mired ? s.mired > 0 ? " warmer" : " cooler" : ""}`,
  s.duv === undefined ? "" : `Duv ${Math.abs(s.duv).toFixed(4)}${found && s.duv ? s.duv > 0 ? " greener" : " more magenta" : ""}`,
  s.steps === undefined ? "" : `${s.steps} steps`, s.minutes === undefined ? "" : `${s.minutes} min`,
].filter(Boolean).join(", ");

export const why = {
  title: "Why",
  back: "Back",
  goThere: "Go there",
  gone: "It is no longer off.",
  also: "From the same cause",
  found: "found",
  limit: "limit",
  against: "against",
  accepted: (by: string, reason: string) => `Accepted by ${by}: ${reason}`,
};

export const accept = {
  title: "Accept",
  back: "Back",
  accept: "Accept",
  gone: "It is no longer off.",
  by: (who: string) => (who ? `${who} says so` : "Say who holds this phone: Hand over"),
  reach: "How far",
  scopes: { clip: "this clip", fromTakeOn: "from this take on", setUp: "set-up", scene: "scene", day: "day" },
  ceiling: "Told again above",
  reason: "Reason",
  reasons: ["it is meant so", "wanted by the light", "not in the picture", "corrected in post"],
};

export const correct = { title: "Correct", back: "Back", save: "Save" };

export const picture = {
  title: (setUp: string) => (setUp ? `Pictures of ${setUp}` : "Pictures"),
  which: "Which picture",
  back: "Back",
  plane: "Colours",
  drift: "Over time",
  swatches: "As seen",
  table: "The same facts as a table",
  mark: "mark",
  colour: "colour",
  off: "off",
  light: "light",
  at: "at",
  seenBy: "seen by",
};

export const take = {
  title: "Take",
  back: "Back",
  gone: "This take is not here.",
  camera: (letter: string) => `Camera ${letter}`,
  noName: "no name",
  moreOf: (letter: string) => `More of ${letter}`,
  moreOfTake: "More of the take",
  ended: "How it ended",
  states: { complete: "good", noGood: "no good", falseStart: "false start", numberUsedAgain: "number used again" } as Record<string,
    string>,
  wanted: "Wanted",
  notWanted: "Not wanted",
  noGood: "No good",
  good: "Good",
  history: "History",
  historyOf: (field: string) => `History of ${field.toLowerCase()}`,
  historyOfAll: "History of the take",
  step: (by: 1 | -1, n: number) => `${by > 0 ? "+" : "−"} ${Number(n.toFixed(2))}`,
  stepTo: (step: string, dial: string, to: number) => `${step}: ${dial.toLowerCase()} ${to}`,
  dialOf: (letter: string, dial: string) => `${dial} of ${letter}`,
  small: (letter: string, dial: string) => (dial === "kelvin" ? `${letter} was at` : spoken(dial)),
  value: (dial: string, text: string) => (dial === "kelvin" ? `${text} K` : text.startsWith("-") || text === "0" ? text.replace("-", "−")
    : `+${text}`),
};

export const record = {
  back: "Back",
  strike: "Strike out",
  restore: "Bring back",
  isStruck: "Struck out",
  isBack: "Brought back",
  nobody: "nobody named",
  from: (here: boolean) => (here ? "this phone" : "another phone"),
  afterClosing: "after the day was closed",
  setBack: "Set back to this",
};

export const light = {
  add: "Add light",
  change: "Change the light",
  back: "Back",
  save: "Save",
  question: "When was it so",
  wasItSo: (fields: string) => `${fields}: nobody had said it before.`,
  soItWas: (at: string) => `So it was at ${at}`,
  turnedSince: "Turned since",
  stoodAt: (field: string, at: string) => `${field} stood at, at ${at}`,
  elseRead: "Where nobody knows it, read the light again: until then its last reading is taken as true.",
};

export const who = {
  mostly: "On this set I mostly",
  starts: {
    takes: ["log takes", "starts at Now"], camera: ["run a camera", "starts at my camera"], lights: ["do lights", "starts at Lights"],
      look: ["look", "starts at Now"],
  } as Record<"takes" | "camera" | "lights" | "look", [string, string]>,
  whichCamera: "Which camera",
  hand: "Hand",
  right: "Right hand",
  left: "Left hand",
  theme: "Theme",
  dark: "Dark stage",
  bright: "Noon sun",
  night: "Night",
  holds: "Who holds this phone",
  nobody: "Nobody is named: what is entered here says nobody.",
  another: "Another name",
  isHolder: "Holds it",
};

export const first = {
  title: "evenwhite",
  what: "keeps the white of every take",
  code: "Code from the paper or the laptop",
  scanned: "The code was scanned.",
  eight: "The code has eight letters. Nothing is lost: type the rest.",
  holds: "Who holds this phone",
  example: "DIT, gaffer, a name",
  label: (by: string) => (by.trim() ? `phone of ${by.trim()}` : ""),
  pair: "Pair",
  back: "Back",
  around: "Look around",
  aroundIs: "Look around: an invented production, marked and removable.",
  wait: "The server is asked.",
  refused: (why: string) => `${why}. Nothing is lost.`,
  unreachable: "The server does not answer. Nothing is lost: be in its network, and try again.",
};

export const handover = {
  title: "Hand over",
  where: "Where the data is",
  states: {
    revoked: () => "An owner revoked this phone. What it holds stays here: save it as a file, and pair again.",
    unpaired: () => "Only on this phone.",
    notSetUp: () => "The app itself is not kept yet: without the network it would not open.",
    old: (n: number) => `${n} on this phone alone for more than ten minutes.`,
    here: (n: number) => `${n} on this phone, to be sent.`,
    sent: () => "Everything is on the server, and here.",
  } satisfies Record<StatusState, (n: number) => string>,
  notKept: "This browser may clear what is kept here when room is short. Install the app, or send often.",
  kept: "This browser keeps what is here until somebody removes it.",
  takeVersion: "Take the new version",
  productions: "Production",
  untitled: "without a title",
  invented: "invented",
  removeInvented: "Remove the invented one",
  prep: "Prep",
  asFile: "Save as file",
  send: "Send now",
  pair: "Pair",
};

export const wrap = {
  title: "End of the day",
  look: "What is open",
  asks: "The server is asked.",
  open: (n: number) => (n === 0 ? "Nothing is open." : n === 1 ? "1 thing is open." : `${n} things are open.`),
  asOf: (of: string, at: string, closed: boolean) => `${of}, ${closed ? "closed" : "not closed"}, as of ${at}.`,
  sheets: "Sheets",
  why: "Pages of the server, for the screen and for paper.",
  rebuild: (setUp: string) => `${setUp} to rebuild`,
  rigging: "Rigging list",
  scene: "Scene side by side",
};

export const files = {
  title: "For post, and by hand",
  why: "The colour log is the server's, and so is the bundle while it answers; else the bundle is all that this phone holds.",
  which: "Of which days",
  allDays: "All days",
  thisDay: "This day",
  colorLog: "Colour log",
  xlsx: "XLSX",
  json: "JSON",
  zip: "All as zip",
  bundleThere: "From the server: what all phones sent.",
  bundleHere: "From this phone: what it holds. The server was not asked, or does not answer.",
  bundle: "Bundle",
  takeIn: "Take in a bundle",
  noBundle: (name: string) => `${name} is no bundle of this program.`,
  taken: (all: number, fresh: number) => `${all} entries, ${fresh} of them new here.`,
  unreachable: "The server does not answer. Nothing is lost: be in its network, and try again.",
  refused: (why: string) => `It was not done: ${why}. Nothing is lost.`,
};

export const server = {
  devices: "Devices",
  thisPhone: "(this one)",
  mayDo: "The next one may",
  roles: { editor: "write", reader: "look", post: "finish", owner: "own" } as Record<string, string>,
  invite: "Invite",
  inviteTitle: "Let another phone in",
  rolesAre: {
    editor: "writes: takes, readings, whites", reader: "looks and writes nothing", post: "finishes the picture: looks, and writes notes",
    owner: "owns this production: invites and revokes too",
  } as Record<string, string>,
  back: "Back",
  goodUntil: (at: string) => `good once, until ${at}`,
  scanIt: "Scan it with a phone that trusts the server already, or type the letters there.",
  typeIt: "Type it on a phone that trusts the server already.",
  revoke: "Revoke",
  revokeOf: (label: string) => `Revoke ${label}`,
  revoked: "revoked",
  seen: (at: string) => `heard at ${at}`,
  notSeen: "not heard yet",
  unsent: (n: number) => `${n} not sent`,
  backups: "Backups",
  backUp: "Back up now",
  noBackup: "There is none yet.",
  lastBackup: (date: string, at: string, size: string, check: string) => `The last is of ${date}, ${at}, ${size} MB, check ${check}.`,
};

export const production = {
  title: "New production",
  what: "It begins on this phone and is sent to the server as all entries are. Whom you invite to it sees it then.",
  back: "Back",
  begin: "Begin",
  add: "New production",
  none: "No production yet",
  noneYet: "The server has none. Begin one here: its title, then the day, a body and a camera.",
  look: "Look again",
  stillNone: "There is none for this phone yet.",
  rule: "An owner of the server begins productions. This phone writes in those that it was invited to.",
};

export const prep = {
  title: "Prep",
  which: "Which kind",
  kinds: {
    production: "Production", day: "Days", scene: "Scenes", setUp: "Set-ups", body: "Bodies", camera: "Cameras", lamp: "Lamps",
      gel: "Gels", meter: "Meters",
  },
  none: (kind: string) => `No ${kind} yet.`,
  add: (kind: string) => `Add ${kind}`,
  change: (kind: string) => `Change ${kind}`,
  copy: "Copy",
  history: "History",
  swap: "A swapped body: pick it under body, with the time since when it fills the letter.",
  save: "Save",
  back: "Back",
};

export const find = {
  title: "Find a clip",
  label: "Clip name or timecode",
  find: "Find",
  back: "Back",
  none: "No clip is all of this.",
  says: "The beginning of a name; * stands for any letters and ? for one; or a timecode, or two with / between.",
  exactly: "Exactly",
  by: { camera: "Camera", day: "Day", scene: "Scene", take: "Take", deviation: "Off by", least: "How far" },
  leastSays: "Off by so much at least; the server looks it up",
  unit: "Unit",
  filters: "Only clips",
  more: "Filters",
  takeNumber: "Number and suffix of the take",
  and: (n: number) => `and ${n} more: ask for less`,
  takeOf: (takes: string) => `take ${takes}`,
  elsewhere: (why: string) => `Nothing could be looked up: ${why}. Nothing is lost.`,
  deviation: (kind: string) => kind.replaceAll("-", " ").replace("color", "colour"),
};

export const clip = {
  title: "Clip",
  nobody: "nobody named",
  pick: "Pick a row, or type the beginning of a clip's name above.",
  of: (name: string) => `Clip ${name}`,
  noName: "no name",
  where: (setUp: string, take: string, letter: string) => `${setUp}, ${take}, camera ${letter}`,
  timecode: (start?: string, end?: string) => (start && end ? `${start} to ${end}` : start ?? ""),
  onAim: "on its aim",
  notKnown: "not known",
  setTo: "set to",
  shouldBe: "should be",
  light: "light",
  file: "file",
  whiteIn: (how: string) => ({ baked: "white baked in", storedBeside: "white stored beside",
    free: "white free to change" } as Record<string, string>)[how] ?? how,
  correction: "Correction",
  toIntent: (takes?: string) => `to intent, ${({
    codeRatio: "code ratios", slope: "slopes", offset: "offsets", stops: "stops", kelvin: "white" } as Record<string,
      string>)[takes ?? ""] ?? "none"}`,
  lifts: "Colours clipped highlights",
  copy: "Copy ratios",
  copied: "Copied",
  question: "What post wants to know",
  ask: "Ask set",
  open: "not answered",
  answer: "Answer",
};
