"""A dwelling from a seed, as the texts of a case in two states of preparation."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.studies.random_dwellings.floor_plans import FloorPlan, draw_floor_plan
from simulator.studies.random_dwellings.furnish import Furnished, furnish
from simulator.studies.random_dwellings.pieces import CLUTTER, metres
from simulator.studies.random_dwellings.surroundings import Surroundings, draw_surroundings
from simulator.studies.random_dwellings.toml_text import toml_text

#: The states of a drawn dwelling: what it is called, and its file.
PREPARATIONS = {"as found": "as_found.toml", "prepared": "prepared.toml"}

#: Floor that one heater of 5.6 kW has to heat: least and greatest [m²] (estimate).
FLOOR_PER_HEATER = (7.0, 12.0)

#: Length of the heat (common practice, no source: a working day).
HORIZON = "10 h"

INVENTED = "# Invented content, drawn by lot.\n"


@dataclass(frozen=True, slots=True)
class RandomDwelling:
    """What ``random_dwelling`` returns.

    Attributes
    ----------
    seed : that it was drawn from.
    kind : "studio", "one-bedroom flat", ...
    area : floor of all its rooms [m²].
    facts : what it was drawn as, in words: clutter, wall, climate, outdoors.
    files : file name -> TOML text; the case files are "case_as_found.toml" and so on.
    """

    seed: int
    kind: str
    area: float
    facts: Mapping[str, str]
    files: Mapping[str, str]

    def sources(self, preparation: str) -> dict[str, str]:
        """Return the texts of the case in a state, the case file's first."""
        main = _case_file(preparation)
        names = (main, "dwelling.toml", PREPARATIONS[preparation], "layout.toml")
        return {name: self.files[name] for name in names}

    def case(self, preparation: str = "prepared") -> Case:
        """Return the dwelling in a state, with its heaters and no fans."""
        return load_texts(self.sources(preparation), _case_file(preparation))


def _case_file(preparation: str) -> str:
    return f"case_{PREPARATIONS[preparation]}"


def random_dwelling(seed: int) -> RandomDwelling:
    """Return the dwelling of a seed; the same seed gives the same texts to the last letter."""
    lots = np.random.default_rng(seed)
    plan = draw_floor_plan(lots)
    around = draw_surroundings(plan, lots)
    clutter = CLUTTER[int(lots.choice(len(CLUTTER), p=[share for _, share in CLUTTER]))][0]
    heaters = max(1, round(plan.area / lots.uniform(*FLOOR_PER_HEATER)))
    done = furnish(plan, around.windows, clutter, heaters, lots)
    name = f"{plan.kind}, seed {seed}"
    files = {
        "dwelling.toml": INVENTED + toml_text(_dwelling(name, plan, around, done, lots)),
        "as_found.toml": INVENTED + toml_text({"name": "as found"}),
        "prepared.toml": INVENTED
        + toml_text({"name": "prepared", "remove": done.removed, "change": done.changes}),
        "layout.toml": INVENTED + toml_text(_layout(plan, around, done, lots)),
    }
    for preparation, file in PREPARATIONS.items():
        case = {
            "title": f"{name}, {preparation}",
            "dwelling": "dwelling.toml",
            "preparation": file,
            "layout": "layout.toml",
            "treatment": {
                "target": "55 degC",
                "thermostat": "60 degC",
                "air_limit": "63 degC",
                "horizon": HORIZON,
            },
        }
        files[_case_file(preparation)] = INVENTED + toml_text(case)
    facts = {"clutter": clutter.name, **around.words}
    return RandomDwelling(seed, plan.kind, round(plan.area, 2), facts, files)


def _dwelling(
    name: str,
    plan: FloorPlan,
    around: Surroundings,
    done: Furnished,
    lots: np.random.Generator,
) -> dict[str, Any]:
    """Return the dwelling file's table."""
    rooms = []
    for room in plan.rooms:
        at = [metres(length) for length in room.at]
        size = [metres(length) for length in (*room.size, around.height)]
        rooms.append({"name": room.name, "at": at, "size": size, **around.sides})
    doorways = [
        {
            "name": f"door of the {door.rooms[0]}",
            "between": list(door.rooms),
            "along": metres(door.along),
            "width": metres(door.width),
        }
        for door in plan.doors
    ]
    glazing = "single_glazing" if lots.random() < 0.25 else "double_glazing"
    windows = [
        {
            "name": f"window of the {window.room}, {window.side}",
            "room": window.room,
            "side": window.side,
            "along": metres(window.along),
            "sill": metres(window.sill),
            "width": metres(window.width),
            "height": metres(window.height),
            "construction": glazing,
        }
        for window in around.windows
    ]
    sockets = [
        {"room": room.name, "side": side, "along": metres(0.3 * room.size[_run(side)])}
        for room in plan.rooms
        if room.kind in ("living room", "bedroom", "studio")
        for side in room.outer
    ]
    tables = {"name": name, **around.tables, "room": rooms, "doorway": doorways}
    return {**tables, "window": windows, "socket": sockets, "furniture": done.furniture}


def _run(side: str) -> int:
    """Return the axis along which a wall runs."""
    return 0 if side in ("south", "north") else 1


def _layout(
    plan: FloorPlan, around: Surroundings, done: Furnished, lots: np.random.Generator
) -> dict[str, Any]:
    """Return the layout file's table: heaters, a thermostat in the largest room, circuits."""
    largest = max(plan.rooms, key=lambda room: room.area)
    thermostat = {
        "kind": "sensor",
        "name": "thermostat",
        "room": largest.name,
        "at": [*(metres(0.5 * length) for length in largest.size), metres(1.6)],
        "thermostat": True,
    }
    supplies = [
        {
            "name": f"supply {number}",
            "voltage": "240 V",
            "rating": "30 A",
            "loads": [heater["name"]],
        }
        for number, heater in enumerate(done.heaters, start=1)
    ]
    rating = "15 A" if lots.random() < 0.6 else "20 A"
    outlets = [
        {"name": f"outlets {number + 1}", "voltage": "120 V", "rating": rating, "loads": []}
        for number in range(int(lots.integers(2, 6)))
    ]
    return {
        "name": "heaters alone",
        "equipment": [*done.heaters, thermostat],
        "circuit": [*supplies, *outlets],
    }
