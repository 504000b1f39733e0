"""A slot under the ceiling of a long room: a wall jet above and the return flow below it."""

from dataclasses import dataclass
from math import pi

import numpy as np
from air_rooms import air_room, cells_at, jet, leak
from known_answers import Figure, between, within

from simulator.grid.grid import FloatArray, GridJet
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.settings import AirflowSettings
from simulator.physics.airflow.solve_airflow import solve_airflow

HEIGHT, LENGTH = 3.0, 9.0  # [m]
SLOT, OUTLET = 0.168, 0.48  # heights of the slot under the ceiling and of the outlet [m]
SPEED = 0.455  # of the air that enters [m/s]
VISCOSITY = 15.3e-6  # [m²/s]

#: A round jet's disc has the area of the slot if the room is this deep [m].
DEPTH = pi * SLOT / 4.0


@dataclass(frozen=True, slots=True)
class SlotUnderCeiling:
    """The isothermal room of IEA Annex 20 (H 3 m, L 9 m, slot 0.168 m, 0.455 m/s).

    It is one cell deep with frictionless sides, or ``rows`` of such cells deep with walls; the slot
    is a row of jets, each of the area of its part of the slot.

    The eddies' cap knows the thrust of each jet only, not that of the whole slot, so this jet
    widens too slowly: with three times the cap (0.084 m, 23 rows) the growth was 0.063 and not
    0.04, the forward flows 1.90 and 3.14. One cell deep, vortices do not break up and stir too
    strongly.

    Forward volume flows in the middle plane are in units of what enters. The half width is the
    depth under the ceiling where the velocity is half of its peak; wall jets grow by 0.073 x.
    """

    across: int  # cells over the slot
    rows: int = 1  # 23 make the section of the room a square
    is_binding: bool = True
    spin_up: float = 300.0  # [s], as long as the average
    is_slow: bool = True
    name: str = "slot under the ceiling of a long room"
    source: str = "IEA Annex 20, Nielsen 1990, R9040; growth of plane wall jets from memory"

    @property
    def mesh(self) -> str:
        """The cells in a few words."""
        return f"{SLOT / self.across:.3f} m, {self.rows} deep"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        airflow, z = self._solve()
        u = airflow.x_velocity[:, self.rows // 2, ::-1]  # in the middle, from the ceiling down
        top_down = HEIGHT - 0.5 * (z[1:] + z[:-1])[::-1]
        heights = np.diff(z)[::-1] / (SPEED * SLOT)
        section = airflow.x_velocity[round(u.shape[0] / 3)].mean(axis=0)
        net = float(section[::-1] @ heights)
        forward, far_forward = (
            float(np.maximum(_row(u, x), 0.0) @ heights) for x in (HEIGHT, 2.0 * HEIGHT)
        )
        places = np.arange(12.0, 25.0) * SLOT
        growth = float(np.polyfit(places, [_half_width(u, top_down, x) for x in places], 1)[0])
        near_floor = u[:, top_down > HEIGHT - SLOT]
        return (
            within("net flow of the section x = H", net, 1.0, 1e-6, self.is_binding),
            Figure("forward flow at x = H", 2.07, forward, 1.5, 2.6, self.is_binding),
            Figure("forward flow at x = 2 H", 2.46, far_forward, 1.7, 3.2, False),
            between(
                "least u near the floor over u0", near_floor.min() / SPEED, -0.45, -0.25, False
            ),
            Figure("growth of the half width", 0.073, growth, 0.055, 0.091, False),
        )

    def _solve(self) -> tuple[Airflow, FloatArray]:
        h = SLOT / self.across
        x = np.linspace(0.0, LENGTH, round(LENGTH / h) + 1)
        below = np.linspace(0.0, HEIGHT - SLOT, round((HEIGHT - SLOT) / h) + 1)
        z = np.concatenate([below, HEIGHT - SLOT + np.arange(1, self.across + 1) * h])
        z[-1] = HEIGHT
        y = np.linspace(0.0, self.rows * DEPTH, self.rows + 1)
        shape = (x.size - 1, self.rows, z.size - 1)
        flow = SPEED * SLOT * DEPTH
        low = range(round(OUTLET / below[1]))
        out = cells_at(shape, *((shape[0] - 1, j, k) for j in range(self.rows) for k in low))
        grid = air_room(
            cell=h,
            edges=(x, y, z),
            jets=[self._jet(shape, j, h, flow) for j in range(self.rows)],
            leaks=[leak(out, out, flow * self.rows)],
        )
        settings = AirflowSettings(
            viscosity=VISCOSITY,
            frictionless=(1,) if self.rows == 1 else (),
            step_per_cell=4.0,
        )
        time = self.spin_up
        return solve_airflow(grid, discard=time, average=time, settings=settings), z

    def _jet(self, shape: tuple[int, int, int], row: int, h: float, flow: float) -> GridJet:
        slot = cells_at(shape, *((0, row, shape[2] - 1 - k) for k in range(self.across)))
        centre = (h, (row + 0.5) * DEPTH, HEIGHT - 0.5 * SLOT)
        return jet(slot, None, flow=flow, centre=centre, diameter=SLOT, owner=f"slot {row}")


def _row(u: FloatArray, x: float) -> FloatArray:
    """Velocity over the height at ``x``, between two planes of faces."""
    place = x / LENGTH * (u.shape[0] - 1)
    n = int(place)
    return np.asarray(u[n] + (place - n) * (u[n + 1] - u[n]))


def _half_width(u: FloatArray, top_down: FloatArray, x: float) -> float:
    """Distance from the ceiling where the velocity is half of its largest [m]."""
    row = _row(u, x)
    peak = int(np.argmax(row))
    after = row[peak:]
    n = peak + int(np.argmax(after < 0.5 * row[peak]))
    share = (row[n - 1] - 0.5 * row[peak]) / (row[n - 1] - row[n])
    return float(top_down[n - 1] + share * (top_down[n] - top_down[n - 1]))
