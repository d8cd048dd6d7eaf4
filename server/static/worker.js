// The service worker, and what is put on the phone ahead: home, what is due with all its reps, and the page for what
// can't be had. The page itself puts them there, since the worker may not control it yet.

import { soon } from "/static/outbox.js";

export const PAGES = "gapsound-pages-1"; // as in sw.js
const SETS_AHEAD = 3;
const OWNER = "/owner"; // an entry that says whose pages these are
const ASKED = "gapsound-asked-to-persist";

/** Register the worker. A page that loaded while the worker activated isn't controlled yet, so it asks to be claimed. */
export async function useWorker() {
  if (!isSecureContext || !("serviceWorker" in navigator)) return;
  try {
    await navigator.serviceWorker.register("/sw.js");
    const { active } = await navigator.serviceWorker.ready;
    // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker takes no origin; a window does
    if (!navigator.serviceWorker.controller) active.postMessage("claim");
  } catch {
    // Without a worker the page still works; only a reload needs signal.
  }
}

/** Ask the browser once to keep what is stored here when space is short. */
export function askToPersist() {
  try {
    if (localStorage.getItem(ASKED)) return;
    localStorage.setItem(ASKED, "yes");
    navigator.storage?.persist?.().catch(() => {});
  } catch {
    // no storage, so there is nothing to keep
  }
}

const keep = async (pages, address) => (await pages.match(address, { ignoreVary: true })) ?? pages.add(address);

/** Put home, the page for no signal, and the next sets on this phone. */
export async function keepHome(player) {
  const sets = [...document.querySelectorAll('form[action$="/open"]')].map((form) => form.getAttribute("action").split("/")[2]);
  try {
    const pages = await soon(caches.open(PAGES));
    const owner = await pages.match(OWNER);
    if (owner && (await owner.text()) !== player) for (const key of await pages.keys()) await pages.delete(key);
    await pages.put(OWNER, new Response(player));
    for (const address of ["/no-signal", "/home"]) await keep(pages, address);
    for (const id of sets.slice(0, SETS_AHEAD)) await keepSet(id);
    if (navigator.onLine) await dropOthers(pages, sets);
    document.documentElement.dataset.kept = "yes";
  } catch {
    // no signal, or no storage: what is here already stays
  }
}

/** Put a set on this phone: its layout, a page of it, and the reps still to be answered. */
export async function keepSet(id) {
  if (!id) return;
  try {
    const pages = await soon(caches.open(PAGES));
    const response = await fetch(`/api/sets/${id}/load`, { method: "POST", headers: { Accept: "application/json" } });
    if (!response.ok) return;
    await pages.put(`/api/sets/${id}`, response.clone());
    const { next_place: next, places } = await response.json();
    if (next) await keep(pages, `/sets/${id}/reps/${next}`);
    for (const { rep_id: rep, is_right: isRight } of places) if (isRight === null) await keep(pages, `/api/sets/${id}/reps/${rep}`);
  } catch {
    // no signal, or no storage
  }
}

/** Drop the sets that are no longer on home. */
async function dropOthers(pages, sets) {
  for (const key of await pages.keys()) {
    const id = /^\/(?:api\/)?sets\/([^/]+)/.exec(new URL(key.url).pathname)?.[1];
    if (id && !sets.includes(id)) await pages.delete(key);
  }
}
