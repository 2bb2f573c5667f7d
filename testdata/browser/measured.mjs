// What SCREENS asks of every screen, measured in the page: targets and the space between them, the
// first act, sizes of text, greys, no sideways movement; and what axe finds.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];

// inPage runs in the page and tells what is not as it must be.
function inPage({ hand, flows }) {
  const wrong = [], least = 47.5, between = 7.5;
  const box = (e) => e.getBoundingClientRect();
  const name = (e) => `${e.tagName.toLowerCase()} “${(e.getAttribute("aria-label") || e.textContent || e.placeholder
    || "").trim().replace(/\s+/g, " ").slice(0, 40)}”`;
  const shown = (e) => e.checkVisibility({ checkOpacity: false, checkVisibilityCSS: true }) && box(e).width > 1 && box(e).height > 1;
  const clipped = (e) => { // what of it is to be seen within what scrolls
    let { left, top, right, bottom } = box(e);
    for (let p = e.parentElement; p; p = p.parentElement) {
      if (getComputedStyle(p).overflowY === "visible") continue;
      const b = box(p);
      [left, top, right, bottom] = [Math.max(left, b.left), Math.max(top, b.top), Math.min(right, b.right), Math.min(bottom, b.bottom)];
    }
    return right > left && bottom > top ? { left, top, right, bottom } : undefined;
  };
  const controls = [...document.querySelectorAll("a[href], button, input, select, textarea, summary")].filter(shown);
  for (const e of controls) {
    const b = box(e);
    if (b.width < least || b.height < least) wrong.push(`small: ${name(e)} ${Math.round(b.width)}×${Math.round(b.height)}`);
  }
  const seen = controls.map((e) => [e, clipped(e)]).filter(([, b]) => b);
  for (let i = 0; i < seen.length; i++) {
    for (let j = i + 1; j < seen.length; j++) {
      const [a, x] = seen[i], [b, y] = seen[j];
      if (a.contains(b) || b.contains(a)) continue;
      if (flows && Boolean(a.closest(".acts")) !== Boolean(b.closest(".acts"))) continue; // the page flows under the act row
      const gap = Math.max(x.left - y.right, y.left - x.right, x.top - y.bottom, y.top - x.bottom);
      if (gap < between) wrong.push(`close: ${name(a)} and ${name(b)} ${gap.toFixed(1)}`);
    }
  }
  if (hand) {
    for (const e of document.querySelectorAll(".acts > .b.act")) {
      const b = box(e);
      if (b.height < 64) wrong.push(`first act: ${name(e)} is ${Math.round(b.height)} high`);
      if (b.top < innerHeight * 2 / 3) wrong.push(`first act: ${name(e)} begins at ${Math.round(b.top)}`);
    }
    if (document.querySelectorAll(".b.act").length > 1) wrong.push("more than one filled button");
  }
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let t = texts.nextNode(); t; t = texts.nextNode()) {
    const e = t.parentElement;
    if (!t.data.trim() || e.closest("svg, style, script, option") || !shown(e)) continue;
    const size = parseFloat(getComputedStyle(e).fontSize);
    if (size < 13.99) wrong.push(`text of ${size} px: ${name(e)}`);
  }
  for (const t of innerWidth < 360 ? [] : document.querySelectorAll(".pic svg text")) { // a drawing is as wide as there is room
    const size = parseFloat(getComputedStyle(t).fontSize) * t.getScreenCTM().a;
    if (size < 11.99) wrong.push(`letters of ${size.toFixed(1)} px in a drawing: “${t.textContent.slice(0, 30)}”`);
  }
  const grey = (value) => [...value.matchAll(/rgba?\((\d+), (\d+), (\d+)(?:, ([\d.]+))?\)/g)].every(([, r, g, b, a]) => a === "0"
    || (r === g && g === b));
  for (const e of document.querySelectorAll("body, body *")) {
    if (e.closest(".pic svg")) continue;
    const s = getComputedStyle(e);
    for (const p of ["color", "backgroundColor", "borderTopColor", "borderLeftColor", "outlineColor", "fill", "stroke", "boxShadow"]) {
      if (!grey(s[p])) wrong.push(`not grey: ${p} ${s[p]} of ${name(e)}`);
    }
  }
  const page = document.scrollingElement;
  if (page.scrollWidth > innerWidth) wrong.push(`sideways: the page is ${page.scrollWidth} wide`);
  for (const e of document.querySelectorAll("main, .hand, .side")) {
    if (shown(e) && e.scrollWidth > e.clientWidth) wrong.push(`sideways: ${e.tagName} is ${e.scrollWidth} wide in ${e.clientWidth}`);
  }
  return [...new Set(wrong)];
}

// measured is what is wrong with the screen that is open. hand: the first act is where the thumb is;
// access: axe looks as well; flows: the page flows under an act row that stays.
export async function measured(page, { hand = true, access = true, flows = false } = {}) {
  const wrong = await page.evaluate(inPage, { hand, flows });
  if (!access) return wrong;
  if (!await page.evaluate(() => "axe" in globalThis)) await page.evaluate(axe);
  const found = await page.evaluate(async (values) => (await globalThis.axe.run(document,
    { runOnly: { type: "tag", values }, resultTypes: ["violations"] })).violations
    .flatMap((v) => v.nodes.map((n) => `axe ${v.id}: ${n.target.join(" ")} ${n.failureSummary.split("\n")[1]?.trim() ?? ""}`)), tags);
  return [...wrong, ...found];
}
