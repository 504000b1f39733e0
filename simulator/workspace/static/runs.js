// Runs: asked for, watched, cancelled.

import { byId, h, put, say } from "/static/dom.js";
import { askJson, state } from "/static/store.js";

const NAMES = new Map([[0.2, "coarse"], [0.1, "fine"]]);
let told = 0; // number of the last run whose end was told

export async function run(cells) {
  await askJson("/api/runs", { case: state.name, cells });
  say("the run is queued; you may go on drawing");
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
    if (job.state === "done" && job.number > told) {
      told = job.number;
      if (state.shown[0] === "") state.shown[0] = job.result;
    }
  }
}

function progress(job) {
  const { fraction = 0, stage = "starting", simulated_time: time = 0, coldest } = job.progress;
  const hours = time > 0 ? `, ${(time / 3600).toFixed(1)} h of the day` : "";
  const cold = coldest ? `, coldest place ${shown(coldest)}` : "";
  const words = job.state === "waiting" ? "waiting" : `${stage}${hours}${cold}`;
  return h("p", { class: "job" }, [
    h("strong", { text: `${job.title}, ${cellName(job.cell_size)}` }),
    h("progress", { max: 1, value: fraction, "aria-label": `${job.title}, ${cellName(job.cell_size)}` }),
    h("span", { text: `${Math.round(100 * fraction)} %` }),
    h("span", { class: "quiet", text: words }),
    h("button", { type: "button", id: `cancel-${job.number}`, text: "Cancel", "aria-label": `Cancel ${job.title}, ${cellName(job.cell_size)}`, onclick: () => askJson(`/api/runs/${job.number}/cancel`, {}) }),
  ]);
}

function ended(job) {
  return h("p", { class: "job" }, [
    h("strong", { text: `${job.title}, ${cellName(job.cell_size)}` }),
    h("span", { class: job.state, text: job.state === "done" ? job.words : `${job.state}: ${job.words}` }),
    job.state === "done" && h("button", { type: "button", id: `look-${job.number}`, text: "Look at it", onclick: () => { state.shown[0] = job.result; byId("view-results").click(); } }),
  ]);
}

function shown(celsius) {
  return state.units === "us" ? `${(celsius * 1.8 + 32).toFixed(1)} °F` : `${celsius.toFixed(1)} °C`;
}
