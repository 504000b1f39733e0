// The panel beside a room: time, slice, surface, what is shown, and the fixed scale of colours.
//
//   new ViewerControls(panel, viewer, { units: "us" });   // panel: an empty element
//
// Plain labelled inputs with the classes rs-controls, rs-row, rs-scale; a page may style them.

const KELVIN_US = 1.8;

/** A temperature in the units asked for, as text. */
export function temperatureText(celsius, units) {
  if (Number.isNaN(celsius)) return "unknown";
  return units === "us" ? `${(celsius * KELVIN_US + 32).toFixed(0)} °F` : `${celsius.toFixed(1)} °C`;
}

/** A time [s] as text. */
export function timeText(seconds) {
  const minutes = Math.round(seconds / 60);
  const [hours, rest] = [Math.floor(minutes / 60), minutes % 60];
  return hours ? `${hours} h${rest ? ` ${rest} min` : ""}` : `${rest} min`;
}

function lengthText(metres, units) {
  return units === "us" ? `${(metres / 0.3048).toFixed(1)} ft` : `${metres.toFixed(2)} m`;
}

export class ViewerControls {
  constructor(panel, viewer, { units = "si" } = {}) {
    this.viewer = viewer;
    this.units = units;
    panel.classList.add("rs-controls");
    const { extent } = viewer.field.table;
    const mark = viewer.field.table.scale.marks.at(-1);
    this.time = this.#slider("Time", 0, viewer.field.frameCount - 1, 1);
    this.slice = this.#slider("Slice at", 0.05, Math.max(0.1, extent[2] - 0.05), 0.05, 1);
    this.level = this.#slider("Surface of", 25, 60, 1, mark);
    this.sliceOn = this.#switch(this.slice.label);
    this.levelOn = this.#switch(this.level.label);
    this.furniture = this.#named("Furniture");
    this.spots = this.#named("Cold spots");
    this.jets = this.#named("Air from fans and heaters");
    const shown = row();
    shown.append(this.furniture.parentElement, this.spots.parentElement, this.jets.parentElement);
    this.home = document.createElement("button");
    this.home.type = "button";
    this.home.textContent = "View from the start";
    this.scale = scaleOf(viewer.field, units);
    panel.append(this.time.row, this.slice.row, this.level.row, shown, this.home, this.scale);
    this.#connect();
    this.refresh();
  }

  /** Shows what the viewer's settings now are. */
  refresh() {
    const { viewer, units } = this;
    const { settings } = viewer;
    this.time.input.max = viewer.field.frameCount - 1;
    this.time.input.value = viewer.frame;
    tell(this.time, timeText(viewer.time));
    this.sliceOn.checked = settings.slice !== null;
    this.levelOn.checked = settings.level !== null;
    if (settings.slice !== null) this.slice.input.value = settings.slice;
    if (settings.level !== null) this.level.input.value = settings.level;
    tell(this.slice, lengthText(Number(this.slice.input.value), units));
    tell(this.level, temperatureText(Number(this.level.input.value), units));
    for (const name of ["furniture", "spots", "jets"]) this[name].checked = settings[name];
  }

  #connect() {
    const { viewer } = this;
    const times = () => viewer.field.table.times;
    this.time.input.addEventListener("input", () => viewer.showTime(times()[this.time.input.value]));
    const send = () => viewer.set({
      slice: this.sliceOn.checked ? Number(this.slice.input.value) : null,
      level: this.levelOn.checked ? Number(this.level.input.value) : null,
      furniture: this.furniture.checked,
      spots: this.spots.checked,
      jets: this.jets.checked,
    });
    for (const one of [this.sliceOn, this.levelOn, this.furniture, this.spots, this.jets]) {
      one.addEventListener("change", send);
    }
    for (const [slider, isOn] of [[this.slice, this.sliceOn], [this.level, this.levelOn]]) {
      slider.input.addEventListener("input", () => {
        isOn.checked = true;
        send();
      });
    }
    this.home.addEventListener("click", () => viewer.resetView());
    viewer.addEventListener("time", () => this.refresh());
    viewer.addEventListener("change", () => this.refresh());
  }

  #slider(name, min, max, step, value = min) {
    const line = row();
    const label = document.createElement("label");
    const input = document.createElement("input");
    const output = document.createElement("output");
    Object.assign(input, { type: "range", min, max, step, value });
    label.append(name);
    input.setAttribute("aria-label", name);
    line.append(label, input, output);
    return { row: line, label, input, output };
  }

  #switch(label) {
    const box = document.createElement("input");
    box.type = "checkbox";
    label.prepend(box);
    return box;
  }

  #named(name) {
    const label = document.createElement("label");
    label.append(name);
    return this.#switch(label);
  }
}

function row() {
  const line = document.createElement("div");
  line.className = "rs-row";
  return line;
}

function tell(slider, text) {
  slider.output.textContent = text;
  slider.input.setAttribute("aria-valuetext", text);
}

/** The bar of colours with round numbers below it and a line at each mark. */
function scaleOf(field, units) {
  const { low, high, marks } = field.table.scale;
  const figure = document.createElement("div");
  figure.className = "rs-scale";
  figure.setAttribute("role", "img");
  const ends = [low, high].map((celsius) => temperatureText(celsius, units)).join(" to ");
  figure.setAttribute("aria-label", `Colours from ${ends}`);
  const bar = document.createElement("canvas");
  Object.assign(bar, { width: 256, height: 1 });
  Object.assign(bar.style, { width: "100%", height: "16px", display: "block" });
  const paint = bar.getContext("2d");
  const image = paint.createImageData(256, 1);
  image.data.set(field.palette);
  paint.putImageData(image, 0, 0);
  const words = document.createElement("div");
  Object.assign(words.style, { position: "relative", height: "1.5em" });
  Object.assign(figure.style, { position: "relative", margin: "0.4em 2.2em 0" });
  const share = (celsius) => `${(100 * (celsius - low)) / (high - low)}%`;
  const ticks = units === "us"
    ? [70, 90, 110, 130].map((f) => [(f - 32) / KELVIN_US, `${f} °F`])
    : [20, 30, 40, 50, 60].map((celsius) => [celsius, `${celsius} °C`]);
  for (const [celsius, text] of ticks) {
    const tick = document.createElement("span");
    tick.textContent = text;
    Object.assign(tick.style, {
      position: "absolute", left: share(celsius), transform: "translateX(-50%)", whiteSpace: "nowrap",
    });
    words.append(tick);
  }
  figure.append(bar, words);
  for (const mark of marks) {
    const line = document.createElement("span");
    line.title = temperatureText(mark, units);
    Object.assign(line.style, {
      position: "absolute", left: share(mark), top: "-4px", width: "2px", height: "22px",
      background: "#1c1c1c",
    });
    figure.append(line);
  }
  return figure;
}
