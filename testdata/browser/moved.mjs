// A phone pairs and logs what it does not send; later, when the server may have another address or
// root, it comes back to the same origin and sends it.
const inStore = (mode, f) => new Promise((done, failed) => {
  const opening = indexedDB.open("phone");
  opening.onupgradeneeded = () => opening.result.createObjectStore("kept");
  opening.onerror = () => failed(opening.error);
  opening.onsuccess = () => {
    const asked = f(opening.result.transaction("kept", mode).objectStore("kept"));
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  };
});

const ask = async (method, path, token, body) => {
  const answer = await fetch(path, {
    method, headers: { "Content-Type": "application/json", ...(token && { Authorization: `Bearer ${token}` }) },
    body: body && JSON.stringify(body),
  });
  const said = await answer.json();
  if (!answer.ok) throw new Error(`${path}: ${answer.status} ${JSON.stringify(said)}`);
  return said;
};

const first = async ({ code }) => {
  const { token, device } = await ask("POST", "/v1/pairing", null, { code, label: "phone" });
  const { id } = await ask("POST", "/v1/productions", token, { title: "Gauge Row", timeZone: "Europe/Berlin", frameRate: "25", gelFamily: "based5500" });
  const unsent = {
    production: id, kind: "note", record: "01a212d6-9f19-7f2b-a888-000000000001", device, line: "00c0ffee00c0ffee", n: 1,
    at: new Date().toISOString(), offsetMs: 0, by: "phone", set: { text: "a bird in the shot" },
  };
  await inStore("readwrite", (store) => store.put({ token, unsent }, "all"));
  return { at: location.origin, secure: isSecureContext };
};

const later = async () => {
  const { token, unsent } = await inStore("readonly", (store) => store.get("all"));
  const { answers } = await ask("POST", `/v1/productions/${unsent.production}/exchange`, token, { edits: [unsent] });
  const { text } = await ask("GET", `/v1/productions/${unsent.production}/records/note/${unsent.record}`, token);
  return { at: location.origin, secure: isSecureContext, outcome: answers[0].outcome, text };
};

export default async ({ page, args }) => {
  const failed = await page.goto(`${args.origin}/healthz`).then(() => "", (error) => error.message);
  if (failed) return { refused: /ERR_[A-Z_]+/.exec(failed)?.[0] ?? failed };
  await page.evaluate(`globalThis.inStore = ${inStore}; globalThis.ask = ${ask};`);
  return page.evaluate(args.code ? first : later, args);
};
