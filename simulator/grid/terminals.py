"""Where equipment and cracks meet the air: outlets, intakes, motors, sources, leaks, exhausts."""

from collections.abc import Callable

import numpy as np

from simulator.case.case import Case
from simulator.case.dwelling import Leakage, Side
from simulator.case.parts import AirMover, AirOutlet, Box, HeatedJet, HeatSource, Vector
from simulator.errors import CaseError
from simulator.grid.boxes import place_box
from simulator.grid.cells import Labels, slices
from simulator.grid.fill import DRAG_SHARE, Fill
from simulator.grid.grid import (
    BoolArray,
    CellSet,
    FloatArray,
    GridExhaust,
    GridFan,
    GridJet,
    GridSource,
    IntArray,
    Leak,
)
from simulator.grid.planes import Lattice
from simulator.grid.shares import PartBlock, cut_box

#: A heat source whose box is open air for less than this share warms the air around it instead [-].
OPEN_SHARE = 0.1

Terminals = tuple[
    tuple[GridFan, ...],
    tuple[GridJet, ...],
    tuple[GridSource, ...],
    tuple[Leak, ...],
    tuple[GridExhaust, ...],
]


def place_terminals(
    case: Case,
    fill: Fill,
    main: BoolArray,
    blocks: tuple[PartBlock, ...],
    lattice: Lattice,
    labels: Labels,
) -> Terminals:
    """Return fans, jets, sources, leaks and exhausts on the grid, in the order of the case.

    All that move air act on ``main``, the main connected space of each room: a leak into
    a shut wardrobe, which air cannot leave again, would have no flow field. Heat sources may be in
    a shut cupboard.
    """
    site = _Site(case, fill, main, blocks, lattice, labels)
    return (
        tuple(site.fan(part) for part in case.parts if isinstance(part, AirMover)),
        tuple(site.jet(part) for part in case.parts if isinstance(part, HeatedJet)),
        tuple(site.source(part) for part in case.parts if isinstance(part, HeatSource)),
        tuple(site.leak(leak) for leak in case.dwelling.leakage if leak.flow > 0.0),
        tuple(site.exhaust(part) for part in case.parts if isinstance(part, AirOutlet)),
    )


Block = tuple[tuple[int, int], tuple[int, int], tuple[int, int]]


class _Site:
    """The open air of the dwelling, and what to say where there is none."""

    def __init__(
        self,
        case: Case,
        fill: Fill,
        main: BoolArray,
        blocks: tuple[PartBlock, ...],
        lattice: Lattice,
        labels: Labels,
    ) -> None:
        self._case, self._fill, self._main = case, fill, main
        self._blocks, self._lattice, self._labels = blocks, lattice, labels

    def fan(self, part: AirMover) -> GridFan:
        """Return a fan; its heat goes to the air about its hub, less with distance."""
        here = self._main & self._room_mask(part.owner, part.centre)
        for reach in (1.0, 2.0):
            length = reach * max(self._lattice.cell_size, 0.25 * part.diameter)

            def near(offsets: list[FloatArray], length: float = length) -> FloatArray:
                hats = [np.maximum(0.0, 1.0 - np.abs(offset) / length) for offset in offsets]
                return hats[0] * hats[1] * hats[2]

            weight = self._weigh(part.centre, near, here)
            if weight.sum() > 0.0:
                return GridFan(part, _cell_set(weight))
        raise self._blocked(part.owner, part.centre)

    def jet(self, part: HeatedJet) -> GridJet:
        """Return a heated jet; its outlet is a disc smeared over a cell, in any direction."""
        here = self._main & self._room_mask(part.owner, part.centre)
        normal = np.asarray(part.direction) / np.linalg.norm(part.direction)
        size = self._lattice.cell_size

        def disc(offsets: list[FloatArray]) -> FloatArray:
            along = sum(n * offset for n, offset in zip(normal, offsets, strict=True))
            square = sum(offset**2 for offset in offsets)
            radius = np.sqrt(np.maximum(square - along**2, 0.0))
            rim = np.clip((0.5 * part.diameter - radius) / size + 0.5, 0.0, 1.0)
            inside: FloatArray = rim * np.maximum(0.0, 1.0 - np.abs(along) / size)
            return inside

        weight = self._weigh(part.centre, disc, here)
        if weight.sum() <= 0.0:
            raise self._blocked(part.owner, part.centre)
        drawn = None
        if part.intake is not None:
            drawn = self._around(f"the intake of {part.owner}", part.intake)
        return GridJet(part, _cell_set(weight), drawn)

    def source(self, part: HeatSource) -> GridSource:
        """Return a heat source: the open air in its box, or around it if the box is solid."""
        within = self._overlap(part.box)
        around = self._overlap(_grown(part.box, self._lattice.cell_size)) - within
        for air in (self._main, self._fill.is_open):
            weight = np.where(air, within, 0.0)
            if weight.sum() < OPEN_SHARE * part.box.volume:
                weight = np.where(air, np.maximum(around, 0.0), 0.0)
            if weight.sum() > 0.0:
                return GridSource(part, _cell_set(weight))
        raise self._blocked(part.owner, part.box.centre)

    def exhaust(self, part: AirOutlet) -> GridExhaust:
        """Return an exhaust: the air before the opening, or around it if that is blocked."""
        return GridExhaust(part, self._around(part.owner, part.box))

    def leak(self, leakage: Leakage) -> Leak:
        """Return the cracks of a room: air enters below mid-height and leaves above it.

        Cracks are taken to be spread evenly over the leaking sides, with the neutral plane of the
        stack effect at mid-height, so the flow through them grows with the distance from it.
        """
        names = self._labels.names[: self._labels.room_count]
        if leakage.room not in names:
            raise CaseError(f"leakage of room '{leakage.room}', which is no room")
        room = names.index(leakage.room)
        sides = leakage.sides or tuple(side for side in Side if side.axis != 2)
        low = self._crack(room, sides, Side.FLOOR)
        high = self._crack(room, sides, Side.CEILING)
        return Leak(leakage.room, leakage.flow, _cell_set(low), _cell_set(high))

    def _around(self, name: str, box: Box) -> CellSet:
        """Return the air in a box, or around it if that is blocked."""
        for reach in (box, _grown(box, self._lattice.cell_size)):
            weight = np.where(self._main, self._overlap(reach), 0.0)
            if weight.sum() > 1e-9:
                return _cell_set(weight)
        raise self._blocked(name, box.centre)

    def _crack(self, room: int, sides: tuple[Side, ...], end: Side) -> FloatArray:
        """Return how much each cell leaks on the half of its room towards ``end`` (relative)."""
        block = self._labels.blocks[room]
        pull = self._pull(block, end)
        weight = np.zeros(self._lattice.shape)
        for side in sides:
            at_side = np.zeros(self._lattice.shape, dtype=np.bool_)
            at_side[slices(_edge(block, side))] = True
            area = self._lattice.face_areas(side.axis)
            weight += np.where(at_side & self._is_clear, area * pull, 0.0)
        if weight.sum() <= 0.0:
            inside = np.zeros(self._lattice.shape, dtype=np.bool_)
            inside[slices(block)] = True
            weight = self._end_layer(inside & self._main, end)
        if weight.sum() <= 0.0:
            raise CaseError(f"room '{self._labels.names[room]}' has no open air for its leaks")
        return weight

    @property
    def _is_clear(self) -> BoolArray:
        """Where cracks open into free air: not behind boards and books that fill the cell."""
        is_free = self._fill.solid_extent < DRAG_SHARE * self._lattice.volumes
        return np.asarray(self._main & is_free)

    def _pull(self, block: Block, end: Side) -> FloatArray:
        """Height of each cell below (floor) or above (ceiling) the middle of the room [m]."""
        first, last = block[2]
        edges = self._lattice.edges[2]
        middle = 0.5 * (edges[first] + edges[last])
        above = np.maximum(end.sign * (self._lattice.centres[2] - middle), 0.0)
        return np.broadcast_to(above, self._lattice.shape)

    def _end_layer(self, cells: BoolArray, end: Side) -> FloatArray:
        """Return the floor area of the open cells nearest to ``end``."""
        layers = np.flatnonzero(cells.any(axis=(0, 1)))
        weight = np.zeros(self._lattice.shape)
        if layers.size:
            layer = layers[0] if end is Side.FLOOR else layers[-1]
            area = self._lattice.face_areas(2)[..., layer]
            weight[..., layer] = np.where(cells[..., layer], area, 0.0)
        return weight

    def _weigh(
        self, centre: Vector, shape: Callable[[list[FloatArray]], FloatArray], here: BoolArray
    ) -> FloatArray:
        x, y, z = (
            middles - place for middles, place in zip(self._lattice.centres, centre, strict=True)
        )
        weight = shape([x[:, None, None], y[None, :, None], z[None, None, :]])
        return np.where(here, weight * self._lattice.volumes, 0.0)

    def _overlap(self, box: Box) -> FloatArray:
        placed = place_box(box, self._lattice)
        volume = np.zeros(self._lattice.shape)
        x, y, z = placed.block()
        volume[slice(*x), slice(*y), slice(*z)] = cut_box(placed, self._lattice)[0]
        return volume

    def _room_mask(self, owner: str, centre: Vector) -> BoolArray:
        """Return the cells of the room that a point is in or on the edge of."""
        distance = [
            np.maximum(np.maximum(edges[:-1] - place, place - edges[1:]), 0.0)
            for edges, place in zip(self._lattice.edges, centre, strict=True)
        ]
        square = (
            distance[0][:, None, None] ** 2
            + distance[1][None, :, None] ** 2
            + distance[2][None, None, :] ** 2
        )
        square = np.where(self._labels.room >= 0, square, np.inf)
        nearest = int(np.argmin(square))
        if square.reshape(-1)[nearest] > (0.5 * self._lattice.cell_size) ** 2:
            raise CaseError(f"{owner} is outside every room: {_point(centre)}; move it into one")
        return np.asarray(self._labels.room == self._labels.room.reshape(-1)[nearest])

    def _blocked(self, name: str, centre: Vector) -> CaseError:
        cell = tuple(
            int(np.clip(np.searchsorted(edges, place, side="right") - 1, 0, edges.size - 2))
            for edges, place in zip(self._lattice.edges, centre, strict=True)
        )
        owner = _owner_of(cell, self._case, self._blocks)
        where = f"inside {owner}" if owner else "not in open air"
        return CaseError(f"{name} is {where}: {_point(centre)}; move it into open air")


def _cell_set(weight: FloatArray) -> CellSet:
    flat = weight.reshape(-1)
    cells: IntArray = np.flatnonzero(flat > 0.0)
    return CellSet(cells, flat[cells] / flat[cells].sum())


def _grown(box: Box, margin: float) -> Box:
    x, y, z = (size + 2.0 * margin for size in box.size)
    return Box(box.centre, (x, y, z), box.turn, box.tilt)


def _edge(block: Block, side: Side) -> Block:
    ranges = list(block)
    first, last = ranges[side.axis]
    ranges[side.axis] = (last - 1, last) if side.sign > 0 else (first, first + 1)
    return (ranges[0], ranges[1], ranges[2])


def _owner_of(cell: tuple[int, ...], case: Case, blocks: tuple[PartBlock, ...]) -> str:
    """Return the owner of most of the stuff in a cell, or nothing."""
    most, owner = 0.0, ""
    for block in blocks:
        local = tuple(at - first for at, first in zip(cell, block.block[:, 0], strict=True))
        if all(0 <= at < n for at, n in zip(local, block.volume.shape, strict=True)):
            volume = float(block.volume[local])
            if volume > most:
                most, owner = volume, case.parts[block.part].owner
    return owner


def _point(centre: Vector) -> str:
    return "x {:.2f}, y {:.2f}, z {:.2f} m".format(*centre)
