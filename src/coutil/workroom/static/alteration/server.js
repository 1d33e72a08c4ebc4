// Questions to the program.  Every answer is a value or a Refusal with one sentence for the maker.

export class Refusal extends Error {
  constructor(status, { sentence = "The program did not answer as expected.", field = "", ...rest } = {}) {
    super(sentence);
    this.status = status;
    this.field = field;
    this.said = rest;
  }
}

export class Server {
  constructor(order) {
    this.place = `/api/orders/${order}/alteration`;
  }

  get(path = "") {
    return this.#ask(path, { method: "GET" });
  }

  post(path, body, signal) {
    const headers = { "Content-Type": "application/json" };
    return this.#ask(path, { method: "POST", headers, body: JSON.stringify(body), signal });
  }

  async #ask(path, options) {
    const answer = await sent(this.place + path, options);
    const said = await answer.json().catch(() => ({}));
    if (!answer.ok) throw new Refusal(answer.status, said);
    return said;
  }
}

async function sent(url, options) {
  try {
    return await fetch(url, { credentials: "same-origin", ...options });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refusal(0, { sentence: "The program does not answer: is coutil serve still running?  Your changes are kept here." });
  }
}

/** Runs `work` on the newest value only: what was asked for while it was busy is replaced by what came later. */
export function newestOnly(work) {
  let busy = false;
  let waiting = null;
  return async function ask(value) {
    waiting = { value };
    if (busy) return;
    busy = true;
    while (waiting) {
      const next = waiting.value;
      waiting = null;
      await work(next, () => waiting !== null);
    }
    busy = false;
  };
}
