// Which thumb he holds the phone with: a setting of this phone, for the bar of a rep.

const KEY = "gapsound-thumb";

const read = () => {
  try {
    return localStorage.getItem(KEY) === "left";
  } catch {
    return false; // no storage: the bar stays as it is
  }
};

const show = (isLeft, button) => {
  document.documentElement.classList.toggle("is-left", isLeft);
  button?.setAttribute("aria-pressed", String(isLeft));
};

/** Set the bar's side as stored, and let the page's switch change it. */
export function watchThumb() {
  const button = document.querySelector(".thumb");
  show(read(), button);
  if (!button) return;
  button.hidden = false;
  button.addEventListener("click", () => {
    const isLeft = !document.documentElement.classList.contains("is-left");
    show(isLeft, button);
    try {
      localStorage.setItem(KEY, isLeft ? "left" : "right");
    } catch {
      // it lasts as long as this page
    }
  });
}
