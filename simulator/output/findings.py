"""Findings of studies, appended by name to a finished result file as JSON text."""

import json
from pathlib import Path
from typing import Any

import h5py

from simulator.assessment.summary import plain
from simulator.errors import ResultError, reason_of

_GROUP = "roomsoak/findings"


def append_findings(path: Path, name: str, findings: Any) -> None:
    """Write what a study found into a result file; findings of the same name are replaced.

    Parameters
    ----------
    path : a finished result file.
    name : of the study, such as "grid_error".
    findings : a dataclass or a mapping of plain values; nan becomes null.

    Raises
    ------
    ResultError
        One line, if the file cannot be written.
    """
    text = json.dumps(plain(findings), ensure_ascii=False, allow_nan=False)
    try:
        with h5py.File(path, "r+") as file:
            group = file.require_group(_GROUP)
            if name in group:
                del group[name]
            group.create_dataset(name, data=text, dtype=h5py.string_dtype())
    except OSError as error:
        raise ResultError(f"{path}: findings cannot be written ({reason_of(error)})") from error


def findings_in(file: h5py.File) -> dict[str, Any]:
    """Return the findings in an open result file: name of the study -> its table."""
    group = file.get(_GROUP)
    if group is None:
        return {}
    return {name: json.loads(data.asstr()[()]) for name, data in group.items()}
