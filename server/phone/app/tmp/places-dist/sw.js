// src/sw.ts
var e = "evenwhite-shell-e3b0c44298fc1c14";
self.addEventListener("install", (e) => e.waitUntil(t()));
async function t() {
	let t = await caches.open(e);
	await Promise.all([].map(async (e) => {
		let n = new URL(e, self.registration.scope).href, r = e.startsWith("assets/") ? await caches.match(n) : void 0;
		await (r ? t.put(n, r) : t.add(new Request(n, { cache: "reload" })));
	}));
}
self.addEventListener("activate", (e) => e.waitUntil(n()));
async function n() {
	for (let t of await caches.keys()) t.startsWith("evenwhite-shell-") && t !== e && await caches.delete(t);
	await self.clients.claim();
}
self.addEventListener("message", (e) => {
	e.data === "take" && self.skipWaiting();
}), self.addEventListener("fetch", (t) => {
	let { request: n } = t, r = self.registration.scope;
	if (n.method !== "GET" || !n.url.startsWith(r)) return;
	let i = n.url.slice(r.length).replace(/[?#].*$/, ""), a = n.mode === "navigate" && (i === "" || i === "pair") ? "index.html" : i;
	[].includes(a) && t.respondWith((async () => await (await caches.open(e)).match(new URL(a, r).href) ?? fetch(n))());
});
