// Finds clips over the records that the engine lists, as the service finds them: what was typed is
// compared, nothing is computed of colours.
import type * as answers from "../engine/answers.gen";
import { anywhere, dayOf, rateOf, spanOf } from "./timecode";
import { deviationKinds, fits, mostFound, type ClipList, type ClipQuery, type ListedClip } from "./query";

/** Ask asks the engine. */
export type Ask = <T>(name: string, message: object) => Promise<T>;

interface ClipRecord {
  id: string; camera?: string; body?: string; setUp?: string; card?: string; startedAt?: string; madeAt?: string;
  name?: { text?: string }; timecode?: { start?: string; end?: string; rate?: string; drop?: boolean }; takes?: Record<string, unknown>;
}
type Deviation = Pick<answers.Deviation, "kind" | "clips" | "takes" | "cameras" | "also">;
interface Found { at: number; clip: ListedClip; record: ClipRecord }
type Record_ = { id: string } & Record<string, unknown>;

/** CannotAsk says what is wrong with a query. */
export class CannotAsk extends Error {}

const page = 500;

/** all lists the records of a kind. */
async function all<T>(ask: Ask, kind: string, of: object = {}): Promise<T[]> {
  const out: T[] = [];
  for (let cursor: string | undefined; ;) {
    const { records, next } = await ask<{ records: T[]; next?: string }>("list", { kind, ...of, limit: page, ...(cursor && { cursor }) });
    out.push(...records);
    if (!next) return out;
    cursor = next;
  }
}

/** Named are records by id. One that is not listed, as a twin that was joined, is asked for by itself. */
class Named {
  readonly #ask: Ask;
  readonly #kind: string;
  readonly #known = new Map<string, Record_ | undefined>();
  constructor(ask: Ask, kind: string) {
    this.#ask = ask;
    this.#kind = kind;
  }

  async of(id: unknown): Promise<Record_ | undefined> {
    if (typeof id !== "string") return undefined;
    if (this.#known.size === 0) for (const r of await all<Record_>(this.#ask, this.#kind)) this.#known.set(r.id, r);
    if (!this.#known.has(id)) {
      const told = await this.#ask<{ record: Record_ }>("record", { kind: this.#kind, record: id }).then((a) => a.record, () => undefined);
      this.#known.set(id, told);
    }
    return this.#known.get(id);
  }
}

const text = (v: unknown): string => (v === undefined || v === null ? "" : String(v));

export class Finder {
  readonly #ask: Ask;
  readonly #of: Record<"camera" | "setUp" | "scene" | "day" | "take", Named>;
  /** #clips are the clips of a set-up, a day, or all: read once. */
  readonly #clips = new Map<string, Promise<ClipRecord[]>>();
  readonly #off = new Map<string, Promise<Deviation[]>>();
  #rate: { name: string; drop: boolean } = { name: "", drop: false };
  #next: Map<string, string> | undefined;

  constructor(ask: Ask) {
    this.#ask = ask;
    const of = (kind: string) => new Named(ask, kind);
    this.#of = { camera: of("camera"), setUp: of("setUp"), scene: of("scene"), day: of("day"), take: of("take") };
  }

  /** find lists the clips that are all of what is asked, by time, then by camera. */
  async find(q: ClipQuery): Promise<ClipList> {
    check(q);
    if (q.timecodeFrom) {
      const [p] = await all<Record_>(this.#ask, "production");
      this.#rate = { name: text(p?.["frameRate"]), drop: p?.["dropFrame"] === true };
    }
    const found: Found[] = [];
    for (const c of await this.#listed({ ...(q.setUp && { setUp: q.setUp }), ...(q.day && { day: q.day }) })) {
      const clip = await this.#judged(c, q);
      if (clip) found.push({ at: Date.parse(c.startedAt ?? c.madeAt ?? "") || 0, clip, record: c });
    }
    const kept = q.deviation ? await this.#deviating(found, q.deviation) : found;
    const letter = (k: (typeof kept)[number]): string => k.clip.camera ?? "";
    kept.sort((a, b) => a.at - b.at || (letter(a) < letter(b) ? -1 : letter(a) > letter(b) ? 1 : 0));
    const more = kept.length - mostFound;
    return { clips: kept.slice(0, mostFound).map((k) => k.clip), ...(more > 0 && { more }) };
  }

  #listed(of: object): Promise<ClipRecord[]> {
    const scope = JSON.stringify(of), clips = this.#clips.get(scope) ?? all<ClipRecord>(this.#ask, "clip", of);
    this.#clips.set(scope, clips);
    return clips;
  }

  /** #judged looks at the cheapest first. */
  async #judged(c: ClipRecord, q: ClipQuery): Promise<ListedClip | undefined> {
    const name = c.name?.text ?? "", { start = "", end = "" } = c.timecode ?? {};
    if (q.name && !fits(q.name, name)) return undefined;
    const begins = (b: string): boolean => name.toLowerCase().startsWith(b.toLowerCase()) || b.includes(":") && start.startsWith(b);
    if (q.begins && !begins(q.begins)) return undefined;
    if (q.card && q.card !== c.card) return undefined;
    const camera = text((await this.#of.camera.of(c.camera))?.["letter"]);
    if (q.camera && q.camera !== camera) return undefined;
    const setUp = await this.#of.setUp.of(c.setUp), scene = text((await this.#of.scene.of(setUp?.["scene"]))?.["name"]);
    if (q.scene && q.scene !== scene) return undefined;
    if (q.timecodeFrom && !await this.#holds(c, q.timecodeFrom, q.timecodeTo || q.timecodeFrom)) return undefined;
    const takes: string[] = [];
    for (const id of Object.keys(c.takes ?? {}).sort()) {
      const take = await this.#of.take.of(id);
      if (take) takes.push(text(take["number"]) + text(take["suffix"]));
    }
    if (q.take && !takes.includes(q.take)) return undefined;
    const said = { name, camera, card: c.card ?? "", day: text((await this.#of.day.of(setUp?.["day"]))?.["number"]), scene,
      setUp: text(setUp?.["name"]), setUpRecord: c.setUp ?? "", timecodeStart: start, timecodeEnd: end };
    return { clip: c.id, ...Object.fromEntries(Object.entries(said).filter(([, v]) => v !== "")), ...(takes.length > 0 && { takes }) };
  }

  /**
   * #holds: a clip without an end goes on to where the next of its body begins; after the last one nobody knows, so
   * that it is one frame.
   */
  async #holds(c: ClipRecord, from: string, to: string): Promise<boolean> {
    const { start, end, rate, drop } = c.timecode ?? {}, r = rateOf(rate ?? this.#rate.name, drop ?? this.#rate.drop);
    if (!start || !r) return false;
    const asked = spanOf(r, from, to), runs = spanOf(r, start, end ?? (await this.#follows()).get(c.id) ?? start);
    if (!asked || !runs) return false;
    const day = dayOf(r), after = (a: number, b: number) => ((a - b) % day + day) % day;
    return after(asked.from, runs.from) <= runs.frames || after(runs.from, asked.from) <= asked.frames;
  }

  /** #follows says of each clip where the next one of its body begins. */
  async #follows(): Promise<Map<string, string>> {
    if (this.#next) return this.#next;
    const next = new Map<string, string>(), of = Map.groupBy((await this.#listed({})).filter((c) => c.timecode?.start), (c) => c.body);
    for (const clips of of.values()) {
      clips.sort((a, b) => Date.parse(a.startedAt ?? a.madeAt ?? "") - Date.parse(b.startedAt ?? b.madeAt ?? ""));
      for (const [i, c] of clips.entries()) {
        const start = clips[i + 1]?.timecode?.start;
        if (start) next.set(c.id, start);
      }
    }
    this.#next = next;
    return next;
  }

  /** #deviating keeps the clips at which a deviation, or what follows from its cause, is of the kind. */
  async #deviating(found: readonly Found[], kind: string): Promise<Found[]> {
    const kept: Found[] = [], isOf = (d: Deviation): boolean => d.kind === kind || (d.also ?? []).some((a) => a.kind === kind);
    for (const f of found) {
      const setUp = f.clip.setUpRecord, off = setUp ? await this.#offIn(setUp) : [];
      if (off.some((d) => isOf(d) && isAt(d, f.record))) kept.push(f);
    }
    return kept;
  }

  /** #offIn is what is off in a set-up: asked for once. */
  #offIn(setUp: string): Promise<Deviation[]> {
    const off = this.#off.get(setUp) ?? this.#ask<{ deviations: Deviation[] }>("deviations", { setUp }).then((a) => a.deviations);
    this.#off.set(setUp, off);
    return off;
  }
}

/** isAt: a deviation of clips lists them; one of takes is at all clips of its cameras in them. */
function isAt(d: Deviation, c: ClipRecord): boolean {
  if (d.clips?.length) return d.clips.includes(c.id);
  const takes = Object.keys(c.takes ?? {});
  return (d.takes ?? []).some((t) => takes.includes(t)) && (!d.cameras?.length || d.cameras.includes(c.camera ?? ""));
}

function check(q: ClipQuery): void {
  const wrong = (field: string, value: string, allowed: string): CannotAsk =>
    new CannotAsk(`${field} is ${JSON.stringify(value)}; allowed is ${allowed}`);
  if (q.timecodeTo && !q.timecodeFrom) throw wrong("timecodeTo", q.timecodeTo, "together with timecodeFrom");
  for (const name of ["timecodeFrom", "timecodeTo"] as const) {
    const value = q[name];
    if (value && !anywhere(value)) throw wrong(name, value, "a timecode hh:mm:ss:ff that is at some rate");
  }
  if (q.deviation && !deviationKinds.some((k) => k === q.deviation)) throw wrong("deviation", q.deviation, "a kind of deviation");
}
