"""``roomsoak check``: what was understood of a case, before any run."""

import json
import textwrap
from collections.abc import Iterable, Sequence
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from simulator.cli.options import case_argument, json_option, units_option

if TYPE_CHECKING:
    from simulator.case.case import Case
    from simulator.cli.understanding import Understanding
    from simulator.units import System

_BOX, _IN = "  [ ] ", " " * 6  # a box to tick, and what stands below it


@click.command(short_help="Read a case and print what was understood.")
@case_argument
@units_option
@json_option
@click.option("--cautions", is_flag=True, help="Print all cautions for the day of the treatment.")
@click.option(
    "--readiness", is_flag=True, help="Print what occupant and crew have to do, with reasons."
)
def check(case_path: Path, units: "System", as_json: bool, cautions: bool, readiness: bool) -> None:
    """Read CASE and print what was understood: rooms, furniture, equipment, circuits, warnings."""
    from simulator.assessment.cautions import CAUTIONS
    from simulator.case.load import load
    from simulator.cli.understanding import understand

    understood = understand(load(case_path), units)
    if as_json:
        table = as_table(understood)
        if cautions:
            table["cautions"] = list(CAUTIONS)
        if readiness:
            table["readiness"] = readiness_table(understood.case)
        click.echo(json.dumps(table, indent=2, ensure_ascii=False))
        return
    for line in understanding_lines(understood, units):
        click.echo(line)
    if readiness:
        for line in readiness_lines(understood.case, units):
            click.echo(line)
    if cautions:
        click.echo("\nCautions")
        for line in _bullets(CAUTIONS):
            click.echo(line)
    if not (cautions or readiness):
        click.echo(
            "\nBefore the day: `roomsoak check CASE --readiness --cautions`. Local codes first."
        )


def readiness_lines(case: "Case", units: "System") -> list[str]:
    """Return both lists with boxes to tick, the reason below the items that share it."""
    from simulator.assessment.readiness import readiness
    from simulator.assessment.readiness_words import CLOSING, parts_of, why

    lines = []
    for heading, items in parts_of(readiness(case, units)):
        lines += ["", heading]
        for reason, alike in groupby(items, key=why):
            for item in alike:
                lines += _hung(item.words, _BOX)
            lines += _hung(f"why: {reason}", _IN)
    return [*lines, "", *textwrap.wrap(CLOSING, 98)]


def _hung(text: str, first: str) -> list[str]:
    return textwrap.wrap(text, 98, initial_indent=first, subsequent_indent=_IN)


def readiness_table(case: "Case") -> dict[str, Any]:
    """Return both lists as plain JSON, with the overrides that say an item is done."""
    from simulator.assessment.readiness import readiness

    lists = readiness(case)
    return {
        name: [
            {
                "key": item.key,
                "words": item.words,
                "reason": item.reason,
                "standing": item.standing.value,
                "when": item.when.value,
                "topic": item.topic.name.lower(),
                "overrides": dict(item.overrides),
                "cost": None
                if item.cost is None
                else {"minutes": item.cost.minutes, "litres": item.cost.litres},
            }
            for item in items
        ]
        for name, items in (("occupant", lists.occupant), ("crew", lists.crew))
    }


def understanding_lines(understood: "Understanding", units: "System") -> list[str]:
    """Return what was understood as text."""
    from simulator.units import format_quantity

    case = understood.case
    plan = case.treatment
    target, air_limit, horizon = (
        format_quantity(plan.target_temperature, "temperature", units),
        format_quantity(plan.air_limit, "temperature", units),
        format_quantity(plan.horizon, "time", units),
    )
    return [
        case.title,
        f"  dwelling: {case.dwelling.name}; preparation: {case.preparation}; layout: {case.layout}",
        f"  treatment: to {target} everywhere, air at most {air_limit}, for {horizon}",
        *_plan_lines(understood, units),
        *_change_lines(understood, units),
        *_room_lines(understood, units),
        *_furniture_lines(understood, units),
        *_equipment_lines(understood, units),
        *_circuit_lines(understood, units),
        *_heat_lines(understood, units),
        *_harm_lines(understood, units),
        "",
        "Warnings" if understood.warnings else "No warnings.",
        *_bullets(understood.warnings),
    ]


def _change_lines(understood: "Understanding", units: "System") -> list[str]:
    """Return what the crew changes during the run, each at its hour."""
    from simulator.units import format_quantity

    changes = understood.case.changes
    if not changes:
        return []
    rows = [(f"  {format_quantity(c.time, 'time', units)}", c.words) for c in changes]
    return ["", f"Changes during the run ({len(changes)})", *_table(rows)]


def _plan_lines(understood: "Understanding", units: "System") -> list[str]:
    """Return how heaters are controlled, and the plan of the day if there is one."""
    from simulator.units import format_quantity

    plan = understood.case.treatment
    band = plan.proportional_band if plan.differential is None else plan.differential
    width = format_quantity(band, "temperature difference", units)
    how = (
        f"throttled over the last {width}"
        if plan.differential is None
        else f"off at the set point, on again {width} below it"
    )
    guards = [probe.owner for probe in understood.case.probes if probe.guards_air_limit]
    if guards:
        how += f"; off at the air limit by {' and '.join(guards)}"
    if not plan.phases:
        point = format_quantity(plan.thermostat, "temperature", units)
        return [f"  heaters: set point {point}, {how}"]
    return [
        f"  heaters: {how}",
        "",
        f"Plan of the day ({len(plan.phases)} phases)",
        *_table([_phase_row(understood, number, units) for number in range(len(plan.phases))]),
    ]


def _phase_row(understood: "Understanding", number: int, units: "System") -> tuple[str, ...]:
    from simulator.units import format_quantity

    case = understood.case
    plan = case.treatment
    phase = plan.phases[number]
    ends = [*(other.start for other in plan.phases[1:]), plan.horizon]
    if phase.heaters_on:
        point = plan.set_points(case.dwelling.start_temperature)[number]
        heat = f"heaters to {format_quantity(phase.thermostat, 'temperature', units)}"
        if point.gap(phase.start) != 0.0:
            first = format_quantity(point.first, "temperature", units)
            rate = format_quantity(phase.ramp, "temperature rate", units)
            heat += f" from {first}, no faster than {rate}"
        if abs(point.gap(ends[number])) > 0.05:
            reached = format_quantity(point.at(ends[number]), "temperature", units)
            heat += f" (the set point gets to {reached})"
    else:
        heat = "heaters off, but they blow" if phase.heater_fans_on else "heaters off"
    return (
        f"{_hour(phase.start, units)} to {_hour(ends[number], units)}",
        phase.name,
        heat,
        "fans on" if phase.fans_on else "fans off",
    )


def _hour(time: float, units: "System") -> str:
    from simulator.units import format_quantity

    return "0 h" if time == 0.0 else format_quantity(time, "time", units)


def _room_lines(understood: "Understanding", units: "System") -> list[str]:
    from simulator.cli.understanding import volume
    from simulator.units import format_quantity

    dwelling = understood.case.dwelling
    rows = [
        (
            room.name,
            " x ".join(format_quantity(side, "length", units) for side in room.size),
            format_quantity(volume(room), "volume", units),
        )
        for room in dwelling.rooms
    ]
    openings = [
        f"{door.name} ({door.rooms[0]} to {door.rooms[1]}, {'open' if door.is_open else 'shut'})"
        for door in dwelling.doorways
    ]
    starts, outdoors = (
        format_quantity(value, "temperature", units)
        for value in (dwelling.start_temperature, dwelling.outdoor_temperature)
    )
    lines = ["", f"Rooms ({len(rows)}), {starts} at the start, {outdoors} outdoors", *_table(rows)]
    if openings:
        lines += textwrap.wrap(
            f"doorways: {', '.join(openings)}", 98, initial_indent="  ", subsequent_indent="    "
        )
    return lines


def _furniture_lines(understood: "Understanding", units: "System") -> list[str]:
    from simulator.units import format_quantity

    rows = [
        (
            piece.name,
            piece.words,
            format_quantity(piece.mass, "mass", units) if piece.mass > 0.0 else "",
            store_text(piece.heat_capacity, units) if piece.mass > 0.0 else "",
        )
        for piece in understood.furniture
    ]
    return ["", f"Furniture and contents ({len(rows)})", *_table(rows)]


def _equipment_lines(understood: "Understanding", units: "System") -> list[str]:
    from simulator.units import kilowatts

    rows = [
        (
            piece.name,
            piece.words,
            piece.room,
            kilowatts(piece.electrical_power) if piece.electrical_power > 0.0 else "",
        )
        for piece in understood.equipment
    ]
    return ["", f"Equipment ({len(rows)})", *_table(rows)]


def _circuit_lines(understood: "Understanding", units: "System") -> list[str]:
    from simulator.assessment.power import BASIS
    from simulator.assessment.power_words import cord_lines, plan_lines
    from simulator.units import kilowatts

    sheet = understood.power
    if not sheet.circuits:
        return ["", "Circuits: none given, so their loads are not checked"]
    rows = [
        (
            circuit.name,
            f"{circuit.voltage:g} V {circuit.rating:g} A",
            f"{circuit.power / 1000.0:.2f} of {kilowatts(circuit.allowed)}",
            "OVERLOADED" if circuit.is_overloaded else "",
            ", ".join(circuit.loads),
        )
        for circuit in sheet.circuits
    ]
    told = [*plan_lines(sheet.plan), *cord_lines(sheet.cords, units)]
    basis = textwrap.wrap(BASIS, 98, initial_indent="  ", subsequent_indent="  ")
    return ["", f"Circuits ({len(rows)})", *_table(rows), *_bullets(told), *basis]


def _harm_lines(understood: "Understanding", units: "System") -> list[str]:
    from simulator.assessment.harm_words import harm_lines
    from simulator.units import format_quantity

    most = format_quantity(understood.case.treatment.air_limit, "temperature", units)
    told = harm_lines(understood.harm, units, len(understood.harm))
    return ["", f"Harm to things, if all become as hot as the air may, {most}", *_bullets(told)]


def _heat_lines(understood: "Understanding", units: "System") -> list[str]:
    from simulator.units import format_quantity, kilowatts

    store = understood.heat_store
    contents, air, shell = (
        store_text(value, units) for value in (store.contents, store.air, store.shell)
    )
    lines = [
        "",
        f"Heat store: contents {contents}, air {air}, shell with all its layers {shell}",
    ]
    if understood.heating_power > 0.0:
        least = format_quantity(understood.least_heating_time, "time", units)
        lines.append(
            f"  heaters: {kilowatts(understood.heating_power)} at most; contents and air "
            f"alone take {least} of that, the shell more"
        )
    return lines


def store_text(heat_per_kelvin: float, units: "System") -> str:
    """Return a heat store given in J/K as text."""
    from simulator.units import BTU, FAHRENHEIT_DEGREE

    if units == "us":
        return f"{heat_per_kelvin * FAHRENHEIT_DEGREE / BTU:,.0f} BTU/°F"
    if heat_per_kelvin >= 1e6:
        return f"{heat_per_kelvin / 1e6:.2f} MJ/K"
    return f"{heat_per_kelvin / 1e3:,.0f} kJ/K"


def _table(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Return rows with their columns aligned."""
    if not rows:
        return []
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  " + "  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]


def _bullets(texts: Iterable[str]) -> list[str]:
    return [
        line
        for text in texts
        for line in textwrap.wrap(text, 98, initial_indent="  - ", subsequent_indent="    ")
    ]


def as_table(understood: "Understanding") -> dict[str, Any]:
    """Return what was understood as plain JSON: SI and °C."""
    from simulator.assessment.summary import plain
    from simulator.cli.understanding import volume

    case = understood.case
    plan, store = case.treatment, understood.heat_store
    least = understood.least_heating_time
    return {
        "case": {"title": case.title, "preparation": case.preparation, "layout": case.layout},
        "units": "SI: m, m³, kg, W, s, J/K; temperatures in °C",
        "treatment": {
            "target_temperature": plan.target_temperature,
            "air_limit": plan.air_limit,
            "thermostat": plan.thermostat,
            "differential": plan.differential,
            "horizon": plan.horizon,
            "phases": [plain(phase) for phase in plan.phases],
        },
        "rooms": [
            {"name": room.name, "size": list(room.size), "volume": volume(room)}
            for room in case.dwelling.rooms
        ],
        "furniture": [
            {
                "name": piece.name,
                "words": piece.words,
                "mass": piece.mass,
                "heat_capacity": piece.heat_capacity,
            }
            for piece in understood.furniture
        ],
        "equipment": [
            {
                "name": piece.name,
                "words": piece.words,
                "room": piece.room,
                "electrical_power": piece.electrical_power,
            }
            for piece in understood.equipment
        ],
        "circuits": [plain(circuit) for circuit in understood.power.circuits],
        "power": plain(understood.power),
        "harm": plain(understood.harm),
        "heat_store": {"contents": store.contents, "air": store.air, "shell": store.shell},
        "heating_power": understood.heating_power,
        "least_heating_time": least if least < float("inf") else None,
        "warnings": list(understood.warnings),
    }
