// The app by keyboard alone: where Tab leads, whether what has focus is seen to have it, and where focus is
// once a sheet has opened and once it is closed.

/** most is after how many presses of Tab somebody gives up. */
const most = 60;

/**
 * keyboard goes about the page by keys, and is made before the page is opened. wrong tells what cannot be done so; reached are the
 * app's elements in which something had focus.
 */
export async function keyboard(page) {
  const wrong = [], reached = new Set(), open = [];
  await page.addInitScript(keyed);
  const press = (key) => page.keyboard.press(key);
  const until = (what, arg) => page.waitForFunction(what, arg, { polling: "raf" }).then(() => true, () => false);
  const at = async () => {
    const is = await page.evaluate(() => globalThis.keyed.at());
    for (const e of is.within) reached.add(e);
    return is;
  };

  /** tab goes on by Tab until what has focus begins with these words; whatever it passes is looked at. */
  async function tab(name) {
    const passed = [];
    for (let i = 0; i < most; i++) {
      const is = await at();
      if (is.wrong && !await until(() => !globalThis.keyed.at().wrong)) wrong.push(`${is.screen}: ${is.wrong}`); // a list may be moving
      if (is.words.startsWith(name)) return true;
      passed.push(is.words.slice(0, 20));
      await press("Tab");
    }
    wrong.push(`${(await at()).screen}: Tab does not lead to “${name}”, but to ${[...new Set(passed)].join(" | ")}`);
    return false;
  }

  /** opened looks at a screen that was opened just now: it has focus, and so may each control of it. */
  async function opened(screen) {
    if (!await until((s) => document.activeElement.closest(`ew-${s}`), screen)) wrong.push(`${screen}: it is open and has no focus`);
    await at();
    await press("Shift"); // the keyboard was used last
    wrong.push(...(await page.evaluate(() => globalThis.keyed.all())).map((w) => `${screen}: ${w}`));
  }

  /** opens presses Enter on what has these words, which opens a place or a sheet. */
  async function opens(name, screen, ready = "button") {
    if (!await tab(name)) return false;
    const from = (await at()).words;
    await press("Enter");
    if (!await until(([s, r]) => document.querySelector(`ew-${s} ${r}`), [screen, ready])) {
      wrong.push(`Enter on “${name}” does not open ${screen}`);
      return false;
    }
    await opened(screen);
    open.push({ screen, from });
    return true;
  }

  /** closes presses Escape: the sheet on top is closed, and what opened it has focus again. */
  async function closes() {
    const { screen, from } = open.pop();
    await press("Escape");
    if (!await until((s) => !document.querySelector(`ew-${s}`), screen)) wrong.push(`${screen}: Escape does not close it`);
    if (!await until((words) => globalThis.keyed.at().words === words, from)) {
      wrong.push(`${screen}: once it is closed “${(await at()).words}” has focus, and not “${from}”`);
    }
  }

  /** sheet opens one, does something there, and closes it. */
  async function sheet(name, screen, ready, within = () => {}) {
    if (!await opens(name, screen, ready)) return;
    await within();
    await closes();
  }

  /** does presses Enter on what has these words, until ready is there. Whatever it changes, something has focus. */
  async function does(name, ready) {
    if (!await tab(name)) return;
    const { screen } = await at();
    await press("Enter");
    if (!await until((r) => document.querySelector(r), ready)) wrong.push(`${screen}: Enter on “${name}” does not lead to ${ready}`);
    else if (!await until(() => document.activeElement !== document.body)) wrong.push(`${screen}: after “${name}” nothing has focus`);
  }

  /** gone says that what was done has closed these sheets. */
  async function gone(...screens) {
    for (const screen of screens) {
      open.pop();
      if (!await until((s) => !document.querySelector(`ew-${s}`), screen)) wrong.push(`${screen}: it does not close itself`);
    }
    if (!await until(() => document.activeElement !== document.body)) wrong.push(`${screens}: once closed, nothing has focus`);
  }
  return { wrong, reached, press, tab, opened, opens, closes, sheet, does, gone };
}

/** keyed puts into the page what looks at focus there. */
function keyed() {
  const words = (e) => (e === document.body ? "" : e.getAttribute("aria-label") || e.labels?.[0]?.innerText || e.innerText || e.placeholder
    || e.tagName).trim().replace(/\s+/g, " ");
  const within = (e) => (e ? [...e.localName.startsWith("ew-") ? [e.localName] : [], ...within(e.parentElement)] : []);
  const frameOf = (e) => e.closest("label.b, .code") ?? e; // their field lies over or under what is seen of it
  const framed = (e) => {
    const s = getComputedStyle(frameOf(e));
    return s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2;
  };
  const covered = (e) => {
    const b = frameOf(e).getBoundingClientRect(), hit = document.elementFromPoint(b.left + b.width / 2, b.top + b.height / 2);
    return !hit || !frameOf(e).contains(hit);
  };
  const at = () => {
    const e = document.activeElement ?? document.body, of = within(e);
    const is = { words: words(e), screen: of.at(-2) ?? "the frame", within: of, wrong: "" };
    if (e === document.body || e.matches("h1, main, .table")) return is;
    if (!framed(e)) is.wrong = `“${is.words}” has focus and no frame`;
    else if (covered(e)) is.wrong = `“${is.words}” has focus and is not to be seen`;
    return is;
  };
  /** all has each control take focus in turn, and tells which does not, or shows none. */
  const all = () => {
    const was = document.activeElement, wrong = [];
    for (const e of document.querySelectorAll("button, a[href], input, select, textarea, summary")) {
      if (!e.checkVisibility({ visibilityProperty: true }) || e.disabled) continue;
      e.focus();
      const { wrong: how } = at();
      if (document.activeElement !== e || e.tabIndex !== 0) wrong.push(`“${words(e)}” takes no focus by Tab`);
      else if (how) wrong.push(how);
    }
    was.focus();
    return wrong;
  };
  globalThis.keyed = { at, all };
}
