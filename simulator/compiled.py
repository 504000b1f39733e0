"""The two numba decorators of the project, so that every kernel is compiled with the same options.

``error_model="numpy"`` lets a division by zero become inf, which the one finite check a step
catches; with the default a threaded loop would silently return zeros. ``fastmath`` is never used.
"""

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def cell_loop(function: F) -> F:
    """Return ``function`` compiled as a loop over cells, faces or rows (one thread, cached)."""
    return cast(F, numba.njit(cache=True, error_model="numpy", nogil=True)(function))


def per_face(function: F) -> F:
    """Return ``function`` compiled as a formula that is inlined into the loop that calls it."""
    return cast(F, numba.njit(inline="always", error_model="numpy")(function))
