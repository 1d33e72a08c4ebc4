// Amounts of a fitting: lines are added and left out; the form keeps them all together.

const form = document.querySelector("form[data-whole]");
const lines = form.querySelector("[data-amounts]");
const count = form.elements.namedItem("a.count");
const sample = form.querySelector("[data-amount-line]");

function number() {
  [...lines.rows].forEach((row, i) => {
    for (const field of row.querySelectorAll("[name]")) field.name = field.name.replace(/^a\.[^.]+\./, `a.${i}.`);
    for (const place of row.querySelectorAll("[data-error]")) {
      place.dataset.error = place.dataset.error.replace(/^a\.[^.]+\./, `a.${i}.`);
    }
  });
  count.value = String(lines.rows.length);
}

form.querySelector("[data-more]").addEventListener("click", () => {
  lines.append(sample.content.cloneNode(true));
  number();
  lines.rows[lines.rows.length - 1].querySelector("select").focus();
});

lines.addEventListener("click", (event) => {
  const button = event.target.closest("[data-drop]");
  if (!button) return;
  button.closest("tr").remove();
  number();
  form.dispatchEvent(new Event("change", { bubbles: true }));
  form.querySelector("[data-more]").focus();
});
