"""What draughts in narrow gaps carry: from the room's air to the faces that they pass.

The speed u of a draught balances what drives it with what holds it back,

    K rho u²/2 + 12 mu u L / w² = C rho V²/2 + rho beta g |dT| H / 2,

with w the width of the gap and L = 2 x its way out, for air comes in at one end and leaves at
another: on the left loss at entry and exit (K = 0.5 + 1, sharp edges; textbook values, from memory)
and friction of laminar flow between plates (Poiseuille); on the right the pressure of moving air on
furniture (C = 0.35: 0.7 between the windward and the leeward side of a block, half of it for
streams that come from anywhere; estimate) and the buoyancy of the difference dT between the air
outside and the face, which changes along the gap and so acts by half, over a height H: the rise of
the way out, at least the width.

A face then takes G = A / (1/h + R + 2 L / (rho c u w)): its coefficient h at the speed u, the way R
to its node, and its share of what the draught brings, which serves both sides of the gap. A wall or
floor also gets what the draught gives to the face across, which passes it on by radiation: between
the air, the core behind that face and the wall, the face itself stores nothing, so it is a star of
three ways whose middle is eliminated.

The air of a gap one cell wide takes the same share of what the draught brings, less the part that
the solved flow brings already: the draught counts by how much faster it is than that.
"""

import numpy as np

from simulator.constants import (
    AIR_CONDUCTIVITY,
    AIR_EXPANSION,
    AIR_PRANDTL,
    AIR_VISCOSITY,
    AIR_VOLUMETRIC_HEAT_CAPACITY,
    GRAVITY,
)
from simulator.grid.contacts import GAP_RADIATION
from simulator.grid.grid import FloatArray, Grid, IntArray, Touched
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.heat.air_terms import Entries, conductances
from simulator.physics.heat.nodes import NodeLayout

#: Loss of pressure at entry and exit, and share of the stream's pressure that drives [-].
ENTRY_AND_EXIT, DRIVEN = 1.5, 0.35

#: Coefficient of faces in a gap when hardly any air moves [W/(m² K)] (estimate: between the closed
#: air layer of ISO 6946, 1.25, and free plates). Radiation across the gap is a contact of its own.
STILL = 1.5

#: Shortest plate that a coefficient is reckoned with [m] (estimate).
SHORTEST = 0.05


def draughts(grid: Grid, layout: NodeLayout, airflow: Airflow, temperatures: FloatArray) -> Entries:
    """Return the exchange of the room's air with faces in narrow gaps.

    Parameters
    ----------
    temperatures : the state that buoyancy is reckoned with, shape (n,) [°C].
    """
    air, face = layout.air_node[grid.draughts.air_cell], touched_nodes(grid, layout)
    difference = np.abs(temperatures[air] - temperatures[face])
    return conductances(air, face, draught_conductance(grid, airflow, difference))


def draught_conductance(grid: Grid, airflow: Airflow, difference: FloatArray) -> FloatArray:
    """Return what joins each face of ``grid.draughts`` to the air, shape (L,) [W/K].

    Parameters
    ----------
    difference : between that air and the face [K].
    """
    gaps = grid.draughts
    stream = airflow.speed.ravel()[gaps.air_cell]
    through = np.maximum(2.0 * gaps.length, gaps.width)
    speed = draught_speed(stream, difference, gaps.width, through, gaps.rise)
    plate = np.maximum(through, SHORTEST)
    nusselt = 0.664 * np.sqrt(speed * plate / AIR_VISCOSITY) * np.cbrt(AIR_PRANDTL)
    coefficient = np.cbrt((nusselt * AIR_CONDUCTIVITY / plate) ** 3 + STILL**3)
    brought = AIR_VOLUMETRIC_HEAT_CAPACITY * speed * gaps.width / (2.0 * through)
    to_face = 1.0 / coefficient + 1.0 / np.maximum(brought, 1e-9)
    conductance: FloatArray = gaps.area / (to_face + gaps.behind)
    has_face = np.isfinite(gaps.opposite)
    given, passed_on = 1.0 / to_face[has_face], GAP_RADIATION
    star = given + passed_on + 1.0 / np.maximum(gaps.opposite[has_face], 1e-9)
    conductance[has_face] += gaps.area[has_face] * given * passed_on / star
    is_air = gaps.kind == Touched.AIR
    solved = airflow.speed.ravel()[gaps.index[is_air]]
    left_to_do = np.clip(1.0 - solved / np.maximum(speed[is_air], 1e-9), 0.0, 1.0)
    conductance[is_air] = (gaps.area * brought)[is_air] * left_to_do
    return conductance


def draught_speed(
    stream: FloatArray,
    difference: FloatArray,
    width: FloatArray,
    length: FloatArray,
    rise: FloatArray,
) -> FloatArray:
    """Return the speed of air in gaps [m/s]; formula in the module's docstring.

    Parameters
    ----------
    stream : mean speed of the air where the gap opens [m/s].
    difference : between that air and the face [K].
    width, length, rise : of the gap, through it, and up or down it [m].

    Examples
    --------
    Under a chair, 8 cm high and 0.9 m through, in air of 0.3 m/s and 10 K:

    >>> found = draught_speed(*(np.array(x) for x in (0.3, 10.0, 0.08, 0.9, 0.0)))
    >>> round(float(found), 2)
    0.18
    """
    height = np.maximum(rise, width)
    drive = 0.5 * DRIVEN * stream**2 + 0.5 * AIR_EXPANSION * GRAVITY * difference * height
    loss, friction = 0.5 * ENTRY_AND_EXIT, 12.0 * AIR_VISCOSITY * length / width**2
    root = np.sqrt(friction**2 + 4.0 * loss * drive)
    speed: FloatArray = 2.0 * drive / np.maximum(friction + root, 1e-12)
    return speed


def touched_nodes(grid: Grid, layout: NodeLayout) -> IntArray:
    """Return the node of each face (L,)."""
    kind, index = grid.draughts.kind, grid.draughts.index
    node = np.empty(index.size, dtype=np.int64)
    for what, nodes in (
        (Touched.SOLID, layout.solid_node),
        (Touched.COLUMN, layout.column_node),
        (Touched.AIR, layout.air_node),
    ):
        mine = kind == what
        node[mine] = nodes[index[mine]]
    return node
