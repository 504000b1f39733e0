"""What a search has run so far, on disk: one line a run, so that nothing done is done again.

A line is written, flushed and forced to disk as soon as its run is done. A process that is killed
loses only what it was running; a last line that was cut off is passed over.
"""

import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import IO, Any

from simulator.errors import ResultError


class TrialLog:
    """Records by key; with no path they are kept in memory alone.

    >>> log = TrialLog(None)
    >>> log.keep("a", {"x": 1.0})
    >>> log.known("a"), log.known("b")
    ({'x': 1.0}, None)
    """

    def __init__(self, path: Path | None) -> None:
        self._records: dict[str, Mapping[str, Any]] = {}
        self._file: IO[str] | None = None
        if path is None:
            return
        is_ragged = False
        if path.exists():
            is_ragged = self._read(path)
        try:
            self._file = path.open("a", encoding="utf-8")
        except OSError as error:
            raise ResultError(f"{path}: cannot be written: {error.strerror}") from None
        if is_ragged:
            self._write("\n")

    def __len__(self) -> int:
        return len(self._records)

    def known(self, key: str) -> Mapping[str, Any] | None:
        """Return the record of a run that was done before, or None."""
        return self._records.get(key)

    def keep(self, key: str, record: Mapping[str, Any]) -> None:
        """Keep the record of a run."""
        self._records[key] = record
        line = json.dumps({"key": key, "run": record}, ensure_ascii=False, allow_nan=False)
        self._write(line + "\n")

    def close(self) -> None:
        """Close the file."""
        if self._file is not None:
            self._file.close()
            self._file = None

    def _write(self, text: str) -> None:
        if self._file is not None:
            self._file.write(text)
            self._file.flush()
            os.fsync(self._file.fileno())

    def _read(self, path: Path) -> bool:
        """Read the lines that are whole; return whether the last one is not ended."""
        try:
            text = path.read_text(encoding="utf-8", errors="replace")
        except OSError as error:
            raise ResultError(f"{path}: cannot be read: {error.strerror}") from None
        lines = text.split("\n")
        broken = 0
        for line in lines:
            try:
                entry = json.loads(line) if line else None
                if entry is not None:
                    self._records[entry["key"]] = entry["run"]
            except (ValueError, TypeError, KeyError):
                broken += 1
        if broken and not self._records:
            raise ResultError(f"{path}: is no log of a search; name another file or remove it")
        return bool(lines[-1])


def key_of(*parts: object) -> str:
    """Return a key that differs if any part's text does."""
    text = "\x00".join(repr(part) for part in parts)
    return hashlib.sha256(text.encode()).hexdigest()[:32]
