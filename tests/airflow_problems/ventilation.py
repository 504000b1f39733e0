"""A furnished room with ducted air: what any solenoidal mean flow must keep."""

from dataclasses import dataclass
from functools import cache
from math import fsum

import numpy as np
from air_rooms import air_room, cells_at, fan, furnished_room, jet, leak
from known_answers import Figure, at_most, within
from scipy.sparse import coo_array, csr_array, diags_array
from scipy.sparse.linalg import spsolve

from simulator.grid.grid import FloatArray, Grid
from simulator.physics.airflow.airflow import Airflow
from simulator.physics.airflow.solve_airflow import solve_airflow

SUPPLY = 0.2  # [m³/s]


@cache
def ducted_room() -> tuple[Grid, Airflow]:
    """Return an invented furnished room with a fan, ducted air in and leaks out, and its flow."""
    fans = [fan((4.0, 3.0, 1.5), (-1.0, 0.3, 0.0), flow=0.6)]
    blocked = furnished_room(0.2, fans=()).is_blocked
    shape = blocked.shape
    outlet = cells_at(shape, (1, 1, 5))
    cracks = leak(cells_at(shape, (24, 10, 0)), cells_at(shape, (24, 18, 11), (12, 19, 11)), 0.05)
    heater = jet(outlet, None, flow=SUPPLY, centre=(0.3, 0.3, 1.1), diameter=0.3)
    grid = air_room(shape, 0.2, blocked=blocked, fans=fans, jets=[heater], leaks=[cracks])
    return grid, solve_airflow(grid, discard=10.0, average=20.0)


def upwind(grid: Grid, airflow: Airflow) -> coo_array:
    """Return the operator that maps a scalar of the cells to its net outflow [m³/s]."""
    area = grid.cell_size**2
    flat = np.arange(grid.is_open.size).reshape(grid.shape)
    rows, columns, values = [], [], []
    velocity = (airflow.x_velocity, airflow.y_velocity, airflow.z_velocity)
    for axis in range(3):
        flow = area * np.moveaxis(velocity[axis], axis, 0)[1:-1].ravel()
        along = np.moveaxis(flat, axis, 0)
        low, high = along[:-1].ravel(), along[1:].ravel()
        from_cell = np.where(flow > 0.0, low, high)
        rows += [low, high]
        columns += [from_cell, from_cell]
        values += [flow, -flow]
    leaving = np.maximum(-airflow.cell_source.ravel(), 0.0)
    rows.append(flat.ravel())
    columns.append(flat.ravel())
    values.append(leaving)
    entries = np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))
    return coo_array(entries, shape=(flat.size, flat.size))


def mixed(grid: Grid, rate: float) -> coo_array:
    """Return the operator of exchange at ``rate`` [m³/s] through every face between open cells."""
    flat = np.arange(grid.is_open.size).reshape(grid.shape)
    pairs = []
    for axis in range(3):
        along, air = np.moveaxis(flat, axis, 0), np.moveaxis(grid.is_open, axis, 0)
        both = air[:-1] & air[1:]
        pairs.append(np.stack([along[:-1][both], along[1:][both]]))
    low, high = np.concatenate(pairs, axis=1)
    rows, columns = np.concatenate([low, low, high, high]), np.concatenate([low, high, high, low])
    values = rate * np.repeat([1.0, -1.0, 1.0, -1.0], low.size)
    return coo_array((values, (rows, columns)), shape=(flat.size, flat.size))


def solved(grid: Grid, operator: csr_array, right: FloatArray) -> FloatArray:
    """Return the scalar of the open cells whose net outflow is ``right``; zero elsewhere."""
    own = np.flatnonzero(grid.is_open.ravel())
    answer = np.zeros(grid.is_open.size)
    answer[own] = spsolve(operator.tocsc()[own][:, own], right[own])
    return answer


@dataclass(frozen=True, slots=True)
class AgeOfAir:
    """The mean age of the air that leaves a room is V/Q, whatever the flow (Sandberg 1981)."""

    is_slow: bool = False
    name: str = "mean age of the air that leaves"
    source: str = "exact: Sandberg 1981, Building and Environment 16:123"
    mesh: str = "0.20 m"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        grid, airflow = ducted_room()
        own = airflow.cell_source.ravel()
        volume = np.where(grid.is_open.ravel(), grid.cell_size**3, 0.0)
        # u · grad(age) = 1 as differences to where air comes from: it sums to V only if what enters
        # every cell leaves it; a little exchange reaches pockets that the mean flow passes by
        operator = upwind(grid, airflow).tocsr()
        operator = operator - diags_array(operator.sum(axis=1) - np.maximum(own, 0.0))
        age = solved(grid, operator + mixed(grid, 1e-4), volume)
        leaving = np.maximum(-own, 0.0)
        entering = fsum(np.maximum(own, 0.0))
        mean_age = fsum(leaving * age) / fsum(leaving)
        return (
            within("age over V/Q", mean_age * entering / fsum(volume), 1.0, 1e-9),
            at_most("largest divergence [m/s]", airflow.divergence, 1e-10),
        )


@dataclass(frozen=True, slots=True)
class UniformScalar:
    """What is uniform in the room and in the air that enters stays so in any solenoidal flow."""

    is_slow: bool = False
    name: str = "uniform scalar, 10 s of explicit transport"
    source: str = "conservation"
    mesh: str = "0.20 m"

    def figures(self) -> tuple[Figure, ...]:
        """Solve the problem and compare."""
        grid, airflow = ducted_room()
        operator = upwind(grid, airflow).tocsr()
        entering = np.maximum(airflow.cell_source.ravel(), 0.0)
        volume = grid.cell_size**3
        step = 0.9 * volume / operator.diagonal().max()
        scalar = np.where(grid.is_open.ravel(), 1.0, 0.0)
        for _ in range(round(10.0 / step)):
            scalar += step / volume * (entering - operator @ scalar)
        off = np.abs(scalar[grid.is_open.ravel()] - 1.0).max()
        return (at_most("largest change", float(off), 1e-12),)
