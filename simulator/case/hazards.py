"""What heat does to things and to fire systems: limits at the thing itself, and what to do.

Three verdicts. *Stop*: no heat until it is settled. *Ask*: its owner, or whoever is licensed for
it, decides before any heat. *Warn*: it may come to harm; the owner knows and chooses.
"""

from dataclasses import dataclass
from enum import Enum

from simulator.case.standing import Standing


class Verdict(Enum):
    """What a crew does about a thing that heat can harm."""

    STOP = "stop"
    ASK = "ask"
    WARN = "warn"


@dataclass(frozen=True, slots=True)
class Hazard:
    """A thing that heat harms, or that becomes dangerous in heat.

    Attributes
    ----------
    what : the thing in words.
    verdict : what its presence means once its limit is passed.
    limit : highest temperature at the thing [°C]; None: none is known to be harmless.
    basis : where the limit comes from.
    standing : how far that can be trusted.
    advice : what to do, as an order.
    never_stays : it goes out whatever the temperature.
    stop_limit : temperature from which the verdict becomes a stop [°C], or None.
    rise_limit : rate of rise that sets it off [K/min], or None.
    is_medicine : also judged by its mean kinetic temperature and its spike.
    dries : shrinks as the heated air becomes dry.
    is_fire_device : belongs to a fire system: only whoever is licensed for it touches it.
    """

    what: str
    verdict: Verdict
    limit: float | None
    basis: str
    standing: Standing
    advice: str
    never_stays: bool = False
    stop_limit: float | None = None
    rise_limit: float | None = None
    is_medicine: bool = False
    dries: bool = False
    is_fire_device: bool = False


_OUT = "take it out before the day, to a place that its owner names"
_NEVER = "such things are never left in"


def _never(what: str, advice: str = _OUT) -> Hazard:
    """Return a thing that goes out by common practice, whatever the temperature."""
    return Hazard(what, Verdict.STOP, None, _NEVER, Standing.PRACTICE, advice, never_stays=True)


def _warn(what: str, limit: float | None, basis: str) -> Hazard:
    """Return a thing that may spoil, by a limit read at second hand."""
    advice = "take it out, or let its owner accept the risk in writing"
    return Hazard(what, Verdict.WARN, limit, basis, Standing.SECOND_HAND, advice)


_P412 = "precautionary statement P412 (GHS): do not expose to temperatures exceeding 50 °C"

#: Things in boxes and cupboards, by the word that case files use.
THINGS = {
    "aerosol_cans": Hazard(
        "aerosol cans", Verdict.STOP, 50.0, _P412, Standing.READ, _OUT, never_stays=True
    ),
    "gas_cartridges": Hazard(
        "gas cartridges", Verdict.STOP, 50.0, _P412, Standing.READ, _OUT, never_stays=True
    ),
    "ammunition": _never("ammunition"),
    "lighters": _never("lighters"),
    "oxygen": _never("oxygen cylinders"),
    "solvents_and_fuel": _never("solvents and fuel"),
    "plants": _never("plants", "move them out; look them over for bugs first"),
    "medicines": Hazard(
        "medicines",
        Verdict.STOP,
        40.0,
        "USP 659: spikes to 40 °C at most, for 24 h at most, and a mean kinetic temperature of "
        "25 °C at most",
        Standing.SECOND_HAND,
        "take them out before the day, looked over for bugs; a pharmacist judges what was heated",
        never_stays=True,
        is_medicine=True,
    ),
    "candles": _warn("candles", 45.0, "candles soften from 45 to 68 °C"),
    "chocolate": _warn("chocolate", 34.0, "chocolate melts at about 34 °C"),
    "soft_plastics": _warn("soft plastics", 40.0, "soft plastics give way from 40 to 60 °C"),
    "vinyl_records": _warn("vinyl records", 60.0, "vinyl warps from about 60 °C"),
    "lithium_batteries": Hazard(
        "lithium batteries",
        Verdict.STOP,
        60.0,
        "storage limit of lithium batteries, 60 °C",
        Standing.SECOND_HAND,
        "take them out, never on charge; their label comes first",
    ),
    "fire_extinguisher": Hazard(
        "fire extinguisher",
        Verdict.STOP,
        49.0,
        "storage limit on the label, 49 °C",
        Standing.MEMORY,
        "keep it at hand outside the heated rooms",
    ),
    "musical_instruments": Hazard(
        "musical instruments",
        Verdict.WARN,
        None,
        "air of 21 °C and 50 % humidity heated to 55 °C without moisture has 7.9 %: wood shrinks, "
        "glued joints open",
        Standing.DERIVED,
        "take them out, or let their owner accept the risk in writing",
        dries=True,
    ),
}

FISH = _never(
    "fish and what else lives in the tank",
    "move them to another home with their water and their pump, then drain the tank",
)

#: What is done about fire devices, and by whom.
CONTRACTOR = (
    "tell the owner and whoever watches the system; a licensed fire-protection contractor decides "
    "what is done and does it; it stays as it is until then"
)
_EVERY = "; the ceiling of a heat treatment passes this every time"

#: Highest ceiling temperature [°C], lowest opening temperature [°C] and range of opening by class:
#: NFPA 13, read on pages that repeat it.
SPRINKLER_CLASSES = {
    "ordinary": (38.0, 57.0, "57 to 77"),
    "intermediate": (66.0, 79.0, "79 to 107"),
    "high": (107.0, 121.0, "121 to 149"),
}

#: The same of heat detectors: NFPA 72, by the standing of each row.
DETECTOR_CLASSES = {
    "ordinary": (46.0, "57 to 79", Standing.SECOND_HAND),
    "intermediate": (69.0, "79 to 121", Standing.MEMORY),
}

#: Rate of rise that sets off a rate-of-rise detector, about [K/min]; common practice, no source.
DETECTOR_RISE = 8.0

#: Highest ambient temperature of a smoke alarm [°C]: installation texts.
SMOKE_ALARM_LIMIT = 38.0


def sprinkler(rating: str) -> Hazard:
    """Return what a sprinkler head of a class means; from its opening temperature on: a stop."""
    ceiling, opens_from, opens = SPRINKLER_CLASSES[rating]
    return Hazard(
        f"sprinkler head, {rating} class",
        Verdict.ASK,
        ceiling,
        f"highest ceiling temperature of {rating} heads, which open at {opens} °C (NFPA 13 classes)"
        + (_EVERY if rating == "ordinary" else ""),
        Standing.SECOND_HAND,
        CONTRACTOR,
        stop_limit=opens_from,
        is_fire_device=True,
    )


def smoke_alarm() -> Hazard:
    """Return what a smoke alarm means."""
    return Hazard(
        "smoke alarm",
        Verdict.ASK,
        SMOKE_ALARM_LIMIT,
        "made for 4 to 38 °C (installation texts)" + _EVERY,
        Standing.READ,
        CONTRACTOR,
        is_fire_device=True,
    )


def heat_detector(rating: str, *, by_rate: bool) -> Hazard:
    """Return what a heat detector of a class means, with or without an element for the rise."""
    ceiling, opens, standing = DETECTOR_CLASSES[rating]
    return Hazard(
        f"heat detector, {rating} class",
        Verdict.ASK,
        ceiling,
        f"highest ceiling temperature of {rating} heat detectors, which open at {opens} °C "
        "(NFPA 72 classes)" + (_EVERY if rating == "ordinary" else ""),
        standing,
        CONTRACTOR,
        rise_limit=DETECTOR_RISE if by_rate else None,
        is_fire_device=True,
    )


def television(limit: float) -> Hazard:
    """Return what a television means, by the limit of its label [°C]."""
    basis = "makers' limits run from 45 to 60 °C; see the set's label"
    advice = "unplug it; take it out, or let its owner accept the risk in writing"
    return Hazard("television", Verdict.WARN, limit, basis, Standing.SECOND_HAND, advice)
