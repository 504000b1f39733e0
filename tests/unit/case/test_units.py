"""Text with units to SI and back."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from simulator.errors import CaseError, UnitError
from simulator.units import (
    ALIASES,
    UNITS,
    System,
    dimension_of,
    format_quantity,
    format_small_length,
    parse_quantity,
)

#: The same examples every time, without a clock.
steady = settings(deadline=None, derandomize=True)

READ = [
    # text, dimension, value in SI; conversions from the definitions of the units
    ("14 ft 6 in", "length", 174 * 0.0254),
    ("14ft6in", "length", 174 * 0.0254),
    ("14' 6\"", "length", 174 * 0.0254),
    ("14′6″", "length", 174 * 0.0254),
    ("-14 ft 6 in", "length", -174 * 0.0254),
    ("6 1/2 in", "length", 6.5 * 0.0254),
    ("6½ in", "length", 6.5 * 0.0254),
    ("1/2 in", "length", 0.0127),
    ("5 ft 1/2 in", "length", 60.5 * 0.0254),
    ("0 m", "length", 0.0),
    ("1.5e-2 m", "length", 0.015),
    ("1500 cfm", "flow", 1500 * 0.3048**3 / 60),
    ("1,500 cfm", "flow", 1500 * 0.3048**3 / 60),
    ("1500 ft³/min", "flow", 1500 * 0.3048**3 / 60),
    ("120 m3/h", "flow", 120 / 3600),
    ("140 degF", "temperature", 60.0),
    ("140 °F", "temperature", 60.0),
    ("-40 F", "temperature", -40.0),
    ("333.15 K", "temperature", 60.0),
    ("9 degF_difference", "temperature difference", 5.0),
    ("9 degF", "temperature difference", 5.0),
    ("5 K", "temperature difference", 5.0),
    ("5.6 kW", "power", 5600.0),
    ("20000 BTU/h", "power", 20000 * 1055.05585262 / 3600),
    ("1 h 30 min", "time", 5400.0),
    ("1h30min", "time", 5400.0),
    ("0.5 1/h", "air change", 0.5 / 3600),
    ("1 1/h", "air change", 1 / 3600),
    ("0.4 ACH", "air change", 0.4 / 3600),
    ("0.13 W/(m K)", "conductivity", 0.13),
    ("0.13 W/mK", "conductivity", 0.13),
    ("0.04 m²·K/W", "thermal resistance", 0.04),
    # R-13 of the trade: 13 ft² over BTU/h, with 5/9 K for each degree
    ("13 h ft2 degF/BTU", "thermal resistance", 13 * 0.3048**2 * (5 / 9) / 0.29307107),
    ("30 deg", "angle", 30.0),
    ("3.141592653589793 rad", "angle", 180.0),
    ("5 KW", "power", 5000.0),
]

REFUSED = [
    # what was written, dimension, words that the refusal must have
    (68, "temperature", ["68 has no unit", "'68 degC'", "degC, degF, K"]),
    (0, "length", ["0 has no unit", "'0 m'"]),
    ("68", "temperature", ["68 has no unit", "degC, degF, K"]),
    (True, "length", ["not true or false", "'14 ft 6 in'"]),
    ([1], "length", ["not a list"]),
    (math.nan, "length", ["not a finite number"]),
    (math.inf, "length", ["not a finite number"]),
    ("nan m", "length", ["not a finite number"]),
    ("inf m", "length", ["not a finite number"]),
    ("1e999 m", "length", ["not a finite number"]),
    ("5 kg", "flow", ["'kg' is a unit of mass, not flow", "flow units: m3/s, m3/h, l/s, cfm"]),
    ("6 h", "length", ["'h' is a unit of time, not length", "length units: m, cm"]),
    ("1 h 30 m", "time", ["'m' is a unit of length, not time"]),
    ("5 kWh", "power", ["'kWh' is a unit of energy, not power"]),
    ("1 500 W", "power", ["1 has no unit before '500 W'", "'1,500'"]),
    ("14 ft 6", "length", ["6 has no unit", "'14 ft 6 in'"]),
    ("6 in 14 ft", "length", ["not in falling order", "'14 ft 6 in'"]),
    ("5 m 3 m", "length", ["not in falling order"]),
    ("14 ft -6 in", "length", ["cannot read '-6 in'"]),
    ("5 kW 200 W", "power", ["more than one number"]),
    ("5 cmf", "flow", ["'cmf' is not a known unit", "did you mean 'cfm'?"]),
    ("5 m3/d", "flow", ["'m3/d' is not a known unit"]),
    ("1,5 m", "length", ["comma", "decimal point"]),
    ("0,500 m", "length", ["comma", "decimal point"]),
    ("12,5000 W", "power", ["comma", "decimal point"]),
    ("1.2.3 m", "length", ["no unit before '.3 m'"]),
    ("--5 m", "length", ["does not begin with a number"]),
    ("five m", "length", ["does not begin with a number"]),
    ("", "length", ["empty"]),
    ("1/0 m", "length", ["divides by zero"]),
    ("-500 degC", "temperature", ["below absolute zero"]),
    ("5 m m", "length", ["cannot read 'm'"]),
    ("x\ny", "length", ["'x y' does not begin with a number"]),
]


@pytest.mark.parametrize(("text", "dimension", "value"), READ)
def test_a_quantity_is_read_in_si(text: str, dimension: str, value: float) -> None:
    # 1e-6: the BTU/h of the R-13 row is rounded; the others are exact up to round-off
    assert parse_quantity(text, dimension) == pytest.approx(value, rel=1e-6, abs=1e-12)


@pytest.mark.parametrize(("value", "dimension", "phrases"), REFUSED)
def test_what_is_not_certain_is_refused(value: object, dimension: str, phrases: list[str]) -> None:
    with pytest.raises(UnitError) as caught:
        parse_quantity(value, dimension)
    for phrase in phrases:
        assert phrase in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_unit_error_is_a_bad_case() -> None:
    assert issubclass(UnitError, CaseError)


@steady
@given(
    st.sampled_from([(d, u) for d, units in UNITS.items() for u in units]),
    st.floats(-1e9, 1e9, allow_subnormal=False),
)
def test_every_unit_reads_back_what_was_written(pair: tuple[str, str], number: float) -> None:
    dimension, unit = pair
    size = UNITS[dimension][unit]
    zero = {"degF": -32 * 5 / 9, "K": -273.15}.get(unit, 0.0) if dimension == "temperature" else 0
    value = size * number + zero
    assume(dimension != "temperature" or value >= -273.15)
    # relative to both terms, because a temperature near 0 °C is a difference of large numbers
    error = abs(parse_quantity(f"{number!r} {unit}", dimension) - value)
    assert error <= 1e-12 * (abs(size * number) + abs(zero))


@pytest.mark.parametrize(
    ("dimension", "alias", "unit"),
    [(d, a, u) for d, aliases in ALIASES.items() for a, u in aliases.items()],
)
def test_an_alias_means_its_unit(dimension: str, alias: str, unit: str) -> None:
    assert parse_quantity(f"3 {alias}", dimension) == parse_quantity(f"3 {unit}", dimension)


@steady
@given(feet=st.integers(0, 100), inches=st.integers(0, 11), top=st.integers(0, 15))
def test_feet_inches_and_sixteenths_add_up(feet: int, inches: int, top: int) -> None:
    value = parse_quantity(f"{feet} ft {inches} {top}/16 in", "length")
    assert value == pytest.approx((12 * feet + inches + top / 16) * 0.0254, abs=1e-12)


#: Half of the last digit that is shown, in SI, for values of the size that follows.
PRECISION = {
    ("length", "si"): (0.005, 0.0, 50.0),
    ("length", "us"): (0.0254 / 8, -50.0, 50.0),
    ("time", "si"): (30.0, 0.0, 1e5),
    ("temperature", "si"): (0.05, -50.0, 150.0),
    ("temperature", "us"): (0.05 * 5 / 9, -50.0, 150.0),
    ("temperature difference", "us"): (0.05 * 5 / 9, 0.0, 50.0),
    ("flow", "si"): (0.0005, 0.0, 5.0),
    ("flow", "us"): (0.5 * 0.3048**3 / 60, 0.0, 5.0),
    ("power", "si"): (5.0, 0.0, 1e5),
    ("power", "us"): (0.5 * 1055.06 / 3600, 0.0, 1e5),
    ("air change", "us"): (0.005 / 3600, 0.0, 1e-2),
    ("thermal resistance", "us"): (0.005 * 0.17612, 0.0, 10.0),
}


@steady
@given(st.data(), st.sampled_from(sorted(PRECISION)))
def test_what_is_shown_reads_back_within_its_last_digit(
    data: st.DataObject, key: tuple[str, System]
) -> None:
    dimension, system = key
    precision, low, high = PRECISION[key]
    value = data.draw(st.floats(low, high))
    shown = format_quantity(value, dimension, system)
    assert abs(parse_quantity(shown, dimension) - value) <= precision * (1 + 1e-6)


@pytest.mark.parametrize(
    ("value", "dimension", "si", "us"),
    [
        (4.4196, "length", "4.42 m", "14 ft 6 in"),
        (0.3048, "length", "30.5 cm", "1 ft"),
        (60.0, "temperature", "60.0 °C", "140.0 °F"),
        (5.0, "temperature difference", "5.0 K", "9.0 °F"),
        (5600.0, "power", "5.60 kW", "19,108 BTU/h"),
        (0.7079212, "flow", "0.708 m³/s", "1,500 cfm"),
        (5400.0, "time", "1 h 30 min", "1 h 30 min"),
        (3599.9, "time", "1 h", "1 h"),
        (45.0, "time", "45 s", "45 s"),
        (-0.01, "temperature", "0.0 °C", "32.0 °F"),
        (math.nan, "time", "unknown", "unknown"),
    ],
)
def test_quantities_are_shown_in_si_or_us_units(
    value: float, dimension: str, si: str, us: str
) -> None:
    assert format_quantity(value, dimension) == si
    assert format_quantity(value, dimension, "us") == us


def test_every_dimension_can_be_shown() -> None:
    for dimension in UNITS:
        assert format_quantity(1.0, dimension, "si")
        assert format_quantity(1.0, dimension, "us")


def test_the_dimension_of_a_unit_is_known() -> None:
    assert dimension_of("cfm") == "flow"
    assert dimension_of("furlong") is None


def test_cells_of_twenty_centimetres_are_the_same_number_of_inches_everywhere() -> None:
    """0.20 m are 7.874 in: the quarters of a tape would say 7.75."""
    assert format_small_length(0.20) == "20.0 cm"
    assert format_small_length(0.20, "us") == "7.87 in"
