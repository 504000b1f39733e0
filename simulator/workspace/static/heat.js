// Temperatures as colours: a slice of the field on the plan, and the scale beside it.

import { h, s } from "/static/dom.js";
import { drawPiece, drawShell, nameAll, windowOn } from "/static/plan.js";
import { length, state } from "/static/store.js";

/** A temperature as text in the units of the page. */
export function told(celsius) {
  return state.units === "us" ? `${(celsius * 1.8 + 32).toFixed(1)} °F` : `${celsius.toFixed(1)} °C`;
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
  constructor(answer, field, number) {
    this.answer = answer;
    this.field = field;
    this.view = windowOn(answer.plan);
    this.canvas = document.createElement("canvas");
    this.svg = s("svg", { viewBox: `0 0 ${this.view.width} ${this.view.height}`, class: "heat-plan", role: "img" });
    this.readout = h("p", { class: "quiet readout", id: `readout-${number}`, text: "Point at the plan to read a temperature." });
    this.node = h("div", {}, [this.svg, this.readout]);
    this.svg.addEventListener("pointermove", (event) => this.#read(event));
    [this.canvas.width, this.canvas.height] = field.cells;
  }

  /** The floor [m] from which heights are counted. */
  get floor() {
    return this.field.table.origin[2];
  }

  draw(seconds, height, spot) {
    const { view } = this;
    const { origin, extent, cells } = this.field.table;
    this.frame = this.field.frameAt(seconds);
    this.layer = Math.max(0, Math.min(cells[2] - 1, Math.floor((height / extent[2]) * cells[2])));
    this.#paint();
    const picture = s("image", {
      href: this.canvas.toDataURL(),
      x: view.x(origin[0]),
      y: view.y(origin[1] + extent[1]),
      width: view.x(extent[0]) - view.x(0),
      height: view.y(0) - view.y(extent[1]),
      preserveAspectRatio: "none",
    });
    this.svg.setAttribute("aria-label", `Temperatures in a slice of ${this.answer.title} after ${hours(this.field.table.times[this.frame])}`);
    this.svg.replaceChildren(drawShell(view, this.answer.plan, { picture }));
    this.svg.append(s("g", { class: "outlines", "aria-hidden": "true" }, this.answer.plan.pieces.map((piece) => drawPiece(view, piece))));
    for (const row of this.answer.cold_spots) this.svg.append(this.#spot(row, row.rank === spot));
    if (this.svg.isConnected) {
      const taken = [...this.svg.querySelectorAll(".spot circle")].map((circle) => circle.getBBox());
      const named = this.answer.plan.pieces.filter((piece) => piece.kind !== "sensor");
      nameAll(this.svg, view, named, this.answer.plan, "", taken);
    }
  }

  #spot(spot, isChosen) {
    const [x, y] = [this.view.x(spot.low[0]), this.view.y(spot.high[1])];
    const [width, height] = [this.view.x(spot.high[0]) - x, this.view.y(spot.low[1]) - y];
    const [cx, cy] = [this.view.x(spot.centre[0]), this.view.y(spot.centre[1])];
    return s("g", { class: isChosen ? "spot chosen" : "spot" }, [
      s("rect", { x, y, width, height, class: "edge" }),
      s("rect", { x, y, width, height }),
      s("circle", { cx, cy, r: 12 }),
      s("text", { x: cx, y: cy + 5, text: spot.rank }),
    ]);
  }

  #paint() {
    const [nx, ny] = this.field.cells;
    const codes = this.field.codes("field", this.frame);
    const context = this.canvas.getContext("2d");
    const pixels = context.createImageData(nx, ny);
    for (let j = 0; j < ny; j += 1) {
      for (let i = 0; i < nx; i += 1) {
        const celsius = this.field.temperature(codes[(this.layer * ny + j) * nx + i]);
        if (Number.isNaN(celsius)) continue;
        pixels.data.set([...this.field.colour(celsius), 255], 4 * ((ny - 1 - j) * nx + i));
      }
    }
    context.putImageData(pixels, 0, 0);
  }

  #read(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    const [x, y] = this.view.back(at.x, at.y);
    const { origin, extent, cells, times } = this.field.table;
    const z = origin[2] + ((this.layer + 0.5) / cells[2]) * extent[2];
    const celsius = this.field.temperatureAt([x, y, z], this.frame);
    const words = Number.isNaN(celsius) ? "no room here" : told(celsius);
    this.readout.textContent = `${words} at ${length(x)} east, ${length(y)} north, after ${hours(times[this.frame])}`;
  }
}

/** A time of the day as text. */
export function hours(seconds) {
  const minutes = Math.round(seconds / 60);
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")} min`;
}
