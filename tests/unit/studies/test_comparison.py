"""A comparison claims no more than its numbers: ties, unknown bands, places that changed."""

import dataclasses
import json
import math
from typing import Any

import numpy as np
import pytest

from simulator.assessment.assess import assess
from simulator.errors import ResultError
from simulator.studies.comparison import (
    COMMON_LITRES,
    Answer,
    Ensemble,
    Reading,
    answer_of,
    by_ensembles,
    compare,
    distinct_labels,
    read,
    read_finish,
)
from simulator.studies.comparison_words import FIELD_STUDY, as_json, summary, table, text_lines
from tests.builders import box_room
from tests.runs import hand_history, open_grid

NAN = math.nan
SPOTS = [
    ((0.3, 0.7, 0.3), 0.004, "bed", "mattress, inside", "room"),
    ((1.9, 1.5, 0.1), 0.001, "room", "baseboard, east wall", "room"),
]


def answer(
    label: str,
    ends: tuple[float, float],
    *,
    preparation: str = "as found",
    hours: float = 6.0,
    **bands: float,
) -> Answer:
    """A run in which the two hiding places climb evenly to these temperatures [°C]."""
    case = dataclasses.replace(
        box_room((2.0, 1.6, 1.2), furniture_words={"bed": "bed"}), preparation=preparation
    )
    grid = open_grid(case, SPOTS)
    time = np.linspace(0.0, hours * 3600.0, 61)
    course = 20.0 + np.linspace(0.0, 1.0, 61)[:, None] * (np.array(ends) - 20.0)
    history = hand_history(case, grid, time, course)
    figures = [
        {"name": name.replace("_", " ").replace("50", "50 °C"), "band": band}
        for name, band in bands.items()
    ]
    findings: dict[str, Any] = {"grid_error": {"figures": figures}} if figures else {}
    return answer_of(label, case, 0.2, grid, history, assess(case, grid, history), findings)


def test_a_difference_within_both_bands_is_a_tie() -> None:
    assert read(10.0, 12.0, 1.0, 1.0) is Reading.TIE
    assert read(10.0, 12.1, 1.0, 1.0) is Reading.HIGHER
    assert read(10.0, 7.9, 1.0, 1.0) is Reading.LOWER
    assert read(10.0, 7.9, 1.0, NAN) is Reading.UNKNOWN


def test_one_that_finishes_near_the_horizon_ties_with_one_that_does_not() -> None:
    six = 6.0 * 3600.0
    assert read_finish((NAN, six - 600.0), (NAN, 900.0), (six, six)) is Reading.TIE
    assert read_finish((NAN, six - 3600.0), (NAN, 900.0), (six, six)) is Reading.LOWER
    assert read_finish((six - 3600.0, NAN), (900.0, NAN), (six, six)) is Reading.HIGHER
    assert read_finish((six - 3600.0, NAN), (NAN, NAN), (six, six)) is Reading.UNKNOWN
    assert read_finish((NAN, NAN), (NAN, NAN), (six, six)) is Reading.TIE


def test_ensembles_that_overlap_make_a_tie_of_what_the_cells_tell_apart() -> None:
    wide = Ensemble(2.0 * 3600.0, math.inf, 40, 64, has_grid_error=True)
    early = Ensemble(1.0 * 3600.0, 1.5 * 3600.0, 64, 64, has_grid_error=True)
    rough = dataclasses.replace(early, has_grid_error=False)
    assert by_ensembles(Reading.LOWER, wide, wide) is Reading.TIE
    assert by_ensembles(Reading.LOWER, wide, early) is Reading.LOWER
    assert by_ensembles(Reading.UNKNOWN, wide, early) is Reading.LOWER
    assert by_ensembles(Reading.UNKNOWN, early, wide) is Reading.HIGHER
    assert by_ensembles(Reading.UNKNOWN, wide, rough) is Reading.UNKNOWN
    assert by_ensembles(Reading.LOWER, wide, None) is Reading.LOWER
    sides = [
        dataclasses.replace(answer("one", (60.0, 40.0)), ensemble=wide),
        dataclasses.replace(answer("two", (75.0, 75.0)), ensemble=early),
    ]
    words = " ".join(summary(compare(sides), "si"))
    assert "A is all done in 40 of 64 runs, eight of ten of them between 2 h and later" in words
    assert "B is all done within its run, A is not" in words


def test_litres_below_fifty_are_those_of_the_cold_places() -> None:
    found = compare([answer("one", (60.0, 40.0)), answer("two", (40.0, 60.0))])
    litres = next(figure for figure in found.figures if figure.quantity == "litres")
    assert litres.values == pytest.approx((1.0, 4.0))


def test_places_that_only_one_side_has_are_left_out_of_the_common_litres() -> None:
    one, two = answer("one", (40.0, 40.0)), answer("two", (40.0, 40.0))
    less = dataclasses.replace(one, places=(one.places[0], ("pile", "pile", "room")))
    common = next(f for f in compare([less, two]).figures if f.name == COMMON_LITRES)
    assert common.values == pytest.approx((4.0, 4.0))


def test_the_row_of_common_litres_says_what_it_counts_in_both_units() -> None:
    sides = [answer("one", (60.0, 40.0)), answer("two", (40.0, 60.0))]
    for units, degrees in (("si", "50 °C"), ("us", "122 °F")):
        names = [row[0] for row in table(compare(sides), units)]  # type: ignore[arg-type]
        assert f"volume below {degrees}, in the places that all of them have" in names


def test_answers_of_one_title_are_called_by_the_first_thing_that_tells_them_apart() -> None:
    assert distinct_labels(["one", "two"], [["x", "x"]]) == ["one", "two"]
    same = ["room", "room"]
    assert distinct_labels(same, [["p", "p"], ["l", "m"]]) == ["room (l)", "room (m)"]
    assert distinct_labels(same, [["p", "p"]]) == ["room (p)", "room (p)"]


def test_without_bands_nothing_is_called_better() -> None:
    found = compare([answer("one", (60.0, 40.0)), answer("two", (75.0, 75.0))])
    words = " ".join(summary(found, "si"))
    assert "It cannot be ranked: the error of the cells is not known at that moment" in words
    assert 'companion runs that tell it: --cell "0.10 m".' in words
    assert "neither is called earlier" in words
    assert "smaller share" not in words


def test_with_bands_the_smaller_share_is_told_or_that_it_cannot_be_ranked() -> None:
    one = answer("one", (60.0, 40.0), volume_below_50=0.05)
    two = answer("two", (75.0, 75.0), volume_below_50=0.05)
    words = " ".join(summary(compare([one, two]), "si"))
    assert "B leaves the smaller share" in words
    wide = [dataclasses.replace(side, bands={"volume below 50 °C": 0.15}) for side in (one, two)]
    for units, cell in (("si", "0.10 m"), ("us", "3.9 in")):
        words = " ".join(summary(compare(wide), units))  # type: ignore[arg-type]
        assert "A 20.0 %, 5 to 35, B 0.0 %, 0 to 15. It cannot be ranked on these cells" in words
        assert f'may decide it: --cell "{cell}".' in words
        assert "tie" not in words
    finest = [dataclasses.replace(side, cell_size=0.05) for side in wide]
    assert "No finer cells are offered" in " ".join(summary(compare(finest), "si"))


def test_what_holds_on_any_cells_is_told_first() -> None:
    one = answer("one", (40.0, 40.0), volume_below_50=0.9)
    two = answer("two", (75.0, 75.0), volume_below_50=0.9)
    found = compare([one, two])
    first, second, *rest = summary(found, "si")
    assert first.startswith("2 hiding places done in B, even if all were 2.0 K colder, and")
    assert second == "Hiding places not done when the run ends: A 2 of 2, B 0 of 2."
    assert [n for n, text in enumerate(rest) if "cannot be ranked" in text] == [1]
    assert table(found, "si")[1][0] == "hiding places not done"
    assert "0 to 90" in " ".join(table(found, "si")[4])


def test_what_is_exactly_alike_needs_no_finer_cells() -> None:
    one = answer("one", (40.0, 40.0), volume_below_50=0.1)
    words = " ".join(summary(compare([one, one]), "si"))
    assert "A 100.0 %, 90 to 100, B 100.0 %, 90 to 100, the same in both runs." in words
    assert "--cell" not in words


def test_bands_hold_at_the_end_of_the_heat_only() -> None:
    sides = [
        answer("one", (60.0, 40.0), volume_below_50=0.05),
        answer("two", (75.0, 75.0), volume_below_50=0.05),
    ]
    share = next(
        figure
        for figure in compare(sides, 4.0 * 3600.0).figures
        if figure.name == "volume below 50 °C"
    )
    assert share.values[0] > share.values[1]
    assert share.readings == (Reading.UNKNOWN,)
    assert all(math.isnan(band) for band in share.bands)


def test_places_that_changed_are_named_unless_two_kelvin_would_change_them() -> None:
    found = compare([answer("one", (75.0, 40.0)), answer("two", (40.0, 75.0))])
    assert found.changed[0].done_only_here == ("baseboard, east wall",)
    assert found.changed[0].done_only_first == ("bed, mattress, inside",)


def test_the_field_study_is_told_where_things_differ_and_only_there() -> None:
    one, same = answer("one", (60.0, 40.0)), answer("two", (70.0, 40.0))
    other = answer("two", (70.0, 40.0), preparation="prepared")
    assert FIELD_STUDY not in summary(compare([one, same]), "si")
    assert FIELD_STUDY in summary(compare([one, other]), "si")


def test_runs_of_different_lengths_are_told_at_the_end_of_the_first() -> None:
    long, short = answer("long", (60.0, 40.0)), answer("short", (60.0, 40.0), hours=3.0)
    assert compare([long, short]).moment == 3.0 * 3600.0
    with pytest.raises(ResultError, match="short: its run is over after 3 h"):
        compare([long, short], 5.0 * 3600.0)


@pytest.mark.parametrize("units", ["si", "us"])
def test_words_claim_nothing_forbidden_and_the_table_is_square(units: Any) -> None:
    found = compare([answer("one", (60.0, 40.0)), answer("two", (75.0, 75.0))])
    rows = table(found, units)
    assert {len(row) for row in rows} == {3}
    text = "\n".join(text_lines(found, units)).lower()
    for word in ("eradicated", "safe", "guaranteed"):
        assert word not in text
    assert ("122 °f" in text) == (units == "us")


def test_json_is_plain() -> None:
    found = compare([answer("one", (60.0, 40.0)), answer("two", (75.0, 75.0))])
    table_of = json.loads(json.dumps(as_json(found), allow_nan=False))
    assert [one["name"] for one in table_of["answers"]] == ["A", "B"]
    assert table_of["figures"][0]["values"][0] is None
    assert len(table_of["answers"][0]["curves"]["coldest"]) == 61
