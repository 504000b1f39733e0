"""Plots of a study: the league of rules with its intervals, and plans of the worst dwellings."""

import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from simulator.case.case import Case
from simulator.case.overlap import corners as corners_of
from simulator.case.parts import AirMover, Box, HeatedJet, Part, PorousPart, SolidPart
from simulator.output.pen import DOTS_PER_INCH, FAN, HEATER, INK, QUIET, RULE
from simulator.output.plan_drawing import fitted_plan, outline
from simulator.studies.campaign.league import Scores, league
from simulator.studies.campaign.outcome import OUTCOMES
from simulator.studies.free_floor import STANDABLE
from simulator.studies.layout_rules import NUMBER_WORDS, RULES

#: Length of the arrow of a fan or a heater [m].
ARROW = 0.7


def plot_league(scores: Scores, reference: str, path: Path, *, title: str) -> Path:
    """Write the league of rules as PNG: gains with intervals, and every dwelling as a dot."""
    table = [row for row in league(scores, reference) if row.rule != reference]
    figure, axes = _figure((1200, 170 + 62 * len(table)))
    against = scores.values[:, scores.rules.index(reference)]
    lots = np.random.default_rng(1)
    for height, row in enumerate(reversed(table)):
        apart = against - scores.values[:, scores.rules.index(row.rule)]
        spread = height + lots.uniform(-0.26, 0.26, apart.size)
        axes.plot(apart, spread, ".", ms=8, color=FAN, alpha=0.55, mew=0)
        axes.plot([row.gain_low, row.gain_high], [height, height], color=INK, lw=2.5)
        axes.plot(row.gain, height, "o", ms=7, color=INK)
    axes.axvline(0.0, color=RULE, lw=1.2, zorder=0)
    axes.set_yticks(range(len(table)), [RULES[row.rule].words for row in reversed(table)])
    axes.set_ylim(-0.6, len(table) - 0.4)
    axes.set_xlabel(
        f'hours of mean time to done saved against "{RULES[reference].words}": dots dwellings, '
        "bars 95 % intervals of the mean"
    )
    axes.set_title(f"{title}: {len(scores.dwellings)} dwellings", loc="left", color=INK)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.tick_params(axis="y", length=0)
    return _write(figure, path)


def plot_numbers(rows: Sequence[dict[str, Any]], name: str, measure: str, path: Path) -> Path:
    """Write an outcome against one number of the rules as PNG: the mean of each rule."""
    figure, axes = _figure((1000, 620))
    for rule in dict.fromkeys(row["rule"] for row in rows):
        ours = [row for row in rows if row["rule"] == rule and row[measure] is not None]
        settings = sorted({row[name] for row in ours})
        means = [np.mean([row[measure] for row in ours if row[name] == at]) for at in settings]
        if len(settings) > 1:
            axes.plot(settings, means, "o-", label=RULES[rule].words)
    axes.set_xlabel(NUMBER_WORDS.get(name, name))
    axes.set_ylabel(textwrap.fill(OUTCOMES[measure], 46))
    if axes.lines:
        axes.legend(frameon=False, fontsize=9)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return _write(figure, path)


def draw_plans(cases: Sequence[tuple[str, Case]], path: Path, *, columns: int = 3) -> Path:
    """Write plans of cases with their heaters and fans as PNG, each under its own words."""
    from matplotlib.figure import Figure

    rows = -(-len(cases) // columns)
    width, height = 520, 420
    figure = Figure((columns * width / DOTS_PER_INCH, rows * height / DOTS_PER_INCH))
    for number, (words, case) in enumerate(cases, start=1):
        axes = figure.add_subplot(rows, columns, number)
        _draw_plan(axes, case, (width, height))
        axes.set_title(words, fontsize=9, color=INK)
    figure.tight_layout()
    return _write(figure, path)


def _draw_plan(axes: Any, case: Case, size: tuple[int, int]) -> None:
    """Draw rooms, doors, windows, furniture, heaters (red) and fans (green) from above."""
    from matplotlib.patches import Polygon

    view = fitted_plan(case.dwelling, size, margin=10.0)

    def flat(points: Sequence[tuple[float, float]]) -> Any:
        return view.project(np.array([(x, y, 0.0) for x, y in points]))

    for room in case.dwelling.rooms:
        (west, south), (east, north) = room.low[:2], room.high[:2]
        corners = flat([(west, south), (east, south), (east, north), (west, north)])
        axes.add_patch(Polygon(corners, fc="white", ec="#3a3a3a", lw=2.0, zorder=1))
    for part in sorted(case.parts, key=_height):
        if isinstance(part, SolidPart | PorousPart) and _top(case, part.box) > STANDABLE:
            shape = outline(part.box, view)
            axes.add_patch(Polygon(shape, fc="#e4ddd0", ec="#8d8577", lw=0.5, zorder=2))
    for door in case.dwelling.doorways:
        (west, south), (east, north) = door.low[:2], door.high[:2]
        corners = flat([(west, south), (east, south), (east, north), (west, north)])
        axes.add_patch(Polygon(corners, fc="white", ec="white", lw=2.5, zorder=3))
    for window in case.dwelling.windows:
        ends = flat([(window.low[0], window.low[1]), (window.high[0], window.high[1])])
        axes.plot(*ends.T, color="#4c8bbf", lw=4.0, zorder=3)
    for part in case.parts:
        if isinstance(part, AirMover | HeatedJet):
            start = np.array(part.centre[:2])
            tip = start + ARROW * np.array(part.direction[:2])
            (x, y), end = flat([(start[0], start[1]), (tip[0], tip[1])])
            colour = FAN if isinstance(part, AirMover) else HEATER
            axes.plot(x, y, "o", ms=4, color=colour, zorder=5)
            arrow = {"arrowstyle": "-|>", "color": colour, "lw": 1.8}
            axes.annotate("", xy=tuple(end), xytext=(x, y), arrowprops=arrow, zorder=5)
    axes.set_xlim(0.0, size[0])
    axes.set_ylim(size[1], 0.0)
    axes.set_aspect("equal")
    axes.axis("off")


def _height(part: Part) -> float:
    """Return how high the middle of a part is [m]: what is higher is drawn later."""
    return part.box.centre[2] if isinstance(part, SolidPart | PorousPart) else 0.0


def _top(case: Case, box: Box) -> float:
    """Return how high the top of a box is above the floor of the lowest room [m]."""
    floor = min(room.low[2] for room in case.dwelling.rooms)
    return max(point[2] for point in corners_of(box)) - floor


def _figure(size: tuple[int, int]) -> tuple[Any, Any]:
    from matplotlib.figure import Figure

    figure = Figure((size[0] / DOTS_PER_INCH, size[1] / DOTS_PER_INCH), layout="constrained")
    axes = figure.add_subplot()
    axes.tick_params(colors=QUIET)
    return figure, axes


def _write(figure: Any, path: Path) -> Path:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    FigureCanvasAgg(figure)
    figure.savefig(path, dpi=DOTS_PER_INCH, metadata={"Software": None})
    return path


def worst_words(rule: str, where: str, loss: float) -> str:
    """Return the words over a plan of a dwelling in which a rule fails."""
    return f"{RULES[rule].words}\n{where}: {loss:.2f} h behind the best rule"
