// The tools of the drawing as one small state machine: resting, panning, pinching, dragging a handle, laying the tape.
//
// Each state is an object that answers pointer events and may give way to another.  Dragging edits from a snapshot:
// Escape puts everything back as it was, and letting go ends one gesture.

const DRAG_FROM = 3; // Screen dots: below, a press is a click.

export class Tools {
  /** `page` carries out what a tool decides: see main.js. */
  constructor(svg, view, page) {
    Object.assign(this, { svg, view, page, state: null, pointers: new Map() });
    this.rest();
    svg.addEventListener("pointerdown", (event) => this.#down(event));
    svg.addEventListener("pointermove", (event) => this.#move(event));
    for (const name of ["pointerup", "pointercancel"]) svg.addEventListener(name, (event) => this.#up(event));
    svg.addEventListener("wheel", (event) => this.#wheel(event), { passive: false });
  }

  get name() {
    return this.state.name;
  }

  rest() {
    this.enter(this.page.isTaping() ? new Taping() : new Resting());
  }

  enter(state) {
    this.state = state;
    this.svg.dataset.tool = state.name;
  }

  /** Escape: the state goes back to its snapshot; true where there was something to put back. */
  escape() {
    const undone = this.state.escape?.(this) ?? false;
    this.rest();
    return undone;
  }

  #down(event) {
    if (event.button > 0) return;
    this.pointers.set(event.pointerId, event);
    if (this.pointers.size === 2) return this.enter(new Pinching(this, this.state));
    this.state.down(this, event);
  }

  #move(event) {
    if (this.pointers.has(event.pointerId)) this.pointers.set(event.pointerId, event);
    this.state.move?.(this, event);
  }

  #up(event) {
    this.pointers.delete(event.pointerId);
    this.state.up?.(this, event);
  }

  #wheel(event) {
    event.preventDefault();
    this.view.zoom(Math.exp(-event.deltaY * 0.0015), event.clientX, event.clientY);
  }
}

class Resting {
  name = "resting";

  down(tools, event) {
    const grip = event.target.closest(".grip");
    if (grip) return tools.enter(new Dragging(tools, event, tools.page.arrowOf(grip.parentNode)));
    tools.enter(new Pressing(event));
  }
}

/** Pressed, and not yet known whether it becomes a click or a pan. */
class Pressing {
  name = "pressing";

  constructor(event) {
    this.start = event;
    this.edge = event.target.closest(".edge")?.dataset.edge ?? null;
    this.piece = event.target.closest(".piece")?.dataset.key ?? null;
  }

  move(tools, event) {
    if (distance(this.start, event) >= DRAG_FROM) tools.enter(new Panning(tools, event));
  }

  down() {}

  up(tools, event) {
    if (event.type === "pointerup") tools.page.clicked(this.edge, this.piece, event);
    tools.rest();
  }
}

class Panning {
  name = "panning";

  constructor(tools, event) {
    this.last = event;
    this.snapshot = tools.view.snapshot;
    capture(tools.svg, event);
  }

  down() {}

  move(tools, event) {
    tools.view.pan(event.clientX - this.last.clientX, event.clientY - this.last.clientY);
    this.last = event;
  }

  up(tools) {
    tools.rest();
  }

  escape(tools) {
    tools.view.restore(this.snapshot);
    return true;
  }
}

class Pinching {
  name = "pinching";

  constructor(tools, before) {
    before.escape?.(tools);
    this.span = this.#measured(tools);
  }

  down() {}

  move(tools) {
    if (tools.pointers.size < 2) return;
    const now = this.#measured(tools);
    tools.view.pan(now.x - this.span.x, now.y - this.span.y);
    tools.view.zoom(now.size / this.span.size, now.x, now.y);
    this.span = now;
  }

  up(tools) {
    if (!tools.pointers.size) tools.rest();
  }

  #measured(tools) {
    const [a, b] = [...tools.pointers.values()];
    return { x: (a.clientX + b.clientX) / 2, y: (a.clientY + b.clientY) / 2, size: Math.max(distance(a, b), 1) };
  }
}

/** A handle in her hand: the row's amount follows it in the workroom's step. */
class Dragging {
  name = "dragging";

  constructor(tools, event, arrow) {
    this.arrow = arrow;
    this.start = tools.view.onTable(event.clientX, event.clientY);
    this.amount = arrow.row_mm;
    capture(tools.svg, event);
    tools.page.takeUp(arrow.row);
  }

  down() {}

  move(tools, event) {
    const now = tools.view.onTable(event.clientX, event.clientY);
    const along = (now.x - this.start.x) * this.arrow.ux + (now.y - this.start.y) * this.arrow.uy;
    this.amount = inSteps(this.arrow.row_mm + along / this.arrow.share, tools.page.step());
    tools.page.tryAmount(this.arrow.row, this.amount);
  }

  up(tools, event) {
    tools.rest();
    if (event.type === "pointercancel") tools.page.putBack();
    else tools.page.letGo(this.arrow.row);
  }

  escape(tools) {
    tools.page.putBack();
    return true;
  }
}

/** The tape in hand: two touches on edges lay it. */
class Taping {
  name = "taping";

  down(tools, event) {
    const edge = event.target.closest(".edge")?.dataset.edge;
    if (edge) tools.page.touched(edge, tools.view.onTable(event.clientX, event.clientY));
    else tools.enter(new Pressing(event));
  }

  escape(tools) {
    return tools.page.putTapeAway();
  }
}

/** The nearest whole number of steps, free of the dust of floating point. */
export function inSteps(mm, step) {
  return Number((Math.round(mm / step) * step).toFixed(4));
}

function distance(a, b) {
  return Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
}

function capture(svg, event) {
  try {
    svg.setPointerCapture(event.pointerId);
  } catch {
    // A pointer that has already gone cannot be held.
  }
}
