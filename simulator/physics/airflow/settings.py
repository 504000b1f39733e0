"""What the airflow solver assumes and how far it goes; the defaults are for rooms."""

from dataclasses import dataclass, field, replace

from simulator.case.dwelling import Side
from simulator.case.parts import Vector
from simulator.constants import AIR_VISCOSITY


@dataclass(frozen=True, slots=True)
class EddyModel:
    """Zero-equation eddy viscosity, capped where fans and jets make their own.

    ν_t = min(coefficient |V| l, jet_coefficient √K clip(r / (s ramp D), ramp_floor, 1)), l the
    distance to the nearest wall, r that to the nearest fan or jet, of diameter D, thrust over
    density K and direction n; s = 1 + oblique (h/D)² Σ|n_i| (1 - n_i²), h the size of the cells.

    The uncapped formula (Chen and Xu 1998, Energy and Buildings 28:137, coefficient from memory)
    makes a jet's speed 2.5 times too low at 6 D. ``jet_coefficient`` is the constant eddy viscosity
    of the round jet (Schlichting, from memory); the ramp mimics the growing shear layer near the
    fan (estimate: chosen to meet the measured decay of round jets). Cells of a size h widen a jet
    that crosses them obliquely while it is young, whatever the scheme, by upwind's diffusivity
    across it, which goes with h Σ|n_i| (1 - n_i²): ``s`` takes that from the eddies later on, so
    that the jet is as fast at 8 to 10 D as one along the cells (estimate, chosen for jets at 30°
    and 45° on cells of D/2.5 and D/5; it vanishes with h and along the axes).
    """

    coefficient: float = 0.03874
    jet_coefficient: float = 0.0161
    ramp: float = 6.0
    ramp_floor: float = 0.1
    oblique: float = 10.0


#: No turbulence model: for laminar checks.
NO_EDDIES = EddyModel(coefficient=0.0)


@dataclass(frozen=True, slots=True)
class WallFriction:
    """Shear of the 1/7-power law over a smooth wall, u⁺ = factor y⁺^(1/7), and laminar below it.

    Werner and Wengle 1991 (factor 8.3, from memory).
    """

    factor: float = 8.3
    is_turbulent: bool = True


@dataclass(frozen=True, slots=True)
class MovingSide:
    """A side of the grid that slides in its own plane [m/s]: the lid of a cavity."""

    side: Side
    velocity: Vector


@dataclass(frozen=True, slots=True)
class SteadyState:
    """Step until the velocity changes slower than ``residual`` [m/s²], instead of averaging."""

    residual: float = 1e-10
    most_steps: int = 20000


@dataclass(frozen=True, slots=True)
class AirflowSettings:
    """Settings of ``solve_airflow``.

    Attributes
    ----------
    step_per_cell : time step over cell size [s/m].
    projection_reduction : by how much the projection of each step reduces the divergence [-].
    longest_average : an average is prolonged by as much again up to this [s]; 0: never ...
    scatter_goal : ... while its halves differ by more than this in near-surface speed [-].
    near_surface : depth of the layer next to surfaces whose speed is reported [m].
    fan_response : time over which fans follow what throttles them [s] (estimate: some passes of
        the air through the disc's surroundings); infinite keeps every thrust at Q²/A.
    viscosity : kinematic viscosity [m²/s].
    eddies, friction : models of turbulence and of walls.
    frictionless : axes whose walls are frictionless (two-dimensional checks).
    moving_sides : sides that slide.
    steady : None averages over time; else step to a steady state.
    threads : one or two; on two a large room takes less time and gives the same numbers to the
        last bit. Work that already keeps every core busy, such as a study, asks for one.
    """

    step_per_cell: float = 2.0
    projection_reduction: float = 0.1
    longest_average: float = 0.0
    scatter_goal: float = 0.03
    near_surface: float = 0.2
    fan_response: float = 2.0
    viscosity: float = AIR_VISCOSITY
    eddies: EddyModel = field(default_factory=EddyModel)
    friction: WallFriction = field(default_factory=WallFriction)
    frictionless: tuple[int, ...] = ()
    moving_sides: tuple[MovingSide, ...] = ()
    steady: SteadyState | None = None
    threads: int = 2


#: Air in rooms: turbulent, averaged over time.
ROOM_AIR = AirflowSettings()


@dataclass(frozen=True, slots=True)
class FlowPlan:
    """How a flow is averaged: arguments of ``solve_airflow`` that belong together.

    Attributes
    ----------
    discard, average : seconds of flow before and during the averaging.
    settings : with which it is stepped.
    """

    discard: float
    average: float
    settings: AirflowSettings


#: Longer steps than by default, for searches on one thread each: the averages over 480 s of 16
#: layouts on cells of 0.15 m were within 3 % of those by the default steps, and ranked alike
#: (0.997); of two opposed fans on 0.2 m 4 % lower.
_LONG_STEPS = replace(ROOM_AIR, step_per_cell=3.0, threads=1)

#: To rank the layouts of a search. On 14 thousand cells the mean speed near surfaces of 16 layouts
#: was within 4 % of averages over 240 s that contain it or follow it, and in 15 within 5 % of those
#: by the default steps; rank correlation 0.99; on 114 thousand cells 6 layouts were within 4 %.
#: ``benchmarks/airflow_averaging.py`` shows it, with the cost.
SCREENING = FlowPlan(discard=40.0, average=140.0, settings=_LONG_STEPS)

#: For a first look at less than half of the cost: 15 of the same 16 within 5 %, the worst 12 % off,
#: and all 6 on finer cells within 5 %.
FIRST_LOOK = FlowPlan(discard=20.0, average=60.0, settings=_LONG_STEPS)
