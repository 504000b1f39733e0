"""What a run has done so far: kept after every stage, restored to the bit, joined to a history."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from simulator.grid.grid import FloatArray
from simulator.history import EnergyLedger, EpochRecord, History
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.heat.epoch_log import EpochResult

Arrays = Mapping[str, NDArray[Any]]


class CheckpointStore(Protocol):
    """Where a run keeps what it has done so far, so that it can go on after an interruption."""

    def save(self, arrays: Arrays, meta: Mapping[str, Any]) -> None:
        """Keep the arrays and the small facts, atomically."""

    def load(self) -> tuple[dict[str, NDArray[Any]], dict[str, Any]] | None:
        """Return what was kept for this very case, or None."""

    @property
    def where(self) -> str:
        """Its name, for messages."""


@dataclass(frozen=True, slots=True)
class FlowRecord:
    """The flow in force and the air temperatures that drove it [i, j, k] (nan: no buoyancy yet).

    ``window_flow`` [m³/s] is what passes each open window of the grid in that flow.
    """

    airflow: Airflow
    air_temperature: FloatArray
    window_flow: FloatArray = field(default_factory=lambda: np.zeros(0))


@dataclass(frozen=True, slots=True)
class RunRecord:
    """The epochs marched so far; one of ``epochs`` more when the next flow is solved already."""

    results: tuple[EpochResult, ...] = ()
    epochs: tuple[EpochRecord, ...] = ()
    flow: FlowRecord | None = None

    def with_flow(self, flow: FlowRecord, epoch: EpochRecord) -> "RunRecord":
        """Return the record with the flow of the next epoch."""
        return replace(self, flow=flow, epochs=(*self.epochs, epoch))

    def with_epoch(self, result: EpochResult) -> "RunRecord":
        """Return the record with one more epoch marched."""
        return replace(self, results=(*self.results, result))

    def kept(self) -> tuple[dict[str, NDArray[Any]], dict[str, Any]]:
        """Return everything as named arrays and small facts."""
        arrays: dict[str, NDArray[Any]] = {}
        for number, result in enumerate(self.results):
            arrays |= _flattened(result, f"epoch{number}.")
        if self.flow is not None:
            arrays |= _flattened(self.flow.airflow, "airflow.")
            arrays["flow_temperature"] = self.flow.air_temperature
            arrays["window_flow"] = self.flow.window_flow
        epochs = [{known.name: getattr(e, known.name) for known in fields(e)} for e in self.epochs]
        return arrays, {"results": len(self.results), "epochs": epochs}

    @classmethod
    def restored(cls, arrays: Arrays, meta: Mapping[str, Any]) -> "RunRecord":
        """Return the record that ``kept`` was called on."""
        flow = None
        if "flow_temperature" in arrays:
            airflow = _unflattened(Airflow, arrays, "airflow.")
            flow = FlowRecord(airflow, arrays["flow_temperature"], arrays["window_flow"])
        results = []
        for number in range(int(meta["results"])):
            prefix = f"epoch{number}."
            ledger = _unflattened(EnergyLedger, arrays, f"{prefix}ledger.")
            results.append(_unflattened(EpochResult, arrays, prefix, ledger=ledger))
        return cls(tuple(results), tuple(EpochRecord(**e) for e in meta["epochs"]), flow)

    def history(self, *, is_complete: bool, removed_at: FloatArray | None = None) -> History:
        """Return the epochs joined to one history; ``removed_at`` (R,) [s], None: nothing was."""
        if self.flow is None or not self.results:
            raise ValueError("no epoch has been marched")
        airflow = self.flow.airflow
        joined = {
            name: np.concatenate([getattr(result, name) for result in self.results])
            for name in _JOINED
        }
        return History(
            **joined,
            solid_peak=np.max([result.solid_peak for result in self.results], axis=0),
            ledger=_joined_ledger([result.ledger for result in self.results]),
            epochs=self.epochs[: len(self.results)],
            speed=airflow.speed.astype(np.float32),
            velocity=cell_velocity(airflow),
            is_complete=is_complete,
            removed_at=np.zeros(0) if removed_at is None else removed_at,
        )


_JOINED = (
    "time",
    "refuge_temperature",
    "probe_temperature",
    "heater_power",
    "outlet_temperature",
    "air_mean",
    "air_minimum",
    "air_maximum",
    "frame_time",
    "frame_temperature",
)


def cell_velocity(airflow: Airflow) -> NDArray[np.float32]:
    """Return the mean velocity at cell centres (3, nx, ny, nz) [m/s]."""
    u, v, w = airflow.x_velocity, airflow.y_velocity, airflow.z_velocity
    return np.array(
        [
            0.5 * (u[1:] + u[:-1]),
            0.5 * (v[:, 1:] + v[:, :-1]),
            0.5 * (w[:, :, 1:] + w[:, :, :-1]),
        ],
        dtype=np.float32,
    )


def _joined_ledger(ledgers: list[EnergyLedger]) -> EnergyLedger:
    """Join ledgers that each count from the start of their epoch; each ends at its epoch's end."""
    terms = {}
    for known in fields(EnergyLedger):
        pieces, before = [], 0.0
        for ledger in ledgers:
            piece = before + getattr(ledger, known.name)
            pieces.append(piece)
            before = float(piece[-1])
        terms[known.name] = np.concatenate(pieces)
    return EnergyLedger(**terms)


def _flattened(record: Any, prefix: str) -> dict[str, NDArray[Any]]:
    arrays: dict[str, NDArray[Any]] = {}
    for known in fields(record):
        value = getattr(record, known.name)
        if isinstance(value, EnergyLedger):
            arrays |= _flattened(value, f"{prefix}{known.name}.")
        else:
            arrays[prefix + known.name] = np.asarray(value)
    return arrays


def _unflattened(kind: type[Any], arrays: Arrays, prefix: str, **known: Any) -> Any:
    values = dict(known)
    for part in fields(kind):
        if part.name not in known:
            array = arrays[prefix + part.name]
            values[part.name] = array.item() if array.ndim == 0 else array
    return kind(**values)
