"""Are layers slow in the order that the field found? Blanket, mattress and enclosure.

Three published findings, each beside what an invented set-up of that kind gives. The texts at hand
are abstracts: sizes, materials, heaters and how a time was read are not told there, so every number
below that is not marked as published is an assumption, and the aim is the order of magnitude.

1. Blanket. A field and laboratory study of 2023 (doi 10.1080/09603123.2023.2205106, abstract): in
   air of 60 °C bed bugs in furniture and mattresses died within 60 min and under a blanket within
   120 min; the blanket lagged the air thermometer by 60 min. Here: a single bed in a small room
   that an electric heater brings to 60 °C; the lag is from the air to the place under the blanket,
   both to 50 °C, for bedding of 1 to 6 cm.
2. Mattress heated from one side. Doggett (2006): upper side 85 °C, lower side never above 35 °C in
   9 h. Here: mattresses of 15 to 25 cm whose upper side is held at 85 °C, lying in air of 25 °C on
   a slab with carpet, and held up so that air of 25 °C is under them too.
3. Enclosure. Pereira et al. (2009), J. Econ. Entomol. 102:1182: furniture in an insulated
   enclosure took 2 to 7 h to complete kill, and the floor mattered much. Here: a box of foam panels
   of 3 x 3 x 2.4 m on four floors with a sofa, a stripped single bed, a dresser with its drawers
   pulled out and a rug, all clear of the walls; the time is that of the last place in the furniture
   to the LT99 of adults (dose 1), for nine tenths of its refuges and for all, the same with the
   floor under it, and that of the furniture to the design dose of eggs, which is stricter.

Usage: PYTHONPATH=.:tests python benchmarks/field_order.py [blanket|mattress|enclosure] [cell in m]
"""

import sys
from dataclasses import replace

import numpy as np
from heat_problems.set_ups import endless_air, set_up

from simulator.assessment.assess import assess
from simulator.assessment.cold_spots import first_time
from simulator.assessment.lethal_dose import ADULT_SLOW, accumulate
from simulator.case.case import Case
from simulator.case.load import load_texts
from simulator.case.parts import SolidPart
from simulator.grid.voxelise import voxelise
from simulator.simulation import Run, simulate

HOUR = 3600.0
FRAME = """
title = "Invented: {title}"
[treatment]
target = "50 degC"
thermostat = "60 degC"
air_limit = "75 degC"
horizon = "{horizon:g} h"

[dwelling]
name = "test room"
start = "{start:g} degC"
outdoors = {{ temperature = "{start:g} degC", ground = "{ground:g} degC" }}
leakage = {{ air_changes = "0.3 1/h" }}
shell.walls = {{ construction = "panel", behind = "hall" }}
shell.floor = {{ construction = "{floor}", behind = "{under}" }}
shell.ceiling = {{ construction = "panel", behind = "hall" }}
behind = [{{ name = "hall", temperature = "{start:g} degC" }}]
room = [{{ name = "room", size = ["3.0 m", "3.0 m", "2.4 m"] }}]
{furniture}

[[dwelling.construction]]
name = "panel"
layers = [
  {{ material = "plywood", thickness = "6 mm" }},
  {{ material = "rigid_foam", thickness = "{foam:g} mm" }},
]
[[dwelling.construction]]
name = "foam board on slab"
layers = [
  {{ material = "rigid_foam", thickness = "50 mm" }},
  {{ material = "concrete", thickness = "100 mm" }},
  {{ material = "soil", thickness = "500 mm" }},
]

[layout]
name = "heater and fan"
[[layout.equipment]]
kind = "electric_heater"
name = "heater"
room = "room"
at = ["0.4 m", "0.4 m"]
turn = "45 deg"
power = "{power:g} kW"
flow = "600 cfm"
[[layout.equipment]]
kind = "fan"
name = "fan"
room = "room"
at = ["2.6 m", "0.5 m"]
turn = "{fan_turn:g} deg"
[[layout.equipment]]
kind = "sensor"
name = "thermostat"
room = "room"
at = ["1.5 m", "1.0 m", "1.5 m"]
thermostat = true
"""

BED = """
[[dwelling.furniture]]
kind = "bed"
name = "bed"
room = "room"
at = ["1.4 m", "1.9 m"]
width = "0.97 m"
length = "1.91 m"
pillows = 1
bedding_thickness = "{blanket:g} mm"
"""

CONTENTS = """
[[dwelling.furniture]]
kind = "bed"
name = "bed"
room = "room"
at = ["0.75 m", "1.7 m"]
width = "0.97 m"
length = "1.91 m"
box_spring_height = "0 in"
mattress_height = "200 mm"
bedding = "stripped"
[[dwelling.furniture]]
kind = "sofa"
name = "sofa"
room = "room"
at = ["2.35 m", "1.9 m"]
turn = "-90 deg"
width = "1.6 m"
cushions = 2
[[dwelling.furniture]]
kind = "dresser"
name = "dresser"
room = "room"
at = ["1.62 m", "2.5 m"]
width = "0.5 m"
drawers_are = "open"
[[dwelling.furniture]]
kind = "rug"
name = "rug"
room = "room"
at = ["1.55 m", "1.1 m"]
width = "0.5 m"
depth = "1.2 m"
"""

MATTRESS = """
[[dwelling.furniture]]
kind = "bed"
name = "bed"
room = "room"
at = ["1.4 m", "1.4 m"]
width = "0.97 m"
length = "1.91 m"
mattress_height = "{thick:g} mm"
box_spring_height = "0 in"
headboard_height = "0 in"
bedding = "stripped"
slats = 2
"""


def case_of(title: str, furniture: str, **changes: object) -> Case:
    """Return the test room with some furniture; ``changes`` to the usual numbers."""
    usual: dict[str, object] = {
        "horizon": 8.0,
        "start": 22.0,
        "ground": 15.0,
        "floor": "carpeted_slab_on_ground",
        "under": "ground",
        "foam": 50.0,
        "power": 5.6,
        "fan_turn": 120.0,
    }
    text = FRAME.format(title=title, furniture=furniture, **{**usual, **changes})
    return load_texts({"case.toml": text}, "case.toml")


def members(run: Run, owner: str, words: str) -> np.ndarray:
    """Return the temperatures of the refuges of one group (T, members) [°C]."""
    refuges = run.grid.refuges
    group = [n for n, g in enumerate(refuges.groups) if (g.owner, g.words) == (owner, words)]
    return run.history.refuge_temperature[:, np.isin(refuges.group, group)].astype(float)


def blanket(cell: float) -> None:
    """Print the lag of the place under a blanket behind the air."""
    print("\n1. Blanket: minutes from the air to the place under it, both to 50 °C")
    print("   published: 60 (air of 60 °C, abstract of doi 10.1080/09603123.2023.2205106)")
    print("   bedding   air there   under it: half   all of it   mattress inside, coldest")
    for thickness in (10.0, 20.0, 30.0, 60.0):
        case = case_of("a blanket in hot air", BED.format(blanket=thickness))
        run = simulate(case, cell)
        time = run.history.time
        air = first_time(time, run.history.air_mean, 50.0) / 60.0
        under = members(run, "bed", "bedding, underside")
        lags = [
            first_time(time, series, 50.0) / 60.0 - air
            for series in (np.median(under, axis=1), under.min(axis=1))
        ]
        inside = members(run, "bed", "mattress, inside").min(axis=1)
        last = first_time(time, inside, 50.0) / 60.0 - air
        print(
            f"   {thickness:>4.0f} mm {air:>10.0f} {lags[0]:>15.0f} {lags[1]:>11.0f} {last:>22.0f}"
        )


def mattress(cell: float) -> None:
    """Print the warmest point of the lower side of a mattress that is heated from above."""
    print(
        "\n2. Mattress heated from one side to 85 °C: its lower side after 9 h [°C], warmest point"
    )
    print("   published: never above 35 °C (Doggett 2006, abstract)")
    print("   thickness   air of 25 °C under it   on a slab with carpet")
    for thick in (150.0, 200.0, 250.0):
        row = [lower_side(thick, cell, on_floor=on_floor) for on_floor in (False, True)]
        print(f"   {thick:>6.0f} mm {row[0]:>18.1f} {row[1]:>24.1f}")


def lower_side(thick: float, cell: float, *, on_floor: bool) -> float:
    """Return the highest temperature of the lower side of a mattress after 9 h [°C]."""
    case = case_of("a mattress heated from above", MATTRESS.format(thick=thick), start=25.0)
    (body,) = (p for p in case.parts if isinstance(p, SolidPart) and p.name == "mattress")
    if on_floor:
        x, y, _ = body.box.centre
        box = replace(body.box, centre=(x, y, 0.5 * body.box.size[2]))
        body = replace(body, box=box)
    grid = endless_air(voxelise(replace(case, parts=(body,)), cell))
    surfaces = grid.surfaces
    top = (surfaces.part == 0) & (surfaces.axis == 2) & (surfaces.sign > 0)
    made = set_up(grid, np.where(top, 1e4, 8.0))
    state = made.state(25.0)
    state[made.layout.air_node[surfaces.air_cell[top]]] = 85.0
    after = made.states(state, np.array([9.0 * HOUR]))[0]
    if on_floor:
        refuges = grid.refuges
        words = [group.words for group in refuges.groups]
        under = refuges.index[refuges.group == words.index("floor under the bed")]
        return float(after[made.layout.column_node[under]].max())
    below = (surfaces.part == 0) & (surfaces.axis == 2) & (surfaces.sign < 0)
    return float(after[made.layout.surface_node[below]].max())


def enclosure(cell: float) -> None:
    """Print when everything in an enclosure is hot enough, on three floors."""
    print("\n3. Furniture in an enclosure of foam panels, 4.2 kW: hours")
    print("   published: 2 to 7 h to complete kill, by the floor (Pereira et al. 2009, abstract)")
    print("   floor                  air to 50  adults 9/10       all  and floor  eggs, all")
    for floor, under in (
        ("foam board on slab", "ground"),
        ("wood_floor", "hall"),
        ("carpeted_slab_on_ground", "ground"),
        ("slab_on_ground", "ground"),
    ):
        case = case_of("an enclosure", CONTENTS, floor=floor, under=under, power=4.2, horizon=14.0)
        run = simulate(case, cell)
        history, refuges = run.history, run.grid.refuges
        adult = accumulate(history.time, history.refuge_temperature, ADULT_SLOW, (1.0,))
        done = np.nan_to_num(adult.time_to[0], nan=np.inf)
        is_floor = np.array(["floor under" in g.words for g in refuges.groups])[refuges.group]
        owned = np.array([g.owner in case.furniture_words for g in refuges.groups])[refuges.group]
        inside = np.flatnonzero(owned & ~is_floor)
        order = inside[np.argsort(done[inside], kind="stable")]
        volume = np.cumsum(refuges.volume[order])
        places = [
            p
            for p in assess(case, run.grid, history).places
            if p.owner in case.furniture_words and "floor under" not in p.words
        ]
        times = [
            first_time(history.time, history.air_mean, 50.0),
            done[order[np.searchsorted(volume, 0.9 * volume[-1])]],
            done[inside].max(),
            done[owned].max(),
            max(np.inf if np.isnan(p.time_to_done) else p.time_to_done for p in places),
        ]
        words = "".join(f"{t / HOUR:>11.1f}" for t in times)
        last = refuges.groups[refuges.group[order[-1]]]
        print(f"   {floor:<24}{words}   last: {last.owner}, {last.words}", flush=True)


PARTS = {"blanket": blanket, "mattress": mattress, "enclosure": enclosure}

if __name__ == "__main__":
    asked = [word for word in sys.argv[1:] if word in PARTS] or list(PARTS)
    sizes = [float(word) for word in sys.argv[1:] if word not in PARTS]
    for word in asked:
        PARTS[word](sizes[0] if sizes else 0.10)
