"""What a search for a layout chooses from, and what it tells of its choices."""

from dataclasses import dataclass, field

from simulator.case.case import Case
from simulator.studies.candidates import Density, Floors, apart
from simulator.studies.fan_layout import FanPlace
from simulator.studies.figures import mean_value
from simulator.studies.layout import HeaterPlace, Layout, left_off
from simulator.studies.rungs import Rung


@dataclass(frozen=True, slots=True)
class Step:
    """What a search has done last: for whoever watches it.

    ``value`` is that of the best layout so far by ``rung``.
    """

    words: str
    layout: Layout
    value: float
    rung: Rung


@dataclass(frozen=True, slots=True)
class Ranked:
    """A layout with its values on a rung, one for each start."""

    layout: Layout
    values: tuple[float, ...]

    @property
    def value(self) -> float:
        """The mean over its starts."""
        return mean_value(self.values)


@dataclass(frozen=True, slots=True)
class Space:
    """What may be chosen: poses of each fan in the order of placing, and of each free heater."""

    case: Case
    floors: Floors
    fans: tuple[tuple[FanPlace, ...], ...]
    heaters: tuple[tuple[HeaterPlace, ...], ...]
    start: Layout
    density: Density
    _carried: dict[tuple[object, ...], bool] = field(default_factory=dict, compare=False)

    def may_add(self, layout: Layout, fan: FanPlace) -> bool:
        """Return whether a fan can stand beside others and draw from a circuit."""
        return all(apart(fan, other) for other in layout.fans) and self.carries(
            layout.with_fan(fan)
        )

    def carries(self, layout: Layout) -> bool:
        """Return whether the circuits carry a layout; planned once for all of the same rooms."""
        draws = sorted((fan.room, fan.power, fan.voltage or 0.0) for fan in layout.fans)
        key = (*draws, *((heater.name, heater.room) for heater in layout.heaters))
        if key not in self._carried:
            self._carried[key] = not left_off(self.case, layout)
        return self._carried[key]
