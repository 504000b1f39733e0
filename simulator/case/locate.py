"""Where each key of a TOML text stands: tomllib reads values but forgets their lines.

The scanner trusts that tomllib has already accepted the text, so it need only know where things
begin and end, not what they mean.
"""

import re
import tomllib
from bisect import bisect_right

#: Keys and list indices from the top of a document to a value.
KeyPath = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}#\n]*")
_STRINGS = (
    re.compile(r'"""(?:[^\\]|\\.)*?"{3,5}', re.DOTALL),
    re.compile(r"'''.*?'{3,5}", re.DOTALL),
    re.compile(r'"(?:[^"\\\n]|\\.)*"'),
    re.compile(r"'[^'\n]*'"),
)


def locate(text: str) -> dict[KeyPath, int]:
    """Return the line (from 1) of every table, key and list entry of a valid TOML text.

    Examples
    --------
    >>> locate('[[fan]]\\nflow = "1 m3/s"\\nat = ["1 m", "2 m"]\\n')["fan", 0, "at", 1]
    3
    """
    return _Scanner(text).lines


def line_of(lines: dict[KeyPath, int], path: KeyPath) -> int:
    """Return the line of a path, or of the nearest thing above it that is in the text."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


class _Scanner:
    """Walks once over the text and notes the line of everything that has a path."""

    def __init__(self, text: str) -> None:
        self.lines: dict[KeyPath, int] = {}
        self._text = text
        self._position = 0
        self._line_starts = [match.end() for match in re.finditer("\n", text)]
        self._list_lengths: dict[KeyPath, int] = {}
        table: KeyPath = ()
        self._skip(_BLANK)
        while self._position < len(text):
            if text[self._position] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip(_BLANK)

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self._text, self._position)
        if match is not None:
            self._position = match.end()

    def _note(self, path: KeyPath) -> None:
        line = bisect_right(self._line_starts, self._position) + 1
        for depth in range(1, len(path) + 1):
            self.lines.setdefault(path[:depth], line)

    def _header(self) -> KeyPath:
        """Read "[a.b]" or "[[a.b]]" and return the path of the table that it opens."""
        is_list = self._text.startswith("[[", self._position)
        start = self._position
        self._position += 2 if is_list else 1
        path = self._inside_lists((), self._keys())
        if is_list:
            index = self._list_lengths.get(path, 0)
            self._list_lengths[path] = index + 1
            path = (*path, index)
        end = self._position + (2 if is_list else 1)
        self._position = start
        self._note(path)
        self._position = end
        return path

    def _inside_lists(self, base: KeyPath, keys: list[str]) -> KeyPath:
        """Return the path of ``keys``, with the last entry's index after every list of tables."""
        path = base
        for key in keys[:-1]:
            path = self._last_entry((*path, key))
        return (*path, keys[-1])

    def _last_entry(self, path: KeyPath) -> KeyPath:
        length = self._list_lengths.get(path)
        return path if length is None else (*path, length - 1)

    def _keys(self) -> list[str]:
        """Read a dotted key."""
        keys = []
        while True:
            self._skip(_SPACE)
            keys.append(self._key())
            self._skip(_SPACE)
            if not self._text.startswith(".", self._position):
                return keys
            self._position += 1

    def _key(self) -> str:
        match = _BARE_KEY.match(self._text, self._position)
        if match is not None:
            self._position = match.end()
            return match.group()
        start = self._position
        self._string()
        quoted = self._text[start : self._position]
        return str(tomllib.loads(f"key = {quoted}")["key"])

    def _string(self) -> None:
        for pattern in _STRINGS:
            match = pattern.match(self._text, self._position)
            if match is not None:
                self._position = match.end()
                return
        raise AssertionError("the text is not valid TOML")

    def _pair(self, table: KeyPath) -> None:
        """Read "key = value"."""
        start = self._position
        path = (*table, *self._keys())
        after, self._position = self._position, start
        self._note(path)
        self._position = after + 1  # the equals sign
        self._skip(_SPACE)
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        opening = self._text[self._position : self._position + 1]
        if opening in ("'", '"'):
            self._string()
        elif opening == "[":
            self._array(path)
        elif opening == "{":
            self._inline_table(path)
        else:
            self._skip(_SCALAR)

    def _array(self, path: KeyPath) -> None:
        self._position += 1
        index = 0
        self._skip(_BLANK)
        while self._text[self._position] != "]":
            self._note((*path, index))
            self._value((*path, index))
            index += 1
            self._skip(_BLANK)
            if self._text[self._position] == ",":
                self._position += 1
                self._skip(_BLANK)
        self._position += 1

    def _inline_table(self, path: KeyPath) -> None:
        self._position += 1
        self._skip(_BLANK)
        while self._text[self._position] != "}":
            self._pair(path)
            self._skip(_BLANK)
            if self._text[self._position] == ",":
                self._position += 1
                self._skip(_BLANK)
        self._position += 1
