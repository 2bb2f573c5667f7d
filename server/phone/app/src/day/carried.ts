// Edits carried as a file, for phones that meet no network.
import { framed, frames, hexBytes, hexOf, Writer } from "../capture";
import type { Book } from "../engine/book";
import type { Bundled } from "../engine/answers.gen";
import type { Store } from "../store";

const head = "evenwhite bundle 1\n";
const utf8 = new TextEncoder();

/** productionIn is the production of a bundle, or undefined where the file is none. */
export function productionIn(file: Uint8Array): string | undefined {
  if (file.length < head.length + 16 || new TextDecoder().decode(file.subarray(0, head.length)) !== head) return undefined;
  return hexOf(file.subarray(head.length, head.length + 16)).replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

/** How many edits of a bundle are stored at once: a screen of a long job may ask between two of them. */
const part = 4096;

/**
 * takeIn stores what is new in a bundle of the production that is open, and says how much that was. What was stored before it was ended
 * stays.
 */
export async function takeIn(book: Book, store: Store, production: string, file: Uint8Array<ArrayBuffer>): Promise<Bundled> {
  const { text, bytes } = await book.ask("bundle", {}, file);
  const edits = frames(bytes ?? new Uint8Array());
  for (let from = 0; from < edits.length; from += part) {
    const some = edits.slice(from, from + part);
    await store.keep(production, some);
    await book.handIn(some, false);
  }
  return JSON.parse(text) as Bundled;
}

/** bundleOf is all that is held of a production, or what no log is known to hold, as a file. */
export async function bundleOf(book: Book, title: string, unsent: boolean, at: Date): Promise<File> {
  const { bytes } = await book.ask("bundle", { unsent });
  return new File([bytes!], nameOf(title, at, unsent), { type: "application/octet-stream" });
}

function nameOf(title: string, at: Date, unsent: boolean): string {
  const name = title.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "") || "production";
  const stamp = at.toISOString().slice(0, 16).replace(/[-:]/g, "").replace("T", "-");
  return `${name}-${stamp}${unsent ? "-unsent" : ""}.bundle`;
}

/** bundleWithout makes the same file of all that is stored of a production, where no engine runs. */
export async function bundleWithout(store: Store, production: string, title: string, at: Date): Promise<File> {
  const parts: Uint8Array<ArrayBuffer>[] = [utf8.encode(head), hexBytes(production.replaceAll("-", ""))];
  let chain = new Uint8Array(8), n = 0;
  for await (const { rows } of store.rows(production, 512)) {
    for (const { bytes } of rows) {
      const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)).subarray(0, 16);
      chain = new Uint8Array(await crypto.subtle.digest("SHA-256", new Uint8Array([...chain, ...hash]))).slice(0, 8);
      parts.push(framed([bytes]), chain);
      n++;
    }
  }
  const end = new Writer();
  end.uvarint(0);
  end.uvarint(n);
  return new File([...parts, end.done(), chain], nameOf(title, at, false), { type: "application/octet-stream" });
}

/** handOut shares a file, or saves it where the browser cannot share. */
export async function handOut(file: File): Promise<"shared" | "saved" | "given up"> {
  if (navigator.canShare?.({ files: [file] })) {
    try {
      await navigator.share({ files: [file], title: file.name });
      return "shared";
    } catch (e) {
      if (e instanceof DOMException && e.name === "AbortError") return "given up";
    }
  }
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  return "saved";
}
