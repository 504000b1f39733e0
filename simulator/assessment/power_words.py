"""The load sheet in words: for ``check`` before a run and for the answer after it."""

from collections.abc import Sequence

from simulator.assessment import cords
from simulator.assessment.cited_degrees import degrees_told
from simulator.assessment.cords import CordCheck
from simulator.assessment.energy import FUEL_BASIS, KILOWATT_HOUR, THERM, EnergyUse
from simulator.assessment.plugging import PluggingPlan
from simulator.assessment.power import BASIS, PowerSheet
from simulator.units import GALLON, System, format_quantity, kilowatts


def circuit_warnings(sheet: PowerSheet, units: System = "si") -> list[str]:
    """Return what is wrong with the circuits and cords, each in one sentence."""
    warnings = [
        f"circuit '{circuit.name}' would carry {kilowatts(circuit.power)} for hours; at most "
        f"{kilowatts(circuit.allowed)} is allowed (80 % of its rating); it {circuit.trips}"
        for circuit in sheet.circuits
        if circuit.is_overloaded
    ]
    warnings += [
        f"'{load}' is made for another voltage than circuit '{circuit}' gives"
        for load, circuit in sheet.mismatched
    ]
    warnings += [
        f"'{load}' draws more than any breaker of the voltage of circuit '{circuit}' lets through, "
        "and its own voltage is not given: read its plate and give 'voltage'; until then its cord "
        "is not checked"
        for load, circuit in sheet.in_doubt
    ]
    if sheet.unplugged:
        warnings.append(f"on no circuit: {', '.join(sheet.unplugged)}")
    warnings += [
        degrees_told(_cord_warning(check), units) for check in sheet.cords if check.is_over
    ]
    return warnings


def plan_lines(plan: PluggingPlan | None) -> list[str]:
    """Return a plan that fits, or that there is none and what is over; nothing if all is well."""
    if plan is None or not (plan.moved or plan.left_off):
        return []
    lines = []
    if plan.left_off:
        more = "" if plan.is_proven else " was found (the search was cut short)"
        lines.append(
            f"no plan{more} in which these circuits carry everything: left over "
            f"{', '.join(plan.left_off)}"
        )
    if plan.moved:
        circuit, provided = dict(plan.plugs), dict(plan.provided)
        moves = "; ".join(
            f"{name} into '{circuit[name]}'"
            + (f" (only if it is made for {provided[name]:g} V)" if name in provided else "")
            for name in plan.moved
        )
        rest = "the others" if plan.left_off else "all"
        lines.append(f"a plan that carries {rest}: move {moves}")
    return lines


def cord_lines(checks: Sequence[CordCheck], units: System) -> list[str]:
    """Return what cords must be rated for, one line for machines that draw alike."""
    alike: dict[str, list[CordCheck]] = {}
    for check in checks:
        if check.rating is None:
            alike.setdefault(_needs(check), []).append(check)
    lines = []
    for needs, group in alike.items():
        names = ", ".join(check.load for check in group)
        heat = " to ".join(
            dict.fromkeys(
                format_quantity(of([check.ambient for check in group]), "temperature", units)
                for of in (min, max)
            )
        )
        rated = degrees_told(f"rated at 30 °C for at least: {needs}", units)
        lines.append(f"{names}, cord in air of {heat}; {rated}")
    return [*lines, degrees_told(cords.BASIS, units)] if checks else []


def energy_lines(uses: Sequence[EnergyUse], units: System) -> list[str]:
    """Return electricity and fuel used, the largest first and then their sum."""
    if not uses:
        return []
    ordered = sorted(uses, key=lambda use: -(use.electricity + use.heat))
    total = sum(use.electricity for use in uses)
    listed = ", ".join(
        f"{use.name} {use.electricity / KILOWATT_HOUR:.1f}" for use in ordered if use.electricity
    )
    lines = [f"electricity {total / KILOWATT_HOUR:.1f} kWh ({listed})"]
    for use in ordered:
        if use.fuel is not None:
            lines.append(
                f"{use.name}: {use.heat / KILOWATT_HOUR:.1f} kWh of heat from fuel, either "
                f"{_volume(use.fuel.heating_oil, units)} of heating oil or diesel, "
                f"{_volume(use.fuel.propane, units)} of liquid propane, or "
                f"{use.fuel.natural_gas:.2f} therms "
                f"({use.fuel.natural_gas * THERM / KILOWATT_HOUR:.1f} kWh gross) of natural gas"
            )
    if any(use.fuel is not None for use in uses):
        lines.append(f"fuel: {FUEL_BASIS}")
    return lines


def power_lines(sheet: PowerSheet, units: System) -> list[str]:
    """Return the load sheet after a run: what is wrong, what fits, what was used, who decides."""
    warnings = circuit_warnings(sheet, units)
    if sheet.circuits and not warnings:
        warnings = ["no circuit carries more than 80 % of its rating"]
    return [
        *warnings,
        *plan_lines(sheet.plan),
        *energy_lines(sheet.energy, units),
        *([BASIS] if sheet.circuits else []),
    ]


def _cord_warning(check: CordCheck) -> str:
    assert check.carries is not None
    carries = f"only {check.carries:.1f} A" if check.carries > 0.0 else "nothing: not allowed there"
    return (
        f"cord of '{check.load}': {check.current:.1f} A drawn, but rated {check.rating:g} A with "
        f"{check.insulation:g} °C insulation it carries {carries} in air of {check.ambient:.0f} °C "
        f"({check.basis}); needed: {_needs(check)}"
    )


def _needs(check: CordCheck) -> str:
    return ", ".join(
        f"{insulation:g} °C insulation not allowed"
        if rating is None
        else f"{rating:.1f} A with {insulation:g} °C insulation"
        for insulation, rating in check.needed
    )


def _volume(litres: float, units: System) -> str:
    return f"{litres * 1e-3 / GALLON:.1f} gal" if units == "us" else f"{litres:.1f} l"
