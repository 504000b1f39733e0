"""Closed forms of conduction that the problems compare with; their printed values are tested."""

from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from scipy.optimize import brentq
from scipy.special import erfc, erfcx

from simulator.grid.grid import FloatArray

Stuff = tuple[float, float, float]


def diffusivity(stuff: Stuff) -> float:
    """Return k / (ρ c) [m²/s]."""
    return stuff[0] / stuff[1] / stuff[2]


def held_surface(stuff: Stuff, t: float, x: float) -> float:
    """Share of the surface's step at depth x: erfc(x / 2√(αt))."""
    return float(erfc(x / (2.0 * sqrt(diffusivity(stuff) * t))))


def fluxed_surface(stuff: Stuff, t: float, x: float) -> float:
    """Rise at depth x for one W/m² through the surface."""
    at = diffusivity(stuff) * t
    wave = 2.0 * sqrt(at / np.pi) * exp(-(x**2) / (4.0 * at))
    return float((wave - x * erfc(x / (2.0 * sqrt(at)))) / stuff[0])


def convected_surface(stuff: Stuff, t: float, x: float, h: float) -> float:
    """Share of the air's step at depth x behind a film h."""
    reach = sqrt(diffusivity(stuff) * t)
    xi, bulk = x / (2.0 * reach), h * reach / stuff[0]
    # exp(h x/k + bulk²) erfc(xi + bulk) without overflow
    return float(erfc(xi) - np.exp(-(xi**2)) * erfcx(xi + bulk))


@dataclass(frozen=True, slots=True)
class Modes:
    """Decay of a body that starts at one in a medium at zero: Σ C exp(-ζ² Fo) shape(ζ x)."""

    root: FloatArray  # ζ
    weight: FloatArray  # C at the centre
    is_sphere: bool = False

    def centre(self, fourier: float) -> float:
        """Return θ at the centre."""
        return float(self._left(fourier).sum())

    def surface(self, fourier: float) -> float:
        """Return θ at the surface."""
        z = self.root
        shape = np.sin(z) / z if self.is_sphere else np.cos(z)
        return float((self._left(fourier) * shape).sum())

    def mean(self, fourier: float, depth: float = 1.0) -> float:
        """Return the mean of a wall's θ over a share ``depth`` behind its surface."""
        z = self.root
        shape = (np.sin(z) - np.sin(z * (1.0 - depth))) / (z * depth)
        return float((self._left(fourier) * shape).sum())

    def _left(self, fourier: float) -> FloatArray:
        return self.weight * np.exp(-(self.root**2) * fourier)


def wall_modes(biot: float, terms: int = 60) -> Modes:
    """Return the modes of a plane wall: ζ tan ζ = Bi."""
    z = np.array(
        [
            brentq(lambda z: z * np.sin(z) - biot * np.cos(z), n * np.pi, (n + 0.5) * np.pi)
            for n in range(terms)
        ]
    )
    return Modes(z, 4.0 * np.sin(z) / (2.0 * z + np.sin(2.0 * z)))


def sphere_modes(biot: float, terms: int = 60) -> Modes:
    """Return the modes of a sphere: 1 - ζ cot ζ = Bi."""
    z = np.array(
        [
            brentq(
                lambda z: (1.0 - biot) * np.sin(z) - z * np.cos(z),
                n * np.pi + 1e-9,
                (n + 1.0) * np.pi - 1e-9,
            )
            for n in range(terms)
        ]
    )
    weight = 4.0 * (np.sin(z) - z * np.cos(z)) / (2.0 * z - np.sin(2.0 * z))
    return Modes(z, weight, is_sphere=True)


@dataclass(frozen=True, slots=True)
class Cuboid:
    """A block in air of one temperature: the product of three plane walls."""

    size: tuple[float, float, float]  # [m]
    stuff: Stuff
    h: float

    def _modes(self, axis: int) -> Modes:
        return wall_modes(self.h * 0.5 * self.size[axis] / self.stuff[0])

    def fourier(self, axis: int, t: float) -> float:
        """Return the Fourier number on half of the width along an axis."""
        return diffusivity(self.stuff) * t / (0.5 * self.size[axis]) ** 2

    def centre(self, t: float) -> float:
        """Return θ at the centre."""
        return float(np.prod([self._modes(a).centre(self.fourier(a, t)) for a in range(3)]))

    def mean(self, t: float) -> float:
        """Return the mean θ."""
        return self._mean(t, (1.0, 1.0, 1.0))

    def corner(self, t: float, cell: float) -> float:
        """Return the mean θ of the cube of width ``cell`` in a corner."""
        x, y, z = (2.0 * cell / width for width in self.size)
        return self._mean(t, (x, y, z))

    def _mean(self, t: float, depth: tuple[float, float, float]) -> float:
        means = [self._modes(a).mean(self.fourier(a, t), depth[a]) for a in range(3)]
        return float(np.prod(means))

    def time_to(self, theta: float, longest: float) -> float:
        """Return when the centre has come down to θ [s]."""
        return float(brentq(lambda t: self.centre(t) - theta, 60.0, longest))


def square_with_a_warm_side(x: FloatArray, y: FloatArray) -> FloatArray:
    """Return T of the unit square with the side y = 1 at one and the others at zero."""
    n = np.arange(1, 400, 2).reshape(-1, *[1] * np.ndim(x)) * np.pi
    # sinh(n y) / sinh(n) without overflow
    ratio = np.exp(n * (y - 1.0)) * (1.0 - np.exp(-2.0 * n * y)) / (1.0 - np.exp(-2.0 * n))
    return np.asarray((4.0 / n * np.sin(n * x) * ratio).sum(axis=0))
