// Results: one, or two side by side on the same times and the same scale.

import { byId, h, put, say } from "/static/dom.js";
import { choice } from "/static/forms.js";
import { curves } from "/static/curves.js";
import { HeatPlan, hours, legend } from "/static/heat.js";
import { cellName, runLong } from "/static/runs.js";
import { Room } from "/static/room.js";
import { ask, askJson, plain, state } from "/static/store.js";
import { unpack } from "/viewer/viewer.js";

const kept = new Map(); // name and units -> a promise of the answer with its field
const now = { time: 1, height: 0.1, spot: null }; // time as a share of the longest day
let known = [];
let plans = [];
let rooms = [];

function path(name, rest) {
  return `/api/result/${name.split("/").map(encodeURIComponent).join("/")}/${rest}`;
}

function answerOf(name) {
  const key = `${state.units} ${name}`;
  if (!kept.has(key)) {
    const found = Promise.all([
      askJson(path(name, `answer?units=${state.units}`)),
      ask(path(name, "room")).then((response) => response.arrayBuffer()).then(unpack),
    ]).then(([answer, field]) => ({ ...answer, name, field }));
    found.catch(() => kept.delete(key));
    kept.set(key, found);
    if (kept.size > 6) kept.delete(kept.keys().next().value);
  }
  return kept.get(key);
}

let drawn = 0;

export async function drawResults() {
  const mine = (drawn += 1);
  const work = byId("work");
  known = (await askJson("/api/results")).results;
  if (mine !== drawn || state.page !== "results") return;
  const names = known.map((row) => row.name);
  state.shown = state.shown.map((name) => (names.includes(name) ? name : ""));
  if (!state.shown[0] && names.length) state.shown[0] = names[0];
  if (!names.length) {
    put(work, h("p", { class: "quiet inset", text: "No result yet: run a case first." }));
    return;
  }
  if (!byId("answers")) put(work, h("p", { class: "quiet inset", text: "reading the result…" }));
  let answers;
  try {
    answers = await Promise.all(state.shown.filter(Boolean).map(answerOf));
  } catch (error) {
    say(plain(error.message), "wrong");
    return;
  }
  if (mine !== drawn || state.page !== "results") return;
  plans = answers.map((answer, number) => new HeatPlan(answer, answer.field, number));
  rooms.forEach((room) => room.dispose());
  rooms = answers.map((answer, number) => new Room(number));
  put(work, controls(answers), answers.length > 1 && comparison(answers), h("div", { id: "answers", class: `answers of-${answers.length}` }, answers.map(card)));
  rooms.forEach((room, number) => room.show(answers[number].field, {
    spot: (rank) => pick(number, rank),
    time: (seconds) => { now.time = seconds / longest(); move(); },
  }));
  move();
}

/** The end of the longest day that is shown [s]. */
function longest() {
  return Math.max(...plans.map((plan) => plan.answer.horizon));
}

function controls(answers) {
  const options = known.map((row) => [row.name, `${row.title}, ${cellName(row.cell_size)} (${row.name.replace(/^results\//, "")})`]);
  const chooser = (number, label) =>
    h("div", { class: "field" }, [
      h("label", { for: `shown-${number}`, text: label }),
      choice({ id: `shown-${number}`, onchange: (event) => { state.shown[number] = event.target.value; now.spot = null; drawResults(); } }, options, state.shown[number] || undefined, number ? "nothing" : undefined),
    ]);
  const top = Math.max(...answers.map((answer) => answer.field.table.extent[2]));
  return h("section", { class: "controls inset", "aria-label": "What is shown" }, [
    h("div", { class: "side-by-side" }, [chooser(0, "result"), chooser(1, "beside it")]),
    h("div", { class: "side-by-side" }, [
      slider("at-time", "time", 0, 1, 1 / 200, now.time, (value) => { now.time = value; }),
      slider("at-height", "height of the slice above the floor", 0.02, top - 0.02, 0.05, now.height, (value) => { now.height = value; }),
    ]),
    legend(),
    lesson(),
  ]);
}

function slider(id, label, min, max, step, value, set) {
  const input = h("input", { id, type: "range", min, max, step, oninput: (event) => { set(Number(event.target.value)); move(); } });
  input.value = value;
  return h("div", { class: "field" }, [h("label", { for: id }, [`${label}: `, h("output", { id: `${id}-words`, for: id })]), input]);
}

/** Bring all pictures to the time and height that are set. */
function move() {
  const seconds = now.time * longest();
  const height = state.units === "us" ? `${(now.height / 0.3048).toFixed(1)} ft` : `${now.height.toFixed(2)} m`;
  for (const [id, value, text] of [["at-time", now.time, hours(seconds)], ["at-height", now.height, height]]) {
    byId(id).value = value;
    byId(id).setAttribute("aria-valuetext", text);
    byId(`${id}-words`).textContent = text;
  }
  plans.forEach((plan, number) => {
    const spot = now.spot?.card === number ? now.spot.rank : null;
    plan.draw(seconds, now.height, spot);
    rooms[number].move(seconds, now.height, spot);
    byId(`curves-${number}`).replaceChildren(curves(plan.answer, seconds));
  });
}

/** Choose a cold spot of a card by its rank, in its list, on the plan and in 3D; null: none. */
function pick(number, rank) {
  if ((now.spot?.card === number ? now.spot.rank : null) === rank) return;
  now.spot = rank === null ? null : { card: number, rank };
  const spot = plans[number].answer.cold_spots.find((row) => row.rank === rank);
  if (spot) now.height = Math.max(0.02, (spot.low[2] + spot.high[2]) / 2 - plans[number].floor);
  for (const button of document.querySelectorAll("[data-spot]")) {
    button.setAttribute("aria-pressed", String(spot !== undefined && button.dataset.spot === `${number} ${rank}`));
  }
  move();
}

function comparison(answers) {
  const node = h("section", { id: "comparison", class: "inset", "aria-label": "Side by side" }, h("p", { class: "quiet", text: "comparing…" }));
  const query = answers.map((answer) => `result=${encodeURIComponent(answer.name)}`).join("&");
  askJson(`/api/compare?${query}&units=${state.units}`)
    .then((found) => {
      const [head, ...rows] = found.table;
      put(node,
        h("table", {}, [
          h("caption", { text: `A and B side by side; temperatures and volumes after ${found.moment}` }),
          h("thead", {}, h("tr", {}, head.map((text, n) => (n ? h("th", { scope: "col", text }) : h("td"))))),
          h("tbody", {}, rows.map(([name, ...cells]) => h("tr", {}, [h("th", { scope: "row", text: name }), cells.map((text) => h("td", { text }))]))),
        ]),
        h("ul", {}, found.summary.map((text) => h("li", { text }))),
        found.summary.some((text) => text.includes("not known")) && h("p", { class: "meaning", text: "“Run coarse, then fine” tells the error of the cells; compare the fine results." }),
      );
    })
    .catch((error) => node.replaceChildren(h("p", { text: plain(error.message) })));
  return node;
}

/** What a card is called: title and cells, and the file too where the other card has the same. */
function heading(answer, number) {
  const called = (one) => `${one.title}, ${cellName(one.cell_size)}`;
  if (!state.shown[1]) return called(answer);
  const isAlike = plans.length > 1 && called(plans[0].answer) === called(plans[1].answer);
  return `${"AB"[number]}: ${called(answer)}${isAlike ? ` (${answer.name.replace(/^results\//, "")})` : ""}`;
}

function card(answer, number) {
  return h("article", { class: "answer", "aria-labelledby": `answer-${number}` }, [
    h("h2", { id: `answer-${number}`, text: heading(answer, number) }),
    h("p", { class: "quiet", text: `${answer.preparation}; ${answer.layout}; cells of ${answer.cells_in_words}` }),
    h("p", { class: `verdict ${answer.is_all_done ? "is-done" : "is-cold"}`, text: answer.verdict }),
    h("div", {}, answer.stop && h("p", { class: "message wrong", text: answer.stop })),
    h("div", { class: "pictures" }, [plans[number].node, rooms[number].node]),
    spots(answer, number),
    h("div", { id: `curves-${number}` }),
    h("div", {}, [offers(answer, number), places(answer, number), more(answer, number)]),
  ]);
}

function spots(answer, number) {
  if (!answer.cold_spots.length) return h("p", { text: "No cold spot." });
  const isCold = answer.cold_spots[0].kind === "cold";
  const head = ["", "coldest", "mean", "litres", isCold ? `${state.units === "us" ? "122 °F" : "50 °C"} behind the air` : "done after", "where"];
  const row = (spot) => h("tr", {}, [
    h("td", {}, h("button", { type: "button", id: `spot-${number}-${spot.rank}`, "data-spot": `${number} ${spot.rank}`, "aria-pressed": "false", "aria-label": `Show cold spot ${spot.rank}: ${spot.words}`, text: spot.rank, onclick: () => pick(number, now.spot?.card === number && now.spot.rank === spot.rank ? null : spot.rank) })),
    h("td", { class: "number", text: spot.coldest }), h("td", { class: "number", text: spot.mean }),
    h("td", { class: "number", text: spot.litres < 10 ? spot.litres.toPrecision(2) : spot.litres.toFixed(0) }), h("td", { class: "number", text: isCold ? spot.lag : spot.done }), h("td", { text: spot.words }),
  ]);
  return h("table", { class: "spots" }, [
    h("caption", { text: isCold ? "Cold spots, the worst first" : "Slowest places, the last first" }),
    h("thead", {}, h("tr", {}, head.map((text, n) => (n ? h("th", { scope: "col", text, class: n < 5 ? "number" : "" }) : h("td"))))),
    h("tbody", {}, answer.cold_spots.map(row)),
  ]);
}

function places(answer, number) {
  return h("details", { id: `places-${number}`, class: "entry" }, [
    h("summary", { text: `Hiding places: ${answer.not_done} of ${answer.place_count} not done` }),
    h("table", {}, [
      h("thead", {}, h("tr", {}, ["state", "coldest", "done after", "where"].map((text) => h("th", { scope: "col", text })))),
      h("tbody", {}, answer.places.map((place) => h("tr", {}, [place.state, place.coldest, place.done, `${place.owner}: ${place.words}`].map((text) => h("td", { text }))))),
    ]),
  ]);
}

function more(answer, number) {
  const part = (key, title, lines) => lines.length > 0 && h("details", { id: `${key}-${number}`, class: "entry" }, [h("summary", { text: title }), h("ul", {}, lines.map((line) => h("li", { text: line })))]);
  return [
    part("harm", "Harm to things", answer.harm),
    part("power", "Power", answer.power),
    part("limits", "Limits of this answer", answer.notes),
    h("p", { class: "meaning", text: answer.cautions }),
  ];
}

/** What is taken away: the job sheet of a result. */
function offers(answer, number) {
  const href = path(answer.name, `sheet?units=${state.units}`);
  return h("p", { class: "tools" }, h("a", { class: "button", id: `sheet-${number}`, href, download: "", text: "Download the job sheet" }));
}

/** A lesson of the case that is open: many runs, then one page to hand out. */
function lesson() {
  if (!state.view?.plan) return null;
  return h("p", { class: "tools" }, [
    h("button", { type: "button", id: "make-lesson", text: `Make a lesson of “${state.view.title}”`, onclick: () => runLong("lesson").catch((error) => say(plain(error.message), "wrong")) }),
    h("span", { class: "quiet", text: "as found, prepared step by step, clutter, fans: a page to hand out that needs no network" }),
  ]);
}
