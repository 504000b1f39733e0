"""Throttled fans: what stands in the way of a fan's air takes thrust from it, by its fan curve."""

from math import sqrt

import numpy as np

from simulator.grid.grid import FloatArray
from simulator.physics.airflow import kernels
from simulator.physics.airflow.movers import Disc
from simulator.physics.airflow.projection import Fields
from simulator.physics.airflow.staggered import AXES

#: A free disc on cells of size h passes at least 1 - this h/D of the flow of an ideal free disc:
#: measured over 38 places and directions with D/h from 1.5 to 8 in a room at rest (lowest 0.79,
#: 0.84, 0.93, 0.91, 0.97, 1.00 at D/h = 1.5, 2, 2.5, 3.3, 5, 8).
GRID_DEFICIT = 0.33

#: The draught of a stirred room takes at most this from the flow of a free disc [-]: in 30 rooms
#: with one fan 0.07 was the most. Only what is missing beyond both counts as throttled.
DRAUGHT_DEFICIT = 0.07

#: Least flow of a disc over that of a free one that is told from a standstill [-] (estimate).
LEAST_FLOW = 0.1


def resistance(flow_share: float) -> float:
    """Return what stands in the way of a disc, over the dynamic pressure of its own flow [-].

    Parameters
    ----------
    flow_share : flow through the model's disc over that of a free disc of the same thrust [-].

    Notes
    -----
    A free disc of thrust K passes v = sqrt(K / 2 A); what stands in its way takes zeta v²/2, so
    K/A = (4 + zeta) v²/2 and zeta = 4 (1/c² - 1), c the share of the free flow.

    Examples
    --------
    >>> resistance(1.0)
    0.0
    >>> round(resistance(0.7), 3)
    4.163
    """
    c = min(max(flow_share, LEAST_FLOW), 1.0)
    return 4.0 * (1.0 / c**2 - 1.0)


def thrust_share(zeta: float, shut_off: float) -> float:
    """Return the thrust of a throttled fan over that of the free fan [-], 0 to 1.

    Parameters
    ----------
    zeta : what stands in its way, see ``resistance`` [-].
    shut_off : static pressure at no flow over the dynamic pressure of the free delivery [-].

    Notes
    -----
    A fan whose pressure falls with the square of its flow, dp = dp0 (1 - (Q/Q0)²), passes through
    the resistance dp = zeta rho (Q/A)²/2 the flow (Q/Q0)² = 1 / (1 + zeta / shut_off), and Q²/A is
    the thrust of what leaves it.

    Examples
    --------
    >>> thrust_share(0.0, 3.0)
    1.0
    >>> round(thrust_share(4.163, 3.0), 3)
    0.419
    """
    return 1.0 / (1.0 + zeta / shut_off)


class Throttle:
    """Sets the force of every disc to its fan curve against all that stands in its way.

    That is the greater of two: the loss of the gaps behind and before it, from the true geometry
    (``fan_clearance``), and what the flow through the disc shows, which also tells of narrow rooms,
    doorways and loose stuff. The latter counts in full where nothing solid is nearer along the axis
    than two cells, and not at all within one and a half: there the cells move surface and disc by
    so much of the gap that some free fans lost half of their thrust and some shut ones none.

    Attributes
    ----------
    shares : thrust of each disc over its free thrust [-].
    """

    def __init__(
        self, discs: tuple[Disc, ...], cell_size: float, time_step: float, response: float
    ) -> None:
        self._discs = discs
        self._follow = time_step / (time_step + response)
        self._free = [_least_free_speed(disc, cell_size) for disc in discs]
        self._trust = [_trust_in_cells(disc, cell_size) for disc in discs]
        self._flow_shares = np.ones(len(discs))
        self.shares = np.ones(len(discs))

    def start_from(self, shares: FloatArray, force: Fields) -> None:
        """Take the shares of an earlier solution for the first discs, and set the force."""
        for n, share in enumerate(shares[: len(self._discs)]):
            disc = self._discs[n]
            zeta = disc.thrust.shut_off * (1.0 / max(share, 1e-3) - 1.0) if share < 1.0 else 0.0
            if zeta > 1.001 * _gap_loss(disc) and self._trust[n] > 0.0:
                self._flow_shares[n] = 1.0 / sqrt(1.0 + 0.25 * zeta / self._trust[n])
            self._set(n, force)

    def update(self, velocity: Fields, force: Fields) -> None:
        """Follow the flow of the last step and write the new force [m⁴/s²] of throttled fans."""
        if self._follow == 0.0:
            return
        for n, disc in enumerate(self._discs):
            speed = sum(
                disc.thrust.direction[axis]
                * kernels.share_of(disc.faces[axis], disc.shares[axis], velocity[axis])
                for axis in AXES
                if disc.faces[axis].size
            )
            now = speed / (self._free[n] * sqrt(self.shares[n]))
            self._flow_shares[n] += self._follow * (min(now, 2.0) - self._flow_shares[n])
            self._set(n, force)

    def _set(self, n: int, force: Fields) -> None:
        disc = self._discs[n]
        zeta = max(_gap_loss(disc), self._trust[n] * resistance(self._flow_shares[n]))
        share = thrust_share(zeta, disc.thrust.shut_off)
        change = (share - self.shares[n]) * disc.thrust.strength
        if change == 0.0:
            return
        self.shares[n] = share
        for axis in AXES:
            if disc.faces[axis].size:
                push = change * disc.thrust.direction[axis]
                kernels.add_shares(disc.faces[axis], disc.shares[axis], push, force[axis])


def _gap_loss(disc: Disc) -> float:
    return 0.0 if disc.clearance is None else disc.clearance.loss


def _trust_in_cells(disc: Disc, cell_size: float) -> float:
    """Share of what the flow through the disc shows that counts [-]."""
    if disc.clearance is None:
        return 0.0
    return min(max(2.0 * disc.clearance.nearest / cell_size - 3.0, 0.0), 1.0)


def _least_free_speed(disc: Disc, cell_size: float) -> float:
    """Mean speed through the disc below which something must stand in its way [m/s]."""
    ideal = sqrt(0.5 * disc.thrust.strength / disc.thrust.area)
    on_grid = max(1.0 - GRID_DEFICIT * cell_size / disc.thrust.diameter, 0.5)
    return ideal * on_grid * (1.0 - DRAUGHT_DEFICIT)
