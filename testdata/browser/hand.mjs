// What holds of every screen for hand and eye. Each rule answers what breaks it, in words.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

// The size of a control, and what lies between two; the first act's, and where its place begins.
const rules = { side: 48, gap: 8, first: 64, third: 2 / 3, letters: 14 };

/** reach looks at sizes, gaps, first acts, letters and colours of what is on the screen. */
export function reach(page) {
  return page.evaluate((r) => {
    const out = [], slack = 0.6;
    const named = (e) => (e.getAttribute("aria-label") || e.innerText || e.tagName).trim().replace(/\s+/g, " ").slice(0, 40);
    const clip = (e) => { // what of it is to be seen: a list scrolls under the hand's zone
      const b = e.getBoundingClientRect(), box = { left: b.left, right: b.right, top: b.top, bottom: b.bottom, b };
      for (let p = e.parentElement; p; p = p.parentElement) {
        if (getComputedStyle(p).overflowY === "visible") continue;
        const c = p.getBoundingClientRect();
        box.top = Math.max(box.top, c.top);
        box.bottom = Math.min(box.bottom, c.bottom);
      }
      return box;
    };
    const controls = [...document.querySelectorAll("button, a[href], select, textarea, input:not(.vh):not([type=hidden]), label.b")]
      .filter((e) => e.checkVisibility() && !e.disabled).map((e) => ({ e, ...clip(e) }));
    for (const c of controls) {
      if (c.b.width < r.side - slack
        || c.b.height < r.side - slack) out.push(`${named(c.e)} is ${c.b.width.toFixed(0)} by ${c.b.height.toFixed(0)}`);
      if (c.e.matches(".b.act") && (c.b.height < r.first - slack || c.b.top < innerHeight * r.third - slack && c.bottom <= innerHeight)) {
        out.push(`first act ${named(c.e)}: ${c.b.height.toFixed(0)} high, from ${c.b.top.toFixed(0)} of ${innerHeight}`);
      }
    }
    const seen = controls.filter((c) => c.bottom - c.top > 2);
    for (const [i, a] of seen.entries()) {
      for (const b of seen.slice(i + 1)) {
        if (a.e.contains(b.e) || b.e.contains(a.e)) continue;
        const gap = Math.max(a.left - b.right, b.left - a.right, a.top - b.bottom, b.top - a.bottom);
        if (gap < r.gap - slack) out.push(`${gap.toFixed(1)} px between ${named(a.e)} and ${named(b.e)}`);
      }
    }
    const grey = (text) => {
      const [red, green, blue, opaque = 1] = (/rgba?\(([^)]+)\)/.exec(text)?.[1] ?? "0,0,0").split(",").map(Number);
      return opaque === 0 || red === green && green === blue;
    };
    for (const e of document.querySelectorAll("body, body *")) {
      if (e.closest(".pic") || !e.checkVisibility()) continue;
      const s = getComputedStyle(e);
      for (const of of ["color", "backgroundColor", "borderTopColor", "borderLeftColor", "outlineColor", "fill", "stroke"]) {
        if (s[of].startsWith("rgb") && !grey(s[of])) out.push(`${of} of ${named(e)} is ${s[of]}`);
      }
      const says = [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim() !== "");
      if (says && parseFloat(s.fontSize) < r.letters) out.push(`${named(e)} is in ${s.fontSize}`);
    }
    return [...new Set(out)];
  }, rules);
}

/**
 * access asks axe for violations of WCAG 2.2 AA. held says that the page's clock stands: then it goes on by a millisecond where axe waits.
 */
export async function access(page, held = false) {
  if (!await page.evaluate(() => "axe" in window)) await page.evaluate(axe);
  await page.evaluate(() => {
    globalThis.judged = undefined;
    void globalThis.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] }).then(({ violations }) => {
      globalThis.judged = violations.map((v) => `${v.id}: ${v.nodes.slice(0,
        3).map((n) => `${n.target} ${n.html.slice(0, 120)}`).join(" | ")}`);
    }, (e) => { globalThis.judged = [`axe: ${e}`]; });
  });
  for (;;) {
    const judged = await page.evaluate(() => globalThis.judged);
    if (judged) return judged;
    await (held ? page.clock.runFor(1) : new Promise((next) => { setTimeout(next, 20); }));
  }
}

/** wide says what makes a screen move sideways, or is cut off at its side. */
export function wide(page) {
  return page.evaluate(() => {
    const over = document.documentElement.scrollWidth - innerWidth;
    const cut = [...document.querySelectorAll("main, .hand, button, .s, b")].filter((e) => e.checkVisibility()
      && e.scrollWidth > e.clientWidth + 1
      && e.clientWidth > 0 && getComputedStyle(e).display !== "inline").map((e) => `${e.tagName} ${e.className} ${e.innerText.slice(0,
        30)}`);
    return [...over > 0 ? [`${over} px too wide`] : [], ...cut.map((c) => `cut: ${c.replace(/\s+/g, " ")}`)];
  });
}
