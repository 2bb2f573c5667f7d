// What the phone app costs on a slow phone with a long job: figures, each with the name under which it is
// printed. The page's processor is slowed down by the browser; of a worker the browser slows nothing, so
// there each call of the engine is made to last as many times longer.
import { readFileSync } from "node:fs";
import { limit, until } from "./until.mjs";

// slowed is put into the worker before its script: loading, starting and each call take so many times as long.
const slowed = (rate) => {
  const took = globalThis.took = {};
  const rest = (began) => { for (const ends = began + rate * (performance.now() - began); performance.now() < ends;); };
  let engine, Go;
  const ask = (name, ...more) => {
    const began = performance.now(), answer = engine(name, ...more);
    rest(began);
    (took[name] ??= []).push(performance.now() - began);
    return answer;
  };
  Object.defineProperty(globalThis, "evenwhite", { get: () => engine && ask, set: (to) => { engine = to; } });
  Object.defineProperty(globalThis, "Go", { get: () => Go, set: (to) => {
    Go = class extends to {
      run(instance) {
        const began = performance.now(), ends = super.run(instance);
        rest(began);
        return ends;
      }
    };
  } });
  const load = WebAssembly.instantiateStreaming;
  WebAssembly.instantiateStreaming = async (...what) => {
    const began = performance.now(), loaded = await load.call(WebAssembly, ...what);
    rest(began);
    return loaded;
  };
};

// watched is put into the page before its scripts: it notes what is seen when, and what was asked.
const watched = () => {
  const seen = globalThis.seen = { asked: [] };
  const post = Worker.prototype.postMessage;
  Worker.prototype.postMessage = function asks(message, ...more) {
    const ask = { name: message.name, id: message.id, at: performance.now() };
    seen.asked.push(ask);
    if (seen.asked.length === 1) {
      this.addEventListener("message", ({ data }) => {
        const of = seen.asked.find((a) => a.id === data.id);
        if (of) Object.assign(of, { answered: performance.now(), held: of.name === "hold" ? JSON.parse(data.text).held : undefined });
      });
    }
    return post.call(this, message, ...more);
  };
  seen.tasks = [];
  new PerformanceObserver((list) => { for (const e of list.getEntries()) seen.tasks.push({ at: e.startTime, ms: e.duration }); })
    .observe({ type: "longtask", buffered: true });
  new MutationObserver((_, it) => {
    if (!document.querySelector(".cam")) return;
    it.disconnect();
    requestAnimationFrame(() => setTimeout(() => { seen.screen = performance.now(); }));
  }).observe(document, { childList: true, subtree: true });
};

const median = (all) => all.toSorted((a, b) => a - b)[all.length >> 1];

const pause = (ms) => new Promise((on) => { setTimeout(on, ms); });

export default async ({ page, args }) => {
  page.setDefaultTimeout(4 * limit);
  const at = `${args.origin}/app/`, session = await page.createCDPSession();
  let rate = 1;
  session.on("Target.attachedToTarget", async ({ sessionId, targetInfo }) => {
    const tell = (id, method, params = {}) =>
      session.send("Target.sendMessageToTarget", { sessionId, message: JSON.stringify({ id, method, params }) });
    if (targetInfo.type === "worker") await tell(1, "Runtime.evaluate", { expression: `(${slowed})(${rate})` });
    await tell(2, "Runtime.runIfWaitingForDebugger");
  });
  await session.send("Target.setAutoAttach", { autoAttach: true, waitForDebuggerOnStart: true, flatten: false });
  const slow = async (by) => {
    rate = by;
    await session.send("Emulation.setCPUThrottlingRate", { rate: by });
  };
  const loaded = () => page.evaluate(async (url) => { globalThis.day = (await import(url)).day; }, args.day);
  const whole = () => until(page,
    () => !day.notices.has("olderDays") && day.ask("state", {}).then(({ value }) => value.rest === 0, () => false), null, 4 * limit);

  // The long job is taken in, once, from a file; the app is kept for being opened without a server, and Now is looked at.
  await page.setViewport({ width: 360, height: 640 });
  await page.goto(at);
  await loaded();
  if (await page.evaluate(() => day.productions.length === 0)) {
    await page.evaluate(async (text) => {
      const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
      await day.takeFile(new File([bytes], "job.bundle"));
    }, readFileSync(args.bundle).toString("base64"));
    await page.reload();
    await loaded();
  }
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => {}));
  for (let n = 0; n < 2; n++) { // as on a phone that had it before: the browser keeps the compiled engine, and the app the last answers
    await page.reload();
    await loaded();
    await whole();
    await page.waitForSelector(".cam");
    await pause(5000);
  }
  await page.evaluateOnNewDocument(watched);
  const out = {};

  // Six times slower: from the first paint until the engine can be asked.
  await slow(6);
  await page.goto(at);
  await until(page, () => seen.asked.length > 0 && performance.getEntriesByName("first-contentful-paint").length > 0);
  out.engine_ready_ms = await page.evaluate(() => seen.asked[0].at - performance.getEntriesByName("first-contentful-paint")[0].startTime);

  // Four times slower: a start with all days in the store.
  await slow(4);
  await page.goto(at);
  await loaded();
  await whole();
  Object.assign(out, await page.evaluate((day) => {
    const ready = seen.asked[0].at;
    const held = seen.asked.find((a) => a.held >= day).answered; // the newest day
    const all = seen.asked.findLast((a) => a.name === "hold").answered,
      prepared = seen.asked.findLast((a) => a.name === "prepare").answered;
    return {
      first_screen_ms: seen.screen,
      day_ms: seen.asked.find((a) => a.name === "now" && a.answered >= held).answered - ready,
      all_ms: all - ready, prepared_ms: prepared - all,
      all_longest_task_ms: Math.max(0, ...seen.tasks.filter((t) => t.at + t.ms > ready && t.at < prepared).map((t) => t.ms)),
    };
  }, args.edits));

  // A tap on "next take", until the page says that it is saved.
  await pause(3000); // what is asked anew is answered
  const taps = [];
  for (let n = 0; n < 6; n++) {
    taps.push(await page.evaluate(() => new Promise((told) => {
      const before = document.querySelector("ew-done").textContent;
      const began = performance.now();
      const it = new MutationObserver(() => {
        if (!document.querySelector(".undo") || document.querySelector("ew-done").textContent === before) return;
        it.disconnect();
        requestAnimationFrame(() => setTimeout(() => told(performance.now() - began)));
      });
      it.observe(document, { childList: true, subtree: true, characterData: true });
      [...document.querySelectorAll("button")].find((b) => b.textContent.trim().startsWith("Next take")).click();
    })));
    await pause(4000); // a second press would say that it is logged
  }
  out.tap_saved_ms = median(taps.slice(1));
  const took = await page.workers()[0].evaluate(() => globalThis.took);
  out.event_ms = median(took.event.slice(1));
  out.now_ms = median(took.now.slice(-5));

  // Takes: by steps through a stretch, then by leaps through all of it.
  await page.evaluate(() => { location.hash = "#takes"; });
  await page.waitForSelector(".take");
  await pause(3000);
  Object.assign(out, await page.evaluate(async () => {
    const main = document.querySelector("main"), frame = () => new Promise((next) => requestAnimationFrame(next));
    let longest = 0, rows = 0, before = await frame();
    const leap = main.scrollHeight / 100;
    for (let n = 0; n < 300; n++) {
      main.scrollTop += n < 200 ? 120 : leap;
      const now = await frame();
      longest = Math.max(longest, now - before);
      before = now;
      rows = Math.max(rows, document.querySelectorAll(".take").length);
    }
    return { scroll_longest_ms: longest, scroll_rows: rows, takes_elements: document.querySelectorAll("main *").length };
  }));
  return out;
};
