// limit is how long a test waits for what a page should come to, in ms. Only what never comes needs so long; on a machine with
// much to do, what takes a second may take a minute.
export const limit = 5 * 60_000;

// Until waits in a page until something holds, which may be a promise: Playwright's own waiting
// takes a promise for true.
export const until = async (page, what, arg, ms = limit) => {
  const held = await page.evaluate(`(async () => {
    const what = ${what}, ends = performance.now() + ${ms};
    while (!await what(${JSON.stringify(arg)})) {
      if (performance.now() > ends) return false;
      await new Promise((next) => setTimeout(next, 20));
    }
    return true;
  })()`);
  if (held) return;
  const said = await page.evaluate(() => globalThis.day
    && { status: day.status, notices: [...day.notices], mayWrite: day.mayWrite, here: day.here,
    seen: document.visibilityState, worker: navigator.serviceWorker?.controller?.state, asked: globalThis.asked });
  const stored = await page.evaluate(counted).catch(String);
  const says = `the phone says ${JSON.stringify(said)} and keeps ${JSON.stringify(stored)}`;
  throw new Error(`this did not come to hold within ${ms / 60_000} min: ${what}; ${says}`);
};

// counted is how much of each kind the page keeps, past the app: one that shows nothing may have nothing, or not have read it.
async function counted() {
  const all = indexedDB.databases().then((names) => names.length > 0 && new Promise((told, failed) => {
    const opening = indexedDB.open("evenwhite");
    opening.onerror = () => failed(opening.error);
    opening.onsuccess = () => {
      const names = [...opening.result.objectStoreNames], reading = opening.result.transaction(names);
      const counts = names.map((name) => [name, reading.objectStore(name).count()]);
      reading.oncomplete = () => told(Object.fromEntries(counts.map(([name, { result }]) => [name, result])));
      reading.onabort = () => failed(reading.error);
    };
  }));
  return Promise.race([all, new Promise((told) => { setTimeout(told, 5000, "no answer in 5 s"); })]);
}

// loaded gives the page's scripts what the app's screens act by.
export const loaded = (page, day) => page.evaluate(async (url) => { globalThis.day = (await import(url)).day; }, day);
