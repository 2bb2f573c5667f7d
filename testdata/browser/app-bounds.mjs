// What stays bounded in the app, however long a job is: what is loaded first, the rows of Takes, the answers
// that are stored, and what one answer makes the engine work out.
import { loaded, until } from "./until.mjs";

export default async ({ page, args }) => {
  const out = {}, at = `${args.origin}/app/`;
  await page.setViewportSize({ width: 360, height: 640 });

  // Places and sheets come after the first screen. Where they cannot be loaded the app says so, and loads them later.
  await page.route("**/later-*.js", (route) => route.abort());
  await page.goto(at);
  await page.locator("ew-first .code").waitFor();
  await page.evaluate(() => { location.hash = "#now/prep"; });
  out.notLoaded = await page.locator("main", { hasText: "could not be loaded" }).innerText();
  await page.unroute("**/later-*.js");
  await page.getByRole("button", { name: "Load again" }).click();
  await page.locator("ew-prep h1").waitFor();
  out.loaded = true;

  // A job of some days, from a file; the page is opened again, and what it asks the engine is noted.
  await loaded(page, args.day);
  await page.evaluate(async (text) => {
    const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
    await day.takeFile(new File([bytes], "job.bundle"));
  }, args.bundle);
  await page.addInitScript(() => {
    const post = Worker.prototype.postMessage;
    globalThis.asked = [];
    Worker.prototype.postMessage = function asks(message, ...more) {
      globalThis.asked.push([message.name, message.text]);
      return post.call(this, message, ...more);
    };
  });
  await page.goto(`${at}#now`);
  await page.reload();
  await loaded(page, args.day);
  await page.locator(".cam").first().waitFor();
  await until(page, () => day.ask("state", {}).then(({ value }) => value.rest === 0 && !day.notices.has("olderDays"), () => false));
  out.asked = await page.evaluate(() => globalThis.asked.map(([name]) => name));
  out.prepared = await page.evaluate(() => day.ask("prepare", { most: 1 }).then(({ value }) => value.done));

  // Of stored answers the newest stay.
  const stored = (what) => page.evaluate(([add]) => new Promise((done, failed) => {
    const opening = indexedDB.open("evenwhite");
    opening.onerror = () => failed(opening.error);
    opening.onsuccess = () => {
      const db = opening.result, tx = db.transaction("answers", "readwrite"), answers = tx.objectStore("answers");
      for (let n = 1; n <= add; n++) answers.put({ production: "another", question: `old ${n}`, at: n, text: "{}" });
      const all = answers.getAll();
      tx.oncomplete = () => {
        db.close();
        done(all.result.map((a) => a.question));
      };
    };
  }), [what]);
  await stored(300);
  await page.evaluate(() => { location.hash = "#takes"; });
  await page.locator(".take").first().waitFor();
  await until(page, async () => (await new Promise((done) => {
    const opening = indexedDB.open("evenwhite");
    opening.onsuccess = () => {
      const count = opening.result.transaction("answers").objectStore("answers").count();
      count.onsuccess = () => { opening.result.close(); done(count.result); };
    };
  })) < 300);
  out.answers = await stored(0);

  // Takes from the newest to the oldest, as a hand goes: few rows stand in the page at once, and each comes.
  const setUps = await page.evaluate(async () => (await day.ask("setUps", {})).value.setUps);
  out.setUps = setUps.length;
  out.takes = setUps.reduce((sum, s) => sum + s.takes, 0);
  await page.evaluate(() => { // those that are asked for within half a screen of the eye are here
    globalThis.here = () => [...document.querySelectorAll("ew-takes-of")].every((of) => {
      const { top, bottom } = of.querySelector("section").getBoundingClientRect();
      return bottom < -300 || top > innerHeight + 300 || of.querySelector(".take");
    });
    globalThis.frame = () => new Promise((next) => requestAnimationFrame(next));
  });
  Object.assign(out, await page.evaluate(async () => {
    const seen = new Set(), main = document.querySelector("main"), ends = performance.now() + 180_000;
    let most = 0, sections = 0;
    const rows = () => [...document.querySelectorAll("ew-takes-of")].flatMap((of) => [...of.querySelectorAll(".take")].map((r) => [of, r]));
    for (let still = 0; still < 5 && performance.now() < ends;) {
      await frame();
      if (!here()) continue;
      for (const [of, row] of rows()) seen.add(`${of.line.setUp} ${row.querySelector(".top").textContent}`);
      most = Math.max(most, rows().length);
      sections = Math.max(sections, document.querySelectorAll("ew-takes-of").length);
      const before = main.scrollTop;
      main.scrollTop += 300;
      still = main.scrollTop === before ? still + 1 : 0;
    }
    return { seen: seen.size, most, sections };
  }));

  // By keyboard alone: from row to row.
  await page.evaluate(() => { document.querySelector("main").scrollTop = 0; });
  await until(page, () => frame().then(here));
  await page.locator(".take").first().focus();
  out.tabbed = 0;
  for (let n = 0; n < 40; n++) {
    await page.keyboard.press("Tab");
    if (await page.evaluate(() => document.activeElement.matches(".take"))) out.tabbed++;
    await until(page, () => frame().then(here));
  }
  return out;
};
