// What the scripts say, in the language of the page: the page brings the words (data-words), English needs none.

const words = JSON.parse(document.body.dataset.words ?? "{}");

/** A text in the language of the page, its {slots} filled. */
export const _ = (text, slots = {}) => (words[text] ?? text).replace(/\{(\w+)\}/g, (_slot, name) => slots[name]);
