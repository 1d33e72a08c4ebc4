// Pan, zoom, fit and true size: which part of the table the screen shows.  `scale` is screen dots a millimetre.

const LEAST = 0.15;
const MOST = 40;
const MARGIN = 28;
const FOOT = 30; // The zoom buttons lie along the lower edge.
const PER_INCH = 96;

export class View {
  #svg;
  #world;
  #told;

  /** `told()` hears of every change, so that labels keep their size on the screen. */
  constructor(svg, world, told) {
    this.#svg = svg;
    this.#world = world;
    this.#told = told;
    this.scale = 1;
    this.x = 0;
    this.y = 0;
  }

  get size() {
    const box = this.#svg.getBoundingClientRect();
    return { width: box.width, height: box.height };
  }

  /** A place on the screen (client coordinates) in millimetres on the table. */
  onTable(clientX, clientY) {
    const box = this.#svg.getBoundingClientRect();
    return { x: (clientX - box.left - this.x) / this.scale, y: (clientY - box.top - this.y) / this.scale };
  }

  fit([left, top, right, bottom]) {
    const { width, height } = this.size;
    const scale = Math.min((width - 2 * MARGIN) / (right - left), (height - 2 * MARGIN - FOOT) / (bottom - top));
    this.scale = clamped(scale);
    this.x = (width - this.scale * (left + right)) / 2;
    this.y = (height - FOOT - this.scale * (top + bottom)) / 2;
    this.#apply();
  }

  pan(dx, dy) {
    this.x += dx;
    this.y += dy;
    this.#apply();
  }

  /** Zoom about a place on the screen; without one, about the middle. */
  zoom(factor, clientX = null, clientY = null) {
    this.zoomTo(this.scale * factor, clientX, clientY);
  }

  zoomTo(scale, clientX = null, clientY = null) {
    const box = this.#svg.getBoundingClientRect();
    const at = { x: (clientX ?? box.left + box.width / 2) - box.left, y: (clientY ?? box.top + box.height / 2) - box.top };
    const next = clamped(scale);
    this.x = at.x - ((at.x - this.x) * next) / this.scale;
    this.y = at.y - ((at.y - this.y) * next) / this.scale;
    this.scale = next;
    this.#apply();
  }

  get snapshot() {
    return { scale: this.scale, x: this.x, y: this.y };
  }

  restore(snapshot) {
    Object.assign(this, snapshot);
    this.#apply();
  }

  #apply() {
    this.#world.setAttribute("transform", `translate(${this.x} ${this.y}) scale(${this.scale})`);
    this.#told();
  }
}

/** Screen dots a millimetre as calibrated with a real ruler; null where nobody has yet. */
export function calibrated() {
  const kept = Number(localStorage.getItem("coutil-dots-per-mm"));
  return kept > 0 ? kept : null;
}

export function keepCalibrated(dotsPerMm) {
  localStorage.setItem("coutil-dots-per-mm", String(dotsPerMm));
}

/** What a screen is said to have where nobody measured it. */
export const NOMINAL = PER_INCH / 25.4;

function clamped(scale) {
  return Number.isFinite(scale) ? Math.min(Math.max(scale, LEAST), MOST) : 1;
}
