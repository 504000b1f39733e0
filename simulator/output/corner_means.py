"""Temperatures of cells carried to their corners, so that a sheet of them is drawn smooth."""

import numpy as np

from simulator.grid.grid import FloatArray


def means_at_corners(cells: FloatArray) -> FloatArray:
    """Return the means (n+1, m+1) of the known cells (n, m) around each corner; nan: none is."""
    padded = np.pad(cells, 1, constant_values=np.nan)
    around = np.stack([padded[:-1, :-1], padded[1:, :-1], padded[:-1, 1:], padded[1:, 1:]])
    known = np.isfinite(around)
    total = np.where(known, around, 0.0).sum(axis=0)
    return np.where(known.any(axis=0), total / np.maximum(known.sum(axis=0), 1), np.nan)
