"""How a run is solved, and factors on those of its numbers that are known by estimate only."""

from dataclasses import dataclass, field, replace

from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.settings import FIRST_LOOK, SCREENING, AirflowSettings, FlowPlan
from simulator.physics.heat.march import MarchMethod
from simulator.physics.neutral_states import Alteration, AsItIs
from simulator.timetable import EPOCH_ENDS

#: The usual ``refresh_share`` (estimate: below it the change of the flow was within the scatter of
#: the averaging).
REFRESH_SHARE = 0.2

#: An average whose halves differ by more than 3 % in near-surface speed is prolonged to at most
#: 80 s (estimate: against averages of 240 s longer ones gained little in twelve layouts).
_PROLONGED = AirflowSettings(longest_average=80.0, scatter_goal=0.03)
_FROM_REST = FlowPlan(20.0, 40.0, _PROLONGED)
_FROM_THE_LAST = FlowPlan(10.0, 30.0, _PROLONGED)


@dataclass(frozen=True, slots=True)
class RunSettings:
    """What ``simulate`` is asked for beside the case.

    Attributes
    ----------
    first_flow, next_flow : how the flow is averaged from rest or where the equipment is switched,
        and where the flow of the epoch before has changed by its buoyancy or by things moved.
    begin_with : a flow on the same grid to step the first one from; None: rest.
    epoch_ends : as ``timetable.EPOCH_ENDS`` [s].
    refresh_share : the flow is solved anew when the buoyancy of the change in temperature over the
        height of the room exceeds this share of the squared near-surface speed [-].
    march : how temperatures are marched; None: the quicker of the two ways at full accuracy.
    rarer : how many times longer than usual the times between recorded temperatures are [-].
    convection_factor : on all coefficients of surfaces [-]; authors differ by ±30 %.
    surface_speed_factor : on the mean speed by which those coefficients are found [-]; the cells
        bias it (``near_surface_bias``).
    eddy_factor : on the eddy diffusivity of heat in the air [-].
    alteration : what is made other than it is, to see what a place lags for; it counts the nodes of
        one grid, so the case may have no changes.
    """

    first_flow: FlowPlan = _FROM_REST
    next_flow: FlowPlan = _FROM_THE_LAST
    begin_with: Airflow | None = None
    epoch_ends: tuple[float, ...] = EPOCH_ENDS
    refresh_share: float = REFRESH_SHARE
    march: MarchMethod | None = None
    rarer: float = 1.0
    convection_factor: float = 1.0
    surface_speed_factor: float = 1.0
    eddy_factor: float = 1.0
    alteration: Alteration = field(default_factory=AsItIs)

    def near_surfaces(self, airflow: Airflow) -> Airflow:
        """Return the flow as surfaces feel it."""
        return replace(airflow, speed=self.surface_speed_factor * airflow.speed)

    def mixing(self, airflow: Airflow) -> Airflow:
        """Return the flow as it carries heat."""
        return replace(airflow, eddy_viscosity=self.eddy_factor * airflow.eddy_viscosity)


#: A run for an answer.
ORDINARY = RunSettings()

#: Runs of studies that keep every core busy: one thread, cheap averages that rank layouts alike
#: (``FIRST_LOOK``), and averages that agree within 4 % with those of 240 s (``SCREENING``).
QUICK = RunSettings(FIRST_LOOK, replace(FIRST_LOOK, discard=10.0, average=30.0))
THOROUGH = RunSettings(SCREENING, replace(SCREENING, discard=20.0, average=60.0))
