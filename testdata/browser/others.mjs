// Starts Firefox or WebKit as a person has it, and runs a script in it: a file whose default export is given
// a page and the arguments of a test. The page can do what every driver can: goto, reload, evaluate, fill, press.
// Or Chromium, for figures, with a page as its driver has it.
// What the script returns goes to standard output as JSON.
import { spawn } from "node:child_process";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import puppeteer from "puppeteer-core";
import { flags, listens } from "./chromium.mjs";
import { limit } from "./until.mjs";

const told = JSON.parse(readFileSync(0, "utf8"));
const programs = [];

// started runs a program until the end, and resolves with what found makes of one of its lines.
function started(name, args, found, { env = {}, from = "stderr" } = {}) {
  const stdio = ["ignore", "ignore", "ignore", "ignore"], at = { stderr: 2, fd3: 3 }[from];
  stdio[at] = "pipe";
  const program = spawn(name, args, { env: { ...process.env, HOME: told.home, ...env }, stdio, detached: true });
  programs.push({ program, ended: new Promise((end) => program.on("close", end)) });
  return new Promise((done, failed) => {
    let said = "";
    program.stdio[at].on("data", (text) => {
      said += text;
      const is = found.exec(said);
      if (is) done(is[1]);
    });
    program.on("error", failed);
    program.on("exit", () => failed(new Error(`${name} did not start: ${said.slice(-2000)}`)));
  });
}

// ended kills what still runs, with all its processes.
async function ended() {
  for (const { program } of programs.reverse()) {
    try {
      process.kill(-program.pid, "SIGKILL");
    } catch (e) {
      if (e.code !== "ESRCH") throw e;
    }
  }
  await Promise.all(programs.map((p) => p.ended));
}

// marked gives the button that begins with these words a mark, by which a driver presses it.
const marked = `(words) => {
  document.querySelector("[data-pressed]")?.removeAttribute("data-pressed");
  const shown = [...document.querySelectorAll("button")].filter((b) => b.checkVisibility());
  shown.find((b) => b.innerText.trim().startsWith(words)).setAttribute("data-pressed", "");
}`;

const text = (what, arg) => (typeof what === "string" ? what : `(${what})(${JSON.stringify(arg) ?? ""})`);

async function firefox() {
  const profile = join(told.home, "profile");
  mkdirSync(profile, { recursive: true });
  const prefs = {
    "network.dns.localDomains": told.hosts, "browser.shell.checkDefaultBrowser": false, "datareporting.policy.dataSubmissionEnabled": false,
    "app.update.enabled": false, "browser.startup.homepage_override.mstone": "ignore", "toolkit.telemetry.enabled": false,
    "network.captive-portal-service.enabled": false, "network.connectivity-service.enabled": false,
      "extensions.getAddons.cache.enabled": false,
    "services.settings.server": "data:,", "browser.safebrowsing.malware.enabled": false, "browser.safebrowsing.phishing.enabled": false,
  };
  writeFileSync(join(profile, "user.js"),
    Object.entries(prefs).map(([n, v]) => `user_pref(${JSON.stringify(n)}, ${JSON.stringify(v)});`).join("\n"));
  const address = await started(told.program,
    ["--headless", "--no-remote", "--profile", profile, "--remote-debugging-port=0", "about:blank"],
    /WebDriver BiDi listening on (ws:\S+)/);
  const browser = await puppeteer.connect({ browserWSEndpoint: `${address}/session`, protocol: "webDriverBiDi", protocolTimeout: limit });
  const page = await browser.newPage();
  page.setDefaultTimeout(limit);
  return {
    goto: (url) => page.goto(url),
    reload: () => page.reload(),
    evaluate: (what, arg) => page.evaluate(text(what, arg)),
    fill: (selector, words) => page.locator(selector).fill(words),
    press: async (words) => { await page.evaluate(`(${marked})(${JSON.stringify(words)})`); await page.locator("[data-pressed]").click(); },
    close: () => browser.close(),
  };
}

// unwatched is Chromium with a driver that hears of nothing that is fetched: else each byte goes through it as well, and what is
// fetched takes twice as long.
async function unwatched() {
  const address = await started(told.program, flags(told), listens);
  const browser = await puppeteer.connect({ browserWSEndpoint: address, networkEnabled: false, protocolTimeout: 4 * limit });
  return browser.newPage();
}

// free is a port that nobody listens at.
const free = () => new Promise((done) => {
  const s = createServer().listen(0, "127.0.0.1", () => { const { port } = s.address(); s.close(() => done(port)); });
});

async function webkit() {
  const display = await started("Xvfb", ["-displayfd", "3", "-screen", "0", "1024x768x24", "-nolisten", "tcp"], /^(\d+)\n/,
    { from: "fd3" });
  const port = await free(), at = `http://127.0.0.1:${port}`;
  void started("unshare",
    ["-m", "sh", "-c", 'mount --bind "$1" /etc/hosts && mount --bind "$2" /etc/ssl/certs/ca-certificates.crt && exec "$3" --port="$4"',
    "sh", told.hosts, told.bundle, told.program, String(port)], /never/,
      { env: { DISPLAY: `:${display}`, NO_AT_BRIDGE: "1" } }).catch(() => {});
  const ask = async (method, path, body) => {
    const answer = await fetch(`${at}${path}`, { method, ...(body && { body: JSON.stringify(body) }) });
    const { value } = await answer.json();
    if (!answer.ok) throw new Error(`${method} ${path}: ${value?.error}: ${value?.message}`);
    return value;
  };
  for (let tries = 0; ; tries++) { // until the driver listens
    const is = await fetch(`${at}/status`).then((a) => a.ok, () => false);
    if (is) break;
    if (tries > 600) throw new Error("the driver does not listen");
    await new Promise((next) => setTimeout(next, 100));
  }
  const { sessionId } = await ask("POST", "/session", { capabilities: { alwaysMatch: {
    timeouts: { script: limit, pageLoad: limit }, "webkitgtk:browserOptions": { binary: told.binary, args: ["--automation"] },
  } } });
  const s = `/session/${sessionId}`;
  const evaluate = async (what, arg) => {
    const { is, failed } = await ask("POST", `${s}/execute/async`, { args: [], script: `const done = arguments[arguments.length - 1];
      (async () => (${text(what, arg)}))().then((is) => done({ is }), (e) => done({ failed: String(e) }));` });
    if (failed) throw new Error(failed);
    return is;
  };
  const found = async (selector) => Object.values(await ask("POST", `${s}/element`, { using: "css selector", value: selector }))[0];
  return {
    goto: (url) => ask("POST", `${s}/url`, { url }),
    reload: () => ask("POST", `${s}/refresh`, {}),
    evaluate,
    fill: async (selector, words) => {
      const e = await found(selector);
      await ask("POST", `${s}/element/${e}/clear`, {});
      await ask("POST", `${s}/element/${e}/value`, { text: words });
    },
    press: async (words) => {
      await evaluate(`(${marked})(${JSON.stringify(words)})`);
      await ask("POST", `${s}/element/${await found("[data-pressed]")}/click`, {});
    },
    close: () => ask("DELETE", s),
  };
}

let failure;
try {
  const page = await { firefox, webkit, unwatched }[told.engine]();
  const script = await import(pathToFileURL(told.script));
  const result = await script.default({ page, args: told.args });
  await new Promise((done) => { process.stdout.write(JSON.stringify({ result }), done); }); // all of it is out before this ends
  if (!told.kill) await page.close();
} catch (error) {
  failure = error;
}
await ended();
if (failure) console.error(failure);
process.exit(failure ? 1 : 0);
