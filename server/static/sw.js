// Service worker: lets a player start and finish a set without signal. Caches static files and the player's pages and
// reps; answers with a page of our own when a page can't be had. Answers are not handled here (they are in IndexedDB and
// the page sends them). Coach pages are never cached.

const FILES = "gapsound-files-2";
const PAGES = "gapsound-pages-1";
const NO_SIGNAL = "/no-signal";
const WAIT_MS = 4000; // for the network, before the cached copy is used
const OPEN_WAIT_MS = 8000; // the same for starting a set
const STORAGE_MS = 1500; // a storage that takes longer counts as none

const SHELL = ["gapsound.css", "player.css", "motion.css", "field.css", "rep.js", "motion.js", "outbox.js", "worker.js", "forms.js", "thumb.js", "no-signal.js", "words.js", "icon.svg", "fonts/gap-text.woff2", "fonts/gap-head.woff2"];

const isRep = (path) => /^\/api\/sets\/[^/]+\/reps\/[^/]+$/.test(path);
const isPlayers = (path) => path === "/home" || path === NO_SIGNAL || /^\/(api\/)?sets\/[^/]+(\/reps\/[^/]+)?$/.test(path);

const after = (ms, value) => new Promise((resolve) => setTimeout(resolve, ms, value));
const soon = (promise) => Promise.race([promise, after(STORAGE_MS)]).catch(() => {});

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

/** A cached copy; undefined when there is none, or storage is refused or doesn't answer. */
const find = (cacheName, address) =>
  soon(caches.open(cacheName).then((cache) => cache.match(address, { ignoreVary: true })));

const put = (cacheName, request, response) => soon(caches.open(cacheName).then((cache) => cache.put(request, response)));

/** From the network, and cache it; from the cache when the network or the server fails, or takes too long. */
async function networkFirst(request, cacheName) {
  const fresh = fetch(request).then(async (response) => {
    if (response.ok && !response.redirected) await put(cacheName, request, response.clone());
    return response;
  });
  const cached = await find(cacheName, request.url);
  if (!cached) return fresh;
  const good = fresh.then((response) => (response.status >= 502 ? cached : response));
  good.catch(() => {});
  return Promise.race([good, after(WAIT_MS, cached)]).catch(() => cached);
}

/** From the cache, else from the network: for files that never change under their address. */
async function cacheFirst(request, cacheName) {
  const cached = await find(cacheName, request.url);
  if (cached) return cached;
  const response = await fetch(request);
  if (response.ok) await put(cacheName, request, response.clone());
  return response;
}

/** A page that could not be had: another rep's page of the set (its script finds the next rep), home, or our own page
    that says so. */
async function inPlaceOf(url) {
  const set = /^\/sets\/[^/]+\//.exec(url.pathname)?.[0];
  const pages = await soon(caches.open(PAGES));
  const keys = (set && (await soon(pages?.keys()))) || [];
  const like = keys.find((key) => new URL(key.url).pathname.startsWith(`${set}reps/`));
  const home = url.pathname === "/" ? await find(PAGES, "/home") : undefined;
  return (like && (await find(PAGES, like.url))) ?? home ?? (await find(PAGES, NO_SIGNAL)) ?? Response.error();
}

/** Sign-in, sign-out, another language: pages kept so far are no longer right once the server has taken it. */
async function leave(request) {
  const response = await fetch(request);
  if (response.type === "opaqueredirect") await soon(caches.delete(PAGES));
  return response;
}

/** Start a set, or go on with it: without signal at its kept page, whose script finds the next rep. */
async function openSet(request, set) {
  const kept = (await soon(caches.open(PAGES).then((pages) => pages.match(`/api/sets/${set}`)))) !== undefined;
  const fresh = fetch(request);
  if (!kept) return fresh;
  const there = () => Response.redirect(`/sets/${set}/reps/1`, 303);
  return Promise.race([fresh, after(OPEN_WAIT_MS).then(there)]).catch(there);
}

function reply(request, url) {
  if (request.method === "POST" && request.mode === "navigate") {
    const set = /^\/sets\/([^/]+)\/open$/.exec(url.pathname)?.[1];
    if (set) return openSet(request, set);
    return /^\/(sign-out|language|team\/[^/]+)$/.test(url.pathname) ? leave(request) : fetch(request);
  }
  if (request.method !== "GET") return undefined;
  if (url.pathname.startsWith("/static/fonts/")) return cacheFirst(request, FILES);
  if (url.pathname.startsWith("/static/")) return networkFirst(request, FILES);
  if (isRep(url.pathname)) return cacheFirst(request, PAGES);
  if (isPlayers(url.pathname)) return networkFirst(request, PAGES);
  return request.mode === "navigate" ? fetch(request) : undefined;
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin || url.pathname.startsWith("/coach")) return;
  const response = reply(request, url);
  if (response) event.respondWith(request.mode === "navigate" ? response.catch(() => inPlaceOf(url)) : response);
});
