// Runs: asked for, watched, cancelled.

import { byId, h, put, say } from "/static/dom.js";
import { askJson, openCase, plain, state } from "/static/store.js";

const NAMES = new Map([[0.2, "coarse"], [0.1, "fine"]]);
let told = 0; // number of the last run whose end was told

export async function run(cells) {
  await askJson("/api/runs", { case: state.name, cells });
  say("the run is queued; you may go on drawing");
}

/** Ask for what takes many runs: "place" (a search for fans) or "lesson". */
export async function runLong(what) {
  await askJson(`/api/runs?units=${state.units}`, { case: state.name, what });
  say("queued; it takes many runs, and you may go on drawing");
}

export function cellName(size) {
  return NAMES.get(size) ?? `${(100 * size).toFixed(0)} cm`;
}

export function drawRuns() {
  const node = byId("running");
  const active = state.runs.filter((job) => ["waiting", "running"].includes(job.state));
  const last = state.runs.filter((job) => !["waiting", "running"].includes(job.state)).at(-1);
  node.hidden = state.runs.length === 0;
  put(node, active.map(progress), last && ended(last));
  for (const job of state.runs) {
    if (job.what === "run" && job.state === "done" && job.number > told) {
      told = job.number;
      if (state.shown[0] === "") state.shown[0] = job.result;
    }
  }
}

function nameOf(job) {
  const what = { run: cellName(job.cell_size), place: "search for fans", lesson: "lesson" }[job.what];
  return `${job.title}, ${what}`;
}

function progress(job) {
  const { fraction = 0, stage = "starting", simulated_time: time = 0, coldest } = job.progress;
  const hours = time > 0 ? `, ${(time / 3600).toFixed(1)} h of the day` : "";
  const cold = coldest ? `, coldest place ${shown(coldest)}` : "";
  const words = job.state === "waiting" ? "waiting" : `${stage}${hours}${cold}`;
  const isCounted = job.what !== "place";
  return h("p", { class: "job" }, [
    h("strong", { text: nameOf(job) }),
    h("progress", { max: 1, "aria-label": nameOf(job), ...(isCounted ? { value: fraction } : {}) }),
    isCounted && h("span", { text: `${Math.round(100 * fraction)} %` }),
    h("span", { class: "quiet", text: words }),
    h("button", { type: "button", id: `cancel-${job.number}`, text: "Cancel", "aria-label": `Cancel ${nameOf(job)}`, onclick: () => askJson(`/api/runs/${job.number}/cancel`, {}) }),
  ]);
}

function ended(job) {
  const isDone = job.state === "done";
  return h("div", { class: "job" }, [
    h("strong", { text: nameOf(job) }),
    h("span", { class: job.state, text: isDone ? job.words : job.state === "cancelled" ? job.words : `failed: ${job.words}` }),
    isDone && NEXT[job.what](job),
    job.lines.length > 0 && h("details", { id: `told-${job.number}` }, [h("summary", { text: "What was found" }), h("pre", { text: job.lines.join("\n") })]),
  ]);
}

/** What can be done with a run, a search or a lesson that has ended. */
const NEXT = {
  run: (job) => h("button", { type: "button", id: `look-${job.number}`, text: "Look at it", onclick: () => { state.shown[0] = job.result; byId("view-results").click(); } }),
  place: (job) => h("button", { type: "button", id: `use-${job.number}`, text: "Make a case of this layout", onclick: () => useLayout(job).catch((error) => say(plain(error.message), "wrong")) }),
  lesson: (job) => h("a", { class: "button", id: `lesson-${job.number}`, href: `/api/lesson/${job.result}`, download: "", text: "Download the lesson" }),
};

async function useLayout(job) {
  const { name } = await askJson("/api/cases", { copy: job.case, title: `${job.title}, fans placed`, layout: job.result });
  await openCase(name);
  say("a second case with the layout that was found; run both and put them side by side");
}

function shown(celsius) {
  return state.units === "us" ? `${(celsius * 1.8 + 32).toFixed(1)} °F` : `${celsius.toFixed(1)} °C`;
}
