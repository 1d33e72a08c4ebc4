// Marks of a drawing: point at an edge to find its line, at a corner to move it along the outline; send all to be read again.

import { tell } from "/static/shell.js";

const figure = document.querySelector("[data-pattern]");
const svg = figure.querySelector("svg");
const told = document.querySelector("[data-told]");
const offsets = JSON.parse(figure.dataset.corners);
let moving = null;
let typed = false;

for (const form of document.querySelectorAll("form[data-marks]")) {
  form.addEventListener("input", () => { typed = true; });
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const fields = {};
    for (const field of form.elements) {
      if (field.name) fields[field.name] = field.type === "checkbox" ? (field.checked ? "yes" : "") : field.value;
    }
    tell("Reading the drawing again…", true);
    await send(form.dataset.marks, { version: Number(form.dataset.version), fields }, form.querySelector("[data-trouble]"));
  });
}

async function send(path, message, trouble) {
  const answer = await fetch(path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ unit: document.documentElement.dataset.unit, ...message }),
  }).catch(() => null);
  const body = answer ? await answer.json().catch(() => ({})) : {};
  if (answer?.ok) { location.reload(); return; }
  const words = answer?.status === 409
    ? "Another window has read this drawing anew meanwhile: load the page again, then make your changes."
    : body.error || "The workroom does not answer.";
  tell("");
  told.textContent = "";
  trouble.textContent = words;
  trouble.scrollIntoView({ block: "center" });
}

svg.addEventListener("click", (event) => {
  const corner = event.target.closest(".corner");
  const edge = event.target.closest(".edge");
  if (moving) { place(event); return; }
  if (sewing && edge) { pick(nameOf(edge)); return; }
  if (corner) { take(corner); return; }
  if (edge) show(edge);
});

document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && moving) { moving.classList.remove("taken"); moving = null; told.textContent = ""; }
});

/** Whatever reads the drawing again brings a new page: what was typed and not sent would be gone. */
function isUnsent() {
  if (typed) told.textContent = "First choose “Read the drawing again with these”: what you typed is not kept yet.";
  if (typed) told.scrollIntoView({ block: "center" });
  return typed;
}

document.querySelector("[data-done]").addEventListener("click", (event) => {
  if (isUnsent()) event.preventDefault();
});

function take(corner) {
  if (isUnsent()) return;
  moving = corner;
  corner.classList.add("taken");
  told.textContent = "Now point at the place on the outline where this corner is; Escape leaves it where it was.";
}

function place(event) {
  const corner = moving;
  const group = corner.closest("[data-piece]");
  const piece = group.dataset.piece;
  const [sx, sy] = group.dataset.shift.split(",").map(Number);
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  const [ox, oy] = offsets[piece] || [0, 0];
  moving = null;
  corner.classList.remove("taken");
  const version = Number(document.querySelector("form[data-marks]").dataset.version);
  tell("Reading the drawing again…", true);
  send(`/api/bases/${figure.dataset.base}/corner`,
    { version, piece, edge: corner.dataset.edge, x: at.x - sx + ox, y: sy - at.y + oy },
    document.querySelector("[data-trouble]"));
}

// Seams: two edges pointed at, or chosen from two lists, become one; the lines of the marks file are written for them.

const sew = document.querySelector("[data-sew]");
const seams = document.querySelector("[data-seams]");
const marksForm = seams.closest("form");
const titles = new Map([...document.querySelectorAll("#sew-a option")].map((option) => [option.value, option.textContent]));
let sewing = null;

const field = (i, part) => marksForm.elements.namedItem(`seam.${i}.${part}`);
const rows = () => [...Array(Number(marksForm.elements.namedItem("seam.count").value)).keys()];
const nameOf = (edge) => `${edge.closest("[data-piece]").dataset.piece}.${edge.dataset.edge}`;
const said = (side) => side.split(",").map((word) => titles.get(word.trim().split(" ")[0]) || word.trim()).join(", then ");

function pathOf(name) {
  const [piece, edge] = name.split(".");
  return svg.querySelector(`[data-piece="${CSS.escape(piece)}"] .edge[data-edge="${CSS.escape(edge)}"]`);
}

/** How far an edge climbs from its begin to its end, as drawn. */
function climb(name) {
  const path = pathOf(name);
  return path.getPointAtLength(0).y - path.getPointAtLength(path.getTotalLength()).y;
}

function switchSewing(on) {
  sewing = on ? [] : null;
  sew.setAttribute("aria-pressed", String(on));
  for (const lit of document.querySelectorAll(".lit")) lit.classList.remove("lit");
  told.textContent = on ? "Point at the first of the two edges; Escape leaves off." : "";
}

function pick(name) {
  sewing.push(name);
  pathOf(name).classList.add("lit");
  if (sewing.length < 2) { told.textContent = `${titles.get(name)}: now point at the edge it is sewn to.`; return; }
  const [a, b] = sewing;
  switchSewing(false);
  join(a, b);
}

/** Writes the seam; what either edge was sewn to before makes room for it. */
function join(a, b) {
  if (!a || !b || a === b) { told.textContent = "A seam needs two different edges."; return; }
  const holds = (i) => ["a", "b"].some((part) => field(i, part).value.split(",").some((word) => [a, b].includes(word.trim().split(" ")[0])));
  const before = rows().filter(holds);
  for (const i of before.slice(1)) for (const part of ["name", "a", "b", "ease"]) field(i, part).value = "";
  const i = before[0] ?? rows().find((row) => !field(row, "a").value && !field(row, "b").value);
  if (i === undefined) { told.textContent = "Read the drawing again with these seams first; then there is room for more."; return; }
  const taken = new Set(rows().filter((row) => row !== i).map((row) => field(row, "name").value));
  let name = field(i, "name").value || "seam";
  for (let n = 2; taken.has(name); n += 1) name = `seam_${n}`;
  field(i, "name").value = name;
  field(i, "a").value = a;
  field(i, "b").value = climb(a) * climb(b) < 0 ? `${b} backward` : b;
  field(i, "ease").value = "";
  typed = true;
  list();
  told.textContent = `${titles.get(a)} is sewn to ${titles.get(b)}. Read the drawing again with these to keep it.`;
}

function list() {
  seams.replaceChildren(...rows().filter((i) => field(i, "a").value).map((i) => {
    const line = document.createElement("li");
    const drop = document.createElement("button");
    const words = `${said(field(i, "a").value)} to ${said(field(i, "b").value)}`;
    drop.type = "button";
    drop.className = "bare";
    drop.textContent = "unpick";
    drop.setAttribute("aria-label", `Unpick ${words}`);
    drop.addEventListener("click", () => {
      for (const part of ["name", "a", "b", "ease"]) field(i, part).value = "";
      typed = true;
      list();
      sew.focus();
    });
    line.append(words, " ", drop);
    return line;
  }));
}

sew.addEventListener("click", () => { if (!moving) switchSewing(!sewing); });
document.querySelector("[data-sew-these]").addEventListener("click", () => {
  join(...["sew-a", "sew-b"].map((id) => document.getElementById(id).value));
});
document.addEventListener("keydown", (event) => { if (event.key === "Escape" && sewing) switchSewing(false); });
marksForm.addEventListener("change", list);
list();

function show(edge) {
  const piece = edge.closest("[data-piece]").dataset.piece;
  const line = document.querySelector(`[data-line="${CSS.escape(`${piece}.${edge.dataset.edge}`)}"]`);
  for (const lit of document.querySelectorAll(".lit")) lit.classList.remove("lit");
  edge.classList.add("lit");
  line?.classList.add("lit");
  if (line) line.closest("details").open = true;
  line?.querySelector("input")?.focus();
}

// The other way round: a field that is looked at lights its edge.
document.addEventListener("focusin", (event) => {
  const line = event.target.closest?.("[data-line]");
  if (!line) return;
  const [piece, edge] = line.dataset.line.split(".");
  for (const lit of document.querySelectorAll(".lit")) lit.classList.remove("lit");
  line.classList.add("lit");
  svg.querySelector(`[data-piece="${CSS.escape(piece)}"] .edge[data-edge="${CSS.escape(edge)}"]`)?.classList.add("lit");
});
