"""Files that furniture is drawn from, such as meshes: carried as text beside the case's own texts.

So a result, which keeps the texts of its case, can be drawn again without the files.
"""

import base64
import posixpath
import zlib
from collections.abc import Iterator, Mapping, MutableMapping, Sequence
from pathlib import Path
from typing import Any

from simulator.case.documents import Spot, parse
from simulator.case.furniture.mesh import Mesh
from simulator.case.furniture.placement import Furniture
from simulator.case.sections import label_of, source_name
from simulator.errors import CaseError

#: More than a skin of half a million triangles needs, as text or not [bytes].
LARGEST_ATTACHED = 64_000_000

_MARK = "zlib, base64: "


def read_attached(sources: Mapping[str, str], folder: str) -> dict[str, str]:
    """Return the files that the tables in TOML texts name, as texts; what cannot be read is left.

    Parameters
    ----------
    sources : file name -> TOML text; names are relative to ``folder``.
    """
    found: dict[str, str] = {}
    for source, text in sources.items():
        for file in _named(parse(label_of(folder, source), text).data):
            name = source_name(source, file)
            try:
                path = Path(folder) / name
                if name in found or path.stat().st_size > LARGEST_ATTACHED:
                    continue
                found[name] = as_text(path.read_bytes())
            except (OSError, ValueError):
                continue
    return found


def as_text(content: bytes) -> str:
    """Return the content of a file as one line of text."""
    return _MARK + base64.b64encode(zlib.compress(content, 3)).decode("ascii")


def as_content(text: str) -> bytes:
    """Return the content that a text stands for.

    Raises
    ------
    CaseError
        One line, if the text is no such content.
    """
    try:
        if not text.startswith(_MARK):
            raise ValueError("no mark")
        return zlib.decompress(base64.b64decode(text.removeprefix(_MARK), validate=True))
    except (ValueError, zlib.error) as error:
        raise CaseError(f"the text of an attached file is damaged ({error})") from None


def supply(
    furniture: Sequence[tuple[Furniture, Spot]],
    sources: Mapping[str, str],
    folder: str,
    used: MutableMapping[str, str],
) -> list[tuple[Furniture, Spot]]:
    """Return the furniture with the content of the files that it names; missing ones are noted.

    ``used`` takes the texts of those files.
    """
    supplied: list[tuple[Furniture, Spot]] = []
    for entry, spot in furniture:
        if not isinstance(entry, Mesh):
            supplied.append((entry, spot))
            continue
        beside = spot.table.document_of("file").label
        label = posixpath.normpath(posixpath.join(posixpath.dirname(beside), entry.file))
        name = next((name for name in sources if label_of(folder, name) == label), None)
        if name is None:
            limit = LARGEST_ATTACHED // 1_000_000
            spot.at("file").refuse(
                f"no readable file '{entry.file}' of at most {limit} MB; "
                f"give its path from the folder of '{beside}'"
            )
            continue
        used[name] = sources[name]
        try:
            supplied.append((entry.supplied(as_content(sources[name])), spot))
        except CaseError as error:
            spot.at("file").refuse(str(error))
    return supplied


def _named(node: Any) -> Iterator[str]:
    """Return the values of all keys 'file' in a tree of tables and lists."""
    if isinstance(node, dict):
        for key, value in node.items():
            if key == "file" and isinstance(value, str):
                yield value
            yield from _named(value)
    elif isinstance(node, list):
        for value in node:
            yield from _named(value)
