"""Items of readiness that belong to no single piece of furniture, each made from the case."""

from collections.abc import Sequence

from simulator.assessment.readiness_item import ReadinessItem, Topic
from simulator.case.advice import When
from simulator.case.case import Case
from simulator.case.parts import Probe
from simulator.case.standing import Standing
from simulator.units import System, whole_degrees

#: Sensors in slow places of one room (common practice, no source: 4 to 6 and one in the air).
SLOW_SENSORS = 4


def general_items(case: Case, units: System) -> list[ReadinessItem]:
    """Return the items that hold for a dwelling as a whole."""
    return [
        *_people(),
        *_stops(),
        *_fire(case, units),
        *_limits(case, units),
        *_entry(),
        *_keep_together(),
        *_afterwards(),
    ]


def _people() -> list[ReadinessItem]:
    practice = Standing.PRACTICE
    return [
        ReadinessItem(
            "people: plan",
            "arrange where people and pets stay until the home has cooled; nobody sleeps here on "
            "the day",
            "the heat is dangerous to every person and animal within minutes",
            practice,
            When.BEFORE,
            Topic.PEOPLE,
        ),
        ReadinessItem(
            "people: out",
            "walk through every room, closet and bathroom: no person, no pet is left",
            "nothing else on this list matters as much",
            practice,
            When.ARRIVAL,
            Topic.PEOPLE,
        ),
    ]


def _stops() -> list[ReadinessItem]:
    what = (
        "spray cans, gas cartridges, lighters, ammunition, oxygen, solvents, fuel, medicines and "
        "plants"
    )
    reason = (
        "cans and cartridges are not to be warmer than 50 °C, by P412 of GHS; the others go out by "
        "common practice, no source"
    )
    return [
        ReadinessItem(
            "stops: search",
            f"look through drawers, cabinets and bags and take out {what}",
            reason,
            Standing.PRACTICE,
            When.BEFORE,
            Topic.STOPS,
        ),
        ReadinessItem(
            "stops: check",
            f"look again, under sinks and in closets too, for {what}; no heat until all are out",
            reason,
            Standing.PRACTICE,
            When.ARRIVAL,
            Topic.STOPS,
        ),
    ]


def _fire_devices(case: Case) -> list[Probe]:
    return [
        probe for probe in case.probes if probe.hazard is not None and probe.hazard.is_fire_device
    ]


def _class(probe: Probe) -> str:
    """Return what a device is, if its name does not say it."""
    what = "" if probe.hazard is None else probe.hazard.what
    return "" if what in probe.owner else f"{what}, "


def _fire(case: Case, units: System) -> list[ReadinessItem]:
    devices = _fire_devices(case)
    known = "; ".join(
        f"{probe.owner} ({_class(probe)}at most {whole_degrees(probe.limit, units)})"
        for probe in devices
        if probe.hazard is not None and probe.limit is not None
    )
    listed = f"known here: {known}" if known else "none is named in the case: look in every room"
    reason = (
        "an ordinary sprinkler head's highest ceiling temperature, 38 °C, is passed in every "
        "treatment, and such heads open from 57 °C: classes of NFPA 13"
    )
    return [
        ReadinessItem(
            "fire: tell",
            "tell the building's owner the date and ask which sprinklers, smoke alarms and heat "
            f"detectors there are; {listed}; a licensed fire-protection contractor decides what "
            "is done with them and does it, nobody else",
            reason,
            Standing.SECOND_HAND,
            When.BEFORE,
            Topic.FIRE,
        ),
        ReadinessItem(
            "fire: check",
            f"see every fire device and its class before any heat ({listed}); the owner and "
            "whoever watches the system have been told and have answered",
            reason,
            Standing.SECOND_HAND,
            When.ARRIVAL,
            Topic.FIRE,
        ),
        ReadinessItem(
            "fire: restore",
            "have the fire system seen to by whoever answers for it before people come back",
            "a head or a detector that was too hot may no longer work as it should",
            Standing.PRACTICE,
            When.COOL_DOWN,
            Topic.FIRE,
        ),
    ]


def _limits(case: Case, units: System) -> list[ReadinessItem]:
    delicate = sorted(
        {
            f"{probe.owner} ({whole_degrees(probe.limit, units)})"
            for probe in case.probes
            if probe.hazard is not None
            and probe.limit is not None
            and probe not in _fire_devices(case)
            and not probe.hazard.never_stays
        }
    )
    named = f"; on these things: {', '.join(delicate)}" if delicate else ""
    return [
        ReadinessItem(
            "limits: delicate things",
            "show the crew what heat could spoil: candles, records, instruments, glued furniture, "
            "screens, batteries, cosmetics; take out what matters",
            "they give way from 34 to 60 °C, each at its own limit",
            Standing.SECOND_HAND,
            When.BEFORE,
            Topic.LIMITS,
        ),
        ReadinessItem(
            "limits: sensors",
            f"put a sensor in the air, one under the ceiling{named}; agree their limits first",
            "a limit holds where the thing is, not on average",
            Standing.PRACTICE,
            When.ARRIVAL,
            Topic.LIMITS,
        ),
        ReadinessItem(
            "limits: warm up slowly",
            "where finishes and joints matter let the air rise by about 5 °C (9 °F) an hour "
            "at most",
            "slower warming strains wood and finishes less",
            Standing.READ,
            When.DURING,
            Topic.LIMITS,
        ),
    ]


def _entry() -> list[ReadinessItem]:
    return [
        ReadinessItem(
            "entry: short",
            "go in only in pairs and for a few minutes, with water and rest outside",
            "a room of 55 °C is about 34 °C WBGT, over the NIOSH limit even for light work "
            "(56.7 - 11.5 log10 of the metabolic rate in W)",
            Standing.DERIVED,
            When.DURING,
            Topic.ENTRY,
        )
    ]


def _keep_together() -> list[ReadinessItem]:
    return [
        ReadinessItem(
            "things: stay",
            "carry nothing to other rooms or homes unless it is bagged shut and agreed with the "
            "crew",
            "bugs travel with things, and start to move from warmth above 30 to 35 °C",
            Standing.PRACTICE,
            When.BEFORE,
            Topic.PREPARATION,
        )
    ]


def closing_items(case: Case) -> list[ReadinessItem]:
    """Return what is done when all things are in place: sensors set, windows shut."""
    items = []
    lacking = _rooms_without_sensors(case)
    if lacking:
        items.append(
            ReadinessItem(
                "sensors: slow places",
                f"add sensors until each room has {SLOW_SENSORS} or more in slow places (between "
                "mattress and base, under cushions, in full drawers, low in outside corners); "
                f"fewer now in: {', '.join(lacking)}",
                "sensors belong where it is slow; no published least number, 4 to 6 in a room are "
                "usual",
                Standing.PRACTICE,
                When.ARRIVAL,
                Topic.PREPARATION,
            )
        )
    if case.dwelling.windows:
        items.append(
            ReadinessItem(
                "windows: shut",
                "shut and latch every window; exhaust fans off, gaps of outside doors stopped "
                "where no duct needs them",
                "what leaks out is made up by cold air near the floor",
                Standing.PRACTICE,
                When.ARRIVAL,
                Topic.PREPARATION,
            )
        )
    return items


def _rooms_without_sensors(case: Case) -> list[str]:
    """Return the rooms with fewer sensors than usual, thermostats not counted."""
    sensors = [
        probe.position
        for probe in case.probes
        if probe.hazard is None and probe.limit is None and not probe.is_thermostat
    ]
    return [
        room.name
        for room in case.dwelling.rooms
        if _inside(sensors, room.low, room.high) < SLOW_SENSORS
    ]


def _inside(
    points: Sequence[tuple[float, float, float]],
    low: tuple[float, float, float],
    high: tuple[float, float, float],
) -> int:
    return sum(all(low[i] <= point[i] <= high[i] for i in range(3)) for point in points)


def _afterwards() -> list[ReadinessItem]:
    practice = Standing.PRACTICE
    return [
        ReadinessItem(
            "cool-down: order",
            "heaters off, fans on, windows open; plug in and put back only what has cooled; nobody "
            "comes back until the crew says so",
            "cores stay hot long after the air is cool",
            practice,
            When.COOL_DOWN,
            Topic.COOL_DOWN,
        ),
        ReadinessItem(
            "insecticide: licensed",
            "a residual insecticide, if one is part of the plan, is put down by a licensed person "
            "only, by its label",
            "the label is the law, and heat leaves nothing that lasts",
            practice,
            When.COOL_DOWN,
            Topic.INSECTICIDE,
        ),
        ReadinessItem(
            "inspection: agree",
            "agree on inspections in the weeks after; they decide, no model and no sensor does",
            "even the slowest published curve is one of 99 in 100, and homes differ from "
            "laboratories",
            practice,
            When.COOL_DOWN,
            Topic.INSPECTION,
        ),
    ]
