"""The checkpoint of a run beside its result file."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from simulator.output.checkpoint import load_checkpoint, save_checkpoint


@dataclass(frozen=True, slots=True)
class CheckpointFile:
    """Keeps the state of one run, of the case and cell size that ``hash`` stands for, in a file."""

    path: Path
    hash: str

    def save(self, arrays: Mapping[str, NDArray[Any]], meta: Mapping[str, Any]) -> None:
        """Replace what is kept."""
        save_checkpoint(self.path, arrays, {**meta, "hash": self.hash})

    def load(self) -> tuple[dict[str, NDArray[Any]], dict[str, Any]] | None:
        """Return what is kept, or None if there is nothing yet."""
        if not self.path.exists():
            return None
        return load_checkpoint(self.path, self.hash)

    def remove(self) -> None:
        """Remove it after the run is done."""
        self.path.unlink(missing_ok=True)

    @property
    def where(self) -> str:
        """Its name, for messages."""
        return str(self.path)
