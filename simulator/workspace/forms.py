"""The forms of the page, made from the models that read case files.

Each field says how it is filled in: with text of a dimension, one of some choices, a name that
stands elsewhere in the case. Defaults are told in the units of the page.
"""

import inspect
from typing import Any

from pydantic import BaseModel

from simulator.case import dwelling_file, layout_file, treatment
from simulator.case.constructions import CONSTRUCTIONS
from simulator.case.entries import kind_name
from simulator.case.equipment.kinds import EQUIPMENT
from simulator.case.furniture.kinds import FURNITURE
from simulator.case.materials import MATERIALS
from simulator.units import UNITS, System, format_quantity

Schema = dict[str, Any]

#: Keys whose value is a name that stands elsewhere: key -> what it names.
NAMED_ELSEWHERE = {
    "room": "room",
    "rooms": "room",
    "between": "room",
    "construction": "construction",
    "partition": "construction",
    "behind": "behind",
    "material": "material",
    "loads": "machine",
    "sensor": "sensor",
}
#: The same key, a list of tables: not a name.
_TABLES = ("DwellingFile",)

#: Settings that say in which state a piece is, and not what it is.
_STATES = ("choice", "flag", "share")
#: Choices that are no state.
_LASTING = ("side_walls", "contents", "stuff", "kind", "rating", "cord_gauge", "cord_insulation")


def all_forms(units: System) -> dict[str, Any]:
    """Return every form that the page needs, by its name."""
    records: dict[str, type[BaseModel]] = {
        "dwelling": dwelling_file.DwellingFile,
        "outdoors": dwelling_file.OutdoorsRecord,
        "leakage": dwelling_file.LeakageRecord,
        "shell": dwelling_file.ShellRecord,
        "room": dwelling_file.RoomRecord,
        "side": dwelling_file.SideRecord,
        "doorway": dwelling_file.DoorwayRecord,
        "window": dwelling_file.WindowRecord,
        "socket": dwelling_file.SocketRecord,
        "behind": dwelling_file.BehindRecord,
        "construction": dwelling_file.ConstructionRecord,
        "layer": dwelling_file.LayerRecord,
        "material": dwelling_file.MaterialRecord,
        "circuit": layout_file.CircuitRecord,
        "preparation": layout_file.PreparationFile,
        "layout": layout_file.LayoutFile,
        "treatment": treatment.TreatmentRecord,
        "phase": treatment.PhaseRecord,
    }
    return {
        "records": {name: form(model, units) for name, model in records.items()},
        "furniture": {kind_name(kind): kind_form(kind, units) for kind in FURNITURE},
        "equipment": {kind_name(kind): kind_form(kind, units) for kind in EQUIPMENT},
        "constructions": sorted(CONSTRUCTIONS),
        "materials": sorted(MATERIALS),
        "behind": ["outdoors", "ground", "mirror"],
    }


def kind_form(model: Any, units: System) -> dict[str, Any]:
    """Return the form of a kind of furniture or equipment."""
    about = inspect.cleandoc(model.__doc__ or "").replace("`", "")
    return {"words": model.words, "about": about, "fields": form(model, units)}


def form(model: type[BaseModel], units: System) -> list[dict[str, Any]]:
    """Return the fields of a model in its own order."""
    schema = model.model_json_schema()
    required = schema.get("required", [])
    names_elsewhere = {} if model.__name__ in _TABLES else NAMED_ELSEWHERE
    fields = []
    for key, found in schema["properties"].items():
        if key == "kind":
            continue
        described = _field(found, schema.get("$defs", {}), units)
        if key == "partition" or key in names_elsewhere:
            described["names"] = NAMED_ELSEWHERE[key]
        described["key"] = key
        described["label"] = key.replace("_", " ")
        described["meaning"] = found.get("description", "")
        described["is_required"] = key in required
        described["is_state"] = described["input"] in _STATES and key not in _LASTING
        fields.append(described)
    return fields


def _field(found: Schema, shared: Schema, units: System) -> dict[str, Any]:
    """Return how a field is filled in, and its default as text."""
    plain = _without_null(found)
    field = _input(plain, shared)
    default = found.get("default")
    if default is not None:
        field["default"] = _shown(default, field, units)
    if dimension := field.get("dimension"):
        field["units"] = list(UNITS[dimension])
    return field


def _without_null(found: Schema) -> Schema:
    """Return the one schema of a value that may also be left out."""
    rest = [entry for entry in found.get("anyOf", []) if entry.get("type") != "null"]
    return rest[0] if len(rest) == 1 else found


def _input(found: Schema, shared: Schema) -> dict[str, Any]:
    if "$ref" in found or found.get("type") == "object":
        return {"input": "table", "record": found.get("$ref", "").rpartition("/")[2]}
    if "dimension" in found:
        return {"input": "quantity", "dimension": found["dimension"]}
    if "enum" in found:
        return {"input": "choice", "choices": found["enum"]}
    if "prefixItems" in found:
        return _tuple_input(found["prefixItems"], shared)
    kind = found.get("type")
    if kind == "array":
        items = found["items"]
        return {"input": "tables"} if "$ref" in items else {"input": "names"}
    if kind == "boolean":
        return {"input": "flag"}
    if kind in ("number", "integer"):
        is_share = found.get("minimum") == 0.0 and found.get("maximum") == 1.0
        return {"input": "share" if is_share and kind == "number" else "number"}
    return {"input": "text"}


def _tuple_input(items: list[Schema], shared: Schema) -> dict[str, Any]:
    """Return how a point, a size, a pair of names or an opening is filled in."""
    if items[-1].get("type") == "boolean":
        return {"input": "opening"}
    if "dimension" in items[0]:
        return {"input": "quantities", "dimension": items[0]["dimension"], "count": len(items)}
    return {"input": "names", "count": len(items)}


def _shown(default: Any, field: dict[str, Any], units: System) -> Any:
    """Return a default as the page shows it where nothing is filled in."""
    dimension = field.get("dimension")
    if dimension and isinstance(default, list | tuple):
        return [format_quantity(value, dimension, units) for value in default]
    if dimension and not isinstance(default, str):
        return format_quantity(default, dimension, units)
    if field["input"] == "opening":
        return "0"
    return default if isinstance(default, str | int | float | bool) else None
