// The form that changes a set: keeps the sentence of what it would do current. Without this file a button does that.

import { tickGroups } from "/static/groups.js";

const form = document.querySelector("form.assign");
let latest = null; // the newest request

/** Ask what the form as it stands would change, and show it. */
async function look() {
  const mine = fetch(`${form.getAttribute("action")}?${new URLSearchParams(new FormData(form))}`, { headers: { Accept: "text/html" } });
  latest = mine;
  try {
    const reply = await mine;
    if (reply.redirected || !reply.ok) return;
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    if (mine !== latest) return;
    for (const id of ["who", "foot"]) {
      const isOpen = document.querySelector(".who-players").open;
      const focused = document.activeElement;
      const own = focused?.name ? `[name="${focused.name}"][value="${CSS.escape(focused.value)}"]` : null;
      const fresh = page.getElementById(id);
      if (focused && own && document.getElementById(id).contains(focused)) {
        document.getElementById(id).replaceWith(fresh);
        fresh.querySelector(own)?.focus({ preventScroll: true });
      } else document.getElementById(id).replaceWith(fresh);
      document.querySelector(".who-players").open = isOpen;
    }
  } catch {
    // No signal: the sentence stays; the server says the same again before it does anything.
  }
}

document.documentElement.classList.add("has-script");
tickGroups(form);
form.addEventListener("change", look);
