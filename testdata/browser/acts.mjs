// What a day asks of a phone beside takes and readings, each act by its buttons, and its taps counted: a
// production begun, others let in, a body swapped, a white chosen by two people apart and settled.
import { spawnSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { keyboard } from "./keys.mjs";
import { loaded, until } from "./until.mjs";

const phone = { width: 360, height: 640 };

export default async ({ page, context, args, screens }) => {
  const out = { taps: {}, said: {} };
  let taps = 0;
  const named = (of, name) => of.getByRole("button", { name, exact: typeof name === "string" });
  const tap = async (on, of = page) => {
    taps++;
    await (typeof on === "string" || on instanceof RegExp ? named(of, on).first() : on).click();
  };
  const counted = async (name, acts) => {
    taps = 0;
    await acts();
    out.taps[name] = taps;
  };
  const shot = (name, of = page) => screens && of.screenshot({ path: join(screens, `acts-${name}.png`) });
  const ask = (of, name, message) => of.evaluate(([n, m]) => day.ask(n, m).then((a) => a.value), [name, message]);
  const records = (of, kind) => ask(of, "list", { kind, limit: 100 }).then((p) => p.records);
  const go = (of, hash, ready) => of.evaluate((h) => { location.hash = h; }, hash).then(() => of.locator(ready).first().waitFor());
  const field = (of, label) => of.locator("ew-field, ew-keyed").filter({
    has: of.locator(":scope > fieldset > legend, :scope > .label > label", { hasText: label }) }).first();
  const digits = async (of, text) => { for (const d of text) await of.locator(".pad .b", { hasText: d }).first().click(); };
  const opened = async (of, at, ready) => {
    await of.setViewportSize(phone);
    await of.goto(at);
    await loaded(of, args.day);
    await of.locator(ready).first().waitFor();
  };

  // The server has no production: an owner begins one on the phone, and logs its first take.
  const keys = await keyboard(page);
  await opened(page, `${args.origin}/`, ".code-in");
  await page.locator(".code-in").fill(args.code);
  await page.locator("main input:not(.code-in)").first().fill("DIT");
  await tap("Pair");
  await page.locator("ew-none h1").waitFor();
  await keys.opened("none");
  await keys.sheet("New production", "production", "ew-field input");
  await counted("a production, from nothing to its first take", async () => {
    await tap("New production");
    await page.locator("#f-title").fill("The Night Ferry");
    await tap("25");
    await tap("5500 based");
    await tap("Begin");
    await tap("Add day");
    await page.locator("#f-place").fill("the harbour");
    await tap("Save");
    await tap("Add body");
    await page.locator("#f-label").fill("body 1");
    await tap(named(field(page, "Ways to set white"), "kelvin"));
    await tap(named(field(page, "Kelvin ranges"), "Add one"));
    for (const [of, text] of [["Min", "2500"], ["Max", "10000"], ["Step", "100"]]) await field(page,
      "Kelvin ranges").getByLabel(of).fill(text);
    await tap(named(field(page, "Recording modes"), "Add one"));
    await field(page, "Recording modes").getByLabel(/^Name/).first().fill("8 bit");
    await tap(named(page, "baked"));
    await tap(named(field(page, "Timecode"), "time of day"));
    await tap("Save");
    await tap("Add camera");
    await tap("Save");
    await tap("Next set-up");
    await tap(page.locator(".acts .act"));
    await page.locator(".cam").first().waitFor();
    await tap(/^Next take/);
    await page.locator("ew-done", { hasText: "Take 1 saved" }).waitFor();
  });
  await shot("first-take");
  await until(page, () => day.status.count === 0 && day.status.at !== undefined);
  out.begun = await page.evaluate(async () => (await (await day.askServer("GET",
    "/v1/productions")).json()).productions.map((p) => p.title));

  // Nobody read the camera off yet: it is typed, and stood so in take 1 already.
  const clipOf = async (of) => (await ask(of, "list", { setUp: await of.evaluate(() => day.here.setUp), limit: 1 })).takes[0].clips[0];
  await counted("a setting typed, beside its digits", async () => {
    await tap(page.locator(".cam").first());
    await tap(page.locator(".step .mid"));
    await digits(page, "5600");
    await tap(page.locator(".pad .save"));
  });
  await until(page, () => day.ask("list",
    { setUp: day.here.setUp, limit: 1 }).then((a) => a.value.takes[0].clips[0].setting.kelvin === 5600));
  out.said.typed = (await clipOf(page)).settingsAre;

  // A body swapped.
  await page.evaluate(() => day.create("body",
    { label: "body 2", whiteModes: ["kelvin"], kelvinRanges: [{ min: 2500, max: 10000, step: 100 }],
    recordingModes: { main: { name: "8 bit", white: "baked" } }, timecode: "timeOfDay" }).then((a) => a.made));
  await go(page, "#now", ".cam");
  await counted("a body swapped", async () => {
    await tap(page.locator(".cam").first());
    await tap(/body 1: another body/);
    await tap("body 2");
  });
  await until(page, () => day.ask("list", { kind: "camera" }).then((a) => a.value.records[0].body.from !== undefined));
  const [bodies, cameras] = [await records(page, "body"), await records(page, "camera")];
  out.said.swapped = bodies.find((b) => b.id === cameras[0].body.body).label;

  // Another phone is let in by what it scans off this one.
  await go(page, "#handover", "ew-server h2");
  await keys.sheet("Invite", "invite");
  out.keys = { wrong: keys.wrong, reached: [...keys.reached] };
  await counted("another phone let in", async () => {
    await tap("Invite");
    await tap(page.locator(".acts .act"));
  });
  await page.locator(".pic svg").waitFor();
  const seen = join(args.folder, "invitation.png");
  writeFileSync(seen, await page.screenshot());
  await shot("invitation");
  const link = spawnSync("zbarimg", ["-q", "--raw", seen], { encoding: "utf8" }).stdout.trim();
  out.said.link = link.replace(/#.*/, "#…");
  const others = await context.browser().newContext(), b = await others.newPage();
  await opened(b, link, "ew-pair h1, ew-first h1");
  await b.locator("main input:not(.code-in)").first().fill("gaffer");
  await tap(/^do lights/, b);
  await tap("Pair", b);
  await b.locator("ew-lights h1").waitFor();
  out.said.starts = await b.evaluate(() => day.here.place);
  await until(b, () => day.ask("list", { kind: "body" }).then((a) => a.value.records.length === 2, () => false));

  // Who holds it: two taps, back as well.
  await counted("who holds this phone", async () => {
    await b.locator(".status").click();
    await b.getByLabel("Another name").fill("best boy");
    await tap("Holds it", b);
  });
  const note = (words) => b.evaluate((text) => day.save({ kind: "note", fields: { about: day.here.setUp, text } }).then((a) => a.made),
    words);
  await note("from the one");
  await go(b, "#now", ".cam");
  await counted("who holds this phone, again", async () => {
    await tap(b.locator(".status button"), b);
    await tap("gaffer", b);
  });
  await until(b, () => day.by === "gaffer");
  out.said.holds = await b.evaluate(() => day.by);
  await note("from the other");
  out.said.by = (await records(b, "note")).map((n) => `${n.text}: ${n.madeBy}`).sort().join(", ");

  // Two whites chosen apart: told, and settled.
  await go(page, "#now", ".cam");
  await go(b, "#now", ".cam");
  for (const c of [context, others]) await c.setOffline(true);
  for (const [of, kelvin] of [[page, "5600"], [b, "3200"]]) {
    await tap(/No white yet/, of);
    await tap("A nominal white", of);
    await digits(of, kelvin);
    await tap(of.locator(".pad .save"), of);
    await of.locator("ew-done", { hasText: "White chosen" }).waitFor();
  }
  for (const c of [context, others]) await c.setOffline(false);
  const apart = (n) => day.ask("conflicts", {}).then((a) => a.value.apart.length === n);
  for (const of of [page, b]) await until(of, apart, 1);
  await page.locator(".cam", { hasText: "Not settled: two whites" }).waitFor();
  await counted("two whites settled", async () => {
    await tap(/Not settled: two whites.*nominal/s);
    await page.locator(".acts.even").waitFor();
    await shot("two-whites");
    await tap(/^Use 3200 K/);
  });
  for (const of of [page, b]) await until(of, apart, 0);
  out.said.white = (await ask(b, "now", { setUp: await b.evaluate(() => day.here.setUp) })).white.words;

  // What was pressed and could not be logged: shown, put right and made, or given up.
  const waits = () => page.evaluate(() => day.notMade().then((all) => all.length));
  const lost = { event: "joinsLate", camera: "01a2b3c4-d5e6-7788-99aa-bbccddeeff00" };
  await page.evaluate((event) => day.event(day.here.setUp, event).then((a) => a.made.catch(() => {})), lost);
  await until(page, () => day.notices.has("notMade"));
  await go(page, "#settle", "section.find");
  out.said.notMade = await page.locator("section.find").innerText();
  await shot("not-logged");
  await tap("Try again");
  await until(page, () => day.notMade().then((all) => all.length === 1)); // it lacks the same still
  await counted("what could not be logged, given up", () => tap("Give up"));
  await until(page, () => !day.notices.has("notMade"));
  out.left = await waits();

  // Files for post, and of the day.
  await go(page, "#handover", "ew-files h2");
  for (const name of ["Colour log", "XLSX", "JSON", "All as zip", "Bundle"]) {
    const given = page.waitForEvent("download");
    await tap(name);
    const file = await given;
    out[name] = [file.suggestedFilename(), readFileSync(await file.path()).subarray(0, 2).toString("latin1")];
  }
  await context.setOffline(true);
  await tap("XLSX");
  out.said.offline = await page.locator("ew-files [role=status]").filter({ hasText: "not answer" }).innerText();
  await context.setOffline(false);

  // A spectrum in XML: the server reads it; without it that is said.
  const nm = [...Array(41).keys()].map((i) => 380 + 10 * i);
  const xml = `<?xml version="1.0"?><IESTM2714 xmlns="http://www.ies.org/iestm2714" version="1.0">
    <Header><Description>an even light</Description></Header>
    <SpectralDistribution><SpectralQuantity>relative</SpectralQuantity>
    ${nm.map((w) => `<SpectralData wavelength="${w}">1.0</SpectralData>`).join("")}</SpectralDistribution></IESTM2714>`;
  const file = { name: "even.spdx", mimeType: "application/xml", buffer: Buffer.from(xml) };
  await go(page, "#now/measure", ".pad");
  await context.setOffline(true);
  await page.locator("input[type=file]").setInputFiles(file);
  out.said.unread = await page.locator("[role=alert]").first().innerText();
  await context.setOffline(false);
  await page.locator("input[type=file]").setInputFiles(file);
  await until(page, () => day.ask("list", { kind: "reading" }).then((a) => a.value.records.length === 1));
  out.spectrum = (await records(page, "reading"))[0].measured.values.length;

  // Whoever finishes the picture writes notes alone.
  await go(page, "#now/invite", ".acts .act");
  await tap("finish");
  await tap(page.locator(".acts .act"));
  const code = (await page.locator(".panel .big").innerText()).replace(/\s/g, "");
  const posts = await context.browser().newContext(), post = await posts.newPage();
  await opened(post, `${args.origin}/`, ".code-in");
  await post.setViewportSize({ width: 1280, height: 800 });
  await post.locator(".code-in").fill(code);
  await named(post, "Pair").click();
  await post.locator("tr[data-row]").first().waitFor();
  out.said.rail = await post.locator(".places").innerText();
  await post.locator("tr[data-row]").first().click();
  await post.getByLabel("Question").or(post.locator("ew-clip form input")).first().fill("is it meant so warm?");
  await post.locator("ew-clip form button").click();
  await until(page, () => day.ask("list", { kind: "note" }).then((a) => a.value.records.some((n) => /so warm/.test(n.text))));
  await shot("desk", post);
  out.deadButtons = await named(post, /^Next take/).count();

  // What post asks is marked at its take and answered there; then it is no more asked, and post reads the answer.
  const asked = page.locator(".take", { hasText: "Asked" }), typed = page.locator("textarea");
  await go(page, "#takes", ".take");
  await asked.first().click();
  out.said.asks = await page.locator(".strip", { hasText: "asks" }).innerText();
  await shot("asked");
  await tap("Answer");
  await typed.fill("yes, it is dusk there");
  await shot("answer");
  await tap("Save");
  await asked.waitFor({ state: "detached" });
  await post.locator("ew-clip .panel", { hasText: "it is dusk there" }).waitFor();
  out.said.answered = await post.locator("ew-clip .panel", { hasText: "so warm" }).innerText(); // no more "not answered"

  // What is open at the end of the day: each thing leads to where it is put right.
  await post.getByLabel("Question").or(post.locator("ew-clip form input")).first().fill("which lens is it?");
  await post.locator("ew-clip form button").click();
  await until(page, () => day.ask("list", { kind: "note" }).then((a) => a.value.records.some((n) => /which lens/.test(n.text))));
  const open = page.locator("ew-wrap a.note"), item = (words) => open.filter({ hasText: words });
  const look = async () => {
    await go(page, "#handover", "ew-wrap .b");
    await tap("What is open");
    await open.first().waitFor();
  };
  const cured = async (words, acts) => {
    await look();
    await counted(`${words}, cured`, async () => {
      await tap(item(words).first());
      await acts();
    });
    await until(page, () => day.here.sheet === undefined && day.status.count === 0); // the server knows it
  };
  await look();
  await shot("open");
  out.open = [];
  for (let i = 0; i < await open.count(); i++) { // each thing is one step from where it is put right
    const words = (await open.nth(i).innerText()).replace(/\s+/g, " ");
    await open.nth(i).click();
    await page.locator("main h1").first().waitFor();
    out.open.push(`${words} -> ${await page.evaluate(() => `${day.here.place}/${day.here.sheet}`)}`);
    await look();
  }
  await cured("which lens", async () => {
    await typed.fill("the 50");
    await tap("Save");
  });
  await cured("no white applied", async () => {
    await tap(/^A is at 5600 K/);
    await tap("From the start");
    await tap(/^Choose/);
  });
  await cured("not closed", async () => {
    await tap(named(field(page, "Closed"), "yes"));
    await tap("Save");
  });
  out.touched = await page.evaluate(async () => (await day.last.made).map((e) => [e.kind, ...Object.keys(e.set)]));
  await look();
  out.stays = await open.allInnerTexts();

  // To the invented production for the first time, with a set-up of one's own open: no screen asks the one about the other's.
  await go(page, "#now", "ew-now .cam");
  out.strange = await page.evaluate(async () => {
    const said = new Set(), look = () => /no such record[^\n]*/.exec(document.body.innerText)?.forEach((words) => said.add(words));
    const looks = new MutationObserver(look);
    looks.observe(document.body, { subtree: true, childList: true, characterData: true });
    await day.lookAround();
    while (!await day.ask("next", { setUp: day.here.setUp }).then(() => true, () => false)) await new Promise((on) => setTimeout(on, 20));
    looks.disconnect();
    return [...said];
  });
  await posts.close();
  await others.close();
  return out;
};
