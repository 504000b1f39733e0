// The curves of a run: coldest, mean and warmest hiding place over the day.

import { s } from "/static/dom.js";
import { told } from "/static/heat.js";
import { state } from "/static/store.js";

const WIDTH = 640;
const HEIGHT = 250;
const LEFT = 58;
const RIGHT = 96;
const TOP = 12;
const BOTTOM = 34;
const STEPS = [5, 10, 15, 30, 60]; // minutes between the marks of the time axis
const LINES = [["warmest", "2 4"], ["mean", "9 4"], ["coldest", ""]];

export function curves(answer, seconds) {
  const { time } = answer.curves;
  const end = time.at(-1);
  const all = LINES.flatMap(([key]) => answer.curves[key]).filter((value) => value !== null);
  const low = Math.floor(Math.min(...all) / 10) * 10;
  const high = Math.ceil(Math.max(55, ...all) / 10) * 10;
  const x = (value) => LEFT + ((WIDTH - LEFT - RIGHT) * value) / end;
  const y = (value) => TOP + ((HEIGHT - TOP - BOTTOM) * (high - value)) / (high - low);
  const d = (key) => answer.curves[key].map((value, n) => `${n ? "L" : "M"}${x(time[n]).toFixed(1)},${y(value).toFixed(1)}`).join("");
  const degrees = [];
  for (let value = low; value <= high; value += 10) degrees.push(value);
  const times = [];
  const step = STEPS.find((minutes) => end / 60 / minutes <= 8) ?? 60 * Math.ceil(end / 3600 / 8);
  for (let minutes = 0; minutes * 60 <= end + 1; minutes += step) times.push(minutes);
  const clock = (minutes) => (step < 60 ? `${minutes} min` : `${minutes / 60} h`);
  const last = LINES.map(([key]) => ({ key, at: y(answer.curves[key].at(-1)) })).sort((a, b) => a.at - b.at);
  for (let n = 1; n < last.length; n += 1) last[n].at = Math.max(last[n].at, last[n - 1].at + 15);
  const axis = (value) => (state.units === "us" ? `${(value * 1.8 + 32).toFixed(0)} °F` : `${value} °C`);
  const finals = LINES.map(([key]) => `${key} ${told(answer.curves[key].at(-1))}`).join(", ");
  return s("svg", { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, class: "curves", role: "img", "aria-label": `Hiding places over the day; at its end: ${finals}` }, [
    degrees.map((value) => [s("line", { x1: LEFT, x2: WIDTH - RIGHT, y1: y(value), y2: y(value), class: "rule" }), s("text", { x: LEFT - 6, y: y(value) + 5, class: "left", text: axis(value) })]),
    times.map((minutes) => s("text", { x: x(minutes * 60), y: HEIGHT - 14, class: "hour", text: clock(minutes) })),
    s("line", { x1: LEFT, x2: WIDTH - RIGHT, y1: y(50), y2: y(50), class: "goal" }),
    LINES.map(([key, dashes]) => s("path", { d: d(key), class: `curve ${key}`, "stroke-dasharray": dashes || null })),
    last.map(({ key, at }) => s("text", { x: WIDTH - RIGHT + 6, y: at + 5, text: key })),
    s("line", { x1: x(Math.min(seconds, end)), x2: x(Math.min(seconds, end)), y1: TOP, y2: HEIGHT - BOTTOM, class: "cursor" }),
  ]);
}
