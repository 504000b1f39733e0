// Forms made from what the desk tells of each record: units, choices, defaults, meaning.

import { h, slug } from "/static/dom.js";
import { state } from "/static/store.js";

/** Names that a field may hold: ready ones and those of this case. */
export function namesOf(what) {
  const data = state.view.data;
  const own = (rows) => (rows ?? []).map((row) => row.name).filter(Boolean);
  const equipment = data.layout.equipment ?? [];
  return {
    room: () => own(data.dwelling.room),
    construction: () => [...own(data.dwelling.construction), ...state.forms.constructions],
    behind: () => [...state.forms.behind, ...own(data.dwelling.behind)],
    material: () => [...own(data.dwelling.material), "still_air", ...state.forms.materials],
    machine: () => own(equipment.filter((row) => !["sensor", "exhaust"].includes(row.kind))),
    sensor: () => own(equipment.filter((row) => row.kind === "sensor")),
  }[what]();
}

/** A choice; the first entry may stand for "nothing said". */
export function choice(properties, options, value, empty) {
  const entries = options.map((option) => (Array.isArray(option) ? option : [option, words(option)]));
  if (value !== undefined && value !== null && !entries.some(([key]) => key === value)) {
    entries.unshift([value, words(value)]);
  }
  return h("select", properties, [
    empty !== undefined && h("option", { value: "", text: empty, selected: value === undefined }),
    entries.map(([key, text]) => h("option", { value: key, text, selected: key === value })),
  ]);
}

export function words(key) {
  return String(key).replaceAll("_", " ");
}

/**
 * The fields of a record.
 * set(key, value) saves a value, null takes it out; prefix makes ids unique.
 */
export function fieldsOf(fields, values, set, prefix, { only = null, without = [], all = false } = {}) {
  const shown = fields.filter((field) => (!only || only.includes(field.key)) && !without.includes(field.key));
  const isFirst = (field) => field.is_required || field.is_state || ["at", "turn", "open"].includes(field.key);
  const first = shown.filter(isFirst);
  const rest = shown.filter((field) => !isFirst(field));
  const draw = (field) => fieldOf(field, values[field.key], set, `${prefix}-${slug(field.key)}`);
  if (only || all || first.length === 0 || rest.length < 3) return shown.map(draw);
  return [
    first.map(draw),
    h("details", { id: `${prefix}-more` }, [h("summary", { text: "More settings" }), rest.map(draw)]),
  ];
}

export function fieldOf(field, value, set, id) {
  const meaning = h("span", { id: `${id}-meaning`, class: "meaning", text: field.meaning });
  const common = { id, "aria-describedby": `${id}-meaning` };
  const control = CONTROLS[field.input]?.(field, value, set, common);
  if (!control) return null;
  if (control.tagName === "FIELDSET") {
    if (field.input !== "table") control.append(meaning);
    return control;
  }
  const label = h("label", { for: id, text: field.label });
  if (field.input === "flag") return h("div", { class: "field flag" }, [control, label, meaning]);
  return h("div", { class: "field" }, [label, control, meaning]);
}

function texted(field, value, set, common, send) {
  return h("input", {
    ...common,
    type: "text",
    value: value ?? "",
    placeholder: field.default === undefined || field.default === null ? "" : String(field.default),
    autocomplete: "off",
    onchange: (event) => {
      const text = event.target.value.trim();
      set(field.key, text === "" ? null : send(text));
    },
  });
}

/** Text as it is, a number where it is nothing but one. */
function numeric(text) {
  return text !== "" && Number.isFinite(Number(text)) ? Number(text) : text;
}

const CONTROLS = {
  text: (field, value, set, common) => named(field, value, set, common) ?? texted(field, value, set, common, (text) => text),
  quantity: (field, value, set, common) => texted(field, value, set, common, (text) => text),
  opening: (field, value, set, common) => texted(field, value, set, common, numeric),
  number: (field, value, set, common) => texted(field, value, set, common, numeric),
  share: (field, value, set, common) =>
    h("input", {
      ...common,
      type: "number",
      min: 0,
      max: 1,
      step: 0.05,
      value: value ?? field.default ?? 0,
      onchange: (event) => set(field.key, event.target.value === "" ? null : Number(event.target.value)),
    }),
  flag: (field, value, set, common) =>
    h("input", {
      ...common,
      type: "checkbox",
      checked: value ?? field.default ?? false,
      onchange: (event) => set(field.key, event.target.checked),
    }),
  choice: (field, value, set, common) =>
    choice(
      { ...common, onchange: (event) => set(field.key, event.target.value || null) },
      field.choices,
      value ?? field.default ?? undefined,
      field.default ? undefined : "not said",
    ),
  quantities: (field, value, set, common) => {
    const axes = field.count === 3 && field.key === "size" ? ["x", "y", "height"] : ["east", "north", "up"];
    const inputs = Array.from({ length: field.count }, (_, number) =>
      h("input", {
        id: `${common.id}-${number}`,
        type: "text",
        autocomplete: "off",
        "aria-label": `${field.label}, ${axes[number]}`,
        value: value?.[number] ?? "",
        placeholder: field.default?.[number] ?? "",
        onchange: () => {
          const texts = inputs.map((input) => input.value.trim() || input.placeholder);
          if (texts.every(Boolean)) set(field.key, texts);
          else if (inputs.every((input) => !input.value.trim())) set(field.key, null);
        },
      }),
    );
    return h("fieldset", { class: "field" }, [h("legend", { text: field.label }), h("div", { class: "side-by-side" }, inputs)]);
  },
  names: (field, value, set, common) => {
    const known = namesOf(field.names ?? "room");
    if (field.count === 2) {
      const pick = (number) =>
        choice(
          {
            id: `${common.id}-${number}`,
            "aria-label": `${field.label}, ${number ? "second" : "first"}`,
            onchange: (event) => set(field.key, (value ?? [known[0], known[1]]).map((name, n) => (n === number ? event.target.value : name))),
          },
          known,
          value?.[number],
        );
      return h("fieldset", { class: "field" }, [h("legend", { text: field.label }), h("div", { class: "side-by-side" }, [pick(0), pick(1)])]);
    }
    const chosen = value ?? [];
    const boxes = known.map((name, number) =>
      h("label", { class: "tick" }, [
        h("input", {
          id: `${common.id}-${number}`,
          type: "checkbox",
          checked: chosen.includes(name),
          onchange: (event) => {
            const rest = chosen.filter((other) => other !== name);
            const all = event.target.checked ? [...rest, name] : rest;
            set(field.key, all.length ? all : null);
          },
        }),
        ` ${name}`,
      ]),
    );
    return h("fieldset", { class: "field" }, [h("legend", { text: field.label }), boxes.length ? boxes : h("p", { class: "quiet", text: "nothing to choose yet" })]);
  },
  table: (field, value, set, common) => (field.record === "SideRecord" ? side(field, value, set, common) : null),
};

/** A name that stands elsewhere in the case, to be chosen. */
function named(field, value, set, common) {
  if (!field.names) return null;
  const empty = field.is_required ? undefined : field.default ? `usual: ${words(field.default)}` : "none";
  return choice(
    { ...common, onchange: (event) => set(field.key, event.target.value || null) },
    namesOf(field.names),
    value,
    empty,
  );
}

/** What a wall, floor or ceiling is made of, and what is behind it. */
function side(field, value, set, common) {
  const change = (key) => (event) => {
    if (event.target.value === "") set(field.key, null);
    else set(field.key, { construction: "interior_wall", behind: "mirror", ...value, [key]: event.target.value });
  };
  const pick = (key, label, empty) =>
    choice({ id: `${common.id}-${key}`, "aria-label": `${field.label}: ${label}`, onchange: change(key) }, namesOf(key), value?.[key], empty);
  return h("fieldset", { class: "field" }, [
    h("legend", { text: field.label }),
    h("div", { class: "side-by-side" }, [
      pick("construction", "construction", value ? (field.is_required ? undefined : "as usual") : "as usual"),
      pick("behind", "what is behind", value ? undefined : "as usual"),
    ]),
  ]);
}
