// The alteration chart: measurement, base, client, difference, and beneath each where it goes, row by row.
//
// Built once and then only rewritten, so that a field being typed into is never touched.

import { byId, keyed, make, put, say } from "./dom.js";

const STATES = [
  ["computed", "as computed"],
  ["overruled", "overruled"],
  ["left", "left as in the base"],
  ["locked", "locked"],
];

export class Chart {
  #table = byId("chart-table");
  #page;

  /** `page` is told what she does: see main.js. */
  constructor(page) {
    this.#page = page;
    this.#table.addEventListener("focusin", (event) => this.#chosen(event));
    this.#table.addEventListener("click", (event) => this.#chosen(event));
    this.#table.addEventListener("keydown", (event) => this.#key(event));
  }

  show(document) {
    for (const cell of this.#table.querySelectorAll("[data-unit]")) say(cell, document.unit);
    const groups = grouped(document);
    // Caption and head carry the keys "top" and "head" in the page itself.
    const names = ["top", "head", ...groups.map(({ measure }) => measure.key)];
    keyed(this.#table, names, () => make("tbody"), (element, _, i) => {
      if (i > 1) this.#group(element, groups[i - 2], document);
    });
  }

  /** Light the chosen row. */
  choose(row) {
    for (const line of this.#table.querySelectorAll("tr.goes")) {
      line.classList.toggle("chosen", line.dataset.row === row);
      if (line.dataset.row === row) line.scrollIntoView({ block: "nearest" });
    }
  }

  askWhy(row) {
    const field = this.#field(`rows.${row}.why`);
    // She is asked at once, before the pattern that goes with the amount is drawn.
    for (const hidden of [field?.closest("tr"), field?.closest("label")]) hidden?.removeAttribute("hidden");
    field?.focus();
    return field !== null;
  }

  #field(path) {
    return this.#table.querySelector(`[data-path="${CSS.escape(path)}"]`);
  }

  #group(element, { measure, rows }, document) {
    const names = ["measure", ...rows.flatMap(({ key }) => [`row ${key}`, `why ${key}`])];
    const known = new Map(rows.map((row) => [row.key, row]));
    keyed(element, names, (name) => this.#line(name, measure), (line, name) => {
      const [kind, key] = name.split(" ");
      if (kind === "measure") updateMeasure(line, measure, document);
      else if (kind === "row") updateRow(line, known.get(key), document);
      else updateWhy(line, known.get(key), this.#page.isAskingWhy(key));
    });
  }

  #line(name, measure) {
    const [kind, key] = name.split(" ");
    if (kind === "measure") return this.#measureLine(measure);
    return kind === "row" ? this.#rowLine(key) : this.#whyLine(key);
  }

  #measureLine(measure) {
    const field = this.#lengthField(`chart.${measure.key}`, `${measure.title}, client`);
    const client = make("td", { class: "figure" }, field, make("span", { class: "fault", id: `fault-${measure.key}` }));
    put(field, "aria-describedby", `fault-${measure.key}`);
    return make("tr", { class: "measure" }, make("th", { scope: "row" }, make("span"), make("small")), halvedCell(), client, halvedCell());
  }

  #rowLine(key) {
    const field = this.#lengthField(`rows.${key}.amount`, "");
    const states = STATES.map(([value, word]) => make("option", { value }, word));
    const state = make("select", { onchange: (event) => this.#page.decide(key, event.target.value) }, ...states);
    const name = make("th", { scope: "row", colspan: 2 }, make("span", { class: "row-name" }), make("small", { class: "where" }));
    // The head of the column names the unit of readings; an amount has the pattern's own.
    const unit = make("small", { class: "unit", "aria-hidden": "true" });
    const amount = make("td", { class: "figure" }, field, unit, make("span", { class: "fault" }));
    return make("tr", { class: "goes", "data-row": key, tabindex: 0 }, name, amount, make("td", {}, state));
  }

  #whyLine(key) {
    const field = make("input", { "data-path": `rows.${key}.why`, list: "reasons", maxlength: 300, autocomplete: "off" });
    field.addEventListener("keydown", (event) => {
      if (event.key === "Enter") this.#page.reason(key, field.value);
    });
    field.addEventListener("input", () => (field.dataset.typing = "yes"));
    field.addEventListener("change", () => this.#page.reason(key, field.value));
    const label = make("label", {}, make("span", {}, "Why?"), field, make("span", { class: "fault" }));
    const take = make("button", { type: "button", class: "take", onclick: () => this.#page.take(key) });
    return make("tr", { class: "why", "data-row": key }, make("td", { colspan: 4 }, label, make("ul", { class: "warnings" }), take));
  }

  #lengthField(path, name) {
    const field = make("input", { "data-path": path, "aria-label": name || null, inputmode: "decimal", autocomplete: "off", spellcheck: "false" });
    field.addEventListener("input", (event) => this.#page.typing(path, field.value, event.timeStamp));
    field.addEventListener("change", () => this.#page.typed(path));
    field.addEventListener("focus", () => field.select());
    return field;
  }

  #chosen(event) {
    const row = event.target.closest("tr.goes, tr.why")?.dataset.row;
    if (row) return this.#page.chooseRow(row);
    const measure = event.target.closest("tr.measure");
    if (measure) this.#page.chooseMeasure(measure.dataset.measure);
  }

  #key(event) {
    const line = event.target.closest("tr.goes");
    if (event.key === "Enter" && event.target.tagName === "INPUT" && !event.target.dataset.path.endsWith(".why")) {
      this.#page.typed(event.target.dataset.path);
      (line ?? event.target).focus();
      if (!line) event.target.select();
      this.#page.wantsWhy();
      event.preventDefault();
    } else if (event.key === "Enter" && event.target === line) {
      line.querySelector("input").focus();
      event.preventDefault();
    } else if (["ArrowDown", "ArrowUp"].includes(event.key) && event.target.tagName !== "SELECT") {
      this.#step(event, event.key === "ArrowDown" ? 1 : -1);
    }
  }

  /** Up and down go from row to row, and from reading to reading where she is in the column of the client. */
  #step(event, by) {
    const isReading = event.target.dataset.path?.startsWith("chart.");
    const stops = [...this.#table.querySelectorAll(isReading ? "tr.measure input" : "tr.goes")];
    const here = stops.indexOf(isReading ? event.target : event.target.closest("tr.goes"));
    const next = stops[here + by];
    if (here < 0 || !next) return;
    event.preventDefault();
    next.focus();
  }
}

/** Each measurement with the rows it goes to; a row stands once, at the reading it names or at its girth. */
function grouped(document) {
  const placed = new Map();
  for (const row of document.rows) {
    const exact = document.measures.find(({ key }) => key === row.measurement);
    const girth = document.measures.find(({ rows }) => rows.includes(row.key));
    const home = (exact ?? girth)?.key ?? document.measures[0]?.key;
    placed.set(home, [...(placed.get(home) ?? []), row]);
  }
  const groups = document.measures.map((measure) => ({ measure, rows: placed.get(measure.key) ?? [] }));
  const used = groups.filter(({ measure, rows }) => rows.length || measure.base);
  return [...used, ...groups.filter((group) => !used.includes(group))];
}

function updateMeasure(line, measure, document) {
  const [title, base, client, difference] = line.cells;
  line.dataset.measure = measure.key;
  say(title.children[0], measure.title);
  say(title.children[1], measure.remarks.join(" ") || (measure.how === "" ? "estimated" : measure.how === "measured" ? "" : measure.how));
  put(title.children[1], "class", measure.remarks.length ? "remark" : null);
  sayHalved(base, measure.base);
  sayHalved(difference, measure.difference);
  const field = client.querySelector("input");
  put(field, "placeholder", bare(measure.estimate, document.unit) || "not taken");
  rewrite(field, bare(measure.client, document.unit));
  put(line, "class", `measure${measure.how === "" || measure.how === "estimated" ? " estimated" : ""}`);
}

function updateRow(line, row, document) {
  const [name, amount, state] = line.cells;
  say(name.children[0], row.title);
  const missing = row.missing && !row.where.includes("still missing") ? `; ${row.missing}` : "";
  say(name.children[1], `${row.where}${missing}`);
  const field = amount.querySelector("input");
  put(field, "aria-label", `${row.title}: amount on the pattern, in ${document.drawing_unit}`);
  rewrite(field, bare(row.amount, document.drawing_unit));
  say(amount.querySelector(".unit"), document.drawing_unit);
  const select = state.firstChild;
  put(select, "aria-label", `${row.title}: who decides`);
  if (select.value !== row.state) select.value = row.state;
  line.classList.toggle("by-hand", row.by_hand);
  line.classList.toggle("warned", row.warnings.length > 0);
  line.classList.toggle("open", row.decision && !row.by_hand);
}

function updateWhy(line, row, isAsked) {
  const [label, warnings, take] = line.cells[0].children;
  const field = label.querySelector("input");
  const decided = row.by_hand || isAsked;
  put(label, "hidden", !decided);
  put(field, "aria-label", `${row.title}: why?`);
  rewrite(field, row.why === "being tried" ? "" : row.why);
  keyed(warnings, row.warnings.map((_, i) => String(i)), () => make("li"), (item, _, i) => say(item, row.warnings[i]));
  const isOpen = row.decision && !decided;
  put(take, "hidden", !isOpen);
  say(take, `Take the wanted ${row.wanted}`);
  put(line, "hidden", !decided && !isOpen && !row.warnings.length);
}

function halvedCell() {
  return make("td", { class: "figure" }, make("span"), make("small"));
}

/** Full first, the half in brackets beneath it. */
function sayHalved(cell, text) {
  const [, full, half = ""] = text.match(/^(.*?)( \(.*\))?$/);
  say(cell.children[0], full);
  say(cell.children[1], half.trim());
}

/** Write into a field only where she is not writing herself. */
function rewrite(field, text) {
  if (document.activeElement === field && field.dataset.typing === "yes") return;
  if (field.value !== text) field.value = text;
}

/** A length without its unit, since the head of the column or the label names it. */
function bare(text, unit = "") {
  return unit && text.endsWith(` ${unit}`) ? text.slice(0, -unit.length - 1) : text;
}
