"""The column beside the room: the verdict, the cold spots as a list, the day as curves."""

import re
import textwrap
from itertools import pairwise

import numpy as np

from simulator.assessment.assessment import Assessment, ColdSpot
from simulator.grid.grid import FloatArray
from simulator.history import History, nearest_index
from simulator.output.pen import AIR, DONE, INK, MEAN, NOT_DONE, QUIET, RULE, SPOT_BADGE, Pen
from simulator.units import System, format_quantity, whole_degrees

#: What every hiding place must reach [°C].
GOAL = 50.0

LEFT = 14.0  # of all text [pixels]
CHART_HEIGHT = 185.0  # [pixels]


def draw_side_panel(
    pen: Pen,
    history: History,
    assessment: Assessment,
    *,
    time: float,
    units: System,
    note: str,
) -> None:
    """Draw verdict, facts at ``time`` [s], list of cold spots, curves, and ``note`` at the foot."""
    width, height = pen.axes.get_xlim()[1] / pen.unit, pen.axes.get_ylim()[0] / pen.unit
    y = 16.0
    verdict, colour = verdict_line(history, assessment, units)
    for line in textwrap.wrap(verdict, 30):
        pen.write(LEFT, y, line, 23.0, colour, bold=True)
        y += 30.0
    for line in facts(history, assessment, time, units):
        pen.write(LEFT, y, line, 16.5)
        y += 25.0
    pen.line([LEFT, width - LEFT], [y + 12.0, y + 12.0], RULE, 1.0)
    pen.write(LEFT, y + 38.0, _heading(assessment), 19.0, bold=True)
    lines = textwrap.wrap(note, 52)
    for index, line in enumerate(lines):
        pen.write(LEFT, height - 24.0 - 18.0 * (len(lines) - 1 - index), line, 13.0, QUIET)
    foot = height - 24.0 - 18.0 * len(lines)
    _draw_spots(pen, assessment, y + 68.0, foot - CHART_HEIGHT - 6.0, units)
    box = (LEFT, foot - CHART_HEIGHT, width - 62.0, foot)
    _draw_chart(pen, history, assessment, box, time, units)


def verdict_line(history: History, assessment: Assessment, units: System) -> tuple[str, str]:
    """Return the verdict of the run in words, and its colour."""
    end = format_quantity(float(history.time[-1]), "time", units)
    if assessment.is_all_done:
        when = format_quantity(assessment.finishing_time, "time", units)
        return f"Every hiding place done after {when}", DONE
    if not history.is_complete:
        return f"Not done; stopped at {end}", NOT_DONE
    return f"Not done within {end}", NOT_DONE


def facts(history: History, assessment: Assessment, time: float, units: System) -> list[str]:
    """Return what is to be told of a moment [s], a line each."""
    moment = nearest_index(history.time, time)
    coldest = format_quantity(float(assessment.coldest[moment]), "temperature", units)
    air = format_quantity(float(history.air_mean[moment]), "temperature", units)
    below = _percent(100.0 * float(assessment.fraction_below_50[moment]))
    facts = [
        f"Coldest hiding place {coldest}",
        f"Mean of the air {air}",
        f"{below} of hiding places' volume below {whole_degrees(GOAL, units)}",
    ]
    if assessment.is_all_done:
        later = assessment.finishing_time_colder
        end = format_quantity(float(history.time[-1]), "time", units)
        is_known = np.isfinite(later)
        when = format_quantity(later, "time", units) if is_known else f"not within {end}"
        colder = format_quantity(2.0, "temperature difference", units)
        facts.append(f"The same with all {colder} colder: {when}")
    return facts


def _percent(value: float) -> str:
    if 0.0 < value < 0.1:
        return "under 0.1 %"
    return f"{value:.1f} %" if value < 10.0 else f"{value:.0f} %"


def _heading(assessment: Assessment) -> str:
    count = len(assessment.cold_spots)
    if count == 0:
        return "No cold spots"
    if assessment.cold_spots[0].kind == "slow":
        return "Slowest places"
    return f"Cold spots ({count})" if count > 1 else "Cold spot"


def _draw_spots(pen: Pen, assessment: Assessment, top: float, last: float, units: System) -> None:
    """Draw as many entries as there is height for, then how many are left."""
    y, spots = top, assessment.cold_spots
    for index, spot in enumerate(spots):
        words = textwrap.wrap(short_words(spot), 39)
        numbers = _numbers(spot, assessment.end.words, units)
        rest = len(spots) - index
        needed = 20.0 * len(words) + 18.0 + (22.0 if rest > 1 else 0.0)
        if y + needed > last:
            pen.write(LEFT, y, f"and {rest} more in the printed answer", 15.0, QUIET)
            return
        pen.badge(LEFT + 15.0, y + 2.0, spot.rank)
        for line in words:
            pen.write(LEFT + 40.0, y, line, 15.5)
            y += 20.0
        pen.write(LEFT + 40.0, y, numbers, 14.0, QUIET)
        y += 32.0


def short_words(spot: ColdSpot) -> str:
    """Return the words of a cold spot without what else lies in it; the printed answer has all."""
    return re.sub(r"\s*\(and [^()]*\)", "", spot.words)


def _numbers(spot: ColdSpot, end: str, units: System) -> str:
    coldest = format_quantity(spot.coldest, "temperature", units)
    if np.isfinite(spot.time_to_done):
        return f"{coldest}, done after {format_quantity(spot.time_to_done, 'time', units)}"
    return f"{coldest} {end}"


def _draw_chart(
    pen: Pen,
    history: History,
    assessment: Assessment,
    box: tuple[float, float, float, float],
    time: float,
    units: System,
) -> None:
    """Draw coldest and mean hiding place and the air against time, with names at the ends.

    The moment ``time`` [s] that the picture shows is marked, if it is not the end of the run.
    """
    left, top, right, bottom = box
    axis, end_time = bottom - 30.0, float(history.time[-1])
    high = max(65.0, float(np.max(history.air_mean)))
    low = min(20.0, float(np.min(assessment.coldest)))

    def place(celsius: FloatArray) -> FloatArray:
        lifted: FloatArray = axis - 4.0 - (celsius - low) / (high - low) * (axis - top - 30.0)
        return lifted

    title = "Air, mean, coldest hiding place"
    if time < end_time:
        title += f"; dotted: {format_quantity(time, 'time') if time > 0.0 else '0 h'}"
        now = left + time / end_time * (right - left)
        pen.line([now, now], [top + 20.0, axis], INK, 1.4).set_linestyle((0, (1, 1.5)))
    pen.write(left, top + 6.0, title, 14.0, QUIET)
    goal = float(place(np.array(GOAL)))
    pen.line([left, right], [goal, goal], NOT_DONE, 1.2).set_linestyle((0, (4, 3)))
    across = left + history.time / end_time * (right - left)
    curves = (
        ("air", history.air_mean, AIR),
        ("mean", assessment.mean, MEAN),
        ("coldest", assessment.coldest, SPOT_BADGE),
    )
    for _, curve, colour in curves:
        pen.line(across, place(curve), colour, 2.2)
    names = [(name, float(place(curve[-1])), colour) for name, curve, colour in curves]
    names.append((whole_degrees(GOAL, units), goal, NOT_DONE))
    for (name, _, colour), end in zip(names, spread([n[1] for n in names], 16.0), strict=True):
        pen.write(right + 5.0, end, name, 14.0, colour)
    pen.line([left, right], [axis, axis], INK, 1.0)
    for share, align in ((0.0, "left"), (0.5, "center"), (1.0, "right")):
        told = format_quantity(share * end_time, "time") if share else "0"
        pen.write(left + share * (right - left), bottom - 14.0, told, 14.0, align=align)


def spread(places: list[float], gap: float) -> list[float]:
    """Return the places moved apart downwards until none is nearer than ``gap`` to the next."""
    order = [int(index) for index in np.argsort(places, kind="stable")]
    moved = list(places)
    for before, after in pairwise(order):
        moved[after] = max(moved[after], moved[before] + gap)
    return moved
