// The form of a set: keeps the number of players on its button current, and loads the stages and samples of another
// call when it is chosen. The form works without this file.

import { tickGroups } from "/static/groups.js";
import { _ } from "/static/words.js";

const send = document.getElementById("send");
const ticked = (name) => [...document.querySelectorAll(`input[name="${name}"]:checked`)];

/** The number of picked players; with none picked, everyone in a ticked position that has a job in the call. */
function count() {
  const picked = ticked("players").length;
  if (picked) return picked;
  const call = document.getElementById("call").value;
  const withJob = ticked("positions").filter((one) => one.dataset.calls.split("|").includes(call));
  const positions = new Set(withJob.map((one) => one.value));
  return [...document.querySelectorAll('input[name="players"]')].filter((one) =>
    one.dataset.positions.split("|").some((position) => positions.has(position)),
  ).length;
}

function showCount() {
  const n = count();
  send.textContent = n === 1 ? _("Send to 1 player") : _("Send to {n} players", { n });
}

/** Ids of the parts of the form that depend on the call. */
const BY_CALL = ["who", "stages", "samples"];
let hasOwnStages = document.querySelector('#stages button[value="stages"]') !== null; // the coach ticked stages himself
let latest = null; // the newest request

/** Load the parts for the chosen call, with the stages most players are at unless the coach ticked some himself. */
async function loadCall() {
  const fields = new URLSearchParams(new FormData(send.form));
  if (!hasOwnStages) fields.set("pick", "stages");
  const mine = fetch(`/coach/assign?${fields}`, { headers: { Accept: "text/html" } });
  latest = mine;
  try {
    const reply = await mine;
    if (reply.redirected || !reply.ok) return;
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    if (mine !== latest) return;
    const isOpen = document.querySelector(".who-players").open;
    for (const part of BY_CALL.map((id) => [document.getElementById(id), page.getElementById(id)])) {
      const [old, fresh] = part.map((one) => (one.id === "samples" ? one.closest("section") : one));
      old.replaceWith(fresh);
    }
    document.querySelector(".who-players").open = isOpen;
    showCount();
  } catch {
    // No signal: the form stays as it is, as without this file.
  } finally {
    if (mine === latest) latest = null;
  }
}

tickGroups(send.form);
send.form.addEventListener("change", (event) => {
  showCount();
  if (event.target.name === "stages") hasOwnStages = true;
  if (event.target.id === "call") loadCall();
});
