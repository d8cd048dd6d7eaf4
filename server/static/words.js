// Translations for scripts: the page has them in data-words; English needs none.

const words = JSON.parse(document.body.dataset.words ?? "{}");

/** A text in the page's language, its {slots} filled. */
export const _ = (text, slots = {}) => (words[text] ?? text).replace(/\{(\w+)\}/g, (_slot, name) => slots[name]);
