// The trust page, on phones of two widths: what its checks say, and whether all of it is to be
// seen without moving sideways.
import { join } from "node:path";

const ends = () => !document.getElementById("again").disabled && !/…$|Waits/.test(document.querySelector("main").textContent);

export default async ({ page, args, screens }) => {
  const out = { wide: [], small: [] };
  await page.setViewportSize({ width: 360, height: 640 });
  await page.goto(args.page);
  await page.waitForFunction(ends);
  for (const id of ["name", "certificate"]) {
    out[id] = await page.locator(`#${id}`).evaluate((e) => `${e.dataset.is}: ${e.querySelector("[role=status]").textContent}`);
  }
  out.go = await page.locator("#on").getAttribute("class");
  await page.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
  for (const width of [360, 320]) {
    await page.setViewportSize({ width, height: 640 });
    const seen = await page.evaluate(() => document.documentElement.scrollWidth);
    if (seen > width) out.wide.push(`${seen} at ${width}`);
  }
  out.small = await page.evaluate(() => [...document.querySelectorAll(".b, summary")]
    .map((e) => [e.textContent.trim(), e.getBoundingClientRect()])
    .filter(([, box]) => box.height > 0 && (box.height < 48 || box.width < 48)).map(([words]) => words));
  if (screens) {
    await page.setViewportSize({ width: 360, height: 640 });
    await page.screenshot({ path: join(screens, `trust-${args.named}-all.png`), fullPage: true });
    await page.reload();
    await page.waitForFunction(ends);
    await page.screenshot({ path: join(screens, `trust-${args.named}.png`) });
  }
  if (args.follow) {
    await page.locator("#on").click();
    await page.waitForLoadState();
    out.at = page.url();
  }
  return out;
};
