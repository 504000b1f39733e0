"""The lethal dose of heat: published kill times turned into one number that adds up over a history.

D = ∫ dt / LT99(T(t)), where LT99 is the time at constant temperature after which 99 % of the stage
are dead. This is the form of the F-value of food processing and of CEM43 in hyperthermia. D = 1
means: the LT99 of the slowest published curve has been reached, so that 1 in 100 may still live.

Standing of the curves. Laboratories differ by a factor of 24 (adults) and of more than 14 (eggs)
near 45 °C; the slowest published set is used (Kells & Goblirsch 2011). Data cover 45-50 °C (eggs
45-48 °C); above, the curves are extrapolated and bounded by the cap. No single ramp rate reproduces
both of that study's acute lethal temperatures from these curves, and for very slow ramps the egg
curve may be optimistic: an open question.

Temperatures are joined by straight lines between the times of a history, and the integral over each
line is exact (the logarithmic mean of its end rates). An error of 1 K in the temperature changes
the dose by the factor 1.80, one of 2 K by 3.26; the ``offset`` shows that band.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.assessment.kernels import march_dose
from simulator.grid.grid import FloatArray

#: Dose at which LT99 of the slowest published curve is reached [-] (definition).
LT99_DOSE = 1.0

#: Design target of the egg dose [-] (estimate: covers 60 min at 50 °C, D = 2.73, effective on
#: uncovered adults in a 2023 study, doi 10.1080/09603123.2023.2205106, and the 3.4-fold heat
#: hardening that one study saw in the eggs of a fruit fly).
DESIGN_DOSE = 3.5

#: Temperature that every place must also reach once [°C] (estimate: the acute LTemp99 of adults is
#: 48.3 °C, Kells & Goblirsch 2011; a place that only lingers above 45 °C is not trusted).
REQUIRED_PEAK = 50.0

#: Offset that shows the effect of a temperature error [K] (estimate: sensor and model error).
COLDER_OFFSET = -2.0

# One compiled call handles at most this many time-place pairs, so that it stays under 0.2 s.
_PAIRS_PER_CALL = 2_000_000


@dataclass(frozen=True, slots=True)
class DeathCurve:
    """LT99 against temperature: ``reference_time``·10^((reference_temperature - T)/z).

    Attributes
    ----------
    name : stage and choice.
    reference_time : LT99 at the reference temperature [s].
    reference_temperature : [°C].
    z : temperature rise that shortens the time tenfold [K].
    floor : no credit is given below it [°C]; -inf: none.
    cap : above it the rate stays at its value there [°C]; inf: none.
    source : where the numbers come from, with standing.
    """

    name: str
    reference_time: float
    reference_temperature: float
    z: float
    floor: float
    cap: float
    source: str

    def lethal_time(self, temperature: float) -> float:
        """Return LT99 [s] at a constant temperature [°C]; inf below the floor.

        Examples
        --------
        >>> round(EGG_SLOW.lethal_time(50.0) / 60.0, 2)
        21.95
        """
        if temperature < self.floor:
            return math.inf
        exponent = (self.reference_temperature - min(temperature, self.cap)) / self.z
        return float(self.reference_time * 10.0**exponent)


#: Adults; z = 4.1 K and the floor are estimates through one point (see ``source``).
ADULT_SLOW = DeathCurve(
    name="adults, slowest published",
    reference_time=94.8 * 60.0,
    reference_temperature=45.0,
    z=4.1,
    floor=44.0,
    cap=55.0,
    source=(
        "LTime99 94.8 min at 45 °C: Kells & Goblirsch 2011, Insects 2(3):412 (abstract). "
        "z = 4.1 K: estimate, near the 4 °C of Pereira et al. 2009, J Econ Entomol 102:1182 "
        "(abstract, 41-49 °C). Floor and cap: estimates."
    ),
)

#: Eggs: the curve that governs.
EGG_SLOW = DeathCurve(
    name="eggs, slowest published",
    reference_time=71.5 * 60.0,
    reference_temperature=48.0,
    z=3.9,
    floor=45.0,
    cap=55.0,
    source=(
        "71.5 min at 48 °C (longest survival, taken as LTime99) and survival of 7 h at 45 °C: "
        "Kells & Goblirsch 2011, Insects 2(3):412 (abstract). z = 3.9 K joins the two points; "
        "floor and cap: estimates."
    ),
)

CURVES = (EGG_SLOW, ADULT_SLOW)


@dataclass(frozen=True, slots=True)
class DoseResult:
    """What ``accumulate`` returns for R places; all of it for the temperature plus the offset.

    Attributes
    ----------
    final : dose at the last time, shape (R,) [-].
    time_to : when each threshold was first reached, shape (len(thresholds), R) [s]; nan: never.
    peak : highest temperature, shape (R,) [°C].
    time_of_50 : when the place first reached ``REQUIRED_PEAK``, shape (R,) [s]; nan: never.
    """

    final: FloatArray
    time_to: FloatArray
    peak: FloatArray
    time_of_50: FloatArray


def accumulate(
    time: FloatArray,
    temperature: NDArray[np.float32] | FloatArray,
    curve: DeathCurve,
    thresholds: tuple[float, ...] = (LT99_DOSE, DESIGN_DOSE),
    offset: float = 0.0,
) -> DoseResult:
    """Return the dose, the times of reaching given doses, and the peak of every place.

    Parameters
    ----------
    time : ascending times, shape (T,) [s].
    temperature : shape (T, R) [°C], joined by straight lines between the times.
    curve : the death curve.
    thresholds : doses whose times are wanted [-], each above zero.
    offset : added to every temperature [K]; -2 gives the colder band.
    """
    places = temperature.shape[1]
    levels = np.asarray(thresholds, dtype=np.float64)
    final = np.zeros(places)
    time_to = np.full((levels.size, places), np.nan)
    peak = temperature[0].astype(np.float64) + offset
    time_of_50 = np.where(peak >= REQUIRED_PEAK, float(time[0]), np.nan)
    rows = max(1, _PAIRS_PER_CALL // max(1, places))
    for start in range(0, time.size - 1, rows):
        stop = min(start + rows, time.size - 1) + 1
        march_dose(
            time[start:stop],
            temperature[start:stop],
            offset,
            1.0 / curve.reference_time,
            curve.reference_temperature,
            math.log(10.0) / curve.z,
            curve.floor,
            curve.cap,
            levels,
            REQUIRED_PEAK,
            final,
            time_to,
            peak,
            time_of_50,
        )
    return DoseResult(final, time_to, peak, time_of_50)


def dose(
    time: FloatArray,
    temperature: NDArray[np.float32] | FloatArray,
    curve: DeathCurve,
    offset: float = 0.0,
) -> FloatArray:
    """Return the dose reached at each time, shape (T, R) [-]; arguments as of ``accumulate``.

    Examples
    --------
    71.5 min at 48 °C:

    >>> held = np.full((2, 1), 48.0)
    >>> round(float(dose(np.array([0.0, 71.5 * 60.0]), held, EGG_SLOW)[-1, 0]), 6)
    1.0
    """
    cumulative = np.zeros(temperature.shape)
    for row in range(time.size - 1):
        step = accumulate(time[row : row + 2], temperature[row : row + 2], curve, (), offset)
        cumulative[row + 1] = cumulative[row] + step.final
    return cumulative
