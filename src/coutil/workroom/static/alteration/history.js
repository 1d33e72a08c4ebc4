// The history of one page: the present draft, every step that led to it, and the one gesture under way.
//
// A gesture (typing into a field, dragging a handle) edits from a snapshot: previews follow one another, and it ends
// either as exactly one step or as if it had never been.

import { applied, changesBetween, takenBack } from "./draft.js";

export class History {
  #told;
  #snapshot = null;

  /** `told(kind)` hears of every change: preview, step, undo, redo, cancel. */
  constructor(draft, told = () => {}) {
    this.draft = draft;
    this.steps = [];
    this.cursor = 0;
    this.#told = told;
  }

  get isOpen() {
    return this.#snapshot !== null;
  }

  /** The draft without the gesture under way. */
  get committed() {
    return this.#snapshot ?? this.draft;
  }

  get canUndo() {
    return this.cursor > 0;
  }

  get canRedo() {
    return this.cursor < this.steps.length;
  }

  /** Begin a gesture; one that is still open is taken back first. */
  begin() {
    this.cancel();
    this.#snapshot = this.draft;
  }

  preview(draft) {
    if (!this.isOpen) this.begin();
    this.draft = draft;
    this.#told("preview");
  }

  /** End the gesture as one step; nothing changed is no step. */
  commit(label) {
    if (!this.isOpen) return false;
    const changes = changesBetween(this.#snapshot, this.draft);
    this.#snapshot = null;
    if (!changes.length) return false;
    this.steps.length = this.cursor;
    this.steps.push({ label, changes });
    this.cursor += 1;
    this.#told("step");
    return true;
  }

  /** End the gesture as if it had never been. */
  cancel() {
    if (!this.isOpen) return false;
    const changed = this.draft !== this.#snapshot;
    this.draft = this.#snapshot;
    this.#snapshot = null;
    if (changed) this.#told("cancel");
    return true;
  }

  /** One whole gesture at once. */
  step(draft, label) {
    this.begin();
    this.draft = draft;
    return this.commit(label);
  }

  undo() {
    if (this.cancel()) return "";
    if (!this.canUndo) return null;
    this.cursor -= 1;
    const step = this.steps[this.cursor];
    this.draft = takenBack(this.draft, step.changes);
    this.#told("undo");
    return step.label;
  }

  redo() {
    this.cancel();
    if (!this.canRedo) return null;
    const step = this.steps[this.cursor];
    this.cursor += 1;
    this.draft = applied(this.draft, step.changes);
    this.#told("redo");
    return step.label;
  }

  /** Take up a history that was kept. */
  resume({ draft, steps, cursor }) {
    Object.assign(this, { draft, steps, cursor });
  }
}
