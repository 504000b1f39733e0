"""A comparison in words: a table, and a summary that claims no more than the numbers."""

import math
from typing import Any

from simulator.assessment.summary import plain
from simulator.studies.comparison import MOST_NAMED, Answer, Changed, Comparison, Figure, Reading
from simulator.studies.grid_error import companion_cell_size
from simulator.units import INCH, System, format_quantity, format_small_length

#: What a field study found, told wherever the things in a dwelling differ.
FIELD_STUDY = (
    "In 14 apartments treated with heat the mean time to target did not differ significantly "
    "between low, medium and high clutter (P > 0.05); cold spots were the trouble (Catron, Wilson "
    "& Miller, ICUP). What these runs show holds for this dwelling in this model; it is no proof "
    "that clutter changes the mean."
)

#: What no band contains.
SHARED = (
    "The bands are those of the cells alone. Formulas for heat passing from air to surfaces differ "
    "by about 30 %, on both sides alike; that is in no band."
)

#: The smallest cells that are offered for a run [m].
FINEST_CELL = 0.05

#: Begins the table: counts hold where shares of the volume cannot be ranked.
FIRST_ROW = "hiding places not done"


def letters(count: int) -> list[str]:
    """Return what the answers are called for short: A, B, C, ..."""
    return [chr(ord("A") + n) for n in range(count)]


def table(found: Comparison, units: System) -> list[list[str]]:
    """Return the rows of the table, its head first; every row begins with the figure's name."""
    names = letters(len(found.answers))
    rows = [["", *names]]
    in_order = sorted(found.figures, key=lambda figure: figure.name != FIRST_ROW)
    for figure in in_order:
        if figure.name == "hiding places":
            continue
        rows.append([_row_name(figure, units), *_cells(figure, found, units)])
    rows.append(
        [
            "harm: stop / ask / warn",
            *(" / ".join(str(n) for n in one.values()) for one in found.harm),
        ]
    )
    return rows


def text_lines(found: Comparison, units: System) -> list[str]:
    """Return everything for print: labels, table, summary."""
    names = letters(len(found.answers))
    lines = [f"{name}  {one.label}" for name, one in zip(names, found.answers, strict=True)]
    when = format_quantity(found.moment, "time", units)
    lines += ["", f"Temperatures and volumes after {when}; differences count from A", ""]
    rows = table(found, units)
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        cells = [row[0].ljust(widths[0])]
        cells += [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        lines.append("  " + "  ".join(cells).rstrip())
    return [*lines, "", *(f"- {sentence}" for sentence in summary(found, units))]


def summary(found: Comparison, units: System) -> list[str]:
    """Return the sentences that the numbers bear out, the surest first, and their limits."""
    names = letters(len(found.answers))
    sentences = []
    for number, name in enumerate(names[1:], start=1):
        sentences += [
            *_places(found.changed[number - 1], name, units),
            _not_done(found, number, name),
            _finish(found, _figure(found, "all done"), number, name, units),
            *_ensembles(found, number, name, units),
            _share(found, _figure(found, "volume below 50 °C"), number, name, units),
        ]
    if len({one.cell_size for one in found.answers}) > 1:
        sizes = ", ".join(
            f"{name} {format_small_length(one.cell_size, units)}"
            for name, one in zip(names, found.answers, strict=True)
        )
        sentences.append(
            f"The cells differ in size ({sizes}); a part of each difference is theirs."
        )
    if _things_differ(found):
        sentences.append(FIELD_STUDY)
    sentences.append(SHARED)
    return sentences


def as_json(found: Comparison) -> dict[str, Any]:
    """Return the comparison as plain JSON: SI, °C, litres, kWh; nan becomes null."""
    names = letters(len(found.answers))
    return {
        "moment": found.moment,
        "answers": [
            {
                "name": name,
                "label": one.label,
                "cell_size": one.cell_size,
                "preparation": one.case.preparation,
                "layout": one.case.layout,
                "harm": dict(harm),
                "curves": plain(
                    {
                        "time": one.time,
                        "fraction_below_50": one.assessment.fraction_below_50,
                        "coldest": one.assessment.coldest,
                        "cold_litres": one.cold_litres.sum(axis=1),
                    }
                ),
            }
            for name, one, harm in zip(names, found.answers, found.harm, strict=True)
        ],
        "figures": [
            {
                "name": figure.name,
                "quantity": figure.quantity,
                "values": plain(figure.values),
                "bands": plain(figure.bands),
                "readings": [reading.name.lower() for reading in figure.readings],
            }
            for figure in found.figures
        ],
        "changed": plain(found.changed),
        "summary": summary(found, "si"),
    }


def _figure(found: Comparison, name: str) -> Figure:
    return next(figure for figure in found.figures if figure.name == name)


def _row_name(figure: Figure, units: System) -> str:
    fifty = "below 122 °F" if units == "us" else "below 50 °C"
    two = format_quantity(2.0, "temperature difference", units)
    return figure.name.replace("below 50 °C", fifty).replace("2 K", two)


def _cells(figure: Figure, found: Comparison, units: System) -> list[str]:
    cells = []
    for number, value in enumerate(figure.values):
        band = figure.bands[number] if figure.bands else math.nan
        told = shown(figure, value, units, found, number)
        if not math.isfinite(band):
            cells.append(told)
        elif figure.quantity == "share":
            cells.append(f"{told}, {_share_ends(value, band)}")
        else:
            cells.append(f"{told} ± {_band(figure, band, units)}")
    return cells


def shown(figure: Figure, value: float, units: System, found: Comparison, number: int) -> str:
    """Return a value of a figure as text; what did not happen says so."""
    if figure.quantity == "time" and math.isnan(value):
        horizon = found.answers[number].case.treatment.horizon
        return f"not within {format_quantity(horizon, 'time', units)}"
    if math.isnan(value):
        return "unknown"
    if figure.quantity == "share":
        return f"{100.0 * value:.1f} %"
    if figure.quantity == "count":
        return f"{value:.0f} of {len(found.answers[number].places)}"
    if figure.quantity == "litres":
        return litres_text(value)
    if figure.quantity == "kWh":
        return f"{value:.1f} kWh"
    return format_quantity(value, figure.quantity, units)


def litres_text(litres: float) -> str:
    """Return litres as text, in both systems of units.

    >>> litres_text(1845.2), litres_text(3.21)
    ('1,845 l', '3.2 l')
    """
    return f"{litres:,.0f} l" if litres >= 10.0 else f"{litres:.1f} l"


def not_done_text(answer: Answer) -> str:
    """Return how many of an answer's hiding places are not done."""
    return f"{answer.not_done} of {len(answer.places)}"


def _share_ends(share: float, band: float) -> str:
    """Return the ends of a share's band as text: none is below 0 or above 100 %.

    >>> _share_ends(0.022, 0.087)
    '0 to 10.9'
    """
    low, high = max(0.0, share - band), min(1.0, share + band)
    return f"{100.0 * low:.1f}".removesuffix(".0") + f" to {100.0 * high:.1f}".removesuffix(".0")


def _band(figure: Figure, band: float, units: System) -> str:
    kind = "temperature difference" if figure.quantity == "temperature" else figure.quantity
    return format_quantity(band, kind, units)


def _finish(found: Comparison, figure: Figure, number: int, name: str, units: System) -> str:
    first, other = figure.values[0], figure.values[number]
    cells = _cells(figure, found, units)
    if math.isnan(first) and math.isnan(other):
        return f"Neither A nor {name} is all done within its run; nothing is known of later."
    pair = f"A {cells[0]}, {name} {cells[number]}"
    reading = figure.readings[number - 1]
    if reading is Reading.TIE:
        if first == other:
            return f"All done: {pair}, the same time in both runs."
        return (
            f"All done: {pair}. Which of them is earlier cannot be told: what is uncertain is "
            "larger than the difference."
        )
    if reading is Reading.UNKNOWN:
        return (
            f"All done: {pair}. The error of the cells is not known, so neither is called earlier."
        )
    early, late = (name, "A") if reading is Reading.LOWER else ("A", name)
    if math.isfinite(first) and math.isfinite(other):
        apart = format_quantity(abs(first - other), "time", units)
        return f"{early} is all done {apart} before {late} ({pair})."
    return f"{early} is all done within its run, {late} is not ({pair})."


def _ensembles(found: Comparison, number: int, name: str, units: System) -> list[str]:
    """Return what the ensembles say, where both answers have one."""
    pair = [found.answers[n].ensemble for n in (0, number)]
    told = []
    for letter, one in zip(("A", name), pair, strict=True):
        if one is None:
            return []
        ends = [
            format_quantity(t, "time", units) if math.isfinite(t) else "later than the run"
            for t in (one.early, one.late)
        ]
        told.append(
            f"{letter} is all done in {one.done_in} of {one.samples} runs, eight of ten of them "
            f"between {ends[0]} and {ends[1]}"
        )
    return [f"By runs in which what is uncertain was varied: {'; '.join(told)}."]


def _share(found: Comparison, figure: Figure, number: int, name: str, units: System) -> str:
    cells = _cells(figure, found, units)
    pair = f"A {cells[0]}, {name} {cells[number]}"
    what = _row_name(figure, units)
    reading = figure.readings[number - 1]
    if reading is Reading.TIE and figure.values[0] == figure.values[number]:
        return f"Share of the hiding {what}: {pair}, the same in both runs."
    if reading is Reading.TIE:
        return (
            f"Share of the hiding {what}: {pair}. It cannot be ranked on these cells, whose errors "
            f"are larger than the difference. {_what_decides(found, number, units)}"
        )
    if reading is Reading.UNKNOWN:
        return (
            f"Share of the hiding {what}: {pair}. It cannot be ranked: the error of the cells is "
            f"not known at that moment. {_what_tells_the_error(found, number, units)}"
        )
    fewer = name if reading is Reading.LOWER else "A"
    return f"{fewer} leaves the smaller share of the hiding {what} ({pair})."


def _what_decides(found: Comparison, number: int, units: System) -> str:
    """Return what may rank two answers that the errors of their cells keep from it."""
    size = max(found.answers[n].cell_size for n in (0, number))
    if size <= FINEST_CELL + 1e-9:
        return "No finer cells are offered: sensors in the cold spots tell more."
    finer = _finer(size, units)
    return f"Runs on finer cells, which take much longer, may decide it: {finer}."


def _what_tells_the_error(found: Comparison, number: int, units: System) -> str:
    """Return how the errors of the cells of two answers can be known."""
    pair = [found.answers[n] for n in (0, number)]
    if all(one.bands for one in pair):
        return "It is known of the end of the heat only."
    size = max(one.cell_size for one in pair)
    if companion_cell_size(size) is None:
        return f"Runs on finer cells have companion runs that tell it: {_finer(size, units)}."
    return "Companion runs tell it."


def _finer(size: float, units: System) -> str:
    """Return the option that asks for cells of half the size [m], or the finest."""
    finer = max(FINEST_CELL, 0.5 * size)
    return f'--cell "{finer / INCH:.1f} in"' if units == "us" else f'--cell "{finer:.2f} m"'


def _not_done(found: Comparison, number: int, name: str) -> str:
    first, other = (not_done_text(found.answers[n]) for n in (0, number))
    return f"Hiding places not done when the run ends: A {first}, {name} {other}."


def _places(changed: Changed, name: str, units: System) -> list[str]:
    two = format_quantity(2.0, "temperature difference", units)
    return [
        f"{len(places)} hiding place{'s' if len(places) > 1 else ''} done in {here}, even if all "
        f"were {two} colder, and not done in {there}: {_some(places)}."
        for places, here, there in (
            (changed.done_only_here, name, "A"),
            (changed.done_only_first, "A", name),
        )
        if places
    ]


def _some(places: tuple[str, ...]) -> str:
    rest = len(places) - MOST_NAMED
    named = "; ".join(places[:MOST_NAMED])
    return f"{named}; and {rest} more" if rest > 0 else named


def _things_differ(found: Comparison) -> bool:
    """Return whether what stands in the dwelling differs, and not only the equipment."""
    first, *others = [
        (one.case.dwelling.name, one.case.preparation, tuple(one.case.furniture_words))
        for one in found.answers
    ]
    return any(other != first for other in others)
