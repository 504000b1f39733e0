"""The reduced model of one case: what some dozens of runs have in common, as a few modes in time.

Runs over the ranges of the unknowns (``basis_runs``) give the temperatures of every sensor and
hiding place against time. Their differences from the mean run are laid into the few directions that
hold nearly all of them (singular value decomposition: proper orthogonal modes), and the share of
each mode is drawn through the runs by ``kriging``. What this model misses is measured on the runs
themselves, each left out in turn, and belongs to every answer.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from simulator.errors import CaseError
from simulator.grid.grid import FloatArray
from simulator.studies.following.courses import Course, Place
from simulator.studies.following.kriging import Kriging, fitted

#: Modes are kept until what they miss is this share of the runs' variance [-], and no more.
LEFT_OVER, MOST_MODES = 1e-6, 24

#: Fewer runs cannot be drawn through.
FEWEST_RUNS = 16


@dataclass(frozen=True, slots=True)
class Basis:
    """The reduced model of a case. K times, S sensors, P places, M modes.

    Columns of the model are the sensors, then the places, then the mean of the air.
    """

    time: FloatArray  # (K,) [s], even
    sensors: tuple[str, ...]
    places: tuple[Place, ...]
    nearest: tuple[int, ...]  # place that each sensor is in or beside; -1: in the air
    mean: FloatArray  # (K * (S + P + 1),) [°C]
    modes: FloatArray  # (M, K * (S + P + 1))
    shares: Kriging  # of the modes, at the unknowns
    error: FloatArray  # (S + P + 1,) what the model misses of runs left out, rms over time [K]
    worst: float  # the largest that it misses of any of them, at any place and time [K]
    finer: FloatArray  # (K * (S + P + 1),) what finer cells add to the run as described [K]
    cell_size: float
    finer_cell_size: float  # nan: none was run
    runs: int

    def temperatures(self, point: Sequence[float], finer: float = 0.0) -> FloatArray:
        """Return the temperatures at a point of the unknowns, shape (K, S + P + 1) [°C].

        ``finer`` is the share of the difference to finer cells that is added [-].
        """
        shares = self.shares.at(np.asarray(point, dtype=np.float64))
        flat: FloatArray = self.mean + shares @ self.modes + finer * self.finer
        return flat.reshape(self.time.size, -1)

    def kept(self) -> tuple[dict[str, NDArray[Any]], dict[str, Any]]:
        """Return arrays and plain values to be kept in a file."""
        arrays = {name: getattr(self, name) for name in _ARRAYS}
        arrays |= {name: getattr(self.shares, name) for name in _SHARES}
        return arrays, {
            "sensors": list(self.sensors),
            "places": [[p.owner, p.words, p.room, p.litres] for p in self.places],
            "nearest": list(self.nearest),
            "worst": self.worst,
            "cell_size": self.cell_size,
            "finer_cell_size": self.finer_cell_size,
            "runs": self.runs,
        }

    @classmethod
    def restored(cls, arrays: Mapping[str, NDArray[Any]], facts: Mapping[str, Any]) -> Self:
        """Return the basis that was kept."""
        return cls(
            **{name: np.asarray(arrays[name], dtype=np.float64) for name in _ARRAYS},
            shares=Kriging(
                **{name: np.asarray(arrays[name], dtype=np.float64) for name in _SHARES}
            ),
            sensors=tuple(facts["sensors"]),
            places=tuple(Place(*row) for row in facts["places"]),
            nearest=tuple(facts["nearest"]),
            worst=facts["worst"],
            cell_size=facts["cell_size"],
            finer_cell_size=facts["finer_cell_size"],
            runs=facts["runs"],
        )


_ARRAYS = ("time", "mean", "modes", "error", "finer")
_SHARES = ("points", "lengths", "weights")


def reduced(
    sensors: tuple[str, ...],
    points: FloatArray,
    courses: Sequence[Course],
    added: FloatArray,
    cell_size: float,
    finer: float | None,
) -> Basis:
    """Return the reduced model of runs.

    Parameters
    ----------
    points : of the unknowns, shape (n, d), from -1 to +1.
    courses : what the n runs came to.
    added : what finer cells add, shape (K * (S + P + 1),) [K].
    cell_size, finer : of the runs and of the one on finer cells [m]; None: there was none.

    Raises
    ------
    CaseError
        If there are too few runs.
    """
    if len(courses) < FEWEST_RUNS:
        raise CaseError(f"{len(courses)} runs are too few for a basis; {FEWEST_RUNS} are the least")
    flat = np.array([course.temperature.ravel() for course in courses], dtype=np.float64)
    mean = flat.mean(axis=0)
    left, sizes, right = np.linalg.svd(flat - mean, full_matrices=False)
    missed = 1.0 - np.cumsum(sizes**2) / max(float((sizes**2).sum()), 1e-30)
    count = min(int(np.searchsorted(-missed, -LEFT_OVER)) + 1, MOST_MODES, sizes.size)
    modes = right[:count]
    shares = left[:, :count] * sizes[:count]
    drawn, left_out = fitted(points, shares)
    outside = (flat - mean) - shares @ modes
    misses = (left_out @ modes + outside).reshape(len(courses), courses[0].time.size, -1)
    return Basis(
        time=courses[0].time,
        sensors=sensors,
        places=courses[0].places,
        nearest=courses[0].nearest,
        mean=mean,
        modes=modes,
        shares=drawn,
        error=np.sqrt((misses**2).mean(axis=(0, 1))),
        worst=float(np.abs(misses).max()),
        finer=added,
        cell_size=cell_size,
        finer_cell_size=np.nan if finer is None else finer,
        runs=len(courses),
    )
