"""How much heat a treatment needs against what the circuits give: a balance made before any run."""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_banded

from simulator.assessment.plugging import allowed_power
from simulator.case.as_written import equipment_of
from simulator.case.case import Case
from simulator.case.dwelling import Construction
from simulator.case.equipment.electric_heater import ElectricHeater
from simulator.case.equipment.hot_air_inlet import HotAirInlet
from simulator.case.parts import HeatSource
from simulator.constants import AIR_VOLUMETRIC_HEAT_CAPACITY
from simulator.grid.grid import FloatArray, Grid
from simulator.grid.voxelise import voxelise
from simulator.physics.heat.wall_columns import wall_mesh
from simulator.units import System, format_quantity

#: From the air to a surface of the shell, radiation included [W/(m² K)] (estimate: fans stir).
INSIDE = 10.0

#: Areas and stores on the grid are those of the case at any cell size, so a coarse one serves [m].
CELL = 0.20

#: Steps of the shell's balance [s] (choice: some hundred a treatment).
STEP = 120.0


@dataclass(frozen=True, slots=True)
class HeatNeed:
    """What ``heat_need`` returns; power in W.

    Attributes
    ----------
    hours : over which the need is taken: until the heat ends [s].
    contents, shell, leaks : mean power that goes into contents and air, into and through the
        shell, and out with air that leaks or is displaced.
    hold : power that still leaves when the heat ends.
    heaters : what the heaters can give to the air.
    fans : what fans and appliances give beside it.
    circuits : what the circuits may carry for hours, less what draws from them and is no heater;
        None: no circuits are given.
    """

    hours: float
    contents: float
    shell: float
    leaks: float
    hold: float
    heaters: float
    fans: float
    circuits: float | None

    @property
    def mean(self) -> float:
        """Mean power that the whole treatment needs [W]."""
        return self.contents + self.shell + self.leaks


def heat_need(case: Case) -> HeatNeed:
    """Return the power that a treatment needs, with the air at the set point all the time.

    Notes
    -----
    Contents and air are taken to the target by the end of the heat; the shell by one-dimensional
    conduction through its layers. It is a balance of the whole dwelling: it says nothing of places
    that no warm air reaches, and with less than this they certainly stay cold.
    """
    grid, plan = voxelise(case, CELL), case.treatment
    hours, hot = plan.heat_ends, plan.hottest_set_point
    start = case.dwelling.start_temperature
    store = float(grid.solids.heat_capacity.sum())
    store += AIR_VOLUMETRIC_HEAT_CAPACITY * float(grid.air_volume.sum())
    taken, last = _shell(grid, hot, hours)
    leaked = sum(leak.flow for leak in case.dwelling.leakage)
    blown = sum(piece.flow for piece in equipment_of(case) if isinstance(piece, HotAirInlet))
    # ducted air displaces what would else leak in
    leaks = AIR_VOLUMETRIC_HEAT_CAPACITY * max(leaked, blown) * (hot - grid.outdoor_temperature)
    return HeatNeed(
        hours=hours,
        contents=store * max(plan.target_temperature - start, 0.0) / hours,
        shell=taken / hours,
        leaks=leaks,
        hold=last + leaks,
        heaters=_heaters(case),
        fans=_others(case) + sum(p.power for p in case.parts if isinstance(p, HeatSource)),
        circuits=None if not case.circuits else _left_for_heaters(case),
    )


def _heaters(case: Case) -> float:
    given = 0.0
    for piece in equipment_of(case):
        if isinstance(piece, ElectricHeater):
            given += piece.power
        elif isinstance(piece, HotAirInlet):
            rise = piece.outlet_limit - case.dwelling.outdoor_temperature
            given += min(piece.burner_power, AIR_VOLUMETRIC_HEAT_CAPACITY * piece.flow * rise)
    return given


def _others(case: Case) -> float:
    """Return the electricity that turns to heat in the rooms beside that of the heaters [W]."""
    return sum(
        piece.electrical_power
        for piece in equipment_of(case)
        if not isinstance(piece, ElectricHeater | HotAirInlet)
    )


def _left_for_heaters(case: Case) -> float:
    heating = {piece.name for piece in equipment_of(case) if isinstance(piece, ElectricHeater)}
    drawn = sum(load.power for load in case.loads if load.name not in heating)
    return sum(allowed_power(circuit) for circuit in case.circuits) - drawn


def _shell(grid: Grid, hot: float, until: float) -> tuple[float, float]:
    """Return the heat [J] that the shell takes from air at ``hot`` [°C], and its last flow [W].

    Equal patches are taken together.
    """
    columns = grid.columns
    kinds: dict[tuple[int, float, float, bool], float] = {}
    for construction, behind, resistance, partner, area in zip(
        columns.construction.tolist(),
        columns.temperature.tolist(),
        columns.resistance.tolist(),
        columns.partner.tolist(),
        columns.area.tolist(),
        strict=True,
    ):
        is_inner = partner >= 0 or behind != behind
        key = (construction, 0.0 if is_inner else behind, resistance, partner >= 0)
        if is_inner and partner < 0:
            key = (construction, float("inf"), 0.0, False)
        kinds[key] = kinds.get(key, 0.0) + area
    total, last = 0.0, 0.0
    for (construction, behind, resistance, is_partition), area in kinds.items():
        heat, power = _wall(
            grid.constructions[construction],
            grid.start_temperature,
            hot,
            None if is_partition or np.isinf(behind) else (behind, resistance),
            until,
            is_heated_on_both_sides=is_partition,
        )
        share = 0.5 if is_partition else 1.0  # both faces of a partition are counted
        total += share * area * heat
        last += share * area * power
    return total, last


def _wall(
    construction: Construction,
    start: float,
    hot: float,
    behind: tuple[float, float] | None,
    until: float,
    *,
    is_heated_on_both_sides: bool,
) -> tuple[float, float]:
    """Return the heat [J/m²] that a wall takes from hot air, and the last flow into it [W/m²]."""
    mesh = wall_mesh(construction, faces_rooms_on_both_sides=is_heated_on_both_sides)
    n = mesh.capacity.size
    outer, outside = 0.0, 0.0
    if is_heated_on_both_sides:
        outer, outside = INSIDE, hot
    elif behind is not None:
        outer, outside = 1.0 / max(behind[1], 1e-3), behind[0]
    state = _steady(mesh.conductance, start, (outer, start if behind is None else behind[0]))
    steps = max(1, round(until / STEP))
    length = until / steps
    bands = _bands(mesh.conductance, mesh.capacity / length, outer)
    load = np.zeros(n)
    load[0] += INSIDE * hot
    load[-1] += outer * outside
    taken, flow = 0.0, 0.0
    for _ in range(steps):
        state = solve_banded((1, 1), bands, mesh.capacity / length * state + load)
        flow = INSIDE * (hot - float(state[0]))
        if is_heated_on_both_sides:
            flow += outer * (hot - float(state[-1]))
        taken += length * flow
    return taken, flow


def _steady(conductance: FloatArray, air: float, end: tuple[float, float]) -> FloatArray:
    """Return the temperatures before the heat: steady between the rooms and what is behind."""
    n = conductance.size + 1
    load = np.zeros(n)
    load[0], load[-1] = INSIDE * air, load[-1] + end[0] * end[1]
    found: FloatArray = solve_banded((1, 1), _bands(conductance, np.zeros(n), end[0]), load)
    return found


def _bands(conductance: FloatArray, storage: FloatArray, outer: float) -> FloatArray:
    """Return the matrix of a wall by its three diagonals."""
    n = storage.size
    bands = np.zeros((3, n))
    bands[1] = storage
    bands[1, 0] += INSIDE
    bands[1, -1] += outer
    bands[1, :-1] += conductance
    bands[1, 1:] += conductance
    bands[0, 1:] = -conductance
    bands[2, :-1] = -conductance
    return bands


def in_words(need: HeatNeed, units: System = "si") -> list[str]:
    """Return the balance in sentences, the verdict first."""

    def kw(power: float) -> str:
        return format_quantity(power, "power", units)

    given = need.heaters + need.fans
    verdict = "enough" if given >= need.mean else "NOT enough"
    lines = [
        f"Heat needed on average over {format_quantity(need.hours, 'time', units)}: "
        f"{kw(need.mean)} (contents and air {kw(need.contents)}, shell {kw(need.shell)}, "
        f"leaking air {kw(need.leaks)}); to hold at the end {kw(need.hold)}.",
        f"Heaters give {kw(need.heaters)}, fans and appliances {kw(need.fans)}: {verdict} by this "
        "balance of the whole dwelling, which places that are hard to reach come on top of.",
    ]
    if given < need.mean:
        lines.append(
            "The air may come to its set point all the same: what stays cold takes little heat."
        )
    if need.circuits is not None:
        lines.append(
            f"Circuits may carry {kw(need.circuits)} of electric heat beside all else (80 % of "
            "their ratings; the local code and a licensed electrician decide)."
        )
    return lines
