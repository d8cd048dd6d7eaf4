// The form of a set: how many players get it, kept true while boxes are ticked. The form works without this file.

import { _ } from "/static/words.js";

const send = document.getElementById("send");
const ticked = (name) => [...document.querySelectorAll(`input[name="${name}"]:checked`)];

/** The players picked; when there are none, all who play one of the positions ticked that have a job in the call. */
function count() {
  const picked = ticked("players").length;
  if (picked) return picked;
  const call = document.getElementById("call").value;
  const asked = ticked("positions").filter((one) => one.dataset.calls.split("|").includes(call));
  const positions = new Set(asked.map((one) => one.value));
  return [...document.querySelectorAll('input[name="players"]')].filter((one) =>
    one.dataset.positions.split("|").some((position) => positions.has(position)),
  ).length;
}

function say() {
  const n = count();
  send.textContent = n === 1 ? _("Send to 1 player") : _("Send to {n} players", { n });
}

send.form.addEventListener("change", say);
