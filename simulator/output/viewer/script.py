"""The viewer's JavaScript: as files for a page that is served, as one text for a page alone."""

import re
from importlib import resources

#: In this order each file needs only those before it.
FILES = (
    "badges.js",
    "bodies.js",
    "camera.js",
    "field.js",
    "isosurface.js",
    "paint.js",
    "viewer.js",
    "controls.js",
)

#: What a page uses.
PUBLIC = ("RoomViewer", "ViewerControls", "temperatureText", "timeText", "unpack", "unpackText")

_IMPORT = re.compile(r'^import [^;]*? from "\./[a-z]+\.js";\n', re.MULTILINE)
_EXPORT_LIST = re.compile(r"^export \{[^}]*\};\n", re.MULTILINE)
_EXPORT = re.compile(r"^export (?=async|class|const|function)", re.MULTILINE)


def viewer_files() -> dict[str, bytes]:
    """Return the viewer as ES modules by file name; a page imports ``viewer.js``.

    Serve them from one folder as ``text/javascript``; they import each other by relative address.
    """
    folder = resources.files("simulator.output.viewer")
    return {name: folder.joinpath(name).read_bytes() for name in FILES}


def viewer_script() -> str:
    """Return the whole viewer as one script without imports, to stand in a page without requests.

    It defines ``roomsoakViewer`` with the names of ``PUBLIC``.
    """
    body = "\n".join(without_modules(text.decode()) for text in viewer_files().values())
    public = ", ".join(PUBLIC)
    return (
        f'(() => {{\n"use strict";\n{body}\nglobalThis.roomsoakViewer = {{ {public} }};\n}})();\n'
    )


def without_modules(text: str) -> str:
    """Return a module's text without its imports and exports."""
    return _EXPORT.sub("", _EXPORT_LIST.sub("", _IMPORT.sub("", text)))
