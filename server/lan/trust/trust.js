"use strict";
// The device itself finds out whether it is ready. Only this server's own trust page may read
// the answers; an answer that must not be read is that of another machine.

const patience = 12000; // ms; a name that nobody has costs some systems 10 s

async function ask(url) {
  const options = { cache: "no-store", credentials: "omit", signal: AbortSignal.timeout(patience) };
  try {
    await fetch(url, options);
    return "this";
  } catch {
    try {
      await fetch(url, { ...options, mode: "no-cors", signal: AbortSignal.timeout(patience) });
      return "another";
    } catch {
      return "nobody";
    }
  }
}

const name = document.getElementById("name");
const certificate = document.getElementById("certificate");
const again = document.getElementById("again");
const on = document.getElementById("on");
const next = document.getElementById("next");
const host = new URL(name.dataset.ask).hostname;

function say(check, is, words) {
  check.dataset.is = is;
  check.querySelector("[role=status]").textContent = words;
}

let asking = false;

async function look() {
  if (asking) return;
  asking = true;
  again.disabled = true;
  say(name, "open", `Looking for ${host} …`);
  say(certificate, "open", "Waits for the name.");
  const found = await ask(name.dataset.ask);
  if (found === "this") say(name, "yes", `Found: ${host} leads here.`);
  else if (found === "another") say(name, "no", `${host} leads to another machine. Ask who runs the server: two of one name cannot work.`);
  else say(name, "no", `${host} was not found. Below stands what may help.`);
  if (found === "this") {
    say(certificate, "open", "Asking …");
    const trusted = await ask(certificate.dataset.ask);
    if (trusted === "this") say(certificate, "yes", "Trusted.");
    else if (trusted === "another") say(certificate, "no", "Another machine answers there. Ask who runs the server.");
    else say(certificate, "no", certificateMissing());
  } else {
    say(certificate, "open", "Cannot be told while the name is not found.");
  }
  const ready = name.dataset.is === "yes" && certificate.dataset.is === "yes";
  on.classList.toggle("act", ready);
  next.hidden = ready;
  again.disabled = false;
  asking = false;
}

function certificateMissing() {
  return document.getElementById("install")
    ? "Not yet: do steps 1 and 2 below, then check again."
    : "Not trusted. Ask who set this server up.";
}

// system is the part of the page for this device, or none.
function system() {
  const is = navigator.userAgent;
  if (/iPhone|iPad/.test(is) || (/Macintosh/.test(is) && navigator.maxTouchPoints > 1)) return "ios";
  if (/Android/.test(is)) return "android";
  if (/Firefox/.test(is)) return "firefox";
  if (/Macintosh/.test(is)) return "macos";
  if (/Windows/.test(is)) return "windows";
  return /Linux/.test(is) ? "linux" : "";
}

for (const part of document.querySelectorAll("details")) part.open = part.id === system();
again.hidden = false;
again.addEventListener("click", look);
// Whoever comes back from the settings need not press anything.
document.addEventListener("visibilitychange", () => { if (!document.hidden) look(); });
look();
