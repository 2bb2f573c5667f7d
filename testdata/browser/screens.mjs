// The app in the hand: every screen of taking and measuring in three themes, narrow and with large text;
// and a day of forty takes on two cameras, counted by taps.
import { join } from "node:path";
import { access, reach, wide } from "./hand.mjs";

const themes = ["dark", "bright", "night"], phone = { width: 360, height: 640 };

export default async ({ page, context, args, screens }) => {
  const out = { broken: [], seen: 0, taps: {} }, session = await context.newCDPSession(page);
  await page.setViewportSize(phone);
  await page.clock.install(); // which a test may put on
  const named = (words) => page.getByRole("button", { name: words });
  if (args.origin) {
    await page.goto(`${args.origin}/`);
    await named("Look around").click();
    await page.locator(".cam").first().waitFor();
    await named(/^Other$/).click();
    await named(/^Set-up$/).click();
    await named(args.setUp).click();
  }

  let taps = 0;
  const tap = async (on) => {
    taps++;
    await (typeof on === "string" || on instanceof RegExp ? named(on).first() : on).click();
  };
  const type = async (digits) => { for (const d of digits) await page.locator(".pad .b", { hasText: d }).first().click(); };
  const cards = page.locator(".cam"), home = () => cards.first().waitFor();
  const strip = (words) => page.locator("ew-done", { hasText: words }).first().waitFor();

  // look measures the screen that is open, in all its forms.
  async function look(name, held = false) {
    const say = (where, all) => out.broken.push(...all.map((w) => `${name}, ${where}: ${w}`));
    for (const theme of themes) {
      await page.evaluate((t) => { document.documentElement.dataset.theme = t; }, theme);
      say(theme, await reach(page));
      say(theme, await access(page, held));
      if (screens) await page.screenshot({ path: join(screens, `${name}-${theme}.png`) });
      out.seen++;
    }
    await page.evaluate(() => { document.documentElement.dataset.theme = "dark"; document.documentElement.dataset.hand = "left"; });
    say("left hand", await reach(page));
    await page.evaluate(() => { document.documentElement.dataset.hand = "right"; });
    await page.setViewportSize({ width: 320, height: 640 });
    say("320 px", await wide(page));
    say("320 px", await reach(page));
    if (screens) await page.screenshot({ path: join(screens, `${name}-320.png`) });
    await page.setViewportSize(phone);
    await session.send("Page.setFontSizes", { fontSizes: { standard: 32, fixed: 26 } });
    if (await page.evaluate(() => getComputedStyle(document.documentElement).fontSize) !== "32px") say("200 %", ["the text did not grow"]);
    say("200 %", await wide(page));
    if (screens) await page.screenshot({ path: join(screens, `${name}-large.png`) });
    await session.send("Page.setFontSizes", { fontSizes: { standard: 16, fixed: 13 } });
  }

  await home();
  await look("now");

  // next take: its number stands before it is pressed, and a second press does nothing and says so
  const nextOf = async () => Number(/take (\d+)/.exec(await page.locator(".act small", { hasText: /take \d/ }).innerText())[1]);
  const first = await nextOf();
  taps = 0;
  await page.clock.pauseAt(await page.evaluate(() => Date.now()) + 1000); // both presses at one moment
  await tap(/^Next take/);
  out.taps["next take"] = taps;
  await strip(`Take ${first} saved`);
  await page.locator(".acts", { hasText: `take ${first + 1}` }).waitFor();
  out.panel = await page.locator(".undo").innerText();
  await tap(/^Next take/);
  out.twice = await page.locator(".hand [role=status]", { hasText: "logged" }).innerText();
  out.after = await nextOf() - first;
  await look("taken", true); // the undo panel stays, however long that takes

  // correct it, and take it back
  await tap(/^No good$/);
  await page.clock.resume();
  await strip("no good");
  await tap(/^Undo$/);
  await strip("Undone");

  // other
  await tap(/^Other$/);
  await named(/^False start/).waitFor();
  await look("other");
  await tap(/^New card/);
  await named(/^B$/).waitFor();
  await look("which");
  await tap(/^B$/);
  await strip("card");

  // a camera at arm's length
  await cards.nth(1).click();
  await page.locator(".far").waitFor();
  await named(/ more$/).waitFor();
  await look("camera");
  await tap(/ more$/);
  await named(/^Turned since$/).waitFor();
  await look("stepped");
  await tap(/^Turned since$/);
  await tap(/^Why$/);
  await look("why");
  await tap(/^Grey card$/);
  await page.locator(".pad").waitFor();
  await look("card");
  await type("142");
  await tap(/^Next field$/);
  await type("140");
  await tap(/^Next field$/);
  await type("137");
  await page.locator("main [role=status]", { hasText: /White \d/ }).first().waitFor(); // fewer digits say something else
  out.card = await page.locator("main [role=status]").first().innerText();
  await tap(/^Back$/);
  await tap(/^Back$/);
  await home();

  // a reading of the light that is due
  taps = 0;
  await tap(/^Measure$/);
  await page.locator(".pad").waitFor();
  const before = taps;
  await type("52620.0022190");
  await page.locator("main .ruler").waitFor();
  out.judged = await page.locator("main .panel").first().innerText();
  await look("measure");
  taps = before;
  await tap(/^Save$/);
  out.taps["a reading, beside its digits"] = taps;
  await strip("Reading saved");

  // what is impossible is told, and nothing is lost
  await tap(/^Measure$/);
  await page.locator(".pad").waitFor();
  await type("999");
  await tap(/^Next field$/);
  await type("0.001");
  await tap(/^Save$/);
  out.refused = await page.locator("[role=alert]").innerText();
  out.kept = await page.locator(".fields").innerText();
  await tap(/^Back$/);
  await home();

  // the white from the newest reading
  taps = 0;
  await tap(/White here/);
  const newest = page.locator("main .note", { hasText: "5262 K" }).first();
  await newest.waitFor();
  await look("white");
  await tap(newest);
  await page.locator("main .panel").first().waitFor();
  out.supposed = await page.locator("main .panel").first().innerText();
  await look("white-picked");
  await tap(/^Choose/);
  out.taps["white from the newest reading"] = taps;
  await strip("White chosen");

  await tap(/^Other$/);
  await tap(/^Set-up$/);
  await page.locator("main .note").first().waitFor();
  await look("setup");
  await tap(/^Back$/);
  await tap(/^Note$/);
  await page.locator("textarea").waitFor();
  await look("note");
  await page.locator("textarea").fill("the tile flickered");
  await tap(/^Save/);
  await strip("Note saved");

  // by keyboard alone: to the first act, and a take
  const number = await nextOf();
  for (let i = 0; i < 40 && !await page.evaluate(() => document.activeElement?.matches(".act")); i++) await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await strip(`Take ${number} saved`);
  await page.locator(".act small", { hasText: `take ${number + 1}` }).waitFor();
  out.keyboard = true;

  out.day = await aDay();
  return out;

  // aDay is forty takes on two cameras with what happens on a day; counted are taps beyond changes.
  async function aDay() {
    const ready = (n) => page.locator(".act small", { hasText: `take ${n}` }).waitFor();
    taps = 0;
    let at = await nextOf();
    const began = at;
    await page.clock.fastForward(2000); // the take by keyboard is behind it
    for (let i = 1; i <= 40; i++) {
      await tap(/^Next take/);
      await ready(++at);
      await page.clock.fastForward(2000); // a second press soon after does nothing
      if (i % 5 === 0) {
        await tap(/^Other$/);
        await tap(/^False start/);
        await strip("False start saved");
      }
      if (i % 10 === 0) {
        await tap(/^Other$/);
        await tap(/^New card/);
        await tap(i % 20 === 0 ? /^A$/ : /^B$/);
        await strip("card");
      }
      if (i % 20 === 0) {
        await tap(/^Other$/);
        await tap(/^Chart/);
        await strip("Chart saved");
      }
      if (i % 7 === 0) {
        await tap(/^Other$/);
        await tap(/^Set-up$/);
        await tap(/^Next set-up/);
        await ready(1);
        at = 1;
      }
    }
    return { taps, began, last: at };
  }
};
