// Clips found on the phone, offline, and by the service: the same words find the same clips, in the same order.
import { loaded, until } from "./until.mjs";

export default async ({ page, args }) => {
  await page.setViewportSize({ width: 360, height: 640 });
  await page.goto(`${args.origin}/`);
  await page.getByRole("button", { name: "Look around" }).click();
  await page.locator(".cam").first().waitFor();
  await loaded(page, args.day);
  await until(page, () => day.ask("state", {}).then((a) => a.value.rest === 0, () => false));
  const out = await page.evaluate(async (queries) => {
    const there = async ({ begins, ...q }) => {
      const of = new URLSearchParams({ ...q, ...(begins && { name: `${begins}*` }) });
      return (await (await fetch(`/look-around/v1/productions/${day.here.production}/clips?${of}`)).json()).clips;
    };
    const wrong = [], counts = {}, inOrder = (c) => JSON.stringify(c, Object.keys(c).sort());
    for (const q of queries) {
      const name = JSON.stringify(q), [here, must] = [(await day.find(q)).clips, await there(q)];
      counts[name] = here.length;
      const [a, b] = [here.map(inOrder).join("\n"), must.map(inOrder).join("\n")];
      if (a !== b) wrong.push(`${name}: here ${a.slice(0, 400)}, there ${b.slice(0, 400)}`);
    }
    const refused = [];
    for (const q of [{ timecodeFrom: "10:00:00:60" }, { timecodeTo: "10:00:00:00" }, { deviation: "ugly" }]) {
      refused.push(await day.find(q).then(() => "found", (e) => e.message));
    }
    return { wrong, counts, refused };
  }, args.queries);

  // How far off at least: the server looks it up.
  const far = page.locator("ew-find-box .label input"), offRows = page.locator("ew-find-box button.note");
  await page.evaluate(() => { location.hash = "#takes/find"; });
  await page.getByRole("button", { name: "How far", exact: true }).click();
  await far.fill("0,003");
  await page.getByRole("button", { name: "Duv", exact: true }).click();
  const inDuv = await page.evaluate(() => day.find({ least: "0.003 Duv" }).then((a) => a.clips.length));
  await until(page, (n) => document.querySelectorAll("ew-find-box button.note").length === n, inDuv); // before, those in mired stand there
  out.far = [await offRows.count(), inDuv];
  await page.context().setOffline(true);
  await far.fill("0.004");
  out.farOffline = await page.locator("ew-find-box [role=alert]").innerText();
  await far.fill("");

  // By hand, with no server: the beginning of a name, then one camera of it, then a clip that is gone to.
  await page.locator("ew-find-box input").first().fill("a001c00");
  const rows = page.locator("ew-find-box button.note");
  await rows.first().waitFor();
  out.typed = await rows.count();
  await page.locator("ew-find-box input").first().fill("?001C005");
  await until(page, () => document.querySelectorAll("ew-find-box button.note").length === 2);
  await page.getByRole("button", { name: "Camera", exact: true }).click();
  await page.getByRole("button", { name: "B", exact: true }).click();
  await until(page, () => document.querySelectorAll("ew-find-box button.note").length === 1);
  out.row = await rows.first().innerText();
  await rows.first().click();
  await page.locator('.take[aria-pressed="true"]').waitFor();
  out.gone = await page.locator('.take[aria-pressed="true"]').innerText();

  // The invented production is removed for good: nothing of it stays, and no start of the app brings it back.
  await page.context().setOffline(false);
  await page.evaluate(() => { location.hash = "#handover"; });
  await page.getByRole("button", { name: "Remove the invented one" }).click();
  for (let start = 0; start < 2; start++) {
    await page.locator("ew-first h1").waitFor();
    if (start === 0) await page.reload();
  }
  await loaded(page, args.day);
  await until(page, () => day.status.state === "unpaired");
  out.left = await page.evaluate(() => new Promise((told, failed) => {
    const opening = indexedDB.open("evenwhite");
    opening.onerror = () => failed(opening.error);
    opening.onsuccess = () => {
      const of = ["edits", "logs", "answers", "waiting", "productions"], reading = opening.result.transaction(of);
      const counts = of.map((name) => reading.objectStore(name).count());
      reading.oncomplete = () => told(Object.fromEntries(of.map((name, i) => [name, counts[i].result])));
    };
  }));
  return out;
};
