"""What a search for a layout tries: few sides of each spot, layouts by lot, one piece elsewhere."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from simulator.studies.candidates import neighbours
from simulator.studies.fan_layout import FanPlace
from simulator.studies.layout import Layout
from simulator.studies.placement_space import Space


def posture_of(fan: FanPlace) -> tuple[float, float]:
    """Return the height of a fan's hub [m] and its tilt [deg]."""
    return fan.height, fan.tilt


def spot_of(fan: FanPlace) -> tuple[object, ...]:
    """Return where which fan stands, whatever its posture and its side."""
    return fan.room, fan.at, fan.diameter, fan.flow


def thinned(poses: Sequence[FanPlace], every: int) -> list[FanPlace]:
    """Return the poses of the first one's posture, of the sides of a spot one in so many.

    Where that begins differs from spot to spot, so that no side is passed over everywhere.
    """
    spots: dict[tuple[object, ...], list[FanPlace]] = {}
    for pose in poses:
        if posture_of(pose) == posture_of(poses[0]):
            spots.setdefault(spot_of(pose), []).append(pose)
    return [
        pose
        for number, sides in enumerate(spots.values())
        for pose in sides[number % min(every, len(sides)) :: every]
    ]


def drawn_layouts(space: Space, fans: int, count: int, lots: np.random.Generator) -> list[Layout]:
    """Return different layouts of so many fans and of all free heaters, their poses drawn by lot.

    They are fewer than ``count`` where lots meet the same ones, or find no room for all fans.
    """
    found: dict[Layout, None] = {}
    for _ in range(count):
        layout = space.start
        for index, heaters in enumerate(space.heaters):
            for number in lots.permutation(len(heaters)):
                moved = layout.with_heater(index, heaters[number])
                if space.carries(moved):
                    layout = moved
                    break
        for poses in space.fans[:fans]:
            order = lots.permutation(len(poses))
            fan = next((poses[n] for n in order if space.may_add(layout, poses[n])), None)
            layout = layout if fan is None else layout.with_fan(fan)
        if len(layout.fans) == fans:
            found[layout] = None
    return list(found)


def other_fans(
    space: Space,
    current: Layout,
    index: int,
    promise: Mapping[FanPlace, float],
    count: int,
    lots: np.random.Generator,
) -> list[Layout]:
    """Return layouts with one fan elsewhere: near by, where most was promised, by lot.

    Parameters
    ----------
    promise : what poses were worth where they were tried.
    count : of poses beside those near by.
    """
    rest, fan = current.without_fan(index), current.fans[index]
    near = neighbours(space.floors, fan, space.density)
    poses = space.fans[min(index, len(space.fans) - 1)]
    ranked = sorted(poses, key=lambda pose: -promise.get(pose, -float("inf")))
    half = count // 2
    drawn = [poses[n] for n in lots.permutation(len(poses))[:half]]
    chosen = dict.fromkeys((*near, *ranked[:half], *drawn))
    return [
        replace(rest, fans=(*rest.fans[:index], pose, *rest.fans[index:]))
        for pose in chosen
        if pose != fan and space.may_add(rest, pose)
    ]


def other_heaters(
    space: Space, current: Layout, index: int, count: int, lots: np.random.Generator
) -> list[Layout]:
    """Return layouts with one heater elsewhere by lot, at most twice ``count``."""
    poses = space.heaters[index]
    drawn = lots.permutation(len(poses))[: 2 * count]
    layouts = [current.with_heater(index, poses[n]) for n in drawn]
    return [layout for layout in layouts if space.carries(layout)]
