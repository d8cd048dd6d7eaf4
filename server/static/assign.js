// Keeps the button's count, the stages and the samples those of what is ticked.

import { hasJob, tickGroups } from "/static/groups.js";
import { _ } from "/static/words.js";

const send = document.getElementById("send");
const ticked = (name) => [...document.querySelectorAll(`input[name="${name}"]:checked`)];

/** Players picked; with none picked, those of ticked positions with a job in the call. */
function count() {
  const picked = ticked("players").length;
  if (picked) return picked;
  const call = send.form.elements.mix.value ? "" : document.getElementById("call").value;
  const withJob = ticked("positions").filter((one) => hasJob(one, call));
  const positions = new Set(withJob.map((one) => one.value));
  return [...document.querySelectorAll('input[name="players"]')].filter((one) =>
    one.dataset.positions.split("|").some((position) => positions.has(position)),
  ).length;
}

function showCount() {
  const n = count();
  send.textContent = n === 1 ? _("Send to 1 player") : _("Send to {n} players", { n });
}

/** Ids of the parts that depend on the call, and on what else is ticked. */
const BY_CALL = ["who", "stages", "how", "samples"];
const BY_TICKS = ["stages", "samples"];
let hasOwnStages = document.querySelector('#stages button[value="stages"]') !== null; // the coach ticked stages himself
let latest = null; // the newest request

/** Load these parts for the form as it stands. */
async function load(ids) {
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
    const focused = document.activeElement;
    for (const [old, part] of ids.map((id) => [document.getElementById(id), page.getElementById(id)])) {
      const [before, after] = [old, part].map((one) => (one.id === "samples" ? one.closest("section") : one));
      const held = before.contains(focused) && focused.value ? `[name="${focused.name}"][value="${CSS.escape(focused.value)}"]` : null;
      before.replaceWith(after);
      if (held) after.querySelector(held)?.focus({ preventScroll: true });
    }
    document.querySelector(".who-players").open = isOpen;
    showCount();
  } catch {
    // no signal: the form stays as it is
  } finally {
    if (mine === latest) latest = null;
  }
}

tickGroups(send.form);
send.form.addEventListener("change", (event) => {
  showCount();
  const { id, name } = event.target;
  if (name === "stages") hasOwnStages = true;
  if (id === "call") send.form.querySelector('input[name="mix"][value=""]').checked = true;
  if (name === "mix") hasOwnStages = false;
  if (id === "call" || name === "mix") load(BY_CALL);
  else if (["positions", "players", "stages", "sides", "purpose"].includes(name)) load(latest === null ? BY_TICKS : BY_CALL);
});
