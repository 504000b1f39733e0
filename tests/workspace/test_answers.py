"""What the desk tells of a result, in the units of its page."""

from pathlib import Path

import numpy as np

from simulator.case.load import load
from simulator.grid.voxelise import voxelise
from simulator.output.field_file import write_result
from simulator.output.findings import append_findings
from simulator.studies import grid_error
from simulator.workspace.answers import answer
from tests.runs import hand_history

SOUND = Path(__file__).parents[1] / "contracts" / "sound.toml"


def test_the_error_of_the_cells_is_told_in_the_units_of_the_page(tmp_path: Path) -> None:
    case = load(SOUND)
    grid = voxelise(case, 0.2)
    time = np.linspace(0.0, 6 * 3600.0, 25)
    course = np.tile(20.0 + time[:, None] / 800.0, (1, grid.refuges.index.size))
    path = tmp_path / "sound.vtkhdf"
    write_result(path, case, 0.2, grid, hand_history(case, grid, time, course), main=SOUND.name)
    assert "is not estimated" in answer(path, "us")["notes"][0]
    found = grid_error.GridError(0.1, 0.2, 1.0, 3.0, (), 40, 1.0, 5.0, 0.1, 2)
    append_findings(path, grid_error.NAME, found)
    for units, told in (("si", "20.0 cm: half"), ("us", "7.87 in: half")):
        assert told in answer(path, units)["notes"][0]  # type: ignore[arg-type]
    assert "within 1.8 °F of this run, nine of ten within 9.0 °F" in answer(path, "us")["notes"][0]
