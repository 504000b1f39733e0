"""Air pushed through straight ducts on uneven cells and along turbulent walls."""

import numpy as np
import pytest
from air_rooms import air_room
from airflow_problems.ducts import blow_through

from simulator.constants import AIR_VISCOSITY
from simulator.physics.airflow.settings import NO_EDDIES, AirflowSettings, WallFriction

LAMINAR = WallFriction(is_turbulent=False)


@pytest.mark.parametrize("uneven", [0.0, 0.3])
def test_laminar_flow_between_plates_is_a_parabola(uneven: float) -> None:
    """Plane Poiseuille flow: u = 1.5 U (1 - (2z/H)²), dp/dx = -12 nu U / H²; Re = 10."""
    H, U, nu = 1.0, 1.0, 0.1
    count = 20
    z = np.linspace(0.0, H, count + 1)
    z += uneven * np.sin(2.0 * np.pi * z / H) / (2.0 * np.pi)  # cells of (1 ± uneven) H / count
    edges = (np.linspace(0.0, 4.0, 41), np.array([0.0, 0.1]), z)
    grid = air_room(cell=0.1, edges=edges)
    settings = AirflowSettings(
        viscosity=nu, eddies=NO_EDDIES, friction=LAMINAR, frictionless=(1,), step_per_cell=1.0
    )
    x, pressure = blow_through(grid, U * H * 0.1, settings, 1500)
    middle = grid.centres[2]
    profile = 1.5 * U * (1.0 - (2.0 * middle / H - 1.0) ** 2)
    # second order, 20 cells: 0.0037 even and 0.0066 uneven; 40 cells: a quarter of that
    assert x[20, 0] == pytest.approx(profile, abs=0.008)
    gradient = (pressure[25, 0, 10] - pressure[15, 0, 10]) / 1.0
    assert gradient == pytest.approx(-12.0 * nu * U / H**2, rel=0.01)  # 0.006 found


def test_wall_shear_in_a_wide_duct_is_werner_and_wengle_s() -> None:
    """One cell of h = 0.1 m between plates: each takes tau = (V / (8.3 (h/2nu)^(1/7)))^(7/4).

    Werner and Wengle 1991, constant from memory; at 0.5 m/s it is 0.0041 V², near the log law.
    """
    h, V = 0.1, 0.5
    grid = air_room((20, 1, 1), h)
    settings = AirflowSettings(eddies=NO_EDDIES, frictionless=(1,), projection_reduction=1e-12)
    _, pressure = blow_through(grid, V * h * h, settings, 400)
    gradient = (pressure[5, 0, 0] - pressure[15, 0, 0]) / (10 * h)
    tau = (V / (8.3 * (0.5 * h / AIR_VISCOSITY) ** (1.0 / 7.0))) ** 1.75
    assert gradient == pytest.approx(2.0 * tau / h, rel=1e-8)
    assert tau / V**2 == pytest.approx(0.0041, abs=0.0005)
