// The form of a set: how many players get it, kept true while boxes are ticked; with another call, its own stages and
// samples. The form works without this file.

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

/** Which parts of the form go by the call. */
const OF_CALL = ["who", "stages", "samples"];
let isOwnChoice = document.querySelector('#stages button[value="stages"]') !== null; // stages the coach ticked himself
let asked = null; // the form of the call chosen last, on its way

/** Put in what the form says of another call; the stages most are at there, unless the coach ticked some himself. */
async function askForCall() {
  const fields = new URLSearchParams(new FormData(send.form));
  if (!isOwnChoice) fields.set("pick", "stages");
  const mine = fetch(`/coach/assign?${fields}`, { headers: { Accept: "text/html" } });
  asked = mine;
  try {
    const reply = await mine;
    if (reply.redirected || !reply.ok) return;
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    if (mine !== asked) return;
    const isOpen = document.querySelector(".who-players").open;
    for (const part of OF_CALL.map((id) => [document.getElementById(id), page.getElementById(id)])) {
      const [old, fresh] = part.map((one) => (one.id === "samples" ? one.closest("section") : one));
      old.replaceWith(fresh);
    }
    document.querySelector(".who-players").open = isOpen;
    say();
  } catch {
    // No signal: the form stays as it is, as it does without this file.
  } finally {
    if (mine === asked) asked = null;
  }
}

send.form.addEventListener("change", (event) => {
  say();
  if (event.target.name === "stages") isOwnChoice = true;
  if (event.target.id === "call") askForCall();
});
