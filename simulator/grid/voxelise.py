"""From a case to the grid: which cells are air, what is in the others, what the air touches."""

import dataclasses
from dataclasses import dataclass

import numpy as np

from simulator.case.case import Case
from simulator.case.parts import PorousPart, SolidPart
from simulator.errors import CaseError
from simulator.grid.bodies import Bodies, find_bodies
from simulator.grid.cells import Labels, label_cells
from simulator.grid.closures import shut_faces
from simulator.grid.columns import lay_walls
from simulator.grid.contacts import Pairs, join_nodes
from simulator.grid.draughts import find_draughts
from simulator.grid.exposure import expose
from simulator.grid.faces import Sight, cut_faces
from simulator.grid.fill import Fill, fill_cells, resist_flow
from simulator.grid.gaps import look_across
from simulator.grid.grid import BoolArray, Grid, PartShare, Solids
from simulator.grid.planes import Lattice, lay_planes
from simulator.grid.refuges import find_refuges
from simulator.grid.regions import (
    block_bare_spaces,
    block_pockets,
    connected_air,
    main_spaces,
)
from simulator.grid.shares import PartBlock, share_parts
from simulator.grid.surfaces import gather_surfaces
from simulator.grid.terminals import place_terminals
from simulator.grid.wall_contacts import meet_contents
from simulator.grid.windows import place_windows


@dataclass(frozen=True, slots=True)
class Laid:
    """A case laid into cells, with what is needed to set other equipment into the same cells.

    ``main`` is the largest connected space of each room, in which equipment acts.
    """

    grid: Grid
    fill: Fill
    main: BoolArray
    blocks: tuple[PartBlock, ...]
    lattice: Lattice
    labels: Labels

    def equipped(self, case: Case) -> Grid:
        """Return the grid of a case that differs by fans, heaters, exhausts and sensors alone.

        It equals ``voxelise(case, cell_size)``; equipment takes no cells.

        Raises
        ------
        CaseError
            If a piece is blocked where it stands.
        """
        terminals = place_terminals(
            case, self.fill, self.main, self.blocks, self.lattice, self.labels
        )
        fans, jets, sources, leaks, exhausts = terminals
        grid = dataclasses.replace(
            self.grid,
            parts=case.parts,
            fans=fans,
            jets=jets,
            sources=sources,
            leaks=leaks,
            exhausts=exhausts,
        )
        _freeze(terminals)
        return grid


def voxelise(case: Case, cell_size: float) -> Grid:
    """Return the grid of ``case`` with cells of about ``cell_size`` [m]; all its arrays read-only.

    Mass, heat capacity, wall areas and the exposed areas of upright and level furniture are those
    of the case to round-off at any cell size.
    """
    return lay_cells(case, cell_size).grid


def lay_cells(case: Case, cell_size: float) -> Laid:
    """Return the grid of ``case`` as ``voxelise`` does, and what other equipment needs."""
    if not 0.0 < cell_size < np.inf:
        raise CaseError(f"cell size {cell_size} m: it must be more than nothing")
    dwelling, parts = case.dwelling, case.parts
    lattice = lay_planes(dwelling, cell_size)
    labels = label_cells(dwelling, lattice)
    stuff = tuple(part if isinstance(part, SolidPart | PorousPart) else None for part in parts)
    blocks = share_parts(stuff, lattice, labels)
    solid_blocks = tuple(block for block in blocks if isinstance(parts[block.part], SolidPart))

    fill = fill_cells(parts, blocks, lattice, labels)
    bodies = find_bodies(parts, blocks, lattice)
    closed = shut_faces(solid_blocks, fill, lattice)
    fill, closed = block_pockets(fill, closed, labels)

    tiles = cut_faces(solid_blocks, lattice, labels)
    exposure = expose(tiles.where(tiles.sight == Sight.AIR), solid_blocks, fill, lattice)
    gaps = look_across(exposure.slits, solid_blocks, bodies, lattice, labels)
    touching = tiles.where(tiles.sight == Sight.SOLID)
    pairs = join_nodes(blocks, touching, gaps, bodies, lattice)
    rows, constructions = lay_walls(dwelling, lattice, labels)
    on_walls = tiles.where(tiles.sight == Sight.WALL)
    rows, contact = meet_contents(rows, on_walls, gaps, bodies, parts, fill, lattice)
    walls = (rows, contact, constructions)
    surfaces, places = gather_surfaces(parts, blocks, bodies, exposure, walls, fill, lattice)
    fill, closed = block_bare_spaces(fill, closed, surfaces.air_cell)

    darcy, forchheimer = resist_flow(parts, blocks, fill, lattice)
    refuges = find_refuges(case, blocks, bodies, pairs, (surfaces, places), rows, lattice, labels)
    main = main_spaces(connected_air(fill.is_open, closed), fill.air_volume, labels)
    draughts = find_draughts(
        exposure.slits,
        gaps,
        rows,
        contact.untouched - contact.uncovered,
        main,
        closed,
        fill,
        solid_blocks,
        bodies,
        lattice,
    )
    terminals = place_terminals(case, fill, main, blocks, lattice, labels)
    fans, jets, sources, leaks, exhausts = terminals
    grid = Grid(
        x_edges=lattice.edges[0],
        y_edges=lattice.edges[1],
        z_edges=lattice.edges[2],
        cell_size=cell_size,
        is_open=fill.is_open,
        is_blocked=fill.is_blocked,
        room=labels.room,
        room_names=labels.names,
        air_volume=fill.air_volume,
        closed_x=closed[0],
        closed_y=closed[1],
        closed_z=closed[2],
        darcy=darcy,
        forchheimer=forchheimer,
        parts=parts,
        shares=PartShare(
            bodies.share_part, bodies.share_cell, bodies.share_volume, bodies.share_node
        ),
        solids=_solids(bodies, pairs),
        surfaces=surfaces,
        columns=contact.columns,
        constructions=constructions,
        refuges=refuges,
        fans=fans,
        jets=jets,
        sources=sources,
        leaks=leaks,
        start_temperature=dwelling.start_temperature,
        outdoor_temperature=dwelling.outdoor_temperature,
        exhausts=exhausts,
        windows=place_windows(case, main, lattice, labels),
        draughts=draughts,
    )
    _freeze(grid)
    return Laid(grid, fill, main, blocks, lattice, labels)


def _solids(bodies: Bodies, pairs: Pairs) -> Solids:
    return Solids(
        cell=bodies.cell,
        part=bodies.part,
        volume=bodies.volume,
        extent=bodies.extent,
        mass=bodies.mass,
        heat_capacity=bodies.heat_capacity,
        conductivity=bodies.conductivity,
        span=bodies.span,
        pair=pairs.pair,
        pair_axis=pairs.axis.astype(np.int8),
        pair_conductance=pairs.conductance,
        pair_area=pairs.area,
        pair_depth=pairs.depth,
    )


def _freeze(thing: object) -> None:
    """Set every array in a tree of dataclasses and tuples read-only."""
    if isinstance(thing, np.ndarray):
        thing.setflags(write=False)
    elif isinstance(thing, tuple):
        for member in thing:
            _freeze(member)
    elif dataclasses.is_dataclass(thing):
        for field in dataclasses.fields(thing):
            _freeze(getattr(thing, field.name))
