"""Advance the temperatures of a dwelling through one epoch of frozen flow."""

from collections.abc import Sequence

from simulator.grid.grid import BoolArray, FloatArray
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.control import Control, sensor_temperatures, thermostats
from simulator.physics.heat.epoch_log import EpochLog, EpochResult, OnOutput
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.march import March, MarchMethod, OnStep, SignOfLife
from simulator.physics.heat.reduced_model import ReducedSteps
from simulator.physics.heat.watch import Watch

Times = Sequence[float] | FloatArray


def advance(
    model: HeatModel,
    state: FloatArray,
    control: Control,
    t_start: float,
    t_end: float,
    *,
    watch: Watch,
    output_times: Times,
    frame_times: Times = (),
    is_on: BoolArray | None = None,
    method: MarchMethod | None = None,
    on_step: OnStep | None = None,
    on_output: OnOutput | None = None,
) -> EpochResult:
    """Return what is watched from ``t_start`` to ``t_end`` [s] and the state at the end.

    Parameters
    ----------
    state : temperatures of all nodes at the start (n,) [°C]; carried over as it is when only the
        flow has changed.
    output_times : when watched temperatures, powers and the ledger are recorded [s]; times outside
        the epoch are ignored, ``t_start`` itself is recorded if it is among them.
    frame_times : when whole fields are recorded [s].
    is_on : which heaters are switched on at the start (H,); None: all. Only with on/off control.
    method : how to march; unless given, ``ReducedSteps()`` where heaters are switched, which takes
        hundreds of short steps an epoch, else ``ImplicitSteps()``.
    on_step : called with the simulated time and the coldest refuge, at least every 0.2 s of wall
        time; it may raise to stop. To keep what was reached until then, use ``prepare``.
    on_output : called with each output time and the whole state then.
    """
    epoch = prepare(
        model,
        state,
        control,
        t_start,
        t_end,
        watch=watch,
        output_times=output_times,
        frame_times=frame_times,
        is_on=is_on,
        on_step=on_step,
        on_output=on_output,
    )
    (method or usual_method(epoch)).march(epoch)
    return epoch.log.result()


def usual_method(epoch: March) -> MarchMethod:
    """Return the quicker way of marching an epoch."""
    return ReducedSteps() if epoch.thermostats.is_switched else ImplicitSteps()


def prepare(
    model: HeatModel,
    state: FloatArray,
    control: Control,
    t_start: float,
    t_end: float,
    *,
    watch: Watch,
    output_times: Times,
    frame_times: Times = (),
    is_on: BoolArray | None = None,
    on_step: OnStep | None = None,
    on_output: OnOutput | None = None,
) -> March:
    """Return an epoch ready to be marched; its ``log.result()`` holds what was reached so far."""
    laws = thermostats(model, control)
    log = EpochLog(
        model,
        watch,
        t_start,
        state,
        output_times,
        frame_times,
        is_on=is_on,
        is_switched=laws.is_switched,
        on_output=on_output,
    )
    epoch = March(
        model=model,
        control=control,
        thermostats=laws,
        watch=watch,
        log=log,
        pulse=SignOfLife(log, on_step),
        start=t_start,
        end=t_end,
    )
    epoch.switch(t_start, sensor_temperatures(control, state))
    log.begin(epoch.wanted_power(t_start, state))
    return epoch
