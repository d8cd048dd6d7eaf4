// Answers stored on this phone until the server has them. Each has an id made here, so that sending it twice is the
// same as sending it once. Knows nothing of pages: a callback reports the result of each answer.

const DATABASE = "gapsound";
const STORE = "answers";
const TIMEOUT_MS = 8000; // slower than this counts as no signal
const STORAGE_MS = 1500; // a storage that takes longer counts as none

/** The promise's result, or an error if it takes longer than `ms`: storage of some phones never answers. */
export const soon = (promise, ms = STORAGE_MS) =>
  Promise.race([promise, new Promise((_resolve, reject) => setTimeout(reject, ms, new Error("no answer in time")))]);

/** A new id: 128 random bits as 32 hex digits. getRandomValues also works without HTTPS. */
export function makeId() {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

const done = (request) =>
  new Promise((resolve, reject) => {
    request.addEventListener("success", () => resolve(request.result));
    request.addEventListener("error", () => reject(request.error));
  });

function open() {
  const request = indexedDB.open(DATABASE, 1);
  request.addEventListener("upgradeneeded", () => request.result.createObjectStore(STORE, { keyPath: "id" }));
  return done(request);
}

/** One player's answers on this phone. `onSent(answer, status, reply)` is called once for each that the server settled. */
export class Outbox {
  constructor(player, onSent) {
    this.player = player;
    this.onSent = onSent;
    this.memory = new Map(); // the only store when the browser keeps nothing (private windows)
    this.isKept = true;
    this.sending = null;
    this.ready = soon(this.#read()).catch(() => {
      this.isKept = false;
    });
  }

  async #read() {
    const database = await open();
    const all = await done(database.transaction(STORE).objectStore(STORE).getAll());
    for (const answer of all) if (answer.player === this.player) this.memory.set(answer.id, answer);
    this.database = database;
    if (this.isKept) return;
    this.isKept = true; // it answered after all: store what was given meanwhile
    for (const answer of this.memory.values()) await this.#write((store) => store.put(answer));
  }

  async #write(change) {
    if (!this.database) return;
    try {
      const transaction = this.database.transaction(STORE, "readwrite", { durability: "strict" });
      change(transaction.objectStore(STORE));
      const written = new Promise((resolve, reject) => {
        transaction.addEventListener("complete", resolve);
        for (const fault of ["error", "abort"]) transaction.addEventListener(fault, () => reject(transaction.error));
      });
      await soon(written);
    } catch {
      this.isKept = false;
    }
  }

  /** Store an answer ({url, body, …}) until it is sent; resolves when it is on the phone. */
  async add(answer) {
    await this.ready;
    const kept = { ...answer, player: this.player, at: Date.now() };
    this.memory.set(kept.id, kept);
    await this.#write((store) => store.put(kept));
  }

  /** Unsent answers, oldest first. */
  async waiting() {
    await this.ready;
    return [...this.memory.values()].sort((a, b) => a.at - b.at);
  }

  /** Send unsent answers in order; resolves to "sent", "no signal", "sign in" or "busy". */
  flush() {
    this.sending ??= this.#sendAll().finally(() => {
      this.sending = null;
    });
    return this.sending;
  }

  async #sendAll() {
    for (const answer of await this.waiting()) {
      let response;
      let reply;
      try {
        response = await fetch(answer.url, {
          method: "PUT",
          headers: { "Content-Type": "application/json", Accept: "application/json" },
          body: JSON.stringify({ ...answer.body, player: this.player }), // refused (403) if another has signed in since
          signal: AbortSignal.timeout?.(TIMEOUT_MS),
        });
        reply = await response.json().catch(() => ({}));
      } catch {
        return "no signal";
      }
      if (response.status === 401 || response.status === 403) return "sign in";
      if (response.status === 429 || response.status >= 500) return "busy";
      // 201 stored, 200 stored before, 409 another answer is stored: in all three cases the server has what counts.
      // Any other 4xx will never be accepted; report it and don't keep it forever.
      this.memory.delete(answer.id);
      await this.#write((store) => store.delete(answer.id));
      this.onSent(answer, response.status, reply);
    }
    return "sent";
  }
}
