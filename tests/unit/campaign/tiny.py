"""A closet of a room that is heated for a quarter of an hour: a study's run of half a second."""

from pathlib import Path

from tests.small_cases import room_head

TINY = (
    room_head("tiny", ("2.4 m", "2.1 m", "2.1 m"))
    + """[[dwelling.furniture]]
kind = "nightstand"
name = "nightstand"
room = "room"
at = ["0.26 m", "1.8 m"]
[layout]
name = "one heater"
[[layout.equipment]]
kind = "electric_heater"
name = "heater"
room = "room"
at = ["1.9 m", "1.7 m"]
turn = "180 deg"
power = "2 kW"
[treatment]
horizon = "15 min"
"""
)

PLAN = """
title = "tiny study"
cell = "0.30 m"
rules = ["none", "corners", "ring"]
[dwellings]
files = ["one.toml", "two.toml"]
[numbers]
floor_per_fan = ["3 m2", "6 m2"]
"""


def write_plan(folder: Path, plan: str = PLAN) -> Path:
    """Write two tiny dwellings and a plan of 10 runs, and return the path of the plan."""
    (folder / "one.toml").write_text(TINY)
    (folder / "two.toml").write_text(TINY.replace("2.4 m", "2.7 m"))
    path = folder / "plan.toml"
    path.write_text(plan)
    return path
