"""Shapley values: what each of several causes contributes to what they bring about together.

A cause's value is its marginal worth averaged over all orders in which the causes may join. The
values add up to the worth of all of them together, and a cause that never changes anything has
none (Shapley 1953, A value for n-person games, Annals of Mathematics Studies 28:307).
"""

from math import factorial

import numpy as np

from simulator.grid.grid import FloatArray


def shapley_values(worth: FloatArray) -> FloatArray:
    """Return the value of each of n players.

    Parameters
    ----------
    worth : of every coalition (2**n,), a coalition being a number whose bit i says whether player i
        is in it; that of nobody need not be zero.

    Examples
    --------
    A left and two right gloves: a pair is worth one. The left one is worth two thirds.

    >>> pairs = np.array([0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0])  # bit 0: the left one
    >>> [round(float(value), 3) for value in shapley_values(pairs)]
    [0.667, 0.167, 0.167]
    """
    players = int(worth.size).bit_length() - 1
    if worth.size != 1 << players:
        raise ValueError(f"{worth.size} coalitions are not those of a whole number of players")
    coalition = np.arange(worth.size)
    members = np.array([number.bit_count() for number in range(worth.size)])
    weight = np.array(
        [
            factorial(m) * factorial(players - m - 1) / factorial(players) if m < players else 0.0
            for m in members.tolist()
        ]
    )
    values = np.zeros(players)
    for player in range(players):
        without = coalition[coalition & (1 << player) == 0]
        gain = worth[without | (1 << player)] - worth[without]
        values[player] = weight[without] @ gain
    return values
