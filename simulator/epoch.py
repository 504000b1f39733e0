"""One epoch of a run: its flow, solved anew where what drives it has changed, and the heat in it.

The flow, the convection coefficients and the linearised radiation are frozen in an epoch; between
epochs they follow the temperatures. The flow is solved anew only where buoyancy has changed enough
to matter.
"""

from dataclasses import dataclass

import numpy as np

from simulator.constants import AIR_EXPANSION, GRAVITY
from simulator.course import Dwelling, Span
from simulator.grid.grid import FloatArray, Grid
from simulator.grid.switching import running
from simulator.history import EpochRecord
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.grid_bias import near_surface_bias
from simulator.physics.airflow.open_windows import window_flows, windows_have_changed
from simulator.physics.airflow.settings import FlowPlan
from simulator.physics.airflow.solve_airflow import solve_airflow
from simulator.physics.heat.advance import advance
from simulator.physics.heat.balance import build_heat_model
from simulator.physics.heat.carry_over import Stored
from simulator.physics.heat.epoch_log import EpochResult
from simulator.physics.heat.nodes import air_temperatures, surface_temperatures
from simulator.physics.witness import EpochSeen, Witness
from simulator.run_record import FlowRecord, RunRecord
from simulator.run_settings import REFRESH_SHARE
from simulator.timetable import frame_times, output_times

#: The change in temperature that counts: it is exceeded in this share of the air (estimate: spares
#: the few cells of a heater's outlet, which are always far from the mean).
REFRESH_QUANTILE = 0.95


@dataclass(frozen=True, slots=True)
class Epoch:
    """One epoch of frozen flow."""

    dwelling: Dwelling
    span: Span

    def flow(self, record: RunRecord) -> tuple[FlowRecord, EpochRecord]:
        """Return the flow of the epoch: that of the epoch before, unless what drives it changed."""
        home, before = self.dwelling, record.flow
        first, again = home.settings.first_flow, home.settings.next_flow
        air = air_temperatures(home.grid, home.layout, self._expected(record))
        windows = window_flows(home.grid, air)
        if before is None:
            begun = self._solve(None, home.settings.begin_with, windows, first)
            now = FlowRecord(begun, np.full_like(air, np.nan), windows)
        elif self._is_switched():
            now = FlowRecord(self._solve(air, before.airflow, windows, first), air, windows)
        elif (
            self._is_moved
            or windows_have_changed(before.window_flow, windows)
            or buoyancy_has_changed(home.grid, before, air, home.settings.refresh_share)
        ):
            now = FlowRecord(self._solve(air, before.airflow, windows, again), air, windows)
        else:
            now = before
        airflow = now.airflow
        low, high = near_surface_bias(home.grid.cell_size)
        return now, EpochRecord(
            start=self.span.start,
            near_surface_speed=airflow.near_surface_speed,
            scatter=airflow.scatter,
            divergence=airflow.divergence,
            new_flow=now is not before,
            speed_bias_low=low,
            speed_bias_high=high,
            least_thrust=float(airflow.thrust_share.min(initial=1.0)),
        )

    def march(self, record: RunRecord, witness: Witness | None = None) -> EpochResult:
        """Return the temperatures of the epoch in the flow that the record holds."""
        home, flow = self.dwelling, record.flow
        assert flow is not None
        expected = self._expected(record)
        equipment = home.equipment_at(self.span.start, flow.window_flow)
        felt = home.settings.near_surfaces(flow.airflow)
        convection = equipment.convection(
            equipment.grid,
            felt,
            air_temperatures(home.grid, home.layout, expected),
            surface_temperatures(home.layout, expected),
        )
        model = build_heat_model(
            equipment.grid,
            home.layout,
            home.settings.mixing(flow.airflow),
            equipment.exchange,
            convection,
            home.radiation,
            expected,
            added=home.settings.alteration.added_air(home.layout),
        )
        start, end = self.span.start, self.span.end
        if witness is not None:
            witness.begin(
                EpochSeen(
                    start=start,
                    end=end,
                    is_anew=self.span.is_anew,
                    grid=home.grid,
                    model=model,
                    watch=home.watch,
                    convection=equipment.convection,
                    near_speed=equipment.convection.sampling.near_speed(felt.speed),
                    coefficients=convection,
                    expected=expected,
                    state=self._state(record),
                )
            )
        last = record.results[-1] if record.results else None
        result = advance(
            model,
            self._state(record),
            equipment.control,
            start,
            end,
            watch=home.watch,
            output_times=output_times(start, end, home.settings.rarer),
            frame_times=frame_times(start, end, home.horizon),
            is_on=last.is_on if last else None,
            method=home.settings.march,
            on_step=self._on_step,
            on_output=witness.note if witness is not None else None,
        )
        came = home.came if self.span.is_first else Stored()
        return home.stage.noted(result, last, came, home.first_grid.solids.cell.size)

    @property
    def _is_moved(self) -> bool:
        return self.span.is_first and self.dwelling.stage.is_moved

    def _is_switched(self) -> bool:
        """Whether fans or heaters' blowers are switched on or off with this epoch."""
        plan = self.dwelling.stage.case.treatment
        now, before = plan.phase_at(self.span.start), plan.phase_at(self.span.start - 1.0)
        return (now.fans_on, now.heater_fans_on) != (before.fans_on, before.heater_fans_on)

    def _state(self, record: RunRecord) -> FloatArray:
        """Return the temperatures now; with those of its last epoch the stage is over."""
        if self.span.is_first:
            return self.dwelling.state
        return record.results[self.span.number - 1].state

    def _expected(self, record: RunRecord) -> FloatArray:
        """Return the temperatures expected amid the epoch: half of the last epoch's change ahead.

        Epochs grow about as fast as the warming slows, so the next change is about the last one;
        not so where something new begins.
        """
        now = self._state(record)
        if self.span.is_anew:
            return now
        done = self.span.number - self.dwelling.first_number
        before = record.results[self.span.number - 2].state if done > 1 else self.dwelling.state
        return now + 0.5 * (now - before)

    def _solve(
        self,
        air: FloatArray | None,
        before: Airflow | None,
        windows: FloatArray,
        plan: FlowPlan,
    ) -> Airflow:
        home = self.dwelling
        done = home.work.done_before(self.span.number, flow_is_solved=False)
        cost = home.work.next_flow if before else home.work.first_flow
        return solve_airflow(
            running(home.grid_at(self.span.start, windows)),
            air,
            start=before,
            discard=plan.discard,
            average=plan.average,
            on_progress=lambda share: home.report(
                "solving the airflow", (done + share * cost) / home.work.total
            ),
            settings=plan.settings,
        )

    def _on_step(self, time: float, coldest: float, refuge: int) -> None:
        home = self.dwelling
        share = (time - self.span.start) / (self.span.end - self.span.start)
        done = (
            home.work.done_before(self.span.number, flow_is_solved=True) + share * home.work.epoch
        )
        words = _refuge_in_words(home.first_grid, refuge) if refuge >= 0 else ""
        home.report("warming", done / home.work.total, time, coldest, words)


def _refuge_in_words(grid: Grid, refuge: int) -> str:
    group = grid.refuges.groups[int(grid.refuges.group[refuge])]
    return f"{group.owner}, {group.words}"


def buoyancy_has_changed(
    grid: Grid, before: FlowRecord, air: FloatArray, share: float = REFRESH_SHARE
) -> bool:
    """Tell whether the air temperatures [i, j, k] call for a new flow: ``refresh_share``."""
    is_open = grid.is_open
    now = air[is_open]
    last = before.air_temperature[is_open]
    last = np.zeros(now.size) if np.isnan(last).any() else last - last.mean()
    change = np.quantile(np.abs(now - now.mean() - last), REFRESH_QUANTILE)
    height = float(grid.z_edges[-1] - grid.z_edges[0])
    speed = before.airflow.near_surface_speed
    return bool(change * GRAVITY * AIR_EXPANSION * height > share * speed**2)
