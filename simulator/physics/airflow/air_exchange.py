"""Air that enters and leaves cells: through heaters' outlets and intakes, leaks and exhausts."""

from dataclasses import dataclass
from math import fsum, sqrt

import numpy as np

from simulator.constants import AIR_DENSITY
from simulator.errors import CaseError
from simulator.grid.grid import CellSet, FloatArray, Grid, GridJet, IntArray
from simulator.physics.airflow.open_faces import bodies_of_air

#: Discharge coefficient of a sharp-edged opening [-]; common practice, no source: 0.6 to 0.65
#: (``open_windows`` takes the lower end).
EXHAUST_DISCHARGE = 0.65

#: Pressure of a room over outdoors up to which all displaced air leaves through exhausts [Pa].
#: estimate: a crew opens enough not to strain doors; at 10 Pa an opening passes 2.7 m/s.
EXHAUST_PRESSURE = 10.0


@dataclass(frozen=True, slots=True)
class AirExchange:
    """Volume flows into and out of cells; all arrays over flat cells.

    Attributes
    ----------
    leak_inflow : outdoor air that enters through leaks [m³/s], never negative.
    leak_outflow : room air that leaves through leaks and exhausts [m³/s], never negative.
    cell_source : all air that enters (+) or leaves (-) a cell, jets included [m³/s]; its sum over
        every connected body of air is zero.
    outlets : for each jet of the grid the cells that its air enters.
    intakes : for each jet the cells that it draws from; None for ducted outdoor air.
    exhaust_flow : what leaves through each exhaust of the grid [m³/s].
    """

    leak_inflow: FloatArray
    leak_outflow: FloatArray
    cell_source: FloatArray
    outlets: tuple[CellSet, ...]
    intakes: tuple[CellSet | None, ...]
    exhaust_flow: tuple[float, ...] = ()


def air_exchange(grid: Grid) -> AirExchange:
    """Return the air that jets and leaks bring into and take out of every cell.

    A recirculating heater takes in what it gives out. A ducted heater's air displaces room air,
    first through the exhausts of its body of air, in proportion to their areas and up to what
    ``EXHAUST_PRESSURE`` drives through them; the leaks then go on as if no duct were blowing. The
    rest, and all without exhausts, leaves through the leaks: it replaces the air that would leak
    in, and what is more leaves through the outlets in proportion to their flows. In a body of air
    that does not leak, exhausts take all. A leak counts only in bodies of air where it has both
    inlets and outlets.

    Raises
    ------
    CaseError
        If ducted air has no way out, or a heater's intake and outlet share no body of air.
    """
    bodies = bodies_of_air(grid)
    count = int(bodies.max()) + 1
    cells = grid.is_open.size
    jets = np.zeros(cells)
    supply = np.zeros(count)  # ducted air by body
    outlets: list[CellSet] = []
    intakes: list[CellSet | None] = []
    for jet in grid.jets:
        outlet, intake, body = _in_one_body(jet, bodies)
        outlets.append(outlet)
        intakes.append(intake)
        np.add.at(jets, outlet.cells, jet.part.flow * outlet.weights)
        if intake is None:
            supply[body] += jet.part.flow
        else:
            np.subtract.at(jets, intake.cells, jet.part.flow * intake.weights)
    inflow, outflow = _leaks_without_supply(grid, bodies, count)
    natural = _by_body(inflow, bodies, count)
    area = _exhaust_area(grid, bodies, count)
    _refuse_supply_without_way_out(grid, outlets, bodies, natural + area)
    speed = EXHAUST_DISCHARGE * sqrt(2.0 * EXHAUST_PRESSURE / AIR_DENSITY)
    exhausted = np.where(natural > 0.0, np.minimum(supply, speed * area), supply)
    exhausted[area <= 0.0] = 0.0
    pressed = supply - exhausted  # through the leaks
    kept = np.maximum(natural - pressed, 0.0)  # what still leaks in
    inflow *= _share(kept, natural)[bodies]
    outflow *= _share(kept + pressed, natural)[bodies]
    through = _through_exhausts(grid, bodies, _share(exhausted, area), outflow)
    source = jets + inflow - outflow
    _balance(source, bodies)
    return AirExchange(inflow, outflow, source, tuple(outlets), tuple(intakes), through)


def _exhaust_area(grid: Grid, bodies: IntArray, count: int) -> FloatArray:
    """Area of exhausts by body of air [m²]."""
    area = np.zeros(count)
    for exhaust in grid.exhausts:
        np.add.at(area, bodies[exhaust.cells.cells], exhaust.part.area * exhaust.cells.weights)
    return area


def _through_exhausts(
    grid: Grid, bodies: IntArray, speed: FloatArray, outflow: FloatArray
) -> tuple[float, ...]:
    """Add to each cell's outflow what the exhausts take at ``speed`` of each body [m/s]."""
    flows = []
    for exhaust in grid.exhausts:
        cells = exhaust.cells.cells
        taken = exhaust.part.area * exhaust.cells.weights * speed[bodies[cells]]
        np.add.at(outflow, cells, taken)
        flows.append(float(taken.sum()))
    return tuple(flows)


def _in_one_body(jet: GridJet, bodies: IntArray) -> tuple[CellSet, CellSet | None, int]:
    """The outlet and intake of a jet within the body of air that most of its outlet opens into."""
    inside = np.bincount(bodies[jet.outlet.cells], jet.outlet.weights)
    body = int(np.argmax(inside))
    outlet = _within(jet.outlet, bodies, body)
    if jet.intake is None:
        return outlet, None, body
    if not np.any(jet.intake.weights[bodies[jet.intake.cells] == body] > 0.0):
        raise CaseError(
            f"{jet.part.owner}: its intake and its outlet are not in the same air; "
            "turn it or move it so that air can pass from one to the other"
        )
    return outlet, _within(jet.intake, bodies, body), body


def _within(cells: CellSet, bodies: IntArray, body: int) -> CellSet:
    is_inside = bodies[cells.cells] == body
    weights = cells.weights[is_inside]
    return CellSet(cells.cells[is_inside], weights / weights.sum())


def _leaks_without_supply(
    grid: Grid, bodies: IntArray, count: int
) -> tuple[FloatArray, FloatArray]:
    """Inflow and outflow of every cell while no duct is blowing; equal in every body of air."""
    inflow, outflow = np.zeros(bodies.size), np.zeros(bodies.size)
    for leak in grid.leaks:
        entering = _shares_by_body(leak.inlets, bodies, count)
        leaving = _shares_by_body(leak.outlets, bodies, count)
        is_through = (entering > 0.0) & (leaving > 0.0)
        flow = np.where(is_through, entering, 0.0)
        if not is_through.any():
            continue
        flow *= leak.flow / flow.sum()
        for total, ends, shares in (
            (inflow, leak.inlets, entering),
            (outflow, leak.outlets, leaving),
        ):
            by_body = bodies[ends.cells]
            np.add.at(total, ends.cells, ends.weights * _share(flow, shares)[by_body])
    return inflow, outflow


def _refuse_supply_without_way_out(
    grid: Grid, outlets: list[CellSet], bodies: IntArray, way_out: FloatArray
) -> None:
    for jet, outlet in zip(grid.jets, outlets, strict=True):
        is_supply = jet.intake is None and jet.part.flow > 0.0
        if is_supply and way_out[bodies[outlet.cells[0]]] <= 0.0:
            raise CaseError(
                f"{jet.part.owner}: it blows {jet.part.flow:.3g} m³/s of outdoor air into a space "
                "from which no air can leave; give a room that it reaches some leakage or an "
                "exhaust, or open a door to one"
            )


def _shares_by_body(ends: CellSet, bodies: IntArray, count: int) -> FloatArray:
    return np.bincount(bodies[ends.cells], ends.weights, minlength=count).astype(np.float64)


def _by_body(values: FloatArray, bodies: IntArray, count: int) -> FloatArray:
    is_air = bodies >= 0
    return np.bincount(bodies[is_air], values[is_air], minlength=count).astype(np.float64)


def _share(part: FloatArray, whole: FloatArray) -> FloatArray:
    """part / whole, and zero where the whole is zero."""
    return np.divide(part, whole, out=np.zeros_like(whole), where=whole > 0.0)


def _balance(source: FloatArray, bodies: IntArray) -> None:
    """Take the round-off of each body's sum from its largest entry."""
    touched = np.flatnonzero(source)
    for body in np.unique(bodies[touched]):
        cells = touched[bodies[touched] == body]
        largest = cells[np.argmax(np.abs(source[cells]))]
        source[largest] -= fsum(source[cells])
