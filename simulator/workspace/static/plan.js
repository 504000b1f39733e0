// The plan: rooms to scale from above; pieces are moved and turned by pointer or keys.

import { byId, h, s, slug } from "/static/dom.js";
import { edit, length, state } from "/static/store.js";

const PIXELS = 100; // of the drawing for a metre
const MARGIN = 60;
const STEP = 0.05; // arrow keys [m]
const LARGE_STEP = 0.25; // with shift [m]
const SNAP = 0.01; // of the pointer [m]
const TURN = { furniture: 90, equipment: 15 };
const TILT = 10;
const PAUSE = 450; // after the last key, before a move is saved [ms]

/** A window on the dwelling: metres to pixels of the drawing and back. */
export function windowOn(plan, room = "") {
  const rooms = room ? plan.rooms.filter((row) => row.name === room) : plan.rooms;
  const chosen = rooms.length ? rooms : plan.rooms;
  const low = [0, 1].map((a) => Math.min(...chosen.map((r) => r.low[a])));
  const high = [0, 1].map((a) => Math.max(...chosen.map((r) => r.low[a] + r.size[a])));
  const width = (high[0] - low[0]) * PIXELS + 2 * MARGIN;
  const height = (high[1] - low[1]) * PIXELS + 2 * MARGIN;
  return {
    low,
    high,
    width,
    height,
    rooms: new Set(chosen.map((row) => row.name)),
    x: (value) => MARGIN + (value - low[0]) * PIXELS,
    y: (value) => MARGIN + (high[1] - value) * PIXELS,
    back: (x, y) => [low[0] + (x - MARGIN) / PIXELS, high[1] - (y - MARGIN) / PIXELS],
  };
}

export function points(view, outline) {
  return outline.map(([x, y]) => `${view.x(x).toFixed(1)},${view.y(y).toFixed(1)}`).join(" ");
}

/** Rooms, walls, openings and the scale: what does not move. */
export function drawShell(view, plan, { picture = null } = {}) {
  const shell = s("g", { class: "shell", "aria-hidden": "true" });
  for (const room of plan.rooms.filter((row) => view.rooms.has(row.name))) {
    const [x, y] = [view.x(room.low[0]), view.y(room.low[1] + room.size[1])];
    const [width, height] = [room.size[0] * PIXELS, room.size[1] * PIXELS];
    shell.append(s("rect", { x, y, width, height, class: "floor" }));
    if (!picture) shell.append(raster(x, y, width, height));
  }
  if (picture) shell.append(picture);
  for (const room of plan.rooms.filter((row) => view.rooms.has(row.name))) {
    const [x, y] = [view.x(room.low[0]), view.y(room.low[1] + room.size[1])];
    const [width, height] = [room.size[0] * PIXELS, room.size[1] * PIXELS];
    shell.append(
      s("rect", { x: x - 4, y: y - 4, width: width + 8, height: height + 8, class: "wall" }),
    );
  }
  for (const door of plan.doorways) shell.append(doorway(view, door));
  for (const window of plan.windows.filter((row) => view.rooms.has(row.room))) {
    const [a, b] = [window.low, window.high];
    const ends = { x1: view.x(a[0]), y1: view.y(a[1]), x2: view.x(b[0]), y2: view.y(b[1]) };
    shell.append(s("line", { ...ends, class: "window-frame" }));
    shell.append(s("line", { ...ends, class: window.open ? "window open" : "window" }));
  }
  for (const socket of plan.sockets.filter((row) => view.rooms.has(row.room))) {
    const [x, y] = [view.x(socket.at[0]), view.y(socket.at[1])];
    shell.append(s("path", { d: `M${x - 5},${y - 5}h10v10h-10z`, class: "socket" }));
  }
  shell.append(scaleBar(view), north(view));
  return shell;
}

function raster(x, y, width, height) {
  const lines = [];
  for (let at = PIXELS / 2; at < width; at += PIXELS / 2) lines.push(`M${x + at},${y}v${height}`);
  for (let at = PIXELS / 2; at < height; at += PIXELS / 2) {
    lines.push(`M${x},${y + height - at}h${width}`);
  }
  return s("path", { d: lines.join(""), class: "raster" });
}

function doorway(view, door) {
  const [a, b] = [door.low, door.high];
  const [x, y] = [view.x(a[0]), view.y(b[1])];
  const [width, height] = [(b[0] - a[0]) * PIXELS, (b[1] - a[1]) * PIXELS];
  const wide = width > height;
  const box = {
    x: wide ? x : x - 5,
    y: wide ? y - 5 : y,
    width: wide ? width : width + 10,
    height: wide ? height + 10 : height,
  };
  return s("rect", { ...box, class: door.open ? "door open" : "door" });
}

function scaleBar(view) {
  const isUs = state.units === "us";
  const long = (isUs ? 0.3048 * 3 : 1) * PIXELS;
  const [x, y] = [MARGIN, view.height - 18];
  return s("g", { class: "scale-bar" }, [
    s("path", { d: `M${x},${y - 5}v10M${x},${y}h${long}M${x + long},${y - 5}v10` }),
    s("text", { x: x + long + 8, y: y + 5, text: isUs ? "3 ft" : "1 m" }),
  ]);
}

function north(view) {
  const [x, y] = [view.width - 30, view.height - 14];
  return s("g", { class: "scale-bar" }, [
    s("path", { d: `M${x},${y}v-24M${x - 6},${y - 16}L${x},${y - 26}L${x + 6},${y - 16}` }),
    s("text", { x: x + 9, y: y - 6, text: "N" }),
  ]);
}

/** One piece with its parts, its blow and its name. */
export function drawPiece(view, piece) {
  const group = s("g", { class: `piece ${piece.role} kind-${piece.kind}` });
  if (piece.claim.length > 2) {
    group.append(s("polygon", { points: points(view, piece.claim), class: "claim" }));
  }
  for (const part of piece.parts) {
    const kind = part.is_loose ? "part loose" : "part";
    group.append(s("polygon", { points: points(view, part.outline), class: kind }));
  }
  for (const jet of piece.jets) group.append(drawJet(view, jet));
  for (const opening of piece.openings) {
    group.append(s("polygon", { points: points(view, opening), class: "exhaust" }));
  }
  if (piece.kind === "sensor" || (!piece.parts.length && !piece.jets.length)) {
    for (const [px, py] of piece.points) {
      const [x, y] = [view.x(px), view.y(py)];
      group.append(s("path", { d: `M${x},${y - 9}l9,9l-9,9l-9,-9z`, class: "point" }));
    }
  }
  return group;
}

function drawJet(view, jet) {
  const [x, y] = [view.x(jet.centre[0]), view.y(jet.centre[1])];
  const flat = Math.hypot(jet.direction[0], jet.direction[1]);
  const radius = (jet.diameter / 2) * PIXELS;
  const kind = jet.is_hot ? "jet hot" : "jet";
  if (flat < 0.05) return s("circle", { cx: x, cy: y, r: radius, class: kind });
  const [ux, uy] = [jet.direction[0] / flat, -jet.direction[1] / flat];
  const reach = Math.max(0.35, 0.8 * flat) * PIXELS;
  const [tx, ty] = [x + ux * reach, y + uy * reach];
  const barb = (side) => `L${tx - 13 * ux + side * 9 * uy},${ty - 13 * uy - side * 9 * ux}`;
  const blade = `M${x + radius * uy},${y - radius * ux}L${x - radius * uy},${y + radius * ux}`;
  return s("path", {
    d: `${blade}M${x},${y}L${tx},${ty}M${tx},${ty}${barb(1)}M${tx},${ty}${barb(-1)}`,
    class: kind,
  });
}

export function middle(piece) {
  const all = [...piece.parts.flatMap((part) => part.outline), ...piece.claim];
  const found = all.length
    ? all
    : [...piece.points, ...piece.openings.flat(), ...piece.jets.map((jet) => jet.centre)];
  const span = (axis) => found.map((point) => point[axis]);
  return [0, 1].map((axis) => (Math.min(...span(axis)) + Math.max(...span(axis))) / 2);
}

/** Names of pieces and rooms, the large ones first; one that would cover another is left out. */
export function nameAll(svg, view, pieces, plan, chosen = "", taken = []) {
  const layer = s("g", { class: "names", "aria-hidden": "true" });
  svg.append(layer);
  const write = (text, kind, places) => {
    const node = s("text", { class: kind, text });
    layer.append(node);
    const { width } = node.getBBox();
    for (const [x, y] of places) {
      const inside = Math.max(4 + width / 2, Math.min(view.width - 4 - width / 2, x));
      node.setAttribute("x", inside);
      node.setAttribute("y", y);
      const box = node.getBBox();
      const hits = (other) =>
        box.x < other.x + other.width && other.x < box.x + box.width && box.y < other.y + other.height && other.y < box.y + box.height;
      if (!taken.some(hits)) {
        taken.push(box);
        return;
      }
    }
    node.remove();
  };
  const size = (piece) => {
    const spans = [0, 1].map((axis) => {
      const values = piece.claim.map((point) => point[axis]);
      return values.length ? Math.max(...values) - Math.min(...values) : 0;
    });
    return piece.name === chosen ? 1e6 : spans[0] * spans[1];
  };
  for (const piece of [...pieces].sort((a, b) => size(b) - size(a))) {
    const [mx, my] = middle(piece);
    const [x, y] = [view.x(mx), view.y(my)];
    const isSmall = piece.role === "equipment" || size(piece) < 0.2;
    write(piece.name, `name ${piece.role}`, isSmall ? [[x, y + 30], [x, y - 20]] : [[x, y + 5], [x, y + 24], [x, y - 14]]);
  }
  for (const room of plan.rooms.filter((row) => view.rooms.has(row.name))) {
    const [west, south] = [view.x(room.low[0]), view.y(room.low[1])];
    const [east, top] = [west + room.size[0] * PIXELS, south - room.size[1] * PIXELS];
    const middleX = (west + east) / 2;
    write(room.name, "name room-name", [[middleX, top + 18], [middleX, south - 8], [middleX, (top + south) / 2], [middleX, top - 12]]);
  }
}

/** The plan on which things are moved. */
export class DrawingPlan {
  constructor(onSelect) {
    this.onSelect = onSelect;
    this.svg = s("svg", { id: "plan", role: "group", "aria-label": "Plan of the dwelling" });
    this.waiting = null; // a move by keys that is not saved yet
    this.drag = null;
    this.svg.addEventListener("pointermove", (event) => this.#move(event));
    this.svg.addEventListener("pointerup", (event) => this.#drop(event));
    this.svg.addEventListener("pointercancel", () => this.#cancel());
    window.addEventListener("pagehide", () => this.flush());
  }

  draw() {
    const plan = state.view?.plan;
    if (!plan) {
      this.svg.replaceChildren();
      return;
    }
    const focused = this.svg.contains(document.activeElement) ? document.activeElement.id : "";
    const view = windowOn(plan, state.room);
    this.view = view;
    this.svg.setAttribute("viewBox", `0 0 ${view.width} ${view.height}`);
    this.svg.replaceChildren(drawShell(view, plan));
    const shown = plan.pieces.filter((piece) => view.rooms.has(piece.room));
    const low = (piece) => (piece.role === "equipment" ? 100 : (piece.elevation ?? 0) - 10 * (piece.kind === "rug"));
    for (const piece of [...shown].sort((a, b) => low(a) - low(b))) this.#piece(piece);
    nameAll(this.svg, view, shown, plan, state.selected?.name);
    const chosen = shown.find((piece) => piece.name === state.selected?.name);
    if (chosen) this.#handle(chosen);
    if (focused) byId(focused)?.focus({ preventScroll: true });
  }

  #piece(piece) {
    const group = drawPiece(this.view, piece);
    const isChosen = state.selected?.name === piece.name;
    group.id = `piece-${slug(piece.name)}`;
    group.dataset.name = piece.name;
    group.setAttribute("tabindex", "0");
    group.setAttribute("role", "button");
    group.setAttribute("aria-pressed", String(isChosen));
    group.setAttribute("aria-label", describe(piece));
    group.setAttribute("aria-describedby", "plan-keys");
    if (isChosen) group.classList.add("chosen");
    group.append(s("title", { text: piece.name }));
    group.addEventListener("pointerdown", (event) => this.#grab(event, piece, group));
    group.addEventListener("keydown", (event) => this.#key(event, piece));
    group.addEventListener("blur", () => this.flush());
    this.svg.append(group);
  }

  #handle(piece) {
    if (piece.turn === undefined) return;
    const [cx, cy] = this.#origin(piece);
    const angle = ((piece.turn + (piece.role === "furniture" ? 90 : 0)) * Math.PI) / 180;
    const reach = 0.35 + this.#radius(piece);
    const [x, y] = [this.view.x(cx + reach * Math.cos(angle)), this.view.y(cy + reach * Math.sin(angle))];
    const handle = s("g", { class: "turn-handle", "aria-hidden": "true" }, [
      s("line", { x1: this.view.x(cx), y1: this.view.y(cy), x2: x, y2: y }),
      s("circle", { cx: x, cy: y, r: 13 }),
      s("path", { d: `M${x - 6},${y + 2}a6,6 0 1 1 6,5m0,-5v6h5` }),
    ]);
    handle.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      this.svg.setPointerCapture(event.pointerId);
      this.drag = { piece, turning: true, group: byId(`piece-${slug(piece.name)}`), turn: piece.turn, handle };
    });
    this.svg.append(handle);
  }

  #radius(piece) {
    const [cx, cy] = this.#origin(piece);
    const corners = [...piece.claim, ...piece.parts.flatMap((part) => part.outline)];
    return Math.max(0.2, ...corners.map(([x, y]) => Math.hypot(x - cx, y - cy)));
  }

  #origin(piece) {
    const room = this.#room(piece.room);
    return [room.low[0] + piece.at[0], room.low[1] + piece.at[1]];
  }

  #room(name) {
    return state.view.plan.rooms.find((room) => room.name === name);
  }

  #metres(event) {
    const matrix = this.svg.getScreenCTM().inverse();
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
    return this.view.back(at.x, at.y);
  }

  #grab(event, piece, group) {
    if (event.button > 0) return;
    event.preventDefault();
    this.flush();
    group.focus({ preventScroll: true });
    if (piece.at) {
      this.svg.setPointerCapture(event.pointerId);
      this.drag = { piece, group, from: this.#metres(event), by: [0, 0] };
    }
    if (state.selected?.name !== piece.name) {
      this.onSelect(piece);
      if (this.drag) this.drag.group = byId(`piece-${slug(piece.name)}`);
    }
  }

  #move(event) {
    const drag = this.drag;
    if (!drag) return;
    const now = this.#metres(event);
    if (drag.turning) {
      const [cx, cy] = this.#origin(drag.piece);
      const back = drag.piece.role === "furniture" ? 90 : 0;
      const raw = (Math.atan2(now[1] - cy, now[0] - cx) * 180) / Math.PI - back;
      drag.turn = (Math.round(raw / 5) * 5 + 720) % 360;
      const by = drag.piece.turn - drag.turn;
      const about = `${this.view.x(cx)} ${this.view.y(cy)}`;
      for (const node of [drag.group, drag.handle]) node.setAttribute("transform", `rotate(${by} ${about})`);
      return;
    }
    drag.by = [0, 1].map((axis) => Math.round((now[axis] - drag.from[axis]) / SNAP) * SNAP);
    drag.group.setAttribute("transform", `translate(${drag.by[0] * PIXELS} ${-drag.by[1] * PIXELS})`);
    for (const other of this.svg.querySelectorAll(".turn-handle, .names")) other.setAttribute("visibility", "hidden");
  }

  #drop() {
    const drag = this.drag;
    this.drag = null;
    if (!drag) return;
    if (drag.turning) {
      if (drag.turn !== drag.piece.turn) place(drag.piece, { turn: drag.turn });
    } else if (drag.by[0] || drag.by[1]) {
      this.#shift(drag.piece, drag.by);
    }
  }

  #cancel() {
    this.drag = null;
    this.draw();
  }

  /** Save a move [m]; a piece that is let go over another room belongs to that one. */
  #shift(piece, by) {
    const origin = this.#origin(piece).map((value, axis) => value + by[axis]);
    const home = this.#room(piece.room);
    const inside = (room) =>
      [0, 1].every((a) => origin[a] >= room.low[a] && origin[a] <= room.low[a] + room.size[a]);
    const room = inside(home) ? home : state.view.plan.rooms.find(inside) ?? home;
    const at = [0, 1].map((axis) => origin[axis] - room.low[axis]);
    place(piece, { at: [...at, ...piece.at.slice(2)], room: room.name });
  }

  #key(event, piece) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const step = event.shiftKey ? LARGE_STEP : STEP;
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const sign = event.shiftKey ? -1 : 1;
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if (ways[key] && piece.at) this.#nudge(piece, { by: ways[key].map((way) => way * step) });
    else if (key === "r" && piece.turn !== undefined) this.#nudge(piece, { turn: sign * TURN[piece.role] });
    else if (key === "t" && piece.tilt !== undefined) this.#nudge(piece, { tilt: sign * TILT });
    else if (key === "Enter" || key === " ") {
      this.onSelect(piece);
      byId("piece-form")?.querySelector("input, select, button")?.focus();
    } else if (key === "Delete") {
      this.flush();
      remove(piece);
    } else if (key === "Escape") this.onSelect(null);
    else return;
    event.preventDefault();
  }

  /** A move by keys: shown at once, saved after a pause or when the piece is left. */
  #nudge(piece, { by = [0, 0], turn = 0, tilt = 0 }) {
    if (state.selected?.name !== piece.name) this.onSelect(piece);
    if (this.waiting && this.waiting.piece.name !== piece.name) this.flush();
    const now = this.waiting ?? { piece, by: [0, 0], turn: 0, tilt: 0 };
    now.by = [now.by[0] + by[0], now.by[1] + by[1]];
    now.turn += turn;
    now.tilt += tilt;
    clearTimeout(now.timer);
    now.timer = setTimeout(() => this.flush(), PAUSE);
    this.waiting = now;
    const [cx, cy] = this.#origin(piece);
    const moved = `translate(${now.by[0] * PIXELS} ${-now.by[1] * PIXELS})`;
    const turned = `rotate(${-now.turn} ${this.view.x(cx)} ${this.view.y(cy)})`;
    byId(`piece-${slug(piece.name)}`)?.setAttribute("transform", `${moved} ${turned}`);
  }

  flush() {
    const now = this.waiting;
    this.waiting = null;
    if (!now) return;
    clearTimeout(now.timer);
    const { piece } = now;
    const values = {};
    if (now.turn) values.turn = (piece.turn + now.turn + 720) % 360;
    if (now.tilt) values.tilt = Math.max(-90, Math.min(90, piece.tilt + now.tilt));
    if (now.by[0] || now.by[1]) values.at = piece.at.map((value, axis) => value + (now.by[axis] ?? 0));
    if (Object.keys(values).length) place(piece, values);
  }
}

/** Save where a piece stands: at [m from its room's corner], turn and tilt [deg], room. */
export function place(piece, values) {
  const texts = {};
  if (values.at) texts.at = values.at.map((value) => length(value));
  if (values.room && values.room !== piece.room) texts.room = values.room;
  for (const key of ["turn", "tilt"]) if (values[key] !== undefined) texts[key] = `${values[key]} deg`;
  return setKeys(piece, texts);
}

/** Set keys of a piece, in the file that holds it. */
export function setKeys(piece, values) {
  if (piece.role === "furniture") {
    return edit([{ op: "piece", name: piece.name, values, into: state.into }]);
  }
  const set = ([key, value]) => ({ op: "set", section: "layout", path: ["equipment", piece.name, key], value });
  return edit(Object.entries(values).map(set));
}

/** Take a piece out: furniture for the day, or for good; equipment off the layout. */
export function remove(piece) {
  if (piece.role === "equipment") {
    const circuits = state.view.data.layout.circuit ?? [];
    const plugged = circuits.filter((row) => row.loads?.includes(piece.name));
    const unplug = plugged.map((row) => ({
      op: "set",
      section: "layout",
      path: ["circuit", row.name, "loads"],
      value: row.loads.filter((name) => name !== piece.name),
    }));
    state.selected = null;
    return edit([...unplug, { op: "remove", section: "layout", path: ["equipment", piece.name] }], `${piece.name} removed`);
  }
  state.selected = null;
  const row = state.view.furniture.find((entry) => entry.data.name === piece.name);
  if (state.into === "preparation" && !row?.is_brought) {
    return edit([{ op: "take_out", name: piece.name, taken: true }], `${piece.name} is taken out before the heat`);
  }
  const section = row?.is_brought ? "preparation" : "dwelling";
  const change = state.view.data.preparation.change?.[piece.name];
  const drop = change ? [{ op: "remove", section: "preparation", path: ["change", piece.name] }] : [];
  return edit([...drop, { op: "remove", section, path: ["furniture", piece.name] }], `${piece.name} removed`);
}

/** A piece in words, for those who hear the page. */
export function describe(piece) {
  const words = [piece.name, piece.words, `in ${piece.room}`];
  if (piece.at) words.push(`${length(piece.at[0])} east, ${length(piece.at[1])} north`);
  if (piece.turn) words.push(`turned ${piece.turn}°`);
  if (piece.tilt) words.push(`tilted ${piece.tilt}°`);
  return words.join(", ");
}

export function keysHelp() {
  return h("p", { id: "plan-keys", class: "quiet" },
    "Drag, or: arrow keys move 5 cm (2 in), with Shift 25 cm; R turns, Shift+R back; T tilts a fan or heater up, ",
    "Shift+T down; Enter opens its settings; Delete takes it out.");
}

