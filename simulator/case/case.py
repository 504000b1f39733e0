"""The case: one dwelling, prepared in one way, with one layout and one treatment, all in SI."""

from collections.abc import Mapping
from dataclasses import dataclass

from simulator.case.advice import PieceAdvice
from simulator.case.dwelling import Dwelling
from simulator.case.electrical import ElectricalLoad
from simulator.case.parts import Part, Probe
from simulator.case.treatment import Treatment


@dataclass(frozen=True, slots=True)
class Circuit:
    """An electrical circuit and what is plugged into it (names of equipment).

    ``voltage`` [V], ``rating`` of its breaker [A]; ``rooms`` that cords reach from its outlets
    (none: all of them).
    """

    name: str
    voltage: float
    rating: float
    loads: tuple[str, ...]
    rooms: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Change:
    """What is done at a time of the run.

    ``case`` is the whole case from ``time`` [s] on; ``enters_at`` [°C] the temperature of what is
    brought in (None: the dwelling's start temperature).
    """

    time: float
    words: str
    case: "Case"
    enters_at: float | None = None


@dataclass(frozen=True, slots=True)
class Case:
    """What ``load`` returns: parts to be laid into the grid, and all that judges the run.

    ``sources`` maps each file's name to its text, so that a result can carry its case.
    ``furniture_words`` maps each piece of furniture to its kind in words ("bed").
    ``loads`` are the pieces of equipment that draw from a circuit; ``advice`` is what is yet to be
    done to the furniture.
    ``changes`` are in order of time.
    ``notes`` are what a user should know about how the furniture was understood.
    """

    title: str
    preparation: str
    layout: str
    dwelling: Dwelling
    parts: tuple[Part, ...]
    probes: tuple[Probe, ...]
    circuits: tuple[Circuit, ...]
    treatment: Treatment
    furniture_words: Mapping[str, str]
    sources: Mapping[str, str]
    loads: tuple[ElectricalLoad, ...] = ()
    advice: tuple[PieceAdvice, ...] = ()
    changes: tuple[Change, ...] = ()
    notes: tuple[str, ...] = ()
