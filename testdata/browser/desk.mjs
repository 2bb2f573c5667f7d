// The desk: at the machine with a ticket and without; and what opens under the server's name.
import { readFileSync } from "node:fs";
import { join } from "node:path";

export default async ({ page, context, args, screens }) => {
  const out = { wide: [], small: [], downloads: {} };

  // fits looks whether a page is to be seen without moving sideways, and pressed without aiming.
  async function fits(name, on = page) {
    await on.setViewportSize({ width: 1280, height: 800 });
    if (screens) await on.screenshot({ path: join(screens, `desk-${name}.png`), fullPage: true });
    for (const width of [360, 320]) {
      await on.setViewportSize({ width, height: 640 });
      const seen = await on.evaluate(() => document.documentElement.scrollWidth);
      if (seen > width) out.wide.push(`${name}: ${seen} at ${width}`);
    }
    if (screens) await on.screenshot({ path: join(screens, `desk-${name}-small.png`), fullPage: true });
    out.small.push(...await on.evaluate(() => [...document.querySelectorAll(".b, summary")]
      .map((e) => [e.textContent.trim(), e.getBoundingClientRect()])
      .filter(([, box]) => box.height > 0 && (box.height < 48 || box.width < 48)).map(([words]) => words)));
  }

  await page.goto(args.desk);
  await page.locator("#work").waitFor();
  await page.locator("#admitted li").first().waitFor();
  out.address = page.url();
  out.production = await page.locator("#list").innerText();
  out.devices = await page.locator("#admitted").innerText();
  await page.locator("#linked li").first().waitFor();
  out.servers = await page.locator("#linked").innerText();
  await page.locator("#warned li").first().waitFor();
  out.warned = await page.locator("#warned").innerText();
  await page.locator("#inviting button").click();
  out.code = await page.locator("#invited .letters").innerText();
  await page.locator("#backup").click();
  await page.locator("#newest", { hasText: "kept" }).waitFor();
  out.backups = await page.locator("#newest").innerText();
  for (const words of ["Colour log", "Bundle"]) {
    const given = page.waitForEvent("download");
    await page.getByRole("button", { name: words, exact: true }).click();
    const file = await given;
    out.downloads[words] = { name: file.suggestedFilename(), begins: readFileSync(await file.path(), "latin1").slice(0, 40) };
  }
  await page.getByText("Links for guests").click();
  await page.getByLabel("For whom").fill("the lab");
  await page.getByRole("button", { name: "Make a link" }).click();
  const link = await page.locator(".typed").innerText();
  await fits("machine");
  await page.reload();
  await page.locator("#work").waitFor();
  out.kept = true;

  const again = await context.newPage();
  await again.goto(args.desk);
  await again.locator("#told:visible").waitFor();
  out.again = await again.locator("body").innerText();
  await fits("used", again);
  await again.close();

  const seat = await page.evaluate(() => sessionStorage.getItem("evenwhite-seat"));
  await page.evaluate(() => sessionStorage.clear());
  await page.goto(args.desk.split("#")[0]); // as somebody sees it who has no ticket
  out.laptop = await page.locator("body").innerText();
  await fits("laptop");
  await page.getByRole("link", { name: "Look around" }).click();
  await page.locator(".production").waitFor();
  out.around = await page.locator("body").innerText();
  await fits("around");
  const guest = await context.newPage();
  const sent = [];
  guest.on("request", (r) => sent.push(`${r.url()} ${JSON.stringify(r.headers())}`));
  await guest.goto(link);
  await fits("guest", guest);
  const given = guest.waitForEvent("download");
  await guest.locator("#fetch").click();
  const file = await given;
  await guest.getByText("Saved as").waitFor();
  out.guest = { address: guest.url(), name: file.suggestedFilename(), begins: readFileSync(await file.path(), "latin1").slice(0, 40),
    leaked: sent.filter((s) => s.includes(link.split("#")[1])) };
  await guest.close();
  await page.bringToFront();
  await page.goto(args.desk.split("#")[0]);
  await page.evaluate((seat) => sessionStorage.setItem("evenwhite-seat", seat), seat);
  await page.reload();
  await page.getByText("Links for guests").click();
  out.counted = await page.locator("details .rows").innerText();
  await page.getByRole("button", { name: "Revoke" }).click();
  await page.getByText("revoked").waitFor();
  const late = await context.newPage();
  await late.goto(link);
  await late.locator("#fetch").click();
  await late.locator("#told:visible").waitFor();
  out.late = await late.locator("#told").innerText();
  await late.close();
  await page.bringToFront();
  await page.goto(`${args.origin}/pair#c2VjcmV0c2VjcmV0c2VjcmV0`);
  await page.locator("ew-app main").waitFor();
  out.pair = page.url();
  return out;
};
