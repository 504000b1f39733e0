"""Every broken case is refused in one clear line: file, line, key, what is wrong, what is allowed.

Each file in ``broken/`` is ``sound.toml`` with one fault. A comment "# refused: key | phrase | ..."
stands on the line that the message must name (or on the line before it), and says what must be in
it.
"""

from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.case.load import load, load_texts
from simulator.case.size import check_size
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


def test_a_missing_case_is_refused(tmp_path: Path) -> None:
    message = refusal(tmp_path / "none.toml")
    assert message == f"{tmp_path}/none.toml does not exist; give the path of a TOML file"


def test_a_folder_is_no_case(tmp_path: Path) -> None:
    assert "is a folder" in refusal(tmp_path)


def test_text_that_is_not_utf8_is_refused_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(b'title = "x"\n# caf\xe9\n')
    assert refusal(path).startswith(f"{path}:2: not UTF-8 text (byte 0xe9); save the file as UTF-8")


def test_an_enormous_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(b"#" * 3_000_000)
    assert "3,000,000 bytes; at most 2,000,000" in refusal(path)


@pytest.mark.parametrize(
    ("reference", "phrase"),
    [('"\\u0000"', "cannot be read"), ('"."', "is a folder"), ("7", "not 7"), ("[]", "not a list")],
)
def test_a_section_that_is_neither_table_nor_file_is_refused(
    tmp_path: Path, reference: str, phrase: str
) -> None:
    path = tmp_path / "case.toml"
    path.write_text(f'title = "x"\ndwelling = {reference}\n')
    message = refusal(path)
    assert message.startswith(f"{path}:2: dwelling: ")
    assert phrase in message


def test_text_for_a_list_of_furniture_is_refused() -> None:
    text = SOUND.read_text().split("[[dwelling.furniture]]")[0]
    text = text.replace("[dwelling]", '[dwelling]\nfurniture = "bed"', 1)
    with pytest.raises(CaseError, match=r"a:4: dwelling\.furniture: expected a list of tables"):
        load_texts({"a": text}, "a")


def test_several_faults_are_told_together_and_many_are_counted() -> None:
    text = SOUND.read_text().replace(" m", " kg").replace(" degC", " h")
    with pytest.raises(CaseError) as caught:
        load_texts({"a": text}, "a")
    lines = str(caught.value).splitlines()
    assert len(lines) == 6
    assert all(line.startswith("a:") for line in lines[:5])
    assert lines[5].startswith("... and ") and lines[5].endswith(" more problems")


def test_a_sixth_fault_is_told_and_not_counted() -> None:
    text = SOUND.read_text()
    for wrong in ("target", "air_limit", "thermostat", "band", "horizon", "name"):
        text += f'{wrong}_of_it = "1 m"\n'
    with pytest.raises(CaseError) as caught:
        load_texts({"a": text}, "a")
    lines = str(caught.value).splitlines()
    assert len(lines) == 6
    assert "name_of_it" in lines[5]
    assert "more problem" not in str(caught.value)


def test_deep_nesting_is_refused() -> None:
    with pytest.raises(CaseError, match="nested too deep"):
        load_texts({"a": "x = " + "[" * 100_000}, "a")


def test_a_billion_cells_are_refused() -> None:
    with pytest.raises(CaseError, match=r"cells; at most 5,000,000 are allowed; a cell of .* fits"):
        check_size(load(SOUND), 0.0037)


TEXT = SOUND.read_text()
PIECES = ["", '"', "[", "]", "{", "}", "=", "#", "\n", "-", "1e99", "nan", "0", "true", "é", "\x00"]


@settings(deadline=None, derandomize=True, max_examples=300)
@given(
    start=st.integers(0, len(TEXT)),
    length=st.integers(0, 40),
    piece=st.sampled_from(PIECES) | st.sampled_from(TEXT.splitlines()),
)
def test_whatever_is_mistyped_it_loads_or_is_refused_clearly(
    start: int, length: int, piece: str
) -> None:
    text = TEXT[:start] + piece + TEXT[start + length :]
    try:
        load_texts({"a.toml": text}, "a.toml")
    except CaseError as error:
        for line in str(error).splitlines():
            assert line.startswith(("a.toml:", "... and "))


LINES = TEXT.splitlines()
VALUES = [
    "3",
    "-1",
    "1e308",
    "nan",
    "true",
    "1979-05-27",
    "[]",
    "{}",
    "[[]]",
    "[1, 2]",
    "{a = 1}",
    "[{}]",
    '""',
    '"x"',
    '"\\n"',
    '"nan m"',
    '"1e400 m"',
    '"-1 m"',
    '"0 m"',
    '"1e300 m"',
    '"1e-300 m"',
    '"50 m"',
    '["0 m"]',
    '["a", "a"]',
    '{name = "x"}',
    '[{name = "x"}]',
]


@settings(deadline=None, derandomize=True, max_examples=300)
@given(
    number=st.sampled_from([i for i, line in enumerate(LINES) if "=" in line]),
    value=st.sampled_from(VALUES),
)
def test_whatever_value_a_key_has_it_loads_or_is_refused_clearly(number: int, value: str) -> None:
    changed = [*LINES]
    changed[number] = f"{LINES[number].split('=')[0]}= {value}"
    try:
        load_texts({"a.toml": "\n".join(changed)}, "a.toml")
    except CaseError as error:
        for line in str(error).splitlines():
            assert line.startswith(("a.toml:", "... and "))
