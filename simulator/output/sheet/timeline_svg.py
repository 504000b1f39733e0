"""The day as a drawing: phases, set point, expected temperatures, changes at their hour."""

import math

import numpy as np
from markupsafe import Markup

from simulator.assessment.assessment import Assessment
from simulator.case.case import Case
from simulator.grid.grid import FloatArray
from simulator.history import History
from simulator.output.sheet import svg
from simulator.output.sheet.svg import Drawing
from simulator.output.side_panel import spread
from simulator.output.temperature_scale import shown_temperature
from simulator.output.time_axis import time_axis
from simulator.units import System, format_quantity

WIDTH, HEIGHT = 184.0, 41.0
LEFT, RIGHT, TOP, BOTTOM = 10.0, 150.0, 7.0, 36.0  # of the curves [mm]
MOST_POINTS = 200  # of a curve on paper

#: Strokes that tell the curves apart: width [mm] and dashes.
STROKES = {
    "room air, mean": (0.7, ""),
    "hiding places, mean": (0.3, ""),
    "coldest hiding place": (0.45, "1.8 0.9"),
    "set point": (0.3, "0.5 0.7"),
}


def draw_timeline(case: Case, history: History, assessment: Assessment, units: System) -> Drawing:
    """Return curves against the hours, phases as bars above, changes as numbered flags."""
    end = max(float(history.time[-1]), case.treatment.horizon)
    curves = {
        "room air, mean": (history.time, history.air_mean),
        "hiding places, mean": (history.time, assessment.mean),
        "coldest hiding place": (history.time, assessment.coldest),
        "set point": _set_point(case),
    }
    values = np.concatenate([curve for _, curve in curves.values()])
    values = values[np.isfinite(values)]
    target = case.treatment.target_temperature
    low = 10.0 * math.floor(min(float(values.min()), 20.0) / 10.0)
    high = 10.0 * math.ceil((max(float(values.max()), target) + 2.0) / 10.0)

    def across(time: float) -> float:
        return LEFT + (RIGHT - LEFT) * time / end

    def up(celsius: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (celsius - low) / (high - low)

    drawn = [*_axes(low, high, end, units), *_phases(case, end)]
    drawn.append(svg.line(LEFT, up(target), RIGHT, up(target), 0.2, "3 0.8 0.6 0.8"))
    ends = {"target " + _degrees(target, units): up(target)}
    for name, (time, curve) in curves.items():
        width, dash = STROKES[name]
        seen = [(float(t), float(c)) for t, c in zip(time, curve, strict=True) if math.isfinite(c)]
        if not seen:
            continue
        step = max(1, len(seen) // MOST_POINTS)
        kept = seen if name == "set point" else [*seen[:-1:step], seen[-1]]
        points = [(across(t), up(c)) for t, c in kept]
        drawn.append(svg.path(points, width=width, dash=dash, is_closed=False))
        ends[name] = points[-1][1]
    for (name, y), place in zip(ends.items(), spread(list(ends.values()), 3.1), strict=True):
        lowered = place - max(0.0, max(spread(list(ends.values()), 3.1)) - BOTTOM)
        width, dash = STROKES.get(name, (0.2, "3 0.8 0.6 0.8"))
        drawn.append(svg.line(RIGHT, y, RIGHT + 2.0, lowered, 0.12))
        drawn.append(svg.line(RIGHT + 2.0, lowered, RIGHT + 8.0, lowered, width, dash))
        drawn.append(svg.text(RIGHT + 9.0, lowered, name, 2.3, anchor="start"))
    for change in case.changes:
        drawn += _flag(across(change.time))
    body = Markup("").join(drawn)
    return Drawing(body, WIDTH, HEIGHT, "temperatures expected against the hours of the day")


def _axes(low: float, high: float, end: float, units: System) -> list[Markup]:
    drawn = [
        svg.line(LEFT, BOTTOM, RIGHT, BOTTOM, 0.3),
        svg.line(LEFT, TOP, LEFT, BOTTOM, 0.3),
    ]
    for celsius in np.arange(low, high + 1.0, 10.0):
        y = BOTTOM - (BOTTOM - TOP) * (float(celsius) - low) / (high - low)
        drawn.append(svg.line(LEFT - 0.8, y, LEFT, y, 0.2))
        drawn.append(svg.line(LEFT, y, RIGHT, y, 0.1, stroke=svg.LIGHT))
        value = float(shown_temperature(np.array(celsius), units))
        drawn.append(svg.text(LEFT - 1.3, y, f"{value:.0f}", 2.2, anchor="end"))
    drawn.append(svg.text(1.0, TOP - 3.2, "°F" if units == "us" else "°C", 2.3, anchor="start"))
    axis = time_axis(end, 14)
    for number, (time, words) in enumerate(zip(axis.times, axis.numbers, strict=True)):
        x = LEFT + (RIGHT - LEFT) * time / end
        drawn.append(svg.line(x, BOTTOM, x, BOTTOM + 0.9, 0.2))
        unit = {"hours": " h", "minutes": " min"}[axis.unit] if number == 0 else ""
        drawn.append(svg.text(x, BOTTOM + 2.6, words + unit, 2.3))
    return drawn


def _phases(case: Case, end: float) -> list[Markup]:
    """Return each phase as a bar with its name: filled lightly while heaters are on."""
    plan = case.treatment.plan
    ends = [*(phase.start for phase in plan[1:]), end]
    drawn = []
    for phase, last in zip(plan, ends, strict=True):
        left = LEFT + (RIGHT - LEFT) * phase.start / end
        right = LEFT + (RIGHT - LEFT) * last / end
        fill = svg.LIGHT if phase.heaters_on else svg.WHITE
        drawn.append(svg.rectangle(left, 0.4, right - left, 4.0, fill=fill, stroke_width=0.25))
        words = f"{phase.name}: heaters {'on' if phase.heaters_on else 'off'}"
        if svg.text_width(words, 2.3) > right - left:
            words = phase.name
        if svg.text_width(words, 2.3) <= right - left:
            drawn.append(svg.text(0.5 * (left + right), 2.4, words, 2.3))
    return drawn


def _flag(x: float) -> list[Markup]:
    """Return the sign of a change: a black lozenge on a line."""
    lozenge = [(x, TOP - 2.2), (x + 1.2, TOP - 1.0), (x, TOP + 0.2), (x - 1.2, TOP - 1.0)]
    return [svg.line(x, TOP, x, BOTTOM, 0.2, "0.6 0.6"), svg.path(lozenge, fill=svg.BLACK)]


def _set_point(case: Case) -> tuple[FloatArray, FloatArray]:
    """Return the set point against time while heaters are on; nan between."""
    plan = case.treatment.plan
    points = case.treatment.set_points(case.dwelling.start_temperature)
    ends = [*(phase.start for phase in plan[1:]), case.treatment.horizon]
    time: list[float] = []
    value: list[float] = []
    for phase, point, end in zip(plan, points, ends, strict=True):
        if not phase.heaters_on:
            continue
        moments = [phase.start, end - 1e-3]
        if math.isfinite(point.rate) and point.rate > 0.0:
            there = phase.start + abs(point.first - point.last) / point.rate
            moments[1:1] = [there] if phase.start < there < end else []
        time += moments
        value += [point.at(moment) for moment in moments]
    return np.array(time), np.array(value)


def _degrees(celsius: float, units: System) -> str:
    return format_quantity(celsius, "temperature", units)
