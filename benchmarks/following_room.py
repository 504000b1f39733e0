"""The room of the twin experiments (invented), as the crew describes it and as it really is."""

import numpy as np

ROOM = """
title = "Small room for twin experiments, invented"

[dwelling]
name = "small room"
start = "20 degC"
outdoors = { temperature = "14 degC" }
leakage = { air_changes = "0.5 1/h" }
shell.walls = { construction = "frame_wall", behind = "outdoors" }
shell.floor = { construction = "wood_floor", behind = "neighbour" }
shell.ceiling = { construction = "attic_ceiling", behind = "outdoors" }

[[dwelling.behind]]
name = "neighbour"
temperature = "24 degC"

[[dwelling.room]]
name = "room"
size = ["2.8 m", "2.4 m", "2.4 m"]

[[dwelling.furniture]]
kind = "clutter"
name = "bale"
room = "room"
at = ["0.50 m", "2.00 m"]
size = ["0.8 m", "0.6 m", "0.6 m"]
stuff = "clothes"
air_fraction = 0.40
piece_size = "0.1 m"

[[dwelling.furniture]]
kind = "clutter"
name = "pile"
room = "room"
at = ["2.40 m", "0.50 m"]
size = ["0.6 m", "0.6 m", "0.6 m"]

[[dwelling.furniture]]
kind = "clutter"
name = "boxes"
room = "room"
at = ["0.60 m", "0.60 m"]
size = ["0.8 m", "0.6 m", "0.8 m"]
packing = "packed"
{more}
[treatment]
target = "56 degC"
thermostat = "64 degC"
air_limit = "67 degC"
horizon = "5 h"

[layout]
name = "a heater and a fan"

[[layout.equipment]]
kind = "electric_heater"
name = "heater"
room = "room"
at = ["1.55 m", "0.5 m"]
turn = "120 deg"

[[layout.equipment]]
kind = "fan"
name = "fan"
room = "room"
at = ["{x:.2f} m", "{y:.2f} m"]
turn = "{turn:.0f} deg"
"""

#: Sensors with their points in the room [m].
SENSORS = {
    "air": (1.4, 1.2, 1.7),
    "bale, core": (0.5, 2.0, 0.3),
    "under the boxes": (0.6, 0.6, 0.03),
    "pile, core": (2.4, 0.5, 0.3),
    "corner, low": (2.7, 2.3, 0.1),
    "under the bale": (0.5, 2.0, 0.03),
    "under the bale, west": (0.15, 2.0, 0.03),
    "under the bale, east": (0.75, 2.0, 0.03),
    "under the bale, north": (0.5, 2.25, 0.03),
    "under the bale, north-east": (0.75, 2.25, 0.03),
    "under the pile": (2.4, 0.5, 0.03),
    "boxes, core": (0.6, 0.6, 0.4),
}

#: Where a pile may lie that nobody told: centre on the floor and size [m].
UNTOLD = (
    ((1.15, 2.05), (0.4, 0.5, 0.5)),
    ((0.35, 1.35), (0.5, 0.5, 0.5)),
    ((1.75, 2.20), (0.5, 0.4, 0.4)),
    ((2.60, 1.20), (0.4, 0.5, 0.6)),
    ((1.10, 1.35), (0.4, 0.4, 0.5)),
)

#: The fan as described, and the most by which it stands elsewhere [m] and is turned away [deg].
FAN, MOVED, TURNED = (1.85, 1.50, -110.0), 0.20, 30.0


def described() -> str:
    """Return the room as the crew describes it."""
    return _text("", *FAN)


def hidden(seed: int) -> str:
    """Return the room as it is: one pile more, the fan elsewhere and turned away."""
    lots = np.random.default_rng((seed, 3))
    (x, y), size = UNTOLD[int(lots.integers(len(UNTOLD)))]
    air = lots.uniform(0.5, 0.8)
    pile = (
        '\n[[dwelling.furniture]]\nkind = "clutter"\nname = "untold"\nroom = "room"\n'
        f'at = ["{x} m", "{y} m"]\nsize = ["{size[0]} m", "{size[1]} m", "{size[2]} m"]\n'
        f"air_fraction = {air:.2f}\n"
    )
    shift = lots.uniform(-1.0, 1.0, 3)
    place = (FAN[0] + MOVED * shift[0], FAN[1] + MOVED * shift[1], FAN[2] + TURNED * shift[2])
    return _text(pile, *place)


def _text(more: str, x: float, y: float, turn: float) -> str:
    # The template holds inline tables: only its own four places are filled.
    text = ROOM.replace("{more}", more).replace("{x:.2f}", f"{x:.2f}")
    text = text.replace("{y:.2f}", f"{y:.2f}").replace("{turn:.0f}", f"{turn:.0f}")
    return text + "".join(
        '\n[[layout.equipment]]\nkind = "sensor"\n'
        f'name = "{name}"\nroom = "room"\nat = ["{p[0]} m", "{p[1]} m", "{p[2]} m"]\n'
        for name, p in SENSORS.items()
    )
