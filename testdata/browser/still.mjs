// A grey card out of a still: drawn on what the browser shows, or said by numbers; averaged by the engine, or by the server.
import { join } from "node:path";
import { meanOf, png, tiff } from "./drawn.mjs";
import { access, reach, wide } from "./hand.mjs";
import { loaded, until } from "./until.mjs";

const phone = { width: 360, height: 640 }, size = { width: 320, height: 240 }, patch = { x: 70, y: 60, w: 50, h: 35 };

// A card with a grain on a darker ground: a frame that is a pixel off has another mean, and so has one of 8 bits.
const onCard = (x, y) => x >= 62 && x < 132 && y >= 52 && y < 102;
const drawn = (bits) => ({ ...size, bits, at: (x, y) => [122, 116, 109].map((code, i) => {
  const v = onCard(x, y) ? code + (x * 7 + y * (11 + i)) % 9 : 8;
  return bits === 8 ? v : v * 256 + (x * 37 + y * 101) % 200;
}) });
const eight = drawn(8), sixteen = drawn(16);
const files = {
  png8: { name: "card.png", mimeType: "image/png", buffer: png(eight) },
  png16: { name: "card16.png", mimeType: "image/png", buffer: png(sixteen) },
  tiff: { name: "card.tif", mimeType: "image/tiff", buffer: tiff(sixteen) },
  motorola: { name: "card.TIFF", mimeType: "", buffer: tiff(sixteen, false) },
  cut: { name: "cut.tif", mimeType: "image/tiff", buffer: Buffer.concat([tiff(sixteen).subarray(0, 8), Buffer.alloc(90)]) },
};

export default async ({ page, context, args, screens }) => {
  const out = { said: {}, broken: [] };
  page.setDefaultTimeout(60000);
  await page.setViewportSize(phone);
  const named = (name) => page.getByRole("button", { name, exact: typeof name === "string" });
  const alert = page.locator("ew-card [role=alert]"), fields = page.locator(".field .v"), canvas = page.locator("canvas");
  const white = page.locator("ew-card main [role=status]", { hasText: /White \d/ });
  const shown = async () => (await fields.allInnerTexts()).map((t) => t.trim());
  const choose = (file) => page.locator("input[type=file]").setInputFiles(file);
  const type = async (text) => { for (const d of text) await page.locator(".pad .b", { hasText: d }).first().click(); };
  const look = async (name) => {
    for (const [where, all] of [["hand", await reach(page)], ["access", await access(page)], ["360 px", await wide(page)]]) {
      out.broken.push(...all.map((w) => `${name}, ${where}: ${w}`));
    }
    if (screens) await page.screenshot({ path: join(screens, `still-${name}.png`) });
  };
  // Drag draws a frame from pixel to pixel of the picture.
  const drag = async ({ x, y, w, h }) => {
    const box = await canvas.boundingBox(), at = (px, py) => [box.x + px * box.width / size.width, box.y + py * box.height / size.height];
    await page.mouse.move(...at(x, y));
    await page.mouse.down();
    await page.mouse.move(...at(x + w / 2, y + h));
    await page.mouse.move(...at(x + w, y + h));
    await page.mouse.up();
  };
  const say = async (frame) => { // by numbers
    for (const [i, text] of Object.values(frame).map(String).entries()) {
      await page.locator(".field").nth(i).click();
      for (let left = (await shown())[i].length; left > 0; left--) await named("Delete a digit").click();
      await type(text);
    }
  };
  const card = async (letter) => {
    await page.evaluate(() => { location.hash = "#now"; });
    await page.locator("ew-now .cam").first().waitFor();
    await page.evaluate(async (of) => {
      const { setUp } = (await day.ask("setUps", {})).value.setUps.find((l) => l.name === "44 A"); // its light was measured
      const { cameras } = (await day.ask("now", { setUp })).value;
      location.hash = `#now/card?setUp=${setUp}&camera=${cameras.find((c) => c.letter === of).camera}`;
    }, letter);
    await page.locator("ew-card .pad").waitFor();
  };
  // Read has the frame averaged; then the card stands as it was before, with what came out.
  const read = async (name) => {
    await named("Read it").click();
    await page.locator("ew-still").waitFor({ state: "detached" });
    await white.waitFor();
    out[name] = { shown: await shown(), said: await white.innerText() };
  };
  const saved = async (name) => {
    await page.locator(".pad .save").click();
    await page.locator("ew-card").waitFor({ state: "detached" });
    const [edit] = JSON.parse(await page.evaluate(async () => JSON.stringify(await day.last.made)));
    out[name].set = edit.set;
    await until(page, () => day.status.count === 0);
    out[name].there = await page.evaluate(async (record) =>
      (await (await day.askServer("GET", `/v1/productions/${day.here.production}/records/sample/${record}`)).json()).rgb, edit.record);
  };

  // Looked around in: the invented production is not on the server, and a still is read for it all the same.
  await page.goto(`${args.origin}/`);
  await named("Look around").click();
  await page.locator(".cam").first().waitFor();
  await loaded(page, args.day);
  await until(page, () => day.ask("state", {}).then((a) => a.value.rest === 0, () => false));
  await card("B");
  await choose(files.png16);
  await drag(patch);
  await read("around");

  // Paired: an eight bit PNG is averaged here, without the server too.
  await page.evaluate(() => day.go("pair"));
  await page.locator(".code-in").fill(args.code);
  await page.locator("main input:not(.code-in)").first().fill("DIT");
  await named("Pair").click();
  await until(page, () => day.paired && day.production?.invented === false && day.here.setUp !== undefined
    && day.ask("state", {}).then((a) => a.value.rest === 0, () => false));
  out.want = { png8: meanOf(eight, patch), 16: meanOf(sixteen, patch) };
  await context.setOffline(true);
  await card("B");
  await choose(files.png8);
  await canvas.waitFor();
  await look("drawn");
  await drag(patch);
  await read("png8");
  await context.setOffline(false);
  await page.evaluate(() => day.exchange());
  await saved("png8");

  // A PNG of sixteen bits is shown, and read by the server. Out of reach that is said, and what was typed and drawn stays.
  await card("B");
  await type("98");
  await choose(files.png16);
  await canvas.waitFor();
  out.said.png16 = await page.locator("ew-still main").innerText();
  await drag(patch);
  await context.setOffline(true);
  await named("Read it").click();
  out.said.away = await alert.innerText();
  await look("away");
  await named("Back").click();
  out.said.stays = (await shown())[0];
  await choose(files.png16);
  await drag(patch);
  await named("Read it").click();
  await alert.waitFor();
  await context.setOffline(false);
  await read("png16"); // the frame is where it was drawn
  await page.reload(); // and a draft is as good as what was read
  await loaded(page, args.day);
  await page.locator(".field .v", { hasText: out.png16.shown[0] }).waitFor();
  await white.waitFor();
  await saved("png16");

  // A TIFF is not shown: numbers say where the card lies, and a frame in an empty picture what they mean.
  await card("B");
  await choose(files.tiff);
  await page.locator("ew-still .pad").waitFor();
  out.first = await shown();
  out.said.tiff = await page.locator("ew-still main").innerText();
  await look("tiff");
  await drag({ x: 80, y: 80, w: 160, h: 80 });
  out.dragged = await shown();
  await say({ ...patch, w: 999 });
  await named("Read it").click();
  out.said.outside = await alert.innerText();
  await say(patch);
  await read("tiff");
  await saved("tiff");
  await card("B");
  await choose(files.motorola);
  await page.locator("ew-still .pad").waitFor();
  await say(patch);
  await read("motorola");

  // What cannot be read is told by the words of who tried, and the frame stays.
  await choose(files.png16);
  await drag({ x: 10, y: 10, w: 20, h: 20 });
  await named("Read it").click();
  out.said.dark = await alert.innerText();
  await drag(patch);
  await read("after");
  await choose(files.cut);
  out.said.cut = await alert.innerText();
  await page.evaluate((head) => { // one that is too long for the server
    const file = new File([new Uint8Array(head), new Uint8Array(40 << 20)], "long.png", { type: "image/png" }), chosen = new DataTransfer();
    chosen.items.add(file);
    const input = document.querySelector("input[type=file]");
    input.files = chosen.files;
    input.dispatchEvent(new Event("change"));
  }, [...files.png16.buffer.subarray(0, 33)]);
  await page.locator("ew-still .pad").waitFor();
  await named("Read it").click();
  out.said.long = await alert.innerText();
  await named("Back").click();
  await card("A"); // its picture is coded by a log that nobody published
  await choose(files.png16);
  await drag(patch);
  await named("Read it").click();
  out.said.log = await alert.innerText();
  return out;
};
