"""Sentences that cite degrees Celsius, for readers of degrees Fahrenheit."""

import re

from simulator.units import System

#: "38 °C", "57 to 77 °C", "60, 75, 90 °C" and "75 or 90 °C", unless Fahrenheit follows already.
_CITED = re.compile(
    r"(?<![\d.])(?P<numbers>\d{1,3}(?:\.\d+)?(?:(?:, | to | or |-)\d{1,3}(?:\.\d+)?)*) °C"
    r"(?! \([^()]*°F\))"
)
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def degrees_told(sentence: str, units: System) -> str:
    """Return a sentence with °F before each temperature that it cites, in the US system.

    The cited °C stay, in brackets; differences must not be written as bare °C.

    >>> degrees_told("heads open at 57 to 77 °C", "us")
    'heads open at 135 to 171 °F (57 to 77 °C)'
    """
    return _CITED.sub(_told, sentence) if units == "us" else sentence


def _told(cited: re.Match[str]) -> str:
    fahrenheit = _NUMBER.sub(
        lambda number: str(round(1.8 * float(number[0]) + 32.0)), cited["numbers"]
    )
    before, after = cited.string[: cited.start()], cited.string[cited.end() :]
    if before.endswith("(") and after.startswith(")"):
        return f"{fahrenheit} °F, {cited[0]}"
    return f"{fahrenheit} °F ({cited[0]})"
