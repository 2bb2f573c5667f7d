// Bodies are sent packed where the browser can pack.

/** packed is a body by gzip, with the header that says so; as it is where the browser cannot. */
export async function packed(body: Uint8Array<ArrayBuffer>): Promise<{ body: Uint8Array<ArrayBuffer>; headers: Record<string, string> }> {
  if (!("CompressionStream" in globalThis)) return { body, headers: {} };
  const stream = new Blob([body]).stream().pipeThrough(new CompressionStream("gzip"));
  return { body: new Uint8Array(await new Response(stream).arrayBuffer()), headers: { "Content-Encoding": "gzip" } };
}
