// What the phone keeps, and the versions of its form.
import type { PageOf } from "./pages";
import type { DBSchema, IDBPDatabase, IDBPTransaction, StoreNames } from "idb";

/** An edit as it is stored. rank puts what was prepared before what was shot, for reading the newest first. */
export interface EditRow {
  production: string;
  line: string;
  n: number;
  rank: 0 | 1;
  at: number;
  bytes: Uint8Array<ArrayBuffer>;
  /** aside says that no server can take it: it stays here, and the engine is not told of it. */
  aside?: true;
}

/** What the answers of a service taught of its log: the engine reads it, and nobody else. */
export interface LogRow { production: string; log: string; known: Uint8Array<ArrayBuffer> }

/** What a page of edits holds, whose bytes lie beside it (pages.ts). */
export interface PageRow extends PageOf { production: string; n: number }

export interface PageBytesRow { production: string; n: number; bytes: Uint8Array<ArrayBuffer> }

/** The last answer to a question, for the first screen of the next start. */
export interface AnswerRow { production: string; question: string; at: number; text: string; bytes?: Uint8Array<ArrayBuffer> }

/** A message that was pressed, and that the engine has not made edits of yet. */
export interface WaitingRow {
  id?: number;
  production: string;
  name: "event" | "write";
  /** message is without what says who writes. */
  message: string;
  at: number;
  offsetMs: number;
  by: string;
  /** fault says why it became no edits, where it did not. */
  fault?: string;
}

/** NotMade is one that could become no edits. */
export type NotMade = WaitingRow & { id: number; fault: string };

export interface DraftRow { id: string; at: number; value: unknown }

/** A production that is held here. */
export interface ProductionRow {
  id: string;
  title: string;
  /** invented says that it is the one for looking around: it is never sent. */
  invented: boolean;
  /** log is the one that was met last at this origin. */
  log?: string;
  /** unsent is how many of its edits were on this phone alone when it was open last. */
  unsent?: number;
  /** gone says what became of it at the server, in the server's words. */
  gone?: string;
}

export interface Tables extends DBSchema {
  edits: { key: [string, string, number]; value: EditRow; indexes: { newest: [string, number, number, string, number] } };
  lines: { key: string; value: number };
  logs: { key: [string, string]; value: LogRow };
  pages: { key: [string, number]; value: PageRow };
  pageBytes: { key: [string, number]; value: PageBytesRow };
  answers: { key: [string, string]; value: AnswerRow; indexes: { oldest: number } };
  waiting: { key: number; value: WaitingRow };
  drafts: { key: string; value: DraftRow };
  productions: { key: string; value: ProductionRow };
  settings: { key: string; value: unknown };
}

export type Database = IDBPDatabase<Tables>;
type Upgrade = IDBPTransaction<Tables, StoreNames<Tables>[], "versionchange">;

/** The version of the form. A newer program raises it and keeps what is there; an older one then only reads. */
export const version = 3;

export function upgrade(db: Database, from: number, _: number | null, tx: Upgrade) {
  if (from < 1) {
    const edits = db.createObjectStore("edits", { keyPath: ["production", "line", "n"] });
    edits.createIndex("newest", ["production", "rank", "at", "line", "n"]);
    db.createObjectStore("lines");
    db.createObjectStore("logs", { keyPath: ["production", "log"] });
    db.createObjectStore("answers", { keyPath: ["production", "question"] });
    db.createObjectStore("waiting", { keyPath: "id", autoIncrement: true });
    db.createObjectStore("drafts", { keyPath: "id" });
    db.createObjectStore("productions", { keyPath: "id" });
    db.createObjectStore("settings");
  }
  if (from < 2) tx.objectStore("answers").createIndex("oldest", "at");
  if (from < 3) for (const name of ["pages", "pageBytes"] as const) db.createObjectStore(name, { keyPath: ["production", "n"] });
}
