"""How much colder the coldest point inside a solid is than the mean of its core.

A core stands for centimetres of stuff. What decides over a hiding place is its coldest point, which
is up to several kelvin below the mean while the solid warms.
"""

from dataclasses import dataclass

import numpy as np

from simulator.compiled import cell_loop, per_face
from simulator.grid.grid import BoolArray, FloatArray, Grid, IntArray
from simulator.physics.heat.skins import Skins


@dataclass(frozen=True, slots=True)
class CoreProfiles:
    """What each core touches on its six sides (length T touches, N solids).

    ``slope`` turns a temperature difference into the gradient at that side of the core.
    """

    node: IntArray  # (T,) what is touched
    place: IntArray  # (T,) 6 x solid + 2 x axis + (1 on the high side)
    slope: FloatArray  # (T,) [1/m]
    core_node: IntArray  # (N,)
    width: FloatArray  # (N, 3) of the core along each axis [m]

    def drops(self, state: FloatArray) -> FloatArray:
        """Return mean minus coldest of each core (N,) [K], never negative.

        Notes
        -----
        Along each axis temperature is taken as the parabola b x + c x² that has the given gradients
        at both sides of the core; drops along the three axes add up. Over a core with one warm side
        and no heat through the other the drop is half of face minus mean.

        Where heat passes through a core to something colder, no point of it is colder than that,
        unless the warm sides alone leave their middle behind.
        """
        drops = np.empty(self.core_node.size)
        _drops(self.node, self.place, self.slope, self.core_node, self.width, state, drops)
        return drops


@cell_loop
def _drops(
    node: IntArray,
    place: IntArray,
    slope: FloatArray,
    core_node: IntArray,
    width: FloatArray,
    state: FloatArray,
    drops: FloatArray,
) -> None:
    """Fill in mean minus coldest of each core [K]."""
    outward = np.zeros((core_node.size, 6))  # gradients at the sides of each core
    coldest = state[core_node]
    for t in range(node.size):
        solid, side = place[t] // 6, place[t] % 6
        touched = state[node[t]]
        outward[solid, side] += slope[t] * (touched - state[core_node[solid]])
        if slope[t] > 0.0:
            coldest[solid] = min(coldest[solid], touched)
    for solid in range(core_node.size):
        bend = warm_bend = 0.0
        for axis in range(3):
            low, high, across = (
                outward[solid, 2 * axis],
                outward[solid, 2 * axis + 1],
                width[solid, axis],
            )
            bend += _bend(low, high, across)
            warm_bend += _bend(max(low, 0.0), max(high, 0.0), across)
        least = max(state[core_node[solid]] - coldest[solid], max(warm_bend, 0.0))
        drops[solid] = min(max(bend, 0.0), least)


@per_face
def _bend(low: float, high: float, width: float) -> float:
    """Mean minus lowest of the parabola with these outward gradients at its two ends [K]."""
    slope, curvature = 0.5 * (high - low), 0.5 * (high + low) / width
    half = 0.5 * width
    lowest = -half if slope > 0.0 else half
    if curvature > 0.0:
        lowest = min(max(-0.5 * slope / curvature, -half), half)
    elif slope == 0.0:
        lowest = 0.0
    return -(slope * lowest + curvature * (lowest * lowest - half * half / 3.0))


def core_profiles(
    grid: Grid, all_skins: Skins, inner_node: IntArray, core_node: IntArray, column_node: IntArray
) -> CoreProfiles:
    """Return the profiles of all solids.

    Parameters
    ----------
    inner_node : node next to the core behind each face of ``all_skins``.
    """
    face_place, face_slope, width = _faces(grid, all_skins)
    plain = grid.solids.pair_area == 0.0
    pair_place, slope_of_first, slope_of_second = _pairs(grid, plain)
    wall_place, wall_slope, column = _walls(grid)
    first, second = grid.solids.pair[plain].reshape(-1, 2).T
    place = np.concatenate([face_place, *pair_place, wall_place])
    slope = np.concatenate([face_slope, slope_of_first, slope_of_second, wall_slope])
    # The core of a layer is its middle and no mean; heat comes to it through its faces, and what
    # enters at its edges does not reach far.
    layer = np.zeros(core_node.size)
    np.maximum.at(layer, all_skins.faces.solid, all_skins.layer)
    slope *= 1.0 - layer[place // 6]
    return CoreProfiles(
        node=np.concatenate(
            [
                inner_node,
                core_node[second],
                core_node[first],
                column_node[column],
            ]
        ),
        place=place,
        slope=slope,
        core_node=core_node,
        width=width,
    )


def _faces(grid: Grid, all_skins: Skins) -> tuple[IntArray, FloatArray, FloatArray]:
    """Places and slopes of the faces, and the widths of the cores between them."""
    faces, solids = all_skins.faces, grid.solids.cell.size
    place = 6 * faces.solid + 2 * faces.axis + (faces.sign > 0)
    covered = np.bincount(place, weights=all_skins.cover, minlength=6 * solids)
    share = all_skins.cover / np.maximum(covered[place], 1.0)
    on_axis = 3 * faces.solid + faces.axis
    cover = np.bincount(on_axis, weights=all_skins.cover, minlength=3 * solids)
    weight = all_skins.cover / cover[on_axis]
    depth = np.bincount(on_axis, weights=weight * faces.depth, minlength=3 * solids)
    reach = np.bincount(on_axis, weights=share * all_skins.reach, minlength=3 * solids)
    has_faces = cover.reshape(-1, 3) > 0.0
    width = np.where(has_faces, (depth - reach).reshape(-1, 3), grid.solids.span)
    return place, share / all_skins.distance, width


def _pairs(
    grid: Grid, plain: BoolArray
) -> tuple[tuple[IntArray, IntArray], FloatArray, FloatArray]:
    """Places and slopes of neighbouring solids, seen from the first and from the second of each."""
    solids = grid.solids
    first, second = solids.pair[plain].reshape(-1, 2).T
    axis = solids.pair_axis[plain].astype(np.int64)
    spacing = 0.5 * (solids.span[first, axis] + solids.span[second, axis])
    face = np.prod(solids.span[first], axis=1) / solids.span[first, axis]
    k_first, k_second = solids.conductivity[first], solids.conductivity[second]
    both = 2.0 * k_first * k_second / (k_first + k_second)
    contact = np.minimum(1.0, solids.pair_conductance[plain] * spacing / (both * face))
    slope = contact * both / spacing
    places = (6 * first + 2 * axis + 1, 6 * second + 2 * axis)
    return places, slope / k_first, slope / k_second


def _walls(grid: Grid) -> tuple[IntArray, FloatArray, IntArray]:
    """Places and slopes of the walls that solids face across air, and the columns."""
    columns = grid.columns
    apart = columns.contact_area == 0.0
    solid, column = columns.contact_solid[apart], columns.contact_column[apart]
    axis = columns.axis[column].astype(np.int64)
    place = 6 * solid + 2 * axis + (columns.sign[column] > 0)
    half = 0.5 * grid.solids.span[solid, axis]
    flux = columns.contact_conductance[apart] / columns.area[column]
    slope = np.minimum(flux / grid.solids.conductivity[solid], 1.0 / half)
    return place, slope, column
