"""What a cord carries in the heat, and what it must be rated for."""

import math
from dataclasses import dataclass

from simulator.case.electrical import CORD_INSULATIONS, ElectricalLoad
from simulator.case.standing import Standing

#: Air in which cords are rated [°C], and the width of the bands of the code's table [K].
RATED_AMBIENT, BAND = 30.0, 5.0

#: Upper ends of the bands whose factors were read in the code's own text [°C].
READ_BANDS = (55.0, 60.0)

BASIS = (
    "A cord in hot air carries less: at 51 to 55 °C 0.41, 0.67, 0.76 and at 56 to 60 °C none, "
    "0.58, 0.71 of its rating at 30 °C for insulation of 60, 75, 90 °C (NEC 310.15(B)(1), read in "
    "its own text for these two bands; the formula behind the others from memory)."
)


@dataclass(frozen=True, slots=True)
class CordCheck:
    """A load's cord in the air where it lies.

    Attributes
    ----------
    load : name of the load.
    current : what it draws [A].
    ambient : air where the cord lies [°C].
    rating, insulation : of its cord, at 30 °C [A] and [°C]; None: not given.
    carries : what the cord carries in that air [A]; 0: not allowed there; None: not given.
    needed : for each common insulation [°C] the rating at 30 °C that the current asks for [A];
        None: that insulation is not allowed in such air.
    basis : where the rating comes from.
    is_over : whether the cord is known and carries less than is drawn.
    """

    load: str
    current: float
    ambient: float
    rating: float | None
    insulation: float | None
    carries: float | None
    needed: tuple[tuple[float, float | None], ...]
    basis: str
    is_over: bool


def heat_factor(insulation: float, ambient: float) -> float:
    """Return the share of its rating that a conductor carries in air of a temperature [-].

    Parameters
    ----------
    insulation : temperature that it bears [°C].
    ambient : of the air around it [°C].

    Notes
    -----
    sqrt((T_insulation - T_air) / (T_insulation - 30 °C) ) at the upper end of the band of 5 K that
    the air lies in, rounded to 0.01 as the code's table is; 0 where nothing is allowed, and no
    credit below 30 °C.

    References
    ----------
    NEC 310.15(B)(1): 0.41, 0.67, 0.76 at 51 to 55 °C and none, 0.58, 0.71 at 56 to 60 °C for
    insulation of 60, 75, 90 °C.

    Examples
    --------
    >>> heat_factor(75.0, 57.0)
    0.58
    """
    if ambient <= RATED_AMBIENT:
        return 1.0
    room = insulation - _upper(ambient)
    return round(math.sqrt(room / (insulation - RATED_AMBIENT)), 2) if room > 0.0 else 0.0


def _upper(ambient: float) -> float:
    """Return the upper end of the band of the code's table that an air temperature lies in [°C]."""
    return BAND * math.ceil(ambient / BAND - 1e-9)


def band_in_words(ambient: float) -> str:
    """Return the band of the code's table that an air temperature [°C] lies in."""
    upper = _upper(ambient)
    return f"{upper - BAND + 1.0:g} to {upper:g} °C"


def standing_at(ambient: float) -> Standing:
    """Return where the factors for an air temperature [°C] come from."""
    return Standing.READ if _upper(ambient) in READ_BANDS else Standing.MEMORY


def check_cord(load: ElectricalLoad, voltage: float, ambient: float) -> CordCheck:
    """Return how a load's cord stands in air of a temperature [°C]."""
    current = load.power / voltage
    cord = load.cord
    carries = None if cord is None else cord.rating * heat_factor(cord.insulation, ambient)
    return CordCheck(
        load=load.name,
        current=current,
        ambient=ambient,
        rating=None if cord is None else cord.rating,
        insulation=None if cord is None else cord.insulation,
        carries=carries,
        needed=tuple(
            (insulation, current / factor if (factor := heat_factor(insulation, ambient)) else None)
            for insulation in CORD_INSULATIONS.values()
        ),
        basis="no cord given" if cord is None else cord.basis,
        is_over=carries is not None and current > carries * (1.0 + 1e-9),
    )
