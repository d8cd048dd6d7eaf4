// Service worker: lets a player finish a loaded set without signal. Caches static files and the player's pages and
// reps. Answers are not handled here (they are in IndexedDB and the page sends them). Coach pages are never cached.

const FILES = "gapsound-files-1";
const PAGES = "gapsound-pages-1";
const WAIT_MS = 4000; // for the network, before the cached copy is used

const SHELL = ["gapsound.css", "player.css", "motion.css", "field.css", "rep.js", "motion.js", "outbox.js", "words.js", "icon.svg", "fonts/gap-text.woff2", "fonts/gap-head.woff2"];

const isRep = (path) => /^\/api\/sets\/[^/]+\/reps\/[^/]+$/.test(path);
const isPlayers = (path) => path === "/home" || /^\/(api\/)?sets\/[^/]+(\/reps\/[^/]+)?$/.test(path);

const keepShell = async () => {
  const cache = await caches.open(FILES);
  await Promise.all(SHELL.map((name) => cache.add(`/static/${name}`)));
  await self.skipWaiting();
};

const dropOldCaches = async () => {
  for (const name of await caches.keys()) if (name !== FILES && name !== PAGES) await caches.delete(name);
  await self.clients.claim();
};

self.addEventListener("install", (event) => event.waitUntil(keepShell()));
self.addEventListener("activate", (event) => event.waitUntil(dropOldCaches()));

self.addEventListener("message", (event) => {
  if (event.data === "claim") event.waitUntil(self.clients.claim());
});

/** From the network, and cache it; from the cache when the network fails or takes too long. */
async function networkFirst(request, cacheName) {
  const cache = await caches.open(cacheName);
  const fresh = fetch(request).then(async (response) => {
    if (response.ok && !response.redirected) await cache.put(request, response.clone());
    return response;
  });
  const cached = await cache.match(request);
  if (!cached) {
    return fresh.catch(async (error) => {
      const other = request.mode === "navigate" && (await findPageOfSet(cache, request.url));
      if (other) return other;
      throw error;
    });
  }
  const late = new Promise((resolve) => setTimeout(resolve, WAIT_MS, cached));
  fresh.catch(() => {});
  return Promise.race([fresh, late]).catch(() => cached);
}

/** A cached page of another rep in the same set: its script finds the next rep. */
async function findPageOfSet(cache, url) {
  const set = /^\/sets\/[^/]+\//.exec(new URL(url).pathname)?.[0];
  if (!set) return undefined;
  const keys = await cache.keys();
  const like = keys.find((key) => new URL(key.url).pathname.startsWith(`${set}reps/`));
  return like && cache.match(like);
}

/** From the cache, else from the network: for files that never change under their address. */
async function cacheFirst(request, cacheName) {
  const cache = await caches.open(cacheName);
  const cached = await cache.match(request);
  if (cached) return cached;
  const response = await fetch(request);
  if (response.ok) await cache.put(request, response.clone());
  return response;
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method === "POST" && /^\/(sign-out|language|team\/[^/]+)$/.test(url.pathname)) {
    event.waitUntil(caches.delete(PAGES)); // another player or another language comes next
    return;
  }
  // Continuing a set without signal: go to its cached page; its script finds the next rep.
  const open = request.method === "POST" && /^(\/sets\/[^/]+\/)open$/.exec(url.pathname);
  if (open) event.respondWith(fetch(request).catch(() => Response.redirect(`${open[1]}reps/1`, 303)));
  if (request.method !== "GET") return;
  if (url.pathname.startsWith("/static/fonts/")) event.respondWith(cacheFirst(request, FILES));
  else if (url.pathname.startsWith("/static/")) event.respondWith(networkFirst(request, FILES));
  else if (isRep(url.pathname)) event.respondWith(cacheFirst(request, PAGES));
  else if (isPlayers(url.pathname)) event.respondWith(networkFirst(request, PAGES));
});
