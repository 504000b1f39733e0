"""Long-wave exchange between surfaces, linearised about given temperatures."""

from dataclasses import dataclass

import numpy as np

from simulator.grid.grid import FloatArray, Grid, IndexArray
from simulator.physics.heat.kernels import SingleArray, subtract_long_wave
from simulator.physics.heat.nodes import NodeLayout, surface_temperatures
from simulator.physics.radiation.exchange import RadiationExchange, conductances
from simulator.physics.radiation.kernels import PatchArray


@dataclass(frozen=True, slots=True)
class LongWave:
    """Radiating surfaces (length R) in patches (length P) and the patches' conductances.

    A surface gives off ``diagonal`` x its own temperature and receives its share of what its patch
    gets from the mean temperatures of the patches: symmetric, and nothing is lost between patches.
    """

    node: IndexArray  # (R,) node of each radiating surface
    patch: IndexArray  # (R,)
    weight: FloatArray  # (R,) share of its patch; sums to one in each patch [-]
    diagonal: FloatArray  # (R,) [W/K]
    row_start: IndexArray  # pairs of patches, each in the row of the lower number
    column: PatchArray
    conductance: SingleArray  # [W/K]; half the memory, and the same in both directions
    own: FloatArray  # (P,) what each patch sends itself [W/K]

    def subtract_received(self, x: FloatArray | SingleArray, out: FloatArray | SingleArray) -> None:
        """out -= heat that every surface receives at the temperatures ``x`` [W]."""
        work = np.empty((2, self.own.size))
        subtract_long_wave(
            self.node,
            self.patch,
            self.weight,
            self.row_start,
            self.column,
            self.conductance,
            self.own,
            work[0],
            work[1],
            x,
            out,
        )


def long_wave(
    grid: Grid, layout: NodeLayout, radiation: RadiationExchange, temperatures: FloatArray
) -> LongWave:
    """Return the exchange linearised about the state ``temperatures`` [°C].

    Notes
    -----
    Each pair of patches exchanges by its ``conductances``: exact at their given mean temperatures,
    and symmetric. The mean of a patch weighs its surfaces by area and emissivity.
    """
    row = np.flatnonzero(radiation.patch_of_surface >= 0)
    patch = radiation.patch_of_surface[row]
    strength = grid.surfaces.area[row] * grid.surfaces.emissivity[row]
    patches = radiation.area.size
    total = np.bincount(patch, weights=strength, minlength=patches)
    weight = strength / total[patch]
    surface = surface_temperatures(layout, temperatures)[row]
    mean = np.bincount(patch, weights=weight * surface, minlength=patches).astype(np.float64)
    between, own = conductances(radiation, mean)
    conductance = between.astype(np.float32)
    pairs = radiation.pairs
    first = np.repeat(np.arange(patches), np.diff(pairs.row_start))
    given = own.copy()
    for ends in (first, pairs.column):
        given += np.bincount(ends, weights=conductance, minlength=patches)
    return LongWave(
        node=layout.surface_node[row].astype(np.uint32),
        patch=patch.astype(np.uint32),
        weight=weight,
        diagonal=weight * given[patch],
        row_start=pairs.row_start,
        column=pairs.column,
        conductance=conductance,
        own=own,
    )
