// Forms that keep themselves: what is typed goes to the workroom a moment later, with the version it started from.
// If another window was faster nothing is written, and the maker chooses field by field.

import { tell } from "/static/shell.js";

const PAUSE_MS = 500;
const AGAIN_MS = 3000;
const keepers = [];

/** One form that keeps itself. */
class Keeper {
  constructor(form) {
    this.form = form;
    this.version = Number(form.dataset.version);
    this.status = form.querySelector("[data-status]");
    this.meanwhile = form.querySelector("[data-meanwhile]");
    this.held = new Map();
    this.conflict = null;
    this.running = null;
    this.timer = 0;
    // What the page came with counts as kept, not what was typed before this script ran.
    this.kept = this.values(asSent);
    form.addEventListener("input", () => this.soon());
    form.addEventListener("change", () => this.soon(0));
    this.mark();
    form.addEventListener("submit", (event) => { event.preventDefault(); this.now(); });
    form.querySelector("[data-merge]")?.addEventListener("click", () => this.merge());
    if (this.changed().size) this.soon();
  }

  values(read = asTyped) {
    const found = new Map();
    for (const field of this.form.elements) {
      if (!field.name || field.type === "file" || field.closest("template")) continue;
      if (field.closest("[data-meanwhile]")) continue;
      found.set(field.name, read(field));
    }
    return found;
  }

  changed() {
    const now = this.values();
    const names = [...now.keys()].filter((name) => now.get(name) !== this.kept.get(name));
    const free = names.filter((name) => this.held.get(name) !== now.get(name));
    const gone = [...this.kept.keys()].some((name) => !now.has(name));
    // One line of a group that is kept as a whole brings all the others with it, those refused before among them.
    const group = gone || free.some((name) => this.isGrouped(name)) ? [...now.keys()].filter((name) => this.isGrouped(name)) : [];
    return new Map([...new Set([...free, ...group])].map((name) => [name, now.get(name)]));
  }

  isGrouped(name) {
    const { whole } = this.form.dataset;
    return Boolean(whole) && name.startsWith(whole);
  }

  /** What is to be saved now: a field that reads otherwise than when it was refused, or is gone, is held back no longer. */
  due() {
    const now = this.values();
    const moved = [...this.held].filter(([name, value]) => now.get(name) !== value).map(([name]) => name);
    if (moved.some((name) => this.isGrouped(name))) moved.push(...[...this.held.keys()].filter((name) => this.isGrouped(name)));
    for (const name of moved) { this.held.delete(name); this.error(name, ""); }
    const fields = this.changed();
    if (moved.length && !this.held.size && !fields.size) this.say("Saved as you type.");
    this.mark();
    return fields;
  }

  /** Says on the form itself whether all of it is saved. */
  mark() {
    this.form.dataset.kept = this.running || this.conflict || this.held.size || this.changed().size ? "no" : "yes";
  }

  soon(ms = PAUSE_MS) {
    this.mark();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.now(), ms);
  }

  /** Saves what has changed; resolves when nothing is left to be saved, or it cannot be. */
  async now() {
    clearTimeout(this.timer);
    while (this.running) await this.running;
    const fields = this.conflict ? new Map() : this.due();
    if (!fields.size) return;
    this.sending = fields;
    this.running = this.send(fields);
    const again = await this.running;
    this.running = null;
    this.mark();
    if (again) await this.now();
  }

  async send(fields) {
    this.say("Saving…");
    let answer;
    try {
      answer = await fetch(this.form.dataset.save, {
        method: "POST",
        headers: { "content-type": "application/json" },
        // Goes on though the page is left meanwhile.
        keepalive: true,
        body: JSON.stringify({
          version: this.version,
          unit: document.documentElement.dataset.unit,
          fields: Object.fromEntries(fields),
        }),
      });
    } catch {
      this.say("Not saved: the workroom does not answer. What you typed stays here and is tried again.", true);
      this.soon(AGAIN_MS);
      return false;
    }
    const body = await answer.json().catch(() => ({ error: "The workroom gave no answer that can be read." }));
    if (answer.ok) return this.keptAs(fields, body);
    if (answer.status === 409) return this.clash(body);
    return this.refused(fields, body);
  }

  keptAs(fields, body) {
    this.version = body.version;
    this.form.dataset.version = body.version;
    for (const [name, value] of fields) { this.kept.set(name, value); this.error(name, ""); this.held.delete(name); }
    const present = this.values();
    for (const name of [...this.kept.keys()]) if (!present.has(name)) this.kept.delete(name);
    this.say(this.held.size ? "Saved, but for the fields marked." : `Saved ${body.saved}.`, this.held.size > 0);
    this.form.dispatchEvent(new CustomEvent("kept", { detail: { body, keeper: this } }));
    return this.changed().size > 0;
  }

  refused(fields, body) {
    const errors = Object.entries(body.errors || {});
    for (const [name, sentence] of errors) { this.error(name, sentence); this.held.set(name, fields.get(name)); }
    if (errors.some(([name]) => this.isGrouped(name))) {
      for (const [name, value] of fields) if (this.isGrouped(name)) this.held.set(name, value);
    }
    if (!errors.length) {
      for (const [name, value] of fields) this.held.set(name, value);
      this.say(`Not saved: ${body.error}`, true);
      return false;
    }
    this.say("Not saved: look at the fields marked.", true);
    return this.changed().size > 0;
  }

  error(name, sentence) {
    const place = [...this.form.querySelectorAll("[data-error]")].find((p) => p.dataset.error === name);
    if (place) place.textContent = sentence;
    const field = this.form.elements.namedItem(name);
    if (field instanceof Element) {
      if (sentence) field.setAttribute("aria-invalid", "true"); else field.removeAttribute("aria-invalid");
    }
  }

  say(words, trouble = false) {
    if (!this.status) return;
    this.status.textContent = words;
    this.status.classList.toggle("trouble", trouble);
  }

  clash(body) {
    this.conflict = body;
    this.say("Not saved: another window was faster.", true);
    const place = this.meanwhile.querySelector("[data-choices]");
    place.replaceChildren(...grouped(body.conflict).map((field, i) => choice(field, i)));
    this.meanwhile.hidden = false;
    this.meanwhile.focus();
    return false;
  }

  async merge() {
    const mine = new Set();
    for (const field of grouped(this.conflict.conflict)) {
      const chosen = this.meanwhile.querySelector(`input[name="stand-${CSS.escape(field.name)}"]:checked`);
      if (chosen?.value === "mine") mine.add(field.name);
    }
    const fields = new Map([...this.changed()].filter(([name]) => mine.has(conflictName(name))));
    this.version = this.conflict.version;
    this.conflict = null;
    this.meanwhile.hidden = true;
    if (fields.size) {
      await this.send(fields);
      if (this.conflict || this.held.size) return;
    }
    tell("Loading what stands now…", true);
    this.kept = this.values();
    location.reload();
  }

  leave() {
    const fields = this.conflict ? new Map() : this.due();
    // What is on its way grows the version by one; what was typed since comes after it.
    if (this.running) for (const [name, value] of this.sending) if (fields.get(name) === value) fields.delete(name);
    if (!fields.size) return;
    const version = this.version + (this.running ? 1 : 0);
    fetch(this.form.dataset.save, {
      method: "POST", keepalive: true, headers: { "content-type": "application/json" },
      body: JSON.stringify({
        version, unit: document.documentElement.dataset.unit, fields: Object.fromEntries(fields),
      }),
    }).catch(() => {});
    for (const [name, value] of fields) this.kept.set(name, value);
  }
}

function asTyped(field) {
  return field.type === "checkbox" ? (field.checked ? "yes" : "") : field.value;
}

/** A field as the page came with it. */
function asSent(field) {
  if (field.type === "checkbox") return field.defaultChecked ? "yes" : "";
  if (field instanceof HTMLSelectElement) {
    const options = [...field.options];
    return (options.find((option) => option.defaultSelected) ?? options[0])?.value ?? "";
  }
  // A date typed by the browser's own control has no other default than the one it was sent with.
  return field.defaultValue.replace(/\r\n?/g, "\n");
}

/** A field of the form under the name it has in a conflict. */
function conflictName(name) {
  const [kind, ...rest] = name.split(".");
  if (kind === "m" || kind === "how") return `readings.${rest.join(".")}`;
  if (kind === "a") return "amounts";
  return name;
}

/** A fitting's amounts are chosen all together. */
function grouped(fields) {
  const amounts = fields.filter((field) => field.name.startsWith("amounts."));
  const others = fields.filter((field) => !field.name.startsWith("amounts."));
  if (!amounts.length) return others;
  const list = (side) => amounts.map((field) => `${field.title}: ${field[side]}`).join("; ");
  return [...others, {
    name: "amounts", title: "amounts", before: list("before"), mine: list("mine"), theirs: list("theirs"),
    clashes: amounts.some((field) => field.changed_by_me), changed_by_me: amounts.some((field) => field.changed_by_me),
  }];
}

function choice(field, i) {
  const set = document.createElement("fieldset");
  const legend = document.createElement("legend");
  legend.textContent = field.title;
  set.append(legend);
  const first = field.changed_by_me ? "mine" : "theirs";
  for (const [side, words] of [["mine", "as typed here"], ["theirs", "as saved meanwhile"]]) {
    if (side === "mine" && !field.changed_by_me) continue;
    const id = `stand-${i}-${side}`;
    const input = Object.assign(document.createElement("input"), {
      type: "radio", id, name: `stand-${field.name}`, value: side, checked: side === first,
    });
    const label = document.createElement("label");
    label.htmlFor = id;
    label.textContent = `${field[side]} (${words})`;
    const line = document.createElement("p");
    line.append(input, label);
    set.append(line);
  }
  return set;
}

for (const form of document.querySelectorAll("form[data-save]")) keepers.push(new Keeper(form));

/** Everything typed on this page saved; resolves when that is done or cannot be. */
export async function settle() {
  const late = new Promise((done) => setTimeout(done, 5000));
  await Promise.race([Promise.all(keepers.map((keeper) => keeper.now())), late]);
}

window.addEventListener("pagehide", () => keepers.forEach((keeper) => keeper.leave()));

function pending() {
  return keepers.some((keeper) => keeper.running || (!keeper.conflict && keeper.due().size > 0));
}

document.addEventListener("click", async (event) => {
  const link = event.target.closest?.("a[href]");
  if (!link || link.target || event.ctrlKey || event.metaKey || event.shiftKey || event.button || !pending()) return;
  event.preventDefault();
  await settle();
  location.href = link.href;
});

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.dataset.save || !pending()) return;
  event.preventDefault();
  const button = event.submitter;
  await settle();
  form.requestSubmit(button);
});
