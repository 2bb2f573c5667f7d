// One exchange of edits with the server, in rows, until there is no more.
import { frames, parseDot, type Dot } from "../capture";
import type { Asked, Taken, Verdict } from "../engine/answers.gen";
import { EngineFault, EngineGone } from "../engine";
import { StoreFault, type Store } from "../store";
import type { Book } from "../engine/book";
import { packed } from "./packed";
import { Refused, within, type Server } from "./server";

const rows = "application/vnd.evenwhite.rows";
const mostEdits = 500;

/** So often in a row it goes on where nothing came and nothing went, as while a long list is told in parts. */
const mostIdle = 8;

/** How long one request may take: a phone that walked out of the network is told by nobody. */
const patience = 60_000;

export interface Exchanged {
  /** offsetMs is the clock of the server, less this phone's. */
  offsetMs: number | undefined;
  marks: readonly Verdict[];
  /** lineOver says that somebody else wrote under this start's line: another is to be drawn. */
  lineOver: boolean;
  /** looksOnly says that this phone may not write there. */
  looksOnly: boolean;
  /** aside are edits that the server cannot take. */
  aside: readonly Dot[];
}

export interface Line { production: string; log: string | undefined; line: string }

/** exchange sends what no log is known to hold and takes what is new. It throws Refused, Unreachable or StoreFault. */
export async function exchange(book: Book, store: Store, server: Server, of: Line): Promise<Exchanged> {
  const out = { offsetMs: undefined as number | undefined, marks: [] as Verdict[], lineOver: false, looksOnly: false, aside: [] as Dot[] };
  let log = of.log, most = mostEdits, whole = false, before = Infinity, idle = 0;
  const ask: Book["ask"] = (...question) => {
    if (book.production !== of.production) throw new EngineGone("another production was opened");
    return book.ask(...question);
  };
  for (;;) {
    const { text, bytes } = await ask("request", { ...(log && { log }), most, whole });
    const brings = (JSON.parse(text) as Asked).edits, body = bytes!;
    const kept = most === 1 ? body.slice() : undefined; // of one that may have to be set aside
    let answer: { bytes: Uint8Array<ArrayBuffer>; offsetMs: number | undefined };
    try {
      answer = await sent(server, of.production, body);
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      if (e.status === 409 && e.type === "records-wanted" && !whole) whole = true;
      else if (e.status === 403 && brings > 0) {
        out.looksOnly = true;
        most = 0;
      } else if ((e.status === 413 || e.status === 400) && brings > 1) most = Math.floor(brings / 2);
      else if ((e.status === 413 || e.status === 400) && brings === 1 && kept) {
        out.aside.push(onlyDot(new TextDecoder().decode(kept)));
        most = 0;
      } else if ((e.status === 413 || e.status === 400) && brings === 1) most = 1;
      else if (e.status === 400 && log !== undefined) log = undefined;
      else throw e;
      continue;
    }
    whole = false;
    out.offsetMs = answer.offsetMs ?? out.offsetMs;
    let taken: { text: string; bytes?: Uint8Array<ArrayBuffer> };
    try {
      taken = await ask("answer", { line: of.line }, answer.bytes);
    } catch (e) {
      if (!(e instanceof EngineFault) || e.type !== "records-wanted" && e.type !== "not-rows" || whole) throw e;
      whole = true; // it is asked again, from the same place, with every record written
      continue;
    }
    const told = JSON.parse(taken.text) as Taken, holds = book.holds;
    const [known, edits] = frames(taken.bytes!);
    const fresh = frames(edits!);
    try {
      await store.keep(of.production, fresh, { log: { log: told.log, known: known! } });
    } catch (e) {
      // The engine must not know what the phone does not have.
      if (e instanceof StoreFault && book.production === of.production) await book.again();
      throw e;
    }
    log = told.log;
    out.lineOver ||= told.lineOver;
    out.marks.push(...told.marks);
    book.took(of.production, told, { changed: told.new > 0 || brings > 0, holds });
    const moved = told.new > 0 || told.unsent < before;
    idle = moved ? 0 : idle + 1;
    // The engine says more while it holds anything that the log lacks, also where nothing of that may go, or can be stored now.
    if (most === 0 ? told.new === 0 : told.more ? idle > mostIdle : told.unsent === 0 || !moved) return out;
    before = told.unsent;
  }
}

async function sent(server: Server, production: string, body: Uint8Array<ArrayBuffer>) {
  const { body: small, headers } = await packed(body);
  const before = Date.now();
  const bytes = await within(patience, async (signal) => {
    const answer = await server.ask("POST", `/v1/productions/${production}/exchange`, {
      body: small, headers: { "Content-Type": rows, Accept: `${rows};knows=aside+mark`, ...headers }, signal,
    });
    return new Uint8Array(await answer.arrayBuffer());
  });
  const said = /^\["now",(\d+)\]$/m.exec(new TextDecoder().decode(bytes.subarray(0, 512)))?.[1];
  return { bytes, offsetMs: said === undefined ? undefined : Number(said) - Math.round((before + Date.now()) / 2) };
}

/** onlyDot is the dot of the one edit that a request in rows brings. */
function onlyDot(text: string): Dot {
  const lines: string[] = [];
  for (const row of text.split("\n")) {
    if (row === "") continue;
    const [name, first, n] = JSON.parse(row) as [unknown, string | number, number];
    if (name === "line") lines.push(first as string);
    if (name === "in") return parseDot(`${lines[first as number]}.${n}`);
  }
  throw new RangeError("the request brings no edit");
}
