// A phone on a day when its server is ended, in whatever browser: it pairs by a code and logs, goes on without a server,
// is opened again, and sends when the server is back. args.part: out, then back in another browser of the same home; or all.
import { loaded, until } from "./until.mjs";

const sent = (page) => until(page, () => day.status.state === "sent" && day.status.count === 0 && day.status.at !== undefined);

// takes logs so many, one after another, and says which edits each is.
const takes = (page, count) => page.evaluate(async (n) => {
  const out = [];
  for (let i = 0; i < n; i++) out.push(...await (await day.event(day.here.setUp, { event: "nextTake" })).made);
  return out.map((m) => ({ dot: m.dot, kind: m.kind, record: m.record }));
}, count);

async function out(page, { origin, day: module, code, control }) {
  await page.goto(`${origin}/`);
  await loaded(page, module);
  await until(page, () => document.querySelector(".code-in") !== null);
  await page.fill(".code-in", code.toLowerCase());
  await page.fill("main input:not(.code-in)", "2nd AC");
  await page.press("Pair");
  await until(page, () => day.here.setUp !== undefined);
  const made = await takes(page, 3);
  await sent(page);
  const token = await page.evaluate(async () => {
    const answer = await day.askServer("POST", "/v1/scripts", { role: "editor", label: "other", hours: 1 });
    return (await answer.json()).token;
  });
  await until(page, () => day.status.state !== "notSetUp" && navigator.serviceWorker.controller !== null);
  await fetch(`${control}/end`, { method: "POST", body: JSON.stringify({ token }) });
  made.push(...await takes(page, 2));
  await page.reload(); // there is no server
  await loaded(page, module);
  await until(page, () => day.here.setUp !== undefined && day.status.count > 0);
  await until(page, () => day.ask("state", {}).then(({ value }) => value.rest === 0, () => false));
  await until(page, () => [...document.querySelectorAll("button")].some((b) => b.innerText.trim().startsWith("Next take")));
  await page.evaluate(() => { globalThis.before = day.last?.at; });
  await page.press("Next take");
  await until(page, () => day.last !== undefined && day.last.at !== globalThis.before);
  made.push(...await page.evaluate(async () => (await day.last.made).map((m) => ({ dot: m.dot, kind: m.kind, record: m.record }))));
  const { state, count } = await page.evaluate(() => ({ state: day.status.state, count: day.status.count }));
  return { takes: made.filter((m) => m.kind === "take").map((m) => m.record), edits: made.map((m) => m.dot), state, count };
}

async function back(page, { origin, day: module }) {
  await page.goto(`${origin}/`);
  await loaded(page, module);
  await sent(page);
  return page.evaluate(() => ({ by: day.by, said: document.querySelector(".status").innerText }));
}

export default async ({ page, args }) => {
  if (args.part === "out") return out(page, args);
  if (args.part === "back") return back(page, args);
  const first = await out(page, args);
  await fetch(`${args.control}/again`, { method: "POST" });
  return { ...first, ...await back(page, args) };
};
