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

// Each request shows that it comes from the holder of the key (RFC 9449); the first learns the nonce.
let key, nonce;

const proof = async (method, path, token) => {
  const utf8 = (text) => new TextEncoder().encode(text);
  const base64url = (bytes) => btoa(String.fromCharCode(...new Uint8Array(bytes))).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=",
    "");
  const { kty, crv, x, y } = await crypto.subtle.exportKey("jwk", key.publicKey);
  const said = [{ typ: "dpop+jwt", alg: "ES256", jwk: { kty, crv, x, y } }, {
    jti: base64url(crypto.getRandomValues(new Uint8Array(16))), htm: method, htu: location.origin + path,
      iat: Math.floor(Date.now() / 1000), nonce,
    ath: token && base64url(await crypto.subtle.digest("SHA-256", utf8(token))),
  }].map((part) => base64url(utf8(JSON.stringify(part)))).join(".");
  return `${said}.${base64url(await crypto.subtle.sign({ name: "ECDSA", hash: "SHA-256" }, key.privateKey, utf8(said)))}`;
};

const ask = async (method, path, token, body) => {
  for (let again = true; ; again = false) {
    const answer = await fetch(path, {
      method, headers: {
        "Content-Type": "application/json", DPoP: await proof(method, path, token), ...(token && { Authorization: `DPoP ${token}` }),
      },
      body: body && JSON.stringify(body),
    });
    const said = await answer.json();
    nonce = answer.headers.get("DPoP-Nonce") ?? nonce;
    if (answer.ok) return said;
    if (!again || answer.status !== 401) throw new Error(`${path}: ${answer.status} ${JSON.stringify(said)}`);
  }
};

const first = async ({ code }) => {
  key = await crypto.subtle.generateKey({ name: "ECDSA", namedCurve: "P-256" }, false, ["sign", "verify"]);
  const { token, device } = await ask("POST", "/v1/pairing", null, { code, label: "phone" });
  const { id } = await ask("POST", "/v1/productions", token,
    { title: "Gauge Row", timeZone: "Europe/Berlin", frameRate: "25", gelFamily: "based5500" });
  const unsent = {
    production: id, kind: "note", record: "01a212d6-9f19-7f2b-a888-000000000001", device, line: "00c0ffee00c0ffee", n: 1,
    at: new Date().toISOString(), offsetMs: 0, by: "phone", set: { text: "a bird in the shot" },
  };
  await inStore("readwrite", (store) => store.put({ key, token, unsent }, "all"));
  return { at: location.origin, secure: isSecureContext };
};

const later = async () => {
  const kept = await inStore("readonly", (store) => store.get("all"));
  const { token, unsent } = kept;
  key = kept.key;
  const { answers } = await ask("POST", `/v1/productions/${unsent.production}/exchange`, token, { edits: [unsent] });
  const { text } = await ask("GET", `/v1/productions/${unsent.production}/records/note/${unsent.record}`, token);
  return { at: location.origin, secure: isSecureContext, outcome: answers[0].outcome, text };
};

export default async ({ page, args }) => {
  const failed = await page.goto(`${args.origin}/healthz`).then(() => "", (error) => error.message);
  if (failed) return { refused: /ERR_[A-Z_]+/.exec(failed)?.[0] ?? failed };
  await page.evaluate(`Object.assign(globalThis, { key: undefined, nonce: undefined });
    globalThis.inStore = ${inStore}; globalThis.proof = ${proof}; globalThis.ask = ${ask};`);
  return page.evaluate(args.code ? first : later, args);
};
