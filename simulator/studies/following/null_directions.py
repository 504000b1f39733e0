"""What a log cannot tell: directions of the unknowns along which the readings stay the same."""

from collections.abc import Sequence

import numpy as np

from simulator.grid.grid import FloatArray

#: A direction is not told by the log if its spread stays above this share of that believed before.
NOT_TOLD = 0.85

#: An unknown belongs to a direction's name if it makes up this much of it [-].
NAMED = 0.35


def null_directions(
    covariance: FloatArray, believed: FloatArray, words: Sequence[str]
) -> tuple[str, ...]:
    """Return in words the directions along which a log leaves the unknowns as they were.

    They are eigenvectors of the covariance in units of what was believed before: an eigenvalue of
    one is a direction of which nothing was learnt.

    Parameters
    ----------
    covariance : of the unknowns after the log, shape (D, D).
    believed : their spreads before it, shape (D,).
    words : what each is called.
    """
    sizes, directions = np.linalg.eigh(covariance / np.outer(believed, believed))
    found = []
    for size, direction in zip(np.sqrt(np.maximum(sizes, 0.0)), directions.T, strict=True):
        if size > NOT_TOLD:
            strong = np.flatnonzero(np.abs(direction) >= NAMED)
            strong = strong[np.argsort(-np.abs(direction[strong]), kind="stable")]
            found.append(_in_words(direction, strong.tolist(), words))
    return tuple(found)


def _in_words(direction: FloatArray, strong: Sequence[int], words: Sequence[str]) -> str:
    """Return one unknown that is not told, or several that stand in for each other."""
    if len(strong) == 1:
        return f"{words[strong[0]]}: the log does not tell it"
    lead = direction[strong[0]]
    others = [
        f"{'more' if direction[index] * lead > 0.0 else 'less'} of '{words[index]}'"
        for index in strong[1:]
    ]
    return (
        f"more of '{words[strong[0]]}' with {' and '.join(others)}: the readings would be the same"
    )
