// What may go wrong with a phone: logging goes on where it can, and words say what is missing.
import { readFileSync } from "node:fs";
import { loaded, until } from "./until.mjs";

const open = (page) => until(page, () => day.here.setUp !== undefined
  && day.ask("next", { setUp: day.here.setUp }).then(() => true, () => false));
const notices = (page) => page.evaluate(() => [...day.notices]);
const said = (page) => page.locator("body").innerText();

// note stores a note on the set-up that is open, and says its dot; or why it was not stored.
const note = (page, text) => page.evaluate(async (words) => {
  try {
    return (await (await day.save({ kind: "note", fields: { about: day.here.setUp, text: words } })).made)[0].dot;
  } catch (e) {
    return e.trouble ?? String(e);
  }
}, text);

const takes = (page) => page.evaluate(async () => (await day.ask("list", { setUp: day.here.setUp })).value.takes.length);

// engineFile is the engine in the browser's cache of the shell.
const engineFile = (page, put) => page.evaluate(async (instead) => {
  const cache = await caches.open((await caches.keys())[0]);
  const file = (await cache.keys()).find((k) => k.url.endsWith(".wasm"));
  if (instead === "keep") return globalThis.kept = [file, await cache.match(file)], undefined;
  if (instead === "back") return cache.put(globalThis.kept[0], globalThis.kept[1].clone());
  if (instead === "none") return cache.put(file, new Response("", { status: 404 }));
  return cache.put(file, new Response(instead, { headers: { "Content-Type": "application/wasm" } }));
}, put);

export default async ({ page, context, args }) => {
  const out = {};
  const at = `${args.origin}/app/`;
  await page.goto(at);
  await loaded(page, args.day);
  await page.evaluate(() => day.lookAround());
  await open(page);
  out.before = await takes(page);

  // A second tab shows what the first logs, writes nothing, and writes once the first is closed.
  const second = await context.newPage();
  await second.goto(at);
  await loaded(second, args.day);
  await open(second);
  const may = await second.evaluate(() => day.mayWrite);
  out.second = { may, said: await said(second), note: await note(second, "from the second tab") };
  await page.evaluate(async () => (await day.event(day.here.setUp, { event: "nextTake" })).made);
  const more = (n) => day.ask("list", { setUp: day.here.setUp }).then(({ value }) => value.takes.length > n);
  await until(second, more, out.before);
  await page.close();
  await until(second, () => day.mayWrite);
  out.secondLater = await note(second, "once the first was closed");
  page = second;

  // No room: what was there stays, and the next entry is kept once there is room.
  // A quota that the driver sets is not held against a database, so the browser's answer is put in its place.
  await page.evaluate(() => {
    globalThis.add = IDBObjectStore.prototype.add;
    IDBObjectStore.prototype.add = function full() {
      this.transaction.abort();
      throw new DOMException("no room", "QuotaExceededError");
    };
  });
  out.full = { note: await note(page, "without room"), notices: await notices(page), said: await said(page) };
  await page.evaluate(() => { IDBObjectStore.prototype.add = globalThis.add; });
  out.roomAgain = { note: await note(page, "with room again"), notices: await notices(page) };

  // The engine's worker ends: another is started, and holds what is stored.
  const worker = page.workers()[0];
  await page.evaluate(() => {
    globalThis.told = new Promise((gone) => day.addEventListener("change", () => { if (day.notices.has("engineGone")) gone(); }));
  });
  await worker.evaluate(() => { setTimeout(() => { throw new RangeError("no memory"); }); });
  await page.evaluate(() => globalThis.told);
  await open(page);
  out.afterEnd = await takes(page);

  // Without the engine's file, and with another in its place, and with no server.
  await until(page, () => navigator.serviceWorker.controller !== null);
  await engineFile(page, "keep");
  await fetch(`${args.control}/end`, { method: "POST" });
  for (const [name, instead] of [["missing", "none"], ["other", "not an engine"]]) {
    const kept = await page.evaluate(async () => btoa(Array.from(new Uint8Array(await globalThis.kept[1].clone().arrayBuffer()),
      (n) => String.fromCharCode(n)).join("")));
    await engineFile(page, instead);
    await page.reload();
    await loaded(page, args.day);
    await until(page, () => day.notices.has("engineGone"));
    out[name] = { note: await note(page, `engine ${name}`), said: await said(page), notices: await notices(page) };
    await page.evaluate(async (text) => {
      const cache = await caches.open((await caches.keys())[0]), bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
      const script = (await cache.keys()).find((k) => k.url.includes("worker-")).url;
      const name = /evenwhite-engine-[^"'`]+\.wasm/.exec(await (await cache.match(script)).text())[0];
      globalThis.kept = [new URL(name, script).href, new Response(bytes, { headers: { "Content-Type": "application/wasm" } })];
    }, kept);
  }
  await page.evaluate(async () => { globalThis.act = await day.event(day.here.setUp, { event: "nextTake" }); });
  const given = page.waitForEvent("download");
  await page.evaluate(() => { void day.saveAsFile(true); });
  out.bundle = readFileSync(await (await given).path()).toString("base64");
  await engineFile(page, "back");
  await page.evaluate(() => day.engineAgain());
  out.made = await page.evaluate(async () => (await globalThis.act.made).map((m) => m.kind).sort());
  out.after = await takes(page);

  // A newer version of the app was here: this one shows and writes nothing.
  await page.evaluate(() => new Promise((done, failed) => {
    const opening = indexedDB.open("evenwhite", 99);
    opening.onsuccess = () => { opening.result.close(); done(); };
    opening.onerror = () => failed(opening.error);
  }));
  await page.reload();
  await loaded(page, args.day);
  await open(page);
  out.newer = { takes: await takes(page), note: await note(page, "by an older app"), said: await said(page) };

  // A browser that lets the page keep nothing.
  await page.addInitScript(() => { indexedDB.open = () => { throw new DOMException("denied", "SecurityError"); }; });
  await page.reload();
  await loaded(page, args.day);
  await until(page, () => day.notices.has("storeDenied"));
  out.denied = { note: await note(page, "nowhere"), said: await said(page) };
  return out;
};
