"""How single spots depart from the model: each has its own pace, rise and error of the cells.

Fans stand elsewhere or more is stuffed in a thing than anybody knew: it warms slower or faster, and
stays further behind the air or less far, than any values of the unknowns explain. With a pace p and
a rise q a course becomes T(t) = T(0) + exp(q) (model(t / exp(p)) - T(0)). And what finer cells add
to one spot differs from what they add to its neighbour: cells of every size are laid anew along
planes and boxes. So a spot has a share of that of its own, beside the one common to all.

Sensors show their own departures. Those of other places are guessed from them, by a Gaussian
process over spots whose covariance is the sum of a share common to a room, one to a thing, one to a
place, and one of each spot alone. The finishing time is that of the last of many places, so it
matters how much of their errors is common.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.studies.following.courses import Place

#: Spreads before any sensor has told: natural logarithms of pace and rise (estimates, set like all
#: numbers below by hidden truths of ``benchmarks/following.py``: seeds 0 to 72 before draughts were
#: in the physics and 0 to 24 since; figures are shown on seeds from 100 on).
PACE, RISE = 0.09, 0.022

#: The error of the cells: spread of the share of it that all places have in common, and of that
#: which each spot has on its own [-] (estimates).
GRID_SPREAD, SHARE = 0.35, 0.30

#: Shares of a departure's variance that are common to a room, to a thing in it (all walls of a room
#: count as one) and to a place; what is left belongs to the spot (estimates).
OF_ROOM, OF_THING, OF_PLACE = 0.15, 0.45, 0.10

#: Spots at walls depart so many times more: the jets of fans sweep them (estimate).
WALLS = 1.6

#: A place counts with its coldest spot. It is taken as so many spots that depart each on its own
#: (estimate: its middle and four sides, one of which lies in the lee of the fans, nobody knows
#: which); the slowest of those that no sensor sees is slower than the model's.
SPOTS = 5

#: Mean of the greatest of 1, 2, ... 5 standard normal numbers (Tippett 1925, Biometrika 17:364;
#: the numbers by quadrature, to which a test holds them).
GREATEST = (0.0, 0.5642, 0.8463, 1.0294, 1.1630)

#: Weight of the belief in the spreads against what sensors show, in sensors (choice).
BELIEF = 6.0


def likeness(places: Sequence[Place], first: Sequence[int], second: Sequence[int]) -> FloatArray:
    """Return how departures at spots go together, shape (len(first), len(second)) [-].

    It is a covariance: one of a spot in a thing with itself, ``WALLS`` squared of one at a wall.

    Parameters
    ----------
    first, second : numbers of the places in which the spots are; two spots of one place are
        different spots.
    """
    kinds = (
        (OF_ROOM, [p.room for p in places]),
        (OF_THING, [(p.owner, p.room) for p in places]),
        (OF_PLACE, range(len(places))),
    )
    found: FloatArray = np.zeros((len(first), len(second)))
    for share, groups in kinds:
        same = [[groups[a] == groups[b] for b in second] for a in first]
        found += share * np.array(same, dtype=np.float64).reshape(found.shape)
    return _sizes(places, first)[:, None] * found * _sizes(places, second)


def _sizes(places: Sequence[Place], spots: Sequence[int]) -> FloatArray:
    """Return how much more spots depart than those in things do, shape (n,) [-]."""
    return np.array([WALLS if places[n].owner == places[n].room else 1.0 for n in spots])


def of_spots(places: Sequence[Place], spots: Sequence[int]) -> FloatArray:
    """Return how departures at some spots go together among themselves, shape (n, n) [-]."""
    own = (1.0 - OF_ROOM - OF_THING - OF_PLACE) * np.diag(_sizes(places, spots) ** 2)
    return likeness(places, spots, spots) + own


def slowest(places: Sequence[Place], sensors: Sequence[int], spread: float) -> FloatArray:
    """Return by how much the logarithm of each place's pace is above the model's, shape (P,).

    Parameters
    ----------
    sensors : numbers of the places in which sensors are.
    spread : of the logarithm of paces.
    """
    own = spread * math.sqrt(1.0 - OF_ROOM - OF_THING - OF_PLACE)
    unseen = [max(SPOTS - list(sensors).count(n), 1) for n in range(len(places))]
    return own * np.array([GREATEST[count - 1] for count in unseen])


def departed(
    table: FloatArray, rows: FloatArray, paces: FloatArray, rises: FloatArray
) -> FloatArray:
    """Return courses as they depart from the model, shape (T, n) [°C].

    Parameters
    ----------
    table : of the model at even times from heat on, shape (K, n) [°C].
    rows : moments in steps of the table, shape (T,) [-].
    paces, rises : of each course, natural logarithms, shape (n,).
    """
    reached = between(table, rows[:, None] * np.exp(-paces))
    found: FloatArray = table[0] + np.exp(rises) * (reached - table[0])
    return found


def between(table: FloatArray, rows: FloatArray) -> FloatArray:
    """Return rows of a table at numbers that are not whole, shape (T, n); straight lines between.

    Parameters
    ----------
    rows : of each column, shape (T, n), or of all, shape (T, 1); beyond the table its ends [-].
    """
    rows = np.clip(rows, 0.0, table.shape[0] - 1.0)
    low = np.minimum(rows.astype(np.int64), table.shape[0] - 2)
    columns = np.arange(table.shape[1])
    before, after = table[low, columns], table[low + 1, columns]
    found: FloatArray = before + (rows - low) * (after - before)
    return found


@dataclass(frozen=True, slots=True)
class Guess:
    """Departures of all places, given those at the sensors: a middle and how they scatter."""

    weights: FloatArray  # (P, Q): the middle is weights @ departures at the Q sensors
    scatter: FloatArray  # (P, P): scatter @ standard normals, for a spread of one

    @classmethod
    def of(cls, places: Sequence[Place], sensors: Sequence[int]) -> "Guess":
        """Return the guess from sensors in the places of given numbers."""
        everywhere = range(len(places))
        across = likeness(places, everywhere, sensors)
        inner = of_spots(places, sensors)
        weights = across @ np.linalg.inv(inner)
        left = of_spots(places, everywhere) - weights @ across.T
        sizes, directions = np.linalg.eigh(left)
        return cls(weights, directions * np.sqrt(np.maximum(sizes, 0.0)))

    def draw(self, shown: FloatArray, spread: float, lots: np.random.Generator) -> FloatArray:
        """Return departures of all places (P,), given those that the sensors show (Q,)."""
        found: FloatArray = self.weights @ shown + spread * (
            self.scatter @ lots.standard_normal(self.scatter.shape[1])
        )
        return found


def learnt_spread(believed: float, inner: FloatArray, shown: FloatArray, own: FloatArray) -> float:
    """Return the spread of departures, brought up to date by those at the sensors.

    Parameters
    ----------
    believed : before any sensor has told.
    inner : how those at the sensors go together, (Q, Q).
    shown, own : what was found at them (Q,), and the covariance of that (Q, Q).
    """
    whole = shown @ np.linalg.solve(inner, shown) + np.trace(np.linalg.solve(inner, own))
    return float(np.sqrt((BELIEF * believed**2 + whole) / (BELIEF + shown.size)))
