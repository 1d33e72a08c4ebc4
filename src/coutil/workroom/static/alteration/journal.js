// The journal: every step of every window, kept in this browser, so that a reload or a closed window loses nothing.
//
// Each window holds a lock on its own journal.  A window that opens an order takes up the newest journal of that order
// whose lock is free and that holds something unsaved; two windows never write into one.

import { isSame } from "./draft.js";

const NAME = "coutil-alteration";
const KEPT_DAYS = 60;

export class Journal {
  #database;
  #order;
  #window = "";
  #written = 0;

  static async open(order) {
    const journal = new Journal();
    journal.#order = order;
    try {
      journal.#database = await opened();
    } catch {
      journal.#database = null;
    }
    return journal;
  }

  get isKept() {
    return this.#database !== null;
  }

  /** What this window, or one that was closed, has left unsaved; null where there is nothing. */
  async takeUp() {
    if (!this.isKept) return null;
    const heads = await this.#heads();
    const own = sessionStorage.getItem(this.#slot);
    const wanted = [
      ...heads.filter((head) => head.window === own),
      ...heads.filter((head) => head.window !== own && !isSame(head.draft, head.origin)),
    ];
    for (const head of wanted) {
      const tries = head.window === own ? 6 : 1;
      if (await lockedSoon(this.#lockOf(head.window), tries)) return this.#resumed(head);
    }
    this.#window = crypto.randomUUID();
    sessionStorage.setItem(this.#slot, this.#window);
    await locked(this.#lockOf(this.#window));
    this.#forgetOld(heads);
    return null;
  }

  /** Keep the newest state: its steps beyond those already written, and where it stands. */
  async keep({ draft, steps, cursor }, origin, seen) {
    if (!this.isKept) return;
    const transaction = this.#database.transaction(["heads", "steps"], "readwrite");
    const from = Math.min(this.#written, Math.max(cursor - 1, 0));
    steps.slice(from).forEach((step, i) => transaction.objectStore("steps").put(step, [this.#order, this.#window, from + i]));
    const head = { order: this.#order, window: this.#window, draft, cursor, count: steps.length, origin, seen, at: Date.now() };
    transaction.objectStore("heads").put(head, [this.#order, this.#window]);
    this.#written = steps.length;
    await done(transaction);
  }

  get #slot() {
    return `coutil-window-${this.#order}`;
  }

  #lockOf(window) {
    return `${NAME}-${this.#order}-${window}`;
  }

  async #heads() {
    const store = this.#database.transaction("heads").objectStore("heads");
    const heads = await answer(store.getAll(range([this.#order])));
    return heads.sort((a, b) => b.at - a.at);
  }

  async #resumed(head) {
    this.#window = head.window;
    sessionStorage.setItem(this.#slot, head.window);
    const store = this.#database.transaction("steps").objectStore("steps");
    const steps = await answer(store.getAll(range([this.#order, head.window])));
    this.#written = head.count;
    return { ...head, steps: steps.slice(0, head.count) };
  }

  #forgetOld(heads) {
    const old = heads.filter((head) => isSame(head.draft, head.origin) && Date.now() - head.at > KEPT_DAYS * 864e5);
    if (!old.length) return;
    const transaction = this.#database.transaction(["heads", "steps"], "readwrite");
    for (const head of old) {
      transaction.objectStore("heads").delete([head.order, head.window]);
      transaction.objectStore("steps").delete(range([head.order, head.window]));
    }
  }
}

function opened() {
  const request = indexedDB.open(NAME, 1);
  request.onupgradeneeded = () => {
    request.result.createObjectStore("heads");
    request.result.createObjectStore("steps");
  };
  return answer(request);
}

/** Hold a lock for as long as this window lives; false where another window holds it. */
function locked(name) {
  if (!navigator.locks) return Promise.resolve(true);
  return new Promise((resolve) => {
    navigator.locks.request(name, { ifAvailable: true }, (lock) => {
      resolve(lock !== null);
      return lock && new Promise(() => {});
    });
  });
}

/** A page that is being reloaded lets go of its lock a moment after its successor asks. */
async function lockedSoon(name, tries) {
  for (let i = 0; i < tries; i += 1) {
    if (i) await new Promise((resolve) => setTimeout(resolve, 60));
    if (await locked(name)) return true;
  }
  return false;
}

function range(prefix) {
  return IDBKeyRange.bound(prefix, [...prefix, []]);
}

function answer(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function done(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onerror = () => reject(transaction.error);
  });
}
