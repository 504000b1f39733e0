"""What the size of the cells does to an answer: a companion run on coarser cells beside it."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from simulator import simulation
from simulator.assessment.assess import assess
from simulator.assessment.assessment import Assessment
from simulator.case.case import Case
from simulator.grid.grid import FloatArray
from simulator.progress import Progress
from simulator.studies.grid_convergence import TWO_GRIDS, error_band
from simulator.units import System, format_quantity, format_small_length

#: Cells of the companion over those of the run [-], the largest cells that the methods were tried
#: with [m], and the least ratio that tells anything [-] (choices: a companion of twice the size
#: costs about a tenth of the run).
RATIO, LARGEST_CELL, LEAST_RATIO = 2.0, 0.20, 1.3

#: Order at which answers approach their limit [-]: assumed, for two grids cannot tell. Fluxes are
#: of second order, but faces of furniture move by shares of a cell and the flow follows suit.
ASSUMED_ORDER = 1.0

#: Name of the findings in a result file.
NAME = "grid_error"


@dataclass(frozen=True, slots=True)
class Spread:
    """One figure of the answer on both grids, and the band that the cells leave about it."""

    name: str
    quantity: str  # kind of number for ``units``; "share" is a plain number
    fine: float
    coarse: float
    band: float  # half width; nan: not known


@dataclass(frozen=True, slots=True)
class GridError:
    """What ``grid_error`` returns. Temperatures in °C, differences in K, times in s."""

    cell_size: float
    companion_cell_size: float
    order: float
    safety: float
    figures: tuple[Spread, ...]
    places: int  # hiding places that both grids know
    half_within: float  # half of them lie within this of each other at the end [K]
    most_within: float  # nine of ten do
    mean_difference: float  # companion minus run, over the places [K]
    verdicts_that_differ: int  # done on one grid only


def companion_cell_size(cell_size: float) -> float | None:
    """Return the cells of the companion run [m]; None: no coarser ones would tell anything."""
    companion = min(RATIO * cell_size, LARGEST_CELL)
    return companion if companion >= LEAST_RATIO * cell_size else None


def grid_error(
    case: Case,
    cell_size: float,
    answer: Assessment,
    *,
    progress: Callable[[Progress], None] | None = None,
) -> GridError | None:
    """Return how far the answer depends on its cells, from a run on coarser ones.

    Parameters
    ----------
    cell_size : of the run that ``answer`` judges [m].
    progress : as for ``simulate``.

    Returns
    -------
    None where no coarser cells would tell anything.
    """
    companion = companion_cell_size(cell_size)
    if companion is None:
        return None
    run = simulation.simulate(case, companion, progress=progress)
    return compare_grids(answer, cell_size, assess(case, run.grid, run.history), companion)


def compare_grids(
    fine: Assessment, cell_size: float, coarse: Assessment, companion: float
) -> GridError:
    """Return how far two answers to one case on two cell sizes [m] lie apart."""
    ratio = companion / cell_size

    def spread(name: str, quantity: str, a: float, b: float) -> Spread:
        band = error_band(a, b, ratio, ASSUMED_ORDER)
        return Spread(name, quantity, a, b, band if math.isfinite(band) else math.nan)

    known = {(place.owner, place.words): place for place in coarse.places}
    pairs = [
        (place, known[place.owner, place.words])
        for place in fine.places
        if (place.owner, place.words) in known
    ]
    apart = np.array([theirs.coldest - ours.coldest for ours, theirs in pairs])
    return GridError(
        cell_size=cell_size,
        companion_cell_size=companion,
        order=ASSUMED_ORDER,
        safety=TWO_GRIDS,
        figures=(
            spread("all done", "time", fine.finishing_time, coarse.finishing_time),
            spread("mean of hiding places", "temperature", _mean(fine), _mean(coarse)),
            spread("volume below 50 °C", "share", _below(fine), _below(coarse)),
        ),
        places=len(pairs),
        half_within=_quantile(np.abs(apart), 0.5),
        most_within=_quantile(np.abs(apart), 0.9),
        mean_difference=float(apart.mean()) if apart.size else math.nan,
        verdicts_that_differ=sum(
            (ours.state == "done") != (theirs.state == "done") for ours, theirs in pairs
        ),
    )


def _mean(answer: Assessment) -> float:
    """Return the mean of the hiding places at the end of the heat [°C]."""
    return float(answer.mean[answer.end.index])


def _below(answer: Assessment) -> float:
    """Return the share of volume below 50 °C at the end of the heat [-]."""
    return float(answer.fraction_below_50[answer.end.index])


def _quantile(values: FloatArray, share: float) -> float:
    return float(np.quantile(values, share)) if values.size else math.nan


def in_words(found: GridError, units: System = "si") -> str:
    """Return the finding as a paragraph for print."""
    size = format_small_length(found.companion_cell_size, units)
    words = [
        f"Error of the cells, from a companion run on cells of {size}: half of the hiding places "
        f"end within {_kelvin(found.half_within, units)} of this run, nine of ten within "
        f"{_kelvin(found.most_within, units)}; {found.verdicts_that_differ} of {found.places} are "
        "done on one grid only."
    ]
    told = [_figure(figure, units) for figure in found.figures if math.isfinite(figure.band)]
    if told:
        words.append(
            f"Bands ({found.safety:g} times the difference, order {found.order:g} assumed): "
            + "; ".join(told)
            + "."
        )
    return " ".join(words)


def _figure(figure: Spread, units: System) -> str:
    if figure.quantity == "share":
        return f"{figure.name} {100 * figure.fine:.0f} % ± {100 * figure.band:.0f} points"
    value = format_quantity(figure.fine, figure.quantity, units)
    if figure.quantity == "temperature":
        return f"{figure.name} {value} ± {_kelvin(figure.band, units)}"
    return f"{figure.name} {value} ± {format_quantity(figure.band, figure.quantity, units)}"


def _kelvin(difference: float, units: System) -> str:
    return format_quantity(difference, "temperature difference", units)
