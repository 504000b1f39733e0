"""What a problem is: flow or heat whose figures a publication or an exact solution gives."""

from dataclasses import dataclass
from math import nan
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a problem, ours beside the reference.

    Attributes
    ----------
    name : what is compared.
    reference : the published or exact value; not a number where only a band is known.
    ours : found by the solver.
    low, high : the band that ours must lie in.
    is_binding : whether the tests ask for the band; else it is reported only.
    unit : of a difference to be shown as it is (K, h); empty: it is shown as a share.
    """

    name: str
    reference: float
    ours: float
    low: float
    high: float
    is_binding: bool = True
    unit: str = ""

    @property
    def is_met(self) -> bool:
        """Whether ours lies in the band."""
        return self.low <= self.ours <= self.high


class Problem(Protocol):
    """A problem: its data describe it and ``figures`` solves it.

    Attributes
    ----------
    is_slow : whether it takes more than about three seconds.
    """

    @property
    def name(self) -> str:
        """The problem in a few words."""

    @property
    def source(self) -> str:
        """Author, year and place of the reference."""

    @property
    def mesh(self) -> str:
        """The cells in a few words."""

    @property
    def is_slow(self) -> bool:
        """Whether it takes more than about three seconds."""

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""


def missed(problem: Problem) -> list[str]:
    """Solve a problem and return what its binding figures missed, in words."""
    return [
        f"{figure.name}: {figure.ours:.6g}, not in {figure.low:.6g} to {figure.high:.6g}"
        for figure in problem.figures()
        if figure.is_binding and not figure.is_met
    ]


def within(name: str, ours: float, reference: float, share: float, binding: bool = True) -> Figure:
    """Return a figure that may differ from its reference by a share of it."""
    off = share * abs(reference)
    return Figure(name, reference, ours, reference - off, reference + off, binding)


def off_by(
    name: str, ours: float, reference: float, most: float, unit: str = "K", binding: bool = True
) -> Figure:
    """Return a figure that may differ from its reference by so much, in its unit."""
    return Figure(name, reference, ours, reference - most, reference + most, binding, unit)


def at_most(name: str, ours: float, limit: float, binding: bool = True) -> Figure:
    """Return an error, whose reference is zero."""
    return Figure(name, 0.0, ours, 0.0, limit, binding)


def between(name: str, ours: float, low: float, high: float, binding: bool = True) -> Figure:
    """Return a figure of which only a band is known."""
    return Figure(name, nan, ours, low, high, binding)
