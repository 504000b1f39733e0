"""The case: one dwelling, prepared in one way, with one layout and one treatment, all in SI."""

from collections.abc import Mapping
from dataclasses import dataclass

from simulator.case.dwelling import Dwelling
from simulator.case.parts import Part, Probe
from simulator.case.treatment import Treatment


@dataclass(frozen=True, slots=True)
class Circuit:
    """An electrical circuit and what is plugged into it (names of equipment)."""

    name: str
    voltage: float
    rating: float
    loads: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Case:
    """What ``load`` returns: parts to be laid into the grid, and all that judges the run.

    ``sources`` maps each file's name to its text, so that a result can carry its case.
    ``furniture_words`` maps each piece of furniture to its kind in words ("bed").
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
