// Service worker: lets a player finish a loaded set without signal. It keeps the page's files and his own pages and
// reps; answers are not its business (they wait in IndexedDB and are sent by the page). Coach pages are never kept.

const FILES = "gapsound-files-1";
const PAGES = "gapsound-pages-1";
const WAIT_MS = 4000; // for the network, before what is kept is shown

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

/** From the network, and kept; from what is kept when the network says nothing in time. */
async function networkFirst(request, cacheName) {
  const cache = await caches.open(cacheName);
  const fresh = fetch(request).then(async (response) => {
    if (response.ok && !response.redirected) await cache.put(request, response.clone());
    return response;
  });
  const kept = await cache.match(request);
  if (!kept) {
    return fresh.catch(async (error) => {
      const other = request.mode === "navigate" && (await findPageOfSet(cache, request.url));
      if (other) return other;
      throw error;
    });
  }
  const late = new Promise((resolve) => setTimeout(resolve, WAIT_MS, kept));
  fresh.catch(() => {});
  return Promise.race([fresh, late]).catch(() => kept);
}

/** Another rep's page of the same set: its script finds out which rep is next. */
async function findPageOfSet(cache, url) {
  const set = /^\/sets\/[^/]+\//.exec(new URL(url).pathname)?.[0];
  if (!set) return undefined;
  const keys = await cache.keys();
  const like = keys.find((key) => new URL(key.url).pathname.startsWith(`${set}reps/`));
  return like && cache.match(like);
}

/** What is kept, at once; else from the network, and kept: for what never changes under its address. */
async function keptFirst(request, cacheName) {
  const cache = await caches.open(cacheName);
  const kept = await cache.match(request);
  if (kept) return kept;
  const response = await fetch(request);
  if (response.ok) await cache.put(request, response.clone());
  return response;
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method === "POST" && /^\/(sign-out|language|join\/[^/]+)$/.test(url.pathname)) {
    event.waitUntil(caches.delete(PAGES)); // not for the next player on this phone, nor in the other language
    return;
  }
  // Go on, without signal: to what is kept of the set; its script finds out which rep is next.
  const open = request.method === "POST" && /^(\/sets\/[^/]+\/)open$/.exec(url.pathname);
  if (open) event.respondWith(fetch(request).catch(() => Response.redirect(`${open[1]}reps/1`, 303)));
  if (request.method !== "GET") return;
  if (url.pathname.startsWith("/static/fonts/")) event.respondWith(keptFirst(request, FILES));
  else if (url.pathname.startsWith("/static/")) event.respondWith(networkFirst(request, FILES));
  else if (isRep(url.pathname)) event.respondWith(keptFirst(request, PAGES));
  else if (isPlayers(url.pathname)) event.respondWith(networkFirst(request, PAGES));
});
