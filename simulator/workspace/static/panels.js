// The panels beside the plan: what is in the case, in forms.

import { byId, h, say, slug } from "/static/dom.js";
import { choice, fieldOf, fieldsOf, namesOf, words } from "/static/forms.js";
import { remove, setKeys } from "/static/plan.js";
import { runLong } from "/static/runs.js";
import { askJson, casePath, changed, edit, length, plain, state } from "/static/store.js";

export const TABS = [
  ["dwelling", "Dwelling"],
  ["furniture", "Furniture"],
  ["preparation", "Preparation"],
  ["equipment", "Equipment"],
  ["day", "Plan of the day"],
  ["todo", "To do"],
  ["files", "Files"],
];

/** The tabs in which the settings of the chosen piece are shown. */
export const WITH_PIECE = ["furniture", "preparation", "equipment"];

export function panel(tab) {
  return { dwelling, furniture, preparation, equipment, day, todo, files }[tab]();
}

/** The settings of the piece that is chosen on the plan or in a list. */
export function pieceForm() {
  const piece = state.view?.plan?.pieces.find((row) => row.name === state.selected?.name);
  if (!piece) return null;
  const kind = state.forms[piece.role][piece.kind];
  const row = state.view.furniture.find((entry) => entry.data.name === piece.name);
  const set = (key, value) => {
    if (key === "name") return rename(piece.role, piece.name, value);
    return setKeys(piece, { [key]: value });
  };
  const isFurniture = piece.role === "furniture";
  return h("section", { id: "piece-form", "aria-labelledby": "piece-heading" }, [
    h("h2", { id: "piece-heading", text: piece.name }),
    h("p", { class: "quiet", text: kind.about.split("\n\n")[0].replaceAll("\n", " ") }),
    isFurniture && where(row),
    h("div", { class: "tools" }, [
      turnButtons(piece),
      h("button", { type: "button", id: "piece-remove", text: isFurniture && state.into === "preparation" ? "Take out" : "Remove", onclick: () => remove(piece) }),
      h("button", { type: "button", id: "piece-close", text: "Close", onclick: () => choose(null) }),
    ]),
    fieldsOf(kind.fields, row?.data ?? {}, set, `piece-${slug(piece.kind)}`),
  ]);
}

function where(row) {
  const shared = state.view.files.flatMap((file) => file.shared_with);
  const text = shared.length ? `the dwelling as found (also in ${[...new Set(shared)].join(", ")})` : "the dwelling as found";
  const options = [["preparation", "what is prepared for the day"], ["dwelling", text]];
  return h("div", { class: "field" }, [
    h("label", { for: "piece-into", text: "Changes count as" }),
    choice({ id: "piece-into", onchange: (event) => { state.into = event.target.value; changed("case"); } }, options, state.into),
    row?.changed.length > 0 && h("span", { class: "meaning", text: `prepared: ${row.changed.map(words).join(", ")}` }),
  ]);
}

function turnButtons(piece) {
  if (piece.turn === undefined) return null;
  const step = piece.role === "furniture" ? 90 : 15;
  const turn = (by) => () => setKeys(piece, { turn: `${(piece.turn + by + 720) % 360} deg` });
  const tilt = (by) => () => setKeys(piece, { tilt: `${Math.max(-90, Math.min(90, piece.tilt + by))} deg` });
  return [
    h("button", { type: "button", id: "turn-left", text: `Turn left ${step}°`, onclick: turn(step) }),
    h("button", { type: "button", id: "turn-right", text: `Turn right ${step}°`, onclick: turn(-step) }),
    piece.tilt !== undefined && [
      h("button", { type: "button", id: "tilt-up", text: "Tilt up", onclick: tilt(10) }),
      h("button", { type: "button", id: "tilt-down", text: "Tilt down", onclick: tilt(-10) }),
    ],
  ];
}

export function choose(piece) {
  state.selected = piece ? { name: piece.name } : null;
  if (piece && !WITH_PIECE.includes(state.tab)) state.tab = piece.role ?? "furniture";
  changed("selection");
}

function rename(what, from, to) {
  if (!to || to === from) return changed("case");
  if (state.selected?.name === from) state.selected = { name: to };
  return edit([{ op: "rename", what, from, to }]);
}

function pieceList(role) {
  const pieces = state.view.plan?.pieces.filter((piece) => piece.role === role) ?? [];
  if (!pieces.length) return h("p", { class: "quiet", text: "nothing yet" });
  const button = (piece) =>
    h("button", {
      type: "button",
      id: `list-${slug(piece.name)}`,
      "aria-pressed": String(state.selected?.name === piece.name),
      onclick: () => choose(piece),
    }, [piece.name, h("span", { class: "quiet", text: ` ${piece.words}, ${piece.room}` })]);
  return h("ul", { class: "pieces" }, pieces.map((piece) => h("li", {}, button(piece))));
}

/** Add a piece of a kind: the desk finds a free place for it. */
function adder(role, section) {
  const kinds = Object.entries(state.forms[role]).map(([key, kind]) => [key, kind.words]);
  const pick = choice({ id: `add-${role}-kind` }, kinds, kinds[0][0]);
  const room = choice({ id: `add-${role}-room` }, namesOf("room"), state.room || namesOf("room")[0]);
  const add = async () => {
    const kind = pick.value;
    const name = freeName(state.forms[role][kind].words);
    const value = { kind, name, room: room.value };
    for (const field of state.forms[role][kind].fields) {
      if (field.is_required && FIRST[field.key] !== undefined && value[field.key] === undefined) {
        value[field.key] = FIRST[field.key];
      }
    }
    const done = await edit([{ op: "add", section, path: [role], value }], `${name} added`);
    if (done) choose({ name, role });
  };
  return h("div", { class: "adder", role: "group", "aria-label": `Add ${role}` }, [
    h("label", { for: `add-${role}-kind`, text: "Add" }), pick,
    h("label", { for: `add-${role}-room`, text: "in" }), room,
    h("button", { type: "button", id: `add-${role}`, class: "main", text: "Add", onclick: add }),
  ]);
}

/** What a new entry says where its record asks for something. */
const FIRST = { side: "north", along: "0.5 m" };

/** A first value in the units of the page. */
function usual(metric, us) {
  return state.units === "us" ? us : metric;
}

function freeName(stem) {
  const data = state.view.data;
  const taken = new Set(
    [data.dwelling.room, data.dwelling.doorway, data.dwelling.window, data.dwelling.furniture, data.preparation.furniture, data.layout.equipment, data.layout.circuit, data.dwelling.behind, data.dwelling.construction, data.dwelling.material]
      .flatMap((rows) => (rows ?? []).map((row) => row.name)),
  );
  for (let number = 1; ; number += 1) {
    const name = number === 1 && !/(fan|heater|inlet|sensor|exhaust|circuit)$/.test(stem) ? stem : `${stem} ${number}`;
    if (!taken.has(name)) return name;
  }
}

function record(name) {
  return state.forms.records[name];
}

/** A form over a table of a section. */
function tableForm(section, path, form, values, prefix, options) {
  const set = (key, value) => edit([{ op: "set", section, path: [...path, key], value }]);
  return fieldsOf(record(form), values ?? {}, set, prefix, options);
}

/** A list of tables, each with its form. */
function list(section, key, form, title, fresh, options = {}) {
  const rows = state.view.data[section][key] ?? [];
  const entry = (row, number) => {
    const path = [key, row.name ?? number];
    const set = (field, value) => {
      if (field === "name") return rename(key, row.name, value);
      return edit([{ op: "set", section, path: [...path, field], value }]);
    };
    const prefix = `${key}-${number}`;
    return h("details", { id: `${prefix}-entry`, class: "entry" }, [
      h("summary", { text: options.summary?.(row) ?? row.name ?? `${title} ${number + 1}` }),
      fieldsOf(record(form), row, set, prefix, options),
      options.more?.(row, path, number),
      h("button", { type: "button", id: `${prefix}-remove`, text: "Remove", onclick: () => edit([{ op: "remove", section, path }]) }),
    ]);
  };
  const add = async () => {
    const value = fresh();
    if (!value) return;
    const count = rows.length;
    if (await edit([{ op: "add", section, path: [key], value }])) {
      const details = byId(`${key}-${count}-entry`);
      if (details) {
        details.open = true;
        details.querySelector("summary").focus();
      }
    }
  };
  return h("section", { class: "list" }, [
    h("h3", { text: title }),
    rows.map(entry),
    h("button", { type: "button", id: `add-${key}`, text: `Add ${options.one ?? key}`, onclick: add }),
  ]);
}

function dwelling() {
  const home = state.view.data.dwelling;
  const rooms = namesOf("room");
  const newRoom = () => {
    const [east] = state.view.plan.rooms.map((room) => room.low[0] + room.size[0]).sort((a, b) => b - a);
    return { name: freeName("room"), at: [length(east + 0.12), "0 m"], size: [usual("3 m", "10 ft"), usual("3 m", "10 ft"), home.room[0].size[2]] };
  };
  const newDoor = () => {
    if (rooms.length < 2) return say("a doorway joins two rooms; add a second room first", "wrong");
    return { name: freeName("doorway"), between: rooms.slice(0, 2), along: usual("0.5 m", "2 ft") };
  };
  const room = () => state.room || rooms[0];
  return [
    tableForm("dwelling", [], "dwelling", home, "home", { only: ["name", "start", "partition"] }),
    h("section", { class: "list" }, [h("h3", { text: "Outdoors and leaks" }),
      tableForm("dwelling", ["outdoors"], "outdoors", home.outdoors, "outdoors"),
      tableForm("dwelling", ["leakage"], "leakage", home.leakage, "leakage", { only: ["air_changes"] })]),
    h("section", { class: "list" }, [h("h3", { text: "Usual walls, floor and ceiling" }),
      tableForm("dwelling", ["shell"], "shell", home.shell, "shell")]),
    list("dwelling", "room", "room", "Rooms", newRoom),
    list("dwelling", "doorway", "doorway", "Doorways", newDoor),
    list("dwelling", "window", "window", "Windows", () => ({ name: freeName("window"), room: room(), side: "south", along: usual("0.5 m", "2 ft"), width: usual("1.2 m", "4 ft"), height: usual("1.2 m", "4 ft") })),
    list("dwelling", "socket", "socket", "Outlets in walls", () => ({ room: room(), side: "north", along: usual("0.5 m", "2 ft") }), { one: "outlet", summary: (row) => `${row.room}, ${row.side}, ${row.along}` }),
    list("dwelling", "behind", "behind", "Neighbours", () => ({ name: freeName("neighbour"), temperature: usual("20 degC", "70 degF") }), { one: "neighbour" }),
    list("dwelling", "construction", "construction", "Own constructions", () => ({ name: freeName("own wall"), layers: [{ material: "gypsum_board", thickness: "13 mm" }] }), { one: "construction", more: layers }),
    list("dwelling", "material", "material", "Own materials", () => ({ name: freeName("own material"), conductivity: "0.13 W/(m K)", density: "500 kg/m3", heat_capacity: "1600 J/(kg K)", source: "say where the numbers come from" }), { one: "material" }),
  ];
}

/** The layers of a construction, from the room side outwards. */
function layers(row, path, number) {
  const all = row.layers ?? [];
  const save = (next) => edit([{ op: "set", section: "dwelling", path: [...path, "layers"], value: next }]);
  return h("fieldset", { class: "field" }, [
    h("legend", { text: "layers, from the room side outwards" }),
    all.map((layer, n) => h("div", { class: "side-by-side" }, [
      record("layer").map((field) => fieldOf(field, layer[field.key], (key, value) => save(all.map((other, m) => (m === n ? { ...other, [key]: value } : other))), `layer-${number}-${n}-${field.key}`)),
      h("button", { type: "button", id: `layer-${number}-${n}-remove`, text: "Remove layer", onclick: () => save(all.filter((_, m) => m !== n)) }),
    ])),
    h("button", { type: "button", id: `layer-${number}-add`, text: "Add layer", onclick: () => save([...all, { material: "gypsum_board", thickness: "13 mm" }]) }),
  ]);
}

function furniture() {
  return [
    adder("furniture", state.into === "preparation" ? "preparation" : "dwelling"),
    h("p", { class: "quiet", text: state.into === "preparation" ? "A piece that is added now is brought for the day; choose below to change the dwelling itself." : "A piece that is added now belongs to the dwelling." }),
    h("div", { class: "field" }, [
      h("label", { for: "list-into", text: "What is added, moved or set counts as" }),
      choice({ id: "list-into", onchange: (event) => { state.into = event.target.value; changed("case"); } }, [["preparation", "what is prepared for the day"], ["dwelling", "the dwelling as found"]], state.into),
    ]),
    pieceList("furniture"),
  ];
}

/** States of furniture: what is opened, pulled off, stripped, taken out before the heat. */
function preparation() {
  const data = state.view.data.preparation;
  const removed = state.view.plan?.removed ?? data.remove ?? [];
  const rows = state.view.furniture.filter((row) => row.data.kind in state.forms.furniture);
  const one = (row, number) => {
    const { kind, name } = row.data;
    const fields = state.forms.furniture[kind].fields.filter((field) => field.is_state);
    const piece = { role: "furniture", name };
    const set = (key, value) => edit([{ op: "piece", name, values: { [key]: value }, into: "preparation" }]);
    const off = () => edit([{ op: "take_out", name, taken: true }], `${name} is taken out before the heat`);
    return h("section", { class: row.changed.length ? "prepared" : "" }, [
      h("h3", {}, [
        h("button", { type: "button", class: "link", id: `prep-choose-${number}`, text: name, onclick: () => choose(piece) }),
        row.changed.length > 0 && h("span", { class: "badge", text: `prepared: ${row.changed.map(words).join(", ")}` }),
        h("span", { class: "right" }, [
          row.changed.length > 0 && h("button", { type: "button", id: `prep-back-${number}`, text: "As found", "aria-label": `${name}: as found`, onclick: () => edit([{ op: "remove", section: "preparation", path: ["change", name] }]) }),
          !row.is_brought && h("button", { type: "button", id: `prep-out-${number}`, text: "Take out", onclick: off, "aria-label": `Take out ${name}` }),
        ]),
      ]),
      h("div", { class: "states" }, fields.map((field) => fieldOf(field, row.data[field.key], set, `prep-${number}-${slug(field.key)}`))),
    ]);
  };
  return [
    tableForm("preparation", [], "preparation", data, "state", { only: ["name"] }),
    h("p", { class: "quiet", text: "What is set here holds for the day; the dwelling stays as found." }),
    removed.length > 0 && h("section", { class: "list" }, [
      h("h3", { text: "Taken out before the heat" }),
      removed.map((name, number) => h("p", {}, [`${name} `, h("button", { type: "button", id: `bring-${number}`, text: "Bring back", "aria-label": `Bring back ${name}`, onclick: () => edit([{ op: "take_out", name, taken: false }]) })])),
    ]),
    rows.map(one),
  ];
}

function equipment() {
  return [
    adder("equipment", "layout"),
    pieceList("equipment"),
    h("p", { class: "tools" }, [
      h("button", { type: "button", id: "search-fans", text: "Search where the fans should stand", onclick: () => runLong("place").catch((error) => say(plain(error.message), "wrong")) }),
      h("span", { class: "meaning", text: "tries many layouts on coarse cells; takes many minutes, can be cancelled and goes on when asked again" }),
    ]),
    list("layout", "circuit", "circuit", "Circuits", () => ({ name: freeName("circuit"), voltage: usual("230 V", "120 V"), rating: usual("16 A", "20 A") })),
    h("section", { class: "list" }, [h("h3", { text: "Layout" }), tableForm("layout", [], "layout", state.view.data.layout, "layout", { only: ["name"] })]),
  ];
}

function day() {
  const plan = state.view.data.treatment;
  const last = plan.phase?.length;
  const newPhase = () => (last ? { name: freeName("phase"), at: `${last + 3} h` } : { name: "warm-up", at: "0 h" });
  const changes = plan.change ?? [];
  return [
    tableForm("treatment", [], "treatment", plan, "plan", { without: ["phase"], all: true }),
    list("treatment", "phase", "phase", "Phases", newPhase, { all: true }),
    changes.length > 0 && h("section", { class: "list" }, [
      h("h3", { text: "What the crew changes during the run" }),
      changes.map((row, number) => h("p", {}, [`${row.at}: ${row.words} `, h("button", { type: "button", id: `change-${number}-remove`, text: "Remove", "aria-label": `Remove: ${row.words}`, onclick: () => edit([{ op: "remove", section: "treatment", path: ["change", number] }]) })])),
    ]),
  ];
}

/** Lists of what is to be done, made from this case; what the case can say is done by a button. */
function todo() {
  const node = h("div", {}, h("p", { class: "quiet", text: "reading the case…" }));
  askJson(casePath(`/readiness?units=${state.units}`))
    .then((found) => node.replaceChildren(...todoParts(found)))
    .catch((error) => node.replaceChildren(h("p", { text: error.message })));
  return node;
}

function todoParts(found) {
  const item = (row, number) => h("li", {}, [
    h("span", { text: row.words }), h("span", { class: "meaning", text: row.why }),
    Object.keys(row.overrides).length > 0 && h("button", { type: "button", id: `todo-${slug(row.key)}-${number}`, text: "It is done", "aria-label": `It is done: ${row.words}`, onclick: () => edit([{ op: "overrides", overrides: row.overrides }], "noted in the case") }),
  ]);
  const kilowatts = (value) => `${(value / 1000).toFixed(2)} kW`;
  return [
    found.warnings.length > 0 && h("div", { class: "message wrong" }, found.warnings.map((line) => h("p", { text: line }))),
    found.circuits.length > 0 && h("table", {}, [
      h("caption", { text: "Circuits" }),
      h("thead", {}, h("tr", {}, ["circuit", "carries", "allowed for hours", "loads"].map((text) => h("th", { scope: "col", text })))),
      h("tbody", {}, found.circuits.map((row) => h("tr", { class: row.is_overloaded ? "over" : "" }, [
        h("th", { scope: "row", text: row.name }), h("td", { text: kilowatts(row.power) + (row.is_overloaded ? " TOO MUCH" : "") }), h("td", { text: kilowatts(row.allowed) }), h("td", { text: row.loads.join(", ") }),
      ]))),
    ]),
    found.plan.map((line) => h("p", { text: line })),
    h("p", { class: "meaning", text: found.basis }),
    found.parts.map((part) => h("section", {}, [h("h3", { text: part.heading }), h("ul", { class: "todo" }, part.items.map(item))])),
    h("h3", { text: "What heat may harm" }), h("ul", {}, found.harm.map((line) => h("li", { text: line }))),
    h("p", { text: found.closing }),
    h("button", { type: "button", id: "print", text: "Print", onclick: () => window.print() }),
  ].flat(2).filter(Boolean);
}

/** The files as text, for what no form offers; also where a broken case is mended. */
function files() {
  return state.view.files.map((file, number) => {
    const text = h("textarea", { id: `file-${number}`, rows: 18, spellcheck: "false", "aria-label": file.name });
    text.value = file.text;
    const save = () => edit([{ op: "text", file: file.name, text: text.value }], `${file.name} saved`);
    return h("details", { id: `file-${number}-entry`, class: "entry" }, [
      h("summary", { text: file.name + (file.shared_with.length ? ` (also used by ${file.shared_with.join(", ")})` : "") }),
      text,
      h("button", { type: "button", id: `file-${number}-save`, text: "Save this text", onclick: save }),
    ]);
  });
}
