"""Air that enters through outlets and leaks leaves through intakes and leaks."""

from math import fsum

import numpy as np
import pytest
from air_rooms import air_room, cells_at, exhaust, jet, leak

from simulator.constants import AIR_DENSITY
from simulator.errors import CaseError
from simulator.physics.airflow.air_exchange import (
    EXHAUST_DISCHARGE,
    EXHAUST_PRESSURE,
    air_exchange,
)

SHAPE = (6, 4, 4)
INLETS = cells_at(SHAPE, (0, 0, 0), (0, 3, 0), (5, 1, 0))
OUTLETS = cells_at(SHAPE, (0, 0, 3), (5, 3, 3))
OUTLET = cells_at(SHAPE, (2, 1, 1), (2, 2, 1), (2, 1, 2))
INTAKE = cells_at(SHAPE, (1, 1, 1), (1, 2, 1))


def parted() -> np.ndarray:
    blocked = np.zeros(SHAPE, dtype=np.bool_)
    blocked[3] = True
    return blocked


def test_recirculating_heater_takes_in_what_it_gives_out() -> None:
    exchange = air_exchange(air_room(SHAPE, jets=[jet(OUTLET, INTAKE, flow=0.3)]))
    assert exchange.cell_source[OUTLET.cells] == pytest.approx(0.1, rel=1e-14)
    assert exchange.cell_source[INTAKE.cells] == pytest.approx(-0.15, rel=1e-14)
    assert not exchange.leak_inflow.any()
    assert abs(fsum(exchange.cell_source)) < 1e-16  # one unit in the last place of 0.1


def test_leaks_flow_both_ways_alike() -> None:
    exchange = air_exchange(air_room(SHAPE, leaks=[leak(INLETS, OUTLETS, 0.012)]))
    assert exchange.leak_inflow.sum() == pytest.approx(0.012, rel=1e-14)
    assert exchange.leak_outflow.sum() == pytest.approx(0.012, rel=1e-14)
    assert exchange.cell_source == pytest.approx(exchange.leak_inflow - exchange.leak_outflow)


@pytest.mark.parametrize(
    ("supply", "inflow", "outflow"),
    [(0.1, 0.2, 0.3), (0.3, 0.0, 0.3), (0.7, 0.0, 0.7)],
)
def test_ducted_air_first_replaces_leaking_air_and_then_pushes_more_out(
    supply: float, inflow: float, outflow: float
) -> None:
    ducted = jet(OUTLET, None, flow=supply)
    exchange = air_exchange(air_room(SHAPE, jets=[ducted], leaks=[leak(INLETS, OUTLETS, 0.3)]))
    assert exchange.leak_inflow.sum() == pytest.approx(inflow, abs=1e-15)
    assert exchange.leak_outflow.sum() == pytest.approx(outflow, rel=1e-14)
    assert exchange.cell_source[OUTLET.cells] == pytest.approx(supply / 3.0, rel=1e-13)
    assert abs(fsum(exchange.cell_source)) < 1e-15


def test_a_leak_without_outlet_in_a_pocket_counts_where_it_has_both() -> None:
    """The pocket behind the wall holds the inlet at x = 5 and no outlet: all flow goes the rest."""
    only_west = cells_at(SHAPE, (0, 0, 3))
    grid = air_room(SHAPE, blocked=parted(), leaks=[leak(INLETS, only_west, 0.012)])
    exchange = air_exchange(grid)
    assert exchange.leak_inflow[INLETS.cells].tolist() == pytest.approx([0.006, 0.006, 0.0])
    assert exchange.leak_outflow[only_west.cells] == pytest.approx(0.012)


def test_sources_balance_in_every_body_of_air() -> None:
    east = cells_at(SHAPE, (4, 0, 0)), cells_at(SHAPE, (5, 3, 3))
    west = cells_at(SHAPE, (0, 0, 0)), cells_at(SHAPE, (0, 3, 3), (1, 3, 3), (2, 3, 3))
    grid = air_room(
        SHAPE,
        blocked=parted(),
        jets=[jet(OUTLET, INTAKE, flow=0.31), jet(OUTLET, None, flow=0.17)],
        leaks=[leak(*east, 0.011), leak(*west, 0.007)],
    )
    source = air_exchange(grid).cell_source.reshape(SHAPE)
    assert abs(fsum(source[:3].ravel())) < 1e-15
    assert abs(fsum(source[4:].ravel())) < 1e-15
    assert source[3].tolist() == np.zeros((4, 4)).tolist()


def test_ducted_air_without_a_way_out_is_refused_by_name() -> None:
    with pytest.raises(CaseError, match=r"burner: .* no air can leave; give a room"):
        air_exchange(air_room(SHAPE, jets=[jet(OUTLET, None, owner="burner")]))


def test_intake_in_other_air_is_refused_by_name() -> None:
    apart = jet(OUTLET, cells_at(SHAPE, (5, 1, 1)), owner="north heater")
    with pytest.raises(CaseError, match="north heater: its intake and its outlet"):
        air_exchange(air_room(SHAPE, blocked=parted(), jets=[apart]))


def test_a_jet_stays_in_the_air_that_most_of_it_opens_into() -> None:
    across = cells_at(SHAPE, (2, 1, 1), (2, 2, 1), (4, 1, 1))
    grid = air_room(SHAPE, blocked=parted(), jets=[jet(across, INTAKE)])
    exchange = air_exchange(grid)
    assert exchange.outlets[0].cells.tolist() == across.cells[:2].tolist()
    assert exchange.outlets[0].weights.tolist() == [0.5, 0.5]


NORTH = cells_at(SHAPE, (1, 3, 2), (2, 3, 2))
SOUTH = cells_at(SHAPE, (4, 0, 2))


def test_displaced_air_leaves_through_exhausts_by_area_and_leaks_go_on() -> None:
    grid = air_room(
        SHAPE,
        jets=[jet(OUTLET, None, flow=0.3)],
        leaks=[leak(INLETS, OUTLETS, 0.012)],
        exhausts=[exhaust(NORTH, 0.1), exhaust(SOUTH, 0.2)],
    )
    exchange = air_exchange(grid)
    assert exchange.exhaust_flow == pytest.approx((0.1, 0.2), rel=1e-14)
    assert exchange.leak_outflow[NORTH.cells] == pytest.approx(0.05, rel=1e-14)
    assert exchange.leak_outflow[OUTLETS.cells] == pytest.approx(0.006, rel=1e-14)
    assert exchange.leak_inflow.sum() == pytest.approx(0.012, rel=1e-14)  # as without a duct
    assert abs(fsum(exchange.cell_source)) < 1e-15


def test_what_a_small_exhaust_does_not_take_presses_out_through_leaks() -> None:
    """At 10 Pa an opening passes 0.65 * sqrt(2 * 10 / density) = 2.7 m/s."""
    small = exhaust(NORTH, 0.05)
    grid = air_room(
        SHAPE,
        jets=[jet(OUTLET, None, flow=0.3)],
        leaks=[leak(INLETS, OUTLETS, 0.012)],
        exhausts=[small],
    )
    exchange = air_exchange(grid)
    passed = 0.05 * EXHAUST_DISCHARGE * np.sqrt(2.0 * EXHAUST_PRESSURE / AIR_DENSITY)
    assert passed == pytest.approx(0.05 * 2.7, rel=0.02)
    assert exchange.exhaust_flow == pytest.approx((passed,), rel=1e-12)
    assert exchange.leak_inflow.sum() == 0.0  # the rest, 0.17 m³/s, replaces what leaked in
    assert exchange.leak_outflow[OUTLETS.cells].sum() == pytest.approx(0.3 - passed, rel=1e-12)
    assert abs(fsum(exchange.cell_source)) < 1e-15


def test_a_tight_room_lets_all_displaced_air_out_through_its_exhaust() -> None:
    grid = air_room(SHAPE, jets=[jet(OUTLET, None, flow=0.3)], exhausts=[exhaust(NORTH, 0.001)])
    assert air_exchange(grid).exhaust_flow == pytest.approx((0.3,), rel=1e-12)


def test_an_exhaust_without_ducted_air_passes_none() -> None:
    grid = air_room(
        SHAPE,
        jets=[jet(OUTLET, None, flow=0.0), jet(OUTLET, INTAKE)],
        leaks=[leak(INLETS, OUTLETS, 0.012)],
        exhausts=[exhaust(NORTH, 0.1)],
    )
    exchange = air_exchange(grid)
    assert exchange.exhaust_flow == (0.0,)
    assert exchange.leak_outflow.sum() == pytest.approx(0.012, rel=1e-14)


def test_an_exhaust_in_other_air_takes_nothing() -> None:
    """East of the wall no duct blows: the west's air leaves through the west's leak."""
    west = cells_at(SHAPE, (0, 0, 0)), cells_at(SHAPE, (0, 3, 3))
    grid = air_room(
        SHAPE,
        blocked=parted(),
        jets=[jet(OUTLET, None, flow=0.3)],
        leaks=[leak(*west, 0.01)],
        exhausts=[exhaust(SOUTH, 0.5)],
    )
    exchange = air_exchange(grid)
    assert exchange.exhaust_flow == (0.0,)
    assert exchange.leak_outflow[west[1].cells] == pytest.approx(0.3, rel=1e-12)
