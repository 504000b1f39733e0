"""Every broken case is refused in one clear line: file, line, key, what is wrong, what is allowed.

Each file in ``broken/`` is ``sound.toml`` with one fault. A comment "# refused: key | phrase | ..."
stands on the line that the message must name (or on the line before it), and says what must be in
it.
"""

from collections.abc import Mapping
from pathlib import Path

import pytest

from simulator.case.load import load
from simulator.errors import CaseError

FOLDER = Path(__file__).parent / "broken"
SOUND = Path(__file__).parent / "sound.toml"
BROKEN = sorted(FOLDER.glob("*.toml"))
MARK = "# refused:"


def expectation(path: Path) -> tuple[int, str, list[str]]:
    """Return the line, the key and the phrases that the mark in a broken file asks for."""
    for number, line in enumerate(path.read_text().splitlines(), start=1):
        before, mark, after = line.partition(MARK)
        if mark:
            key, *phrases = (part.strip() for part in after.split("|"))
            return (number if before.strip() else number + 1), key, phrases
    raise AssertionError(f"{path.name} has no mark")


def refusal(path: Path, overrides: Mapping[str, object] | None = None) -> str:
    """Return the message with which a case is refused."""
    with pytest.raises(CaseError) as caught:
        load(path, overrides=overrides)
    return str(caught.value)


def test_the_sound_case_loads() -> None:
    case = load(SOUND)
    assert [room.name for room in case.dwelling.rooms] == ["bedroom", "hall"]


def test_there_are_enough_kinds_of_broken_case() -> None:
    assert len(BROKEN) >= 25


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_a_broken_case_is_refused_in_one_line(path: Path) -> None:
    line, key, phrases = expectation(path)
    message = refusal(path)
    place = f"{path}:{line}: {key}: " if key else f"{path}:{line}: "
    assert message.startswith(place)
    assert "\n" not in message
    assert "Traceback" not in message and "validation error" not in message
    assert len(message) - len(str(path)) < 700
    for phrase in phrases:
        assert phrase in message.removeprefix(place)
    assert phrases
