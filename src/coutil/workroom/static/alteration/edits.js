// What she changes: typing, choosing, dragging.  Each is one gesture of the history; a row decided by hand is not kept
// before she has said why.

import { byId, put } from "./dom.js";
import { changesBetween, valueAt, withValue } from "./draft.js";

export class Edits {
  #page;
  #path = null;
  #left = null;
  #start = null;

  constructor(page) {
    this.#page = page;
    this.asking = null;
    this.#wireWishes();
  }

  /** The page as the chart sees it: choosing goes to the page, changing comes here. */
  withChoices(page) {
    return {
      chooseRow: (row) => page.chooseRow(row),
      chooseMeasure: (key) => page.chooseMeasure(key),
      isAskingWhy: (row) => this.asking === row,
      typing: (path, text, at) => this.typing(path, text, at),
      typed: (path) => this.typed(path),
      take: (row) => this.take(row),
      decide: (row, state) => this.decide(row, state),
      reason: (row, text) => this.reason(row, text),
      wantsWhy: () => this.#askWhy(),
    };
  }

  /** The field of the gesture under way, or null. */
  get path() {
    return this.#path;
  }

  /** When the key was pressed that led to the next redrawing; read once. */
  takeStart() {
    const start = this.#start;
    this.#start = null;
    return start;
  }

  typing(path, text, at) {
    if (!this.#open(path)) return;
    this.#left = null;
    this.#field(path).dataset.typing = "yes";
    this.#start = at;
    this.#history.preview(this.#typedInto(this.#history.draft, path, text.trim()));
  }

  /** The field was left or Enter pressed: one step, unless it cannot be read or a reason is wanted. */
  async typed(path) {
    if (this.#path !== path || !this.#history.isOpen) return;
    const row = rowOf(path);
    if (row && this.#wantsWhy(row)) return void (await this.#askOnceUsable(row, path));
    this.#left = path;
    await this.#page.settled();
    if (this.#path !== path || !this.#history.isOpen || this.#isRefused) return;
    this.#history.draft = this.#inMillimetres(path);
    this.#commit(this.#label(path));
  }

  /** A row decided by hand that waits for its reason, with the draft it stands in; null where there is none. */
  get pending() {
    const { asking } = this;
    return asking !== null && this.#history.isOpen ? { row: asking, draft: this.#history.draft } : null;
  }

  /** Go on with a gesture that another window left: a row without its reason. */
  takeUpPending({ row, draft }) {
    if (valueAt(draft, `rows.${row}`)?.why) return void this.#history.step(draft, this.#label(`rows.${row}`));
    this.#history.begin();
    this.#path = `rows.${row}.amount`;
    this.asking = row;
    this.#history.preview(draft);
  }

  askAgain(row) {
    const choice = this.#choice(row);
    if (choice === null || choice.why) return;
    if (!this.#history.isOpen) this.takeUpPending({ row, draft: this.#history.draft });
    this.#ask(row);
  }

  /** The program has refused what is under way; that it does not answer is no refusal. */
  get #isRefused() {
    return Boolean(this.#page.fault) && !this.#page.isAway;
  }

  decide(row, state) {
    if (!this.#open(`rows.${row}.amount`)) return;
    const before = this.#choice(row);
    const now = this.#page.row(row).amount_mm;
    const amount = state === "left" ? null : now;
    const choice = state === "computed" ? null : { state, why: before?.why ?? "", amount };
    this.#history.preview(withValue(this.#history.draft, `rows.${row}`, choice));
    this.letGo(row);
  }

  /** Take the amount that is wanted of a row that was left for her to decide. */
  take(row) {
    this.takeUp(row);
    this.tryAmount(row, this.#page.row(row).wanted_mm, performance.now());
    this.letGo(row);
  }

  async reason(row, text) {
    const why = text.trim();
    if (!this.#choice(row) || this.stillAsks(row)) return;
    if (!why) return void this.fault(`rows.${row}.why`, "Say why: a reason is kept with every row decided by hand.");
    this.fault("", "");
    if (this.#choice(row).why === why && !this.#history.isOpen) return;
    if (this.asking !== row && !this.#open(`rows.${row}.why`)) return;
    const path = this.#path;
    this.#left = path;
    this.#history.preview(withValue(this.#history.draft, `rows.${row}`, { ...this.#choice(row), why }));
    this.#page.keep();
    await this.#page.settled();
    if (this.#path !== path || !this.#history.isOpen || this.#isRefused) return;
    if (rowOf(path)) this.#history.draft = this.#inMillimetres(path);
    this.#commit(this.#label(`rows.${row}`));
  }

  /** End the gesture that she has ended herself, without waiting until it is worked out. */
  finish() {
    if (!this.#history.isOpen || this.#left !== this.#path || this.#isRefused) return false;
    this.#history.commit(this.#label(this.#path));
    this.forget();
    return true;
  }

  // --- dragging -------------------------------------------------------------------------------------

  takeUp(row) {
    this.#open(`rows.${row}.amount`);
  }

  tryAmount(row, mm, at) {
    if (this.stillAsks(row)) return;
    const before = this.#choice(row);
    const state = before?.state === "locked" ? "locked" : "overruled";
    this.#start = at;
    this.#history.preview(withValue(this.#history.draft, `rows.${row}`, { state, why: before?.why ?? "", amount: mm }));
  }

  /** The handle is let go: one step, once there is a reason. */
  letGo(row) {
    if (this.stillAsks(row)) return;
    if (this.#history.isOpen && this.#wantsWhy(row)) this.#ask(row);
    else this.#commit(this.#label(`rows.${row}`));
  }

  /**
   * Whether a row other than `row` waits for its reason.  She is asked again, and whatever else she began is not begun:
   * what she has decided is neither lost nor kept without a reason.
   */
  stillAsks(row = null) {
    const { asking } = this;
    if (asking === null || asking === row || !this.#history.isOpen || !this.#wantsWhy(asking)) return false;
    // Asked before the rest is rewritten, so that the field she was in shows again what stands.
    this.#askWhy();
    this.#page.chart.show(this.#page.document);
    this.showWishes(this.#page.document);
    const sentence = `Say why first: ${this.#label(`rows.${asking}`)} is not kept without a reason. Esc puts it back.`;
    this.fault(`rows.${asking}.why`, sentence);
    this.#page.say(sentence);
    return true;
  }

  /** Escape: as it was before the gesture; false where none was under way. */
  putBack() {
    const was = this.#history.cancel();
    this.forget();
    if (was) this.#page.say("Put back as it was.");
    return was;
  }

  /** The gesture is over, however it ended; a field that she is already writing the next thing into is left to her. */
  forget() {
    const isEnded = this.#path !== null && this.#left === this.#path;
    const own = [this.#path, this.asking && `rows.${this.asking}.why`];
    for (const field of document.querySelectorAll("[data-typing]")) {
      const isNext = isEnded && field === document.activeElement && !own.includes(field.dataset.path);
      if (!isNext) delete field.dataset.typing;
    }
    this.#path = null;
    this.#left = null;
    this.asking = null;
    this.fault("", "");
  }

  /** What was changed here and not saved, laid over another draft; `kept` names what is to stand where both changed. */
  unsavedOver(origin, theirs, kept) {
    const there = new Set(changesBetween(origin, theirs).map(([path]) => path));
    const own = changesBetween(origin, this.#history.draft).filter(([path]) => !there.has(path));
    const all = [...own.map(([path, , after]) => [path, after]), ...kept];
    return all.reduce((draft, [path, value]) => withValue(draft, path, value), theirs);
  }

  /** Beside its field what is wrong with it; true where such a field is on the page. */
  fault(path, sentence) {
    let isTold = false;
    for (const field of byId("alteration").querySelectorAll("[data-path]")) {
      const isOwn = Boolean(sentence) && field.dataset.path === path;
      isTold ||= isOwn;
      put(field, "aria-invalid", isOwn ? "true" : null);
      const told = field.parentElement.querySelector(".fault");
      if (told) told.textContent = isOwn ? sentence : "";
    }
    return isTold;
  }

  /** The program refused it: told beside its field, and an amount she typed is hers again before she is asked why. */
  refused(path, sentence) {
    const row = rowOf(path);
    const amount = row && this.asking === row ? this.#choice(row)?.amount : null;
    const field = this.#field(path);
    if (field && typeof amount === "string" && !this.#field(`rows.${row}.why`)?.value) {
      const unit = ` ${this.#page.document.drawing_unit}`;
      this.asking = null;
      field.focus();
      field.dataset.typing = "yes";
      field.value = amount.endsWith(unit) ? amount.slice(0, -unit.length) : amount;
      this.#page.chart.show(this.#page.document);
    }
    return this.fault(path, sentence);
  }

  showWishes(document) {
    const { draft } = this.#history;
    for (const field of byId("wishes").querySelectorAll("[data-path]")) {
      const { path } = field.dataset;
      if (field.type === "checkbox") field.checked = draft[path];
      else if (field.tagName === "SELECT") field.value = draft[path] ?? "";
      else if (field.dataset.typing !== "yes") rewriteWish(field, draft[path] ?? null, document);
    }
    for (const part of byId("wishes").querySelectorAll("[data-cup]")) put(part, "hidden", !document.has_cup);
    for (const unit of byId("alteration").querySelectorAll("[data-unit]")) unit.textContent = document.unit;
  }

  get #history() {
    return this.#page.history;
  }

  #choice(row) {
    return valueAt(this.#history.draft, `rows.${row}`);
  }

  #wantsWhy(row) {
    const choice = this.#choice(row);
    return choice !== null && !choice.why;
  }

  /** Asked at once, unless the amount was refused before: then not until it can be used. */
  async #askOnceUsable(row, path) {
    if (this.#page.fault) await this.#page.settled();
    if (this.#path !== path || !this.#history.isOpen) return;
    if (!this.#isRefused) this.#ask(row);
    // Enter has gone on to the line of the row meanwhile.
    else if (document.activeElement?.dataset.row === row) this.#field(path).focus();
  }

  #ask(row) {
    this.asking = row;
    this.#page.keep();
    this.#page.chart.show(this.#page.document);
    this.#askWhy();
  }

  #field(path) {
    return byId("alteration").querySelector(`[data-path="${CSS.escape(path)}"]`);
  }

  /**
   * Begin a gesture on a field; false where a row still wants its reason.  A gesture she has left and that is still
   * being worked out is kept as she wrote it; one that cannot be read is put back.
   */
  #open(path) {
    if (this.#history.isOpen && this.#path === path) return true;
    if (this.stillAsks()) return false;
    if (this.#history.isOpen && this.#path && !this.finish()) {
      this.#page.say(`${this.#label(this.#path)} was put back: it was not finished.`);
    }
    this.forget();
    this.#history.begin();
    this.#path = path;
    return true;
  }

  #commit(label) {
    this.#history.commit(label);
    this.forget();
    this.#page.chart.show(this.#page.document);
  }

  #askWhy() {
    if (!this.asking) return;
    this.#page.unfoldChart();
    this.#page.chart.askWhy(this.asking);
  }

  #typedInto(draft, path, text) {
    const row = rowOf(path);
    if (!row) return withValue(draft, path, text === "" ? null : withUnit(text, this.#page.document.unit));
    if (text === "") return withValue(draft, `rows.${row}`, null);
    const before = this.#choice(row);
    const state = before?.state === "locked" ? "locked" : "overruled";
    const amount = withUnit(text, this.#page.document.drawing_unit);
    return withValue(draft, `rows.${row}`, { state, why: before?.why ?? "", amount });
  }

  /** What was typed as the program has read it. */
  #inMillimetres(path) {
    const { draft } = this.#history;
    // Nobody has read it yet: it stays as it was written, with its unit.
    if (this.#page.isAway) return draft;
    const row = rowOf(path);
    if (row) {
      const choice = this.#choice(row);
      const hasAmount = choice !== null && choice.state !== "left";
      return hasAmount ? withValue(draft, `rows.${row}`, { ...choice, amount: this.#page.row(row).amount_mm }) : draft;
    }
    if (!path.startsWith("chart.")) {
      const read = { reduction: "reduction_mm", lacing_gap: "lacing_gap_mm" }[path];
      return valueAt(draft, path) === null ? draft : withValue(draft, path, this.#page.document[read]);
    }
    const measure = this.#page.document.measures.find(({ key }) => `chart.${key}` === path);
    return withValue(draft, path, measure?.client_mm ?? null);
  }

  #label(path) {
    const row = rowOf(path) ?? (path.startsWith("rows.") ? path.slice(5) : null);
    if (row) return this.#page.row(row)?.title ?? row;
    const measure = this.#page.document.measures.find(({ key }) => `chart.${key}` === path);
    return measure?.title ?? this.#field(path)?.labels?.[0]?.firstChild.textContent.trim() ?? path;
  }

  #wireWishes() {
    for (const field of byId("wishes").querySelectorAll("[data-path]")) {
      const { path } = field.dataset;
      if (field.type === "checkbox") field.addEventListener("change", () => this.#set(path, field.checked));
      else if (field.tagName === "SELECT") field.addEventListener("change", () => this.#set(path, field.value === "" ? null : Number(field.value)));
      else {
        field.addEventListener("input", (event) => this.typing(path, field.value, event.timeStamp));
        field.addEventListener("change", () => this.typed(path));
        field.addEventListener("focus", () => field.select());
        field.addEventListener("keydown", (event) => event.key === "Enter" && this.typed(path));
      }
    }
  }

  #set(path, value) {
    if (!this.#open(path)) return;
    this.#history.preview(withValue(this.#history.draft, path, value));
    this.#commit(this.#label(path));
  }
}

function rewriteWish(field, value, document) {
  const { path } = field.dataset;
  const shown = document[path].endsWith(` ${document.unit}`) ? document[path].slice(0, -document.unit.length - 1) : document[path];
  put(field, "placeholder", shown);
  const text = value === null ? "" : shown;
  if (field.value !== text) field.value = text;
}

/** The row an amount belongs to, or null. */
function rowOf(path) {
  return path.startsWith("rows.") && path.endsWith(".amount") ? path.slice(5, -7) : null;
}

/** What she wrote with its unit: her own where she wrote one. */
function withUnit(text, unit) {
  return /[a-z"″”]/i.test(text) ? text : `${text} ${unit}`;
}
