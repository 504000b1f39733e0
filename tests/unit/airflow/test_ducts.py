"""Air pushed through straight ducts, where friction and drag have exact answers."""

import numpy as np
import pytest
from air_rooms import air_room

from simulator.constants import AIR_VISCOSITY
from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.flow_stepper import FlowStepper
from simulator.physics.airflow.settings import NO_EDDIES, AirflowSettings, WallFriction
from simulator.physics.airflow.staggered import stagger

LAMINAR = WallFriction(is_turbulent=False)


def blow_through(
    grid: Grid, flow: float, settings: AirflowSettings, steps: int
) -> tuple[FloatArray, FloatArray]:
    """Return x velocity and pressure over density once ``flow`` [m³/s] runs along x."""
    source = np.zeros(grid.shape)
    source[0] = flow / source[0].size
    source[-1] = -flow / source[0].size
    mesh = stagger(grid)
    stepper = FlowStepper(grid, mesh, source, np.zeros(grid.shape), settings, lambda: None)
    for _ in range(steps):
        stepper.step(lambda: None)
    pressure = mesh.layout.cells(stepper.fields.pressure)
    return mesh.layout.faces(stepper.fields.velocity[0], 0), pressure


def test_a_porous_plug_resists_as_ergun_says() -> None:
    """Ergun 1952, pieces of 5 cm, 60 % air, 0.5 m long: 9.06671 Pa at 0.5 m/s.

    The drop was worked out with the ``fluids`` library for density 1.0923 kg/m³, viscosity
    1.9535e-5 Pa s; then K = 2.25e-5 m² and the inertial resistance is 64.8148 1/m.
    """
    density, speed = 1.0923, 0.5
    plug = np.zeros((20, 1, 1))
    plug[8:13] = 1.0
    grid = air_room(plug.shape, 0.1, darcy=plug / 2.25e-5, forchheimer=64.8148 * plug)
    settings = AirflowSettings(
        viscosity=1.9535e-5 / density,
        eddies=NO_EDDIES,
        frictionless=(1, 2),
        projection_reduction=1e-12,
    )
    x, pressure = blow_through(grid, speed * 0.01, settings, 300)
    assert x[1:-1] == pytest.approx(np.full((19, 1, 1), speed), rel=1e-12)
    drop = density * (pressure[6, 0, 0] - pressure[14, 0, 0])
    assert drop == pytest.approx(9.06671, rel=1e-5)  # printed to six figures
    assert pressure[1, 0, 0] == pytest.approx(pressure[6, 0, 0], rel=1e-9)


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


def test_laminar_flow_in_a_square_duct_has_its_peak_and_friction() -> None:
    """Exact series: u_max / U = 2.096256, friction factor times Re = 56.908 (textbook 56.91)."""
    U, nu, side, count = 1.0, 0.1, 1.0, 12
    cell = side / count
    grid = air_room((36, count + 1, count + 1), cell)
    settings = AirflowSettings(viscosity=nu, eddies=NO_EDDIES, friction=LAMINAR, step_per_cell=1.0)
    width = cell * (count + 1)
    x, pressure = blow_through(grid, U * width**2, settings, 800)
    middle = (count + 1) // 2
    # 13 cells: -1.9 % and -1.7 % found, a third of that on 25 cells
    assert x[18, middle, middle] == pytest.approx(2.096256 * U, rel=0.03)
    gradient = (pressure[14, middle, middle] - pressure[22, middle, middle]) / (8.0 * cell)
    assert 2.0 * gradient * width**2 / (U * nu) == pytest.approx(56.908, rel=0.03)
