// What an engine found valid is kept in pages, and read from there at the next start: that start holds the same, whatever became
// of the pages, and what was logged since.
import { readFileSync } from "node:fs";
import { loaded, until } from "./until.mjs";

// watched notes how edits are handed to the engine: as a page that was kept, or by themselves.
const watched = () => {
  const handed = globalThis.handed = { pages: 0, rows: 0 };
  const post = Worker.prototype.postMessage;
  Worker.prototype.postMessage = function asks(message, ...more) {
    if (message.name === "hold" && message.bytes.length > 0) handed[message.text.includes('"valid":true') ? "pages" : "rows"]++;
    return post.call(this, message, ...more);
  };
};

// pages changes what is kept beside the edits, and says of how many edits pages are kept.
const pages = (page, change) => page.evaluate(async (what) => {
  const asked = (request) => new Promise((done, failed) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
  const db = await asked(indexedDB.open("evenwhite"));
  const reading = db.transaction(["pages", "pageBytes"], "readwrite"), bytes = reading.objectStore("pageBytes");
  const kept = await asked(bytes.getAll()), all = await asked(reading.objectStore("pages").getAll());
  if (what === "damage") {
    const [cut, other, gone, strange] = kept;
    bytes.put({ ...cut, bytes: cut.bytes.slice(0, cut.bytes.length >> 1) });
    const changed = other.bytes.slice();
    changed[5] ^= 0x40; // of the first edit's production
    bytes.put({ ...other, bytes: changed });
    bytes.delete([gone.production, gone.n]);
    bytes.put({ ...strange, bytes: new Uint8Array(0x4000).fill(0xff) });
  }
  await new Promise((done) => { reading.oncomplete = done; });
  db.close();
  return all.flatMap((p) => p.spans).reduce((sum, [, from, to]) => sum + to - from + 1, 0);
}, change);

const whole = (page) => until(page, () => day.here.setUp !== undefined && !day.notices.has("olderDays")
  && day.ask("state", {}).then(({ value }) => value.rest === 0, () => false));

// answers are what the engine says of all that it holds.
const answers = (page) => page.evaluate(async () => {
  const all = {};
  for (const [name, message] of [["state", {}], ["setUps", {}], ["list", { limit: 500 }], ["conflicts", { now: 2e12 }], ["twins", {}],
    ["quarantine", {}], ["deviations", { accepted: true }]]) {
    all[name] = (await day.ask(name, message).catch((e) => ({ value: String(e) }))).value;
  }
  delete all.state.from;
  return JSON.stringify(all);
});

export default async ({ page, args }) => {
  const out = { starts: [] };
  const start = async (name) => {
    await page.reload();
    await loaded(page, args.day);
    await whole(page);
    out.starts.push({ name, answers: await answers(page), ...await page.evaluate(() => handed), paged: await pages(page) });
  };
  await page.addInitScript(watched);
  await page.goto(`${args.origin}/app/`);
  await loaded(page, args.day);
  await page.evaluate(async (text) => {
    const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
    await day.takeFile(new File([bytes], "job.bundle"));
  }, readFileSync(args.bundle).toString("base64"));
  await start("the first start");
  await until(page, async (least) => { // pages are kept while the app goes on
    const opening = indexedDB.open("evenwhite");
    const db = await new Promise((done) => { opening.onsuccess = () => done(opening.result); });
    const counting = db.transaction("pages").objectStore("pages").count();
    await new Promise((done) => { counting.onsuccess = done; });
    db.close();
    return counting.result >= least;
  }, args.pages);
  await start("from pages");
  out.made = await page.evaluate(async () => (await (await day.event(day.here.setUp, { event: "nextTake" })).made).length);
  out.since = await answers(page);
  await start("with what came since");
  await pages(page, "damage");
  await start("with damaged pages");
  await start("after damage");
  return out;
};
