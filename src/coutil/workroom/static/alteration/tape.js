// The tape: two touches, and what it reads on the result, on the base and on the mate.

import { byId, make, put, say } from "./dom.js";

const NAMES = { result: "Result", base: "Base", mate: "Mate, sewn to it" };

export class Tape {
  #server;
  #drawing;
  #ends = [];
  #lines = [];

  constructor(server, drawing) {
    this.#server = server;
    this.#drawing = drawing;
    this.isOut = false;
  }

  take() {
    this.isOut = true;
    this.#clear();
    this.#tell("Touch the first point: on an edge or a seam.", []);
  }

  /** Put the tape away; false where it was not out. */
  putAway() {
    if (!this.isOut) return false;
    this.isOut = false;
    this.#clear();
    put(byId("tape-card"), "hidden", true);
    return true;
  }

  /** Touch a point of the result, in its piece's millimetres. */
  async touch(edge, x, y, draft) {
    if (this.#ends.length === 2) this.#ends = [];
    this.#ends.push({ edge, x, y, piece: edge.split("/")[0] });
    this.#lines = [];
    this.#draw();
    if (this.#ends.length < 2) return this.#tell("Now the second point.", []);
    return this.measure(draft);
  }

  /** Show where the next touch would fall, for who works with the keyboard. */
  aim(point) {
    this.#drawing.tape(this.#lines, [...this.#ends.slice(0, this.#ends.length % 2), point]);
  }

  /** Read again, as after an amount has changed; nothing where the tape does not lie. */
  async measure(draft) {
    if (!this.isOut || this.#ends.length < 2) return;
    const [first, second] = this.#ends.map(({ edge, x, y }) => ({ edge, x, y }));
    try {
      const read = await this.#server.post("/tape", { draft, first, second });
      this.#lines = read.lines;
      this.#draw();
      this.#tell(read.title, read.readings);
    } catch (refusal) {
      this.#tell(refusal.message, []);
    }
  }

  #clear() {
    this.#ends = [];
    this.#lines = [];
    this.#draw();
  }

  #draw() {
    this.#drawing.tape(this.#lines, this.#ends);
  }

  #tell(title, readings) {
    put(byId("tape-card"), "hidden", false);
    say(byId("tape-title"), title);
    byId("tape-readings").replaceChildren(
      ...readings.flatMap(({ name, length }) => [make("dt", {}, NAMES[name]), make("dd", { "data-reading": name }, length)]),
    );
  }
}
