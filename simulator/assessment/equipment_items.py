"""Items of readiness that come from the equipment: circuits, cords, burners, watching."""

from simulator.assessment.cords import band_in_words, heat_factor, standing_at
from simulator.assessment.power import hot_air, planned_power
from simulator.assessment.power_words import circuit_warnings, plan_lines
from simulator.assessment.readiness_item import ReadinessItem, Topic
from simulator.case.advice import When
from simulator.case.case import Case
from simulator.case.electrical import CORD_INSULATIONS
from simulator.case.parts import HeatedJet
from simulator.case.standing import Standing
from simulator.units import System, whole_degrees

#: What is to be done where the circuits are in order; what goes where follows it.
PLUG_IN = "plug in by the load sheet"


def equipment_items(case: Case, units: System) -> list[ReadinessItem]:
    """Return the items that hold for the machines of a layout."""
    return [*_power(case), *_carbon_monoxide(case), *_watch(case, units)]


def _power(case: Case) -> list[ReadinessItem]:
    if not case.loads:
        return []
    sheet = planned_power(case)
    rule = "at most 80 % of a circuit for three hours or more (NEC 210.19 and 210.20)"
    if not case.circuits:
        words = "write a load sheet: which machine is on which breaker; none is given in the case"
    else:
        wrong = [*circuit_warnings(sheet), *plan_lines(sheet.plan)]
        plugs = "; ".join(
            f"{circuit.name} ({circuit.voltage:g} V {circuit.rating:g} A): "
            f"{', '.join(circuit.loads) or 'nothing'}"
            for circuit in sheet.circuits
        )
        words = f"{PLUG_IN}: {plugs}"
        if wrong:
            words = f"put the circuits in order before any heat: {'; '.join(wrong)}"
    return [
        ReadinessItem(
            "power: circuits", words, rule, Standing.SECOND_HAND, When.ARRIVAL, Topic.POWER
        ),
        ReadinessItem(
            "power: cords",
            f"read every cord's size and insulation; in the hot rooms {_cords_in(hot_air(case))}; "
            "keep plugs off carpet and out of the jets; a licensed electrician decides in doubt",
            "cords carry less in hot air: these are the factors for "
            f"{band_in_words(hot_air(case))} (NEC 310.15(B)(1))",
            standing_at(hot_air(case)),
            When.ARRIVAL,
            Topic.POWER,
        ),
        ReadinessItem(
            "power: feel",
            "check plugs, cords and breakers for warmth of their own after half an hour, then "
            "every hour",
            "a loose contact heats up long before a breaker trips",
            Standing.PRACTICE,
            When.DURING,
            Topic.POWER,
        ),
    ]


def _cords_in(air: float) -> str:
    """Return what cords of each insulation are good for in air of a temperature [°C]."""
    factors = [(degrees, heat_factor(degrees, air)) for degrees in CORD_INSULATIONS.values()]
    barred = [f"{degrees:g}" for degrees, factor in factors if factor == 0.0]
    usable = [(f"{degrees:g}", f"{factor:g}") for degrees, factor in factors if factor > 0.0]
    told = []
    if barred:
        told.append(f"use none of {' or '.join(barred)} °C insulation")
    if usable:
        degrees, shares = (" or ".join(words) for words in zip(*usable, strict=True))
        use = "" if barred else "use "
        told.append(f"{use}those of {degrees} °C only at {shares} of their rating")
    return ", and ".join(told)


def _carbon_monoxide(case: Case) -> list[ReadinessItem]:
    ducted = [
        part.owner for part in case.parts if isinstance(part, HeatedJet) and part.intake is None
    ]
    if not ducted:
        return []
    reason = "NIOSH: 35 ppm over a shift, never 200 ppm"
    return [
        ReadinessItem(
            "carbon monoxide: burner",
            f"{', '.join(ducted)}: burner outdoors, its exhaust away from every opening, only "
            "clean air into the duct; a carbon monoxide alarm with each person who goes in",
            reason,
            Standing.READ,
            When.ARRIVAL,
            Topic.CARBON_MONOXIDE,
        ),
        ReadinessItem(
            "carbon monoxide: read",
            "read the carbon monoxide alarm inside and at the neighbours' doors every half hour; "
            "out and off at 35 ppm that lasts, at once at 200 ppm",
            reason,
            Standing.READ,
            When.DURING,
            Topic.CARBON_MONOXIDE,
        ),
    ]


def _watch(case: Case, units: System) -> list[ReadinessItem]:
    practice = Standing.PRACTICE
    return [
        ReadinessItem(
            "watch: cut-off",
            "set up a cut-off of its own, apart from the thermostat, that ends the heat when the "
            f"air passes {whole_degrees(case.treatment.air_limit, units)}; try it before the "
            "heat",
            "a thermostat that fails leaves every heater on",
            practice,
            When.ARRIVAL,
            Topic.WATCH,
        ),
        ReadinessItem(
            "watch: always",
            "somebody stays and watches readings, circuits and doors from start to cool-down",
            "what goes wrong in such heat goes wrong fast",
            practice,
            When.DURING,
            Topic.WATCH,
        ),
        ReadinessItem(
            "watch: lagging places",
            "where a sensor lags, change what is around it, not the set point: turn a fan on it, "
            "turn the thing over, pull it apart",
            "cold places, not the mean, decide when it is done (Catron, Wilson & Miller, ICUP)",
            Standing.READ,
            When.DURING,
            Topic.PREPARATION,
        ),
    ]
