"""The curves of a run: temperatures, how much is still too cold, and what the heaters give."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from simulator.assessment.assessment import Assessment
from simulator.case.treatment import Treatment
from simulator.history import History
from simulator.output.pen import (
    AIR,
    DONE,
    DOTS_PER_INCH,
    HEATER,
    INK,
    MEAN,
    NOT_DONE,
    QUIET,
    RULE,
    SPOT_BADGE,
    WARMEST,
)
from simulator.output.picture_sheet import blank_figure
from simulator.output.side_panel import GOAL, spread, verdict_line
from simulator.output.temperature_scale import FIXED_SCALE, shown_temperature
from simulator.output.time_axis import time_axis
from simulator.units import System, format_quantity, whole_degrees


@dataclass(frozen=True, slots=True)
class SetPointPlan:
    """A plan of the day and the temperature at which its ramps begin [°C]."""

    treatment: Treatment
    start_temperature: float


def plot_curves(
    history: History,
    assessment: Assessment,
    path: Path,
    *,
    plan: SetPointPlan | None = None,
    title: str = "",
    units: System = "si",
    size: tuple[int, int] = (1400, 1050),
) -> Path:
    """Write three panels against time as PNG and return its path.

    Above, the coldest, mean and warmest hiding place and the mean of the air; in the middle, the
    share of the hiding places' volume below 50 °C; below, the power of all heaters together. The
    phases of a plan of the day are named, and its set point is drawn.

    Parameters
    ----------
    plan : the plan of the day.
    title : printed above the verdict.
    size : width and height [pixels].
    """
    figure = blank_figure(size)
    panels = figure.subplots(3, 1, sharex=True, height_ratios=(3.2, 1.5, 1.0))
    figure.subplots_adjust(left=0.09, right=0.86, top=0.885, bottom=0.075, hspace=0.16)
    verdict, colour = verdict_line(history, assessment, units)
    figure.text(0.09, 0.955, title, fontsize=17, color=INK, fontweight="bold", va="center")
    figure.text(0.09, 0.915, verdict, fontsize=13, color=colour, fontweight="bold", va="center")
    for panel in panels:
        style(panel)
    _plot_temperatures(panels[0], history, assessment, plan, units)
    _plot_share(panels[1], history, assessment, units)
    _plot_power(panels[2], history)
    if plan is not None:
        _mark_phases(panels, plan.treatment, history.time[-1])
    mark_times(panels[2], float(history.time[-1]))
    figure.align_ylabels(panels)
    figure.savefig(path, format="png", dpi=DOTS_PER_INCH)
    return path


def style(panel: Any) -> None:
    """Leave only what helps to read values: two axes and light lines across."""
    panel.spines[["top", "right"]].set_visible(False)
    panel.spines[["left", "bottom"]].set_color(QUIET)
    panel.tick_params(colors=INK, labelsize=11)
    panel.grid(axis="both", color=RULE, lw=0.6, alpha=0.7)
    panel.set_axisbelow(True)


def mark_times(panel: Any, end: float) -> None:
    """Mark round times on an axis in hours that ends at ``end`` [s]."""
    axis = time_axis(end)
    panel.set_xlabel(axis.unit, fontsize=12, color=INK)
    panel.set_xlim(0.0, end / 3600.0)
    panel.set_xticks([time / 3600.0 for time in axis.times], axis.numbers)


def _plot_temperatures(
    panel: Any,
    history: History,
    assessment: Assessment,
    plan: SetPointPlan | None,
    units: System,
) -> None:
    hours = history.time / 3600.0
    curves = (
        ("warmest hiding place", assessment.warmest, WARMEST, 1.6),
        ("mean of the air", history.air_mean, AIR, 1.6),
        ("mean hiding place", assessment.mean, MEAN, 2.0),
        ("coldest hiding place", assessment.coldest, SPOT_BADGE, 2.6),
    )
    for _, curve, colour, width in curves:
        panel.plot(hours, shown_temperature(curve, units), color=colour, lw=width)
    tops = [float(np.max(curve)) for _, curve, _, _ in curves]
    low = min(FIXED_SCALE.low, float(np.min(assessment.coldest))) - 1.0
    high = max(FIXED_SCALE.high, *tops) + 1.0
    limits = shown_temperature(np.array([low, high]), units)
    panel.set_ylim(*limits)
    panel.set_ylabel(f"temperature, {'°F' if units == 'us' else '°C'}", fontsize=12, color=INK)
    goal = float(shown_temperature(np.array(GOAL), units))
    panel.axhline(goal, color=NOT_DONE, lw=1.2, ls=(0, (5, 3)))
    ends = [(name, float(curve[-1]), colour) for name, curve, colour, _ in curves]
    to_reach = (f"{whole_degrees(GOAL, units)} to be reached", GOAL, NOT_DONE)
    ends.append(to_reach)
    if plan is not None and plan.treatment.phases:
        last = _plot_set_point(panel, plan, float(history.time[-1]), units)
        ends += [("set point", last, HEATER)] if np.isfinite(last) else []
    name_the_ends(panel, hours[-1], ends, units)
    if assessment.is_all_done:
        _mark_finish(panel, assessment.finishing_time, units)


def _mark_phases(panels: Any, treatment: Treatment, end: float) -> None:
    """Draw a line where each phase begins, and write its name over it."""
    for number, phase in enumerate(treatment.phases):
        if phase.start > end:
            break
        hour = phase.start / 3600.0
        for panel in panels if number else ():
            panel.axvline(hour, color=QUIET, lw=1.0, ls=(0, (1, 2)))
        off = [
            word
            for word, is_on in (("heaters", phase.heaters_on), ("fans", phase.fans_on))
            if not is_on
        ]
        panels[0].annotate(
            f" {phase.name}" + (f" ({' and '.join(off)} off)" if off else ""),
            xy=(hour, 1.015),
            xycoords=panels[0].get_xaxis_transform(),
            fontsize=11,
            color=QUIET,
            annotation_clip=False,
        )


def _plot_set_point(panel: Any, plan: SetPointPlan, end: float, units: System) -> float:
    """Plot the set point where heaters heat, and return where it ends [°C]."""
    treatment, last = plan.treatment, np.nan
    starts = [phase.start for phase in treatment.phases]
    points = treatment.set_points(plan.start_temperature)
    for phase, point, until in zip(treatment.phases, points, [*starts[1:], end], strict=True):
        if not phase.heaters_on or phase.start >= end:
            continue
        time = np.linspace(phase.start, min(until, end), 200)
        values = np.array([point.at(float(t)) for t in time])
        shown = shown_temperature(values, units)
        panel.plot(time / 3600.0, shown, color=HEATER, lw=1.2, ls=(0, (6, 2)))
        last = float(values[-1])
    return last


def name_the_ends(
    panel: Any, end: float, names: list[tuple[str, float, str]], units: System
) -> None:
    """Write each curve's name beside its end, moved apart where ends lie close together."""
    bottom, top = panel.get_ylim()
    gap = 0.058 * (top - bottom)
    ends = [float(shown_temperature(np.array(value), units)) for _, value, _ in names]
    moved = [-place for place in spread([-place for place in ends], gap)]
    for (name, _, colour), place in zip(names, moved, strict=True):
        panel.annotate(
            name,
            xy=(end, place),
            xytext=(7, 0),
            textcoords="offset points",
            fontsize=11,
            color=colour,
            va="center",
            annotation_clip=False,
        )


def _mark_finish(panel: Any, finishing_time: float, units: System) -> None:
    hour = finishing_time / 3600.0
    panel.axvline(hour, color=DONE, lw=1.2, ls=(0, (2, 2)))
    panel.annotate(
        f"last place done: {format_quantity(finishing_time, 'time', units)} ",
        xy=(hour, 0.04),
        xycoords=panel.get_xaxis_transform(),
        fontsize=11,
        color=DONE,
        ha="right",
    )


def _plot_share(panel: Any, history: History, assessment: Assessment, units: System) -> None:
    hours = history.time / 3600.0
    share, end = 100.0 * assessment.fraction_below_50, assessment.end.index
    panel.fill_between(hours, share, color=SPOT_BADGE, alpha=0.18, lw=0.0)
    panel.plot(hours, share, color=SPOT_BADGE, lw=2.0)
    panel.set_ylim(0.0, 105.0)
    panel.set_yticks([0, 25, 50, 75, 100])
    panel.set_ylabel(
        f"% of hiding volume\nbelow {whole_degrees(GOAL, units)}", fontsize=12, color=INK
    )
    place = max(float(share[end]), 6.0)
    if end != -1:  # within the panel: on the side of the curve where there is room
        place += 30.0 if place < 50.0 else -30.0
    panel.annotate(
        f"{share[end]:.1f} % {assessment.end.words}",
        xy=(hours[end], place),
        xytext=(7, 0) if end == -1 else (-7, 0),
        textcoords="offset points",
        fontsize=11,
        color=SPOT_BADGE,
        ha="left" if end == -1 else "right",
        va="center",
        annotation_clip=False,
    )


def _plot_power(panel: Any, history: History) -> None:
    """Plot the sum over heaters; in kW in both systems, as it is printed on the heaters."""
    power = history.heater_power.sum(axis=1) / 1000.0
    panel.plot(history.time / 3600.0, power, color=HEATER, lw=1.8)
    panel.set_ylim(0.0, 1.12 * max(float(np.max(power, initial=0.0)), 0.1))
    panel.set_ylabel("heaters, kW", fontsize=12, color=INK)
