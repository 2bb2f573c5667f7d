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

// engineFile is the engine in the browser's cache of the shell; it is kept in another while something else is in its place.
const engineFile = (page, put) => page.evaluate(async (instead) => {
  const shell = await caches.open((await caches.keys()).find((k) => k.startsWith("evenwhite-shell-"))), spare = await caches.open("spare");
  if (instead === "keep") {
    const file = (await shell.keys()).find((k) => k.url.endsWith(".wasm"));
    return spare.put(file, await shell.match(file));
  }
  const [file] = await spare.keys();
  if (instead === "back") return shell.put(file, await spare.match(file));
  if (instead === "none") return shell.put(file, new Response("", { status: 404 }));
  return shell.put(file, new Response(instead, { headers: { "Content-Type": "application/wasm" } }));
}, put);

// watched notes in each page how sure a browser is to be of what the app has it keep.
function watched() {
  const begun = IDBDatabase.prototype.transaction, entered = new Set(["edits", "lines", "waiting", "settings"]);
  globalThis.sure = {};
  IDBDatabase.prototype.transaction = function notes(names, mode, how) {
    if (mode === "readwrite") {
      for (const name of [names].flat()) if (entered.has(name)) (globalThis.sure[name] ??= []).push(how?.durability);
    }
    return begun.call(this, names, mode, how);
  };
}

// stored are all rows of the store, by table, with their keys; past the app.
const stored = (page) => page.evaluate(() => new Promise((done, failed) => {
  const opening = indexedDB.open("evenwhite");
  opening.onerror = () => failed(opening.error);
  opening.onsuccess = () => {
    const db = opening.result, reading = db.transaction([...db.objectStoreNames]), out = {};
    for (const name of db.objectStoreNames) {
      const table = reading.objectStore(name);
      out[name] = { keys: table.keyPath === null && table.getAllKeys(), rows: table.getAll() };
    }
    reading.oncomplete = () => {
      globalThis.all = Object.fromEntries(Object.entries(out).map(([name, { keys, rows }]) => [name,
        { keys: keys.result, rows: rows.result }]));
      done(db.version);
      db.close();
    };
  };
}));

// asFirst makes of what stored read a store as the first version of the app had it.
const asFirst = (page) => page.evaluate(() => new Promise((done, failed) => {
  const removing = indexedDB.deleteDatabase("evenwhite");
  removing.onerror = () => failed(removing.error);
  removing.onsuccess = () => {
    const opening = indexedDB.open("evenwhite", 1);
    opening.onerror = () => failed(opening.error);
    opening.onupgradeneeded = () => {
      const db = opening.result, edits = db.createObjectStore("edits", { keyPath: ["production", "line", "n"] });
      edits.createIndex("newest", ["production", "rank", "at", "line", "n"]);
      const tables = { logs: ["production", "log"], answers: ["production", "question"], drafts: "id", productions: "id" };
      for (const [name, keyPath] of Object.entries(tables)) db.createObjectStore(name, { keyPath });
      db.createObjectStore("waiting", { keyPath: "id", autoIncrement: true });
      for (const name of ["lines", "settings"]) db.createObjectStore(name);
      for (const [name, { keys, rows }] of Object.entries(globalThis.all)) {
        if (!db.objectStoreNames.contains(name)) continue; // a later version keeps it as well
        const table = opening.transaction.objectStore(name);
        rows.forEach((row, i) => (keys ? table.put(row, keys[i]) : table.put(row)));
      }
    };
    opening.onsuccess = () => {
      done(Object.fromEntries(Object.entries(globalThis.all).map(([name, { rows }]) => [name, rows.length])));
      opening.result.close();
    };
  };
}));

export default async ({ page, context, args }) => {
  const out = {};
  const at = `${args.origin}/app/`;
  await context.addInitScript(watched);
  await page.goto(at);
  await loaded(page, args.day);
  await page.evaluate(() => day.lookAround());
  await open(page);

  // The browser throws away all that was kept, while the app is open.
  const session = await context.newCDPSession(page);
  out.installable = (await session.send("Page.getInstallabilityErrors")).installabilityErrors.map((e) => e.errorId);
  await session.send("Storage.clearDataForOrigin", { origin: args.origin, storageTypes: "indexeddb" });
  out.evicted = { note: await note(page, "after it was thrown away"), said: await said(page), notices: await notices(page) };
  await page.reload();
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

  // The browser takes each row, and then the whole of it comes to nothing: that is not saved.
  await page.evaluate(() => {
    globalThis.put = IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = function last(...row) {
      const putting = globalThis.put.apply(this, row);
      if (this.name === "lines") putting.addEventListener("success", () => this.transaction.abort());
      return putting;
    };
  });
  out.aborted = { note: await note(page, "taken, and given up"), said: await said(page) };
  await page.evaluate(() => { IDBObjectStore.prototype.put = globalThis.put; });
  out.abortedAgain = { note: await note(page, "entered again"), notices: await notices(page) };
  out.sure = await page.evaluate(() => globalThis.sure);

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
    await engineFile(page, instead);
    await page.reload();
    await loaded(page, args.day);
    await until(page, () => day.notices.has("engineGone"));
    out[name] = { note: await note(page, `engine ${name}`), said: await said(page), notices: await notices(page) };
  }
  await page.evaluate(async () => { globalThis.act = await day.event(day.here.setUp, { event: "nextTake" }); });
  const given = page.waitForEvent("download");
  await page.evaluate(() => { void day.saveAsFile(true); });
  out.bundle = readFileSync(await (await given).path()).toString("base64");
  await engineFile(page, "back");
  await page.evaluate(() => day.engineAgain());
  out.made = await page.evaluate(async () => (await globalThis.act.made).map((m) => m.kind).sort());
  out.after = await takes(page);

  // The store is one of the first version of the app: it goes up, and all stays, an open form's draft as well. A tab that keeps
  // it as it was is told of, and waited for.
  await page.evaluate(() => day.go("note"));
  await page.locator("textarea").fill("not saved yet");
  await until(page, async () => (await day.drafts.read("note", day.here.setUp))?.text === "not saved yet");
  const form = page.url();
  await page.goto(`${at}icon.svg`); // a page of this origin without the app
  const now = await stored(page);
  out.first = { rows: await asFirst(page), now };
  const older = await context.newPage();
  await older.goto(`${at}icon.svg`);
  await older.evaluate(() => new Promise((done) => {
    const opening = indexedDB.open("evenwhite");
    opening.onsuccess = () => { globalThis.held = opening.result; done(); };
  }));
  await page.bringToFront();
  await page.goto(form);
  await loaded(page, args.day);
  await until(page, () => day.notices.has("storeHeld") && document.querySelector("main")?.textContent.includes("being loaded"));
  out.held = { said: await said(page) };
  await older.close();
  await open(page);
  out.held.notices = await notices(page);
  out.held.draft = await page.locator("textarea").inputValue();
  await page.evaluate(() => day.back());
  out.first.takes = await takes(page);
  out.first.note = await note(page, "in a store that went up");
  out.first.went = await stored(page);
  out.first.kept = await page.evaluate(() => Object.fromEntries(Object.entries(globalThis.all)
    .map(([name, { rows }]) => [name, rows.length])));

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
