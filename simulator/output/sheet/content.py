"""What stands on a sheet: everything that the template prints, put together from one result."""

from collections.abc import Iterable
from typing import Any

from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.assessment.cautions import CAUTIONS
from simulator.assessment.equipment_items import PLUG_IN
from simulator.assessment.harm_words import harm_rows, stop_line
from simulator.assessment.readiness import readiness, with_costs
from simulator.assessment.readiness_item import ReadinessItem
from simulator.assessment.readiness_words import CLOSING, parts_of, why
from simulator.assessment.summary import verdict_line
from simulator.case.case import Case
from simulator.case.standing import Standing
from simulator.output.field_file import Result
from simulator.output.sheet import watch_list
from simulator.output.sheet.finding_sections import costs, finding_sections
from simulator.output.sheet.load_sheet import load_sheet
from simulator.output.sheet.marks import marks_of
from simulator.output.sheet.plan_svg import draw_plans
from simulator.output.sheet.preparation import taken_as_done
from simulator.output.sheet.setting_out import machines, placings
from simulator.output.sheet.timeline import CHANGE, EXPECTED, PLAN, moved_equipment, timeline
from simulator.output.sheet.timeline_svg import draw_timeline
from simulator.studies import grid_error
from simulator.units import System, format_quantity, format_small_length

#: What is filled in by hand.
WRITE_IN = (
    "address, unit",
    "date",
    "crew chief",
    "electrician or load sheet checked by",
    "owner and fire-protection contractor told",
)

DECIDES = (
    "This sheet is a model's estimate, no proof. Sensors in the slow places and inspections "
    "afterwards decide. Local codes, makers' labels and people licensed for the work come first."
)

PLAN_NOTE = (
    "Plain outlines: furniture at the start of the heat, thin within them mattress and head of a "
    "bed; broken: hangs overhead; dotted: lies on the floor; broken machine: where it is moved to "
    "during the day. Walls are drawn 10 cm (4 in) thick whatever they are. Below each mark: h, "
    "height over the floor of a fan's hub, an outlet's or a sensor's middle, and the tilt of the "
    "stream (+ up, − down). North is as the case calls it. Doors to the outside are not in the "
    "case; nor is which circuit a wall outlet is on."
)

SETTING_NOTE = (
    "Distances are from the inner faces of the west and the south wall of the piece's own room to "
    "its middle (of a duct: of its end), heights from the floor to the middle of its stream, or to "
    "the sensor. Set the middle, then sight along the stream at the point on the wall."
)

WATCH_NOTE = (
    "A sensor goes at the point that decides the place; inside a thing it is pushed in to that "
    "depth. Numbers stand on the plan. Read each sensor hourly and write it down; where one lags, "
    "change what is around it, not the set point."
)

#: Signs of events, explained by their words.
SIGNS = {PLAN: "planned", CHANGE: "◆ do", EXPECTED: "expected"}

MOST_HARM = 8  # lines of each verdict

NO_COMPANION = (
    "The error of the cells is not in the result file: no companion run on coarser cells was made."
)


def content_of(result: Result, units: System) -> dict[str, Any]:
    """Return the values of the template by name."""
    case = result.case
    assessment = assess(case, result.grid, result.history)
    marks = marks_of(case)
    watched = watch_list.watch_list(result, assessment, marks, units)
    moved = [(mark, change.when) for change in moved_equipment(case) for mark in change.marks]
    day = timeline(case, result.history, assessment, units)
    return {
        "title": case.title,
        "is_invented": says_invented(case),
        "facts": _facts(result, units),
        "write_in": WRITE_IN,
        "answer": _answer(case, assessment, units),
        "stops": [line for line in [stop_line(assessment.harm)] if line],
        "decides": DECIDES,
        "plans": draw_plans(
            case, marks, moved, [(row.number, row.point) for row in watched], units
        ),
        "plan_note": PLAN_NOTE,
        "setting_note": SETTING_NOTE,
        "placings": placings(marks, case, units),
        "machines": machines(marks, case, units),
        "preparation": case.preparation,
        "taken_as_done": taken_as_done(case, units),
        "day": draw_timeline(case, result.history, assessment, units),
        "events": [
            {
                "hour": format_quantity(event.time, "time") if event.time else "0 h",
                "sign": SIGNS[event.kind],
                "words": event.words,
            }
            for event in day.events
        ],
        "missing": day.missing,
        "is_all_done": assessment.is_all_done,
        "watch_heading": watch_list.heading(case, assessment, units),
        "watch": watched,
        "watch_note": WATCH_NOTE,
        "end_words": assessment.end.words,
        "findings": finding_sections(result.findings, units),
        "load": load_sheet(case, assessment.power, marks, units),
        "harm": harm_rows(assessment.harm, units, MOST_HARM),
        "readiness": _readiness(result, units),
        "closing": CLOSING,
        "cautions": CAUTIONS,
        "limits": _limits(result, assessment, units),
        "main": result.main,
        "hash": result.hash,
        "versions": ", ".join(f"{name} {value}" for name, value in result.versions.items()),
    }


def says_invented(case: Case) -> bool:
    """Return whether the case's own texts call their content invented."""
    return any("invented" in text.lower() for text in case.sources.values())


def _facts(result: Result, units: System) -> list[list[tuple[str, str]]]:
    """Return the title block in rows of two facts."""
    case, plan = result.case, result.case.treatment

    def degrees(value: float) -> str:
        return format_quantity(value, "temperature", units)

    control = (
        f"throttled over {format_quantity(plan.proportional_band, 'temperature difference', units)}"
    )
    if plan.differential is not None:
        lower = format_quantity(plan.differential, "temperature difference", units)
        control = f"switched, on again {lower} below"
    facts = [
        ("dwelling", case.dwelling.name),
        ("result", f"{result.main}, sha256 {result.hash[:12]}…"),
        ("preparation", case.preparation),
        ("program", f"roomsoak {result.versions.get('roomsoak', 'unknown')}"),
        ("layout", case.layout),
        ("cells", _cells(result.cell_size, units)),
        ("set point of the heaters", f"{degrees(plan.thermostat)}, {control}"),
        ("air limit, cut-off", degrees(plan.air_limit)),
        ("target of the places", degrees(plan.target_temperature)),
        ("length of the run", format_quantity(plan.horizon, "time")),
    ]
    return [facts[index : index + 2] for index in range(0, len(facts), 2)]


def _cells(size: float, units: System) -> str:
    return f"{format_small_length(size, units)} on a side"


def _answer(case: Case, assessment: Assessment, units: System) -> list[str]:
    lines = [verdict_line(assessment, case, units)]
    if assessment.cold_spots:
        spot = assessment.cold_spots[0]
        coldest = format_quantity(spot.coldest, "temperature", units)
        first = "Worst place" if spot.kind == "cold" else "Last place"
        lines.append(f"{first}: {spot.words}, {coldest} {assessment.end.words}.")
    hottest = format_quantity(assessment.air_maximum, "temperature", units)
    limit = format_quantity(case.treatment.air_limit, "temperature", units)
    over = "above" if assessment.air_maximum > case.treatment.air_limit else "within"
    lines.append(f"Hottest air anywhere: {hottest}, {over} the limit of {limit}.")
    return lines


def _readiness(
    result: Result, units: System
) -> list[tuple[str, list[tuple[str, list[tuple[list[str], str]]]]]]:
    """Return each heading with its items, those of one reason together where the first of it is."""
    lists = []
    asked = with_costs(readiness(result.case, units), costs(result.findings))
    for heading, items in parts_of(asked):
        alike: dict[str, list[ReadinessItem]] = {}
        for item in items:
            alike.setdefault(why(item), []).append(item)
        lists.append(
            (heading, [(_short(reason), _together(of_it)) for reason, of_it in alike.items()])
        )
    return lists


def _short(reason: str) -> str:
    """Return a reason with the commonest standing in one word, explained below the lists."""
    return reason.replace(f"({Standing.PRACTICE.value})", "(practice)")


def _together(items: Iterable[ReadinessItem]) -> list[tuple[list[str], str]]:
    """Return what is done to several pieces once: their names, each with a box, and the words."""
    found: list[tuple[list[str], str]] = []
    for item in items:
        name, colon, words = item.words.partition(": ")
        is_of_piece = bool(colon) and item.key.startswith(f"{name}: ")
        if not is_of_piece:
            # The load sheet itself stands on this sheet, so its rows are not told again.
            is_told = item.words.startswith(PLUG_IN)
            found.append(([""], PLUG_IN if is_told else item.words))
            continue
        same = next((row for row in found if row[1] == words and row[0] != [""]), None)
        if same is None:
            found.append(([name], words))
        else:
            same[0].append(name)
    return found


def _limits(result: Result, assessment: Assessment, units: System) -> list[str]:
    """Return what was assumed, then the limits of the answer."""
    dwelling = result.case.dwelling
    start, outdoors = (
        format_quantity(value, "temperature", units)
        for value in (dwelling.start_temperature, dwelling.outdoor_temperature)
    )
    volume = sum(room.size[0] * room.size[1] * room.size[2] for room in dwelling.rooms)
    leaks = sum(leak.flow for leak in dwelling.leakage)
    lines = [
        f"Assumed: the home is at {start} when the heat begins, outdoors it is {outdoors} all day; "
        f"cracks exchange {3600.0 * leaks / volume:.2f} of the air an hour; no wind; rooms, walls, "
        "furniture and what is in it as the case says.",
    ]
    if grid_error.NAME not in result.findings:
        lines.append(NO_COMPANION)
    lines.append(f"Heat balance closes to {assessment.heat_imbalance:.1e} of the heat put in.")
    return [*lines, *assessment.notes]
