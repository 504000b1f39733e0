"""The hottest point of every thing against the temperature that harms it."""

import numpy as np

from simulator.assessment.assessment import ObjectPeak
from simulator.assessment.harm import AIR
from simulator.case.case import Case
from simulator.case.materials import Material
from simulator.case.parts import PorousPart, SolidPart
from simulator.grid.grid import FloatArray, Grid
from simulator.history import History


def find_peaks(case: Case, grid: Grid, history: History) -> tuple[ObjectPeak, ...]:
    """Return the peaks of furniture, of watched points and of the air, the least margin first.

    Of each owner the part with the least margin is named: its own peak against the lowest harm
    temperature of its own material. An owner without any such limit shows its hottest part.
    """
    peaks = [*_owner_peaks(grid, history), *_probe_peaks(case, history), _air_peak(case, history)]
    return tuple(sorted(peaks, key=_margin_key))


def margin(peak: ObjectPeak) -> float:
    """Return how far below its limit a thing stayed [K]; negative: the limit was passed."""
    return float("inf") if peak.limit is None else peak.limit - peak.peak


def part_peaks(grid: Grid, history: History) -> FloatArray:
    """Return the highest solid temperature of each part of the grid [°C]; nan: no solid in it."""
    peaks = np.full(len(grid.parts), -np.inf)
    hottest = history.solid_peak[grid.shares.solid].astype(np.float64)
    np.maximum.at(peaks, grid.shares.part, hottest)
    return np.where(np.isfinite(peaks), peaks, np.nan)


def _owner_peaks(grid: Grid, history: History) -> list[ObjectPeak]:
    worst: dict[str, ObjectPeak] = {}
    for part, peak in zip(grid.parts, part_peaks(grid, history), strict=True):
        if not isinstance(part, SolidPart | PorousPart) or np.isnan(peak):
            continue
        limit = part.material.harm_temperature
        found = ObjectPeak(part.owner, part.name, float(peak), limit, _basis(part.material))
        known = worst.get(part.owner)
        if known is None or _margin_key(found) < _margin_key(known):
            worst[part.owner] = found
    return list(worst.values())


def _basis(material: Material) -> str:
    if material.harm_temperature is None:
        return f"{material.name}: no harm temperature known"
    return f"{material.name}: {material.source}"


def _probe_peaks(case: Case, history: History) -> list[ObjectPeak]:
    hottest = history.probe_temperature.max(axis=0)
    return [
        ObjectPeak(probe.owner, probe.name, float(peak), probe.limit, probe.basis)
        for probe, peak in zip(case.probes, hottest, strict=True)
        if probe.limit is not None
    ]


def _air_peak(case: Case, history: History) -> ObjectPeak:
    highest = float(history.air_maximum.max())
    limit = case.treatment.air_limit
    return ObjectPeak(AIR, "hottest air", highest, limit, "air limit of the treatment")


def _margin_key(peak: ObjectPeak) -> tuple[float, float]:
    return (margin(peak), -peak.peak)
