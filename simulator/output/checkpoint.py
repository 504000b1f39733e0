"""The checkpoint: the state of a run, written so that a crash at any moment leaves a whole file.

A checkpoint is one npz: named arrays plus a JSON text. It is written beside its place, forced to
the disk and then renamed over the old one, so a reader sees either the old or the new file, never a
part. The hash of its case is stored with it, and no other case can be resumed from it.
"""

import json
import zipfile
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simulator.errors import ResultError, reason_of
from simulator.output.whole_file import whole_file

_META = "meta_json"


def save_checkpoint(
    path: Path, arrays: Mapping[str, NDArray[Any]], meta: Mapping[str, Any]
) -> None:
    """Replace the checkpoint at ``path`` in one step.

    Parameters
    ----------
    path : where the checkpoint lies; its folder must exist.
    arrays : the state by name; plain numbers, booleans or text, no objects.
    meta : JSON-safe facts; ``meta["hash"]`` must name the case (see ``field_file.run_hash``).
    """
    if "hash" not in meta:
        raise ValueError("a checkpoint needs the hash of its case")
    if _META in arrays:
        raise ValueError(f"{_META} is a reserved name")
    named: dict[str, Any] = {_META: np.array(json.dumps(meta)), **arrays}
    if any(array.dtype.hasobject for array in arrays.values()):
        raise ValueError("a checkpoint holds numbers, booleans and text, no objects")
    try:
        with whole_file(path, is_forced=True) as unfinished, unfinished.open("wb") as file:
            np.savez(file, **named)
    except OSError as error:
        raise ResultError(
            f"{path}: the checkpoint cannot be written ({reason_of(error)})"
        ) from error


def load_checkpoint(
    path: Path, expected_hash: str
) -> tuple[dict[str, NDArray[Any]], dict[str, Any]]:
    """Return the arrays and the facts of the checkpoint, or raise ``ResultError`` in one line."""
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as data:
            arrays = {name: data[name] for name in data.files}
        meta = json.loads(str(arrays.pop(_META)))
        found = meta["hash"]
    except FileNotFoundError as error:
        raise ResultError(f"{path}: no such checkpoint") from error
    except (
        OSError,
        EOFError,
        ValueError,
        KeyError,
        TypeError,
        zipfile.BadZipFile,
        zlib.error,
    ) as error:
        raise ResultError(f"{path}: not a whole checkpoint ({reason_of(error)})") from error
    if found != expected_hash:
        raise ResultError(
            f"{path}: the checkpoint is of another case, cell size or version; "
            "start without resuming, or remove it"
        )
    return arrays, meta
