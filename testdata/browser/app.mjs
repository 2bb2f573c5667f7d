// A phone on a day when the server is ended, and then the phone itself: it pairs and logs, goes on
// without a server, is killed in the middle of a write, and comes back when the server is there again; then it is killed once more.
import { existsSync, readFileSync } from "node:fs";
import { loaded, until } from "./until.mjs";

const sent = (page) => until(page, () => day.status.state === "sent" && day.status.count === 0 && day.status.at !== undefined);

// takes logs so many, one after another, and says which edits each is.
const takes = (page, count) => page.evaluate(async (n) => {
  const out = [];
  for (let i = 0; i < n; i++) out.push(...await (await day.event(day.here.setUp, { event: "nextTake" })).made);
  return out;
}, count);

// tapped presses the button, and says which edits that made.
const tapped = async (page) => {
  await page.evaluate(() => { globalThis.before = day.last; });
  await page.getByRole("button", { name: /^Next take/ }).click();
  await until(page, () => day.last !== globalThis.before);
  return page.evaluate(() => day.last.made);
};

// place names the place of the set-up that is open, over what is shown.
const place = (page, words) => page.evaluate(async (text) => {
  const record = day.here.setUp;
  const { value: form } = await day.ask("form", { kind: "setUp", record });
  const act = await day.save({ kind: "setUp", record, fields: { place: text }, form });
  return (await act.made)[0].dot;
}, words);

// still waits until no write of the app's is on its way: of what is, Chromium may throw all away if it is killed then, and not only that.
// What it leaves of a write that it was killed in the middle of, the test puts there by itself.
const still = (page) => until(page, () => new Promise((told, failed) => {
  const opening = indexedDB.open("evenwhite");
  opening.onerror = () => failed(opening.error);
  opening.onsuccess = () => {
    const db = opening.result,
      after = db.transaction([...db.objectStoreNames], "readwrite", { durability: "strict" }); // after all before it
    const filler = after.objectStore("drafts").count(IDBKeyRange.bound("filler/", "filler/\uffff"));
    after.onabort = () => failed(after.error);
    after.oncomplete = () => {
      db.close();
      told(filler.result === 0); // else it is still filling its log
    };
  };
}));

async function out(page, { origin, day, code, control }) {
  await page.addInitScript(() => { // its clock is two days behind
    const now = Date.now;
    Date.now = () => now() - 2 * 86_400_000;
  });
  await page.goto(`${origin}/`);
  await loaded(page, day);
  await page.locator(".code-in").fill(code.toLowerCase());
  await page.locator("main input:not(.code-in)").first().fill("2nd AC");
  await page.getByRole("button", { name: "Pair", exact: true }).click();
  await until(page, () => globalThis.day.here.setUp !== undefined);
  const made = [...await tapped(page), ...await takes(page, 4)];
  await sent(page);
  const other = await page.evaluate(async () => {
    const answer = await globalThis.day.askServer("POST", "/v1/scripts", { role: "editor", label: "other", hours: 1 });
    return (await answer.json()).token;
  });
  const setUp = await page.evaluate(() => globalThis.day.here.setUp);
  await until(page, () => globalThis.day.status.state !== "notSetUp");
  await fetch(`${control}/end`, { method: "POST", body: JSON.stringify({ token: other }) });
  made.push(...await takes(page, 4));
  await page.reload(); // there is no server
  await loaded(page, day);
  await until(page, () => globalThis.day.here.setUp !== undefined && globalThis.day.status.count > 0);
  await until(page, () => globalThis.day.ask("state", {}).then(({ value }) => value.rest === 0, () => false));
  made.push(...await tapped(page));
  const changed = await place(page, "the phone's quay");
  await still(page);
  return { setUp, changed, takes: made.filter((m) => m.kind === "take").map((m) => m.record), edits: made.map((m) => m.dot),
    status: await page.evaluate(() => ({ state: globalThis.day.status.state, count: globalThis.day.status.count })) };
}

const questions = (page) => page.evaluate(async () => (await day.ask("conflicts", {})).value.conflicts
  .filter((c) => c.record === day.here.setUp).map((c) => ({ field: c.field, values: c.values.map((v) => v.value) })));

async function back(page, { origin, day, torn }) {
  await page.goto(`${origin}/`);
  await loaded(page, day);
  await sent(page);
  for (let tries = 0; existsSync(torn); tries++) { // until the app had the browser begin another file
    if (tries > 3000) throw new Error(`after a minute the browser still writes behind what is half written: ${torn}`);
    await new Promise((next) => { setTimeout(next, 20); });
  }
  await until(page, () => globalThis.day.ask("conflicts", {})
    .then(({ value }) => value.conflicts.some((c) => c.record === globalThis.day.here.setUp)));
  const asked = await questions(page);
  const settled = await place(page, "the other's quay");
  const left = await questions(page);
  await sent(page);

  // It is no longer admitted: it says so, goes on logging, and hands over what it holds.
  await page.evaluate(() => globalThis.day.askServer("DELETE", "/v1/me?unsent=0&lastOwner=true"));
  await page.evaluate(() => globalThis.day.exchange());
  await until(page, () => globalThis.day.status.state === "revoked");
  const late = await place(page, "after it was revoked");
  const given = page.waitForEvent("download");
  await page.evaluate(() => { void globalThis.day.saveAsFile(true); });
  const bundle = readFileSync(await (await given).path()).toString("base64");
  const said = await page.locator(".status").innerText();
  await still(page);
  return { asked, left, settled, late, bundle, said, by: await page.evaluate(() => globalThis.day.by) };
}

// again is the start after that, with no server: nothing of what was kept is gone.
async function again(page, { origin, day }) {
  await page.goto(`${origin}/`);
  await loaded(page, day);
  await until(page, () => day.status.state === "revoked" && day.status.count > 0);
  return page.evaluate(() => ({ count: day.status.count, lost: day.notices.has("storeLost"), by: day.by }));
}

export default ({ page, args }) => (args.code ? out : args.torn ? back : again)(page, args);
