// The alteration as a lesson: one row after the other on the pattern, worked out in the background.

import { byId, put, say } from "./dom.js";

const LOOK_EVERY = 250; // Milliseconds between two looks at how far the steps are.

export class Lesson {
  #server;
  #page;
  #frames = null;
  #at = 0;
  #name = null;

  constructor(server, page) {
    this.#server = server;
    this.#page = page;
    byId("lesson-back").addEventListener("click", () => this.step(-1));
    byId("lesson-on").addEventListener("click", () => this.step(1));
    byId("lesson-end").addEventListener("click", () => this.end());
  }

  get isOn() {
    return !byId("lesson").hidden;
  }

  get frame() {
    return this.#frames?.[this.#at - 1] ?? null;
  }

  async begin(draft) {
    put(byId("lesson"), "hidden", false);
    put(byId("lesson-progress"), "hidden", false);
    this.#show("Working the steps out…", "");
    this.#frames = null;
    const { name } = await this.#server.post("/frames", { draft });
    this.#name = name;
    const frames = await this.#finished(name);
    if (!frames) return;
    this.#frames = frames;
    put(byId("lesson-progress"), "hidden", true);
    this.#at = 0;
    this.#tell();
    byId("lesson-on").focus();
  }

  step(by) {
    if (!this.#frames) return;
    this.#at = Math.min(Math.max(this.#at + by, 0), this.#frames.length);
    this.#tell();
  }

  end() {
    if (!this.isOn) return false;
    if (this.#name && !this.#frames) this.#server.post(`/frames/${this.#name}/stop`, {}).catch(() => {});
    this.#name = null;
    this.#frames = null;
    put(byId("lesson"), "hidden", true);
    this.#page.showFrame(null, null);
    return true;
  }

  async #finished(name) {
    const bar = byId("lesson-progress");
    while (this.#name === name) {
      const state = await this.#server.get(`/frames/${name}`);
      bar.max = Math.max(state.total, 1);
      bar.value = state.done;
      say(byId("lesson-count"), `${state.done} of ${state.total}`);
      if (state.problem) throw new Error(state.problem);
      if (state.frames) return state.frames;
      await new Promise((resolve) => setTimeout(resolve, LOOK_EVERY));
    }
    return null;
  }

  /** Step 0 is the base as it was; each later one has the rows up to it applied. */
  #tell() {
    const frame = this.#frames[this.#at - 1];
    say(byId("lesson-count"), `Step ${this.#at} of ${this.#frames.length}`);
    put(byId("lesson-back"), "disabled", this.#at === 0);
    put(byId("lesson-on"), "disabled", this.#at === this.#frames.length);
    if (frame) this.#show(`${frame.title}: ${frame.where}`, frame.reason);
    else this.#show("The base, before anything is altered.", "Each step applies one row of the chart; every seam still fits after it.");
    this.#page.showFrame(frame ?? "base", this.#frames[this.#at - 2] ?? null);
  }

  #show(title, reason) {
    say(byId("lesson-title"), title);
    say(byId("lesson-reason"), reason);
  }
}
