// Lives the README's day on a server with types that were generated from the contract
// that the server serves, and nothing else. Its arguments are the server's address and the
// owner's code; it prints what a person would read.
import createClient from "openapi-fetch";
import type { components, paths } from "./contract.js";

declare const process: { argv: string[] };

const [server, code] = process.argv.slice(2);
let token = "";

// The key of this device, which nothing can read out; each request is proven with it (RFC 9449).
const key = await crypto.subtle.generateKey({ name: "ECDSA", namedCurve: "P-256" }, false, ["sign", "verify"]);
const { kty, crv, x, y } = await crypto.subtle.exportKey("jwk", key.publicKey);
let nonce = "";

const base64url = (bytes: ArrayBuffer | Uint8Array) =>
  btoa(String.fromCharCode(...new Uint8Array(bytes))).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
const encoded = (value: object) => base64url(new TextEncoder().encode(JSON.stringify(value)));

async function proof(request: Request): Promise<string> {
  const claims: Record<string, unknown> = {
    jti: crypto.randomUUID(), htm: request.method, htu: request.url.split("?")[0], iat: Math.floor(Date.now() / 1000), nonce,
  };
  if (token !== "") claims.ath = base64url(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(token)));
  const signed = `${encoded({ typ: "dpop+jwt", alg: "ES256", jwk: { kty, crv, x, y } })}.${encoded(claims)}`;
  const signature = await crypto.subtle.sign({ name: "ECDSA", hash: "SHA-256" }, key.privateKey, new TextEncoder().encode(signed));
  return `${signed}.${base64url(signature)}`;
}

// proven sends a request with a proof, and once more where the server wants a newer nonce.
async function proven(asked: Request): Promise<Response> {
  for (let tries = 0; ; tries++) {
    const request = asked.clone();
    request.headers.set("DPoP", await proof(request));
    if (token !== "") request.headers.set("Authorization", `DPoP ${token}`);
    const response = await fetch(request);
    nonce = response.headers.get("DPoP-Nonce") ?? nonce;
    if (response.status !== 401 || tries > 0) return response;
    const problem: components["schemas"]["Problem"] = await response.clone().json();
    if (problem.type !== "urn:evenwhite:problem:nonce") return response;
  }
}

const client = createClient<paths>({ baseUrl: server, fetch: proven });

// wanted is the body of an answer, or what the server says in place of it.
async function wanted<T>(asked: Promise<{ data?: T; error?: components["schemas"]["Problem"]; response: Response }>): Promise<T> {
  const { data, error, response } = await asked;
  if (data === undefined) throw new Error(`the server answers ${response.status}: ${JSON.stringify(error)}`);
  return data;
}

const admission = await wanted(client.POST("/v1/pairing", { body: { code, label: "the generated client" } }));
token = admission.token;

const made = await wanted(client.POST("/v1/productions", {
  body: { title: "The Night Ferry", timeZone: "Europe/Berlin", frameRate: "25", gelFamily: "based5500" },
}));
const production = made.id;
console.log("production:", made.title);
const params = { path: { production } };

const day = await wanted(client.POST("/v1/productions/{production}/records/day", { params, body: { number: 1, date: "2026-11-25" } }));
const body = await wanted(client.POST("/v1/productions/{production}/records/body", {
  params,
  body: {
    label: "1",
    whiteModes: ["kelvin"],
    kelvinRanges: [{ min: 2500, max: 10000, step: 100 }],
    recordingModes: { main: { name: "8-bit", white: "baked" } },
    timecode: "timeOfDay",
  },
}));
const camera = await wanted(client.POST("/v1/productions/{production}/records/camera", {
  params,
  body: { letter: "A", body: { body: body.id } },
}));
const setUp = await wanted(client.POST("/v1/productions/{production}/records/setUp", {
  params,
  body: { day: day.id, name: "1", cameras: { [camera.id]: { inUse: true } } },
}));
const light = await wanted(client.POST("/v1/productions/{production}/records/light", {
  params,
  body: { setUp: setUp.id, name: "window", role: "key" },
}));
const reading = await wanted(client.POST("/v1/productions/{production}/records/reading", {
  params,
  body: {
    setUp: setUp.id,
    measured: { as: "cctDuv", cctKelvin: 5600, duv: 0.003 },
    illuminance: { value: 640, unit: "lux" },
    takenAt: new Date().toISOString(),
    of: { as: "light", light: light.id },
  },
}));
await wanted(client.POST("/v1/productions/{production}/records/white", {
  params,
  body: {
    setUp: setUp.id,
    from: { as: "readings", readings: [{ reading: reading.id }] },
    appliesFrom: { as: "start" },
    decidedBy: "cinematographer",
  },
}));

// What an event makes is told apart by kind.
const events: components["schemas"]["Event"][] = [
  { event: "nextTake", cameras: { [camera.id]: { whiteMode: "kelvin", kelvin: 4300 } } },
  { event: "nextTake" },
];
for (const event of events) {
  const logged = await wanted(client.POST("/v1/productions/{production}/set-ups/{setUp}/events", {
    params: { path: { production, setUp: setUp.id } },
    body: event,
  }));
  for (const record of logged.records) {
    switch (record.kind) {
      case "take":
        console.log("take:", record.number);
        break;
      case "clip":
        console.log("clip:", record.kelvin, record.settingsAre);
        break;
      default:
        throw new Error(`an event made a ${record.kind}`);
    }
  }
}

// A patch sends what it sets, and null for what it clears.
const clips = await wanted(client.GET("/v1/productions/{production}/records/clip", { params }));
const clip = clips.records[clips.records.length - 1].id;
const read = await client.GET("/v1/productions/{production}/records/clip/{record}", { params: { path: { production, record: clip } } });
const patched = await wanted(client.PATCH("/v1/productions/{production}/records/clip/{record}", {
  params: { path: { production, record: clip }, header: { "If-Match": read.response.headers.get("ETag")! } },
  body: { settingsAre: "readOff", lens: null },
  headers: { "Content-Type": "application/merge-patch+json" },
}));
console.log("clip:", patched.kelvin, patched.settingsAre);

const now = await wanted(client.GET("/v1/productions/{production}/set-ups/{setUp}/now", {
  params: { path: { production, setUp: setUp.id } },
}));
console.log("white:", now.white?.words, "next take:", now.nextTake);
const off = await wanted(client.GET("/v1/productions/{production}/deviations", { params }));
console.log("deviation:", off.deviations[0].headline);
const log = await client.GET("/v1/productions/{production}/color-log.csv", { params, parseAs: "text" });
console.log("colour log:", log.response.headers.get("Content-Disposition"));

// The device brings an edit of its own, and fetches all that the others made.
const note = admission.device;
const line = "00c0ffee00c0ffee";
let sent: components["schemas"]["ExchangeRequest"] = {
  have: { [line]: [[1, 1]] },
  edits: [{
    production, kind: "note", record: note, device: admission.device, line, n: 1, at: new Date().toISOString(), by: "2nd AC",
    set: { about: camera.id, text: "B has the longer lens from here on" },
  }],
};
let fetched = 0;
for (let more = true; more;) {
  const answer = await wanted(client.POST("/v1/productions/{production}/exchange", { params, body: sent }));
  if (typeof answer === "string") throw new Error("the server answers in rows, which nobody asked for");
  for (const a of answer.answers) console.log("edit:", a.dot, a.outcome);
  fetched += answer.edits.length;
  more = answer.more || answer.reset === true;
  sent = { run: answer.run, cursor: answer.cursor };
}
console.log("edits of others:", fetched);
const kept = await wanted(client.GET("/v1/productions/{production}/records/note/{record}", {
  params: { path: { production, record: note } },
}));
console.log("note:", kept.text);

// What post asks.
const found = await wanted(client.GET("/v1/productions/{production}/clips", { params: { ...params, query: { camera: "A", take: "2" } } }));
const last = found.clips[0];
console.log("found:", found.clips.length, last.takes?.[0]);
const joined = await wanted(client.POST("/v1/productions/{production}/footage", {
  params,
  body: "/offload/A001/A001C001.mov\n",
  bodySerializer: (listing) => listing,
  headers: { "Content-Type": "text/plain" },
}));
console.log("footage:", joined.counts.recordings, joined.counts.sure, joined.noRow[0].words);
const right = await wanted(client.GET("/v1/productions/{production}/how-right", { params }));
console.log("how right:", right.words);
const sheet = await wanted(client.GET("/v1/productions/{production}/set-ups/{setUp}/rebuild", {
  params: { path: { production, setUp: setUp.id } },
}));
console.log("to build again:", sheet.lights[0].rigged.name);
const wrap = await wanted(client.GET("/v1/productions/{production}/wrap", { params }));
console.log("open:", wrap.items[wrap.items.length - 1].words);
const grey = Uint8Array.from(atob(
  "iVBORw0KGgoAAAANSUhEUgAAABgAAAAYCAIAAABvFaqvAAAAHUlEQVR42mMooxJgGDVo1KBRg0YNGjVo1KCBNwgALJIcrvQCI+YAAAAASUVORK5CYII=",
), (c) => c.charCodeAt(0));
const still = await wanted(client.POST("/v1/productions/{production}/records/clip/{record}/still", {
  params: { path: { production, record: last.clip }, query: { x: 4, y: 4, width: 16, height: 16, encoding: "bt1886", primaries: "bt709" } },
  body: new Blob([grey]) as unknown as string,
  bodySerializer: (frame) => frame,
  headers: { "Content-Type": "image/png" },
}));
console.log("frame:", still.seen.format, still.clip === last.clip);
const document = await wanted(client.GET("/v1/productions/{production}/color-log.json", { params }));
const changes = await wanted(client.GET("/v1/productions/{production}/color-log/changes", {
  params: { ...params, query: { before: (document as { state: { name: string } }).state.name } },
}));
console.log("changes since:", changes.clips.length, changes.before === changes.after);
const links = await wanted(client.GET("/v1/servers"));
console.log("linked servers:", links.servers.length);

// Types that are good refuse what the contract does not take: were one of these lines
// right, the compiler would say so.
export const wrong = () => [
  // @ts-expect-error a clip is no day
  client.POST("/v1/productions/{production}/records/day", { params, body: { kelvin: 4300 } }),
  client.POST("/v1/productions/{production}/records/reading", {
    params,
    // @ts-expect-error a chromaticity has an x and a y
    body: { measured: { as: "xy", cctKelvin: 5600 }, takenAt: "", of: { as: "everything" } },
  }),
  client.PATCH("/v1/productions/{production}/records/reading/{record}", {
    params: { path: { production, record: note } },
    // @ts-expect-error a set-up is named by its id
    body: { setUp: 5 },
  }),
];
