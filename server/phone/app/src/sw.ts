// The service worker: the shell works without a server. What the server answers is never kept.
declare const self: ServiceWorkerGlobalScope;
declare const __FILES__: readonly string[];
declare const __VERSION__: string;

const shell = `evenwhite-shell-${__VERSION__}`;

self.addEventListener("install", (event) => {
  event.waitUntil(fill());
  route(event);
});

/**
 * route says, where a browser can, what goes past this worker: what is asked of the server, so that whatever keeps the worker from
 * starting keeps no exchange; and the first page with what the shell holds by name and hash, which the browser then hands out before
 * the worker has started.
 */
function route(event: ExtendableEvent) {
  const { addRoutes } = event as ExtendableEvent & { addRoutes?: (rules: object[]) => Promise<void> };
  const rules = [
    { condition: { urlPattern: "/v1/*" }, source: "network" },
    { condition: { urlPattern: "./", requestMode: "navigate", requestMethod: "GET" }, source: { cacheName: shell } },
    { condition: { urlPattern: "assets/*", requestMethod: "GET" }, source: { cacheName: shell } },
  ];
  void addRoutes?.call(event, rules).catch(() => {}); // then as in other browsers
}

/** fill takes what is the same by name and hash from the shell before, and fetches the rest past the browser's own cache. */
async function fill() {
  const cache = await caches.open(shell);
  await Promise.all(__FILES__.map(async (name) => {
    const url = new URL(name, self.registration.scope).href;
    const before = name.startsWith("assets/") ? await caches.match(url) : undefined;
    await (before ? cache.put(url, before) : cache.add(new Request(url, { cache: "reload" })));
  }));
  await cache.put(self.registration.scope, (await cache.match(new URL("index.html", self.registration.scope).href))!);
}

self.addEventListener("activate", (event) => event.waitUntil(tidy()));

async function tidy() {
  for (const name of await caches.keys()) if (name.startsWith("evenwhite-shell-") && name !== shell) await caches.delete(name);
  await self.clients.claim();
}

// A new version waits until a person takes it.
self.addEventListener("message", (event) => {
  if (event.data === "take") void self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const { request } = event, scope = self.registration.scope;
  if (request.method !== "GET" || !request.url.startsWith(scope)) return;
  const path = request.url.slice(scope.length).replace(/[?#].*$/, "");
  const name = request.mode === "navigate" && (path === "" || path === "pair") ? "index.html" : path;
  if (!__FILES__.includes(name)) return;
  event.respondWith((async () => {
    const kept = await (await caches.open(shell)).match(new URL(name, scope).href);
    return kept ?? fetch(request);
  })());
});

export {};
