// The meeting room: keeps a wall or a phone at the snap that is on. Without this file a reload does the same. Knows
// nothing of football or answers.

const EVERY_MS = 1000;
const { room, version } = document.body.dataset;
const isWall = document.body.classList.contains("page-room");

/** Ask where the meeting is; another version is another page. */
async function look() {
  if (document.visibilityState === "hidden") return;
  try {
    const response = await fetch(room, { headers: { accept: "application/json" }, cache: "no-store" });
    if (!response.ok) return;
    const state = await response.json();
    if (state.version !== version) return location.assign(isWall ? location.pathname : "/room");
    const count = document.querySelector("[data-count]");
    const words = count?.dataset.count.replace("{some}", state.answered).replace("{all}", state.asked);
    if (count && count.textContent !== words) count.textContent = words;
  } catch {
    // no signal: the next look tries again
  }
}

async function watch() {
  await look();
  setTimeout(watch, EVERY_MS);
}

/** Keys on the wall: F shows the fits, N goes on, 1 and 2 ask what if, A for who answers aloud. */
const KEYS = { f: "fits", n: "next", 1: "1", 2: "2", a: "aloud" };
if (isWall) {
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea")) return;
    const name = KEYS[event.key.toLowerCase()];
    const button = name && document.querySelector(`[data-key="${name}"]`);
    if (button) button.click();
    const step = { ArrowLeft: "back", ArrowRight: "on", " ": "play" }[event.key];
    const control = step && document.querySelector(`.player [data-do="${step}"]`);
    if (control && !event.target.closest("button")) {
      event.preventDefault();
      control.click();
    }
  });
}

if (room) watch();
