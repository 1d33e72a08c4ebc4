// What a reader of a page who sees little, or hears it, or has no mouse would stumble over.  By the rules of
// WCAG 2.2 and WAI-ARIA 1.2; the number of the success criterion stands before each sentence.
() => {
  const found = [];
  const told = (rule, element, words = "") => found.push(`${rule} ${where(element)} ${words}`.trim());
  const where = (e) => `<${e.tagName.toLowerCase()}${e.id ? ` id=${e.id}` : ""}${e.className?.length ? ` class=${e.getAttribute("class")}` : ""}> "${(e.textContent ?? "").trim().slice(0, 30)}"`;
  const all = (selector) => [...document.querySelectorAll(selector)];
  const isShown = (e) => e.checkVisibility({ visibilityProperty: true, opacityProperty: true }) && !e.closest("[aria-hidden=true], template");
  const text = (ids) => ids.split(/\s+/).map((id) => document.getElementById(id)?.textContent ?? "").join(" ").trim();

  const nameOf = (e) => {
    if (e.getAttribute("aria-labelledby")) return text(e.getAttribute("aria-labelledby"));
    if (e.getAttribute("aria-label")?.trim()) return e.getAttribute("aria-label").trim();
    if (e.labels?.length) return [...e.labels].map((label) => label.textContent).join(" ").trim();
    if (e.tagName === "IMG") return e.getAttribute("alt") ?? "";
    const words = [...e.childNodes].map((n) => (n.nodeType === 3 ? n.textContent : n.nodeType === 1 && n.getAttribute("aria-hidden") !== "true" ? nameOf(n) || n.textContent : "")).join(" ");
    return words.trim() || e.title || "";
  };

  // 3.1.1 language, 2.4.2 title
  if (!document.documentElement.lang) told("3.1.1", document.documentElement, "has no language");
  if (!document.title.trim()) told("2.4.2", document.documentElement, "has no title");
  // 1.3.1 landmarks: one main, one banner at most, everything of weight inside a landmark
  if (all("main").length !== 1) told("1.3.1", document.body, `has ${all("main").length} main parts`);
  for (const kind of ["nav", "aside"]) {
    const names = all(kind).filter(isShown).map(nameOfLandmark);
    if (new Set(names).size !== names.length) told("2.4.1", document.body, `has two ${kind} parts of one name: ${names.join("; ")}`);
  }
  function nameOfLandmark(e) {
    return e.getAttribute("aria-labelledby") ? text(e.getAttribute("aria-labelledby")) : e.getAttribute("aria-label") ?? "";
  }
  for (const e of document.body.children) {
    if (isShown(e) && e.textContent.trim() && !e.matches("main, header, footer, nav, aside, dialog, .skip, script, [role=status]")) told("1.3.1", e, "lies in no landmark");
  }
  // 2.4.1 a way past the head
  const first = all("a[href], button, input")[0];
  if (!first?.getAttribute("href")?.startsWith("#") || !document.querySelector(first.getAttribute("href"))) told("2.4.1", document.body, "begins without a way past its head");
  // 1.3.1 headings: one h1, no level left out
  const headings = all("h1, h2, h3, h4, h5, h6").filter(isShown);
  if (headings.filter((h) => h.tagName === "H1").length !== 1) told("1.3.1", document.body, "has not exactly one h1");
  let level = 0;
  for (const h of headings) {
    const own = Number(h.tagName[1]);
    if (own > level + 1) told("1.3.1", h, `follows a heading of level ${level}`);
    if (!h.textContent.trim()) told("1.3.1", h, "is an empty heading");
    level = own;
  }
  // 4.1.2 names of everything that can be worked, 1.1.1 of pictures
  const workable = "a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button], [role=slider], [role=tab], [tabindex]:not(main, [tabindex='-1'])";
  for (const e of all(workable)) if (isShown(e) && !nameOf(e)) told("4.1.2", e, "has no name");
  for (const e of all("img")) if (!e.hasAttribute("alt")) told("1.1.1", e, "has no alternative");
  for (const e of all("svg")) {
    if (isShown(e) && !(e.getAttribute("aria-label") || e.getAttribute("aria-labelledby") || e.querySelector("title"))) told("1.1.1", e, "has no name and is not hidden");
  }
  for (const e of all("[role=slider]")) if (!e.hasAttribute("aria-valuenow")) told("4.1.2", e, "tells no value");
  for (const e of all("dialog, [role=tablist], [role=toolbar], [role=group], [role=tabpanel], [role=region]")) if (!nameOf(e) || (!e.getAttribute("aria-label") && !e.getAttribute("aria-labelledby"))) told("4.1.2", e, "has no name");
  // 4.1.2 references and values of aria
  for (const name of ["aria-labelledby", "aria-describedby", "aria-controls", "aria-owns", "aria-activedescendant", "for", "list"]) {
    for (const e of all(`[${name}]`)) {
      for (const id of e.getAttribute(name).split(/\s+/)) if (!document.getElementById(id)) told("4.1.2", e, `${name} names ${id}, which is not there`);
    }
  }
  const values = { "aria-pressed": ["true", "false", "mixed"], "aria-selected": ["true", "false"], "aria-invalid": ["true", "false"], "aria-live": ["polite", "assertive", "off"], "aria-current": ["page", "true", "step"], "aria-hidden": ["true", "false"] };
  for (const [name, known] of Object.entries(values)) for (const e of all(`[${name}]`)) if (!known.includes(e.getAttribute(name))) told("4.1.2", e, `${name} is ${e.getAttribute(name)}`);
  const roles = ["button", "slider", "tab", "tablist", "tabpanel", "toolbar", "group", "status", "alert", "img", "search", "presentation", "none", "region"];
  for (const e of all("[role]")) if (!roles.includes(e.getAttribute("role"))) told("4.1.2", e, `has the role ${e.getAttribute("role")}`);
  for (const e of all("[aria-hidden=true]")) if (e.querySelector("a[href], button, input, [tabindex='0']")) told("4.1.2", e, "is hidden and can be reached");
  // 4.1.1 (of WCAG 2.1) ids
  const ids = all("[id]").map(({ id }) => id);
  for (const id of new Set(ids.filter((id, i) => ids.indexOf(id) !== i))) told("4.1.1", document.getElementById(id), "shares its id");
  // 2.4.3 order of focus
  for (const e of all("[tabindex]")) if (Number(e.getAttribute("tabindex")) > 0) told("2.4.3", e, "jumps the order");
  // 1.3.1 tables and lists
  for (const table of all("table")) {
    if (!table.querySelector("th")) told("1.3.1", table, "has no heads");
    if (!table.caption && !table.getAttribute("aria-label") && !table.getAttribute("aria-labelledby")) told("1.3.1", table, "has no name");
    for (const th of table.querySelectorAll("th")) {
      if (isShown(th) && !th.scope) told("1.3.1", th, "does not tell what it heads");
      if (isShown(th) && !nameOf(th)) told("1.3.1", th, "is an empty head");
    }
  }
  for (const list of all("ul, ol")) for (const child of list.children) if (!["LI", "SCRIPT", "TEMPLATE"].includes(child.tagName)) told("1.3.1", child, "lies in a list and is no part of it");
  for (const part of all("li")) if (!part.closest("ul, ol")) told("1.3.1", part, "lies in no list");
  for (const set of all("fieldset")) if (isShown(set) && !set.querySelector(":scope > legend")?.textContent.trim()) told("1.3.1", set, "has no legend");
  // 1.3.5 and 3.3.2: a placeholder is no label
  for (const e of all("input[placeholder], textarea[placeholder]")) if (isShown(e) && !nameOf(e)) told("3.3.2", e, "has only a placeholder");
  // 2.5.8 size of targets, 24 by 24; those within a sentence are excepted, and the small tick with its label
  for (const e of all("a[href], button, select, summary, input:not([type=hidden])")) {
    if (!isShown(e) || e.closest(".skip, .unseen, p, li, td, th, .hint, dd, .crumbs")) continue;
    const boxes = [e, ...(e.labels ?? [])].map((part) => part.getBoundingClientRect());
    const [width, height] = [Math.max(...boxes.map((b) => b.width)), Math.max(...boxes.map((b) => b.height))];
    if (width && (width < 23.5 || height < 23.5)) told("2.5.8", e, `is ${width.toFixed(0)} by ${height.toFixed(0)} dots`);
  }
  // 1.4.3 contrast of text, 1.4.11 of what bounds a field
  const parse = (c) => (c.match(/[\d.]+/g) ?? []).map(Number);
  const light = ([r, g, b]) => [r, g, b].map((v) => v / 255).map((v) => (v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)).reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const ratio = (a, b) => (Math.max(light(a), light(b)) + 0.05) / (Math.min(light(a), light(b)) + 0.05);
  const over = (top, under) => { const a = top[3] ?? 1; return [0, 1, 2].map((i) => a * top[i] + (1 - a) * under[i]); };
  const behind = (e) => {
    const layers = [];
    for (let at = e; at; at = at.parentElement) {
      const c = parse(getComputedStyle(at).backgroundColor);
      if (c.length === 3 || c[3] > 0) layers.push(c);
      if (c.length === 3 || c[3] === 1) break;
    }
    return layers.reverse().reduce((under, top) => over(top, under), [255, 255, 255]);
  };
  const fade = (e) => { let a = 1; for (let at = e; at; at = at.parentElement) a *= Number(getComputedStyle(at).opacity); return a; };
  for (const e of all("body *")) {
    const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    if (!own || !isShown(e) || e.closest("svg, .unseen, .skip, .told, option, :disabled, datalist")) continue;
    const style = getComputedStyle(e);
    const large = parseFloat(style.fontSize) >= 24 || (parseFloat(style.fontSize) >= 18.66 && Number(style.fontWeight) >= 700);
    const under = behind(e);
    const ink = over([...parse(style.color).slice(0, 3), (parse(style.color)[3] ?? 1) * fade(e)], under);
    if (ratio(ink, under) < (large ? 3 : 4.5)) told("1.4.3", e, `has a contrast of ${ratio(ink, under).toFixed(2)}`);
  }
  for (const e of all("svg text")) {
    if (!isShown(e) || !e.textContent.trim()) continue;
    const under = behind(e.closest("svg"));
    const ink = over([...parse(getComputedStyle(e).fill).slice(0, 3), fade(e)], under);
    if (ratio(ink, under) < 4.5) told("1.4.3", e, `has a contrast of ${ratio(ink, under).toFixed(2)}`);
  }
  for (const e of all("input:not([type=hidden], [type=checkbox], [type=radio], [type=range], [type=file]), select, textarea")) {
    if (!isShown(e) || e.disabled) continue;
    const style = getComputedStyle(e);
    const around = behind(e.parentElement);
    const line = over(parse(style.borderBottomColor), around);
    const best = Math.max(parseFloat(style.borderBottomWidth) ? ratio(line, around) : 1, ratio(behind(e), around));
    if (best < 3) told("1.4.11", e, `is bounded with a contrast of ${best.toFixed(2)}`);
  }
  return [...new Set(found)];
}
