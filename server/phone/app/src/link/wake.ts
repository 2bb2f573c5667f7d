// The server says when there is something new: a stream of events, read by fetch, because an
// EventSource cannot show a proof.
import type { Server } from "./server";

/** listen calls onNew for each event until the stream ends. */
export async function listen(server: Server, production: string, signal: AbortSignal, onNew: () => void): Promise<void> {
  const answer = await server.ask("GET", `/v1/productions/${production}/events`, { headers: { Accept: "text/event-stream" }, signal });
  const reader = answer.body!.pipeThrough(new TextDecoderStream()).getReader();
  for (let text = ""; ;) {
    const { done, value } = await reader.read();
    if (done) return;
    text += value;
    const events = text.split("\n\n");
    text = events.pop()!;
    if (events.some((e) => /^data: new$/m.test(e))) onNew();
  }
}
