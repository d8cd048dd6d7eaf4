// The player's page: taps on the picture check the form's radios, answers are stored on the phone until the server has
// them, and a loaded set can be finished without signal. Without this file the page still works, one form for each rep.
//
// Without signal, right or wrong is not shown: the phone doesn't have the answer, and the server alone judges.
// Rejected: sending right answers ahead, hidden or encrypted (anyone who wants them has them; a test compares the
// bytes).

import { attachAll } from "/static/motion.js";
import { watchForms } from "/static/forms.js";
import { Outbox, makeId } from "/static/outbox.js";
import { watchThumb } from "/static/thumb.js";
import { PAGES, askToPersist, keepHome, keepSet, useWorker } from "/static/worker.js";
import { _ } from "/static/words.js";

const REPLY_WAIT_MS = 2500; // before the next rep is offered without a reply
const RETRY_MS = 15_000; // phones don't always report when signal is back
const HOLD_MS = 600; // a second tap on Answer must not leave the verdict unread
const LONG = 160; // characters of a lesson, from which it is set smaller on small phones; as in _after.html
const TAP_SLOP_PX = 14; // farther than this is not a tap

const $ = (selector, root = document) => root.querySelector(selector);
const $$ = (selector, root = document) => [...root.querySelectorAll(selector)];
const cloneTemplate = (id) => $(`#${id}`).content.cloneNode(true).firstElementChild;

const player = document.body.dataset.player ?? "";
const outbox = new Outbox(player, onSent);
const handlers = new Map(); // answer id -> handler of its reply

let blank = null; // the rep's page as the server sent it, to be filled for other reps
let layout = null; // the set's reps with their results: true, false, "kept" (not sent yet) or null
let shown = { place: 0, since: 0 };
const questions = new Map();
const verdicts = new Map(); // place -> shows its verdict again
let retry = 0;
let hasSent = false; // an answer was received since this rep was shown
let lateResults = []; // right or wrong, of answers whose rep was no longer shown
let onReceived = () => {}; // called when no unsent answer is left

// Status line ------------------------------------------------------------------------------------------------

async function showStatus(outcome) {
  const waiting = await outbox.waiting();
  const lines = $$(".saved");
  let [state, words] = ["", ""];
  if (waiting.length) {
    state = "kept";
    const n = waiting.length;
    words = n === 1 ? _("1 answer on this phone, not sent yet.") : _("{n} answers on this phone, not sent yet.", { n });
    const isOut = outcome === "sign in";
    for (const line of $$(".slow")) line.hidden = isOut || outcome === "no signal";
    for (const line of $$(".no-signal")) line.hidden = outcome !== "no signal";
    for (const line of $$(".signed-out")) line.hidden = !isOut;
    if (isOut) words += ` ${_("Sign in again to send.")}`;
    if (outcome === "busy") words += ` ${_("The server is busy; it will be tried again.")}`;
    if (!outbox.isKept) words += ` ${_("Keep this page open: this browser stores nothing.")}`;
  } else if (hasSent) {
    const right = lateResults.filter(Boolean).length;
    const results = _("Received: {right} of {all} right. Why is at the end of the set.", { right, all: lateResults.length });
    [state, words] = lateResults.length ? ["late", results] : ["received", _("Received.")];
  }
  for (const line of lines) {
    if (line.textContent !== words) line.textContent = words;
    line.dataset.state = state;
  }
}

async function flush() {
  const outcome = await outbox.flush();
  if (outcome === "sent" && hasSent) onReceived();
  await showStatus(outcome);
  clearTimeout(retry);
  if (outcome === "no signal" || outcome === "busy") retry = setTimeout(flush, RETRY_MS);
  return outcome;
}

/** Signal or player is back: a send in progress may already have failed, so send once more after it. */
async function flushAgain() {
  await outbox.sending;
  return flush();
}

function onSent(answer, status, reply) {
  hasSent = true;
  const result = reply.answer;
  if (layout?.id === answer.set && result) {
    const place = layout.places.find((one) => one.place === answer.place);
    if (place) place.result = result.is_right;
    layout.isFinished = Boolean(reply.is_finished);
    cacheLayout();
  }
  const isHandled = handlers.get(answer.id)?.(status, reply) ?? false;
  handlers.delete(answer.id);
  if (isHandled || layout?.id !== answer.set || !result) return;
  lateResults.push(result.is_right);
  if ($("main .ruler")) showPlace($("main"), shown.place); // a miss is repeated, so the set is longer now
}

/** Update the cached set with the results, so that it isn't asked again when opened without signal. */
async function cacheLayout() {
  const places = layout.places.map((one) => ({ ...one, is_right: one.result === "kept" ? null : one.result }));
  const found = JSON.stringify({ call: layout.call, is_finished: layout.isFinished, places });
  try {
    const pages = await caches.open(PAGES);
    await pages.put(`/api/sets/${layout.id}`, new Response(found));
  } catch {
    // no storage: the open page still knows
  }
}

// The set ----------------------------------------------------------------------------------------------------

const placesAsked = () =>
  layout.places.filter(({ again_of }) => again_of === null || layout.places.find((p) => p.place === again_of)?.result === false);

const nextPlace = () => (layout.isFinished ? null : placesAsked().find((one) => one.result === null && questions.has(one.rep_id)) ?? null);

const load = async (address) => {
  const response = await fetch(address, { headers: { Accept: "application/json" } });
  if (!response.ok) throw new Error(`${response.status}`);
  return response.json();
};

/** Load the whole set, so that it can be finished without signal. */
async function loadSet(id) {
  try {
    const found = await load(`/api/sets/${id}`);
    for (const one of found.places) one.result = one.is_right;
    layout = { id, call: found.call, isFinished: found.is_finished, places: found.places };
    for (const answer of await outbox.waiting()) {
      const place = answer.set === id && layout.places.find((one) => one.place === answer.place);
      if (place && place.result === null) place.result = "kept";
    }
    for (const { rep_id, result } of layout.places) {
      if (result === null && !questions.has(rep_id)) questions.set(rep_id, await load(`/api/sets/${id}/reps/${rep_id}`));
    }
    document.documentElement.dataset.set = "loaded";
  } catch {
    // no signal: the reps loaded so far can be answered
  }
}

/** The place in the set, in words and on the ruler. What comes back is counted apart, so the finish never moves. */
function showPlace(root, place) {
  const asked = placesAsked();
  const here = asked.find((one) => one.place === place);
  const isBack = here.again_of !== null;
  const alike = asked.filter((one) => (one.again_of !== null) === isBack);
  const back = asked.filter((one) => one.again_of !== null).length;
  const counts = { number: alike.indexOf(here) + 1, total: alike.length };
  const isAtMost = "atMost" in $(".set-head", root).dataset;
  const title = isAtMost ? _("Rep {number}, {total} at most", counts) : isBack ? _("Rep {number} of {total} that come back", counts) : _("Rep {number} of {total}", counts);
  const bold = document.createElement("b");
  const small = document.createElement("small");
  bold.textContent = isAtMost ? String(counts.number) : _("{number} of {total}", counts);
  small.textContent = isAtMost ? _("{total} at most", counts) : isBack ? _("back again") : back ? _("and {number} back", { number: back }) : "";
  $(".set-words", root).replaceChildren(bold, small);
  $(".set-number", root).textContent = title;
  document.title = `${title} · Gapsound`;
  const ticks = asked.map((one) => tick(one.place === place ? "is-now" : one.result === null ? (one.again_of === null ? "" : "is-back") : "is-done"));
  if (back) ticks.splice(asked.length - back, 0, tick("is-apart"));
  $(".ruler", root).replaceChildren(...ticks);
}

function tick(name) {
  const mark = document.createElement("li");
  mark.className = name;
  return mark;
}

/** Passes the height of the bottom bar to the style sheet, for what stays in view right above it. */
const barHeight = new ResizeObserver(([one]) => {
  document.documentElement.style.setProperty("--bar", `${one.target.offsetHeight}px`);
});

function watchBar() {
  barHeight.disconnect();
  const bar = $(".bar");
  if (bar) barHeight.observe(bar);
}

function replaceMain(element, focus) {
  onReceived = () => {};
  const main = $("main");
  main.replaceChildren(element);
  watchBar();
  scrollTo(0, 0);
  (focus ?? main).focus({ preventScroll: true });
}

// A rep ------------------------------------------------------------------------------------------------------

function showRep(place, isFromHistory = false) {
  const question = questions.get(place.rep_id);
  const page = blank.cloneNode(true);
  const form = $("form.rep", page);
  form.action = `/sets/${layout.id}/reps/${place.place}`;
  form.dataset.rep = place.rep_id;
  const cut = question.stem.lastIndexOf(". ") + 1;
  $(".stem-said", form).textContent = question.stem.slice(0, cut);
  $(".stem-asked", form).textContent = question.stem.slice(cut).trim();
  $(".picture", form).innerHTML = question.svg;
  const pattern = $(".choices", form);
  const parts = question.parts.map((part, index) => {
    const choices = pattern.cloneNode(true);
    choices.dataset.part = String(index + 1);
    const legend = $("legend", choices);
    $(".prompt", legend).textContent = part.prompt;
    legend.classList.toggle("unseen", question.parts.length === 1);
    $(".picked", choices).textContent = "";
    $(".change .unseen", choices).textContent = ` ${part.prompt}`;
    const pick = $(".pick", choices);
    $(".picks", choices).replaceChildren(
      ...part.choices.map((choice) => {
        const label = pick.cloneNode(true);
        const radio = $("input", label);
        Object.assign(radio, { name: `choice_${index + 1}`, value: choice.id, checked: false });
        label.replaceChildren(radio, choice.label);
        return label;
      }),
    );
    return choices;
  });
  for (const old of $$(".choices", form).slice(1)) old.remove();
  pattern.replaceWith(...parts);
  showPlace(page, place.place);
  // A verdict keeps its place in the history, so that Back shows it again.
  if (history.state?.verdict && !isFromHistory) history.pushState(null, "", form.action);
  else history.replaceState(null, "", form.action);
  replaceMain(page, $(".stem", form));
  enhance(form);
  hasSent = false;
  lateResults = [];
  showStatus("");
}

const partOf = (tap) => tap.dataset.part ?? "1";

function enhance(form) {
  shown = { place: Number(/(\d+)$/.exec(form.action)?.[1]), since: performance.now() };
  const taps = $$(".tap", form);
  const radioOf = (tap) => $(`[data-part="${partOf(tap)}"] input[value="${tap.dataset.choice}"]`, form);
  const button = $("button[type=submit]", form);
  const toggle = $(".list-toggle", form);

  const fields = $$(".choices", form);
  const picked = () => fields.map((part) => $("input:checked", part));
  // Two parts are asked one at a time: two sets of rings in one picture made players hunt. Rejected: two pages (a
  // second round trip, and no way back).
  const isByParts = taps.length > 0 && fields.length > 1;
  let current = 0;
  const ask = (index) => {
    current = index;
    refresh();
    const isOnlyWords = isByParts && !taps.some((tap) => partOf(tap) === String(index + 1));
    if (isOnlyWords) fields[index].scrollIntoView({ block: "nearest" });
  };
  /** Ask the next part without an answer, else the same one. */
  const askNext = (index) => {
    const open = picked().findIndex((radio) => !radio);
    ask(open < 0 ? index : open);
  };
  const refresh = () => {
    for (const tap of taps) {
      const radio = radioOf(tap);
      tap.classList.toggle("is-chosen", Boolean(radio?.checked));
      tap.classList.toggle("is-focus", radio === document.activeElement && radio.matches(":focus-visible"));
      tap.classList.toggle("is-later", isByParts && partOf(tap) !== String(current + 1) && !radio?.checked);
    }
    form.classList.toggle("is-words", !taps.some((tap) => !isByParts || partOf(tap) === String(current + 1)));
    const chosen = picked();
    const isWhole = chosen.every(Boolean);
    button.setAttribute("aria-disabled", String(!isWhole));
    const words = chosen.map((radio) => radio?.parentElement.textContent.trim() ?? "");
    const wanted = taps.length ? _("Tap your answer") : _("Choose your answer");
    const prompt = isByParts ? `${current + 1}/${fields.length} ${$(".prompt", fields[current]).textContent}` : wanted;
    button.textContent = isWhole ? (words.length > 1 ? _("Answer") : _("Answer: {words}", { words: words[0] })) : prompt;
    fields.forEach((field, index) => {
      field.classList.toggle("is-asked", isByParts && index === current);
      field.classList.toggle("is-later", isByParts && !isListed && index !== current && !chosen[index]);
      field.classList.toggle("is-done", isByParts && !isListed && index !== current && Boolean(chosen[index]));
      $(".change", field).hidden = !field.classList.contains("is-done");
      const isSeen = $(".pick:not(.is-tapped) input:checked", field) && !field.classList.contains("is-done");
      $(".picked", field).textContent = isSeen ? "" : words[index];
    });
  };

  form.noValidate = true;
  // Choices that can be tapped in the picture are hidden from the list; others (No one) stay.
  let isListed = false;
  const showList = (isWhole) => {
    isListed = isWhole;
    for (const field of fields) {
      const picks = $$(".pick", field);
      for (const pick of picks) pick.classList.toggle("is-tapped", !isWhole && taps.some((tap) => radioOf(tap) === $("input", pick)));
      const isAll = picks.every((pick) => pick.classList.contains("is-tapped"));
      field.classList.toggle("is-tapped", isAll && fields.length === 1);
    }
  };
  showList(false);
  toggle.hidden = !taps.length;
  let down = null;
  const picture = $(".picture", form);
  picture.addEventListener("pointerdown", (event) => {
    down = { x: event.clientX, y: event.clientY, tap: event.target.closest(".tap") };
  });
  picture.addEventListener("pointerup", (event) => {
    const tap = event.target.closest(".tap");
    const isTap = down && tap === down.tap && Math.hypot(event.clientX - down.x, event.clientY - down.y) < TAP_SLOP_PX;
    down = null;
    const radio = isTap && tap && radioOf(tap);
    if (!radio) return;
    if (radio.checked) return ask(Number(partOf(tap)) - 1);
    radio.checked = true;
    radio.dispatchEvent(new Event("change", { bubbles: true }));
  });
  for (const what of ["change", "focusin", "focusout"]) form.addEventListener(what, () => setTimeout(refresh));
  fields.forEach((field, index) => {
    // Keyboard choices stay in the focused part; a tap or click goes on to the next part.
    field.addEventListener("change", (event) => event.target.matches(":focus-visible") || askNext(index));
    field.addEventListener("focusin", (event) => event.target.matches("input:focus-visible") && ask(index));
    $(".change", field).addEventListener("click", () => {
      ask(index);
      ($("input:checked", field) ?? $("input", field)).focus({ preventScroll: true });
    });
  });
  toggle.addEventListener("click", () => {
    const isOpen = toggle.getAttribute("aria-expanded") !== "true";
    toggle.setAttribute("aria-expanded", String(isOpen));
    toggle.setAttribute("aria-label", isOpen ? _("Hide the list") : _("Pick from a list"));
    showList(isOpen);
    refresh();
  });
  form.addEventListener("submit", (event) => {
    const chosen = picked();
    const missing = chosen.findIndex((radio) => !radio);
    if (missing < 0 && "plain" in form.dataset) return; // what the room sees can't wait on this phone; a first rep needn't
    event.preventDefault();
    if (missing < 0) send(form, chosen.map((radio) => radio.value), button);
    else $("input", fields[missing]).focus();
  });
  refresh();
}

// An answer --------------------------------------------------------------------------------------------------

async function send(form, chosen, button) {
  if (form.dataset.sent) return;
  form.dataset.sent = "yes";
  button.setAttribute("aria-disabled", "true");
  button.classList.add("is-busy");
  button.textContent = _("Sending");
  const set = /^\/sets\/([^/]+)/.exec(new URL(form.action).pathname)[1];
  const { place, since } = shown;
  const id = makeId();
  const body = { rep_id: form.dataset.rep, chosen, took_ms: Math.round(Math.min(performance.now() - since, 86_400_000)) };
  askToPersist();
  await outbox.add({ id, url: `/api/sets/${set}/answers/${id}`, body, set, place });
  const at = layout?.places.find((one) => one.place === place);
  if (at) at.result = "kept";
  let isHere = true; // this rep is still shown
  handlers.set(id, (status, reply) => isHere && (showResult(set, place, status, reply), true));
  const slow = new Promise((resolve) => setTimeout(resolve, REPLY_WAIT_MS, "slow"));
  const outcome = await Promise.race([flush(), slow]);
  if (outcome === "sent" || !handlers.has(id)) return;
  showKept(set, place, () => {
    isHere = false;
  });
  showStatus(outcome);
}

/** The answer is stored on the phone but there is no reply yet: offer the next rep. */
function showKept(set, place, leave) {
  const page = cloneTemplate("kept");
  const next = layout && nextPlace();
  const button = $("button", page);
  if (layout) showPlace(page, place);
  $(".more", page).hidden = !next;
  $(".last", page).hidden = Boolean(next);
  button.hidden = !next;
  button.addEventListener("click", () => {
    leave();
    const found = nextPlace();
    if (found) showRep(found);
    else location.assign(`/sets/${set}`);
  });
  replaceMain(page, $("h2", page));
  onReceived = () => showReceived(page);
}

/** All answers are on the server: go on with repeated misses, or finish the set. */
function showReceived(page) {
  const button = $("button", page);
  $("h2", page).textContent = _("Your answers are in");
  for (const words of $$(".wait", page)) words.hidden = true;
  button.hidden = false;
  button.textContent = layout && nextPlace() ? _("Next rep") : _("See how you did");
}

/** The chosen and the right answer of one part. */
function resultPart(part, isOneOfMany) {
  const line = cloneTemplate(part.is_right ? "result-right" : "result-wrong");
  for (const [name, words] of Object.entries({ prompt: part.prompt, chosen: part.chosen, right: part.right })) {
    const slot = $(`.result-${name}`, line);
    if (slot) slot.textContent = words;
  }
  if (!isOneOfMany) for (const one of $$(".sign, .result-asked", line)) one.remove();
  return line;
}

/** Show right or wrong, and why. */
function showResult(set, place, status, reply) {
  const result = reply.answer;
  if (!result) {
    const page = cloneTemplate("refused");
    $("p", page).textContent = reply.error?.message ?? _("The server did not take this answer ({status}).", { status });
    replaceMain(page, $("h2", page));
    return;
  }
  const page = cloneTemplate(result.is_right ? "after-right" : "after-wrong");
  $(".result-parts", page).replaceChildren(...result.parts.map((part) => resultPart(part, result.parts.length > 1)));
  if (!result.is_right && result.parts.some((part) => part.is_right)) $("h2", page).textContent = _("One of two");
  $(".why", page).textContent = result.explanation;
  $(".verdict", page).classList.toggle("is-long", result.explanation.length > LONG);
  $(".picture", page).insertAdjacentHTML("afterbegin", result.svg);
  const another = $(".another", page);
  if (another) another.hidden = status !== 409;
  const next = $(".bar a.button", page);
  next.textContent = reply.is_finished ? _("See how you did") : _("Next rep");
  next.href = reply.next_place ? `/sets/${set}/reps/${reply.next_place}` : `/sets/${set}`;
  next.setAttribute("aria-disabled", "true");
  next.addEventListener("click", (event) => next.ariaDisabled && (event.preventDefault(), event.stopImmediatePropagation()));
  setTimeout(() => next.removeAttribute("aria-disabled"), HOLD_MS);
  if (layout) {
    showPlace(page, place);
    next.addEventListener("click", (event) => {
      const found = nextPlace();
      if (!found || !blank) return;
      event.preventDefault();
      showRep(found);
    });
  }
  verdicts.set(place, () => showResult(set, place, status, reply));
  history.replaceState({ verdict: place }, "", `/sets/${set}/reps/${place}`);
  replaceMain(page, $(".verdict", page));
  attachAll(page);
  showStatus("sent");
}

/** Back and forward within the set: a verdict again, or the rep that waits for an answer. */
function showFromHistory({ state }) {
  const place = state?.verdict ?? Number(/\/reps\/(\d+)$/.exec(location.pathname)?.[1]);
  const open = layout?.places.find((one) => one.place === place && one.result === null && questions.has(one.rep_id));
  if (verdicts.has(place)) verdicts.get(place)();
  else if (open) showRep(open, true);
  else location.reload();
}

// The start --------------------------------------------------------------------------------------------------

async function start() {
  document.documentElement.classList.add("has-script");
  watchForms();
  watchThumb();
  addEventListener("online", flushAgain);
  if ($("form.rep:not([data-plain])")) addEventListener("popstate", showFromHistory);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && flushAgain());
  watchBar();
  const found = $("form.rep");
  const isPlain = found && "plain" in found.dataset;
  if (isPlain) enhance(found);
  const form = isPlain ? null : found;
  if (form) {
    blank = $("main").firstElementChild.cloneNode(true);
    enhance(form);
    const path = new URL(form.action).pathname.split("/");
    await loadSet(path[2]);
    const here = layout?.places.find((one) => one.place === shown.place);
    const isOther = location.pathname !== new URL(form.action).pathname;
    const isStale = !form.dataset.sent && (isOther || (here?.result ?? null) !== null); // sent: answered while the set loaded
    const next = layout && nextPlace();
    if (isStale && next) showRep(next);
    else if (isStale && here?.result === "kept") showKept(path[2], shown.place, () => {});
  }
  for (const line of $$(".no-worker")) line.hidden = isSecureContext && "serviceWorker" in navigator;
  useWorker();
  await flush();
  if (form) await keepSet(layout?.id);
  else if (location.pathname === "/home") await keepHome(player);
}

if (player) start();
