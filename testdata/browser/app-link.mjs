// A phone and its server: what each says, and what the phone makes of it. A second phone looks only. Nothing here is sent because
// some time went by: timers of five seconds and more wait until a step lets them run out.
import { readFileSync } from "node:fs";
import { loaded, until } from "./until.mjs";

// prepared is put into each page before its scripts: the timers, what the browser says of storage, and the way to the server,
// which a step may have answer in another way (globalThis.answers).
function prepared(keeps) {
  navigator.storage.persist = async () => keeps;
  navigator.storage.persisted = async () => keeps;
  const { setTimeout: later, clearTimeout: never, fetch: really } = globalThis;
  const long = new Map();
  let last = 0;
  globalThis.setTimeout = (what, ms, ...rest) => {
    if (!(ms >= 5000)) return later(what, ms, ...rest);
    const id = --last;
    long.set(id, { what, ms });
    return id;
  };
  globalThis.clearTimeout = (id) => { if (!long.delete(id)) never(id); };
  globalThis.runOut = (ms) => { for (const [id, t] of long) if (t.ms === ms && long.delete(id)) t.what(); };
  globalThis.asked = []; // each exchange: how many edits it brought, and what was answered
  globalThis.packings = [];
  globalThis.fetch = async (url, init = {}) => {
    const path = new URL(url, location.href).pathname;
    if (!path.endsWith("/exchange")) {
      if (path === "/v1/token") globalThis.renewed = true;
      return globalThis.away ? Promise.reject(new TypeError("no way")) : really(url, init);
    }
    const sent = new Blob([init.body]).stream(), packed = new Headers(init.headers).get("Content-Encoding");
    globalThis.packings.push(packed ?? "plain");
    const rows = await new Response(packed ? sent.pipeThrough(new DecompressionStream(packed)) : sent).text();
    const brings = rows.split("\n").filter((row) => /^\[-?\d/.test(row)).length;
    if (globalThis.away) throw new TypeError("no way");
    const said = await globalThis.answers?.(rows, brings, init);
    const answer = said ?? await really(url, init);
    globalThis.asked.push([brings, answer.status]);
    return answer;
  };
}

const problem = (status, type) => `new Response(JSON.stringify({ type: "/problems/${type}", title: "${type}" }),
  { status: ${status}, headers: { "Content-Type": "application/problem+json" } })`;

const says = (page, what) => page.evaluate(`{ globalThis.asked = []; globalThis.answers = ${what}; }`);
const sent = (page) => until(page, () => day.status.state === "sent" && day.status.count === 0);
const goes = (page) => page.evaluate(() => day.exchange());
const away = (page, is) => page.evaluate((now) => { globalThis.away = now; }, is);
const asked = (page) => page.evaluate(() => globalThis.asked);
const shown = (page) => page.locator("body").innerText();

const note = (page, text) => page.evaluate(async (words) => {
  const act = await day.save({ kind: "note", fields: { about: day.here.setUp, text: words } });
  return (await act.made)[0].dot;
}, text);

const place = (page, words) => page.evaluate(async (text) => {
  const record = day.here.setUp, { value: form } = await day.ask("form", { kind: "setUp", record });
  await (await day.save({ kind: "setUp", record, fields: { place: text }, form })).made;
}, words);

const notes = (page) => page.evaluate(async () => (await day.ask("list", { kind: "note", limit: 500 })).value.records.map((r) => r.text));

// heldOn says whether the server holds a note with these words.
const heldOn = (page, production, words) => page.evaluate(async ([id, text]) =>
  (await (await day.askServer("GET", `/v1/productions/${id}/records/note?limit=500`)).text()).includes(text), [production, words]);

export default async ({ page, context, args }) => {
  const out = {}, at = `${args.origin}/`, control = (path) => fetch(`${args.control}/${path}`, { method: "POST" });
  await context.addInitScript(prepared, false);
  await page.goto(at);
  await loaded(page, args.day);

  // Looked around in first: the real one is under the same id, and nothing of what was tried in it goes there.
  await page.getByRole("button", { name: "Look around" }).click();
  await until(page, () => day.here.setUp !== undefined && day.ask("state", {}).then((a) => a.value.rest === 0, () => false));
  await note(page, "tried while looking around");
  out.around = { said: await shown(page), notes: await notes(page) };
  await page.evaluate(() => day.go("pair"));
  await page.locator(".code-in").fill(args.code);
  await page.getByRole("button", { name: "Pair", exact: true }).click();
  await until(page, () => day.paired && day.production?.invented === false && day.here.setUp !== undefined);
  await sent(page);
  const demo = await page.evaluate(() => day.here.production);
  out.around.left = await notes(page);
  out.around.sent = await heldOn(page, demo, "tried while looking around");
  await page.evaluate(() => day.go("handover"));
  await page.getByText("Where the data is").waitFor();
  out.notKept = await shown(page);

  // The server wakes it: nothing else has it ask.
  await control(`place?setUp=${await page.evaluate(() => day.here.setUp)}`);
  await until(page, () => day.ask("record", { kind: "setUp", record: day.here.setUp })
    .then(({ value }) => value.record.place === "theirs"));

  // A browser that cannot pack sends it as it is.
  await page.evaluate(() => {
    globalThis.packs = globalThis.CompressionStream;
    delete globalThis.CompressionStream;
    globalThis.packings = [];
  });
  await note(page, "as it is");
  await sent(page);
  out.plain = { packings: await page.evaluate(() => [...new Set(globalThis.packings)]), held: await heldOn(page, demo, "as it is") };
  await page.evaluate(() => {
    globalThis.CompressionStream = globalThis.packs;
    globalThis.packings = [];
  });

  // What a form saved is sent at once.
  await place(page, "the long quay");
  await sent(page);
  out.packed = await page.evaluate(() => [...new Set(globalThis.packings)]);

  // Too many at once, by 413 and then by 400; one that no server takes.
  await away(page, true);
  for (let i = 0; i < 9; i++) await note(page, `one of nine, ${i}`);
  out.nine = await page.evaluate(() => day.status.count);
  await until(page, () => day.ask("state", {}).then(({ value }) => value.unsent === 9));
  await away(page, false);
  await says(page, `(rows, brings) => brings > 4 ? ${problem(413, "too-large")} : brings > 2 ? ${problem(400, "bad-request")} : undefined`);
  await goes(page);
  await sent(page);
  out.halved = await asked(page);
  await says(page, `(rows) => rows.includes("nobody can read") ? ${problem(400, "bad-request")} : undefined`);
  const unreadable = await note(page, "what nobody can read");
  await note(page, "what everybody can read");
  await until(page, () => day.notices.has("setAside") && day.status.count === 0);
  await sent(page);
  out.aside = { said: await shown(page), unreadable, held: await heldOn(page, demo, "what everybody can read") };
  await page.evaluate(async () => { globalThis.given = await new Promise((file) => {
    navigator.canShare = () => true;
    navigator.share = async ({ files }) => file(files[0]);
    void day.saveAsFile(false).then((how) => { globalThis.how = how; });
  }); });
  out.shared = await page.evaluate(() => ({ how: globalThis.how, name: globalThis.given.name }));
  await page.evaluate(() => { navigator.canShare = undefined; });

  // The phone walked out of the network: no answer ever comes.
  await says(page, `(rows, brings, init) => new Promise((_, no) => {
    globalThis.waits = true;
    init.signal.addEventListener("abort", () => no(new DOMException("", "AbortError")));
  })`);
  await note(page, "sent into nothing");
  await until(page, () => globalThis.waits);
  await page.evaluate(() => globalThis.runOut(60_000));
  await until(page, () => day.status.since !== undefined);
  await says(page, "undefined");
  await goes(page);
  await sent(page);

  // Another production is open: what was not sent of this one goes nevertheless.
  await page.evaluate(() => day.askServer("POST", "/v1/productions",
    { title: "The Other One", timeZone: "UTC", frameRate: "25", gelFamily: "typed" }));
  await page.evaluate(() => day.productionsThere());
  const other = await page.evaluate((id) => day.productions.find((p) => p.id !== id).id, demo);
  await away(page, true);
  await note(page, "left behind");
  await page.evaluate((id) => day.open(id), other);
  await until(page, (id) => day.here.production === id && day.ask("state", {}).then((a) => a.value.rest === 0, () => false), other);
  out.behind = await page.evaluate(() => day.status.count);
  await away(page, false);
  await goes(page);
  await sent(page);
  out.behindHeld = await heldOn(page, demo, "left behind");
  await page.evaluate((id) => day.open(id), demo);
  await until(page, (id) => day.here.production === id && day.here.setUp
    && day.ask("state", {}).then((a) => a.value.rest === 0, () => false), demo);

  // Somebody else's value of a question, taken in one tap.
  await away(page, true);
  await place(page, "mine");
  await page.evaluate(() => day.exchange());
  await control(`place?setUp=${await page.evaluate(() => day.here.setUp)}`);
  await away(page, false);
  await goes(page);
  const asks = "day.ask('conflicts', {}).then((a) => a.value.conflicts.some((c) => c.record === day.here.setUp))";
  await until(page, `() => ${asks}`);
  await page.evaluate(() => day.go("settle", { part: "choose" }));
  await page.locator(".find", { hasText: "theirs" }).first().waitFor();
  if (await page.locator("button.find", { hasText: "theirs" }).count() > 0) await page.locator("button.find",
    { hasText: "theirs" }).click();
  await page.getByRole("button", { name: /^Use theirs/i }).click();
  await until(page, `() => ${asks}.then((is) => !is)`);
  await sent(page);
  out.taken = await page.evaluate(async () => (await day.ask("record", { kind: "setUp", record: day.here.setUp })).value.record.place);

  // A second phone is let in by a scanned address. It may look.
  const { link } = await page.evaluate(async (id) => (await day.askServer("POST", "/v1/invitations",
    { role: "reader", label: "the guest's", production: id })).json(), demo);
  const apart = await context.browser().newContext();
  await apart.addInitScript(prepared, true);
  const looking = await apart.newPage();
  await looking.goto(link);
  await looking.getByText("The code was scanned.").waitFor();
  out.scanned = { link, address: looking.url(), length: await looking.evaluate(() => history.length) };
  await loaded(looking, args.day);
  await looking.getByRole("button", { name: "Pair", exact: true }).click();
  await until(looking, () => day.here.setUp !== undefined && day.ask("state", {}).then((a) => a.value.rest === 0, () => false));
  await looking.evaluate(() => day.go("now"));
  await looking.locator("ew-now .cam").first().waitFor();
  out.reader = { said: await looking.locator("ew-now .acts").innerText(), acts: await looking.locator("ew-now .acts button").count(),
    saved: await note(looking, "by one who may look").then(() => "saved", (e) => String(e)),
      count: await looking.evaluate(() => day.status.count) };
  await looking.evaluate(() => day.go("handover"));
  await looking.getByText("Where the data is").waitFor();
  out.kept = await shown(looking);

  // It takes in a bundle that holds what was never sent; the first phone saves it as a file.
  await away(page, true);
  await note(page, "carried by hand");
  await page.evaluate(() => day.go("handover"));
  const given = page.waitForEvent("download");
  await page.getByRole("button", { name: "Bundle", exact: true }).click();
  const file = await given;
  out.bundle = file.suggestedFilename();
  await looking.locator("input[type=file]").setInputFiles({ name: "a.bundle", mimeType: "application/octet-stream",
    buffer: readFileSync(await file.path()) });
  await looking.getByText(/entries, \d+ of them new here/).waitFor();
  out.carried = (await notes(looking)).includes("carried by hand");
  await away(page, false);
  await goes(page);
  await sent(page);

  // Thirteen hours later the token has run out: another is had without a word.
  await control("later");
  await page.evaluate(() => {
    globalThis.words = new Set();
    new MutationObserver(() => globalThis.words.add(document.querySelector(".status").innerText))
      .observe(document.body, { subtree: true, childList: true, characterData: true });
  });
  await note(page, "thirteen hours later");
  await until(page, () => globalThis.renewed === true && day.status.state === "sent" && day.status.count === 0);
  out.later = { words: await page.evaluate(() => [...globalThis.words]), held: await heldOn(page, demo, "thirteen hours later") };

  // Another server answers under this name: the phone is not known there, and keeps what it has until it is let in again.
  const { code } = await page.evaluate(async () => (await day.askServer("POST", "/v1/invitations",
    { role: "owner", label: "again" })).json());
  await says(page, `() => ${problem(401, "other-server")}`);
  await note(page, "for another server");
  await until(page, () => day.status.state === "unpaired");
  out.strange = { said: await shown(page), count: await page.evaluate(() => day.status.count) };
  await says(page, "undefined");
  await page.evaluate((c) => day.pair(c), code);
  await sent(page);
  out.again = await heldOn(page, demo, "for another server");

  // An owner removes the production from the server: the phone says so, keeps it, and brings nothing back.
  await page.evaluate(async (id) => {
    const digest = async (path) => {
      const bytes = await (await day.askServer("GET", `/v1/productions/${id}/${path}`)).arrayBuffer();
      return Array.from(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)), (n) => n.toString(16).padStart(2, "0")).join("");
    };
    await day.askServer("POST", `/v1/productions/${id}/removal`,
      { bundle: await digest("bundle"), colorLog: await digest("color-log.csv") });
  }, demo);
  await note(page, "after the wrap");
  await until(page, () => day.notices.has("removedThere"));
  await page.reload();
  await loaded(page, args.day);
  await until(page, () => day.here.setUp && day.ask("state", {}).then((a) => a.value.rest === 0, () => false));
  await goes(page);
  await page.evaluate(() => day.productionsThere());
  await page.getByText("An owner removed this production").first().waitFor(); // said again after the start
  out.removed = { said: await shown(page), asked: (await asked(page)).filter(([brings]) => brings > 0), notes: await notes(page),
    there: await page.evaluate(async () => (await (await day.askServer("GET",
      "/v1/productions")).json()).productions.map((p) => p.title)) };
  return out;
};
