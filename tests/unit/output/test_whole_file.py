"""A file is whole or as it was, and nothing is left beside it."""

from pathlib import Path

import pytest

from simulator.output.whole_file import whole_file


@pytest.mark.parametrize("is_forced", [False, True])
@pytest.mark.parametrize("part", ["", ".named"])
def test_the_file_appears_with_the_end_of_the_block(
    tmp_path: Path, is_forced: bool, part: str
) -> None:
    path = tmp_path / "file"
    with whole_file(path, part=part, is_forced=is_forced) as unfinished:
        unfinished.write_text("new")
        assert not path.exists()
        assert not part or unfinished.name == part
    assert path.read_text() == "new"
    assert list(tmp_path.iterdir()) == [path]


def test_a_block_that_fails_leaves_the_old_file_alone(tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.write_text("old")
    with pytest.raises(KeyboardInterrupt), whole_file(path) as unfinished:
        unfinished.write_text("half")
        raise KeyboardInterrupt
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]
