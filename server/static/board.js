// Keeps a coach's page current while it is looked at: asks for it again with its tag, puts in the parts that changed.
// Parts are marked data-live and have an id; what says how current the page is has the id "live".

import { _ } from "./words.js";

const EVERY_MS = 10_000;
const UNTENDED_MS = 2 * 3_600_000; // a page that nobody touched for so long stops asking: a session must be able to end

const line = document.getElementById("live");
const said = line?.querySelector("[data-said]");
let tended = Date.now();
let asking = false;

/** A link or control of a part, found again by where it leads or what it is called; null for anything else. */
function find_same(part, one) {
  const name = one.getAttribute("href") ?? one.getAttribute("aria-label");
  const alike = (other) => name !== null && name === (other.getAttribute("href") ?? other.getAttribute("aria-label"));
  if (one.localName === "summary") return part.querySelectorAll("summary")[[...one.closest("[data-live]").querySelectorAll("summary")].indexOf(one)] ?? null;
  return [...part.querySelectorAll(one.localName)].find(alike) ?? null;
}

/** What the cells of a part say, by where they lead. */
const cells_of = (part) => new Map([...part.querySelectorAll("a.cell")].map((cell) => [cell.getAttribute("href"), cell.textContent]));

/** Put a part's new content in; the focus, what is opened and what is scrolled stay. */
function put_in(part, fresh) {
  if (part.innerHTML === fresh.innerHTML) return;
  const before = cells_of(part);
  const held = part.contains(document.activeElement) ? find_same(fresh, document.activeElement) : null;
  const opened = [...part.querySelectorAll("details")].map((one) => one.open);
  const scrolled = [...part.querySelectorAll(".scroll, .scroll-list")].map((one) => [one.scrollLeft, one.scrollTop]);
  for (const cell of fresh.querySelectorAll("a.cell")) {
    if (before.get(cell.getAttribute("href")) !== cell.textContent) cell.classList.add("is-new");
  }
  part.replaceChildren(...fresh.childNodes);
  part.querySelectorAll("details").forEach((one, n) => { one.open = opened[n] ?? one.open; });
  part.querySelectorAll(".scroll, .scroll-list").forEach((one, n) => one.scrollTo(...(scrolled[n] ?? [0, 0])));
  held?.focus({ preventScroll: true });
}

/** Ask once; nothing happens while the page is hidden, or when nothing has changed. */
async function ask() {
  if (asking || document.hidden || Date.now() - tended > UNTENDED_MS) return;
  asking = true;
  try {
    const reply = await fetch(location.href, { cache: "no-store", headers: { Accept: "text/html", "If-None-Match": line.dataset.tag } });
    if (reply.status === 304) return;
    if (reply.redirected || !reply.ok) throw new Error(String(reply.status));
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    const fresh = page.getElementById("live");
    for (const part of document.querySelectorAll("[data-live]")) {
      const other = page.getElementById(part.id);
      if (other) put_in(part, other);
    }
    line.dataset.tag = fresh.dataset.tag;
    said.textContent = fresh.querySelector("[data-said]").textContent;
  } catch {
    said.textContent = _("This page can't be brought up to date right now.");
  } finally {
    asking = false;
  }
}

if (line) {
  for (const touch of ["pointerdown", "keydown", "scroll"]) addEventListener(touch, () => { tended = Date.now(); }, { passive: true });
  document.addEventListener("visibilitychange", ask);
  setInterval(ask, EVERY_MS);
}
