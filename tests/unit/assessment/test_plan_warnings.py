"""Plans that cannot do what they are for are told before any run."""

from pathlib import Path

import pytest

from simulator.assessment.plan_warnings import plan_warnings
from simulator.case.load import load

GEOMETRIES = Path(__file__).resolve().parents[3] / "geometries"


@pytest.mark.parametrize(
    ("key", "value", "told", "to_do"),
    [
        ("dwelling.start", "68 degC", "154.4 °F at the start", "write '68 degF'"),
        ("dwelling.outdoors.temperature", "60 degC", "140.0 °F outdoors", "write '60 degF'"),
        ("treatment.thermostat", "50 degC", "set point, 122.0 °F, is below", "raise treatment."),
    ],
)
def test_a_temperature_that_defeats_the_plan_is_told_with_what_to_do(
    key: str, value: str, told: str, to_do: str
) -> None:
    (warning,) = plan_warnings(load(GEOMETRIES / "empty_box.toml", overrides={key: value}), "us")
    assert told in warning and to_do in warning


@pytest.mark.parametrize("name", sorted(path.stem for path in GEOMETRIES.glob("*.toml")))
def test_no_shipped_plan_looks_mistyped(name: str) -> None:
    assert plan_warnings(load(GEOMETRIES / f"{name}.toml"), "si") == []
