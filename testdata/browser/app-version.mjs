// A newer version of the app comes to the server while a form is open: it is offered once the form is closed, and taken by a person.
// What stood in the form is there in the newer one.
import { loaded, until } from "./until.mjs";

const offered = (page) => page.evaluate(() => day.notices.has("newVersion"));

export default async ({ page, args }) => {
  const out = {}, at = `${args.origin}/app/`;
  await page.goto(at);
  await loaded(page, args.day);
  await page.evaluate(() => day.lookAround());
  await until(page, () => day.here.setUp !== undefined && !day.notices.has("olderDays") && navigator.serviceWorker.controller !== null);
  out.before = await page.evaluate(() => caches.keys());
  await page.evaluate(() => {
    globalThis.thisPage = true;
    globalThis.swapped = 0;
    navigator.serviceWorker.addEventListener("controllerchange", () => { globalThis.swapped++; });
    day.go("note");
  });
  await page.locator("textarea").fill("half a sentence");
  await until(page, () => day.drafts.read("note", day.here.setUp).then((kept) => kept?.text === "half a sentence"));

  await fetch(`${args.control}/newer`, { method: "POST" });
  await page.evaluate(() => navigator.serviceWorker.getRegistration().then((r) => r.update()));
  await until(page, () => navigator.serviceWorker.getRegistration()
    .then((r) => !r.installing && (r.waiting !== null || globalThis.swapped > 0)));
  const told = await page.evaluate(() => new Promise((next) => { // whatever the app makes of it, it has made by then
    requestAnimationFrame(() => setTimeout(() => next(document.body.innerText)));
  }));
  out.open = { offered: await offered(page), told, swapped: await page.evaluate(() => globalThis.swapped) };

  await page.evaluate(() => day.back());
  await page.locator('[data-notice="newVersion"]').waitFor();
  out.told = await page.locator('[data-notice="newVersion"]').innerText();
  out.stays = await page.evaluate(() => globalThis.thisPage === true && globalThis.swapped === 0);
  await page.evaluate(() => day.go("handover"));
  await page.getByRole("button", { name: "Take the new version" }).click();
  await page.waitForFunction(() => globalThis.thisPage === undefined && document.querySelector("ew-app"));
  await loaded(page, args.day);
  await until(page, () => day.production !== undefined && day.here.setUp !== undefined && navigator.serviceWorker.controller !== null);
  await until(page, (was) => caches.keys().then((all) => all.length === 1 && all[0] !== was), out.before[0]);
  await page.evaluate(() => day.go("note"));
  await page.locator("textarea").waitFor();
  await until(page, () => document.querySelector("textarea").value !== "");
  out.draft = await page.locator("textarea").inputValue();
  out.again = await offered(page);
  return out;
};
