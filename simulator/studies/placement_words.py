"""A placement in words that a crew can set up by, and as the file of a layout."""

import math

from simulator.case.case import Case
from simulator.case.dwelling import Room
from simulator.studies.fan_layout import FanPlace
from simulator.studies.free_floor import in_words as spot_in_words
from simulator.studies.heat_need import in_words as need_in_words
from simulator.studies.layout import HeaterPlace, layout_text
from simulator.studies.placement import KNEE, Placement
from simulator.studies.placement_worth import Compared, Contribution
from simulator.studies.rungs import COARSE
from simulator.units import System, format_quantity

#: Compass words for the eight sides, anticlockwise from east.
_SIDES = ("east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east")

#: What no search can know.
LIMITS = (
    "A place that is never done counts as done after the run, by up to as long again; so the times "
    "compare layouts and are no finishing times.",
    "Averages of a flow that never settles scatter: differences below the width of a tie are none.",
    "Cells of {cells}, formulas of convection and gaps in walls leave more error than two good "
    "layouts differ by; the order of layouts is surer than their times.",
    "Cords, doors that open inwards and things that are not in the case file are for the crew to "
    "judge on the day; sensors in the places named last decide.",
)

#: What an answer by coarse cells alone leaves open.
COARSE_ONLY = (
    "No run on finer cells has confirmed this order of layouts; a search with more effort makes "
    "such runs."
)


def placement_lines(found: Placement, units: System = "si") -> list[str]:
    """Return the answer as text."""
    objective = found.question.objective
    lines = [found.case.title, *need_in_words(found.need, units), *found.notes, ""]
    if not found.is_complete:
        lines.append("INTERRUPTED: the best layout so far, not compared with any other.")
    lines += _layout_lines(found, units)
    if found.compared:
        rung = found.question.effort.compare
        cells = format_quantity(rung.cell_size, "length", units)
        lines += [
            "",
            f"Compared by {objective.words}, each by {rung.words} on cells of {cells}, from starts "
            "that the search did not use:",
        ]
        lines += [_compared_line(found, row, units) for row in found.compared]
        lines.append(_verdict(found, units))
    if found.runner_up is not None:
        lines += ["", "The runner-up cannot be told apart from it by averages:"]
        lines += [
            f"  {fan_words(room_of(found.case, fan.room), fan, units)}"
            for fan in found.runner_up.layout.fans
        ]
    lines += ["", *_enough_lines(found, units), *_sensor_lines(found, units)]
    lines += ["", "Limits", *(f"  - {limit}" for limit in limits(found, units))]
    lines += [
        "",
        "Before the day: `roomsoak check CASE --readiness --cautions` with this layout. "
        "Local codes first.",
    ]
    return lines


def limits(found: Placement, units: System = "si") -> list[str]:
    """Return what the answer cannot know, on the cells that it was looked at with."""
    cells = format_quantity(found.rung.cell_size, "length", units)
    told = [limit.format(cells=cells) for limit in LIMITS]
    return told if found.rung.cell_size < COARSE else [COARSE_ONLY, *told]


def _layout_lines(found: Placement, units: System) -> list[str]:
    layout = found.layout
    lines = []
    for number, fan in enumerate(layout.fans, start=1):
        lines.append(f"fan {number}: {fan_words(room_of(found.case, fan.room), fan, units)}")
        if number <= len(found.contributions):
            lines += [f"  {line}" for line in why(found.contributions[number - 1], found, units)]
    for heater in layout.heaters:
        lines.append(f"{heater.name}: {heater_words(room_of(found.case, heater.room), heater)}")
    lines += _hottest_lines(found, units)
    if not layout.fans:
        lines.append("no fan is placed: heaters alone")
    return lines


def _hottest_lines(found: Placement, units: System) -> list[str]:
    """Return a warning where the air gets hotter than the treatment allows."""
    hottest = [
        max((state.air_maximum for run in row.outcomes for state in run.states), default=0.0)
        for row in found.compared[:2]
    ]
    limit = found.case.treatment.air_limit
    if not hottest or hottest[0] <= limit:
        return []
    given = ""
    if len(hottest) > 1:
        given = f" ({format_quantity(hottest[1], 'temperature', units)} with the given layout)"
    return [
        f"CAUTION: air reaches {format_quantity(hottest[0], 'temperature', units)} somewhere, as a "
        f"rule before a heater{given}; its limit is {format_quantity(limit, 'temperature', units)}"
    ]


def room_of(case: Case, name: str) -> Room:
    return next(room for room in case.dwelling.rooms if room.name == name)


def side_in_words(turn: float) -> str:
    """Return the compass side that something is aimed at.

    >>> side_in_words(90.0), side_in_words(22.5), side_in_words(350.0)
    ('north', 'east to north-east', 'east')
    """
    number = (turn % 360.0) / 45.0
    near = round(number)
    if abs(number - near) <= 0.25:
        return _SIDES[near % 8]
    first, second = _SIDES[int(number) % 8], _SIDES[(int(number) + 1) % 8]
    return f"{first} to {second}"


def fan_words(room: Room, fan: FanPlace, units: System) -> str:
    height = format_quantity(fan.height, "length", units)
    stand = "on a stand, " if fan.height > fan.diameter else "on the floor, "
    tilt = ""
    if abs(fan.tilt) >= 1.0:
        tilt = f", tilted {abs(fan.tilt):.0f}° {'up' if fan.tilt > 0 else 'down'}"
    return (
        f"in the {room.name}, {spot_in_words(room, fan.at)}, {stand}hub at {height}; "
        f"blows {side_in_words(fan.turn)} ({fan.turn:.0f}°){tilt}"
    )


def heater_words(room: Room, heater: HeaterPlace) -> str:
    return (
        f"in the {room.name}, {spot_in_words(room, heater.at)}; "
        f"blows {side_in_words(heater.turn)} ({heater.turn:.0f}°)"
    )


def why(part: Contribution, found: Placement, units: System = "si") -> list[str]:
    """Return why a fan stands where it stands: what it blows at, and what is later without it."""
    objective = found.question.objective
    words = []
    if part.meets is not None:
        what, away = part.meets
        words.append(f"its jet meets {what} after {format_quantity(away, 'length', units)}")
    width = objective.width(part.value)
    if part.loss > width:
        words.append(f"without it the plan is worse by {objective.say(part.loss, units)}")
    elif part.loss >= -width:
        words.append("without it the plan is as good within the noise: it can be spared")
    else:
        words.append(
            f"without it the plan is BETTER by {objective.say(-part.loss, units)} on coarse cells: "
            "leave it out unless a closer run says otherwise"
        )
    lines = ["; ".join(words)]
    end = found.case.treatment.horizon
    told = [
        f"{place.owner}, {place.words} ({_later(place.time, later, end, units)})"
        for place, later in part.helped
        if later >= 60.0
    ]
    if told:
        lines.append("what it serves, by a run without it: " + "; ".join(told))
    return lines


def _later(time: float, later: float, end: float, units: System) -> str:
    """Return what becomes of a place without a fan; times beyond the end are penalties [s]."""
    if time >= end:
        return "colder still"
    if time + later >= end:
        return f"not done; with it after {format_quantity(time, 'time', units)}"
    return f"{format_quantity(later, 'time', units)} later"


def _compared_line(found: Placement, row: Compared, units: System) -> str:
    objective = found.question.objective
    standing = "" if row.standing in ("search", "given") else f" [{row.standing}]"
    number = f"{row.fans} fan{'' if row.fans == 1 else 's'}"
    states = [state for outcome in row.outcomes for state in outcome.states]
    if not states:
        reason = row.outcomes[0].reason if row.outcomes else "not run"
        return f"  {row.words}{standing}, {number}: cannot stand here ({reason})"
    left = sum(state.places_left for state in states) / len(states)
    ends = [state.finishing_time for state in states]
    last = max(ends)
    done = "not all done" if last != last else f"done in {format_quantity(last, 'time', units)}"
    return (
        f"  {row.words}{standing}, {number}: {objective.say(row.value, units)}; {done}, "
        f"{left:.0f} of {states[0].places} places cold"
    )


def _verdict(found: Placement, units: System) -> str:
    objective = found.question.objective
    ours, *others = found.compared
    runs = [row for row in others if row.value < float("inf")]
    if not runs:
        return ""
    best = min(runs, key=lambda row: row.value)
    gain = best.value - ours.value
    width = objective.width(ours.value)
    if gain > width:
        return f"Better than the best of them by {objective.say(gain, units)}."
    if gain > -width:
        return f"As good as the best of them ({best.words}) within the noise: a tie."
    return f"NOT as good as {best.words}: keep that one."


def _sensor_lines(found: Placement, units: System) -> list[str]:
    """Return where sensors go, and how much longer the last place may take than they say."""
    if found.sensors is None:
        return []
    lines = [
        "",
        f"Sensors, by {found.sensors.runs} runs with all varied that is uncertain (in brackets: by "
        "how much a crew ends too early, on average, that ends when these say done):",
    ]
    for number, sensor in enumerate(found.sensors.sensors, start=1):
        room = room_of(found.case, sensor.room) if _is_room(found.case, sensor.room) else None
        where = ""
        if room is not None:
            x, y, z = (sensor.position[axis] - room.low[axis] for axis in range(3))
            where = f": {spot_in_words(room, (x, y))}, {format_quantity(z, 'length', units)} high"
        lines.append(
            f"  {number}. {sensor.owner}, {sensor.words}{where} "
            f"({format_quantity(sensor.regret, 'time', units)}; the last in {sensor.last_in} runs)"
        )
    return lines


def _is_room(case: Case, name: str) -> bool:
    return any(room.name == name for room in case.dwelling.rooms)


def _enough_lines(found: Placement, units: System) -> list[str]:
    objective = found.question.objective
    lines = [f"How much is enough, by whole runs on coarse cells ({objective.words}):"]
    lines += [
        f"  {number} fan{'' if number == 1 else 's'}: {objective.say(one.value, units)}"
        for number, one in enumerate(found.by_number)
    ]
    if found.by_number:
        lines.append(
            f"  beyond {found.enough}, one more gains less than {100 * KNEE:.0f} %"
            if found.enough < len(found.by_number) - 1
            else "  each of them gains; one more may, too"
        )
    lines += [
        f"  {one.number} heater{'' if one.number == 1 else 's'}"
        f"{' (one more like the last)' if one.is_added else ''} with these fans: "
        f"{objective.say(one.value, units)}"
        for one in found.by_heaters
        if math.isfinite(one.value)
    ]
    return lines


def plan_text(found: Placement) -> str:
    """Return the layout as the text of a layout file, its places dimensioned from the walls."""
    heading = ["Placed by a search; every place is measured from the nearest walls:"]
    heading += [
        f"fan {number}: {fan_words(room_of(found.case, fan.room), fan, 'si')}"
        for number, fan in enumerate(found.layout.fans, start=1)
    ]
    heading += [
        f"{heater.name}: {heater_words(room_of(found.case, heater.room), heater)}"
        for heater in found.layout.heaters
    ]
    return layout_text(found.case, heading)
