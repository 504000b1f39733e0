"""Rows as they come, kept so that nothing done is lost or done again.

One line of JSON a row, appended in a single write and synced to the disk: a process that is killed
leaves at most its last line torn, which readers pass over. Every ``*.jsonl`` of the folder is read,
so the parts of a study that ran elsewhere are merged by copying or concatenating files.
"""

import json
import os
from collections.abc import Iterable
from pathlib import Path

from simulator.errors import ResultError
from simulator.studies.campaign.job import Row


class Store:
    """The rows of a study in a folder; this process appends to one file of it.

    Parameters
    ----------
    folder : made if it is not there.
    part : name of the file to append to, without its ending.
    """

    def __init__(self, folder: Path, part: str = "runs") -> None:
        if folder.exists() and not folder.is_dir():
            raise ResultError(f"{folder}: is a file; give a folder for the rows of the study")
        folder.mkdir(parents=True, exist_ok=True)
        self.folder = folder
        self._path = folder / f"{part}.jsonl"

    def rows(self) -> dict[str, Row]:
        """Return all rows by their key, the same whatever their order in the files.

        Of rows with one key the one that worked counts, and of several such the first by text: a
        run that was made twice gives the same figures.
        """
        found: dict[str, tuple[bool, str]] = {}
        for path in sorted(self.folder.glob("*.jsonl")):
            for line in path.read_text(encoding="utf-8", errors="replace").splitlines():
                row = _row(line)
                if row is None:
                    continue
                rank = (bool(row["error"]), line)
                found[row["key"]] = min(found.get(row["key"], rank), rank)
        return {key: json.loads(line) for key, (_, line) in sorted(found.items())}

    def add(self, rows: Iterable[Row]) -> None:
        """Append rows and sync them to the disk."""
        lines = [json.dumps(row, ensure_ascii=False, sort_keys=True) + "\n" for row in rows]
        handle = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o644)
        try:
            size = os.fstat(handle).st_size
            if size and os.pread(handle, 1, size - 1) != b"\n":
                os.write(handle, b"\n")  # ends a line that was torn
            os.write(handle, "".join(lines).encode())
            os.fsync(handle)
        finally:
            os.close(handle)


def _row(line: str) -> Row | None:
    """Return the row of a line, or None if the line is torn."""
    try:
        row = json.loads(line)
    except json.JSONDecodeError:
        return None
    return row if isinstance(row, dict) and "key" in row and "error" in row else None
