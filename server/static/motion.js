// Plays a moving picture: play, pause, step, scrub. The format (data-end, data-snap, data-k, data-kw, data-g, data-from, data-to) is
// documented in quizgen/drawing/motion.py. Knows nothing of football or answers.

import { _ } from "/static/words.js";

const STEP_S = 0.2;
const START_MS = 300; // the word is read first
const IN_VIEW = 0.5; // share of a figure that must be in view before it autoplays
const STILLS = 4; // number of still pictures with reduced motion

const reduced = matchMedia("(prefers-reduced-motion: reduce)");

const keysOf = (text) => text.split(";").map((key) => key.split(" ").map(Number));

/** The two values of a list of keyframes at second t: linear between two, constant before the first and after the last. */
function valueAt(keys, t) {
  const next = keys.findIndex((key) => key[0] > t);
  if (next === 0) return keys[0].slice(1);
  if (next < 0) return keys[keys.length - 1].slice(1);
  const [before, after] = [keys[next - 1], keys[next]];
  const share = (t - before[0]) / (after[0] - before[0]);
  return [1, 2].map((i) => before[i] + share * (after[i] - before[i]));
}

/** Functions of time (seconds), one for each thing in the picture that changes. */
function animationsOf(svg) {
  const animations = [];
  for (const element of svg.querySelectorAll("[data-k]")) {
    const keys = keysOf(element.dataset.k);
    animations.push((t) => {
      const [x, y] = valueAt(keys, t);
      element.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
    });
  }
  for (const element of svg.querySelectorAll("[data-kw]")) {
    const keys = keysOf(element.dataset.kw);
    animations.push((t) => {
      const [x, width] = valueAt(keys, t);
      element.setAttribute("x", x.toFixed(1));
      element.setAttribute("width", Math.max(0, width).toFixed(1));
    });
  }
  for (const element of svg.querySelectorAll("[data-g]")) {
    const keys = keysOf(element.dataset.g).map(([t, share]) => [t, share, 0]);
    animations.push((t) => {
      const [share] = valueAt(keys, t);
      element.setAttribute("visibility", share > 0 ? "visible" : "hidden");
      if (share < 1) element.setAttribute("stroke-dasharray", `${share.toFixed(3)} 1`);
      else element.removeAttribute("stroke-dasharray");
    });
  }
  for (const element of svg.querySelectorAll("[data-from], [data-to]")) {
    const from = Number(element.dataset.from ?? 0);
    const to = Number(element.dataset.to ?? Infinity);
    animations.push((t) => element.setAttribute("visibility", from <= t && t < to ? "visible" : "hidden"));
  }
  return animations;
}

/** Call once when enough of the figure is in view. */
function whenInView(figure, call) {
  const watch = new IntersectionObserver(
    (entries) => {
      if (!entries.some((one) => one.isIntersecting)) return;
      watch.disconnect();
      call();
    },
    { threshold: IN_VIEW },
  );
  watch.observe(figure);
}

/** Attach controls to a figure with class "moves"; does nothing when its picture doesn't move. */
function attach(figure) {
  const svg = figure.querySelector("svg[data-end]");
  const controls = figure.querySelector(".player");
  if (!svg || !controls || figure.dataset.attached) return;
  figure.dataset.attached = "yes";
  const replay = figure.parentElement.querySelector(".replay");
  controls.hidden = Boolean(replay); // folded until asked for
  const end = Number(svg.dataset.end);
  const snap = Number(svg.dataset.snap ?? 0);
  const animations = animationsOf(svg);
  const slider = controls.querySelector("input");
  const clock = controls.querySelector("output");
  const play = controls.querySelector("[data-do=play]");
  slider.max = String(end);
  slider.step = String(end / 20);
  let now = 0;
  let frame = 0;

  const show = (t) => {
    now = Math.min(end, Math.max(0, t));
    for (const animate of animations) animate(now);
    slider.value = String(now);
    const seconds = Math.abs(now - snap).toFixed(1);
    const text =
      now < snap ? _("{seconds} seconds before the snap", { seconds }) : _("{seconds} seconds after the snap", { seconds });
    slider.setAttribute("aria-valuetext", text);
    clock.textContent = `${now.toFixed(1)} s`;
  };
  const stop = () => {
    cancelAnimationFrame(frame);
    clearTimeout(frame);
    frame = 0;
    controls.classList.remove("is-playing");
    play.setAttribute("aria-label", _("Play"));
  };
  const start = () => {
    stop();
    if (now >= end) show(0);
    controls.classList.add("is-playing");
    play.setAttribute("aria-label", _("Pause"));
    if (reduced.matches) {
      const still = () => {
        if (now >= end) return stop();
        show(now + end / (STILLS - 1));
        frame = setTimeout(still, 900);
      };
      frame = setTimeout(still, 900);
      return;
    }
    let last = performance.now();
    const tick = (time) => {
      show(now + Math.max(0, time - last) / 1000);
      last = time;
      if (now >= end) stop();
      else frame = requestAnimationFrame(tick);
    };
    frame = requestAnimationFrame(tick);
  };

  controls.addEventListener("click", (event) => {
    const what = event.target.closest("[data-do]")?.dataset.do;
    if (what === "play") (frame ? stop : start)();
    if (what === "back" || what === "on") {
      stop();
      const step = reduced.matches ? end / (STILLS - 1) : STEP_S;
      show(now + (what === "on" ? step : -step));
    }
  });
  if (replay) {
    replay.hidden = false;
    replay.addEventListener("click", () => {
      controls.hidden = false;
      replay.hidden = true;
      show(0);
      start();
    });
  }
  slider.addEventListener("input", () => {
    stop();
    show(Number(slider.value));
  });

  if (reduced.matches || !("autoplay" in figure.dataset)) show(end);
  else {
    show(0);
    whenInView(figure, () => setTimeout(() => figure.isConnected && now === 0 && !frame && start(), START_MS));
  }
}

/** Attach controls to every moving figure under this element. */
export function attachAll(root = document) {
  document.documentElement.classList.add("has-script");
  for (const figure of root.querySelectorAll(".moves")) attach(figure);
}

attachAll();
