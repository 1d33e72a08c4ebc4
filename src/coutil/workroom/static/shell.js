// What every page does: shows that something is being worked on, and lets a table scroll by keyboard.

import { sweep } from "./unsent.js";

const told = document.getElementById("told");

/** Says something once, for eyes and screen readers alike. */
export function tell(words, lasting = false) {
  if (!told) return;
  told.textContent = words;
  told.classList.toggle("shown", Boolean(words));
  if (words && !lasting) setTimeout(() => { if (told.textContent === words) tell(""); }, 6000);
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || !form.dataset.busy) return;
  tell(form.dataset.busy, !("download" in form.dataset));
});

// What this browser holds of orders that are no longer there goes; where it cannot be asked now, it is asked again.
sweep().catch(() => {});

window.addEventListener("pageshow", () => tell(""));

for (const region of document.querySelectorAll(".scroll:not([tabindex])")) {
  if (region.scrollWidth > region.clientWidth + 1) {
    region.tabIndex = 0;
    region.setAttribute("role", "region");
    region.setAttribute("aria-label", region.querySelector("th")?.textContent.trim() || "Table");
  }
}
