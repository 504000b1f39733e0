"""Connected regions of refuges: which of them a crew would meet as one place."""

import numpy as np

from simulator.grid.grid import FloatArray, Grid, IntArray

#: A region wider than this is divided by what it lies in [m] (estimate: a large bed is 2 m).
WIDEST = 2.5

#: A region smaller than this joins a larger one near by [m³] (estimate: half a litre).
TINY = 0.5e-3

#: How near that larger one must be [m] (estimate).
NEAR = 0.5


def find_regions(grid: Grid, selection: IntArray) -> list[IntArray]:
    """Return the selected refuges as places of a size that can be walked to and treated.

    Refuges are connected if they lie in the same cell or in two of the 26 neighbours. A region
    wider than ``WIDEST`` is divided by owner (one piece of furniture, the room), a piece that is
    still wider by refuge group; each piece is connected. Then tiny regions join the nearest larger
    one of the same room within ``NEAR``, so that a place is not listed in crumbs.
    """
    groups = grid.refuges.groups
    owners = {owner: index for index, owner in enumerate(sorted({g.owner for g in groups}))}
    owner_of_group = np.array([owners[group.owner] for group in groups], dtype=np.int64)
    group = grid.refuges.group
    regions = connected(grid, selection)
    regions = _divided(grid, regions, owner_of_group[group])
    regions = _divided(grid, regions, group)
    return _without_crumbs(grid, regions)


def connected(grid: Grid, selection: IntArray) -> list[IntArray]:
    """Return the connected regions of the selected refuges (26 neighbours over cells)."""
    from scipy.ndimage import label

    if selection.size == 0:
        return []
    places = np.array(np.unravel_index(grid.refuges.cell[selection], grid.shape))
    places -= places.min(axis=1, keepdims=True)
    mask = np.zeros(places.max(axis=1) + 1, dtype=bool)
    mask[tuple(places)] = True
    labels, count = label(mask, structure=np.ones((3, 3, 3)))
    return _split(selection, labels[tuple(places)], int(count))


def width(grid: Grid, region: IntArray) -> float:
    """Return the larger horizontal extent of a region's refuges [m]."""
    return float(np.ptp(grid.refuges.position[region, :2], axis=0).max())


def _split(selection: IntArray, labels: IntArray, count: int) -> list[IntArray]:
    """Return the members of each of the labels 1 to ``count``."""
    order = np.argsort(labels, kind="stable")
    return np.split(selection[order], np.searchsorted(labels[order], np.arange(2, count + 1)))


def _divided(grid: Grid, regions: list[IntArray], key: IntArray) -> list[IntArray]:
    """Return the regions with the wide ones divided by a key of their refuges."""
    pieces = []
    for region in regions:
        if width(grid, region) <= WIDEST:
            pieces.append(region)
            continue
        for value in np.unique(key[region]):
            pieces.extend(connected(grid, region[key[region] == value]))
    return pieces


def _without_crumbs(grid: Grid, regions: list[IntArray]) -> list[IntArray]:
    """Return the regions after each tiny one has joined the nearest larger one, if one is near."""
    volumes = [float(grid.refuges.volume[region].sum()) for region in regions]
    large = [region for region, volume in zip(regions, volumes, strict=True) if volume >= TINY]
    if not large:
        return regions
    rooms = _rooms(grid)
    lows = np.array([grid.refuges.position[region].min(axis=0) for region in large])
    highs = np.array([grid.refuges.position[region].max(axis=0) for region in large])
    homes = np.array([rooms[grid.refuges.group[region[0]]] for region in large])
    joined: list[list[IntArray]] = [[region] for region in large]
    alone = []
    for region, volume in zip(regions, volumes, strict=True):
        if volume >= TINY:
            continue
        centre: FloatArray = grid.refuges.position[region].mean(axis=0)
        outside = np.maximum(np.maximum(lows - centre, centre - highs), 0.0)
        distance = np.where(
            homes == rooms[grid.refuges.group[region[0]]],
            np.linalg.norm(outside, axis=1),
            np.inf,
        )
        nearest = int(distance.argmin())
        if distance[nearest] <= NEAR:
            joined[nearest].append(region)
        else:
            alone.append(region)
    return [np.concatenate(parts) for parts in joined] + alone


def _rooms(grid: Grid) -> IntArray:
    """Return a number of the room of each refuge group."""
    names = sorted({group.room for group in grid.refuges.groups})
    return np.array([names.index(group.room) for group in grid.refuges.groups], dtype=np.int64)
