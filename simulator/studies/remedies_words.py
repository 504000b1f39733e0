"""What would help, in words for print."""

import math

from simulator.studies.moved_runs import LEAST_LITRES, Score
from simulator.studies.remedies import Remedies, Tried
from simulator.units import System, format_quantity, format_small_length

TITLE = "What would help"

#: Single moves that are printed; all are in the JSON.
_MOST_MOVES = 10

#: A gain smaller than this is told as no difference [min] (choice).
_LEAST_MINUTES = 0.5


def in_words(found: Remedies, units: System = "si") -> list[str]:
    """Return the findings as paragraphs for print."""
    lines = [_as_it_is(found, units)]
    gaining = [move for move in found.moves if _gains(move)]
    if gaining:
        lines.append(
            "Single moves, by the minutes that they gain on average over the places that are late, "
            "then by the cold litres:"
        )
        lines += [
            f"{number}. {_single(move)}" for number, move in enumerate(gaining[:_MOST_MOVES], 1)
        ]
    more = gaining[_MOST_MOVES:]
    if more:
        lines.append(f"Gains less than these, by itself: {'; '.join(move.words for move in more)}.")
    rest = [move for move in found.moves if move.score and not _gains(move)]
    idle = [move for move in rest if not _harms(move)]
    if idle:
        lines.append(f"Gains nothing by itself: {'; '.join(move.words for move in idle)}.")
    lines += [f"Does harm by itself: {_single(move)}" for move in rest if _harms(move)]
    lines += [
        f"Cannot be made as the rooms stand: {move.words}: {_what_is_wrong(move)}."
        for move in found.moves
        if move.score is None
    ]
    return [*lines, *_plan(found, units), *_together(found), _basis(found, units)]


def _gains(move: Tried) -> bool:
    """Return whether a move gains minutes, or litres at no cost of minutes."""
    if abs(move.minutes) >= _LEAST_MINUTES:
        return move.minutes > 0.0
    return move.score is not None and move.litres >= LEAST_LITRES


def _harms(move: Tried) -> bool:
    """Return whether a move costs minutes, or litres at no gain of minutes."""
    if abs(move.minutes) >= _LEAST_MINUTES:
        return move.minutes < 0.0
    return move.litres <= -LEAST_LITRES


def _what_is_wrong(move: Tried) -> str:
    """Return why a move cannot be made, without what else would be allowed."""
    return move.why_not.split("; ")[0].rstrip(".")


def _as_it_is(found: Remedies, units: System) -> str:
    end = format_quantity(found.planned, "time", units)
    if found.base.cold == 0:
        return f"As it is, every place is done by the end of the heat ({end})."
    return (
        f"As it is, {_left(found.base)} when the heat ends ({end}); "
        f"{_finish(found.base, found, units)}."
    )


def _left(score: Score) -> str:
    if score.cold == 0:
        return "no place is left cold"
    places = "1 place is" if score.cold == 1 else f"{score.cold} places are"
    return f"{places} not done ({score.cold_litres:.1f} l)"


def _finish(score: Score, found: Remedies, units: System) -> str:
    if math.isnan(score.finishing):
        end = format_quantity(found.prolonged, "time", units)
        return f"with the heat kept on, not all of them even after {end}"
    return (
        "with the heat kept on, the last one after "
        f"{format_quantity(score.finishing, 'time', units)}"
    )


def _single(move: Tried) -> str:
    gains = [_minutes(move.minutes)]
    if move.places:
        gains.append(_fewer(move.places))
    if abs(move.litres) >= LEAST_LITRES:
        gains.append(f"{abs(move.litres):.1f} l {'less' if move.litres > 0 else 'more'}")
    return f"{move.words}: {', '.join(gains)}."


def _minutes(gained: float) -> str:
    if abs(gained) < _LEAST_MINUTES:
        return "no minutes"
    return f"{gained:.0f} min" if gained > 0.0 else f"{-gained:.0f} min later"


def _fewer(places: int) -> str:
    many = "place" if abs(places) == 1 else "places"
    return f"{abs(places)} cold {many} {'fewer' if places > 0 else 'more'}"


def _plan(found: Remedies, units: System) -> list[str]:
    if found.base.cold == 0:
        return []
    if not found.plan:
        return ["No move that was tried takes anything off; think of more heat or more time."]
    lines = ["The plan, move by move, with what is left after each:"]
    lines += [
        f"{number}. {step.words}: {_left(step.score)}."
        for number, step in enumerate(found.plan, start=1)
    ]
    last = found.plan[-1].score
    if found.clears:
        lines.append("With all of them the model leaves no place cold.")
    else:
        lines.append(
            f"No plan of these moves was found that clears the home: {_left(last)}; "
            f"{_finish(last, found, units)}. Last or never: {'; '.join(last.latest)}. They ask for "
            "more heat, more time, or treatment elsewhere; roomsoak causes tells why each lags."
        )
    if found.checked is not None:
        cells = format_small_length(found.checked_cell_size, units)
        lines.append(f"The whole plan on cells of {cells}: {_left(found.checked)}.")
    return lines


def _together(found: Remedies) -> list[str]:
    if found.everything is None or found.base.cold == 0:
        return []
    return [f"All preparation that the lists ask for, together: {_left(found.everything)}."]


def _basis(found: Remedies, units: System) -> str:
    cells = format_small_length(found.cell_size, units)
    end = format_quantity(found.prolonged, "time", units)
    return (
        f"Basis: {found.runs} runs on cells of {cells}, each with the heat kept on until {end} so "
        "that places that are late have a time; one not done even then counts with that time. The "
        "plan is built move by move; a better one may exist. Local codes, makers' labels and the "
        "load sheet come before any move."
    )
