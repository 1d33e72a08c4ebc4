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

function show(edge) {
  const piece = edge.closest("[data-piece]").dataset.piece;
  const line = document.querySelector(`[data-line="${CSS.escape(`${piece}.${edge.dataset.edge}`)}"]`);
  for (const lit of document.querySelectorAll(".lit")) lit.classList.remove("lit");
  edge.classList.add("lit");
  line?.classList.add("lit");
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
