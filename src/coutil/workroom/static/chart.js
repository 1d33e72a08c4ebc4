// The chart form: what is noticed about a reading appears beside it, left and right unfold, figures are echoed as kept.

const form = document.querySelector("form[data-chart]");

for (const button of form.querySelectorAll("[data-sides]")) {
  button.addEventListener("click", () => {
    const sides = document.getElementById(button.getAttribute("aria-controls"));
    sides.hidden = !sides.hidden;
    button.setAttribute("aria-expanded", String(!sides.hidden));
    if (!sides.hidden) sides.querySelector("input").focus();
  });
}

// Enter goes on to the next field, as one types a chart with one hand on the tape.
form.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.target.tagName !== "INPUT") return;
  event.preventDefault();
  const fields = [...form.querySelectorAll("input")].filter((field) => field.offsetParent);
  fields[fields.indexOf(event.target) + 1]?.focus();
});

form.addEventListener("kept", (event) => {
  const { body, keeper } = event.detail;
  echo(body.values, keeper);
  remarks(body.remarks);
  const missing = form.querySelector("[data-missing]");
  missing.hidden = !body.missing.length;
  missing.querySelector("[data-missing-list]").textContent = body.missing.join(", ");
  for (const row of form.querySelectorAll("[data-reading]")) {
    row.querySelector("[data-change]").textContent = body.changes[row.dataset.reading] || "";
  }
});

function echo(values, keeper) {
  for (const field of form.elements) {
    const [kind] = (field.name || "").split(".");
    if (kind !== "m" && kind !== "how") continue;
    const value = values[field.name] ?? (kind === "how" ? "measured" : "");
    const typedSince = field.value !== keeper.kept.get(field.name);
    if (typedSince) continue;
    if (field !== document.activeElement) field.value = value;
    keeper.kept.set(field.name, field.value);
  }
}

function remarks(found) {
  for (const row of form.querySelectorAll("[data-reading]")) {
    const mine = found.filter((remark) => remark.key === row.dataset.reading);
    show(row.querySelector("[data-remarks]"), mine);
  }
  show(form.querySelector("[data-general]"), found.filter((remark) => !remark.key));
}

function show(place, found) {
  const now = [...place.children].map((p) => p.textContent).join("\n");
  if (now === found.map((remark) => remark.words).join("\n")) return;
  place.replaceChildren(...found.map((remark) => {
    const p = document.createElement("p");
    p.className = `remark ${remark.kind}`;
    p.textContent = remark.words;
    return p;
  }));
}
