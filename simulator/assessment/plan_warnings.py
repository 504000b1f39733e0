"""What looks mistyped in a plan: temperatures with which it cannot do what it is for."""

from simulator.case.case import Case
from simulator.units import System, format_quantity

#: Temperatures of rooms and of weather that may have been meant in °F [°F].
_LIKELY = (-40.0, 115.0)


def plan_warnings(case: Case, units: System) -> list[str]:
    """Return a sentence for each temperature of the plan that looks wrong, with what to do."""
    dwelling, plan = case.dwelling, case.treatment
    told = []
    for where, key, temperature in (
        ("at the start", "dwelling.start", dwelling.start_temperature),
        ("outdoors", "dwelling.outdoors.temperature", dwelling.outdoor_temperature),
    ):
        if temperature >= plan.target_temperature:
            told.append(
                f"{_degrees(temperature, units)} {where}, before any heat, is as hot as the target "
                f"({_degrees(plan.target_temperature, units)}) or hotter: check {key}"
                f"{_meant(temperature)}"
            )
    if plan.hottest_set_point < plan.target_temperature:
        told.append(
            f"the highest set point, {_degrees(plan.hottest_set_point, units)}, is below the "
            f"target ({_degrees(plan.target_temperature, units)}): the heaters stop before it is "
            "reached; raise treatment.thermostat above the target, or lower treatment.target"
        )
    return told


def _meant(celsius: float) -> str:
    """Return what was probably meant by a number of °C that is usual in °F."""
    low, high = _LIKELY
    return f"; if °F was meant, write '{celsius:g} degF'" if low <= celsius <= high else ""


def _degrees(celsius: float, units: System) -> str:
    return format_quantity(celsius, "temperature", units)
