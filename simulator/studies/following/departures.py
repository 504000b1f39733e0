"""How single things depart from the model: each has its own pace, and its own share of the rise.

Fans stand elsewhere or more is stuffed in a thing than anybody knew: it warms slower or faster, and
stays further behind the air or less far, than any values of the unknowns explain. With a pace p and
a rise q a course becomes T(t) = T(0) + exp(q) (model(t / exp(p)) - T(0)).

Sensors show their own departures. Those of other places are guessed from them: departures of one
thing go together, those of different things do not (walls count each as a thing). It is a Gaussian
process over sensors and places whose covariance is the sum of a share common to a thing, one common
to a place, and one of each spot alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.studies.following.courses import Place

#: Spreads before any sensor has told: natural logarithms of pace and rise (estimates, set by the
#: hidden truths of seeds 0 to 55 of ``benchmarks/following.py``, as are the numbers below).
PACE, RISE = 0.10, 0.035

#: Shares of a departure's variance that are common to a thing and to a place; what is left belongs
#: to the spot (estimates).
OF_THING, OF_PLACE = 0.65, 0.10

#: A place counts with its coldest spot, and of many spots that depart each on its own the slowest
#: is slower than the model's: added to the logarithm of its pace (estimate; the slowest of two or
#: three spots is slower by about the spread of one).
SLOWEST = 0.04

#: Weight of the belief in the spreads against what sensors show, in sensors (choice).
BELIEF = 6.0


def likeness(places: Sequence[Place], first: Sequence[int], second: Sequence[int]) -> FloatArray:
    """Return how departures at spots go together, shape (len(first), len(second)) [-].

    Parameters
    ----------
    first, second : numbers of the places in which the spots are; two spots of one place are
        different spots.
    """
    things = [(p.owner, p.words) if p.owner == p.room else (p.owner, "") for p in places]
    same_thing = [[things[a] == things[b] for b in second] for a in first]
    same_place = [[a == b for b in second] for a in first]
    found: FloatArray = OF_THING * np.array(same_thing, dtype=np.float64).reshape(
        len(first), len(second)
    ) + OF_PLACE * np.array(same_place, dtype=np.float64).reshape(len(first), len(second))
    return found


def of_spots(places: Sequence[Place], spots: Sequence[int]) -> FloatArray:
    """Return how departures at some spots go together among themselves, shape (n, n) [-]."""
    return likeness(places, spots, spots) + (1.0 - OF_THING - OF_PLACE) * np.eye(len(spots))


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
