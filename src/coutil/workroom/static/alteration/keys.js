// The keyboard.  Every command is one entry: its keys, what it is called, what it does.  The list shown on ? is made
// from the same entries.

import { byId, make } from "./dom.js";

export class Keys {
  #commands;

  constructor(commands) {
    this.#commands = commands;
    document.addEventListener("keydown", (event) => this.#pressed(event));
    byId("keys-close").addEventListener("click", () => byId("keys").close());
    byId("keys-list").replaceChildren(
      ...commands.flatMap(({ shown, name }) => [make("dt", {}, ...shown.split(" ").map((key) => make("kbd", {}, key))), make("dd", {}, name)]),
    );
  }

  show() {
    byId("keys").showModal();
  }

  #pressed(event) {
    if (event.defaultPrevented || document.querySelector("dialog[open]")) return;
    const isWriting = event.target.closest?.("input:not([type=checkbox]), textarea, select") !== null && event.target.closest;
    const name = `${event.ctrlKey || event.metaKey ? "Ctrl+" : ""}${event.shiftKey && event.key.length > 1 ? "Shift+" : ""}${event.key.length === 1 ? event.key.toLowerCase() : event.key}`;
    const pressed = event.shiftKey && event.ctrlKey && event.key.toLowerCase() === "z" ? "Ctrl+y" : name;
    const found = this.#commands.find(({ keys }) => keys.includes(pressed));
    if (!found || (isWriting && !found.whileWriting)) return;
    if (found.run(event) !== false) event.preventDefault();
  }
}
