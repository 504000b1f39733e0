"""A search that draws whole layouts, by a model of those that did well: the optional ``optuna``.

The tree-structured Parzen estimator (Bergstra and others 2011, from memory) keeps two densities
over the places, sides and postures of all pieces, one of the layouts that did well and one of the
rest, and draws next where their ratio is best. It sees pieces together, which adding them one by
one does not; but it cannot say why a fan stands where it stands.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from simulator.errors import RoomsoakError
from simulator.studies.fan_layout import FanPlace
from simulator.studies.layout import HeaterPlace, Layout
from simulator.studies.placement_search import Search

Pose = TypeVar("Pose", FanPlace, HeaterPlace)

#: How far off another side [m/deg] and another posture [m] count where no pose is just as drawn
#: (choice: half a metre for a side of eight, or for a posture).
PER_DEGREE, PER_POSTURE = 0.5 / 45.0, 0.5


@dataclass(slots=True)
class Sampled(Search):
    """A search like ``Search`` that draws layouts whole; the rest of it is the same.

    Raises
    ------
    RoomsoakError
        If ``optuna`` is not installed.
    """

    _study: Any = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Make the sampler ready; layouts of a seed are always drawn alike."""
        self._study = _study(self.effort.seed)

    def _choose(self, current: Layout) -> Layout:
        """Return the best layout drawn, and judge the best of fewer fans within it."""
        found: dict[Layout, float] = {}
        while (first := len(self._study.trials)) < self.effort.sampled:
            count = min(self.effort.batch, self.effort.sampled - first)
            drawn = [self._study.ask() for _ in range(count)]
            layouts = [self._drawn(one) for one in drawn]
            values = self._look(layouts, None)
            for one, layout, value in zip(drawn, layouts, values, strict=True):
                self._study.tell(one, value)
                found[layout] = value
            best = min(found, key=lambda layout: found[layout])
            self._note(f"{first + count} layouts drawn", best, found[best])
        best = self._run_off(sorted(found, key=lambda layout: found[layout]))
        rest = best
        while rest.fans:
            fewer = [rest.without_fan(index) for index in range(len(rest.fans))]
            values = self._judge(fewer)
            rest = fewer[values.index(min(values))]
        self._note("the best layout drawn", best)
        return best

    def _drawn(self, trial: Any) -> Layout:
        """Return the layout of a draw: the nearest poses that can stand together."""
        layout = self.space.start
        for index, heaters in enumerate(self.space.heaters):
            allowed = [
                pose for pose in heaters if self.space.carries(layout.with_heater(index, pose))
            ]
            pose = _nearest(trial, f"heater {index + 1}", heaters, allowed)
            layout = layout if pose is None else layout.with_heater(index, pose)
        for index, fans in enumerate(self.space.fans):
            open_poses = [one for one in fans if self.space.may_add(layout, one)]
            fan = _nearest(trial, f"fan {index + 1}", fans, open_poses)
            layout = layout if fan is None else layout.with_fan(fan)
        return layout


def _study(seed: int) -> Any:
    try:
        import optuna
    except ImportError:
        raise RoomsoakError(
            "layouts are drawn by the package optuna; install it with "
            "pip install 'roomsoak[sampler]', or use the greedy search"
        ) from None
    optuna.logging.set_verbosity(optuna.logging.WARNING)
    return optuna.create_study(sampler=optuna.samplers.TPESampler(seed=seed, multivariate=True))


def _nearest(trial: Any, name: str, poses: Sequence[Pose], allowed: Sequence[Pose]) -> Pose | None:
    """Return the allowed pose nearest to one that is drawn from all of them."""
    rooms = list(dict.fromkeys(pose.room for pose in poses))
    room = trial.suggest_categorical(f"{name} room", rooms) if len(rooms) > 1 else rooms[0]
    x, y = (
        trial.suggest_float(f"{name} {axis}", *_span([pose.at[number] for pose in poses]))
        for number, axis in enumerate(("x", "y"))
    )
    turn = trial.suggest_categorical(f"{name} turn", sorted({pose.turn for pose in poses}))
    postures = sorted({_posture(pose) for pose in poses})
    posture = postures[trial.suggest_categorical(f"{name} posture", list(range(len(postures))))]

    def away(pose: FanPlace | HeaterPlace) -> float:
        aside = abs((pose.turn - float(turn) + 180.0) % 360.0 - 180.0)
        other = 0.0 if _posture(pose) == posture else PER_POSTURE
        return math.dist(pose.at, (x, y)) + PER_DEGREE * aside + other

    here = [pose for pose in allowed if pose.room == room] or allowed
    return min(here, key=away, default=None)


def _span(values: Sequence[float]) -> tuple[float, float]:
    return min(values), max(values)


def _posture(pose: FanPlace | HeaterPlace) -> tuple[float, float]:
    return (pose.height, pose.tilt) if isinstance(pose, FanPlace) else (0.0, 0.0)


#: Ways to choose layouts, by the names by which they are asked for.
SEARCHES: Mapping[str, type[Search]] = {"greedy": Search, "sampler": Sampled}
