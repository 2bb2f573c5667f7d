// The README's first minute: the page is opened, looked around in, and a take is logged. With a folder
// for pictures it photographs what the README shows.
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { grey } from "./grey.mjs";
import { until } from "./until.mjs";

export default async ({ page, args, screens }) => {
  let taps = 0;
  const tap = async (name) => {
    taps++;
    await page.getByRole("button", { name }).first().click();
  };
  const shot = async (name) => screens && writeFileSync(join(screens, `${name}.png`), grey(await page.screenshot()));
  await page.setViewportSize({ width: 360, height: 640 });
  await page.goto(args.page);
  await page.locator(".code").waitFor();
  await shot("1-open");
  await tap("Look around");
  await page.locator(".cam").first().waitFor();
  await page.locator(".acts .act small").waitFor();
  await until(page, () => !document.querySelector('[data-notice="olderDays"]') && document.querySelector(".strip"));
  await shot("2-now");
  await tap(/^Next take/);
  await page.locator(".undo", { hasText: "carried over" }).waitFor();
  const said = await page.locator(".undo").innerText();
  await shot("3-take");
  await page.setViewportSize({ width: 1280, height: 800 });
  await page.evaluate(() => { location.hash = "#takes"; });
  await page.locator("ew-find-box input").fill("B001C005");
  await page.locator("ew-find-box button.note").waitFor();
  await page.keyboard.press("Enter");
  await page.locator("ew-clip .ratios").waitFor();
  await page.locator('tr[aria-selected="true"]').waitFor();
  await shot("4-desk");
  return { taps, said };
};
