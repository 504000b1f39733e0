"""The line of every key of a TOML text."""

import tomllib
from collections.abc import Iterator
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.case.locate import KeyPath, line_of, locate

#: The same examples every time, without a clock.
steady = settings(deadline=None, derandomize=True)

TEXT = '''# a comment with [brackets] and = signs
title = "a # ] not the end"   # c
'quoted key'.b = 3
[dwelling]
name = """several
lines "quoted" # and no comment
"""
list = [ "a, ]", # c ]
  {x = 1, y.z = [1,
  2]},
  'lit"'
]
[[dwelling.room]]
name = "first"
[dwelling.room.west]
construction = "w"
[[dwelling.room]]
name = "second"
west = {construction = "q", behind = {t = "1"}}
[[dwelling.room.bed]]
a = 1
[[dwelling.room.bed]]
a.b = 2
e = []
f = {}
d = 1979-05-27 07:32:00
'''


def paths(node: Any, path: KeyPath = ()) -> Iterator[KeyPath]:
    """Yield the path of everything in a parsed document."""
    if path:
        yield path
    children = node.items() if isinstance(node, dict) else ()
    if isinstance(node, list):
        children = enumerate(node)
    for key, value in children:
        yield from paths(value, (*path, key))


def test_keys_are_found_on_their_lines() -> None:
    lines = locate(TEXT)
    assert lines["title",] == 2
    assert lines["quoted key", "b"] == 3
    assert lines["dwelling", "name"] == 5
    assert lines["dwelling", "list", 1, "y", "z", 1] == 10
    assert lines["dwelling", "list", 2] == 11
    assert lines["dwelling", "room", 0, "west", "construction"] == 16
    assert lines["dwelling", "room", 1, "west", "behind", "t"] == 19
    assert lines["dwelling", "room", 1, "bed", 1, "a", "b"] == 23
    assert lines["dwelling", "room", 1, "bed", 1, "d"] == 26


def test_everything_in_a_text_has_a_line() -> None:
    assert set(locate(TEXT)) == set(paths(tomllib.loads(TEXT)))


def test_what_is_missing_takes_the_line_of_its_table() -> None:
    assert line_of(locate(TEXT), ("dwelling", "room", 1, "size", 2)) == 17
    assert line_of({}, ("dwelling",)) == 1


STRINGS = st.text("aZ0 é#[]{}=,.'\"\\\n\t", max_size=8)
KEYS = st.text("abcXYZ019_- .\"'#[]=é", min_size=1, max_size=4)


def written(value: Any) -> str:
    """Return a value in TOML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{quoted(k)} = {written(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[ # a list ]\n" + ",\n".join(written(v) for v in value) + "]"
    return quoted(value) if isinstance(value, str) else str(value).lower()


def quoted(text: str) -> str:
    """Return a text as a basic string of TOML."""
    escaped = "".join(c if c.isalnum() or c in " #[]=,{}'" else f"\\U{ord(c):08x}" for c in text)
    return f'"{escaped}"'


VALUES = st.recursive(
    st.integers() | st.booleans() | STRINGS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=8,
)


@steady
@given(st.dictionaries(KEYS, VALUES, max_size=4))
def test_every_path_of_any_document_is_found(document: dict[str, Any]) -> None:
    lines = [f"{quoted(key)} = {written(value)}" for key, value in document.items()]
    text = "\n".join(lines)
    found = locate(text)
    assert set(found) == set(paths(tomllib.loads(text)))
    number = 1
    for key, line in zip(document, lines, strict=True):
        assert found[key,] == number
        number += line.count("\n") + 1
