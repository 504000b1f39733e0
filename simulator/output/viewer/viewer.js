// A room to turn and to look into: temperatures on furniture and floor, a slice, the surface of a
// temperature, cold spots that answer to a click. Needs WebGL2; makes no request; no library.
//
//   import { RoomViewer, unpack } from "./viewer.js";
//   const field = await unpack(bytes);                    // bytes: what pack.py returned
//   const viewer = new RoomViewer(canvas, field);
//   viewer.showTime(3600);                                // [s]
//   viewer.set({ slice: 0.3, level: 50, furniture: false });
//   viewer.highlight("2");                                // cold spot by its id, null: none
//   viewer.addEventListener("spot", (event) => event.detail.id);
//
// Mouse: drag turns, right button or Shift moves, wheel nears. Touch: one finger turns, two move and
// near. Keys on the canvas: arrows turn, + and - near, < and > step in time, PageUp and PageDown
// lift the slice, 1 to 9 pick a cold spot, Escape none, Home sets the view back.

import { freePlace } from "./badges.js";
import { bodiesOf, rgba, span } from "./bodies.js";
import { OrbitCamera } from "./camera.js";
import { RoomField, unpack, unpackText } from "./field.js";
import { isosurface } from "./isosurface.js";
import { Painter } from "./paint.js";

export { RoomField, unpack, unpackText };

const SPOT = [0.184, 0.831, 0.969];
const SPOT_EDGE = [0, 0.247, 0.361];
const SURFACE = [0.93, 0.96, 1];
const SLOW = 45; // [ms] between pictures, above which they are made coarse while dragging
const COARSE = 0.5;

/**
 * Draws one run into a canvas and lets people look around.
 *
 * Events: "spot" (detail.id, the picked cold spot or null), "time" (detail.time [s], detail.frame),
 * "change" (detail: all settings), "draw".
 */
export class RoomViewer extends EventTarget {
  /** Whether this browser can show rooms at all; if not, show a picture instead. */
  static isSupported() {
    return typeof DecompressionStream !== "undefined"
      && Boolean(document.createElement("canvas").getContext("webgl2"));
  }

  /**
   * @param {HTMLCanvasElement} canvas it gets a tab stop; its parent gets the numbers of spots
   * @param {RoomField} field
   */
  constructor(canvas, field) {
    super();
    this.canvas = canvas;
    this.painter = new Painter(canvas);
    this.settings = { slice: null, level: null, furniture: true, spots: true, jets: false };
    this.frame = field.frameCount - 1;
    this.highlighted = null;
    this.isDragging = false;
    this.bodies = {};
    this.pointers = new Map();
    this.badges = document.createElement("div");
    this.#layOverlay();
    this.#listen();
    this.load(field);
  }

  /** Shows another run; the camera stays, so that two can be compared, unless `resetView`. */
  load(field, { resetView = false } = {}) {
    const time = this.field ? this.time : Infinity;
    const isFirst = !this.field;
    this.field = field;
    const { origin, extent, view } = field.table;
    if (isFirst || resetView) {
      const local = (place) => place.map((value, n) => value - origin[n]);
      this.camera = new OrbitCamera(local(view.position), local(view.focus), Math.hypot(...extent));
    }
    for (const body of Object.values(this.bodies)) this.painter.drop(body);
    this.bodies = bodiesOf(this.painter, field);
    this.#makeBadges();
    if (!field.table.spots.some((spot) => spot.id === this.highlighted)) this.highlight(null);
    this.#showFrame(Number.isFinite(time) ? field.frameAt(time) : field.frameCount - 1);
  }

  /** The moment shown [s]. */
  get time() {
    return this.field.table.times[this.frame];
  }

  /** Shows the frame nearest to a time [s]. */
  showTime(time) {
    this.#showFrame(this.field.frameAt(time));
  }

  /**
   * Changes what is drawn: `slice` height above the lowest floor [m] or null, `level` of the
   * surface [°C] or null, `furniture`, `spots` and `jets` true or false.
   */
  set(settings) {
    Object.assign(this.settings, settings);
    if ("slice" in settings) this.#makeSlice();
    if ("level" in settings) this.#makeSurface();
    this.#tell("change", { ...this.settings });
    this.draw();
  }

  /** Marks a cold spot by its id; null marks none. */
  highlight(id) {
    const isNew = this.highlighted !== id;
    this.highlighted = id;
    for (const badge of this.badges.children) {
      badge.setAttribute("aria-pressed", String(badge.dataset.id === id));
      badge.style.background = badge.dataset.id === id ? "#b3261e" : "#00507a";
    }
    if (isNew) this.#tell("spot", { id });
    this.draw();
  }

  /** Temperature shown at a point of the dwelling [m]: that of its cell [°C]. */
  temperatureAt(place) {
    return this.field.temperatureAt(place, this.frame);
  }

  /** The picture now, as a PNG in a data address. */
  picture() {
    this.drawNow();
    return this.canvas.toDataURL("image/png");
  }

  resetView() {
    this.camera.reset();
    this.draw();
  }

  /** Draws as soon as the browser is ready for it. */
  draw() {
    if (this.request || this.isGone) return;
    this.request = requestAnimationFrame((now) => {
      this.request = 0;
      if (this.isDragging && this.lastDrawn) {
        this.isSlow = now - this.lastDrawn > SLOW && now - this.lastDrawn < 1000;
      }
      this.lastDrawn = now;
      this.drawNow();
    });
  }

  /** Draws at once. */
  drawNow() {
    const { canvas, painter, bodies, settings, field } = this;
    const [width, height] = [canvas.clientWidth || 300, canvas.clientHeight || 150];
    const sharp = Math.min(window.devicePixelRatio || 1, 2);
    const ratio = this.isDragging && this.isSlow ? COARSE : sharp;
    const size = [Math.max(1, Math.round(width * ratio)), Math.max(1, Math.round(height * ratio))];
    if (canvas.width !== size[0]) canvas.width = size[0];
    if (canvas.height !== size[1]) canvas.height = size[1];
    const { gl } = painter;
    painter.begin(size, this.camera.matrix(width / height), field.table);
    painter.draw(bodies.floor, { source: 2 });
    for (const { colour, quads } of field.table.shell) {
      painter.draw(bodies.body, { colour: rgba(colour, 1), isCulled: true, ...span(quads) });
    }
    painter.draw(bodies.frame, { colour: [0.49, 0.48, 0.46, 1], mode: gl.LINES });
    if (settings.furniture) {
      painter.draw(bodies.skin, { source: 1, shading: 1 });
      painter.draw(bodies.edges, { colour: [0.17, 0.17, 0.17, 1], mode: gl.LINES });
    }
    for (const { colour, quads } of field.table.machines) {
      painter.draw(bodies.body, { colour: rgba(colour, 1), shading: 1, ...span(quads) });
    }
    if (settings.jets) {
      painter.draw(bodies.jets, { colour: [0.04, 0.3, 0.29, 1], mode: gl.LINES });
    }
    // Not quite opaque: then what is unknown is left out and not drawn grey.
    if (bodies.slice) painter.draw(bodies.slice, { source: 2, colour: [1, 1, 1, 0.999] });
    if (bodies.surface) {
      painter.draw(bodies.surface, { isHidden: true });
      painter.draw(bodies.surface, { colour: [...SURFACE, 0.55], shading: 1 });
    }
    if (settings.spots) this.#drawSpots();
    this.#placeBadges(width, height);
    this.#tell("draw", {});
  }

  /** Frees what the browser holds for this viewer. */
  dispose() {
    this.isGone = true;
    cancelAnimationFrame(this.request);
    this.watcher.disconnect();
    this.stop.abort();
    this.badges.remove();
    this.painter.dispose();
  }

  #drawSpots() {
    const { painter, bodies, field } = this;
    for (const { id, quads } of field.table.spots) {
      const isPicked = id === this.highlighted;
      const isFaint = this.highlighted !== null && !isPicked;
      const opacity = isPicked ? 0.75 : isFaint ? 0.12 : 0.35;
      // Spots shine through what stands before them: that is where they are.
      painter.draw(bodies.body, {
        colour: [...SPOT, opacity], isCulled: true, isOnTop: true, ...span(quads),
      });
      if (!isFaint) {
        painter.draw(bodies.spotEdges, {
          colour: [...SPOT_EDGE, isPicked ? 1 : 0.7], isOnTop: true, mode: painter.gl.LINES,
          from: bodies.spotEdges.spans[id][0], to: bodies.spotEdges.spans[id][1],
        });
      }
    }
  }

  #showFrame(frame) {
    this.frame = Math.min(Math.max(frame, 0), this.field.frameCount - 1);
    this.painter.fill(this.field, this.frame);
    const codes = this.field.codes("skin", this.frame);
    this.painter.tint(this.bodies.skin, Float32Array.from(codes, (code) =>
      code === 0 ? -100 : this.field.share(code)));
    this.#makeSlice();
    this.#makeSurface();
    this.#tell("time", { time: this.time, frame: this.frame });
    this.draw();
  }

  #makeSlice() {
    const { slice } = this.settings;
    this.painter.drop(this.bodies.slice);
    this.bodies.slice = null;
    if (slice === null) return;
    const [x, y] = this.field.table.extent;
    this.bodies.slice = this.painter.body(
      Float32Array.from([0, 0, slice, x, 0, slice, x, y, slice, 0, y, slice]),
      Uint32Array.from([0, 1, 2, 0, 2, 3]),
    );
  }

  #makeSurface() {
    const { level } = this.settings;
    this.painter.drop(this.bodies.surface);
    this.bodies.surface = null;
    if (level === null) return;
    const { places, triangles } = isosurface(this.field, this.frame, level);
    this.bodies.surface = this.painter.body(places, triangles);
  }

  #layOverlay() {
    const parent = this.canvas.parentElement;
    if (parent) {
      if (getComputedStyle(parent).position === "static") parent.style.position = "relative";
      parent.append(this.badges);
    }
    this.badges.setAttribute("role", "group");
    this.badges.setAttribute("aria-label", "Cold spots in the room");
    if (!this.canvas.hasAttribute("tabindex")) this.canvas.tabIndex = 0;
    if (!this.canvas.hasAttribute("aria-label")) {
      this.canvas.setAttribute("role", "application");
      this.canvas.setAttribute("aria-label", "Room in 3D. Arrows turn it, plus and minus near, "
        + "less and greater step in time, digits pick a cold spot.");
    }
    this.canvas.style.touchAction = "none";
  }

  #makeBadges() {
    this.badges.replaceChildren(...this.field.table.spots.map((spot) => {
      const badge = document.createElement("button");
      badge.type = "button";
      badge.dataset.id = spot.id;
      badge.textContent = spot.id;
      badge.title = spot.words;
      badge.setAttribute("aria-label", `${spot.kind} spot ${spot.id}: ${spot.words}`);
      badge.setAttribute("aria-pressed", "false");
      Object.assign(badge.style, {
        position: "absolute", transform: "translate(-50%, -50%)", width: "24px", height: "24px",
        padding: "0", border: "2px solid white", borderRadius: "50%", font: "bold 12px sans-serif",
        color: "white", background: "#00507a", cursor: "pointer",
      });
      badge.addEventListener("click", () => this.#pick(spot.id));
      return badge;
    }));
  }

  #placeBadges(width, height) {
    const { origin, spots } = this.field.table;
    const { offsetLeft, offsetTop } = this.canvas;
    const taken = [];
    spots.forEach((spot, n) => {
      const badge = this.badges.children[n];
      const centre = spot.centre.map((value, axis) => value - origin[axis]);
      const share = this.camera.project(centre, width / height);
      const isSeen = this.settings.spots && share
        && share[0] > 0 && share[0] < 1 && share[1] > 0 && share[1] < 1;
      badge.style.display = isSeen ? "" : "none";
      if (!isSeen) return;
      const [x, y] = freePlace(share[0] * width, share[1] * height, taken);
      taken.push([x, y]);
      badge.style.left = `${offsetLeft + x}px`;
      badge.style.top = `${offsetTop + y}px`;
    });
  }

  #pick(id) {
    this.highlight(this.highlighted === id ? null : id);
  }

  /** The nearest cold spot whose box is under a place in the canvas [CSS pixels]. */
  #spotAt(x, y) {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    const { origin, spots } = this.field.table;
    const from = this.camera.position;
    const ray = this.camera.ray([x / width, y / height], width / height);
    let [found, nearest] = [null, Infinity];
    for (const spot of spots) {
      let [enter, leave] = [0, Infinity];
      for (let n = 0; n < 3; n += 1) {
        const ends = [spot.low[n], spot.high[n]].map((at) => (at - origin[n] - from[n]) / ray[n]);
        enter = Math.max(enter, Math.min(...ends));
        leave = Math.min(leave, Math.max(...ends));
      }
      if (enter <= leave && enter < nearest) [found, nearest] = [spot.id, enter];
    }
    return found;
  }

  #listen() {
    this.stop = new AbortController();
    const { canvas } = this;
    const on = (name, act, options = {}) =>
      canvas.addEventListener(name, act, { signal: this.stop.signal, ...options });
    on("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      canvas.focus({ preventScroll: true });
      this.pointers.set(event.pointerId, event);
      this.pressed = [event.offsetX, event.offsetY];
      this.isDragging = true;
    });
    on("pointermove", (event) => this.#drag(event));
    const release = (event) => {
      if (!this.pointers.delete(event.pointerId)) return;
      if (this.pointers.size) return;
      this.isDragging = false;
      const moved = Math.hypot(event.offsetX - this.pressed[0], event.offsetY - this.pressed[1]);
      if (event.type === "pointerup" && event.button === 0 && moved < 4) {
        this.#pick(this.#spotAt(event.offsetX, event.offsetY));
      }
      this.draw();
    };
    on("pointerup", release);
    on("pointercancel", release);
    on("contextmenu", (event) => event.preventDefault());
    on("wheel", (event) => {
      event.preventDefault();
      this.camera.zoom(Math.exp(0.001 * event.deltaY));
      this.draw();
    }, { passive: false });
    on("keydown", (event) => this.#press(event));
    on("webglcontextlost", (event) => event.preventDefault());
    this.watcher = new ResizeObserver(() => this.draw());
    this.watcher.observe(canvas);
  }

  #drag(event) {
    const before = this.pointers.get(event.pointerId);
    if (!before) return;
    const height = this.canvas.clientHeight;
    const [x, y] = [event.clientX - before.clientX, event.clientY - before.clientY];
    if (this.pointers.size === 2) {
      const other = [...this.pointers.values()].find((one) => one.pointerId !== event.pointerId);
      const gap = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
      this.camera.zoom(gap(before) / Math.max(gap(event), 1));
      this.camera.pan((-0.5 * x) / height, (0.5 * y) / height);
    } else if (event.shiftKey || event.buttons === 2) {
      this.camera.pan(-x / height, y / height);
    } else {
      this.camera.turn((-4 * x) / height, (3 * y) / height);
    }
    this.pointers.set(event.pointerId, event);
    this.draw();
  }

  #press(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const lift = (metres) => {
      const top = this.field.table.extent[2];
      this.set({ slice: Math.min(Math.max((this.settings.slice ?? 0) + metres, 0.05), top - 0.05) });
    };
    const acts = {
      ArrowLeft: () => this.camera.turn(-0.1, 0),
      ArrowRight: () => this.camera.turn(0.1, 0),
      ArrowUp: () => this.camera.turn(0, 0.08),
      ArrowDown: () => this.camera.turn(0, -0.08),
      "+": () => this.camera.zoom(0.9),
      "=": () => this.camera.zoom(0.9),
      "-": () => this.camera.zoom(1 / 0.9),
      "<": () => this.#showFrame(this.frame - 1),
      ">": () => this.#showFrame(this.frame + 1),
      ",": () => this.#showFrame(this.frame - 1),
      ".": () => this.#showFrame(this.frame + 1),
      PageUp: () => lift(0.1),
      PageDown: () => lift(-0.1),
      Home: () => this.camera.reset(),
      Escape: () => this.highlight(null),
    };
    const { spots } = this.field.table;
    const act = acts[event.key]
      ?? (spots.some((spot) => spot.id === event.key) ? () => this.#pick(event.key) : null);
    if (!act) return;
    event.preventDefault();
    act();
    this.draw();
  }

  #tell(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }
}
