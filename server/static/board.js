// Keeps a coach's page current while it is visible: polls it with its ETag and replaces the parts that changed. Parts
// are marked data-live and have an id; the line that says how current the page is has the id "live". A 304 renders
// nothing, and focus and scroll stay. Rejected: htmx (pausing while hidden needs eval, which our policy forbids; it
// sends no ETag); a stream for each coach (an open connection each).

import { _ } from "./words.js";

const POLL_MS = 10_000; // or what the line asks for as data-every
const IDLE_MS = 2 * 3_600_000; // an untouched page stops polling after this, so that its session can end

const line = document.getElementById("live");
const text = line?.querySelector("[data-live-text]");
let lastTouched = Date.now();
let isPolling = false;
let timer;

/** The element of a part that matches a link or control by its target or label; null if none does. */
function findSame(part, one) {
  const name = one.getAttribute("href") ?? one.getAttribute("aria-label");
  const alike = (other) => name !== null && name === (other.getAttribute("href") ?? other.getAttribute("aria-label"));
  if (one.localName === "summary") return part.querySelectorAll("summary")[[...one.closest("[data-live]").querySelectorAll("summary")].indexOf(one)] ?? null;
  return [...part.querySelectorAll(one.localName)].find(alike) ?? null;
}

/** Texts of the cells of a part, by their link. */
const cellTexts = (part) => new Map([...part.querySelectorAll("a.cell")].map((cell) => [cell.getAttribute("href"), cell.textContent]));

/** Replace a part's content, keeping focus, open details and scroll positions. */
function replacePart(part, fresh) {
  if (part.innerHTML === fresh.innerHTML) return;
  const before = cellTexts(part);
  const focused = part.contains(document.activeElement) ? findSame(fresh, document.activeElement) : null;
  const opened = [...part.querySelectorAll("details")].map((one) => one.open);
  const scrolled = [...part.querySelectorAll(".scroll, .scroll-list")].map((one) => [one.scrollLeft, one.scrollTop]);
  for (const cell of fresh.querySelectorAll("a.cell")) {
    if (before.get(cell.getAttribute("href")) !== cell.textContent) cell.classList.add("is-new");
  }
  part.replaceChildren(...fresh.childNodes);
  part.querySelectorAll("details").forEach((one, n) => { one.open = opened[n] ?? one.open; });
  part.querySelectorAll(".scroll, .scroll-list").forEach((one, n) => one.scrollTo(...(scrolled[n] ?? [0, 0])));
  focused?.focus({ preventScroll: true });
}

/** Poll once, unless the page is hidden or idle. */
async function poll() {
  if (isPolling || document.hidden || Date.now() - lastTouched > IDLE_MS) return;
  isPolling = true;
  try {
    const reply = await fetch(location.href, { cache: "no-store", headers: { Accept: "text/html", "If-None-Match": line.dataset.tag } });
    if (reply.status === 304) return;
    if (reply.redirected || !reply.ok) throw new Error(String(reply.status));
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    const fresh = page.getElementById("live");
    for (const part of document.querySelectorAll("[data-live]")) {
      const other = page.getElementById(part.id);
      if (other) replacePart(part, other);
    }
    if (!fresh) {
      // nothing more will change
      clearInterval(timer);
      line.remove();
      return;
    }
    line.dataset.tag = fresh.dataset.tag;
    text.textContent = fresh.querySelector("[data-live-text]").textContent;
  } catch {
    text.textContent = _("This page can't be brought up to date right now.");
  } finally {
    isPolling = false;
  }
}

if (line) {
  for (const touch of ["pointerdown", "keydown", "scroll"]) addEventListener(touch, () => { lastTouched = Date.now(); }, { passive: true });
  document.addEventListener("visibilitychange", poll);
  timer = setInterval(poll, Number(line.dataset.every) || POLL_MS);
}

// The reason line: one sentence for the cell that has the focus or the pointer. On touch the first tap shows it and the
// second opens the player.
const reason = document.getElementById("reason");
const board = document.getElementById("board");
let shown = null;

/** Show why a cell is what it is. */
function showReason(cell) {
  const row = cell.closest("tr");
  const column = row ? [...row.children].indexOf(cell.parentElement) : -1;
  const call = board.querySelectorAll("thead th")[column]?.textContent.trim() ?? "";
  const name = row?.querySelector("a.name");
  const bold = document.createElement("b");
  bold.textContent = `${name?.querySelector(".jersey").textContent} ${name?.querySelector("span:last-child").firstChild.textContent.trim()}, ${call}: ${cell.querySelector(".word").textContent}.`;
  const link = reason.querySelector("a");
  reason.replaceChildren(bold, ` ${cell.dataset.why}. `, link);
  link.href = `${cell.getAttribute("href")}#missed`;
  reason.hidden = false;
  shown = cell.getAttribute("href");
}

if (reason && board) {
  let isTouch = false;
  board.addEventListener("pointerdown", (event) => { isTouch = event.pointerType === "touch"; });
  for (const what of ["pointerover", "focusin"]) {
    board.addEventListener(what, (event) => {
      const cell = event.target.closest("a.cell");
      if (cell && !(event.pointerType === "touch")) showReason(cell);
    });
  }
  board.addEventListener("click", (event) => {
    const cell = event.target.closest("a.cell");
    if (!cell || !isTouch || reason.dataset.opened === cell.getAttribute("href")) return;
    event.preventDefault();
    showReason(cell);
    reason.dataset.opened = shown;
  });
}
