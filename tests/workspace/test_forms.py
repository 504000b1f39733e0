"""Every field of every record can be filled in on the page."""

from typing import Any

import pytest

from simulator.units import System, parse_quantity
from simulator.workspace.forms import all_forms

INPUTS = {
    "text",
    "quantity",
    "quantities",
    "opening",
    "number",
    "share",
    "flag",
    "choice",
    "names",
    "table",
    "tables",
}


def fields(units: System) -> list[dict[str, Any]]:
    found = all_forms(units)
    rows = [row for record in found["records"].values() for row in record]
    for role in ("furniture", "equipment"):
        rows += [row for kind in found[role].values() for row in kind["fields"]]
    return rows


def test_every_field_has_an_input_and_a_meaning() -> None:
    for field in fields("si"):
        assert field["input"] in INPUTS, field
        if field["key"] not in ("width", "depth", "height", "drawers", "pull", "below_ceiling"):
            assert field["meaning"], field


@pytest.mark.parametrize("units", ("si", "us"))
def test_defaults_are_text_that_the_reader_takes(units: System) -> None:
    for field in fields(units):
        default, dimension = field.get("default"), field.get("dimension")
        if dimension and default is not None:
            for text in default if isinstance(default, list) else [default]:
                parse_quantity(text, dimension)


def test_units_choices_and_names_are_told() -> None:
    found = all_forms("si")
    fan = {field["key"]: field for field in found["equipment"]["fan"]["fields"]}
    assert fan["flow"]["dimension"] == "flow"
    assert "cfm" in fan["flow"]["units"]
    assert fan["turn"]["is_required"]
    assert fan["room"]["names"] == "room"
    bed = {field["key"]: field for field in found["furniture"]["bed"]["fields"]}
    assert bed["mattress"]["choices"] == ["flat", "turned", "on_edge"]
    assert bed["mattress"]["is_state"]
    assert not bed["width"]["is_state"]
    room = {field["key"]: field for field in found["records"]["room"]}
    assert room["west"]["record"] == "SideRecord"
