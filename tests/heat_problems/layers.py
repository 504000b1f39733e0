"""Layers thinner than a cell: walls as boards in a room, a rug on a slab, a blanket, a drawer."""

from dataclasses import dataclass

import numpy as np
from builders import box_room
from known_answers import Figure, at_most

from heat_problems.layered import LayerRow, step_response
from heat_problems.set_ups import (
    HOUR,
    SHUT,
    SetUp,
    block,
    endless_air,
    layers,
    material,
    set_up,
)
from heat_problems.walls import WALLS
from simulator.case.dwelling import Behind, Envelope, Side
from simulator.case.furniture import stuffing
from simulator.case.materials import MATERIALS, Material
from simulator.case.parts import Box, Refuge, SolidPart, Vector
from simulator.grid.grid import FloatArray, Grid, IntArray
from simulator.grid.voxelise import voxelise

_SERIES = "exact: Laplace transform of the layers, inverted by Abate & Valkó 2004"


def _row(stuff: Material, thickness: float) -> LayerRow:
    return (stuff.conductivity, stuff.density, stuff.heat_capacity, thickness)


#: k, ρ, c, thickness [m] of what lies about in a home, as the furniture is made of.
RUG = _row(stuffing.CARPET, 0.012)
BLANKET = _row(stuffing.BEDDING, 0.03)
MATTRESS = _row(stuffing.MATTRESS, 0.25)
FRONT = _row(stuffing.PARTICLEBOARD, 0.018)
LOAD = _row(stuffing.TEXTILE, 0.35)
CONCRETE = _row(MATERIALS["concrete"], 1.2)

#: Layers from the air inwards, film behind the last, along which axis the heat goes.
STACKS: dict[str, tuple[tuple[LayerRow, ...], float, int]] = {
    **{what: (tuple(rows), outer_h, 0) for what, (rows, outer_h, _) in WALLS.items()},
    "blanket on a mattress": ((BLANKET, MATTRESS), 0.0, 2),
    "drawer front before its load": ((FRONT, LOAD), 0.0, 1),
    "board in hot air": ((FRONT,), 8.0, 0),
}

TIMES = HOUR * np.array([0.5, 1.0, 2.0, 4.0, 8.0])
START, AIR, FILM = 20.0, 55.0, 8.0


@dataclass(frozen=True, slots=True)
class HungLayers:
    """Layers of 0.8 x 0.8 m hung in a room, all moved by ``shift``; their edges pass no heat.

    Before the first is air of 55 °C, behind the last air of 20 °C.
    """

    what: str
    cell: float
    shift: float = 0.0  # [cells]
    most: float = 0.3  # [K]
    is_binding: bool = True
    is_slow: bool = False
    source: str = _SERIES

    @property
    def name(self) -> str:
        """The problem in a few words."""
        return f"{self.what}, as layers in a room"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm, moved by {self.shift:g} cells"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        rows, behind, _ = STACKS[self.what]
        exact = START + (AIR - START) * step_response(rows, FILM, behind, TIMES)
        ours = self.temperatures()
        off = np.abs(ours - exact)[:, ~np.isnan(ours).any(axis=0)]
        name = f"largest error of {off.size} temperatures from 0.5 h on [K]"
        return (at_most(name, float(off.max()), self.most, self.is_binding),)

    def temperatures(self) -> FloatArray:
        """Surface, interfaces next to layers (else nan) and last face at all times [°C]."""
        rows, behind, axis = STACKS[self.what]
        made = set_up(self._grid(), 0.0)
        surfaces, last = made.grid.surfaces, len(rows) - 1
        ours = (surfaces.solid >= 0) & (surfaces.axis == axis)
        sign = -1 if axis < 2 else 1  # a blanket is warmed from above
        front = ours & (surfaces.sign == sign) & (surfaces.part == 0)
        back = ours & (surfaces.sign == -sign) & (surfaces.part == last)
        made = set_up(made.grid, np.where(front, FILM, np.where(back, behind, 0.0)))
        state = made.state(START)
        state[made.layout.air_node[surfaces.air_cell[front]]] = AIR
        states = made.states(state, TIMES)
        faces = [self._mean(states, made.layout.surface_node[front], surfaces.area[front])]
        faces += [self._between(made, states, number) for number in range(last)]
        faces.append(self._mean(states, made.layout.surface_node[back], surfaces.area[back]))
        return np.stack(faces, axis=1)

    def _grid(self) -> Grid:
        rows, _, axis = STACKS[self.what]
        wide, start = 0.8, 0.2 + self.shift * self.cell
        thick = [row[3] for row in rows]
        planes = start + np.concatenate([[0.0], np.cumsum(thick)])
        top = float(planes[-1])
        parts = []
        for number, row in enumerate(rows):
            low, size = [0.2, 0.2, 0.2], [wide, wide, wide]
            low[axis] = float(planes[number]) if axis < 2 else top + start - planes[number + 1]
            size[axis] = row[3]
            parts.append(block((low[0], low[1], low[2]), (size[0], size[1], size[2]), row[:3]))
        room = [wide + 0.4] * 3
        room[axis] = 0.2 * np.ceil((top + 0.2) / 0.2 - 1e-9)
        case = box_room((room[0], room[1], room[2]), parts=parts, envelope=SHUT)
        return endless_air(voxelise(case, self.cell))

    def _between(self, made: SetUp, states: FloatArray, number: int) -> FloatArray:
        """Mean of the interface between two layers; not a number where neither is thin."""
        solids = made.grid.solids
        parts = np.sort(solids.part[solids.pair], axis=1)
        pair = np.flatnonzero((parts == (number, number + 1)).all(axis=1))
        node = made.layout.touch_node[pair]
        if (node < 0).any():
            return np.full(len(states), np.nan)
        return self._mean(states, node, solids.pair_area[pair])

    @staticmethod
    def _mean(states: FloatArray, node: IntArray, weight: FloatArray) -> FloatArray:
        mean: FloatArray = states[:, node] @ weight / weight.sum()
        return mean


RUG_SIZE = (1.2, 0.9, RUG[3])
FLOOR = Envelope(layers(CONCRETE), Behind("deep ground", None, 0.0))


def rug_room(cell: float, low: Vector) -> SetUp:
    """Return a room of 2.4 x 2 m with a rug on a deep slab; h 8 on all that faces up."""
    x, y, z = (low[axis] + 0.5 * RUG_SIZE[axis] for axis in range(3))
    rug = SolidPart("rug", "rug", Box((x, y, z), RUG_SIZE), material(*RUG[:3]), Refuge.THROUGHOUT)
    sides = {side: FLOOR if side is Side.FLOOR else SHUT for side in Side}
    case = box_room((2.4, 2.0, 0.8), parts=[rug], envelope=sides, furniture_words={"rug": "rug"})
    grid = endless_air(voxelise(case, cell))
    up = (grid.surfaces.axis == 2) & (grid.surfaces.sign > 0)
    return set_up(grid, np.where(up, FILM, 0.0))


def under_rug(made: SetUp) -> tuple[IntArray, FloatArray]:
    """Return the nodes of the floor under the rug and their areas [m²]."""
    refuges = made.grid.refuges
    words = [group.words for group in refuges.groups]
    row = refuges.index[refuges.group == words.index("floor under the rug")]
    return made.layout.column_node[row], made.grid.columns.area[row]


@dataclass(frozen=True, slots=True)
class RugOnSlab:
    """A rug of 12 mm on deep concrete in air of 55 °C: its top, the floor under it, the rest."""

    cell: float
    shift: float = 0.0  # [m]
    most: float = 0.3  # [K]
    is_slow: bool = False
    name: str = "rug of 12 mm on deep concrete"
    source: str = _SERIES

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm, moved by {1000 * self.shift:g} mm"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        made = rug_room(self.cell, (0.4 + self.shift, 0.5, 0.0))
        states = made.states(made.state(START, AIR), TIMES)
        surfaces = made.grid.surfaces
        node, area = under_rug(made)
        top = (surfaces.part == 0) & (surfaces.axis == 2)
        floor = (surfaces.column >= 0) & (surfaces.axis == 2) & (surfaces.sign > 0)
        covered = step_response((RUG, CONCRETE), FILM, "endless", TIMES)
        bare = step_response((CONCRETE,), FILM, "endless", TIMES)[:, 0]
        figures = [
            at_most(
                "area under the rug, error [m²]",
                abs(area.sum() - RUG_SIZE[0] * RUG_SIZE[1]),
                1e-12,
            )
        ]
        for what, nodes, exact in (
            ("floor under the rug", node, covered[:, 1]),
            ("top of the rug", made.layout.surface_node[top], covered[:, 0]),
            ("bare floor", made.layout.surface_node[floor], bare),
        ):
            off = np.abs(states[:, nodes] - (START + (AIR - START) * exact)[:, None]).max()
            figures.append(at_most(f"{what}, largest error from 0.5 h on [K]", off, self.most))
        return tuple(figures)


@dataclass(frozen=True, slots=True)
class SlidRug:
    """A rug that is slid by three centimetres, a millimetre at a time: nothing may jump."""

    cell: float
    is_slow: bool = False
    name: str = "rug slid by 30 mm"
    source: str = "what is moved smoothly changes the answer smoothly"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm, 1 mm a step"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem at each place and compare."""
        stored, under = [], []
        for step in range(31):
            made = rug_room(self.cell, (0.4 + 0.001 * step, 0.5, 0.0))
            state = made.states(made.state(START, AIR), np.array([2.0 * HOUR]))[0]
            node, area = under_rug(made)
            heat = made.layout.capacity * (state - START)
            heat[made.layout.air] = 0.0
            stored.append(heat.sum())
            under.append(state[node] @ area / area.sum())
        jump = np.abs(np.diff(stored)).max() / stored[0]
        return (
            at_most("heat stored, largest change in 1 mm [-]", jump, 1e-4),
            at_most(
                "floor under it, largest change in 1 mm [K]", np.abs(np.diff(under)).max(), 0.01
            ),
        )


def hot_bed(
    cell: float, turn: float, shift: float = 0.0, hours: tuple[float, ...] = (0.5, 1.0, 2.0, 4.0)
) -> tuple[FloatArray, FloatArray]:
    """Return the mean under the blanket [°C] and the heat stored [J] of a bed in air of 55 °C."""
    mattress, blanket = (
        SolidPart(
            "bed",
            "bed",
            Box((1.1 + shift, 1.0 + 0.3 * shift, z + 0.5 * row[3]), (1.0, 0.8, row[3]), turn),
            material(*row[:3]),
            Refuge.THROUGHOUT,
        )
        for row, z in ((MATTRESS, 0.23), (BLANKET, 0.23 + MATTRESS[3]))
    )
    case = box_room((2.2, 2.0, 1.0), parts=[mattress, blanket], envelope=SHUT)
    grid = endless_air(voxelise(case, cell))
    made = set_up(grid, np.where(grid.surfaces.solid >= 0, FILM, 0.0))
    states = made.states(made.state(START, AIR), HOUR * np.array(hours))
    area = grid.solids.pair_area
    touch = np.flatnonzero(area > 0.0)
    under = states[:, made.layout.touch_node[touch]] @ area[touch] / area[touch].sum()
    bed = ~made.layout.is_envelope
    bed[made.layout.air] = False
    stored = (states - START)[:, bed] @ made.layout.capacity[bed]
    return under, stored


@dataclass(frozen=True, slots=True)
class MadeBed:
    """A blanket on a mattress in hot air all round, turned or not, beside itself on fine cells."""

    cell: float
    turn: float = 0.0
    most: float = 1.0  # [K]
    share: float = 0.06  # of the heat stored
    is_binding: bool = True
    is_slow: bool = False
    name: str = "blanket on a mattress in hot air all round"
    source: str = "the same on cells of 50 mm, not turned; from 0.5 to 4 h"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm, turned by {self.turn:g} degrees"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        under, stored = hot_bed(self.cell, self.turn)
        fine_under, fine_stored = hot_bed(0.05, 0.0)
        return (
            at_most(
                "mean under the blanket, largest difference [K]",
                float(np.abs(under - fine_under).max()),
                self.most,
                self.is_binding,
            ),
            at_most(
                "heat stored, largest difference [-]",
                float(np.abs(stored / fine_stored - 1.0).max()),
                self.share,
                self.is_binding,
            ),
        )


@dataclass(frozen=True, slots=True)
class SlidBed:
    """The same bed slid over a whole cell: where it stands among the cells may not tell."""

    cell: float
    turn: float = 0.0
    is_slow: bool = False
    name: str = "blanket on a mattress slid over a cell"
    source: str = "what stands elsewhere in the same air warms the same"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{1000 * self.cell:g} mm, turned by {self.turn:g} degrees, seven places"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem at each place and compare."""
        places = np.linspace(0.0, self.cell, 7)
        found = np.array([hot_bed(self.cell, self.turn, x, (1.0,)) for x in places])[:, :, 0]
        under, stored = found.T
        return (
            at_most("mean under the blanket, spread [K]", float(np.ptp(under)), 0.1),
            at_most("heat stored, spread [-]", float(np.ptp(stored) / stored.mean()), 0.005),
        )
