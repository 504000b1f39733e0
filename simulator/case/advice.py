"""What is yet to be done to a piece of furniture before the heat, as each kind knows it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from simulator.case.standing import Standing


class When(Enum):
    """When something is done: the first by the occupant, the others by the crew."""

    BEFORE = "before the day"
    ARRIVAL = "on arrival"
    DURING = "during the heat"
    COOL_DOWN = "at cool-down"


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing that is yet to be done to a piece.

    Attributes
    ----------
    key : what it is about, unique for the piece, such as "drawers".
    words : what to do, as an order that names the piece.
    reason, standing : why, and where that comes from.
    when : and so by whom.
    changes : keys of the piece in a case file with the values that say it is done.
    removes : the piece itself goes out.
    is_hazard : it is about danger rather than about warming through.
    """

    key: str
    words: str
    reason: str
    standing: Standing
    when: When
    changes: Mapping[str, object] = field(default_factory=dict)
    removes: bool = False
    is_hazard: bool = False


@dataclass(frozen=True, slots=True)
class PieceAdvice:
    """An advice with its piece, and the overrides of ``load`` that say it is done.

    ``overrides`` is empty where the case cannot say it.
    """

    owner: str
    advice: Advice
    overrides: Mapping[str, object]


def open_up(name: str, key: str, what: str, changes: Mapping[str, object]) -> Advice:
    """Return the advice to open something shut."""
    return Advice(
        key,
        f"{name}: {what}",
        "shut in, things warm through boards and still air only; open, hot air reaches them",
        Standing.PRACTICE,
        When.ARRIVAL,
        changes,
    )


def thin_out(name: str, key: str, what: str, changes: Mapping[str, object]) -> Advice:
    """Return the advice to thin out what is stuffed."""
    return Advice(
        key,
        f"{name}: {what}",
        "tight stuff keeps its middle cold for hours; what is washed or tumbled hot need not wait",
        Standing.PRACTICE,
        When.BEFORE,
        changes,
    )
