// Results: one, or two side by side on the same times and the same scale.

import { byId, h, put, say, slug } from "/static/dom.js";
import { choice } from "/static/forms.js";
import { curves } from "/static/curves.js";
import { HeatPlan, legend } from "/static/heat.js";
import { cellName } from "/static/runs.js";
import { ask, askJson, plain, state } from "/static/store.js";

const kept = new Map(); // name and units -> a promise of the answer with its field
const now = { time: 1, height: 0.1, spot: null }; // time as a share of the longest day
let known = [];
let plans = [];

function path(name, rest) {
  return `/api/result/${name.split("/").map(encodeURIComponent).join("/")}/${rest}`;
}

function answerOf(name) {
  const key = `${state.units} ${name}`;
  if (!kept.has(key)) {
    const found = Promise.all([
      askJson(path(name, `answer?units=${state.units}`)),
      ask(path(name, "field")).then((response) => response.arrayBuffer()),
    ]).then(([answer, buffer]) => ({ ...answer, name, field: new Int16Array(buffer) }));
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
  plans = answers.map((answer, number) => new HeatPlan(answer, number));
  put(work, controls(answers), answers.length > 1 && comparison(answers), h("div", { id: "answers", class: `answers of-${answers.length}` }, answers.map(card)));
  move();
}

function controls(answers) {
  const options = known.map((row) => [row.name, `${row.title}, ${cellName(row.cell_size)} (${row.name.replace(/^results\//, "")})`]);
  const pick = (number, label) =>
    h("div", { class: "field" }, [
      h("label", { for: `shown-${number}`, text: label }),
      choice({ id: `shown-${number}`, onchange: (event) => { state.shown[number] = event.target.value; now.spot = null; drawResults(); } }, options, state.shown[number] || undefined, number ? "nothing" : undefined),
    ]);
  const top = Math.max(...answers.map((answer) => answer.edges.z.at(-1) - answer.edges.z[0]));
  return h("section", { class: "controls inset", "aria-label": "What is shown" }, [
    h("div", { class: "side-by-side" }, [pick(0, "result"), pick(1, "beside it")]),
    h("div", { class: "side-by-side" }, [
      slider("at-time", "time", 0, 1, 1 / 200, now.time, (value) => { now.time = value; }),
      slider("at-height", "height of the slice above the floor", 0.02, top - 0.02, 0.05, now.height, (value) => { now.height = value; }),
    ]),
    legend(),
  ]);
}

function slider(id, label, min, max, step, value, set) {
  const input = h("input", { id, type: "range", min, max, step, oninput: (event) => { set(Number(event.target.value)); move(); } });
  input.value = value;
  return h("div", { class: "field" }, [h("label", { for: id }, [`${label}: `, h("output", { id: `${id}-words`, for: id })]), input]);
}

/** Bring all pictures to the time and height that are set. */
function move() {
  const longest = Math.max(...plans.map((plan) => plan.answer.horizon));
  const seconds = now.time * longest;
  const words = state.units === "us" ? `${(now.height / 0.3048).toFixed(1)} ft` : `${now.height.toFixed(2)} m`;
  byId("at-height").value = now.height;
  byId("at-height-words").textContent = words;
  const minutes = Math.round(seconds / 60);
  byId("at-time-words").textContent = `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")} min`;
  byId("at-time").setAttribute("aria-valuetext", byId("at-time-words").textContent);
  byId("at-height").setAttribute("aria-valuetext", words);
  plans.forEach((plan, number) => {
    plan.draw(seconds, now.height, now.spot?.card === number ? now.spot.rank : null);
    byId(`curves-${number}`).replaceChildren(curves(plan.answer, seconds));
  });
}

function choose(card, spot) {
  const same = now.spot?.card === card && now.spot.rank === spot.rank;
  now.spot = same ? null : { card, rank: spot.rank };
  if (!same) now.height = Math.max(0.02, (spot.low[2] + spot.high[2]) / 2 - plans[card].floor);
  for (const row of document.querySelectorAll("[data-spot]")) {
    row.setAttribute("aria-pressed", String(row.dataset.spot === `${card} ${now.spot?.rank}` && now.spot?.card === card));
  }
  move();
}

function comparison(answers) {
  const [a, b] = answers;
  const hours = (value) => (value === null ? "not within the day" : `${(value / 3600).toFixed(1)} h`);
  const percent = (value) => `${(100 * value).toFixed(1)} %`;
  const litres = (value) => `${value.toFixed(1)} l`;
  const rows = [
    ["last hiding place done after", "finishing_time", hours],
    ["hiding volume still below 50 °C (122 °F)", "below_50", percent],
    ["cold spots", "cold_litres", litres],
    ["hiding places not done", "not_done", (value) => value],
  ];
  const better = (key) => {
    const [x, y] = [a[key] ?? Infinity, b[key] ?? Infinity];
    return x === y ? "alike" : x < y ? "left is lower" : "right is lower";
  };
  return h("section", { class: "inset", "aria-label": "Side by side" }, [
    h("table", { id: "comparison" }, [
      h("caption", { text: "Side by side (a difference within the error of the cells tells nothing)" }),
      h("thead", {}, h("tr", {}, ["", "left", "right", ""].map((text, n) => h(n ? "th" : "td", n ? { scope: "col", text: text || "compared" } : {})))),
      h("tbody", {}, rows.map(([label, key, show]) => h("tr", {}, [h("th", { scope: "row", text: label }), h("td", { text: show(a[key]) }), h("td", { text: show(b[key]) }), h("td", { text: better(key) })]))),
    ]),
    a.cell_size !== b.cell_size && h("p", { class: "meaning", text: "The two were run on cells of different size; compare runs of one size." }),
  ]);
}

function card(answer, number) {
  return h("article", { class: "answer", "aria-labelledby": `answer-${number}` }, [
    h("h2", { id: `answer-${number}`, text: `${answer.title}, ${cellName(answer.cell_size)}` }),
    h("p", { class: "quiet", text: `${answer.preparation}; ${answer.layout}; cells of ${answer.cells_in_words}` }),
    h("p", { class: `verdict ${answer.is_all_done ? "is-done" : "is-cold"}`, text: answer.verdict }),
    answer.stop && h("p", { class: "message wrong", text: answer.stop }),
    plans[number].node,
    spots(answer, number),
    h("div", { id: `curves-${number}` }),
    offers(answer, number),
    places(answer, number),
    more(answer, number),
  ]);
}

function spots(answer, number) {
  if (!answer.cold_spots.length) return h("p", { text: "No cold spot." });
  const isCold = answer.cold_spots[0].kind === "cold";
  const head = ["", "coldest", "mean", "litres", isCold ? "50 °C behind the air" : "done after", "where"];
  const row = (spot) => h("tr", {}, [
    h("td", {}, h("button", { type: "button", id: `spot-${number}-${spot.rank}`, "data-spot": `${number} ${spot.rank}`, "aria-pressed": "false", "aria-label": `Show cold spot ${spot.rank}: ${spot.words}`, text: spot.rank, onclick: () => choose(number, spot) })),
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

function offers(answer, number) {
  const offered = state.desk.offers;
  if (!offered.length) return null;
  return h("p", { class: "tools" }, offered.map((what) =>
    h("a", { class: "button", id: `offer-${slug(what)}-${number}`, href: path(answer.name, `offer/${encodeURIComponent(what)}?units=${state.units}`), download: "", text: `Download the ${what}` })));
}
