"""Files that are there already are replaced only if that is asked for."""

from collections.abc import Iterable
from pathlib import Path

from simulator.errors import ResultError


def refuse_to_overwrite(paths: Iterable[Path], *, force: bool = False) -> None:
    """Refuse the first of the paths that exists, unless ``force``.

    Raises
    ------
    ResultError
        One line that names the path and ``--force``.
    """
    for path in paths:
        if path.exists() and not force:
            raise ResultError(f"{path}: exists already; give --force to replace it")
