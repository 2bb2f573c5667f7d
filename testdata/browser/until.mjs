// Until waits in a page until something holds, which may be a promise: Playwright's own waiting
// takes a promise for true.
export const until = async (page, what, arg, minutes = 1) => {
  const held = await page.evaluate(`(async () => {
    const what = ${what}, ends = performance.now() + ${60000 * minutes};
    while (!await what(${JSON.stringify(arg)})) {
      if (performance.now() > ends) return false;
      await new Promise((next) => setTimeout(next, 20));
    }
    return true;
  })()`);
  if (held) return;
  const said = await page.evaluate(() => globalThis.day && { status: day.status, notices: [...day.notices], mayWrite: day.mayWrite, here: day.here,
    seen: document.visibilityState, worker: navigator.serviceWorker?.controller?.state, asked: globalThis.asked });
  throw new Error(`this did not come to hold within ${minutes} min: ${what}; the phone says ${JSON.stringify(said)}`);
};

// loaded gives the page's scripts what the app's screens act by.
export const loaded = (page, day) => page.evaluate(async (url) => { globalThis.day = (await import(url)).day; }, day);
