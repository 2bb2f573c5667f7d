// The places and their sheets in the invented production: measured at each size and in each theme,
// and acted in by counted taps.
import { join } from "node:path";
import { byKeys } from "./by-keys.mjs";
import { keyboard } from "./keys.mjs";
import { measured } from "./measured.mjs";

export default async ({ page, context, args, screens }) => {
  const out = { wrong: [], taps: {}, is: {}, measured: 0, far: 0 };
  let taps = 0;
  const tap = async (what) => {
    taps++;
    await what.click();
  };
  const button = (name, within = page) => within.getByRole("button", { name, exact: typeof name === "string" });
  const until = (what, arg) => page.waitForFunction(what, arg, { polling: "raf" });
  const ask = (name, message) => page.evaluate(([n, m]) => globalThis.day.ask(n, m).then((a) => a.value), [name, message]);
  const open = async (hash, ready) => {
    await page.evaluate((h) => { location.hash = h; }, hash);
    await page.locator(ready).first().waitFor();
  };
  const look = async (name, how) => {
    out.measured++;
    for (const w of await measured(page, how)) out.wrong.push(`${name}: ${w}`);
    if (screens) await page.screenshot({ path: join(screens, `places-${name.replaceAll(" ", "-")}.png`) });
  };

  await page.setViewportSize({ width: 360, height: 640 });
  const keys = await keyboard(page);
  await page.goto(`${args.origin}/`);
  await page.locator("ew-first .code").waitFor();
  await look("first");
  await keys.opened("first");
  await keys.opens("Look around", "now", ".cam");
  await page.evaluate(async (url) => {
    const { day, digits } = await import(url);
    Object.assign(globalThis, { day, digits });
  }, args.day);
  await page.locator("ew-now .cam").first().waitFor();
  await until(() => globalThis.day.ask("state", {}).then((a) => a.value.rest === 0, () => false));

  const lines = (await ask("setUps", {})).setUps, at = (name) => lines.find((l) => l.name === name);
  const day1 = at("12 A"), off = await ask("findings", { day: day1.day, accepted: false }), worst = off.deviations[0];
  const takes = (await ask("list", { setUp: day1.setUp, limit: 100 })).takes;
  const one = takes.find((t) => t.take && t.clips.length === 2), b = one.clips[1];
  const here = `setUp=${day1.setUp}`, cause = encodeURIComponent(worst.cause);
  const all = {
    lights: [`lights?setUp=${at("44 B").setUp}`, ".light .todo"],
    takes: [`takes?${here}&record=${one.take}`, '.take[aria-pressed="true"]'],
    choose: [`settle?setUp=${at("31 A").setUp}&part=choose`, "section.find .pair"],
    off: [`settle?${here}&finding=${cause}`, 'button.find[aria-pressed="true"]'],
    accepted: [`settle?setUp=${at("12 C").setUp}&part=accepted`, "button.find"],
    handover: ["handover", "ew-holder h2"],
    take: [`takes/take?${here}&kind=take&record=${one.take}`, "ew-clip-fields .step"],
    record: [`takes/record?kind=clip&record=${b.clip}&field=kelvin`, "section.panel b"],
    why: [`settle/why?${here}&cause=${cause}`, ".facts"],
    accept: [`settle/accept?${here}&cause=${cause}`, ".hand .two button"],
    picture: [`lights/picture?setUp=${at("44 B").setUp}`, ".pic svg"],
    light: [`lights/light?setUp=${at("44 B").setUp}&light=new`, "ew-field input"],
    prep: ["handover/prep?kind=lamp", "button.note"],
    body: ["handover/prep?kind=body&record=new", "ew-field input"],
    find: ["takes/find", "ew-find-box input"],
    pair: ["handover/pair", ".code"],
  };
  const size = await context.newCDPSession(page);
  const fonts = (standard) => size.send("Page.setFontSizes", { fontSizes: { standard, fixed: standard } });
  for (const [name, [hash, ready]] of Object.entries(all)) {
    await page.setViewportSize({ width: 360, height: 640 });
    await open(hash, ready);
    for (const theme of ["dark", "bright", "night"]) {
      await page.evaluate((t) => { document.documentElement.dataset.theme = t; }, theme);
      await look(`${name} ${theme}`);
    }
    await page.evaluate(() => { document.documentElement.dataset.theme = "dark"; });
    await page.setViewportSize({ width: 320, height: 568 });
    await look(`${name} 320`, { hand: false, access: false });
    await page.setViewportSize({ width: 360, height: 640 });
    await fonts(32);
    await look(`${name} twice as large`, { hand: false, access: false, flows: true });
    await fonts(16);
  }

  // The other drawings of the engine.
  await open(...all.picture);
  for (const [name, ready] of [["Over time", "svg [data-reading]"], ["As seen", "svg [data-rgb]"]]) {
    await button(name).click();
    await page.locator(ready).first().waitFor({ state: "attached" });
    await look(name);
  }

  // Follow A: what the engine says of it, by the cards of both cameras, and of nothing else.
  for (const { setUp } of lines) {
    const here = await ask("now", { setUp }), b = here.cameras.find((c) => !c.reference);
    const m = b && await ask("match", { setUp, camera: b.camera }).catch(() => undefined), f = m?.for === "camera" ? m : m?.following;
    if (f?.basis !== "from samples" || !f.best.residual) continue;
    await open(`now/camera?setUp=${setUp}&camera=${b.camera}`, ".far .dial");
    await button(/^Follow /).click();
    await page.locator(".far", { hasText: "to follow" }).waitFor();
    await look("follow");
    const far = await page.locator(".far").innerText();
    await button("Why").click();
    const leaves = b.last?.setting.kelvin === f.best.kelvin && (b.last.setting.tint ?? 0) === (f.best.tint ?? 0);
    out.follow = { far, leaves, why: await page.locator("ew-camera .panel").innerText(), best: f.best, words: f.words };
    if (m.best.kelvin !== f.best.kelvin || m.best.tint !== f.best.tint) break; // it says something else than for its own aim
  }

  // A camera at arm's length is read without moving the page, for its own aim and where it follows another.
  const cut = () => page.evaluate(() => [...document.querySelectorAll(".far-head, .far > *")].filter((e) => e.getBoundingClientRect().bottom
    > document.querySelector("main").getBoundingClientRect().bottom + 0.5).map((e) => `is not to be seen: ${e.innerText}`));
  await page.evaluate(() => { document.documentElement.dataset.theme = "dark"; });
  for (const { setUp, name } of lines) {
    for (const { camera, letter, last } of (await ask("now", { setUp })).cameras) {
      await open(`now?setUp=${setUp}`, "ew-now .cam"); // what was pressed at another camera is over
      await open(`now/camera?setUp=${setUp}&camera=${camera}`, ".far");
      const seen = async (how) => {
        out.far++;
        for (const w of await cut()) out.wrong.push(`${letter} of ${name}${how}: ${w}`);
      };
      await page.locator(".step small", { hasText: last ? "it is at" : /not read off|it is at/ }).waitFor();
      await seen("");
      const follow = button(/^Follow ./);
      if (await follow.count() === 0) continue;
      await follow.click();
      await page.locator(".far", { hasText: "to follow" }).waitFor();
      await seen(", following");
    }
  }

  // By keyboard alone: every place and sheet; at the desk the arrows pick a row, from the box for finding too, and Enter on a row
  // opens it. What has focus is framed, also where the person chose all colours.
  const [of31] = (await ask("list", { setUp: at("31 A").setUp, limit: 1 })).takes;
  await page.evaluate((record) => globalThis.day.save({ kind: "take", record, fields: { number: globalThis.digits("1000") } }), of31.take);
  await byKeys(page, keys, { open, setUp: at("31 A").setUp });
  out.keys = { wrong: keys.wrong, reached: [...keys.reached] };
  const framed = (what) => what.evaluate((e) => e.matches(":focus-visible") && parseFloat(getComputedStyle(e).outlineWidth) >= 2
    && getComputedStyle(e).outlineStyle !== "none");
  await open(...all.off);
  await button("Why").focus();
  await page.keyboard.press("Shift");
  const colours = (value) => size.send("Emulation.setEmulatedMedia", { features: [{ name: "forced-colors", value }] });
  await colours("active");
  out.is.framed = [await framed(button("Why"))];
  await page.locator(".status button").focus();
  out.is.framed.push(await framed(page.locator(".status button")));
  await open(...all.pair);
  await page.locator(".code-in").focus();
  out.is.framed.push(await framed(page.locator(".code-in")));
  await colours("none");
  await page.keyboard.press("Escape");
  await page.setViewportSize({ width: 1280, height: 800 });
  for (const [name, hash, ready] of [["measure", `now/measure?setUp=${at("44 B").setUp}`, ".pad"], ["body", ...all.body],
    ["lights", `${all.lights[0]}`, ".pic svg"]]) { // a sheet and a drawing are not drawn out to the width of a desk
    await open(hash, ready);
    out.wrong.push(...await page.evaluate((of) => {
      const sheet = location.hash.includes("/"), wide = 34 * parseFloat(getComputedStyle(document.documentElement).fontSize) + 1;
      const drawn = [...document.querySelectorAll(sheet ? "main button, main input, .hand button" : ".pic svg")].map((e) =>
        e.getBoundingClientRect());
      const over = Math.max(...drawn.map((b) => b.right)) - Math.min(...drawn.map((b) => b.left)) - wide;
      return over > 0 ? [`${of} at the desk: ${Math.round(over)} px too wide`] : [];
    }, name));
  }
  await open(`takes?${here}&record=${b.clip}`, `tr[aria-selected="true"][data-clip="${b.clip}"]`);
  await page.locator("ew-find-box input").focus();
  await page.keyboard.press("ArrowUp");
  await until((clip) => document.querySelector('tr[aria-selected="true"]')?.dataset.clip !== clip, b.clip);
  await page.locator(`tr[data-clip="${b.clip}"] button`).first().focus();
  await page.keyboard.press("Enter");
  await page.locator("ew-take ew-clip-fields .step").first().waitFor();
  out.is.opened = await page.evaluate(() => globalThis.day.here.what.record);
  await page.keyboard.press("Escape");
  await page.locator("ew-takes").waitFor();
  await page.setViewportSize({ width: 360, height: 640 });

  // Acts, each counted from its place.
  const counted = async (name, acts) => {
    taps = 0;
    await acts();
    out.taps[name] = taps;
  };
  const field = async (kind, record, name) => (await ask("form", { kind, record })).values[name]?.value;
  const kelvin = await field("clip", b.clip, "kelvin");
  await open(...all.takes);
  await counted("correct a kelvin by a step", async () => {
    await tap(button("Change"));
    await page.locator(".dials .step").nth(1).waitFor();
    await tap(page.locator(".dials .step").nth(1).locator("button").last());
    await until(([clip, was]) => globalThis.day.ask("form",
      { kind: "clip", record: clip }).then((a) => a.value.values.kelvin.value !== was), [b.clip, kelvin]);
    await tap(button("Back"));
  });
  out.is.kelvin = [kelvin, await field("clip", b.clip, "kelvin"), await field("clip", b.clip, "settingsAre")];
  await page.locator('.take[aria-pressed="true"]').first().waitFor();
  await counted("no good", () => tap(button("No good")));
  await until((take) => globalThis.day.ask("form", { kind: "take", record: take }).then((a) => a.value.values.state?.value === "noGood"),
    one.take);

  await open(...all.lights);
  const spot = page.locator(".light", { hasText: "spot from the door" });
  await counted("the gel is on", async () => {
    await tap(spot);
    await tap(page.locator(".acts .act"));
  });
  const light = (await ask("now", { setUp: at("44 B").setUp })).lights.find((l) => l.name === "spot from the door").light;
  await until((l) => globalThis.day.ask("form",
    { kind: "light", record: l }).then((a) => (a.value.values["rigged/gels"]?.value ?? []).length > 0), light);

  await open(...all.off);
  const causes = () => ask("findings", { day: day1.day, accepted: true });
  const before = (await causes()).deviations.length;
  await counted("accept a finding", async () => {
    await tap(page.locator("button.find").first());
    await tap(button("Accept"));
    await tap(page.locator(".hand .two button").first());
  });
  await until(([day, n]) => globalThis.day.ask("findings", { day, accepted: true }).then((a) => a.value.deviations.length > n),
    [day1.day, before]);

  await open(...all.choose);
  const questions = async () => (await ask("twins", {})).twins.length;
  const asked = await questions();
  await counted("one take or two", () => tap(button("One take")));
  await until((n) => globalThis.day.ask("twins", {}).then((a) => a.value.twins.length < n), asked);
  await counted("settle a conflict", async () => tap(page.locator(".acts.even button").first()));
  await until(() => globalThis.day.ask("conflicts", {}).then((a) => a.value.conflicts.length === 0));

  await open("handover/prep?kind=gel&record=new", "ew-field input");
  await page.locator("ew-field input").first().fill("quarter warm, from the roll");
  await until(() => globalThis.day.drafts.read("prep", "gel/new").then(Boolean));
  await page.reload(); // a draft is kept
  await page.evaluate(async (url) => { globalThis.day = (await import(url)).day; }, args.day);
  await until(() => document.querySelector("ew-field input")?.value === "quarter warm, from the roll");
  await button("Save").click();
  await page.locator(".fault").first().waitFor();
  out.is.lacks = await page.locator(".fault").first().innerText();
  await button("warm").click();
  await button("Save").click();
  await until(() => globalThis.day.ask("list", { kind: "gel" })
    .then((a) => a.value.records.some((r) => r.name === "quarter warm, from the roll"), () => false));
  await until(() => !document.querySelector("ew-record-form")); // the sheet has closed itself
  return out;
};
