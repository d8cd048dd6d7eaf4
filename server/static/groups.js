// A group's button ticks all its positions that the call has, or none when all are; without this file the server does it.

/** Whether this box's position has a job in the call; without a call, in any. */
export const hasJob = (box, call) => (call ? box.dataset.calls.split("|").includes(call) : box.dataset.calls !== "");

export function tickGroups(form) {
  const boxesOf = (group) => {
    const call = form.dataset.call ?? (form.elements.mix.value ? "" : form.elements.call.value);
    return [...group.querySelectorAll("input[name='positions']")].filter((one) => hasJob(one, call));
  };
  form.addEventListener("click", (event) => {
    const button = event.target.closest("button[name='pick'][value^='group:']");
    if (!button) return;
    event.preventDefault();
    const boxes = boxesOf(button.closest(".who-group"));
    const isAll = boxes.every((one) => one.checked);
    for (const one of boxes) one.checked = !isAll;
    boxes[0]?.dispatchEvent(new Event("change", { bubbles: true }));
  });
  form.addEventListener("change", (event) => {
    if (event.target.name !== "positions") return;
    const group = event.target.closest(".who-group");
    group.querySelector("button[name='pick']")?.setAttribute("aria-pressed", String(boxesOf(group).every((one) => one.checked)));
  });
}
