// Small helpers to build the page: every text goes in as text, never as markup.

const SVG = "http://www.w3.org/2000/svg";

function fill(node, properties, children) {
  for (const [key, value] of Object.entries(properties || {})) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else if (key === "text") node.textContent = value;
    else if (key === "value" || key === "checked" || key === "selected") node[key] = value;
    else node.setAttribute(key, value === true ? "" : value);
  }
  for (const child of children.flat(Infinity)) {
    if (child === null || child === undefined || child === false) continue;
    node.append(child instanceof Node ? child : document.createTextNode(String(child)));
  }
  return node;
}

export function h(tag, properties, ...children) {
  return fill(document.createElement(tag), properties, children);
}

export function s(tag, properties, ...children) {
  return fill(document.createElementNS(SVG, tag), properties, children);
}

export function byId(id) {
  return document.getElementById(id);
}

const opened = new Set(); // ids of what was unfolded, also while it is not in the page

document.addEventListener("toggle", (event) => {
  const { id, open, isConnected } = event.target;
  if (id && isConnected) opened[open ? "add" : "delete"](id);
}, true);

/** Replace what is in a node; the focus goes back to where it was, what was unfolded stays so. */
export function put(node, ...children) {
  const focused = node.contains(document.activeElement) ? document.activeElement.id : "";
  const scrolled = node.scrollTop;
  node.replaceChildren(...children.flat(Infinity).filter(Boolean));
  for (const details of node.querySelectorAll("details[id]")) {
    if (opened.has(details.id)) details.open = true;
  }
  node.scrollTop = scrolled;
  if (focused) byId(focused)?.focus({ preventScroll: true });
}

/** A word that can be part of an id. */
export function slug(text) {
  return String(text).replace(/[^A-Za-z0-9]+/g, "-");
}

let timer = 0;

/** Take a refusal away that no longer holds. */
export function unsay() {
  if (byId("message").classList.contains("wrong")) say("");
}

/** Tell what went wrong, or what was done, in the one place for that. */
export function say(text, kind = "note") {
  const node = byId("message");
  clearTimeout(timer);
  node.replaceChildren();
  node.hidden = !text;
  node.className = `message ${kind}`;
  if (!text) return;
  for (const line of String(text).split("\n")) node.append(h("p", { text: line }));
  node.append(h("button", { type: "button", text: "Close", onclick: () => say("") }));
  if (kind === "note") timer = setTimeout(() => say(""), 8000);
}
