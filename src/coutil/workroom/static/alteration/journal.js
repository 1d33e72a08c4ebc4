// The journal: every step of every window, kept among the records, so that a reload or a closed window loses nothing.
//
// Each window holds a lock on its own draft.  A window that opens an order takes up the newest draft of that order
// whose lock is free and that holds something unsaved; two windows never write into one.  While the program is away
// the newest state is held in this browser, and sent as soon as it is back.

import { isSame } from "./draft.js";
import { held, hold, letGo } from "../unsent.js";

const TRY_AGAIN_MS = 1500;
const GONE = 404;

export class Journal {
  #server;
  #order;
  #book;
  #window = "";
  #written = 0;
  #latest = null;
  #busy = false;
  #told;

  /** `told(news)` hears "away" when the program does not answer, "back" when it does again, or an error. */
  constructor(order, server, book, told) {
    Object.assign(this, { isAway: false });
    this.#order = order;
    this.#server = server;
    this.#book = book;
    this.#told = told;
  }

  /** What this window, or one that was closed, has left; null where there is nothing. */
  async takeUp(drafts) {
    const own = sessionStorage.getItem(this.#slot);
    const unsent = await this.#unsent();
    const heads = [...unsent, ...drafts.filter(({ window }) => !unsent.some((piece) => piece.window === window))];
    const wanted = [
      ...heads.filter(({ window }) => window === own),
      ...heads.filter(({ window, head }) => window !== own && isUnsaved(head)),
    ];
    for (const { window, head, steps } of wanted) {
      if (!(await lockedSoon(this.#lockOf(window), window === own ? 6 : 1))) continue;
      this.#window = window;
      sessionStorage.setItem(this.#slot, window);
      const found = steps ? { head, steps } : await this.#server.get(`/draft/${window}`);
      if (!found.head) continue;
      this.#written = steps ? 0 : found.steps.length;
      return { ...found.head, steps: found.steps };
    }
    this.#window = crypto.randomUUID();
    sessionStorage.setItem(this.#slot, this.#window);
    await locked(this.#lockOf(this.#window));
    return null;
  }

  /** Keep the newest state; what came before it need not be kept. */
  async keep(state) {
    this.#latest = state;
    if (this.#busy) return;
    this.#busy = true;
    try {
      while (this.#latest) await this.#keepOne(this.#latest);
    } finally {
      this.#busy = false;
    }
  }

  /** What was kept of the steps is not what is there now: the next keeping sends them all. */
  forgetWritten() {
    this.#written = 0;
  }

  async #keepOne(state) {
    const { steps, cursor, ...rest } = state;
    const first = Math.min(this.#written, Math.max(cursor - 1, 0), steps.length);
    const head = { ...rest, cursor, count: steps.length };
    // Held here until the answer is there: a page that is left meanwhile may take the question with it.
    const isHeld = await hold(this.#book, this.#order, this.#window, { head, steps }).then(() => true, () => false);
    try {
      await this.#server.post("/draft", { window: this.#window, head, first, steps: steps.slice(first) });
    } catch (refusal) {
      if (refusal.status === 0) return void (await this.#away(isHeld));
      if (first > 0 && refusal.status !== GONE) return void (this.#written = 0);
      return void this.#lost(state, refusal);
    }
    this.#written = steps.length;
    if (this.#latest === state) this.#latest = null;
    await letGo(this.#book, this.#order, this.#window).catch(() => {});
    if (!this.isAway) return;
    this.isAway = false;
    this.#told("back");
  }

  /** The program is away: what this browser holds is sent again in a while. */
  async #away(isHeld) {
    this.#written = 0;
    const isNew = !this.isAway;
    this.isAway = true;
    if (!isHeld) this.#told(new Error("The program does not answer and this browser keeps nothing: leave this page open until it does."));
    else if (isNew) this.#told("away");
    await new Promise((resolve) => setTimeout(resolve, TRY_AGAIN_MS));
  }

  /** Refused for good: the order is gone, or these are other records. */
  #lost(state, refusal) {
    if (this.#latest === state) this.#latest = null;
    letGo(this.#book, this.#order, this.#window).catch(() => {});
    this.#told(refusal);
  }

  async #unsent() {
    const pieces = await held().catch(() => []);
    const own = pieces.filter(({ book, order }) => book === this.#book && order === this.#order);
    return own.sort((a, b) => b.at - a.at).map(({ window, state }) => ({ window, ...state }));
  }

  get #slot() {
    return `coutil-window-${this.#book}-${this.#order}`;
  }

  #lockOf(window) {
    return `coutil-alteration-${this.#book}-${this.#order}-${window}`;
  }
}

function isUnsaved(head) {
  return Boolean(head.pending) || !isSame(head.draft, head.origin);
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
