"""How dry air becomes when it is heated and nothing is added: what shrinks wood."""

import math


def saturation_pressure(temperature: float) -> float:
    """Return the saturation pressure of water vapour over water [Pa].

    Notes
    -----
    Magnus formula with the constants of Sonntag 1990 (from memory), -45 to 60 °C, 0.6 %.
    """
    return 611.2 * math.exp(17.62 * temperature / (243.12 + temperature))


def humidity_when_heated(humidity: float, before: float, after: float) -> float:
    """Return the relative humidity of air heated from one temperature to another [°C] [-].

    Examples
    --------
    Air of 21 °C and 50 % heated to 55 °C:

    >>> round(100 * humidity_when_heated(0.50, 21.0, 55.0), 1)
    7.9
    """
    return humidity * saturation_pressure(before) / saturation_pressure(after)
