// The drawing by keyboard: from edge to edge, along an edge with the tape, and handles moved by arrow keys.

import { say, byId } from "./dom.js";
import { inSteps } from "./tools.js";

const STRIDE = 5; // Millimetres the tape's end moves along an edge; one with Shift.

export class Edges {
  #svg;
  #page;
  #at = -1;
  #along = null;

  constructor(svg, page) {
    this.#svg = svg;
    this.#page = page;
    svg.addEventListener("keydown", (event) => this.#key(event));
    svg.addEventListener("focusout", (event) => this.#left(event));
  }

  #key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const grip = event.target.closest(".grip");
    const done = grip ? this.#nudge(event, grip.parentNode) : this.#page.lesson.isOn ? this.#lesson(event) : this.#walk(event);
    if (done) event.preventDefault();
  }

  #lesson(event) {
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (by) this.#page.lesson.step(by);
    return Boolean(by);
  }

  #walk(event) {
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (by) return this.#go(by);
    const group = this.#groups[this.#at];
    if (!group) return false;
    const stride = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (stride && this.#page.isTaping()) return this.#slide(group, stride * (event.shiftKey ? 1 : STRIDE));
    if (event.key !== "Enter" && event.key !== " ") return false;
    if (this.#page.isTaping()) this.#touch(group);
    else this.#page.chooseEdge(group.dataset.edge);
    return true;
  }

  get #groups() {
    return [...this.#page.drawing.layers.edges.children];
  }

  #go(by) {
    const groups = this.#groups;
    this.#at = (this.#at + by + groups.length) % groups.length;
    this.#along = null;
    groups[this.#at].focus();
    if (!this.#page.isTaping()) this.#page.chooseEdge(groups[this.#at].dataset.edge);
    else this.#slide(groups[this.#at], 0);
    return true;
  }

  /** Move the tape's end along the edge; it is told by how far it lies from the edge's start. */
  #slide(group, by) {
    const path = group.lastElementChild;
    const length = path.getTotalLength();
    this.#along = Math.min(Math.max((this.#along ?? length / 2) + by, 0), length);
    const { x, y } = path.getPointAtLength(this.#along);
    const piece = group.dataset.edge.split("/")[0];
    this.#page.tape.aim({ piece, x, y });
    say(byId("told"), `${Math.round(this.#along)} of ${Math.round(length)} mm`);
    return true;
  }

  #touch(group) {
    const path = group.lastElementChild;
    const { x, y } = path.getPointAtLength(this.#along ?? path.getTotalLength() / 2);
    const at = this.#page.drawing.at(group.dataset.edge.split("/")[0]);
    this.#page.touched(group.dataset.edge, { x: x + at.x, y: y + at.y });
  }

  #nudge(event, group) {
    const { row } = group.dataset;
    const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[event.key];
    if (event.key === "Enter") {
      this.#page.letGo(row);
      return true;
    }
    if (!by) return false;
    const arrow = this.#page.arrowOf(group);
    this.#page.takeUp(row);
    this.#page.tryAmount(row, inSteps(arrow.row_mm + by * this.#page.step(), this.#page.step()));
    return true;
  }

  #left(event) {
    const grip = event.target.closest(".grip");
    if (grip && this.#page.history.isOpen && !this.#svg.contains(event.relatedTarget)) this.#page.letGo(grip.parentNode.dataset.row);
  }
}
