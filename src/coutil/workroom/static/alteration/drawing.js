// The pieces on the table: base dashed, result solid, what is chosen lit up.  Redrawn in place, never rebuilt.

import { draw, keyed, put, say } from "./dom.js";

const NAMED_FROM = 0.55; // Screen dots a millimetre: below, a piece is too small for its name.
const LETTER = 7.5; // Screen dots a letter of a name takes.
const ARROW = 24; // Screen dots: long enough to be seen whatever the amount.

export class Drawing {
  #world;
  #layers = {};
  #document = null;
  #scale = 1;

  constructor(world) {
    this.#world = world;
    for (const name of ["pieces", "overlay", "edges", "tape", "arrows", "labels"]) {
      this.#layers[name] = draw("g", { class: name });
      world.append(this.#layers[name]);
    }
  }

  get layers() {
    return this.#layers;
  }

  at(piece) {
    const found = this.#document.pieces.find(({ name }) => name === piece);
    return found ? { x: found.dx, y: found.dy } : { x: 0, y: 0 };
  }

  /** Draw a document; `frame` replaces the results by the outlines of a step. */
  show(document, frame = null) {
    this.#document = document;
    const pieces = new Map(document.pieces.map((piece) => [piece.name, piece]));
    keyed(this.#layers.pieces, [...pieces.keys()], pieceGroup, (group, name) => updatePiece(group, pieces.get(name), frame));
    const edges = new Map(document.edges.map((edge) => [edge.id, edge]));
    keyed(this.#layers.edges, [...edges.keys()], edgeGroup, (group, id) => {
      updateEdge(group, edges.get(id), pieces.get(edges.get(id).piece), frame);
    });
    keyed(this.#layers.labels, [...pieces.keys()], label, (group, name) => updateLabel(group, pieces.get(name)));
    this.#layers.edges.classList.toggle("asleep", frame !== null);
    this.rescale(this.#scale);
  }

  /** Light up edges, their mates and pieces, and show the arrows of rows. */
  light({ edges = [], mates = [], pieces = [], arrows = [], held = true }) {
    const chosen = new Set(edges);
    const sewn = new Set(mates);
    for (const group of this.#layers.edges.children) {
      group.classList.toggle("lit", chosen.has(group.dataset.key));
      group.classList.toggle("mate", sewn.has(group.dataset.key) && !chosen.has(group.dataset.key));
    }
    const tinted = new Set(pieces);
    for (const group of this.#layers.pieces.children) group.classList.toggle("lit", tinted.has(group.dataset.key));
    this.#showArrows(arrows, held);
  }

  /** A second pattern over the first, by piece; null takes it away. */
  overlay(outlines, name = "") {
    const shown = outlines ? Object.keys(outlines).filter((piece) => this.#document.pieces.some((p) => p.name === piece)) : [];
    keyed(this.#layers.overlay, shown, () => draw("path", { class: "other" }), (path, piece) => {
      put(path, "d", outlines[piece]);
      put(path, "transform", moved(this.at(piece)));
      put(path, "aria-label", name);
    });
  }

  /** The tape where it lies, and the ends she has touched. */
  tape(lines, ends) {
    const strips = lines.map((line, i) => [`line${i}`, line]);
    const dots = ends.map((end, i) => [`end${i}`, end]);
    const parts = new Map([...strips, ...dots]);
    keyed(this.#layers.tape, [...parts.keys()], tapePart, (part, key) => {
      const value = parts.get(key);
      if (key.startsWith("line")) {
        put(part, "d", value.path);
        put(part, "transform", moved(this.at(value.piece)));
        part.classList.toggle("mate", value.mate);
      } else {
        const at = this.at(value.piece);
        placeFixed(part, at.x + value.x, at.y + value.y);
      }
    });
    this.rescale(this.#scale);
  }

  /** Keep labels, arrows and dots at their size on the screen. */
  rescale(scale) {
    this.#scale = scale;
    this.#layers.labels.classList.toggle("far", scale < NAMED_FROM);
    for (const label of this.#layers.labels.children) {
      label.classList.toggle("tight", label.textContent.length * LETTER > label.dataset.width * scale);
    }
    for (const element of this.#world.querySelectorAll(".fixed")) {
      put(element, "transform", `translate(${element.dataset.x} ${element.dataset.y}) scale(${1 / scale})`);
    }
  }

  #showArrows(arrows, held) {
    const named = new Map(arrows.map((arrow) => [`${arrow.row} ${arrow.edge} ${arrow.level ?? ""}`, arrow]));
    keyed(this.#layers.arrows, [...named.keys()], arrowGroup, (group, key) => {
      const arrow = named.get(key);
      const at = this.at(arrow.piece);
      placeFixed(group, at.x + arrow.x, at.y + arrow.y);
      updateArrow(group, arrow, held);
    });
    this.rescale(this.#scale);
  }
}

function pieceGroup() {
  const parts = ["cut", "paper", "levels", "base", "result", "points"];
  return draw("g", { class: "piece" }, ...parts.map((name) => draw(name === "levels" || name === "points" ? "g" : "path", { class: name })));
}

function updatePiece(group, piece, frame) {
  const [cut, paper, levels, base, result, points] = group.children;
  const outline = frame?.pieces[piece.name] ?? piece.result;
  put(group, "transform", moved({ x: piece.dx, y: piece.dy }));
  put(cut, "d", frame ? "" : piece.cut ?? "");
  put(paper, "d", outline);
  put(base, "d", piece.base);
  put(result, "d", outline);
  const shown = frame ? [] : piece.levels;
  keyed(levels, shown.map(({ name }) => name), () => draw("line", { class: "level" }), (line, _, i) => {
    const { left, right, y } = shown[i];
    put(line, "x1", left);
    put(line, "x2", right);
    put(line, "y1", y);
    put(line, "y2", y);
  });
  const marks = frame ? [] : piece.points;
  keyed(points, marks.map((_, i) => String(i)), crossMark, (mark, _, i) => placeFixed(mark, marks[i].x, marks[i].y));
}

function crossMark() {
  return draw("path", { class: "fixed point", d: "M-5 0H5M0 -5V5" });
}

function edgeGroup(id) {
  return draw("g", { class: "edge", "data-edge": id, role: "button", tabindex: -1 }, draw("path", { class: "hit" }), draw("path", { class: "run" }));
}

function updateEdge(group, edge, piece, frame) {
  put(group, "transform", moved({ x: piece.dx, y: piece.dy }));
  put(group, "aria-label", `${edge.title}: ${edge.length}`);
  for (const path of group.children) put(path, "d", frame ? frame.edges?.[edge.id] ?? "" : edge.result);
}

function label() {
  return draw("g", { class: "fixed label" }, draw("text", { class: "name" }));
}

/** The name stands where no arrow does: below the waist on a panel, below the bust level on a cup. */
function updateLabel(group, piece) {
  const [left, top, right, bottom] = piece.box;
  const isPanel = piece.levels.some(({ name }) => name === "waist");
  placeFixed(group, piece.dx + (left + right) / 2, piece.dy + (isPanel ? bottom * 0.74 : bottom * 0.3));
  say(group.firstChild, piece.title);
  group.dataset.width = right - left;
}

function arrowGroup() {
  const parts = [draw("path", { class: "shaft" }), draw("circle", { class: "grip", r: 7 }), draw("text", { class: "amount" })];
  return draw("g", { class: "fixed arrow" }, ...parts);
}

function updateArrow(group, arrow, held) {
  const [shaft, grip, amount] = group.children;
  const sign = arrow.amount_mm < 0 ? -1 : 1;
  const [x, y] = [arrow.ux * sign * ARROW, arrow.uy * sign * ARROW];
  put(shaft, "d", arrow.amount_mm ? arrowPath(x, y) : "");
  say(amount, arrow.amount_mm ? arrow.amount : "");
  // Amounts of left-hand edges stand above their arrow and of right-hand edges below, so that neighbours do not meet.
  const isLevel = Math.abs(arrow.uy) < 0.9;
  put(amount, "x", isLevel ? x * 0.5 : 13);
  put(amount, "y", isLevel ? y + (arrow.ux < 0 ? -9 : 18) : y * 0.8 + 4);
  put(amount, "text-anchor", isLevel ? (x > 0 ? "start" : "end") : "start");
  const isGrip = held && Math.abs(arrow.share) > 0.001;
  put(grip, "display", isGrip ? null : "none");
  put(group, "data-row", arrow.row);
  put(grip, "tabindex", isGrip ? 0 : null);
  put(grip, "role", "slider");
  put(grip, "aria-label", `${arrow.rowTitle}, at the ${arrow.edgeTitle.toLowerCase()}`);
  put(grip, "aria-valuenow", arrow.amount_mm);
  put(grip, "aria-valuetext", arrow.amount);
}

function arrowPath(x, y) {
  const size = Math.hypot(x, y);
  const [ux, uy] = [x / size, y / size];
  const wing = (side) => `${x - 8 * ux + side * 4 * uy} ${y - 8 * uy - side * 4 * ux}`;
  return `M${9 * ux} ${9 * uy}L${x} ${y}M${wing(1)}L${x} ${y}L${wing(-1)}`;
}

function tapePart(key) {
  return key.startsWith("line") ? draw("path", { class: "strip" }) : draw("circle", { class: "fixed end", r: 5 });
}

function placeFixed(element, x, y) {
  element.classList.add("fixed");
  element.dataset.x = x;
  element.dataset.y = y;
}

function moved({ x, y }) {
  return `translate(${x} ${y})`;
}
