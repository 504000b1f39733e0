"""What an epoch leaves behind: watched temperatures at the asked times, where the heat went."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from simulator.grid.grid import BoolArray, FloatArray, IntArray
from simulator.physics.heat.balance import HeatModel
from simulator.physics.heat.control import outlet_temperatures
from simulator.physics.heat.energy_ledger import EnergyLedger
from simulator.physics.heat.nodes import stored_heat
from simulator.physics.heat.watch import Watch

#: Called with each asked time [s] and the whole state then (n,) [°C], which is not to be kept.
OnOutput = Callable[[float, FloatArray], None]


@dataclass(frozen=True, slots=True)
class HeatFlows:
    """Heat since the start of the epoch [J], or its rate [W]."""

    heaters: float = 0.0
    fans_and_appliances: float = 0.0
    leaks: float = 0.0  # out
    envelope: float = 0.0  # out

    def plus(self, other: "HeatFlows", share: float = 1.0) -> "HeatFlows":
        """Return the sum of this and ``share`` times another."""
        names = [field.name for field in fields(self)]
        return HeatFlows(*(getattr(self, n) + share * getattr(other, n) for n in names))


def heat_rates(model: HeatModel, state: FloatArray, power: FloatArray) -> HeatFlows:
    """Return the heat that enters and leaves in a state [W]."""
    return HeatFlows(
        heaters=float(power.sum()),
        fans_and_appliances=model.appliance_power,
        leaks=model.leak_loss(state),
        envelope=model.envelope_loss(state),
    )


@dataclass(frozen=True, slots=True)
class EpochResult:
    """What ``advance`` returns: T times, R refuges, B probes, H heaters, N solids, F frames."""

    end: float  # [s]
    state: FloatArray  # (n,) at the end [°C]
    power: FloatArray  # (H,) at the end [W]
    is_on: BoolArray  # (H,) which heaters are switched on at the end
    switch_time: FloatArray  # (W,) when a heater was switched on or off [s] ...
    switch_heater: IntArray  # ... and which
    time: FloatArray  # (T,) [s]
    refuge_temperature: NDArray[np.float32]  # (T, R) [°C]
    probe_temperature: FloatArray  # (T, B)
    heater_power: FloatArray  # (T, H); of switched heaters the mean since the time before [W]
    outlet_temperature: FloatArray  # (T, H)
    air_mean: FloatArray  # (T,)
    air_minimum: FloatArray
    air_maximum: FloatArray
    solid_peak: NDArray[np.float32]  # (N,) hottest node of each solid in the epoch
    ledger: EnergyLedger  # since the start of the epoch
    frame_time: FloatArray  # (F,)
    frame_temperature: NDArray[np.float32]  # (F, nx, ny, nz)


class EpochLog:
    """The growing record of an epoch; after an interruption ``result`` holds what was reached.

    ``is_on`` says which heaters are switched on (throttled ones: all). Of switched heaters the mean
    power between outputs is recorded: at any one moment they give all or nothing.
    """

    def __init__(
        self,
        model: HeatModel,
        watch: Watch,
        start: float,
        state: FloatArray,
        output_times: Sequence[float] | FloatArray,
        frame_times: Sequence[float] | FloatArray,
        *,
        is_on: BoolArray | None = None,
        is_switched: bool = False,
        on_output: OnOutput | None = None,
    ) -> None:
        heaters = len(model.heaters)
        self.model, self.watch = model, watch
        self.time, self.state = start, state
        self.power = np.zeros(heaters)
        self.given = np.zeros(heaters)  # since the start of the epoch [J]
        self.is_on = np.ones(heaters, dtype=np.bool_) if is_on is None else is_on
        self._is_switched, self._on_output = is_switched, on_output
        self._switches: list[tuple[float, int]] = []
        self.flows = HeatFlows()
        self.peak = watch.solid_peaks(state)
        self._stored_at_start = np.array(stored_heat(model.layout, state))
        self._output_times = np.asarray(output_times, dtype=np.float64)
        self._frame_times = np.asarray(frame_times, dtype=np.float64)
        self._rows: list[_Row] = []
        self._frames: list[tuple[float, NDArray[np.float32]]] = []

    def begin(self, power: FloatArray) -> None:
        """Note the start of the epoch, where a time is asked for at it."""
        self.power = power
        self.note(self.time, self.state, power, self.given, self.flows, np.zeros(3))

    def switch(self, time: float, is_on: BoolArray) -> bool:
        """Note which heaters are switched on from ``time`` on; return whether that is a change."""
        changed = np.flatnonzero(is_on != self.is_on)
        self._switches += [(time, int(heater)) for heater in changed]
        self.is_on = is_on
        return bool(changed.size)

    def times_within(self, start: float, end: float) -> FloatArray:
        """Return the asked times after ``start`` up to ``end``, of outputs and frames."""
        asked = np.union1d(self._output_times, self._frame_times)
        return asked[(asked > start + 1e-6) & (asked <= end + 1e-6)]

    def stored(self, state: FloatArray) -> FloatArray:
        """Return the heat stored since the start in air, solids and envelope [J]."""
        stored: FloatArray = np.array(stored_heat(self.model.layout, state)) - self._stored_at_start
        return stored

    def note(
        self,
        time: float,
        state: FloatArray,
        power: FloatArray,
        given: FloatArray,
        flows: HeatFlows,
        stored: FloatArray,
    ) -> None:
        """Record the outputs and frames asked for at ``time``; ``given`` by each heater [J]."""
        if np.any(np.abs(self._frame_times - time) <= 1e-6):
            self._frames.append((time, self.watch.field(state)))
        if not np.any(np.abs(self._output_times - time) <= 1e-6):
            return
        if self._on_output is not None:
            self._on_output(time, state)
        air = state[self.model.layout.air]
        outlet = outlet_temperatures(self.model, state, power)
        if self._is_switched and self._rows:
            before = self._rows[-1]
            power = (given - before.given) / (time - before.time)
        self._rows.append(
            _Row(
                time=time,
                given=given,
                refuges=self.watch.refuges(state),
                probes=np.array([probe.of(state) for probe in self.watch.probes]),
                power=power.copy(),
                outlet=outlet,
                air=(float(self.watch.air_share @ air), float(air.min()), float(air.max())),
                flows=flows,
                stored=stored,
            )
        )

    def reach(
        self,
        time: float,
        state: FloatArray,
        power: FloatArray,
        given: FloatArray,
        flows: HeatFlows,
    ) -> None:
        """Make ``state`` the latest that a march may be resumed from."""
        np.maximum(self.peak, self.watch.solid_peaks(state), out=self.peak)
        self.time, self.state, self.power = time, state, power
        self.given, self.flows = given, flows

    def result(self) -> EpochResult:
        """Return everything recorded so far and the latest state."""
        rows = self._rows
        heaters, probes = len(self.model.heaters), len(self.watch.probes)
        air = np.array([row.air for row in rows]).reshape(len(rows), 3)
        shape = self.watch.shape
        return EpochResult(
            end=self.time,
            state=self.state,
            power=self.power,
            is_on=self.is_on,
            switch_time=np.array([time for time, _ in self._switches], dtype=np.float64),
            switch_heater=np.array([heater for _, heater in self._switches], dtype=np.int64),
            time=np.array([row.time for row in rows]),
            refuge_temperature=np.array([row.refuges for row in rows], dtype=np.float32).reshape(
                len(rows), self.watch.refuge_node.size
            ),
            probe_temperature=np.array([row.probes for row in rows]).reshape(len(rows), probes),
            heater_power=np.array([row.power for row in rows]).reshape(len(rows), heaters),
            outlet_temperature=np.array([row.outlet for row in rows]).reshape(len(rows), heaters),
            air_mean=air[:, 0],
            air_minimum=air[:, 1],
            air_maximum=air[:, 2],
            solid_peak=self.peak.astype(np.float32),
            ledger=self._ledger(),
            frame_time=np.array([time for time, _ in self._frames]),
            frame_temperature=np.array(
                [frame for _, frame in self._frames], dtype=np.float32
            ).reshape(len(self._frames), *shape),
        )

    def _ledger(self) -> EnergyLedger:
        flows = [row.flows for row in self._rows]
        stored = np.array([row.stored for row in self._rows]).reshape(len(flows), 3)
        return EnergyLedger(
            heaters=np.array([flow.heaters for flow in flows]),
            fans_and_appliances=np.array([flow.fans_and_appliances for flow in flows]),
            leaks=np.array([flow.leaks for flow in flows]),
            envelope=np.array([flow.envelope for flow in flows]),
            stored_air=stored[:, 0],
            stored_solids=stored[:, 1],
            stored_envelope=stored[:, 2],
            carried=np.zeros(len(flows)),
        )


@dataclass(frozen=True, slots=True)
class _Row:
    """What is recorded at one time."""

    time: float
    given: FloatArray
    refuges: NDArray[np.float32]
    probes: FloatArray
    power: FloatArray
    outlet: FloatArray
    air: tuple[float, float, float]
    flows: HeatFlows
    stored: FloatArray
