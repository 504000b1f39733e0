// What the page knows, and how its edits are saved: one after the other, never lost.

import { byId, say, unsay } from "/static/dom.js";

export const state = {
  client: crypto.randomUUID().slice(0, 12),
  name: "",
  view: null,
  desk: null,
  forms: null,
  scale: null,
  units: localStorage.getItem("units") || "si",
  selected: null, // { list, name or index }
  tab: "furniture",
  page: "draw",
  into: "preparation",
  room: "",
  runs: [],
  shown: ["", ""], // names of the results side by side
};

const listeners = [];

export function whenChanged(listener) {
  listeners.push(listener);
}

export function changed(what = "all") {
  for (const listener of listeners) listener(what);
}

/** Ask the desk; a refusal is thrown with its status and its lines. */
export async function ask(path, body, options = {}) {
  const request = { headers: {}, ...options };
  if (body !== undefined) {
    request.method = "POST";
    request.headers["content-type"] = "application/json";
    request.body = JSON.stringify(body);
  }
  const response = await fetch(path, request);
  if (!response.ok) {
    let text = response.statusText;
    try {
      text = (await response.json()).error;
    } catch {
      // no JSON: the status text has to do
    }
    throw Object.assign(new Error(text), { status: response.status });
  }
  return response;
}

export async function askJson(path, body) {
  return (await ask(path, body)).json();
}

export function casePath(rest = "") {
  return `/api/case/${state.name.split("/").map(encodeURIComponent).join("/")}${rest}`;
}

function saved(text) {
  byId("saved").textContent = text;
}

export function take(view) {
  state.view = view;
  saved(view.problems.length ? "saved, but the case cannot be used yet" : "all saved");
  changed("case");
}

export async function openCase(name) {
  await waiting;
  state.name = name;
  state.selected = null;
  state.room = "";
  const view = await askJson(casePath());
  const given = Object.keys(view.data?.preparation ?? {}).filter((key) => key !== "name");
  const isApart = view.holders && view.holders.preparation !== name;
  state.into = isApart || given.length ? "preparation" : "dwelling";
  unsay();
  history.replaceState(null, "", `#${encodeURIComponent(name)}`);
  take(view);
}

export async function reload() {
  if (state.name) take(await askJson(casePath()));
}

let waiting = Promise.resolve();
let unsent = 0;

/** Save operations; an edit made meanwhile elsewhere is taken over first, then ours applied. */
export function edit(operations, words = "") {
  unsent += 1;
  saved("saving…");
  waiting = waiting.then(() => send(`/edit?units=${state.units}`, { operations }, words)).finally(() => {
    unsent -= 1;
  });
  return waiting;
}

export function stepBack() {
  waiting = waiting.then(() => send("/undo", {}, "undone"));
  return waiting;
}

export function stepForward() {
  waiting = waiting.then(() => send("/redo", {}, "done again"));
  return waiting;
}

async function send(what, body, words) {
  for (let attempt = 0; ; attempt += 1) {
    const path = casePath(what);
    try {
      const full = { ...body, revision: state.view.revision, client: state.client };
      const view = await (await ask(path, full, { keepalive: true })).json();
      take(view);
      const broken = view.broken.map((row) => `${row.name} shares this and can no longer be used: ${row.problem}`);
      if (broken.length) say(broken.join("\n"), "wrong");
      else if (words) say(words);
      else unsay();
      return true;
    } catch (error) {
      if (error.status === 409 && attempt < 5) {
        take(await askJson(casePath()));
        continue;
      }
      if (error.status === undefined) {
        saved("not saved: the desk does not answer; trying again");
        await new Promise((resolve) => setTimeout(resolve, 1500));
        attempt -= 1;
        continue;
      }
      say(plain(error.message), "wrong");
      saved("not changed");
      changed("case");
      return false;
    }
  }
}

/** A refusal without file and line: the page shows the thing itself. */
export function plain(message) {
  return message
    .split("\n")
    .map((line) => line.replace(/^[^ ]*\.toml:\d+: /, ""))
    .join("\n");
}

/** A length in metres as text with its unit. */
export function length(metres) {
  if (state.units === "si") return `${metres.toFixed(2)} m`;
  const quarters = Math.round((Math.abs(metres) / 0.0254) * 4);
  const feet = Math.floor(quarters / 48);
  const inches = (quarters % 48) / 4;
  const sign = metres < 0 && quarters ? "-" : "";
  const parts = [feet ? `${feet} ft` : "", inches || !feet ? `${inches} in` : ""];
  return sign + parts.filter(Boolean).join(" ");
}

window.addEventListener("beforeunload", (event) => {
  if (unsent > 0) event.preventDefault();
});
