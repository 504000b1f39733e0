"""Curves of a chapter as SVG: the litres still below 50 °C in places all states have, in time."""

import math
from collections.abc import Sequence, Set
from html import escape

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.grid.place_key import PlaceKey
from simulator.output.comparison_picture import LINES
from simulator.output.pen import INK, QUIET, RULE
from simulator.output.side_panel import spread
from simulator.output.time_axis import time_axis
from simulator.studies.comparison import Answer, cold_litres_in

WIDTH, HEIGHT = 860, 330
LEFT, RIGHT, TOP, BOTTOM = 62, 560, 14, 286
POINTS = 60  # of each curve: more cannot be seen
DASHES = ("", "9 4", "3 3", "12 4 3 4", "1.5 3", "16 5 3 5 3 5")


def cold_litres_svg(answers: Sequence[Answer], common: Set[PlaceKey], words: str) -> str:
    """Return a figure with one curve a state, each named at its end.

    Parameters
    ----------
    common : the hiding places whose litres are counted: those that all states have.
    words : what the figure is.
    """
    curves = [cold_litres_in(one, common) for one in answers]
    marks = _marks(max(float(curve.max()) for curve in curves))
    end = max(float(one.time[-1]) for one in answers)
    lines = [
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(words)}" '
        'font-family="inherit" font-size="13">'
    ]
    for litres in marks:
        y = _y(litres / marks[-1])
        lines.append(f'<path d="M{LEFT} {y:.1f}H{RIGHT}" stroke="{RULE}"/>')
        lines.append(f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{litres:,g} l</text>')
    axis = time_axis(end, 6)
    for time, told in zip(axis.times, axis.words, strict=True):
        x = LEFT + time / end * (RIGHT - LEFT)
        lines.append(f'<path d="M{x:.1f} {BOTTOM}v5" stroke="{QUIET}"/>')
        lines.append(f'<text x="{x:.1f}" y="{BOTTOM + 20}" text-anchor="middle">{told}</text>')
    ends = [_y(float(curve[-1]) / marks[-1]) for curve in curves]
    places = _apart(ends, 17.0, HEIGHT - 12.0)
    for number, (one, curve, place) in enumerate(zip(answers, curves, places, strict=True)):
        colour, dash = LINES[number % len(LINES)][0], DASHES[number % len(DASHES)]
        width = 2.4 if number < len(LINES) else 1.3
        lines.append(
            f'<path d="{_path(one.time / end, curve / marks[-1])}" fill="none" '
            f'stroke="{colour}" stroke-width="{width}"'
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


def _marks(most: float) -> list[float]:
    """Return round numbers from 0 up to the first that is not below ``most``, about five.

    >>> _marks(1845.0)
    [0.0, 500.0, 1000.0, 1500.0, 2000.0]
    """
    rough = max(most, 1e-3) / 5.0
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(step * size for step in (1.0, 2.0, 2.5, 5.0, 10.0) if step * size >= rough)
    return [step * number for number in range(math.ceil(max(most, 1e-3) / step - 1e-9) + 1)]


def _y(share: float) -> float:
    return BOTTOM - share * (BOTTOM - TOP)


def _path(across: FloatArray, share: FloatArray) -> str:
    picked = np.unique(np.rint(np.linspace(0, share.size - 1, POINTS)).astype(int))
    x = LEFT + across[picked] * (RIGHT - LEFT)
    y = BOTTOM - share[picked] * (BOTTOM - TOP)
    return "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in zip(x, y, strict=True))
