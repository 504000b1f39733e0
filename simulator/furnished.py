"""A furnished dwelling laid once for many runs that differ by their equipment alone.

Fans, heaters, exhausts and sensors take no cells: cells, nodes, what radiates to what and where
surfaces read their air do not follow them. Searches over layouts find these once a dwelling.
"""

from dataclasses import dataclass, replace

from simulator.case.case import Case
from simulator.case.parts import Part, PorousPart, SolidPart
from simulator.grid.grid import Grid
from simulator.grid.voxelise import Laid, lay_cells
from simulator.physics.convection.surface_sampling import SurfaceSampling, sample_surfaces
from simulator.physics.heat.nodes import NodeLayout, node_layout
from simulator.physics.radiation.exchange import RadiationExchange, radiation_exchange


@dataclass(frozen=True, slots=True)
class Furnished:
    """What ``furnish`` returns: all of a run's preparation that equipment does not change."""

    case: Case
    cell_size: float  # [m]
    laid: Laid
    layout: NodeLayout
    radiation: RadiationExchange
    sampling: SurfaceSampling

    def suits(self, case: Case, cell_size: float) -> bool:
        """Return whether a case at its start is the same dwelling in the same state."""
        return (
            cell_size == self.cell_size
            and case.dwelling == self.case.dwelling
            and _stuff(case) == _stuff(self.case)
            and case.furniture_words == self.case.furniture_words
        )

    def grid(self, case: Case) -> Grid:
        """Return the grid of a case that it suits."""
        return self.laid.equipped(case)

    def sampled(self, grid: Grid) -> SurfaceSampling:
        """Return where the surfaces of such a grid read their air, and which jets hit them."""
        return self.sampling.with_equipment(grid)


def furnish(case: Case, cell_size: float) -> Furnished:
    """Return the dwelling of a case on cells of about ``cell_size`` [m], for any equipment."""
    laid = lay_cells(case, cell_size)
    return Furnished(
        case=replace(case, changes=()),
        cell_size=cell_size,
        laid=laid,
        layout=node_layout(laid.grid),
        radiation=radiation_exchange(laid.grid),
        sampling=sample_surfaces(laid.grid),
    )


def _stuff(case: Case) -> tuple[Part, ...]:
    """Return the parts that fill cells, each with its place among all parts."""
    return tuple(part for part in case.parts if isinstance(part, SolidPart | PorousPart))
