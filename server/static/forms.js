// Buttons that make him wait say so and can't be tapped twice. A page without a worker has nobody to answer a form
// without signal, so it asks first whether the server is there.

const WAIT_MS = 8000; // slower than this counts as no signal

const isThere = async () => {
  try {
    await fetch("/healthz", { signal: AbortSignal.timeout?.(WAIT_MS) });
    return true;
  } catch {
    return false;
  }
};

/** The forms with data-busy, words for their button while it works; and data-no-signal, words for when it can't. */
export function watchForms() {
  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.dataset.busy) return;
    if (form.classList.contains("is-waiting")) return event.preventDefault();
    setBusy(form, true);
    const worker = navigator.serviceWorker;
    if (!worker || worker.controller) return;
    event.preventDefault();
    if ((await isThere()) || worker.controller) return form.submit();
    setBusy(form, false);
    const line = form.parentElement.querySelector(".saved, .form-problem");
    if (line) line.textContent = form.dataset.noSignal;
  });
  // The browser may show the page again as it was left.
  addEventListener("pageshow", (event) => {
    if (event.persisted) for (const form of document.querySelectorAll("form.is-waiting")) setBusy(form, false);
  });
}

function setBusy(form, isBusy) {
  const button = form.querySelector("button[type=submit]");
  form.classList.toggle("is-waiting", isBusy);
  button.classList.toggle("is-busy", isBusy);
  button.setAttribute("aria-disabled", String(isBusy));
  if (isBusy) button.dataset.words = button.textContent;
  button.textContent = isBusy ? form.dataset.busy : button.dataset.words;
}
