// Buttons that copy a text of the page. Without this file they stay hidden; the text can be selected with one click.

for (const button of document.querySelectorAll("button.copy")) {
  const text = document.getElementById(button.dataset.copies);
  const words = button.textContent;
  button.hidden = false;
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(text.textContent.trim());
    } catch {
      // Only pages under https may write to the clipboard; elsewhere the browser copies what is selected.
      getSelection().selectAllChildren(text);
      document.execCommand("copy");
    }
    button.textContent = button.dataset.done;
    setTimeout(() => { button.textContent = words; }, 2000);
  });
}
