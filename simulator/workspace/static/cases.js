// The dialog of cases: open one, begin a new dwelling, copy a ready one, make a second layout.

import { byId, h, put, say } from "/static/dom.js";
import { choice } from "/static/forms.js";
import { askJson, openCase, plain, state } from "/static/store.js";

export async function showCases() {
  state.desk = await askJson("/api/desk");
  const dialog = byId("cases");
  put(dialog,
    h("h2", { id: "cases-heading", text: `Cases in the folder ${state.desk.folder}` }),
    existing(dialog),
    state.view && second(dialog),
    fresh(dialog),
    ready(dialog),
    h("button", { type: "button", id: "cases-close", text: "Close", onclick: () => dialog.close() }),
  );
  if (!dialog.open) dialog.showModal();
}

async function go(dialog, body) {
  try {
    const { name } = await askJson(`/api/cases?units=${state.units}`, body);
    dialog.close();
    await openCase(name);
  } catch (error) {
    tell(dialog, plain(error.message));
  }
}

/** A refusal within the dialog, which covers the page. */
function tell(dialog, text) {
  dialog.querySelector(".message")?.remove();
  dialog.prepend(h("div", { class: "message wrong", role: "alert" }, text.split("\n").map((line) => h("p", { text: line }))));
  dialog.scrollTop = 0;
}

function existing(dialog) {
  const rows = state.desk.cases;
  if (!rows.length) return h("p", { class: "quiet", text: "none yet" });
  const open = (name) => {
    dialog.close();
    openCase(name).catch((error) => say(plain(error.message), "wrong"));
  };
  return h("ul", { class: "pieces" }, rows.map((row, number) =>
    h("li", {}, h("button", { type: "button", id: `case-${number}`, onclick: () => open(row.name), "aria-current": row.name === state.name ? "true" : null }, [row.title, h("span", { class: "quiet", text: ` ${row.name}` })])),
  ));
}

function second(dialog) {
  const title = h("input", { id: "copy-title", type: "text", value: `${state.view.title}, second layout`, maxlength: 200 });
  return h("section", {}, [
    h("h3", { text: "A second case on the same dwelling" }),
    h("p", { class: "quiet", text: "With a layout and a preparation of its own, to be compared with this one." }),
    h("div", { class: "field" }, [h("label", { for: "copy-title", text: "title" }), title]),
    h("button", { type: "button", id: "copy-case", text: "Make it", onclick: () => go(dialog, { copy: state.name, title: title.value.trim() }) }),
  ]);
}

function fresh(dialog) {
  const us = state.units === "us";
  const field = (id, label, value) => {
    const input = h("input", { id, type: "text", value, autocomplete: "off", maxlength: 200 });
    return [input, h("div", { class: "field" }, [h("label", { for: id, text: label }), input])];
  };
  const [title, titleField] = field("new-title", "title", "New dwelling");
  const [room, roomField] = field("new-room", "first room", "bedroom");
  const sizes = us ? ["13 ft", "11 ft", "8 ft"] : ["4 m", "3.5 m", "2.5 m"];
  const size = sizes.map((value, n) => field(`new-size-${n}`, ["west to east", "south to north", "height"][n], value));
  const [start, startField] = field("new-start", "indoors at the start", us ? "70 degF" : "20 degC");
  const [outdoors, outdoorsField] = field("new-outdoors", "outdoors", us ? "50 degF" : "10 degC");
  const kinds = state.forms.constructions;
  const side = (id, label, made, behind, choices) => {
    const what = choice({ id: `new-${id}`, "aria-label": `${label}: construction` }, kinds, made);
    const beyond = choice({ id: `new-${id}-behind`, "aria-label": `${label}: what is behind` }, choices, behind);
    return [what, beyond, h("fieldset", { class: "field" }, [h("legend", { text: label }), h("div", { class: "side-by-side" }, [what, beyond])])];
  };
  const alike = ["mirror", "a room treated alike"];
  const walls = side("walls", "walls", "frame_wall", "outdoors", ["outdoors", alike]);
  const floor = side("floor", "floor", "carpeted_wood_floor", "mirror", ["ground", "outdoors", alike]);
  const ceiling = side("ceiling", "ceiling", "attic_ceiling", "outdoors", ["outdoors", alike]);
  const make = () => go(dialog, {
    title: title.value.trim(), room: room.value.trim(), size: size.map(([input]) => input.value.trim()),
    start: start.value.trim(), outdoors: outdoors.value.trim(),
    walls: walls[0].value, walls_behind: walls[1].value, floor: floor[0].value, floor_behind: floor[1].value,
    ceiling: ceiling[0].value, ceiling_behind: ceiling[1].value,
  });
  return h("details", { id: "new-dwelling", class: "entry", open: state.desk.cases.length === 0 }, [
    h("summary", { text: "A new dwelling" }),
    titleField, roomField, h("div", { class: "side-by-side" }, size.map(([, node]) => node)),
    h("div", { class: "side-by-side" }, [startField, outdoorsField]), walls[2], floor[2], ceiling[2],
    h("button", { type: "button", id: "make-new", class: "main", text: "Begin", onclick: make }),
  ]);
}

function ready(dialog) {
  return h("details", { id: "ready-cases", class: "entry" }, [
    h("summary", { text: "Ready dwellings (invented), copied into this folder" }),
    h("ul", { class: "pieces" }, state.desk.ready.map((row) =>
      h("li", {}, h("button", { type: "button", id: `ready-${row.name}`, text: row.title, onclick: () => go(dialog, { ready: row.name }) })))),
  ]);
}
