"""Curves of a chapter as SVG: how much of the hiding volume is still below 50 °C, against time."""

from collections.abc import Sequence
from html import escape

import numpy as np

from simulator.output.comparison_picture import LINES
from simulator.output.pen import INK, QUIET, RULE
from simulator.output.side_panel import spread
from simulator.output.time_axis import time_axis
from simulator.studies.comparison import Answer

WIDTH, HEIGHT = 860, 330
LEFT, RIGHT, TOP, BOTTOM = 46, 560, 14, 286
POINTS = 60  # of each curve: more cannot be seen
DASHES = ("", "9 4", "3 3", "12 4 3 4", "1.5 3", "16 5 3 5 3 5")


def cold_share_svg(answers: Sequence[Answer], words: str) -> str:
    """Return a figure with one curve a state, each named at its end; ``words`` say what it is."""
    end = max(float(one.time[-1]) for one in answers)
    lines = [
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(words)}" '
        'font-family="inherit" font-size="13">'
    ]
    for percent in (0, 25, 50, 75, 100):
        y = _y(percent)
        lines.append(f'<path d="M{LEFT} {y:.1f}H{RIGHT}" stroke="{RULE}"/>')
        lines.append(f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{percent} %</text>')
    axis = time_axis(end, 6)
    for time, told in zip(axis.times, axis.words, strict=True):
        x = LEFT + time / end * (RIGHT - LEFT)
        lines.append(f'<path d="M{x:.1f} {BOTTOM}v5" stroke="{QUIET}"/>')
        lines.append(f'<text x="{x:.1f}" y="{BOTTOM + 20}" text-anchor="middle">{told}</text>')
    ends = [_y(100.0 * float(one.assessment.fraction_below_50[-1])) for one in answers]
    places = _apart(ends, 17.0, HEIGHT - 12.0)
    for number, (one, place) in enumerate(zip(answers, places, strict=True)):
        colour, dash = LINES[number % len(LINES)][0], DASHES[number % len(DASHES)]
        width = 2.4 if number < len(LINES) else 1.3
        lines.append(
            f'<path d="{_path(one, end)}" fill="none" stroke="{colour}" stroke-width="{width}"'
            + (f' stroke-dasharray="{dash}"' if dash else "")
            + "/>"
        )
        lines.append(
            f'<path d="M{RIGHT} {ends[number]:.1f}L{RIGHT + 22} {place:.1f}" stroke="{QUIET}" '
            'stroke-width="0.7"/>'
        )
        lines.append(
            f'<text x="{RIGHT + 26}" y="{place + 4:.1f}" fill="{INK}">{escape(one.label)}</text>'
        )
    return "".join([*lines, "</svg>"])


def _apart(places: list[float], gap: float, last: float) -> list[float]:
    """Return the places moved apart, down first, and then up from ``last`` where they pass it."""
    moved = spread(places, gap)
    for index in sorted(range(len(moved)), key=lambda n: -moved[n]):
        moved[index] = min(moved[index], last)
        last = moved[index] - gap
    return moved


def _y(percent: float) -> float:
    return BOTTOM - percent / 100.0 * (BOTTOM - TOP)


def _path(one: Answer, end: float) -> str:
    picked = np.unique(np.rint(np.linspace(0, one.time.size - 1, POINTS)).astype(int))
    x = LEFT + one.time[picked] / end * (RIGHT - LEFT)
    y = BOTTOM - one.assessment.fraction_below_50[picked] * (BOTTOM - TOP)
    return "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in zip(x, y, strict=True))
