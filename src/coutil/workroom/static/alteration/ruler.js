// True size: she holds a real ruler or a bank card to the screen and drags until the picture agrees.

import { byId, put, say } from "./dom.js";
import { NOMINAL, calibrated, keepCalibrated } from "./view.js";

// A bank card is 85.60 mm wide (ISO/IEC 7810, size ID-1).
const CARD_MM = 85.6;
const LEAST = 1.5;
const MOST = 14;

export class Ruler {
  #dialog = byId("ruler");
  #done = null;
  #dots = NOMINAL;
  #drag = null;

  constructor() {
    byId("ruler-keep").addEventListener("click", () => this.#keep());
    byId("ruler-cancel").addEventListener("click", () => this.#dialog.close());
    byId("ruler-size").addEventListener("input", (event) => this.#set(Number(event.target.value) / 100));
    const card = byId("ruler-card");
    card.addEventListener("pointerdown", (event) => {
      this.#drag = event.clientX;
      card.setPointerCapture(event.pointerId);
    });
    card.addEventListener("pointermove", (event) => this.#dragged(event));
    card.addEventListener("pointerup", () => (this.#drag = null));
  }

  /** Ask her to hold a ruler to the screen; `done(dots)` hears the screen dots a millimetre. */
  ask(done) {
    this.#done = done;
    this.#set(calibrated() ?? NOMINAL);
    this.#dialog.showModal();
  }

  #dragged(event) {
    if (this.#drag === null) return;
    this.#set(this.#dots + (event.clientX - this.#drag) / CARD_MM);
    this.#drag = event.clientX;
  }

  #set(dots) {
    this.#dots = Math.min(Math.max(dots, LEAST), MOST);
    byId("ruler-size").value = Math.round(this.#dots * 100);
    const card = byId("ruler-card");
    put(card, "width", CARD_MM * this.#dots);
    put(card, "height", 60);
    put(byId("ruler-outline"), "width", CARD_MM * this.#dots - 2);
    put(byId("ruler-ticks"), "d", ticks(this.#dots));
    say(byId("ruler-said"), `The picture is now ${this.#dots.toFixed(2)} screen dots a millimetre.`);
  }

  #keep() {
    keepCalibrated(this.#dots);
    this.#dialog.close();
    this.#done?.(this.#dots);
  }
}

/** A rule in whole millimetres along the upper edge of the card; every tenth is long. */
function ticks(dots) {
  const marks = Array.from({ length: 86 }, (_, mm) => `M${mm * dots + 0.5} 1v${mm % 10 === 0 ? 14 : mm % 5 === 0 ? 10 : 6}`);
  return marks.join("");
}

/** The scale bar of the drawing: a round length about 120 dots long, in her unit. */
export function scaleBar(scale, unit) {
  const [size, name] = unit === "in" ? [25.4, "in"] : [10, "cm"];
  const rounds = [0.125, 0.25, 0.5, 1, 2, 5, 10, 20, 50];
  const length = rounds.find((round) => round * size * scale >= 60) ?? 100;
  return { dots: length * size * scale, words: `${length} ${name}` };
}
