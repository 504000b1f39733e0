"""What is yet to be done before, during and after the heat, and what looks wrong, for the page."""

from typing import Any

from simulator.assessment.harm import foreseen_harm
from simulator.assessment.harm_words import harm_lines
from simulator.assessment.plan_warnings import plan_warnings
from simulator.assessment.power import BASIS, planned_power
from simulator.assessment.power_words import circuit_warnings, cord_lines, plan_lines
from simulator.assessment.readiness import readiness
from simulator.assessment.readiness_item import ReadinessItem
from simulator.assessment.readiness_words import CLOSING, parts_of, why
from simulator.case.case import Case
from simulator.units import System

_MOST_HARM = 30


def readiness_view(case: Case, units: System) -> dict[str, Any]:
    """Return the lists, the load sheet in words, and what heat may harm."""
    sheet = planned_power(case)
    return {
        "parts": [
            {"heading": heading, "items": [_item(item) for item in items]}
            for heading, items in parts_of(readiness(case, units))
        ],
        "closing": CLOSING,
        "circuits": [
            {
                "name": circuit.name,
                "power": circuit.power,
                "allowed": circuit.allowed,
                "loads": list(circuit.loads),
                "is_overloaded": circuit.is_overloaded,
            }
            for circuit in sheet.circuits
        ],
        "warnings": [*plan_warnings(case, units), *circuit_warnings(sheet, units)],
        "plan": [*plan_lines(sheet.plan), *cord_lines(sheet.cords, units)],
        "basis": BASIS,
        "harm": list(harm_lines(foreseen_harm(case), units, _MOST_HARM)),
    }


def _item(item: ReadinessItem) -> dict[str, Any]:
    return {
        "key": item.key,
        "words": item.words,
        "why": why(item),
        "overrides": dict(item.overrides),
    }
