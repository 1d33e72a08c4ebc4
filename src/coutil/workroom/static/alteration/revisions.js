// Revisions: saving with a note, merging with what another window saved, comparing, restoring.

import { byId, make, put, say } from "./dom.js";
import { threeWays } from "./draft.js";

const KINDS = { chart: "Chart", rows: "Rows", checks: "Checks" };

export class Revisions {
  #server;
  #page;
  #list = [];

  constructor(server, page) {
    this.#server = server;
    this.#page = page;
    byId("save-form").addEventListener("submit", (event) => this.#save(event));
    byId("save-cancel").addEventListener("click", () => byId("save").close());
    byId("merge-form").addEventListener("submit", (event) => this.#merge(event));
    byId("merge-cancel").addEventListener("click", () => byId("merge").close());
    byId("compare").addEventListener("click", () => this.#compare());
    byId("compare-end").addEventListener("click", () => this.endComparison());
  }

  show(list) {
    this.#list = list;
    put(byId("revisions-empty"), "hidden", list.length > 0);
    put(byId("compare-form"), "hidden", !list.length);
    byId("revision-list").replaceChildren(...list.map((line) => this.#item(line)));
    const options = list.map(({ id, short, note }) => [id, note ? `${short}: ${firstLine(note)}` : short]);
    fill(byId("compare-first"), [["", "what stands on this page"], ...options]);
    fill(byId("compare-second"), options);
  }

  ask() {
    byId("save-author").value = localStorage.getItem("coutil-author") ?? "";
    const tried = this.#page.tried();
    put(byId("save-tried"), "hidden", !tried.length);
    byId("save-correct").checked = false;
    say(byId("save-tried-said"), `Tried here and not on the chart${this.#page.opening.taken ? ` of ${this.#page.opening.taken}` : ""}: ${tried.join(", ")}.  They stay with this order.`);
    say(byId("save-fault"), "");
    byId("save").showModal();
    byId("save-note").focus();
  }

  endComparison() {
    if (byId("comparison").hidden) return false;
    put(byId("comparison"), "hidden", true);
    this.#page.overlay(null);
    return true;
  }

  async #save(event) {
    event.preventDefault();
    const author = byId("save-author").value.trim();
    localStorage.setItem("coutil-author", author);
    const { draft, origin, seen } = this.#page.saving();
    try {
      const saved = await this.#server.post("/save", { draft, origin, seen, author, note: byId("save-note").value, correct_chart: byId("save-correct").checked });
      byId("save").close();
      byId("save-note").value = "";
      this.show([saved.revision, ...this.#list]);
      this.#page.saved(saved);
    } catch (refusal) {
      if (refusal.status === 409) this.#askToMerge({ sentence: refusal.message, ...refusal.said });
      else say(byId("save-fault"), refusal.message);
    }
  }

  /** What another window has saved since this page began, to be merged at once. */
  async lookAtNews() {
    const { origin } = this.#page.saving();
    try {
      this.#askToMerge({ ...(await this.#server.post("/news", { origin })) });
    } catch (refusal) {
      this.#page.trouble(refusal);
    }
  }

  /** Row by row: what she has, what the other window saved, and which of them is to stand. */
  #askToMerge({ sentence, versions, draft: theirs, changes }) {
    byId("save").close();
    const { draft: mine, origin } = this.#page.saving();
    const ways = threeWays(origin, mine, theirs).filter(({ changedThere }) => changedThere);
    const words = new Map(changes.map((change) => [change.path, change]));
    say(byId("merge-said"), sentence);
    byId("merge-body").replaceChildren(...ways.map((way) => this.#mergeLine(way, words.get(way.path))));
    put(byId("merge-table"), "hidden", !ways.length);
    Object.assign(this, { pending: { theirs, versions, ways } });
    byId("merge").showModal();
  }

  #mergeLine({ path, own, clashes }, { title, before, after }) {
    const choice = (value, checked, word) =>
      make("label", {}, make("input", { type: "radio", name: path, value, checked }), ` ${word}`);
    return make(
      "tr",
      { class: clashes ? "clash" : null },
      make("th", { scope: "row" }, title),
      make("td", {}, before),
      make("td", {}, choice("mine", clashes, this.#page.words(path, own))),
      make("td", {}, choice("theirs", !clashes, after)),
    );
  }

  #merge(event) {
    event.preventDefault();
    const chosen = new FormData(byId("merge-form"));
    const { theirs, versions, ways } = this.pending;
    const kept = new Map(ways.filter(({ path }) => chosen.get(path) === "mine").map((way) => [way.path, way.own]));
    byId("merge").close();
    this.#page.merged(theirs, versions, kept);
    this.#server.get("/revisions").then((list) => this.show(list), () => {});
  }

  async #compare() {
    const first = byId("compare-first").value;
    const { draft } = this.#page.saving();
    const second = Number(byId("compare-second").value);
    try {
      const found = await this.#server.post("/compare", { draft, second, first: first ? Number(first) : null });
      this.#showComparison(found);
    } catch (refusal) {
      this.#page.trouble(refusal);
    }
  }

  #showComparison(found) {
    put(byId("comparison"), "hidden", false);
    say(byId("comparison-title"), `${found.first} and ${found.second}`);
    say(byId("comparison-first"), found.first);
    say(byId("comparison-second"), found.second);
    const lines = Object.entries(KINDS).flatMap(([kind, word]) => {
      const own = found.differences.filter((difference) => difference.kind === kind);
      const head = make("tr", { class: "kind" }, make("th", { colspan: 3, scope: "rowgroup" }, word));
      return own.length ? [head, ...own.map(differenceLine)] : [];
    });
    byId("comparison-body").replaceChildren(...lines);
    put(byId("comparison-table"), "hidden", !lines.length);
    put(byId("comparison-same"), "hidden", lines.length > 0);
    this.#page.overlay(found.second_pieces, found.second, found.first === "this page" ? null : found.first_pieces, found.first);
  }

  #item({ id, short, author, note, created, failed }) {
    const restore = make("button", { type: "button", onclick: () => this.#restore(id, short) }, "Restore");
    const state = failed ? `${failed} check${failed > 1 ? "s" : ""} did not hold` : "no check fails";
    const when = created.replace("T", " ").slice(0, 16);
    return make("li", {}, make("b", {}, short), make("span", { class: "when" }, [when, author, state].filter(Boolean).join(" · ")), make("p", {}, note || "No note."), restore);
  }

  async #restore(id, short) {
    try {
      const kept = await this.#server.get(`/revisions/${id}`);
      if (kept.same_base) this.#page.restored(kept.draft, short);
      else this.#page.trouble(new Error(`${short} was made from the base ${kept.base}: restore it on the order's page, which changes the base too.`));
    } catch (refusal) {
      this.#page.trouble(refusal);
    }
  }
}

function differenceLine({ title, first, second }) {
  return make("tr", {}, make("th", { scope: "row" }, title), make("td", {}, first), make("td", {}, second));
}

function fill(select, options) {
  const before = select.value;
  select.replaceChildren(...options.map(([value, word]) => make("option", { value }, word)));
  if (options.some(([value]) => String(value) === before)) select.value = before;
}

function firstLine(note) {
  const line = note.split("\n")[0];
  return line.length > 40 ? `${line.slice(0, 39)}…` : line;
}
