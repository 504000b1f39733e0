// The page: views, the bar at the top, what the desk tells.

import { byId, h, put, say } from "/static/dom.js";
import { showCases } from "/static/cases.js";
import { choose, panel, pieceForm, TABS, WITH_PIECE } from "/static/panels.js";
import { DrawingPlan, keysHelp } from "/static/plan.js";
import { drawResults } from "/static/results.js";
import { drawRuns, run } from "/static/runs.js";
import { ask, askJson, openCase, plain, reload, state, stepBack, stepForward, whenChanged } from "/static/store.js";

const plan = new DrawingPlan((piece) => choose(piece));

function drawBar() {
  const view = state.view;
  byId("case-title").textContent = view?.title || "Desk";
  document.title = view?.title ? `${view.title} – desk` : "Desk";
  byId("undo").disabled = !view?.can_undo;
  byId("redo").disabled = !view?.can_redo;
  for (const id of ["run-both", "run-coarse"]) byId(id).disabled = !view?.plan;
  byId("view-draw").setAttribute("aria-pressed", String(state.page === "draw"));
  byId("view-results").setAttribute("aria-pressed", String(state.page === "results"));
}

function tabs() {
  const select = (key) => {
    state.tab = key;
    drawPanel();
    byId(`tab-${key}`).focus();
  };
  const move = (event) => {
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!by) return;
    const number = TABS.findIndex(([key]) => key === state.tab);
    select(TABS[(number + by + TABS.length) % TABS.length][0]);
  };
  return h("div", { role: "tablist", "aria-label": "Parts of the case", class: "tabs", onkeydown: move }, TABS.map(([key, text]) =>
    h("button", {
      type: "button",
      role: "tab",
      id: `tab-${key}`,
      "aria-selected": String(state.tab === key),
      "aria-controls": "panel",
      tabindex: state.tab === key ? 0 : -1,
      text,
      onclick: () => select(key),
    }),
  ));
}

function drawPanel() {
  const side = byId("side");
  if (!side || !state.view) return;
  const content = state.view.data ? panel(state.tab === "todo" && !state.view.plan ? "files" : state.tab) : panel("files");
  put(side, tabs(), h("div", { id: "panel", role: "tabpanel", "aria-labelledby": `tab-${state.tab}`, tabindex: "0" }, [WITH_PIECE.includes(state.tab) && pieceForm(), content].flat(Infinity).filter(Boolean)));
}

function roomChoice() {
  const rooms = state.view?.plan?.rooms ?? [];
  if (rooms.length < 2) return null;
  const select = h("select", { id: "plan-room", onchange: (event) => { state.room = event.target.value; draw("case"); } }, [
    h("option", { value: "", text: "the whole dwelling" }),
    rooms.map((room) => h("option", { value: room.name, text: room.name, selected: state.room === room.name })),
  ]);
  return h("label", {}, ["Show ", select]);
}

function problems() {
  const lines = state.view?.problems ?? [];
  if (!lines.length) return null;
  return h("div", { class: "message wrong", role: "alert" }, [
    h("p", { text: "This case cannot be drawn or run until this is mended (tab Files):" }),
    lines.map((line) => h("p", { text: line })),
  ]);
}

function draw(what) {
  drawBar();
  if (what === "runs") {
    drawRuns();
    if (state.page === "results") drawResults();
    return;
  }
  const work = byId("work");
  if (state.page === "results") {
    drawResults();
    return;
  }
  if (!state.view) {
    put(work, h("p", { class: "quiet", text: "No case is open." }));
    return;
  }
  if (!byId("side")) {
    put(work, h("div", { class: "draw" }, [
      h("section", { class: "drawing", "aria-label": "Plan" }, [h("div", { id: "plan-tools", class: "tools" }), h("div", { id: "plan-place" }, plan.svg), keysHelp()]),
      h("section", { id: "side", "aria-label": "Case" }),
    ]));
  }
  put(byId("plan-tools"), roomChoice(), problems());
  plan.draw();
  drawPanel();
  if (what === "selection") byId("piece-form")?.scrollIntoView({ block: "nearest" });
}

function show(page) {
  state.page = page;
  byId("work").replaceChildren();
  draw("case");
}

async function loadForms() {
  [state.forms, state.scale] = await Promise.all([askJson(`/api/forms?units=${state.units}`), askJson(`/api/scale?units=${state.units}`)]);
  const root = document.documentElement.style;
  for (const key of ["fan", "heater", "sensor", "spot"]) root.setProperty(`--${key}`, state.scale[key]);
}

function listen() {
  const events = new EventSource("/api/events");
  events.onmessage = (event) => {
    const what = JSON.parse(event.data);
    if (what.type === "runs") {
      state.runs = what.runs;
      draw("runs");
    } else if (what.type === "case" && what.name === state.name && what.client !== state.client && what.revision !== state.view?.revision) {
      reload().then(() => say("taken over from another window"));
    }
  };
}

function shortcuts(event) {
  if (!(event.ctrlKey || event.metaKey) || event.target.matches?.("input, textarea, select")) return;
  const key = event.key.toLowerCase();
  if (key === "z" && !event.shiftKey && state.view?.can_undo) stepBack();
  else if ((key === "y" || (key === "z" && event.shiftKey)) && state.view?.can_redo) stepForward();
  else return;
  event.preventDefault();
}

function failed(error) {
  say(plain(error.message ?? String(error)), "wrong");
}

async function begin() {
  whenChanged(draw);
  byId("undo").addEventListener("click", () => { plan.flush(); stepBack(); });
  byId("redo").addEventListener("click", () => stepForward());
  byId("open-cases").addEventListener("click", () => showCases().catch(failed));
  byId("view-draw").addEventListener("click", () => show("draw"));
  byId("view-results").addEventListener("click", () => show("results"));
  byId("run-both").addEventListener("click", () => { plan.flush(); run([0.2, 0.1]).catch(failed); });
  byId("run-coarse").addEventListener("click", () => { plan.flush(); run([0.2]).catch(failed); });
  byId("units").value = state.units;
  byId("units").addEventListener("change", async (event) => {
    state.units = event.target.value;
    localStorage.setItem("units", state.units);
    await loadForms();
    draw("case");
  });
  document.addEventListener("keydown", shortcuts);
  await loadForms();
  listen();
  state.desk = await (await ask("/api/desk")).json();
  for (const name of state.desk.recovered) say(`${name}: a save that was cut off was finished`);
  const asked = decodeURIComponent(location.hash.slice(1));
  const known = state.desk.cases.map((row) => row.name);
  const first = known.includes(asked) ? asked : state.desk.first;
  if (first) await openCase(first);
  else {
    draw("case");
    await showCases();
  }
}

begin().catch(failed);
