"""Harm: every thing and every fire device at its own hottest against its own limit, in verdicts."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from simulator.assessment.dry_air import humidity_when_heated
from simulator.assessment.medicines import MedicineRecord, medicine_record
from simulator.case.case import Case
from simulator.case.hazards import (
    CONTRACTOR,
    DETECTOR_CLASSES,
    SMOKE_ALARM_LIMIT,
    SPRINKLER_CLASSES,
    Hazard,
    Verdict,
)
from simulator.case.parts import PorousPart, Probe, SolidPart
from simulator.case.standing import Standing
from simulator.grid.grid import FloatArray, Grid
from simulator.history import History

#: Verdicts in the order in which they are told; "within": its limit was kept.
ORDER = (*(verdict.value for verdict in Verdict), "within")

#: Owner under which the air below the ceilings is listed, and the room air.
CEILING, AIR = "ceiling layer", "room air"

#: Where the limits of the devices that hang under ceilings come from.
CEILING_SOURCES = "NFPA 13 and 72 classes; smoke alarms by installation texts"

#: Depth of the layer of air below a ceiling that fire devices hang in [m] (estimate).
CEILING_DEPTH = 0.15

#: Over at least this time a rate of rise is taken [s]: detectors are rated by the minute.
RISE_TIME = 60.0

#: Relative humidity of the air before the heat [-] (estimate: a lived-in room).
USUAL_HUMIDITY = 0.50

#: Why a thing has its verdict, in words that go with its peak and its limit.
NEVER, OPENS, PASSED = "never left in a heated room", "may open", "above its limit"
RISES, NO_LIMIT, KEPT = "may trip by its rate of rise", "no harmless temperature known", "kept"


@dataclass(frozen=True, slots=True)
class HarmVerdict:
    """One thing at its own hottest point against its own limit.

    Attributes
    ----------
    verdict : one of ``ORDER``.
    owner, thing : the piece, and what of it or in it.
    peak : the hottest there [°C]; before a run, what the air may reach.
    limit : highest temperature allowed there [°C], or None.
    why : one of the reasons above.
    basis, standing, advice : as in ``Hazard``.
    rise : fastest rise over a minute or more [K/min], of what trips by it.
    medicine : of medicines only.
    humidity : of the heated air [-], of what shrinks in it.
    is_foreseen : before any run.
    is_fire_device : as in ``Hazard``; so is the air under the ceilings, where such devices hang.
    """

    verdict: str
    owner: str
    thing: str
    peak: float
    limit: float | None
    why: str
    basis: str
    standing: str
    advice: str
    rise: float | None = None
    medicine: MedicineRecord | None = None
    humidity: float | None = None
    is_foreseen: bool = False
    is_fire_device: bool = False


def find_harm(
    case: Case, history: History, grid: Grid, part_peaks: FloatArray
) -> tuple[HarmVerdict, ...]:
    """Return the verdicts on a run, stops first, then by how far a limit was passed.

    Parameters
    ----------
    part_peaks : hottest temperature of each part of the grid [°C]; nan: no solid in it.
    """
    hottest = history.probe_temperature
    verdicts = [
        _judge(case, probe, hottest[:, index], history.time)
        for index, probe in enumerate(case.probes)
        if probe.limit is not None or probe.hazard is not None
    ]
    peaks = zip(grid.parts, part_peaks.tolist(), strict=True)
    verdicts += _of_materials(
        (p, peak) for p, peak in peaks if isinstance(p, SolidPart | PorousPart)
    )
    below_ceiling = _ceiling_air(case, grid, history)
    if np.isfinite(below_ceiling):
        verdicts.append(_of_ceiling(below_ceiling))
    verdicts.append(_of_air(case, float(history.air_maximum.max())))
    return _ordered(verdicts)


def foreseen_harm(case: Case) -> tuple[HarmVerdict, ...]:
    """Return the verdicts before any run: everything as hot as the air may become."""
    most = case.treatment.air_limit
    verdicts = [
        _judge(case, probe, np.array([most]), None)
        for probe in case.probes
        if probe.limit is not None or probe.hazard is not None
    ]
    stuff = [part for part in case.parts if isinstance(part, SolidPart | PorousPart)]
    verdicts += _of_materials(((part, most) for part in stuff), is_foreseen=True)
    verdicts.append(_of_ceiling(most, is_foreseen=True))
    return _ordered(verdicts)


def _ordered(verdicts: Iterable[HarmVerdict]) -> tuple[HarmVerdict, ...]:
    def severity(verdict: HarmVerdict) -> tuple[int, float]:
        margin = 0.0 if verdict.limit is None else verdict.limit - verdict.peak
        margin = float("inf") if np.isnan(margin) else margin
        return ORDER.index(verdict.verdict), margin

    return tuple(sorted(verdicts, key=severity))


def _judge(
    case: Case, probe: Probe, temperature: FloatArray, time: FloatArray | None
) -> HarmVerdict:
    """Return the verdict on what a probe watches; without ``time`` [s] it is foreseen."""
    hazard = probe.hazard or _unnamed(probe)
    peak = float(temperature.max())
    rise = None if time is None or hazard.rise_limit is None else fastest_rise(time, temperature)
    verdict, why = _verdict(hazard, peak, rise, is_foreseen=time is None)
    medicine = None
    if hazard.is_medicine and time is not None:
        medicine = medicine_record(time, temperature)
    humidity = None
    if hazard.dries:
        start = case.dwelling.start_temperature
        humidity = humidity_when_heated(USUAL_HUMIDITY, start, max(peak, start))
    return HarmVerdict(
        verdict=verdict,
        owner=probe.owner,
        thing=hazard.what,
        is_fire_device=hazard.is_fire_device,
        peak=peak,
        limit=hazard.limit,
        why=why,
        basis=hazard.basis,
        standing=hazard.standing.value if probe.hazard else "",
        advice=hazard.advice,
        rise=rise,
        medicine=medicine,
        humidity=humidity,
        is_foreseen=time is None,
    )


def _unnamed(probe: Probe) -> Hazard:
    """Return what a watched point without further words means: a warning by its own basis."""
    return Hazard(probe.name, Verdict.WARN, probe.limit, probe.basis, Standing.PRACTICE, "")


def _verdict(
    hazard: Hazard, peak: float, rise: float | None, *, is_foreseen: bool
) -> tuple[str, str]:
    """Return a verdict and why."""
    if hazard.never_stays:
        return Verdict.STOP.value, NEVER
    if hazard.stop_limit is not None and peak >= hazard.stop_limit:
        return Verdict.STOP.value, OPENS
    if hazard.limit is None:
        return hazard.verdict.value, NO_LIMIT
    if peak > hazard.limit:
        return hazard.verdict.value, PASSED
    if hazard.rise_limit is not None and (
        is_foreseen or (rise is not None and rise >= hazard.rise_limit)
    ):
        return hazard.verdict.value, RISES
    return "within", KEPT


def fastest_rise(time: FloatArray, temperature: FloatArray) -> float:
    """Return the fastest mean rise over a minute or more [K/min].

    Where times are recorded farther apart than a minute, a shorter burst may be missed.
    """
    best = 0.0
    for first in range(time.size - 1):
        last = int(np.searchsorted(time, time[first] + RISE_TIME - 1e-6))
        if last < time.size:
            span = (time[last] - time[first]) / 60.0
            best = max(best, float(temperature[last] - temperature[first]) / float(span))
    return best


def _of_materials(
    peaks: Iterable[tuple[SolidPart | PorousPart, float]], *, is_foreseen: bool = False
) -> list[HarmVerdict]:
    """Return for each owner and material the hottest part against the material's own limit."""
    worst: dict[tuple[str, str], HarmVerdict] = {}
    for part, peak in peaks:
        limit = part.material.harm_temperature
        if limit is None or np.isnan(peak):
            continue
        key = (part.owner, part.material.name)
        if key in worst and worst[key].peak >= peak:
            continue
        is_over = peak > limit
        worst[key] = HarmVerdict(
            verdict=Verdict.WARN.value if is_over else "within",
            owner=part.owner,
            thing=part.name,
            peak=peak,
            limit=limit,
            why=PASSED if is_over else KEPT,
            basis=f"{part.material.name}: {part.material.source}",
            standing="",
            advice="keep the air around it below its limit, or let its owner accept the risk",
            is_foreseen=is_foreseen,
        )
    return list(worst.values())


def _of_ceiling(peak: float, *, is_foreseen: bool = False) -> HarmVerdict:
    """Return what the air under the ceilings means for fire devices that nobody has named yet."""
    devices = [(SMOKE_ALARM_LIMIT, "smoke alarms")]
    devices += [(row[0], f"{name} heat detectors") for name, row in DETECTOR_CLASSES.items()]
    devices += [(row[0], f"{name} sprinkler heads") for name, row in SPRINKLER_CLASSES.items()]
    passed = [(limit, words) for limit, words in sorted(devices) if peak > limit]
    recalled = [
        row[0] for row in DETECTOR_CLASSES.values() if row[2] is Standing.MEMORY and peak > row[0]
    ]
    listed = ", ".join(f"{words} ({limit:g} °C)" for limit, words in passed)
    return HarmVerdict(
        verdict=Verdict.ASK.value if passed else "within",
        owner=CEILING,
        thing="the ceiling layer",
        peak=peak,
        limit=SMOKE_ALARM_LIMIT,
        why=PASSED if passed else KEPT,
        basis=f"above the highest ceiling temperature of {listed} ({CEILING_SOURCES})"
        if passed
        else f"below the highest ceiling temperature of every class ({CEILING_SOURCES})",
        standing=(Standing.MEMORY if recalled else Standing.SECOND_HAND).value,
        advice=f"look in every room which of these hang there; {CONTRACTOR}",
        is_fire_device=True,
        is_foreseen=is_foreseen,
    )


def _ceiling_air(case: Case, grid: Grid, history: History) -> float:
    """Return the hottest air just below any ceiling over all frames [°C]; nan: none recorded."""
    middles = 0.5 * (grid.z_edges[1:] + grid.z_edges[:-1])
    hottest = float("-inf")
    tops = {room.name: room.high[2] for room in case.dwelling.rooms}
    for number, name in enumerate(grid.room_names):
        if name not in tops:
            continue
        below = middles[middles < tops[name]]
        if below.size == 0:
            continue
        lowest = min(tops[name] - CEILING_DEPTH, float(below[-1])) - 1e-9
        high = (middles >= lowest) & (middles < tops[name])
        cells = grid.is_open & (grid.room == number) & high[None, None, :]
        if cells.any() and history.frame_temperature.size:
            hottest = max(hottest, float(np.max(history.frame_temperature[:, cells])))
    return hottest if np.isfinite(hottest) else float("nan")


def _of_air(case: Case, peak: float) -> HarmVerdict:
    limit = case.treatment.air_limit
    is_over = peak > limit
    return HarmVerdict(
        verdict=Verdict.WARN.value if is_over else "within",
        owner=AIR,
        thing="hottest air anywhere, heaters' jets included",
        peak=peak,
        limit=limit,
        why=PASSED if is_over else KEPT,
        basis="air limit of the treatment",
        standing="",
        advice="where that is a heater's jet, keep all things out of it; elsewhere less power, a "
        "lower set point, or more stirring where it is hottest",
    )
