// The check list: what asks to be looked at first, then what holds; and what is known of a chosen edge.

import { byId, keyed, make, put, say } from "./dom.js";

const WORDS = {
  fail: ["✕", "does not hold"],
  warn: ["!", "look at it"],
  decision: ["?", "yours to decide"],
  explained: ["≈", "explained"],
  pass: ["✓", "holds"],
};
const ORDER = ["fail", "warn", "decision", "explained"];

export class Checks {
  #page;

  constructor(page) {
    this.#page = page;
    for (const id of ["checks-telling", "checks-passed"]) {
      byId(id).addEventListener("click", (event) => this.#clicked(event));
    }
  }

  show(document) {
    const named = document.checks.map((check, i) => [`${check.code} ${check.name} ${i}`, check]);
    const telling = named.filter(([, { verdict }]) => verdict !== "pass");
    telling.sort(([, a], [, b]) => ORDER.indexOf(a.verdict) - ORDER.indexOf(b.verdict));
    list(byId("checks-telling"), telling);
    list(byId("checks-passed"), named.filter(([, { verdict }]) => verdict === "pass"));
    say(byId("checks-count"), counted(document.checks));
    say(byId("checks-passed-count"), `${document.checks.length - telling.length} hold`);
    const remarks = [...document.conflicts, ...document.remarks];
    keyed(byId("remarks"), remarks.map((_, i) => String(i)), () => make("li"), (item, _, i) => {
      say(item, remarks[i]);
      put(item, "class", i < document.conflicts.length ? "conflict" : null);
    });
    say(byId("remarks-count"), `${remarks.length} remark${remarks.length === 1 ? "" : "s"} on the chart`);
    put(byId("remarks-part"), "hidden", !remarks.length);
    if (document.conflicts.length) byId("remarks-part").open = true;
    girths(document);
  }

  /** What is known of an edge: its length, its mate, its rows, its checks. */
  edge(document, id) {
    const edge = document.edges.find((known) => known.id === id);
    put(byId("edge-card"), "hidden", !edge);
    if (!edge) return;
    say(byId("edge-title"), edge.title);
    const seam = document.seams.find(({ name }) => name === edge.seam);
    const mates = edge.mates.map((mate) => document.edges.find((known) => known.id === mate).title.toLowerCase());
    const facts = [["Length", edge.length]];
    if (seam) {
      facts.push(["Sewn to", mates.join(" and ")], ["Seam", `${seam.result}; base ${seam.base}`]);
      facts.push(...seam.segments.map(({ name, lengths }) => [sentenceCase(name), lengths]));
    }
    const dl = byId("edge-facts");
    dl.replaceChildren(...facts.flatMap(([term, words]) => [make("dt", {}, term), make("dd", {}, words)]));
    const rows = document.rows.filter(({ edges }) => edges.includes(id));
    byId("edge-rows").replaceChildren(
      ...rows.map((row) => make("li", {}, make("button", { type: "button", onclick: () => this.#page.chooseRow(row.key) }, row.title), ` ${amountAt(row, id)}`)),
    );
    put(byId("edge-rows-head"), "hidden", !rows.length);
    const checks = document.checks.filter((check) => check.edges.includes(id) || (!check.edges.length && check.verdict !== "pass" && check.pieces.includes(edge.piece)));
    list(byId("edge-checks"), checks.map((check, i) => [`${check.code}${i}`, check]));
  }

  #clicked(event) {
    const item = event.target.closest("li");
    if (item) this.#page.chooseCheck(JSON.parse(item.dataset.edges), JSON.parse(item.dataset.pieces));
  }
}

function list(element, named) {
  const known = new Map(named);
  keyed(element, [...known.keys()], checkItem, (item, name) => updateCheck(item, known.get(name)));
}

function checkItem() {
  const line = make("button", { type: "button", class: "check-name" }, make("span", { class: "sign", "aria-hidden": "true" }), make("span", { class: "name" }));
  return make("li", {}, line, make("span", { class: "verdict" }), make("span", { class: "figure" }), make("span", { class: "advice" }));
}

function updateCheck(item, check) {
  const [line, verdict, figure, advice] = item.children;
  const [sign, word] = WORDS[check.verdict];
  put(item, "class", `check ${check.verdict}`);
  item.dataset.edges = JSON.stringify(check.edges);
  item.dataset.pieces = JSON.stringify(check.pieces);
  say(line.children[0], sign);
  say(line.children[1], check.name);
  say(verdict, word);
  say(figure, check.limit ? `${check.figure}, limit ${check.limit}` : check.figure);
  say(advice, check.advice);
}

function counted(checks) {
  const words = { fail: ["does not hold", "do not hold"], warn: ["to look at", "to look at"], decision: ["yours to decide", "yours to decide"], explained: ["explained", "explained"], pass: ["holds", "hold"] };
  return Object.entries(words)
    .map(([verdict, [one, many]]) => [checks.filter((check) => check.verdict === verdict).length, one, many])
    .filter(([count]) => count)
    .map(([count, one, many]) => `${count} ${count === 1 ? one : many}`)
    .join(", ");
}

function girths(document) {
  const body = byId("girths-body");
  keyed(body, document.girths.map(({ level }) => level), () => make("tr", {}, make("th", { scope: "row" }), ...Array.from({ length: 5 }, () => make("td"))), (line, _, i) => {
    const { level, body: taken, ease, reduction, gap, garment } = document.girths[i];
    [sentenceCase(level), taken, ease, reduction, gap, garment].forEach((words, j) => say(line.children[j], words));
  });
}

function amountAt(row, edge) {
  return row.arrows.filter((arrow) => arrow.edge === edge).map(({ amount }) => amount).join(", ");
}

function sentenceCase(words) {
  return words.charAt(0).toUpperCase() + words.slice(1);
}
