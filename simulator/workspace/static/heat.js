// Temperatures as colours: a slice of the field on the plan, and the scale beside it.

import { h, s } from "/static/dom.js";
import { drawPiece, drawShell, nameAll, windowOn } from "/static/plan.js";
import { state } from "/static/store.js";

const PIXELS = 25; // of a slice's picture for a metre

/** The colour of a temperature [°C] as [red, green, blue]. */
export function colourOf(celsius) {
  const { low, high, shades } = state.scale;
  const share = (celsius - low) / (high - low);
  return shades[Math.max(0, Math.min(shades.length - 1, Math.round(share * (shades.length - 1))))];
}

/** A temperature as text in the units of the page. */
export function told(celsius) {
  return state.units === "us" ? `${(celsius * 1.8 + 32).toFixed(1)} °F` : `${celsius.toFixed(1)} °C`;
}

/** The number of the cell that holds a place along an axis; -1 outside. */
export function cellAt(edges, place) {
  if (place < edges[0] || place > edges.at(-1)) return -1;
  let [low, high] = [0, edges.length - 1];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (edges[middle] <= place) low = middle;
    else high = middle;
  }
  return low;
}

/** The frame nearest to a time [s]. */
export function frameAt(answer, seconds) {
  let best = 0;
  answer.frames.forEach((time, number) => {
    if (Math.abs(time - seconds) < Math.abs(answer.frames[best] - seconds)) best = number;
  });
  return best;
}

/** The scale of temperatures with what its marks mean. */
export function legend() {
  const { low, high, shades, ticks, marks } = state.scale;
  const canvas = h("canvas", { width: shades.length, height: 1, "aria-hidden": "true" });
  const context = canvas.getContext("2d");
  shades.forEach(([red, green, blue], number) => {
    context.fillStyle = `rgb(${red},${green},${blue})`;
    context.fillRect(number, 0, 1, 1);
  });
  const x = (value) => 30 + (480 * (value - low)) / (high - low);
  const svg = s("svg", { viewBox: "0 0 540 64", class: "legend", role: "img", "aria-label": `Colours from ${ticks[0][1]} (dark) to ${ticks.at(-1)[1]} (light); marks: ${marks.map(([, text]) => text).join(", ")}` }, [
    s("image", { href: canvas.toDataURL(), x: 30, y: 16, width: 480, height: 16, preserveAspectRatio: "none" }),
    ticks.map(([value, text]) => s("text", { x: x(value), y: 46, text })),
    marks.map(([value, text], number) => [
      s("line", { x1: x(value), x2: x(value), y1: 12, y2: 36 }),
      s("text", { x: x(value) + (number ? 0 : 4), y: number ? 9 : 60, class: number ? "mark" : "mark early", text }),
    ]),
  ]);
  return svg;
}

/** The plan of a result with a slice of its field and its cold spots. */
export class HeatPlan {
  constructor(answer, number) {
    this.answer = answer;
    this.view = windowOn(answer.plan);
    this.floor = answer.edges.z[0];
    this.canvas = document.createElement("canvas");
    this.svg = s("svg", { viewBox: `0 0 ${this.view.width} ${this.view.height}`, class: "heat-plan", role: "img" });
    this.readout = h("p", { class: "quiet readout", id: `readout-${number}`, text: "Point at the plan to read a temperature." });
    this.node = h("div", {}, [this.svg, this.readout]);
    this.svg.addEventListener("pointermove", (event) => this.#read(event));
    this.number = number;
    const { x, y } = answer.edges;
    this.canvas.width = Math.ceil((x.at(-1) - x[0]) * PIXELS);
    this.canvas.height = Math.ceil((y.at(-1) - y[0]) * PIXELS);
  }

  temperature(frame, i, j, k) {
    const { x, y, z } = this.answer.edges;
    const [nx, ny, nz] = [x.length - 1, y.length - 1, z.length - 1];
    const value = this.answer.field[((frame * nz + k) * ny + j) * nx + i];
    return value === this.answer.nothing ? NaN : value / this.answer.steps;
  }

  draw(seconds, height, spot) {
    const frame = frameAt(this.answer, seconds);
    const { edges } = this.answer;
    const layer = Math.max(0, Math.min(edges.z.length - 2, cellAt(edges.z, Math.min(this.floor + height, edges.z.at(-1) - 1e-6))));
    this.frame = frame;
    this.layer = layer;
    this.#paint(frame, layer);
    const { view } = this;
    const picture = s("image", {
      href: this.canvas.toDataURL(),
      x: view.x(edges.x[0]),
      y: view.y(edges.y.at(-1)),
      width: view.x(edges.x.at(-1)) - view.x(edges.x[0]),
      height: view.y(edges.y[0]) - view.y(edges.y.at(-1)),
      preserveAspectRatio: "none",
    });
    this.svg.setAttribute("aria-label", `Temperatures in a slice of ${this.answer.title}, ${this.answer.frame_words[frame]}`);
    this.svg.replaceChildren(drawShell(view, this.answer.plan, { picture }));
    const pieces = s("g", { class: "outlines", "aria-hidden": "true" }, this.answer.plan.pieces.map((piece) => drawPiece(view, piece)));
    this.svg.append(pieces);
    if (this.svg.isConnected) {
      const named = this.answer.plan.pieces.filter((piece) => piece.kind !== "sensor");
      nameAll(this.svg, view, named, this.answer.plan);
    }
    for (const row of this.answer.cold_spots) this.svg.append(this.#spot(row, row.rank === spot));
  }

  #spot(spot, isChosen) {
    const [x, y] = [this.view.x(spot.low[0]), this.view.y(spot.high[1])];
    const [width, height] = [this.view.x(spot.high[0]) - x, this.view.y(spot.low[1]) - y];
    const [cx, cy] = [this.view.x(spot.centre[0]), this.view.y(spot.centre[1])];
    return s("g", { class: isChosen ? "spot chosen" : "spot" }, [
      s("rect", { x, y, width, height }),
      s("circle", { cx, cy, r: 12 }),
      s("text", { x: cx, y: cy + 5, text: spot.rank }),
    ]);
  }

  #paint(frame, layer) {
    const context = this.canvas.getContext("2d");
    const { x, y } = this.answer.edges;
    context.clearRect(0, 0, this.canvas.width, this.canvas.height);
    const right = (i) => Math.round((x[i] - x[0]) * PIXELS);
    const down = (j) => Math.round((y.at(-1) - y[j]) * PIXELS);
    for (let j = 0; j < y.length - 1; j += 1) {
      for (let i = 0; i < x.length - 1; i += 1) {
        const celsius = this.temperature(frame, i, j, layer);
        if (Number.isNaN(celsius)) continue;
        const [red, green, blue] = colourOf(celsius);
        context.fillStyle = `rgb(${red},${green},${blue})`;
        context.fillRect(right(i), down(j + 1), right(i + 1) - right(i), down(j) - down(j + 1));
      }
    }
  }

  #read(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    const [x, y] = [this.view.low[0] + (at.x - this.view.x(this.view.low[0])) / 100, this.view.low[1] + (this.view.y(this.view.low[1]) - at.y) / 100];
    const [i, j] = [cellAt(this.answer.edges.x, x), cellAt(this.answer.edges.y, y)];
    if (i < 0 || j < 0) return;
    const celsius = this.temperature(this.frame, i, j, this.layer);
    const words = Number.isNaN(celsius) ? "wall" : told(celsius);
    this.readout.textContent = `${words} at ${x.toFixed(2)} m east, ${y.toFixed(2)} m north (${this.answer.frame_words[this.frame]})`;
  }
}
