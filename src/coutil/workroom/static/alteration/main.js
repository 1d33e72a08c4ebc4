// The alteration page: what she does becomes a draft, the draft is worked out by the program, and everything shown is
// drawn from its answer.  The parts of the page know nothing of one another; they meet here.

import { Chart } from "./chart.js";
import { Checks } from "./checks.js";
import { byId, draw, put, say } from "./dom.js";
import { isSame, threeWays, withValue } from "./draft.js";
import { Drawing } from "./drawing.js";
import { Edits } from "./edits.js";
import { Edges } from "./edges.js";
import { History } from "./history.js";
import { Journal } from "./journal.js";
import { Keys } from "./keys.js";
import { inWords, signed } from "./lengths.js";
import { Lesson } from "./lesson.js";
import { Revisions } from "./revisions.js";
import { Ruler, scaleBar } from "./ruler.js";
import { Server, newestOnly } from "./server.js";
import { Tape } from "./tape.js";
import { Tools } from "./tools.js";
import { View, calibrated } from "./view.js";

const KEY_TO_PIXELS = "key to pixels";
const MOST_MEASURED = 200; // The browser would keep every one for as long as the page is open.
const SLOW = 400; // Milliseconds after which she is told that it is being worked out.
const ORDER = location.pathname.match(/\/orders\/(\d+)\//)?.[1] ?? "0";

class Page {
  constructor(opening, journal, server) {
    Object.assign(this, { opening, journal, server, document: opening.document });
    this.origin = opening.draft;
    this.seen = opening.versions;
    this.choice = {};
    this.frame = null;
    this.fault = null;
    this.busy = false;
    this.history = new History(opening.draft, (kind) => this.#changed(kind));
    this.edits = new Edits(this);
    this.chart = new Chart(this.edits.withChoices(this));
    this.checks = new Checks(this);
    this.#setTable();
    this.tape = new Tape(server, this.drawing);
    this.tools = new Tools(byId("drawing"), this.view, this);
    this.edges = new Edges(byId("drawing"), this);
    this.lesson = new Lesson(server, this);
    this.ruler = new Ruler();
    this.revisions = new Revisions(server, this);
    this.redraw = newestOnly((asked, isOutdated) => this.#redrawn(asked, isOutdated));
    this.windows = new BroadcastChannel(`coutil-alteration-${ORDER}`);
    this.windows.onmessage = ({ data }) => this.#savedElsewhere(data);
    document.addEventListener("visibilitychange", () => document.hidden || this.#lookForNews());
    // A page that the browser had put aside shows old figures: it begins anew.
    window.addEventListener("pageshow", ({ persisted }) => persisted && location.reload());
  }

  // --- what the parts ask for -----------------------------------------------------------------------

  step() {
    return this.document.step_mm;
  }

  row(key) {
    return this.document.rows.find((row) => row.key === key) ?? null;
  }

  isTaping() {
    return this.tape?.isOut ?? false;
  }

  isAskingWhy(row) {
    return this.edits.asking === row;
  }

  /** The arrow behind a handle, with its row's amount. */
  arrowOf(group) {
    const row = this.row(group.dataset.row);
    const arrow = row.arrows.find((known) => `${row.key} ${known.edge} ${known.level ?? ""}` === group.dataset.key);
    return { ...arrow, row: row.key, row_mm: row.amount_mm };
  }

  /** The readings of the draft that are not the chart's own, in words. */
  tried() {
    const { draft } = this.history;
    const { stored } = this.opening;
    const keys = [...new Set([...Object.keys(stored), ...Object.keys(draft.chart)])];
    const differing = keys.filter((key) => !isSame(stored[key] ?? null, draft.chart[key] ?? null));
    const titles = new Map(this.document.measures.map(({ key, title }) => [key, title]));
    return differing.map((key) => {
      const own = this.words(`chart.${key}`, draft.chart[key] ?? null);
      return `${titles.get(key) ?? key.replaceAll("_", " ")} ${own} (chart: ${this.words(`chart.${key}`, stored[key] ?? null)})`;
    });
  }

  saving() {
    this.edits.finish();
    return { draft: this.history.draft, origin: this.origin, seen: this.seen };
  }

  /** A field of a draft in words, for merging. */
  words(path, value) {
    if (value === null || value === undefined) return path.startsWith("rows.") ? "as computed" : "not given";
    if (typeof value === "boolean") return value ? "yes" : "no";
    if (typeof value !== "object") return typeof value === "number" ? this.#length(path, value) : String(value);
    const state = { overruled: "overruled", left: "left as in the base", locked: "locked" }[value.state];
    const amount = value.amount === null || value.amount === undefined ? "" : ` at ${this.words("amount", value.amount)}`;
    return `${state}${amount}: ${value.why}`;
  }

  unfoldChart() {
    if (byId("chart-part").classList.contains("folded")) fold(this, "fold-chart", "chart-part");
  }

  say(words) {
    say(byId("told"), words);
    say(byId("alt-state"), words);
  }

  trouble(error) {
    say(byId("alt-trouble"), error ? error.message : "");
    put(byId("alt-trouble"), "hidden", !error);
  }

  // --- choosing -------------------------------------------------------------------------------------

  chooseRow(row) {
    this.#choose({ rows: [row] });
  }

  chooseMeasure(key) {
    const rows = this.document.measures.find((measure) => measure.key === key)?.rows ?? [];
    if (rows.length) this.#choose({ rows });
  }

  chooseEdge(edge) {
    this.#choose({ edge });
  }

  chooseCheck(edges, pieces) {
    this.#choose({ edges, pieces });
  }

  chooseNothing() {
    this.#choose({});
  }

  clicked(edge, piece) {
    if (edge) this.chooseEdge(edge);
    else if (piece) this.#choose({ pieces: [piece] });
    else this.chooseNothing();
  }

  // --- the tools' doings ----------------------------------------------------------------------------

  takeUp(row) {
    this.edits.takeUp(row);
  }

  tryAmount(row, mm) {
    this.edits.tryAmount(row, mm, performance.now());
  }

  letGo(row) {
    this.edits.letGo(row);
  }

  putBack() {
    this.edits.putBack();
  }

  /** Keep where she stands among the records, a row that waits for its reason included. */
  keep() {
    const { committed: draft, steps, cursor } = this.history;
    const pending = this.edits.pending;
    this.journal.keep({ draft, origin: this.origin, seen: this.seen, steps, cursor, pending });
  }

  /** The program is away, is back, or refuses what was to be kept. */
  journalTold(news) {
    if (news === "away") this.#tellState(true);
    else if (news === "back") {
      this.say("The program answers again: what you did meanwhile is kept.");
      this.#lookForNews();
      this.redraw({ draft: this.history.draft });
    } else this.trouble(news);
  }

  /** Whether the program does not answer just now. */
  get isAway() {
    return this.fault?.status === 0;
  }

  touched(edge, table) {
    const at = this.drawing.at(edge.split("/")[0]);
    return this.tape.touch(edge, table.x - at.x, table.y - at.y, this.history.draft);
  }

  putTapeAway() {
    const was = this.tape.putAway();
    put(byId("tape"), "aria-pressed", "false");
    if (was) this.tools.rest();
    return was;
  }

  toggleTape() {
    if (this.putTapeAway()) return;
    this.lesson.end();
    this.tape.take();
    put(byId("tape"), "aria-pressed", "true");
    this.tools.rest();
  }

  async toggleLesson() {
    if (this.lesson.end()) return;
    this.putTapeAway();
    try {
      const ready = this.lesson.begin(this.history.draft);
      this.view.fit(this.document.box);
      await ready;
    } catch (error) {
      this.lesson.end();
      this.trouble(error);
    }
  }

  /** Show the pattern after a step; "base" before the first, null to come back from the lesson. */
  showFrame(frame, before) {
    const bases = Object.fromEntries(this.document.pieces.map(({ name, base }) => [name, base]));
    this.frame = frame === "base" ? { pieces: bases } : frame;
    this.drawing.show(this.document, this.frame);
    this.#overlaid(before?.pieces ?? null, "the step before");
    if (frame?.row) this.#choose({ rows: [frame.row] });
    else this.chooseNothing();
  }

  overlay(outlines, name = "", first = null, firstName = "") {
    this.frame = first ? { pieces: first } : null;
    this.drawing.show(this.document, this.frame);
    this.#overlaid(outlines, name, first ? firstName : "result");
  }

  // --- saving ---------------------------------------------------------------------------------------

  askToSave() {
    if (!this.edits.stillAsks()) this.revisions.ask();
  }

  saved({ versions, draft, revision, stored }) {
    this.seen = versions;
    this.opening.stored = stored;
    this.origin = draft;
    this.history.draft = draft;
    this.keep();
    this.redraw({ draft });
    this.say(`Saved as ${revision.short}.`);
    this.windows.postMessage({ versions, short: revision.short });
  }

  /** Take over what the other window saved, with those fields of ours that are to stand. */
  merged(theirs, versions, kept) {
    const own = this.edits.unsavedOver(this.origin, theirs, kept);
    this.history.step(own, "merged with what another window saved");
    this.origin = theirs;
    this.seen = versions;
    put(byId("alt-news"), "hidden", true);
    this.keep();
    this.say("Merged. Save again to keep both windows' work.");
  }

  restored(draft, short) {
    if (this.edits.stillAsks()) return;
    this.edits.finish();
    this.history.step(draft, `restored ${short}`);
    this.say(`${short} stands on the page again; undo brings back what was there.`);
  }

  undo() {
    if (this.edits.stillAsks()) return;
    this.edits.finish();
    this.edits.forget();
    const label = this.history.undo();
    if (label !== null) this.say(label ? `Undone: ${label}.` : "Put back as it was.");
  }

  redo() {
    if (this.edits.stillAsks()) return;
    this.edits.finish();
    this.edits.forget();
    const label = this.history.redo();
    if (label !== null) this.say(`Done again: ${label}.`);
  }

  async begin() {
    const kept = await this.journal.takeUp(this.opening.drafts);
    this.#show();
    const told = kept ? this.#takenUp(kept) : "";
    this.view.fit(this.document.box);
    this.revisions.show(this.opening.revisions);
    this.say(told || this.opening.notice);
    this.#tellState();
    if (kept) await this.redraw({ draft: this.history.draft });
    if (told) this.say(told);
    if (kept?.pending) this.edits.askAgain(kept.pending.row);
    if (kept) this.keep();
    if (this.hasClashes) await this.revisions.lookAtNews();
    put(byId("alteration"), "data-busy", null);
  }

  /**
   * Go on where a window left off.  Where the records have changed since, her changes are laid over what they hold
   * now; where both changed the same field she is asked.  A window that left nothing unsaved begins anew.
   */
  #takenUp(kept) {
    const { draft: theirs, versions } = this.opening;
    this.hasClashes = false;
    if (isSame(kept.seen, versions)) {
      this.origin = kept.origin;
      this.history.resume(kept);
      if (kept.pending) this.edits.takeUpPending(kept.pending);
      return this.isUnsaved || kept.pending ? "Taken up where you left it; not yet saved as a revision." : "";
    }
    const own = kept.pending?.draft ?? kept.draft;
    const rows = new Set(this.document.rows.map(({ key }) => key));
    const isHere = (path) => !path.startsWith("rows.") || rows.has(path.slice(5));
    const ways = threeWays(kept.origin, own, theirs).filter(({ changedHere, path }) => changedHere && isHere(path));
    if (!ways.length) return "";
    if (ways.some(({ clashes }) => clashes)) {
      this.hasClashes = true;
      this.origin = kept.origin;
      this.seen = kept.seen;
      this.history.resume(kept);
      return "The order or its chart was changed since you began here.";
    }
    const laid = ways.reduce((draft, { path, own: value }) => withValue(draft, path, value), theirs);
    this.journal.forgetWritten();
    this.history.step(laid, "laid over what was changed since");
    if (kept.pending) this.edits.askAgain(kept.pending.row);
    return "The order or its chart was changed since you began here: your own changes are laid over it.";
  }

  get isUnsaved() {
    return !isSame(this.history.draft, this.origin);
  }

  // --- redrawing ------------------------------------------------------------------------------------

  #changed(kind) {
    if (kind !== "preview") this.keep();
    this.#tellState();
    this.redraw({ draft: this.history.draft, started: this.edits.takeStart() });
  }

  /** Resolves once the newest draft has been drawn or refused. */
  async settled() {
    while (this.busy) await new Promise((resolve) => setTimeout(resolve, 8));
  }

  async #redrawn({ draft, started }, isOutdated) {
    this.busy = true;
    const slow = setTimeout(() => say(byId("alt-state"), "Working it out…"), SLOW);
    const asked = performance.now();
    try {
      const document = await this.server.post("/document", { draft, cut: byId("cut").checked });
      const answered = performance.now();
      this.document = document;
      // Only what the program refused is over now; that a reason is wanted still stands.
      if (this.fault) this.edits.fault("", "");
      this.fault = null;
      this.trouble(null);
      this.#show();
      if (started && !isOutdated()) timed(started, { asked, answered, written: performance.now(), engine: document.engine_ms });
      this.tape.measure(draft);
    } catch (refusal) {
      this.fault = refusal;
      if (!this.edits.refused(refusal.field || this.edits.path || "", refusal.message)) this.trouble(refusal);
    } finally {
      clearTimeout(slow);
      this.busy = isOutdated();
      if (!this.busy && byId("alt-state").textContent === "Working it out…") this.#tellState(true);
    }
  }

  #show() {
    const { document } = this;
    this.chart.show(document);
    this.edits.showWishes(document);
    this.checks.show(document);
    this.drawing.show(document, this.frame);
    this.#lit();
  }

  #choose(choice) {
    this.choice = choice;
    this.#lit();
    this.chart.choose(choice.rows?.length === 1 ? choice.rows[0] : null);
  }

  #lit() {
    const { rows = [], edge = null, edges = [], pieces = [] } = this.choice;
    const chosen = this.document.rows.filter(({ key }) => rows.includes(key));
    const known = this.document.edges.find(({ id }) => id === edge);
    const titles = new Map(this.document.edges.map(({ id, title }) => [id, title]));
    const arrows = chosen.flatMap((row) => (this.frame?.arrows ?? row.arrows).map((arrow) => ({ ...arrow, row: row.key, rowTitle: row.title, edgeTitle: titles.get(arrow.edge) })));
    const own = [...chosen.flatMap((row) => row.edges), ...edges, ...(known ? [edge] : [])];
    const lit = [...pieces, ...own.map((id) => id.split("/")[0])];
    this.drawing.light({ edges: own, mates: known?.mates ?? [], pieces: lit, arrows: this.#moving(arrows), held: !this.lesson.isOn });
    this.checks.edge(this.document, known ? edge : null);
  }

  /** Of one row every handle; of several what they move together, each place once. */
  #moving(arrows) {
    if (this.choice.rows?.length === 1) return arrows;
    const places = new Map();
    for (const arrow of arrows) {
      const place = `${arrow.edge} ${arrow.level ?? ""} ${arrow.kind}`;
      const amount_mm = (places.get(place)?.amount_mm ?? 0) + arrow.amount_mm;
      places.set(place, { ...arrow, amount_mm, amount: signed(amount_mm, this.document.drawing_unit), share: 0 });
    }
    return [...places.values()].filter(({ amount_mm }) => Math.abs(amount_mm) > 0.001);
  }

  #overlaid(outlines, name, solid = "result") {
    this.drawing.overlay(outlines, name);
    say(byId("result-name"), solid);
    put(document.querySelector(".for-other"), "hidden", !outlines);
    say(byId("other-name"), name);
  }

  #tellState(isStale = false) {
    put(byId("undo"), "disabled", !this.history.canUndo && !this.history.isOpen);
    put(byId("redo"), "disabled", !this.history.canRedo);
    put(byId("undo"), "title", this.history.steps[this.history.cursor - 1]?.label ?? null);
    put(byId("redo"), "title", this.history.steps[this.history.cursor]?.label ?? null);
    byId("alteration").classList.toggle("unsaved", this.isUnsaved);
    const shown = byId("alt-state").textContent;
    if (isStale || !shown || shown === this.stateWords || this.history.isOpen) {
      this.stateWords = this.#stateWords();
      say(byId("alt-state"), this.stateWords);
    }
  }

  #stateWords() {
    if (this.journal.isAway) return "The program does not answer; your changes are held in this browser until it does.";
    if (!this.isUnsaved) return "";
    return this.history.isOpen ? "Not yet saved as a revision." : "Not yet saved as a revision; kept.";
  }

  #savedElsewhere({ short, versions }) {
    if (isSame(versions, this.seen)) return;
    this.#tellNews(`Another window has saved ${short} of this order.`);
  }

  #tellNews(words) {
    say(byId("alt-news").firstElementChild, words);
    put(byId("alt-news"), "hidden", false);
  }

  /** Whether chart or order were changed on another page since this one began. */
  async #lookForNews() {
    try {
      const versions = await this.server.get("/versions");
      if (!isSame(versions, this.seen)) this.#tellNews("The order or its chart was changed elsewhere.");
    } catch {
      // It is looked for again when the page comes back into sight.
    }
  }

  #length(path, mm) {
    return inWords(mm, path === "amount" ? this.document.drawing_unit : this.document.unit);
  }

  #setTable() {
    const svg = byId("drawing");
    const world = draw("g", { class: "world" });
    svg.append(world);
    this.drawing = new Drawing(world);
    this.view = new View(svg, world, () => this.#rescaled());
  }

  #rescaled() {
    const { scale } = this.view;
    this.drawing.rescale(scale);
    const bar = scaleBar(scale, this.document.unit);
    byId("scale-bar").style.width = `${bar.dots}px`;
    const isTrue = Math.abs(scale / (calibrated() ?? Infinity) - 1) < 1e-6;
    say(byId("scale-words"), isTrue ? `${bar.words}, true size` : bar.words);
    put(byId("zoom-true"), "aria-pressed", String(isTrue));
  }
}

/** From the key to the pixels: measured after the frame that shows them has been handed to the screen. */
function timed(start, detail) {
  requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = () => {
      if (performance.getEntriesByName(KEY_TO_PIXELS).length >= MOST_MEASURED) performance.clearMeasures(KEY_TO_PIXELS);
      performance.measure(KEY_TO_PIXELS, { start, end: performance.now(), detail });
    };
    channel.port2.postMessage(null);
  });
}

function wire(page) {
  const click = (id, run) => byId(id).addEventListener("click", run);
  click("undo", () => page.undo());
  click("redo", () => page.redo());
  click("tape", () => page.toggleTape());
  click("steps", () => page.toggleLesson());
  click("save-open", () => page.askToSave());
  click("news-look", () => page.edits.stillAsks() || page.revisions.lookAtNews());
  click("zoom-in", () => page.view.zoom(1.25));
  click("zoom-out", () => page.view.zoom(0.8));
  click("zoom-fit", () => page.view.fit(page.document.box));
  click("zoom-true", () => trueSize(page));
  click("ruler-open", () => page.ruler.ask((dots) => page.view.zoomTo(dots)));
  byId("cut").addEventListener("change", (event) => {
    byId("alteration").classList.toggle("with-cut", event.target.checked);
    page.redraw({ draft: page.history.draft });
  });
  for (const [id, part] of [["fold-chart", "chart-part"], ["fold-checks", "checks-part"]]) click(id, () => fold(page, id, part));
  if (matchMedia("(max-width: 75rem) and (min-width: 48rem)").matches) fold(page, "fold-checks", "checks-part");
  tabs();
  const keys = new Keys(commands(page));
  click("keys-open", () => keys.show());
  window.addEventListener("resize", () => page.view.pan(0, 0));
}

function commands(page) {
  const named = (shown, keys, name, run, whileWriting = false) => ({ shown, keys, name, run, whileWriting });
  return [
    named("Ctrl+Z", ["Ctrl+z"], "undo", () => page.undo(), true),
    named("Ctrl+Y", ["Ctrl+y"], "redo", () => page.redo(), true),
    named("Ctrl+S", ["Ctrl+s"], "save as revision", () => page.askToSave(), true),
    named("Esc", ["Escape"], "put back what is under way; then nothing chosen", () => escaped(page), true),
    named("↑ ↓", [], "from row to row of the chart", () => false),
    named("Enter", [], "edit the row; keep what was typed", () => false),
    named("← →", [], "from edge to edge of the drawing; from step to step", () => false),
    named("+", ["+", "="], "larger", () => page.view.zoom(1.25)),
    named("-", ["-"], "smaller", () => page.view.zoom(0.8)),
    named("0", ["0"], "show everything", () => page.view.fit(page.document.box)),
    named("1", ["1"], "true size", () => trueSize(page)),
    named("T", ["t"], "take the tape, or put it away", () => page.toggleTape()),
    named("S", ["s"], "step by step", () => page.toggleLesson()),
    named("C", ["c"], "cut line", () => byId("cut").click()),
    named("?", ["?"], "these keys", () => byId("keys").showModal()),
  ];
}

function escaped(page) {
  if (page.tools.escape() || page.edits.putBack() || page.putTapeAway() || page.lesson.end()) return;
  if (!page.revisions.endComparison()) page.chooseNothing();
}

function trueSize(page) {
  const dots = calibrated();
  if (dots) page.view.zoomTo(dots);
  else page.ruler.ask((set) => page.view.zoomTo(set));
}

function fold(page, button, part) {
  const isShown = byId(part).classList.toggle("folded") === false;
  put(byId(button), "aria-pressed", String(isShown));
  byId("alteration").classList.toggle(`no-${part}`, !isShown);
  page.view.fit(page.document.box);
}

function tabs() {
  const list = [...document.querySelectorAll("[role=tab]")];
  const show = (tab) => {
    for (const other of list) {
      const isOn = other === tab;
      put(other, "aria-selected", String(isOn));
      put(other, "tabindex", isOn ? 0 : -1);
      put(byId(other.getAttribute("aria-controls")), "hidden", !isOn);
    }
  };
  for (const tab of list) {
    tab.addEventListener("click", () => show(tab));
    tab.addEventListener("keydown", (event) => {
      if (!["ArrowLeft", "ArrowRight"].includes(event.key)) return;
      const next = list[(list.indexOf(tab) + 1) % list.length];
      show(next);
      next.focus();
    });
  }
}

async function begin() {
  const server = new Server(ORDER);
  try {
    const opening = await server.get();
    say(byId("alt-title"), `${opening.client}: ${opening.title || opening.document.style}`);
    const journal = new Journal(ORDER, server, opening.versions.book, (news) => page.journalTold(news));
    const page = new Page(opening, journal, server);
    wire(page);
    await page.begin();
  } catch (error) {
    say(byId("alt-state"), "");
    say(byId("alt-trouble"), error.message);
    put(byId("alt-trouble"), "hidden", false);
    put(byId("alteration"), "data-busy", null);
    if (!error.status && !("said" in error)) throw error;
  }
}

begin();
