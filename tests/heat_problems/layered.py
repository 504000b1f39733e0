"""Exact temperatures in layers after a step of the air before them, by the Laplace transform."""

from collections.abc import Sequence

import numpy as np

from simulator.grid.grid import FloatArray

#: Terms of the inverse transform: errors below 1e-6 of the step (tests compare with ``WALLS``).
TERMS = 24

#: k, ρ, c, thickness [m].
LayerRow = tuple[float, float, float, float]


def step_response(
    rows: Sequence[LayerRow], h: float, behind: complex | str, times: FloatArray
) -> FloatArray:
    """Return surface, interfaces and last face (T, layers + 1) for a unit step of the air.

    ``behind`` the last layer: a film [W/(m² K)] to air that stays at zero (0: adiabatic), or
    "endless": the last layer goes on without end, and its far face is not given.

    Notes
    -----
    Inverted by the fixed Talbot contour of Abate & Valkó (2004), Int. J. Numer. Meth. Eng. 60:979.
    Each layer is a two-port: with g = sqrt(s ρ c / k), admittance from the back to the front.
    """
    return np.array([_invert(rows, h, behind, float(time)) for time in times])


def _invert(rows: Sequence[LayerRow], h: float, behind: complex | str, time: float) -> FloatArray:
    r = 2.0 * TERMS / (5.0 * time)
    theta = np.arange(1, TERMS) * np.pi / TERMS
    cot = 1.0 / np.tan(theta)
    s = r * theta * (cot + 1j)
    sigma = theta + (theta * cot - 1.0) * cot
    first = 0.5 * np.exp(r * time) * _faces(rows, h, behind, np.array([r + 0j]))[0].real
    values = _faces(rows, h, behind, s)
    total = (np.exp(s * time)[:, None] * values * (1.0 + 1j * sigma)[:, None]).real.sum(axis=0)
    found: FloatArray = (r / TERMS) * (first + total)
    return found


def _faces(rows: Sequence[LayerRow], h: float, behind: complex | str, s: np.ndarray) -> np.ndarray:
    """Transformed temperatures of all faces (S, n) for air that steps to one."""
    admittance = np.zeros_like(s) if isinstance(behind, str) else np.full_like(s, behind)
    ratios = []  # of each face's temperature to that of the face before it
    for number, (k, density, heat_capacity, d) in reversed(list(enumerate(rows))):
        g = np.sqrt(s * density * heat_capacity / k)
        if isinstance(behind, str) and number == len(rows) - 1:
            admittance = k * g
            continue
        t = np.tanh(g * d)
        own = k * g
        ratios.append(1.0 / (np.cosh(g * d) * (1.0 + t * admittance / own)))
        admittance = own * (admittance + own * t) / (own + admittance * t)
    temperature = h / (h + admittance) / s
    faces = [temperature]
    for ratio in reversed(ratios):
        temperature = temperature * ratio
        faces.append(temperature)
    return np.stack(faces, axis=1)
