"""The same case with some values changed: what studies try instead of what was described.

>>> from pathlib import Path
>>> from simulator.case.load import load
>>> case = load(Path("geometries/bedroom_as_found.toml"))
>>> case.treatment.horizon, varied(case, {"treatment.horizon": "2 h"}).treatment.horizon
(21600.0, 7200.0)
"""

from collections.abc import Mapping, Sequence
from typing import Any

from simulator.case.case import Case
from simulator.case.changes import changed_texts
from simulator.case.load import load_texts


def main_of(case: Case) -> str:
    """Return the name of the case file among ``case.sources``: they hold it first."""
    return next(iter(case.sources))


def varied(case: Case, values: Mapping[str, Any], *, remove: Sequence[str] = ()) -> Case:
    """Return the case with other values, made anew from its texts.

    Parameters
    ----------
    values : dotted key -> value, as for ``load(overrides=...)``, but within the sections:
        ``{"dwelling.furniture.bed.mattress": "on_edge"}``. A list is replaced as a whole.
    remove : names of furniture to take out.

    Raises
    ------
    CaseError
        A key is not known, a value is not allowed, or things would overlap.
    """
    main = main_of(case)
    return load_texts(changed_texts(case.sources, main, values, remove), main)
