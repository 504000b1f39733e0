"""What nobody knows exactly on the day, each as a factor or an offset with its range."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import qmc

from simulator.case.case import Case
from simulator.case.dwelling import Behind, Dwelling, Envelope
from simulator.case.parts import HeatedJet, Part, PorousPart
from simulator.grid.grid import FloatArray
from simulator.physics.airflow.grid_bias import near_surface_bias
from simulator.run_settings import RunSettings

#: Loose stuff stays loose stuff: share of air [-].
LEAST_AIR, MOST_AIR = 0.05, 0.98


@dataclass(frozen=True, slots=True)
class Uncertain:
    """One thing that is not known exactly.

    ``low`` and ``high`` bound it evenly; with ``is_ratio`` its logarithm lies evenly between.
    ``nominal`` leaves the case as described.
    """

    name: str
    words: str
    low: float
    high: float
    nominal: float
    is_ratio: bool
    basis: str

    def at(self, share: float) -> float:
        """Return the value that a share of the range [0..1] lies below."""
        if self.is_ratio:
            return self.low * math.pow(self.high / self.low, share)
        return self.low + share * (self.high - self.low)


#: Scatter of an average of the flow, on top of the cells' bias of the speed near surfaces [-].
SPEED_SCATTER = 0.10


def uncertain_things(cell_size: float, *, with_grid: bool) -> tuple[Uncertain, ...]:
    """Return what is varied in runs on cells of ``cell_size`` [m].

    Parameters
    ----------
    with_grid : whether the error of the cells is known from a finer run beside these.
    """
    low, high = near_surface_bias(cell_size)
    known = (
        Uncertain(
            "leakage", "air leaking in and out", 0.5, 2.0, 1.0, True,
            "estimate: leakage is hardly ever measured; dwellings differ tenfold",
        ),
        Uncertain(
            "clutter", "how much loose stuff there is", 0.7, 1.3, 1.0, False,
            "estimate: how well a packing is judged by eye",
        ),
        Uncertain(
            "convection", "how fast surfaces take heat from moving air", 0.7, 1.3, 1.0, False,
            "spread between published coefficients of one surface",
        ),
        Uncertain(
            "speed", "air speed near surfaces",
            (1.0 - SPEED_SCATTER) / (1.0 + high), (1.0 + SPEED_SCATTER) / (1.0 + low), 1.0, False,
            "difference from finer cells in studies of the solver, and scatter of its averages",
        ),
        Uncertain(
            "eddies", "mixing of heat in the air", 0.5, 2.0, 1.0, True,
            "estimate: the one-formula eddy viscosity is good to about a factor of two",
        ),
        Uncertain(
            "outdoors", "temperature outdoors", -3.0, 3.0, 0.0, False,
            "estimate: error of a forecast for the day",
        ),
    )  # fmt: skip
    grid = Uncertain(
        "grid", "error of the cells", 0.0, 2.0, 1.0, False,
        "each place between its coarse run, its fine run and as far again beyond (first order)",
    )  # fmt: skip
    return (*known, grid) if with_grid else known


def hypercube_shares(things: int, count: int, seed: int) -> FloatArray:
    """Return samples, shape (count, things), of shares of ranges [-]: each part of each once."""
    shares: FloatArray = qmc.LatinHypercube(d=things, rng=np.random.default_rng(seed)).random(count)
    return shares


def latin_hypercube(things: tuple[Uncertain, ...], count: int, seed: int) -> FloatArray:
    """Return samples, shape (count, things): each thing takes each ``count``-th of its range once.

    McKay, Beckman & Conover 1979, Technometrics 21:239.
    """
    shares = hypercube_shares(len(things), count, seed)
    return np.array([[thing.at(u) for thing, u in zip(things, row, strict=True)] for row in shares])


def varied_settings(settings: RunSettings, values: Mapping[str, float]) -> RunSettings:
    """Return the settings of a run with the physics of a sample; absent names stay nominal."""
    return replace(
        settings,
        convection_factor=values.get("convection", 1.0),
        surface_speed_factor=values.get("speed", 1.0),
        eddy_factor=values.get("eddies", 1.0),
    )


def varied_case(case: Case, values: Mapping[str, float]) -> Case:
    """Return the case with the dwelling of a sample, whatever changes during the run included.

    Known names: "leakage", "clutter" and "heater" are factors, "outdoors" and "start" are [K].
    """
    dwelling = _leaking(case.dwelling, values.get("leakage", 1.0))
    dwelling = _outdoors_shifted(dwelling, values.get("outdoors", 0.0))
    start = dwelling.start_temperature + values.get("start", 0.0)
    density, heat = values.get("clutter", 1.0), values.get("heater", 1.0)
    return replace(
        case,
        dwelling=replace(dwelling, start_temperature=start),
        parts=tuple(_heating(_packed(part, density), heat) for part in case.parts),
        changes=tuple(
            replace(change, case=varied_case(change.case, values)) for change in case.changes
        ),
    )


def _leaking(dwelling: Dwelling, factor: float) -> Dwelling:
    leaks = tuple(replace(leak, flow=factor * leak.flow) for leak in dwelling.leakage)
    return replace(dwelling, leakage=leaks)


def _outdoors_shifted(dwelling: Dwelling, offset: float) -> Dwelling:
    """Return the dwelling in other weather: all that faces outdoors is shifted by [K]."""
    outdoors = "outdoors"

    def behind(one: Behind) -> Behind:
        if one.name != outdoors or one.temperature is None:
            return one
        return replace(one, temperature=one.temperature + offset)

    def envelope(one: Envelope) -> Envelope:
        return replace(one, behind=behind(one.behind))

    return replace(
        dwelling,
        outdoor_temperature=dwelling.outdoor_temperature + offset,
        rooms=tuple(
            replace(room, envelope={side: envelope(one) for side, one in room.envelope.items()})
            for room in dwelling.rooms
        ),
        windows=tuple(
            replace(window, envelope=envelope(window.envelope)) for window in dwelling.windows
        ),
    )


def _heating(part: Part, factor: float) -> Part:
    """Return a heater with its power scaled; everything else as it is."""
    return replace(part, power=factor * part.power) if isinstance(part, HeatedJet) else part


def _packed(part: Part, density: float) -> Part:
    """Return loose stuff with its solid share scaled; everything else as it is."""
    if not isinstance(part, PorousPart):
        return part
    air = 1.0 - density * (1.0 - part.air_fraction)
    return replace(part, air_fraction=min(max(air, LEAST_AIR), MOST_AIR))
