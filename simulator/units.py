"""Quantities written as text: "14 ft 6 in" to metres and back; SI inside, °C for every temperature.

The parser is our own and strict: general unit libraries read "1500 cfm" as centi-femtometres and
"14 ft 6 in" as an area without complaint. What is not certain is refused in one clear line.

Examples
--------
>>> round(parse_quantity("14 ft 6 in", "length"), 4)
4.4196
>>> round(parse_quantity("140 degF", "temperature"), 6)
60.0
>>> format_quantity(4.4196, "length", "us")
'14 ft 6 in'
"""

import difflib
import math
import re
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from simulator.errors import UnitError

System = Literal["si", "us"]

INCH = 0.0254  # [m] exact (international inch, 1959)
FOOT = 12 * INCH
POUND = 0.45359237  # [kg] exact (international pound, 1959)
GALLON = 231 * INCH**3  # [m³] US gallon, exact
BTU = 1055.05585262  # [J] exact (International Table BTU, 1956)
BTU_PER_HOUR = BTU / 3600
FAHRENHEIT_DEGREE = 5 / 9  # [K] exact
FAHRENHEIT_ZERO = -32 * FAHRENHEIT_DEGREE  # 0 °F in °C
INCH_OF_WATER = 249.08891  # [Pa] conventional, 1 g/cm³ and standard gravity
KELVIN_ZERO = -273.15  # 0 K in °C

#: Per dimension: spelling -> size of the unit in SI, in the order in which errors list them.
UNITS: Mapping[str, Mapping[str, float]] = {
    "length": {"m": 1.0, "cm": 0.01, "mm": 0.001, "ft": FOOT, "in": INCH, "yd": 3 * FOOT},
    "area": {"m2": 1.0, "cm2": 1e-4, "ft2": FOOT**2, "in2": INCH**2},
    "volume": {"m3": 1.0, "l": 1e-3, "ft3": FOOT**3, "gal": GALLON},
    "time": {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0},
    "angle": {"deg": 1.0, "rad": 180.0 / math.pi},
    "mass": {"kg": 1.0, "g": 1e-3, "lb": POUND, "oz": POUND / 16},
    "density": {"kg/m3": 1.0, "lb/ft3": POUND / FOOT**3},
    "speed": {"m/s": 1.0, "ft/min": FOOT / 60, "ft/s": FOOT, "km/h": 1 / 3.6, "mph": 0.44704},
    "flow": {"m3/s": 1.0, "m3/h": 1 / 3600, "l/s": 1e-3, "cfm": FOOT**3 / 60},
    "air change": {"1/h": 1 / 3600, "1/s": 1.0, "ACH": 1 / 3600},
    "power": {"W": 1.0, "kW": 1000.0, "BTU/h": BTU_PER_HOUR},
    "energy": {"J": 1.0, "kJ": 1e3, "MJ": 1e6, "Wh": 3600.0, "kWh": 3.6e6, "BTU": BTU},
    "temperature": {"degC": 1.0, "degF": FAHRENHEIT_DEGREE, "K": 1.0},
    "temperature difference": {
        "K": 1.0,
        "degC_difference": 1.0,
        "degF_difference": FAHRENHEIT_DEGREE,
    },
    "temperature rate": {
        "K/h": 1 / 3600,
        "K/min": 1 / 60,
        "degF_difference/h": FAHRENHEIT_DEGREE / 3600,
    },
    "voltage": {"V": 1.0, "kV": 1000.0},
    "current": {"A": 1.0},
    "pressure": {"Pa": 1.0, "kPa": 1000.0, "inH2O": INCH_OF_WATER},
    "conductivity": {
        "W/(m K)": 1.0,
        "BTU/(h ft degF)": BTU_PER_HOUR / (FOOT * FAHRENHEIT_DEGREE),
        "BTU in/(h ft2 degF)": BTU_PER_HOUR * INCH / (FOOT**2 * FAHRENHEIT_DEGREE),
    },
    "thermal resistance": {
        "m2 K/W": 1.0,
        "h ft2 degF/BTU": FOOT**2 * FAHRENHEIT_DEGREE / BTU_PER_HOUR,
    },
    "heat transfer coefficient": {
        "W/(m2 K)": 1.0,
        "BTU/(h ft2 degF)": BTU_PER_HOUR / (FOOT**2 * FAHRENHEIT_DEGREE),
    },
    "specific heat": {
        "J/(kg K)": 1.0,
        "kJ/(kg K)": 1000.0,
        "BTU/(lb degF)": BTU / (POUND * FAHRENHEIT_DEGREE),
    },
}

#: Other spellings, dimension by dimension: alias -> the spelling in ``UNITS``.
ALIASES: Mapping[str, Mapping[str, str]] = {
    "length": {
        "metre": "m", "metres": "m", "meter": "m", "meters": "m",
        "'": "ft", "foot": "ft", "feet": "ft",
        '"': "in", "''": "in", "inch": "in", "inches": "in",
        "yard": "yd", "yards": "yd",
    },
    "area": {"sq ft": "ft2", "sqft": "ft2", "sq m": "m2", "sqm": "m2"},
    "volume": {"litre": "l", "litres": "l", "liter": "l", "liters": "l", "cu ft": "ft3",
               "gallon": "gal", "gallons": "gal"},
    "time": {"sec": "s", "second": "s", "seconds": "s", "mins": "min", "minute": "min",
             "minutes": "min", "hr": "h", "hrs": "h", "hour": "h", "hours": "h",
             "day": "d", "days": "d"},
    "angle": {"degree": "deg", "degrees": "deg", "°": "deg"},
    "mass": {"lbs": "lb", "pound": "lb", "pounds": "lb"},
    "speed": {"fpm": "ft/min"},
    "flow": {"ft3/min": "cfm", "cubic feet per minute": "cfm"},
    "air change": {"/h": "1/h", "/s": "1/s", "per hour": "1/h", "air changes per hour": "1/h"},
    "power": {"watt": "W", "watts": "W", "BTU/hr": "BTU/h", "BTUh": "BTU/h"},
    "temperature": {"C": "degC", "°C": "degC", "F": "degF", "°F": "degF"},
    "temperature difference": {
        "degC": "degC_difference", "C": "degC_difference", "°C": "degC_difference",
        "degF": "degF_difference", "F": "degF_difference", "°F": "degF_difference",
    },
    "temperature rate": {
        "degC/h": "K/h", "C/h": "K/h", "°C/h": "K/h",
        "degF/h": "degF_difference/h", "F/h": "degF_difference/h", "°F/h": "degF_difference/h",
    },
    "voltage": {"volt": "V", "volts": "V"},
    "current": {"amp": "A", "amps": "A"},
    "pressure": {"in H2O": "inH2O", "in wg": "inH2O", "in w.g.": "inH2O"},
    "conductivity": {"W/mK": "W/(m K)", "W/m K": "W/(m K)"},
    "thermal resistance": {"m2K/W": "m2 K/W", "h ft2 F/BTU": "h ft2 degF/BTU"},
    "heat transfer coefficient": {"W/m2K": "W/(m2 K)", "W/m2 K": "W/(m2 K)"},
    "specific heat": {"J/kgK": "J/(kg K)", "J/kg K": "J/(kg K)"},
}  # fmt: skip

#: 0 of the unit, in °C: only temperatures have a zero of their own.
_ZEROS = {"degC": 0.0, "degF": FAHRENHEIT_ZERO, "K": KELVIN_ZERO}

#: Dimensions for which several terms in falling order make sense: "14 ft 6 in", "1 h 30 min".
_COMPOUND = frozenset({"length", "time", "mass"})

_EXAMPLES = {
    "length": "14 ft 6 in",
    "area": "12 m2",
    "volume": "200 l",
    "time": "6 h",
    "angle": "30 deg",
    "mass": "20 kg",
    "density": "30 kg/m3",
    "speed": "2 m/s",
    "flow": "1500 cfm",
    "air change": "0.5 1/h",
    "power": "5.6 kW",
    "energy": "10 kWh",
    "temperature": "140 degF",
    "temperature difference": "5 K",
    "temperature rate": "5 K/h",
    "voltage": "120 V",
    "current": "15 A",
    "pressure": "50 Pa",
    "conductivity": "0.13 W/(m K)",
    "thermal resistance": "0.13 m2 K/W",
    "heat transfer coefficient": "8 W/(m2 K)",
    "specific heat": "1400 J/(kg K)",
}

_TYPOGRAPHY = str.maketrans(
    {
        "²": "2", "³": "3", "·": " ", "⋅": " ", "*": " ", "^": None,
        "′": "'", "’": "'", "″": '"', "”": '"', "“": '"',
        "−": "-", "\u00a0": " ", "\u202f": " ", "\t": " ",
        "½": " 1/2", "¼": " 1/4", "¾": " 3/4",
    }
)  # fmt: skip

_EXPONENT = r"(?:[eE][+-]?\d+(?![\d.]))?"
_DECIMAL = (
    rf"(?:[1-9]\d{{0,2}}(?:,\d{{3}})+(?!\d)|\d+(?!\d*,))(?:\.\d*)?{_EXPONENT}|\.\d+{_EXPONENT}"
)
_NUMBER = re.compile(
    rf"(?P<whole>\d+)[ -]+(?P<top>\d+)/(?P<bottom>\d+)(?![\d./])"
    rf"|(?P<fraction_top>\d+)/(?P<fraction_bottom>\d+)(?![\d./])"
    rf"|(?P<decimal>{_DECIMAL})"
)


def _key(spelling: str) -> str:
    """Return a spelling without what does not matter: case, spaces and brackets."""
    return re.sub(r"[ ()]", "", spelling).casefold().replace("°", "deg")


def _spellings() -> dict[str, dict[str, str]]:
    """Return per dimension: key of a spelling -> the unit's spelling in ``UNITS``."""
    table = {}
    for dimension, units in UNITS.items():
        table[dimension] = {_key(unit): unit for unit in units}
        for alias, unit in ALIASES.get(dimension, {}).items():
            table[dimension].setdefault(_key(alias), unit)
    return table


_SPELLINGS = _spellings()


def _unit_pattern() -> re.Pattern[str]:
    """Return a pattern that takes the longest known unit spelling, of any dimension."""
    written = {s for units in UNITS.values() for s in units}
    written |= {s for aliases in ALIASES.values() for s in aliases}
    loose = []
    for spelling in sorted(written, key=len, reverse=True):
        atoms = re.findall(r"\w+|'+|[^\w\s]", spelling)
        loose.append(r"\s*".join(re.escape(atom) for atom in atoms))
    return re.compile(rf"(?:{'|'.join(loose)})(?![A-Za-z_/(°]|\d+/(?!\d))", re.IGNORECASE)


_UNIT = _unit_pattern()


def dimension_of(unit: str) -> str | None:
    """Return the first dimension that knows this spelling of a unit, or None."""
    for dimension, known in _SPELLINGS.items():
        if _key(unit) in known:
            return dimension
    return None


def parse_quantity(value: object, dimension: str) -> float:
    """Return the quantity in SI (temperatures in °C), read from text such as "14 ft 6 in".

    Parameters
    ----------
    value : text with its unit; anything else is refused, also a bare 0.
    dimension : a key of ``UNITS``, for example "length" or "temperature difference".

    Raises
    ------
    UnitError
        One line: what is wrong and what is allowed.
    """
    if not isinstance(value, str):
        raise UnitError(_not_text(value, dimension))
    text = " ".join(value.translate(_TYPOGRAPHY).replace("°", "deg").split())
    written = _shortened(value)
    sign = -1.0 if text.startswith("-") else 1.0
    terms = list(_terms(written, text.removeprefix("-").lstrip(), dimension))
    if len(terms) > 1:
        _check_compound(written, terms, dimension)
    size = UNITS[dimension]
    result = sign * sum(number * size[unit] for number, unit in terms)
    if dimension == "temperature":
        result += _ZEROS[terms[0][1]]
        if result < KELVIN_ZERO - 1e-9:
            raise UnitError(f"'{written}' lies below absolute zero; a temperature is at least 0 K")
    if not math.isfinite(result):
        raise UnitError(f"'{written}' is not a finite number")
    return result


def _shortened(value: str) -> str:
    """Return the user's text on one line and not too long to quote in a message."""
    line = " ".join(value.split())
    return line if len(line) <= 60 else line[:57] + "..."


def _terms(value: str, text: str, dimension: str) -> Iterator[tuple[float, str]]:
    """Yield (number, unit) of each term; ``value`` is the text as the user wrote it."""
    if not text:
        raise UnitError(f"empty text; write for example {_example(dimension)}")
    if text.casefold().startswith(("nan", "inf")):
        raise UnitError(f"'{value}' is not a finite number")
    position = 0
    while position < len(text):
        number = _NUMBER.match(text, position)
        if number is None:
            raise UnitError(_no_number(value, text, position, dimension))
        start = _skip_spaces(text, number.end())
        unit = _UNIT.match(text, start)
        if unit is None:
            raise UnitError(_no_unit(value, text, number.group(), start, dimension))
        yield _number(value, number), _known_unit(unit.group(), dimension)
        position = _skip_spaces(text, unit.end())


def _skip_spaces(text: str, position: int) -> int:
    while position < len(text) and text[position] == " ":
        position += 1
    return position


def _number(value: str, match: re.Match[str]) -> float:
    """Return the number of a term: a decimal, a fraction or a whole number and a fraction."""
    decimal = match["decimal"]
    if decimal is not None:
        number = float(decimal.replace(",", ""))
        if not math.isfinite(number):
            raise UnitError(f"'{value}' is not a finite number")
        return number
    whole = match["whole"] or "0"
    top, bottom = match["top"] or match["fraction_top"], match["bottom"] or match["fraction_bottom"]
    if int(bottom) == 0:
        raise UnitError(f"'{value}' divides by zero")
    return float(int(whole) + Fraction(int(top), int(bottom)))


def _known_unit(spelling: str, dimension: str) -> str:
    unit = _SPELLINGS[dimension].get(_key(spelling))
    if unit is None:
        raise UnitError(
            f"'{spelling}' is a unit of {dimension_of(spelling)}, not {dimension}; "
            f"{_allowed(dimension)}"
        )
    return unit


def _check_compound(value: str, terms: list[tuple[float, str]], dimension: str) -> None:
    """Refuse several terms where they make no sense or do not fall in size."""
    example = _example(dimension)
    if dimension not in _COMPOUND:
        raise UnitError(f"'{value}' has more than one number; write for example {example}")
    sizes = [UNITS[dimension][unit] for _, unit in terms]
    if any(small >= large for large, small in pairwise(sizes)):
        raise UnitError(f"units of '{value}' are not in falling order; write for example {example}")


def _example(dimension: str) -> str:
    return f"'{_EXAMPLES[dimension]}'"


def _allowed(dimension: str) -> str:
    return f"{dimension} units: {', '.join(UNITS[dimension])}"


def _not_text(value: object, dimension: str) -> str:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if not math.isfinite(value):
            return f"{value} is not a finite number; write for example {_example(dimension)}"
        first = next(iter(UNITS[dimension]))
        return f"{value} has no unit; write for example '{value} {first}'; {_allowed(dimension)}"
    kinds: dict[type, str] = {bool: "true or false", list: "a list", dict: "a table"}
    kind = kinds.get(type(value), f"a {type(value).__name__}")
    return f"expected a {dimension} as text, such as {_example(dimension)}, not {kind}"


def _no_number(value: str, text: str, position: int, dimension: str) -> str:
    if re.match(r"\d+,", text[position:]):
        return (
            f"the comma in '{value}' does not set off thousands; "
            f"write a decimal point, for example {_example(dimension)}"
        )
    if position == 0:
        return f"'{value}' does not begin with a number; write for example {_example(dimension)}"
    rest = _shortened(text[position:])
    return f"cannot read '{rest}' in '{value}'; write for example {_example(dimension)}"


def _no_unit(value: str, text: str, number: str, start: int, dimension: str) -> str:
    rest = _shortened(text[start:])
    if not rest:
        first = next(iter(UNITS[dimension]))
        again = f"'{value.strip()} {first}'" if start == len(number) else _example(dimension)
        return (
            f"{number} has no unit in '{value}'; write for example {again}; {_allowed(dimension)}"
        )
    if rest[0] in ".0123456789":
        return (
            f"{number} has no unit before '{rest}' in '{value}'; write thousands without a space "
            f"('1500' or '1,500') and each number with its unit, such as {_example(dimension)}"
        )
    word = re.split(r"\s+(?=[\d.])", rest)[0].strip()
    near = difflib.get_close_matches(
        _key(word), list(_SPELLINGS[dimension]), n=1, cutoff=0.6
    )  # fmt: skip
    hint = f"; did you mean '{_SPELLINGS[dimension][near[0]]}'?" if near else ""
    return f"'{word}' is not a known unit; {_allowed(dimension)}{hint}"


def format_quantity(value: float, dimension: str, system: System = "si") -> str:
    """Return a quantity as text for people, in SI or US units, at a readable precision.

    Parameters
    ----------
    value : in SI; a temperature in °C, a temperature difference in K.
    dimension : a key of ``UNITS``.
    system : "si" or "us".
    """
    if not math.isfinite(value):
        return "unknown"
    if dimension == "length" and system == "us":
        return _feet_and_inches(value)
    if dimension == "time":
        return _hours_and_minutes(value)
    unit, shown, digits = _SHOWN[dimension](value, system)
    size = _unit_size(unit, dimension)
    zero = _ZEROS[unit] if dimension == "temperature" else 0.0
    number = f"{(value - zero) / size:,.{digits}f}"
    if not number.strip("-0.,"):
        number = number.removeprefix("-")
    return f"{number} {shown}"


def format_small_length(size: float, system: System = "si") -> str:
    """Return the size of a cell or the thickness of a layer [m] as text.

    To the hundredth of an inch: the quarters that suit a tape would make cells of 0.20 m 7.75 in.

    >>> format_small_length(0.2), format_small_length(0.2, "us")
    ('20.0 cm', '7.87 in')
    """
    return f"{size / INCH:.2f} in" if system == "us" else format_quantity(size, "length")


def length_in_both(length: float) -> str:
    """Return a length [m] in both systems, where the reader's is not known: to the mm, and 1/4 in.

    >>> length_in_both(0.127), length_in_both(1.0)
    ('0.127 m (5 in)', '1 m (3 ft 3.25 in)')
    """
    return f"{to_the_millimetre(length)} m ({_feet_and_inches(length)})"


def to_the_millimetre(length: float) -> str:
    """Return a length [m] as a number of metres without needless zeros.

    >>> to_the_millimetre(0.12345), to_the_millimetre(3.0)
    ('0.123', '3')
    """
    return f"{round(length, 3):g}"


def kilowatts(watts: float) -> str:
    """Return a power in kW in both systems, as plates and circuits have it.

    >>> kilowatts(5600.0)
    '5.60 kW'
    """
    return f"{watts / 1000.0:.2f} kW"


def whole_degrees(celsius: float, system: System) -> str:
    """Return a round temperature as text without decimals.

    >>> whole_degrees(50.0, "us")
    '122 °F'
    """
    return format_quantity(celsius, "temperature", system).replace(".0", "")


def _unit_size(unit: str, dimension: str) -> float:
    return UNITS[dimension][unit]


def _feet_and_inches(value: float) -> str:
    """Return feet and inches to the nearest quarter inch."""
    quarters = round(abs(value) / INCH * 4)
    feet, rest = divmod(quarters, 48)
    sign = "-" if value < 0 and quarters else ""
    inches = f"{rest / 4:g} in"
    if feet == 0:
        return sign + inches
    return f"{sign}{feet} ft" + (f" {inches}" if rest else "")


def _hours_and_minutes(value: float) -> str:
    """Return hours and minutes; seconds below two minutes."""
    sign = "-" if value < 0 else ""
    if abs(value) < 120:
        return f"{sign}{abs(value):.0f} s"
    hours, minutes = divmod(round(abs(value) / 60), 60)
    if hours == 0:
        return f"{sign}{minutes} min"
    return f"{sign}{hours} h" + (f" {minutes} min" if minutes else "")


_Shown = Callable[[float, System], tuple[str, str, int]]


def _fixed(si: tuple[str, str, int], us: tuple[str, str, int]) -> _Shown:
    """Return a chooser of (unit, as shown, decimals) by system alone."""
    return lambda value, system: us if system == "us" else si


def _scaled(steps: tuple[tuple[float, str, int], ...], us: tuple[str, str, int] | None) -> _Shown:
    """Return a chooser that takes the last step whose size the value reaches."""

    def choose(value: float, system: System) -> tuple[str, str, int]:
        if system == "us" and us is not None:
            return us
        chosen = steps[0]
        for step in steps:
            if abs(value) >= step[0]:
                chosen = step
        return chosen[1], chosen[1], chosen[2]

    return choose


_SHOWN: Mapping[str, _Shown] = {
    "length": _scaled(((0.0, "mm", 1), (0.01, "cm", 1), (1.0, "m", 2)), None),
    "area": _fixed(("m2", "m²", 2), ("ft2", "ft²", 1)),
    "volume": _fixed(("m3", "m³", 3), ("ft3", "ft³", 1)),
    "angle": _fixed(("deg", "°", 0), ("deg", "°", 0)),
    "mass": _fixed(("kg", "kg", 1), ("lb", "lb", 1)),
    "density": _fixed(("kg/m3", "kg/m³", 1), ("lb/ft3", "lb/ft³", 2)),
    "speed": _fixed(("m/s", "m/s", 2), ("ft/min", "ft/min", 0)),
    "flow": _fixed(("m3/s", "m³/s", 3), ("cfm", "cfm", 0)),
    "air change": _fixed(("1/h", "1/h", 2), ("1/h", "1/h", 2)),
    "power": _scaled(((0.0, "W", 0), (1000.0, "kW", 2)), ("BTU/h", "BTU/h", 0)),
    "energy": _scaled(((0.0, "J", 0), (1e3, "kJ", 1), (3.6e5, "kWh", 2)), ("BTU", "BTU", 0)),
    "temperature": _fixed(("degC", "°C", 1), ("degF", "°F", 1)),
    "temperature difference": _fixed(("K", "K", 1), ("degF_difference", "°F", 1)),
    "temperature rate": _fixed(("K/h", "K/h", 1), ("degF_difference/h", "°F/h", 1)),
    "voltage": _fixed(("V", "V", 0), ("V", "V", 0)),
    "current": _fixed(("A", "A", 1), ("A", "A", 1)),
    "pressure": _fixed(("Pa", "Pa", 1), ("Pa", "Pa", 1)),
    "conductivity": _fixed(("W/(m K)", "W/(m K)", 3), ("BTU/(h ft degF)", "BTU/(h ft °F)", 3)),
    "thermal resistance": _fixed(("m2 K/W", "m² K/W", 3), ("h ft2 degF/BTU", "h ft² °F/BTU", 2)),
    "heat transfer coefficient": _fixed(
        ("W/(m2 K)", "W/(m² K)", 2), ("BTU/(h ft2 degF)", "BTU/(h ft² °F)", 3)
    ),
    "specific heat": _fixed(("J/(kg K)", "J/(kg K)", 0), ("BTU/(lb degF)", "BTU/(lb °F)", 3)),
}
