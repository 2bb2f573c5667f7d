// Looking around without pairing: the invented production, taken in as a bundle. It stays on this
// phone, and so does all that is done in it.
import type { ProductionRow } from "../store";

const at = "/look-around/v1/productions";

/** fetched is the invented production that the server hands to everybody. */
export async function fetched(): Promise<{ row: ProductionRow; bundle: Uint8Array<ArrayBuffer> }> {
  const { productions } = await (await got(at)).json() as { productions: { id: string; title?: string }[] };
  const first = productions[0];
  if (!first) throw new Error("the server has no invented production");
  const file = await got(`${at}/${first.id}/bundle`), bundle = new Uint8Array(await file.arrayBuffer());
  return { row: { id: first.id, title: first.title ?? "", invented: true }, bundle };
}

async function got(path: string): Promise<Response> {
  const answer = await fetch(path, { cache: "no-store" });
  if (!answer.ok) throw new Error(`${path} was answered ${answer.status}`);
  return answer;
}
