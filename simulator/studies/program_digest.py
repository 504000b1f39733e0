"""What a run's figures follow from beside its case: the modules that make it, as one hash.

Rows of studies, logs of searches and bases are kept for weeks and outlive the code that made them.
They are known by the text of every module that their maker needs, so that none is taken for the
work of newer code, and editing what they do not need costs no run.
"""

import hashlib
import re
from functools import cache
from pathlib import Path

import simulator

_PACKAGE = Path(simulator.__file__).parent

#: Every import of a module of the package, also one inside a function.
_IMPORT = re.compile(
    r"^[ \t]*(?:from[ \t]+(simulator[\w.]*)[ \t]+import[ \t]+(\([^)]*\)|[^\n#]+)"
    r"|import[ \t]+(simulator[\w.]*))",
    re.MULTILINE,
)


@cache
def program_digest(*makers: str) -> str:
    """Return a hash of some modules and of all modules of the package that these need.

    Parameters
    ----------
    makers : dotted names, as ``simulator.simulation``.

    >>> program_digest("simulator.units") == program_digest("simulator.units")
    True
    """
    digest = hashlib.sha256()
    for name, path in sorted(modules_needed(*makers).items()):
        digest.update(name.encode() + path.read_bytes())
    return digest.hexdigest()[:12]


def modules_needed(*makers: str) -> dict[str, Path]:
    """Return the files of some modules and of all that they import, one through the other.

    Raises
    ------
    ModuleNotFoundError
        If there is no such module.
    """
    found: dict[str, Path] = {}
    waiting = list(makers)
    while waiting:
        name = waiting.pop()
        path = _file_of(name)
        if path is None:
            raise ModuleNotFoundError(f"no module {name}")
        if name not in found:
            found[name] = path
            waiting += [other for other in _imports(path) if _file_of(other) is not None]
    return found


def _imports(path: Path) -> set[str]:
    """Return what may be the names of modules that a module imports."""
    names: set[str] = set()
    for source, things, whole in _IMPORT.findall(path.read_text(encoding="utf-8")):
        names |= {whole or source}
        names |= {f"{source}.{thing}" for thing in re.findall(r"\w+", things) if source}
    return names


def _file_of(name: str) -> Path | None:
    """Return the file of a module of the package, or None if there is no such module."""
    parts = name.split(".")[1:]
    module = _PACKAGE.joinpath(*parts)
    for path in (module.with_suffix(".py"), module / "__init__.py"):
        if parts and path.is_file():
            return path
    return None
