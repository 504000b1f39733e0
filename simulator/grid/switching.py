"""The grid with some of its equipment switched off: what stands still, and what still runs."""

from dataclasses import replace

from simulator.grid.grid import Grid


def switched(grid: Grid, *, fans_on: bool, heater_fans_on: bool) -> Grid:
    """Return the grid with fans or heaters that stand still: no flow, and no motor's heat.

    All of them stay in their places in ``fans`` and ``jets``.
    """
    fans, jets = grid.fans, grid.jets
    if not fans_on:
        fans = tuple(replace(fan, part=replace(fan.part, flow=0.0, power=0.0)) for fan in fans)
    if not heater_fans_on:
        jets = tuple(replace(jet, part=replace(jet.part, flow=0.0)) for jet in jets)
    return replace(grid, fans=fans, jets=jets)


def running(grid: Grid) -> Grid:
    """Return the grid without the fans and jets that stand still, as the airflow sees it."""
    return replace(
        grid,
        fans=tuple(fan for fan in grid.fans if fan.part.flow > 0.0),
        jets=tuple(jet for jet in grid.jets if jet.part.flow > 0.0),
    )
