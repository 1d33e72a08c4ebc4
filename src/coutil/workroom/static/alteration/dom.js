// Small helpers for elements.  Text is always set as text, never as markup.

const SVG = "http://www.w3.org/2000/svg";

export function byId(id) {
  return document.getElementById(id);
}

export function make(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

export function draw(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

/** Set an attribute only where it differs: most of a redrawing leaves most things as they are. */
export function put(element, name, value) {
  if (value === null || value === undefined || value === false) {
    if (element.hasAttribute(name)) element.removeAttribute(name);
  } else if (element.getAttribute(name) !== String(value)) {
    element.setAttribute(name, value === true ? "" : value);
  }
}

export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/** Children keyed by a name: kept where they were made before, in the order of `names`. */
export function keyed(parent, names, create, update) {
  const known = new Map([...parent.children].map((child) => [child.dataset.key, child]));
  names.forEach((name, i) => {
    const child = known.get(name) ?? create(name);
    child.dataset.key = name;
    known.delete(name);
    if (parent.children[i] !== child) parent.insertBefore(child, parent.children[i] ?? null);
    update(child, name, i);
  });
  for (const child of known.values()) child.remove();
}

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else put(element, name, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}
