"""One line of a readiness list, and the two lists."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum

from simulator.case.advice import When
from simulator.case.standing import Standing


class Topic(IntEnum):
    """What an item is about, in the order in which cautions are told."""

    PEOPLE = 1
    STOPS = 2
    FIRE = 3
    POWER = 4
    CARBON_MONOXIDE = 5
    WATCH = 6
    LIMITS = 7
    ENTRY = 8
    PREPARATION = 9
    COOL_DOWN = 10
    INSECTICIDE = 11
    INSPECTION = 12


@dataclass(frozen=True, slots=True)
class Cost:
    """What it costs not to do an item: later finish [min] and litres more that stay cold.

    ``minutes`` is nan where either run does not finish.
    """

    minutes: float
    litres: float


@dataclass(frozen=True, slots=True)
class ReadinessItem:
    """One thing to do.

    Attributes
    ----------
    key : unique in both lists, such as "dresser: drawers".
    words, reason, standing : what, why, and where that comes from.
    when, topic : its place in the lists.
    overrides : dotted keys for ``load(overrides=...)`` that say it is done; empty: the case cannot
        say it.
    cost : what a study found by running the model with the overrides.
    """

    key: str
    words: str
    reason: str
    standing: Standing
    when: When
    topic: Topic
    overrides: Mapping[str, object] = field(default_factory=dict)
    cost: Cost | None = None


@dataclass(frozen=True, slots=True)
class Readiness:
    """What the occupant does before the day, and what the crew does on it, in order."""

    occupant: tuple[ReadinessItem, ...]
    crew: tuple[ReadinessItem, ...]

    @property
    def items(self) -> tuple[ReadinessItem, ...]:
        """Both lists, the occupant's first."""
        return (*self.occupant, *self.crew)
