"""What a series of a lesson shows, in sentences that claim no more than its numbers."""

import math

from simulator.studies.comparison import COMMON_LITRES, Comparison
from simulator.studies.comparison_words import FIELD_STUDY, SHARED
from simulator.studies.lesson_plan import Series
from simulator.units import System, format_quantity, format_small_length, whole_degrees

#: Name of the figure that series are told by, beside ``COMMON_LITRES``.
COLD_SHARE = "volume below 50 °C"


def common_litres(found: Comparison) -> tuple[float, ...]:
    """Return the litres below 50 °C of each state in the hiding places that all states have."""
    return next(figure.values for figure in found.figures if figure.name == COMMON_LITRES)


def cold_shares(found: Comparison) -> tuple[float, ...]:
    """Return the share of the hiding volume below 50 °C of each state, at the common moment [-]."""
    return next(figure.values for figure in found.figures if figure.name == COLD_SHARE)


def sentences(series: Series, found: Comparison, units: System) -> list[str]:
    """Return what a series shows, then what limits it.

    Parameters
    ----------
    found : the comparison of the series' states, in their order.
    """
    fifty = whole_degrees(50.0, units)
    when = format_quantity(found.moment, "time", units)
    told = {
        state.name: f"{100.0 * share:.1f} %"
        for state, share in zip(series.states, cold_shares(found), strict=True)
    }
    what = f"of the hiding volume is below {fifty} after {when}"
    if series.name == "clutter":
        lines = _clutter(series, found, f"{fifty} after {when}")
    else:
        teller = {"preparation": _preparation, "fans": _fans}[series.name]
        lines = teller(series, found, told, what)
    lines += _limits(series, found, units)
    return [*lines, *(f"Left out: {reason}" for reason in series.left_out)]


def extremes(series: Series, found: Comparison) -> tuple[int, int]:
    """Return which state with fans leaves the smallest and which the largest cold share."""
    shares = cold_shares(found)
    with_fans = [n for n, state in enumerate(series.states) if state.name != "no fans"]
    if not with_fans:
        return 0, 0
    return min(with_fans, key=lambda n: shares[n]), max(with_fans, key=lambda n: shares[n])


def _preparation(series: Series, found: Comparison, told: dict[str, str], what: str) -> list[str]:
    litres = dict(zip((state.name for state in series.states), common_litres(found), strict=True))
    whole = [state.name for state in series.states if not state.is_step]
    steps = sorted((state.name for state in series.states if state.is_step), key=litres.__getitem__)
    first, *others = whole
    ends = "".join(f"; {name}, {told[name]}" for name in others)
    lines = [
        f"{first.capitalize()}, {told[first]} {what}{ends}.",
        "Of the hiding places that all these states have, so much is below it: "
        + "; ".join(f"{name} {litres[name]:,.0f} l" for name in whole)
        + ". The share also changes with what is carried out; these litres compare like with like.",
    ]
    if steps:
        listed = "; ".join(f"{name} {litres[name]:,.0f} l" for name in steps)
        lines.append(f"Each step alone: {listed}.")
    return lines


def _clutter(series: Series, found: Comparison, what: str) -> list[str]:
    listed = "; ".join(
        f"{state.name} ({state.words}) {litres:,.0f} l"
        for state, litres in zip(series.states, common_litres(found), strict=True)
    )
    return [
        f"Below {what}, in the hiding places that all these states have: {listed}.",
        "Piles are hiding places themselves, and warm loose ones lower the share of what is cold: "
        "so the shares of these states do not compare like with like, the litres above do.",
        FIELD_STUDY,
    ]


def _fans(series: Series, found: Comparison, told: dict[str, str], what: str) -> list[str]:
    least, most = (series.states[n].name for n in extremes(series, found))
    lines = []
    if "no fans" in told:
        lines.append(f"Without fans, {told['no fans']} {what}.")
    if least != most:
        lines.append(
            f"Of the ways to set fans that were tried, '{least}' leaves the least ({told[least]}) "
            f"and '{most}' the most ({told[most]}), with as many fans; other ways were not tried."
        )
    return lines


def _limits(series: Series, found: Comparison, units: System) -> list[str]:
    sizes = {one.cell_size for one in found.answers}
    size = " and ".join(format_small_length(one, units) for one in sorted(sizes))
    bands = next(figure.bands for figure in found.figures if figure.name == COLD_SHARE)
    if all(math.isfinite(band) for band in bands):
        return [SHARED]
    return [
        f"These runs have cells of {size} and no companion runs: the error of the cells is not "
        "known, so states whose figures lie close together cannot be told apart."
    ]
