"use strict";
// The page at the desk. It asks the contract, as any client does: at the machine from a seat, and
// of the invented production without one.

const around = document.body.dataset.page === "around";
const base = around ? "/look-around" : "";
const byId = (id) => document.getElementById(id);
const seatName = "evenwhite-seat";

// make builds an element; what comes from people goes in as text only.
function make(name, attributes, ...inside) {
  const e = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "press") e.addEventListener("click", value);
    else e.setAttribute(key, value);
  }
  e.append(...inside);
  return e;
}

function tell(words) {
  const told = byId("told");
  told.textContent = words;
  told.hidden = words === "";
}

async function ask(path, options = {}) {
  const headers = { ...options.headers };
  if (!around && sessionStorage.getItem(seatName)) headers.Authorization = `Desk ${sessionStorage.getItem(seatName)}`;
  const answer = await fetch(base + path, { cache: "no-store", ...options, headers });
  if (answer.ok) return answer;
  const problem = await answer.json().catch(() => ({}));
  const failure = new Error(problem.detail || problem.title || `answer ${answer.status}`);
  failure.status = answer.status;
  throw failure;
}

const read = async (path) => (await ask(path)).json();

const send = async (path, body) => (await ask(path, {
  method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body),
})).json();

// trying says what went wrong where something did.
const trying = (deed) => async (event) => {
  event?.preventDefault();
  tell("");
  try {
    await deed(event);
  } catch (failure) {
    if (failure.status === 401) return leave();
    tell(failure instanceof TypeError
      ? "The server does not answer. Nothing is lost; look whether it runs."
      : `It was not done: ${failure.message}. Nothing is lost.`);
  }
};

// sit changes the ticket of the address for a seat. The ticket is good once, and goes out of the
// address and of the history at once.
async function sit() {
  const ticket = /^#desk=(\w+)$/.exec(location.hash)?.[1];
  if (location.hash) history.replaceState(null, "", location.pathname);
  if (!ticket) return;
  const answer = await fetch("/desk/seat", { method: "POST", body: JSON.stringify({ ticket }) });
  if (answer.ok) sessionStorage.setItem(seatName, (await answer.json()).seat);
  else if (!sessionStorage.getItem(seatName)) {
    tell("This line was used, or has run out. Type evenwhite desk in a terminal here for another. If it was not you who used it, somebody "
      + "else at this machine did: start the server anew.");
  }
}

function leave() {
  sessionStorage.removeItem(seatName);
  tell("This page was open too long, or the server was started anew. Type evenwhite desk in a terminal here for another line.");
  byId("work").hidden = true;
}

// save fetches a file and hands it to the person.
async function save(path, name, options = {}) {
  const answer = await ask(path, options);
  const given = /filename="?([^";]+)/.exec(answer.headers.get("Content-Disposition") || "")?.[1];
  const link = make("a", { href: URL.createObjectURL(await answer.blob()), download: given || name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  return given || name;
}

const plural = (n, one, many) => (n === 0 ? `no ${many}` : `${n} ${n === 1 ? one : many}`);

async function production(p) {
  const at = `/v1/productions/${p.id}`;
  const part = make("div", { class: "production" }, make("h3", {}, p.title || "without a title"));
  if (p.damaged) {
    part.append(make("p", {}, p.damaged));
    return part;
  }
  const [off, open] = await Promise.all([read(`${at}/deviations?accepted=false`), read(`${at}/conflicts`)]);
  const waits = open.counts.reduce((sum, c) => sum + c.count, 0);
  part.append(make("p", {}, make("b", {}, off.deviations.length === 0 ? "Nothing is off" : `${off.deviations.length} off`), ", ",
    make("b", {}, waits === 0 ? "nothing to settle" : `${waits} to settle`)));
  if (off.deviations.length > 0) {
    part.append(make("details", around ? { open: "" } : {}, make("summary", {}, "What is off"), make("ul", {},
      ...off.deviations.map((d) => make("li", {}, d.headline, d.toDo ? make("span", { class: "s" }, ` ${d.toDo}`) : "")))));
  }
  const download = (words, path, name) => make("button", { class: "b", press: trying(() => save(at + path, name)) }, words);
  part.append(make("div", { class: "row" }, download("Colour log", "/color-log.csv", "color-log.csv"),
    download("Colour log, JSON", "/color-log.json", "color-log.json"), download("Bundle", "/bundle", "production.bundle")));
  if (!around) part.append(await links(p));
  return part;
}

// links are those for guests of a production: what was made, and what makes another.
async function links(p) {
  const at = `/v1/productions/${p.id}/links`;
  const made = make("div", { role: "status" });
  const list = make("ul", { class: "rows" });
  const again = async () => {
    const { links: all } = await read(at);
    list.replaceChildren(...all.map((l) => make("li", {}, make("b", {}, l.label), make("br", {}), make("span", { class: "s" },
      `${l.format}, ${plural(l.downloads, "download", "downloads")}, ${l.over ? l.over : `until ${when(l.expiresAt)}`}`),
    ...(l.over ? [] : [make("button", { class: "b", press: trying(async () => {
      await ask(`${at}/${l.id}`, { method: "DELETE" });
      await again();
    }) }, "Revoke")]))));
  };
  const label = make("input", { class: "b", maxlength: "64", placeholder: "the lab", autocomplete: "off" });
  const draw = trying(async () => {
    const link = await send(at, { format: "csv", hours: 72, label: label.value.trim() || "guest" });
    made.replaceChildren(make("p", {}, "Send this; it is shown once:"), make("p", { class: "typed" }, link.link));
    await again();
  });
  await again();
  return make("details", {}, make("summary", {}, "Links for guests"),
    make("p", {}, "Whoever has such a link fetches the colour log of this production for three days, and nothing else. They must be in "
      + "this network, and trust the server as a phone does."), make("div", { class: "row" }, make("label", {}, "For whom", label), make("button", { class: "b", press: draw }, "Make a link")),
    made, list);
}

async function showProductions() {
  const { productions, removed } = await read("/v1/productions");
  const parts = await Promise.all(productions.map(production));
  byId("list").replaceChildren(...(parts.length ? parts : [make("p", {}, "There is none yet. The owner's phone begins one.")]),
    ...(removed || []).map(removedProduction));
}

// removedProduction tells of one that is here no more, and where its files lie.
const removedProduction = (m) => make("div", { class: "production" }, make("h3", {}, m.title || "without a title"),
  make("p", {}, make("b", {}, "Removed"), ` on ${when(m.removedAt)} by ${m.by}, with ${plural(m.edits, "edit", "edits")}.`),
  make("p", { class: "s" }, `Its files are in the folder ${m.folder}; evenwhite bundle take --again takes it in again.`));

const when = (time) => new Date(time).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });

function age(time) {
  const minutes = Math.max(0, Math.round((Date.now() - new Date(time)) / 60000));
  if (minutes < 120) return `${minutes} min old`;
  return minutes < 2880 ? `${Math.round(minutes / 60)} h old` : `${Math.round(minutes / 1440)} days old`;
}

function device(d) {
  const roles = Object.entries(d.roles).map(([where, role]) => ({ "*": role, new: "brings new productions" })[where] ?? `${role} of one production`).join(", ");
  const facts = [roles || "no role"];
  if (d.revokedAt) facts.push(`revoked ${when(d.revokedAt)}`);
  else {
    facts.push(d.seenAt ? `last seen ${when(d.seenAt)}` : "not seen since the server was started");
    if (d.unsent !== undefined) facts.push(d.unsent === 0 ? "all sent" : `${d.unsent} on that phone, not sent`);
    if (d.keyed === false) facts.push("has no key yet: let it enrol one");
  }
  return make("li", {}, make("b", {}, d.label), make("br", {}), make("span", { class: "s" }, facts.join(" · ")));
}

async function showDevices() {
  const { devices } = await read("/v1/devices");
  const others = devices.filter((d) => !d.own);
  byId("admitted").replaceChildren(...(others.length ? others.map(device) : [make("li", {}, "None is paired yet.")]));
}

// server tells how a link stands: when all was exchanged last, what waits each way, and why not.
function server(l) {
  const told = l.productions.filter((p) => !p.apart), lasts = told.map((p) => p.last).filter(Boolean).sort();
  const sum = (what) => told.reduce((n, p) => n + p[what], 0);
  const facts = [l.role, lasts.length ? `all exchanged ${when(lasts[0])}` : "nothing exchanged since the server was started",
    `${plural(sum("waiting"), "edit waits", "edits wait")} here`, `${sum("coming")} still to come`];
  const aside = told.reduce((n, p) => n + (p.aside ?? 0), 0);
  if (aside > 0) facts.push(`${plural(aside, "waits", "wait")} for an owner there, or were left`);
  const clock = told.find((p) => p.clockAheadSeconds)?.clockAheadSeconds ?? 0;
  if (clock !== 0) facts.push(`its clock is ${Math.round(Math.abs(clock) / 60)} min ${clock > 0 ? "ahead of" : "behind"} the one here`);
  const apart = l.productions.length - told.length;
  if (apart > 0) facts.push(`${plural(apart, "production is", "productions are")} not let in there`);
  const why = l.trouble || told.find((p) => p.trouble)?.trouble;
  return make("li", {}, make("b", {}, l.address), make("br", {}), make("span", { class: "s" }, facts.join(" · ")),
    ...(why ? [make("p", {}, `It does not exchange: ${why}. Nothing is lost; it is tried again by itself.`)] : []));
}

async function showServers() {
  const { servers } = await read("/v1/servers");
  byId("linked").replaceChildren(...(servers.length ? servers.map(server)
    : [make("li", {}, "None. Another unit's server, or a studio's, is linked in a terminal here: evenwhite help link.")]));
}

async function showWarnings() {
  const { warnings = [] } = await read("/readyz");
  byId("warned").replaceChildren(...(warnings.length ? warnings : ["Nothing."]).map((w) => make("li", {}, w)));
}

async function showBackups() {
  const { backups } = await read("/v1/backups");
  byId("newest").textContent = backups.length === 0
    ? "There is none yet."
    : `The last one is ${age(backups[0].madeAt)}, ${(backups[0].bytes / 1e6).toFixed(1)} MB, check ${backups[0].check}. ${backups.length} kept.`;
}

async function invite(event) {
  const said = new FormData(event.target);
  const [role, brings] = said.get("role").split(" ");
  const made = await send("/v1/invitations", { role, label: said.get("label").trim() || role, ...(brings && { newProductions: true }) });
  const parts = [make("p", {}, "Good once, until ", make("b", {}, new Date(made.expiresAt).toLocaleTimeString()), ":"),
    make("p", { class: "letters" }, made.code)];
  if (made.link) {
    const drawn = await (await ask("/desk/qr", { method: "POST", body: made.link })).blob();
    const picture = make("img", { alt: "QR code of the invitation", width: 240, height: 240, src: URL.createObjectURL(drawn) });
    parts.push(picture, make("p", { class: "s" }, "Scan it with a phone that trusts the server already."));
  }
  byId("invited").replaceChildren(...parts);
}

async function show() {
  await sit();
  if (!around && !sessionStorage.getItem(seatName)) return;
  await showProductions();
  byId("work").hidden = false;
  for (const e of document.querySelectorAll(".stranger")) e.hidden = true;
  if (around) return;
  for (const e of document.querySelectorAll(".owner")) e.hidden = false;
  byId("inviting").addEventListener("submit", trying(invite));
  byId("backup").addEventListener("click", trying(async () => {
    byId("backup").disabled = true;
    try {
      await send("/v1/backups", {});
    } finally {
      byId("backup").disabled = false;
    }
    await showBackups();
  }));
  await Promise.all([showDevices(), showServers(), showBackups(), showWarnings()]);
}

// share waits for a guest to fetch what the link gives. Its secret goes out of the address, and
// stays in this tab, so that the page can be opened again.
function share() {
  const name = "evenwhite-link";
  if (location.hash.length > 1) sessionStorage.setItem(name, location.hash.slice(1));
  history.replaceState(null, "", location.pathname);
  byId("fetch").addEventListener("click", trying(async () => {
    byId("fetch").disabled = true;
    try {
      const saved = await save("/v1/shared", "color-log", {
        method: "POST", headers: { "Content-Type": "application/json" },
        body: JSON.stringify({ secret: sessionStorage.getItem(name) || "none" }),
      });
      tell(`Saved as ${saved}.`);
    } finally {
      byId("fetch").disabled = false;
    }
  }));
}

if (document.body.dataset.page === "shared") share();
else if (document.body.dataset.page === "pair") history.replaceState(null, "", location.pathname);
else trying(show)();
