// A call on the field: each control posts its form as soon as it changes, and the page that comes back takes the place of
// this one's; focus stays on the control. Without this script the same forms are sent by their buttons. Rejected: a
// second route that answers in parts (two pages to keep alike, for some 20 kB).

import { _ } from "./words.js";
import { attachAll } from "./motion.js";

document.documentElement.classList.add("has-script");
const bench = () => document.getElementById("bench");
let waiting = null; // what was asked for while an answer was on its way
let isBusy = false;

/** Put the answered page in place of this one; focus goes to the control of the same name or address. */
function show(page, address, isElsewhere) {
  const fresh = page.getElementById("bench");
  if (!fresh && isElsewhere) return location.assign(address); // the sign-in page
  if (!fresh) return document.querySelector("main").replaceWith(page.querySelector("main")); // a choice, or a refusal
  const one = document.activeElement;
  const mark = one?.id ? `#${CSS.escape(one.id)}` : one?.name ? `[name="${one.name}"][value="${CSS.escape(one.value)}"]` : one?.getAttribute?.("href") ? `a[href="${CSS.escape(one.getAttribute("href"))}"]` : "";
  const opened = [...bench().querySelectorAll("details")].map((part) => part.open);
  bench().replaceWith(fresh);
  fresh.querySelectorAll("details").forEach((part, n) => { part.open ||= opened[n] ?? false; });
  document.title = page.title;
  history.replaceState(null, "", address);
  if (mark) (fresh.querySelector(mark) ?? fresh.querySelector("#panel a, #panel select"))?.focus({ preventScroll: true });
  attachAll(fresh);
}

async function ask(address, options, isFollowing) {
  if (isBusy) {
    waiting = [address, options, isFollowing];
    return;
  }
  isBusy = true;
  bench().setAttribute("aria-busy", "true");
  try {
    const reply = await fetch(address, { ...options, headers: { Accept: "text/html" } });
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    show(page, reply.url, reply.redirected);
    if (isFollowing && innerWidth < 992) document.getElementById("panel")?.scrollIntoView({ block: "start", behavior: "instant" });
  } catch {
    const line = bench().querySelector(".saved");
    if (line) line.textContent = _("No signal. Your last change is not kept yet: change it again.");
  } finally {
    isBusy = false;
    bench()?.removeAttribute("aria-busy");
    const next = waiting;
    waiting = null;
    if (next) ask(...next);
  }
}

/** Send a form; its attributes are asked for by name, since a control called "action" hides the property. */
function send(form, button) {
  const fields = new URLSearchParams(new FormData(form));
  if (button?.name) fields.set(button.name, button.value);
  if (form.getAttribute("method") === "get") return ask(`${form.getAttribute("action")}?${fields}`, {});
  return ask(form.getAttribute("action"), { method: "POST", body: fields });
}

document.addEventListener("change", ({ target }) => {
  const form = target.closest("#bench .man-form[action*='/men/'], #bench .bench-look");
  if (form && target.checkValidity()) send(form, null);
});
document.addEventListener("submit", (event) => {
  const form = event.target.closest("#bench .man-form[action*='/men/'], #bench .bench-look");
  if (!form) return;
  event.preventDefault();
  send(form, event.submitter);
});
document.addEventListener("click", (event) => {
  const link = event.target.closest("#bench .gs-link, #bench .eleven a, #bench .panel-head a, #bench .toggles a");
  if (!link || event.metaKey || event.ctrlKey || event.button) return;
  event.preventDefault();
  ask(link.getAttribute("href"), {}, link.matches(".gs-link, .eleven a"));
});
