// Starts a browser as a person has it, with none of the flags that drivers add, and runs a
// script in it: a file whose default export is given the page, the context and the
// arguments of a test. What it returns goes to standard output as JSON, with what the
// browser's policy of a page (CSP) kept from running.
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";
import { flags, listens } from "./chromium.mjs";
import { limit } from "./until.mjs";

const told = JSON.parse(readFileSync(0, "utf8"));
const program = spawn(told.program, flags(told), {
  env: { ...process.env, HOME: told.home }, stdio: ["ignore", "ignore", "pipe"], detached: true,
});
const ended = new Promise((end) => program.on("close", end)); // when all its processes have let go of the pipe

let said = "";
const address = await new Promise((found, failed) => {
  program.stderr.on("data", (text) => {
    said += text;
    const at = listens.exec(said);
    if (at) found(at[1]);
  });
  program.on("exit", () => failed(new Error(`the browser did not start: ${said.slice(-2000)}`)));
});

// killed ends the browser with all its processes, if any is left.
function killed() {
  try {
    process.kill(-program.pid, "SIGKILL");
  } catch (e) {
    if (e.code !== "ESRCH") throw e;
  }
}

let failure, browser;
try {
  browser = await chromium.connectOverCDP(address, { timeout: limit });
  const context = browser.contexts()[0];
  context.setDefaultTimeout(limit);
  const violations = [];
  await context.exposeBinding("__violated", (_, what) => violations.push(what));
  await context.addInitScript(() => {
    document.addEventListener("securitypolicyviolation",
      (e) => window.__violated(`${e.effectiveDirective} ${e.blockedURI} on ${document.URL}`));
  });
  const page = await context.newPage();
  const script = await import(pathToFileURL(told.script));
  const result = await script.default({ page, context, args: told.args, screens: told.screens });
  await new Promise((done) => { process.stdout.write(JSON.stringify({ result, violations }), done); }); // all of it is out before this ends
} catch (error) {
  failure = error;
} finally {
  if (told.kill && !failure) killed(); // as a phone ends that runs empty
  const session = told.kill && !failure ? null : await browser?.newBrowserCDPSession().catch(() => null);
  await session?.send("Browser.close").catch(() => null);
  const late = setTimeout(killed, session ? 20000 : 0);
  await ended; // it writes into its folder until then
  clearTimeout(late);
}
if (failure) {
  console.error(failure);
  console.error(`the browser said last: ${said.slice(-4000)}`);
  process.exit(1);
}
process.exit(0);
