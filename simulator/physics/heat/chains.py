"""Chains: rows of nodes that are eliminated exactly, so that the sparse solver never meets them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simulator.grid.grid import FloatArray, IndexArray, IntArray
from simulator.physics.heat.kernels import factor_chains


@dataclass(frozen=True, slots=True)
class ChainBlock:
    """Some chains of equally many nodes: B chains of n nodes and n + 1 links."""

    near: IntArray  # (B,) retained node at the near end
    far: IntArray  # (B,) retained node at the far end, or -1: a boundary
    link: FloatArray  # (B, n + 1) [W/K]; the last is zero where the far end is adiabatic
    capacity: FloatArray  # (B, n) [J/K]


@dataclass(frozen=True, slots=True)
class Chains:
    """All chains of a layout, one after the other (C chains, E nodes).

    Chain c has the nodes start[c] ... start[c+1]-1, counted from the first chain node, and the
    links start[c]+c ... start[c+1]+c: from its near end through its nodes to its far end.
    """

    start: IntArray  # (C + 1,)
    near: IndexArray  # (C,) retained node at the near end
    far: IntArray  # (C,) at the far end, or -1
    link: FloatArray  # (E + C,) [W/K]
    capacity: FloatArray  # (E,) [J/K]

    @property
    def last(self) -> IntArray:
        """The chain node next to each far end."""
        return self.start[1:] - 1

    @property
    def near_link(self) -> FloatArray:
        """Conductance from the near end of each chain to its first node [W/K]."""
        link: FloatArray = self.link[self.start[:-1] + np.arange(self.near.size)]
        return link

    @property
    def far_link(self) -> FloatArray:
        """Conductance from the last node of each chain to its far end [W/K]."""
        link: FloatArray = self.link[self.start[1:] + np.arange(self.near.size)]
        return link


def join_chains(blocks: Sequence[ChainBlock]) -> Chains:
    """Return the chains of all blocks in the order of the blocks."""
    sizes = [np.full(block.near.size, block.capacity.shape[1]) for block in blocks]
    start = np.concatenate([[0], np.cumsum(_join(sizes, np.int64))])
    return Chains(
        start=start.astype(np.int64),
        near=_join([block.near for block in blocks], np.uint32),
        far=_join([block.far for block in blocks], np.int64),
        link=_join([block.link.ravel() for block in blocks], np.float64),
        capacity=_join([block.capacity.ravel() for block in blocks], np.float64),
    )


def _join(arrays: Sequence[NDArray[Any]], dtype: type) -> NDArray[Any]:
    joined: NDArray[Any] = np.concatenate([np.zeros(0, dtype), *arrays]).astype(dtype)
    return joined


@dataclass(frozen=True, slots=True)
class ChainFactors:
    """The factored tridiagonal matrices of all chains (E nodes)."""

    inverse: FloatArray  # inverse pivots [K/W]
    forward: FloatArray  # what a node takes over from the one before it [-]
    backward: FloatArray  # ... and from the one after it [-]
    near_response: FloatArray  # temperatures when the near end is at one and all else is zero [-]
    far_response: FloatArray


def chain_factors(chains: Chains, storage: FloatArray) -> ChainFactors:
    """Return the factors for a given capacity over time constant of each node [W/K]."""
    factors = ChainFactors(*(np.zeros(storage.size) for _ in range(5)))
    factor_chains(
        chains.start,
        chains.link,
        storage,
        factors.inverse,
        factors.forward,
        factors.backward,
        factors.near_response,
        factors.far_response,
    )
    return factors
