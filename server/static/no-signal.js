// The page for what can't be had without signal: what waits on this phone, what can be gone on with, what isn't here.

import { Outbox, soon } from "/static/outbox.js";
import { PAGES } from "/static/worker.js";
import { _ } from "/static/words.js";

const rows = document.querySelector(".here");
const cloneTemplate = (id) => document.getElementById(id).content.cloneNode(true).firstElementChild;

function addRow(template, title, state = "", note = "") {
  const row = cloneTemplate(template);
  row.querySelector(".here-name").textContent = title;
  row.querySelector(".here-state").textContent = state;
  row.querySelector(".note").textContent = note;
  rows.append(row);
}

/** The sets on this phone: {id, call, open} with the number of reps that can still be answered. */
async function setsHere(pages, waiting) {
  const found = [];
  for (const key of await pages.keys()) {
    const id = /^\/api\/sets\/([^/]+)$/.exec(new URL(key.url).pathname)?.[1];
    if (!id) continue;
    const { call, places, is_finished: isFinished } = await (await pages.match(key)).json();
    const kept = new Set(waiting.filter((one) => one.set === id).map((one) => one.place));
    const open = places.filter((one) => one.again_of === null && one.is_right === null && !kept.has(one.place)).length;
    if (!isFinished && open) found.push({ id, call, open });
  }
  return found;
}

/** The calls due on the kept home that are not on this phone. */
async function setsElsewhere(pages, here) {
  const home = await pages.match("/home", { ignoreVary: true });
  if (!home) return [];
  const page = new DOMParser().parseFromString(await home.text(), "text/html");
  const ids = new Set(here.map((one) => one.id));
  return [...page.querySelectorAll('form[action$="/open"]')]
    .filter((form) => !ids.has(form.getAttribute("action").split("/")[2]))
    .map((form) => form.closest("section, li").querySelector("h1, strong").textContent);
}

async function show() {
  const waiting = await new Outbox(document.body.dataset.player, () => {}).waiting();
  const n = waiting.length;
  if (n) addRow("row-kept", n === 1 ? _("1 answer kept here") : _("{n} answers kept here", { n }), "", _("They go out, once each, when you next open Gapsound with signal. You may close this page."));
  const pages = await soon(caches.open(PAGES)).catch(() => null);
  if (!pages) return;
  const here = await setsHere(pages, waiting);
  for (const { call, open } of here) addRow("row-here", open === 1 ? _("{call}, 1 rep left", { call }) : _("{call}, {open} reps left", { call, open }), _("on this phone"));
  for (const call of await setsElsewhere(pages, here)) addRow("row-not-here", call, _("not here yet"), _("Open home once with signal, then it stays."));
  document.querySelector(".without").hidden = here.length > 0;
  document.querySelector(".with").hidden = !here.length;
  if (!here.length) return;
  const go = document.querySelector(".go-on");
  go.hidden = false;
  go.href = `/sets/${here[0].id}/reps/1`;
  go.textContent = _("Go on with {call}", { call: here[0].call });
}

addEventListener("online", () => location.assign("/home"));
show();
