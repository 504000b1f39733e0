"""A folder of results that are found again by what was asked: runs are not made twice."""

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from simulator.case.case import Case
from simulator.case.variants import main_of
from simulator.errors import ResultError
from simulator.output.field_file import Result, current_versions, read_result, run_hash

#: Characters of the hash in a file's name.
SHOWN = 16


@dataclass(frozen=True, slots=True)
class KeptResults:
    """Result files in ``folder``, named by a word and by the hash of case, cells and settings.

    ``settings`` are further facts that change the numbers, such as the name of cheaper flows.
    """

    folder: Path
    settings: Mapping[str, str]

    def hash(self, case: Case, cell_size: float) -> str:
        """Return the hash of the case's texts, the cells [m], the program and the settings."""
        version = current_versions()["roomsoak"]
        whole = run_hash(case.sources, main_of(case), cell_size, version)
        facts = json.dumps([whole, dict(self.settings)], sort_keys=True)
        return hashlib.sha256(facts.encode()).hexdigest()

    def path(self, case: Case, cell_size: float, word: str) -> Path:
        """Return where the result of a case is kept."""
        plain = re.sub(r"[^a-z0-9]+", "_", word.lower()).strip("_")[:40] or "run"
        return self.folder / f"{plain}-{self.hash(case, cell_size)[:SHOWN]}.vtkhdf"

    def find(self, case: Case, cell_size: float, word: str) -> Result | None:
        """Return the result of a case if it is there and whole; a damaged one counts as none."""
        path = self.path(case, cell_size, word)
        if not path.exists():
            return None
        try:
            return read_result(path)
        except ResultError:
            return None
