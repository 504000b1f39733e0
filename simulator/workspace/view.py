"""An open case as the page sees it: what is written in it, the plan, and what is wrong."""

import tomllib
from typing import Any

from simulator.workspace.folder import Folder
from simulator.workspace.open_case import OpenCase, references
from simulator.workspace.operations import holder_of, section_of
from simulator.workspace.plan import drawing, laid_out

#: The sections whose values the forms show.
_SECTIONS = ("dwelling", "preparation", "layout", "treatment")


def case_view(case: OpenCase) -> dict[str, Any]:
    """Return a case as plain JSON; ``plan`` is null while it does not load."""
    shown: dict[str, Any] = {
        "name": case.main,
        "revision": case.revision,
        "can_undo": case.can_undo,
        "can_redo": case.can_redo,
        "problems": case.problems,
        "files": [
            {"name": name, "shared_with": sharers(case.folder, name, case.main), "text": text}
            for name, text in case.texts.items()
        ],
        "title": "",
        "holders": None,
        "data": None,
        "plan": None,
        "furniture": [],
    }
    try:
        data = {name: section_of(case.texts, case.main, name) for name in _SECTIONS}
        shown["title"] = tomllib.loads(case.texts[case.main]).get("title", "")
    except (tomllib.TOMLDecodeError, KeyError):
        return shown
    shown["data"] = data
    shown["holders"] = {name: holder_of(case.texts, case.main, name)[0] for name in _SECTIONS}
    if case.case is not None:
        layout = laid_out(case.whole, case.main, case.case.dwelling)
        shown["plan"] = drawing(case.case, layout)
        brought = [row.get("name") for row in data["preparation"].get("furniture", [])]
        changes = data["preparation"].get("change", {})
        shown["furniture"] = [
            {
                "data": dict(table.data),
                "changed": sorted(changes.get(table.data.get("name"), {})),
                "is_brought": table.data.get("name") in brought,
            }
            for table in layout.tables
        ]
    return shown


def sharers(folder: Folder, name: str, main: str) -> list[str]:
    """Return the other cases of the folder that use a file."""
    if name == main:
        return []
    found = []
    for other in folder.files("*.toml"):
        if other not in (main, name) and name in _references(folder, other):
            found.append(other)
    return found


def _references(folder: Folder, name: str) -> list[str]:
    try:
        return references(folder.path(name).read_text("utf-8"), name)
    except (OSError, UnicodeDecodeError):
        return []


def cases_in(folder: Folder) -> list[dict[str, str]]:
    """Return name and title of every case file of a folder."""
    found = []
    for name in folder.files("*.toml"):
        try:
            data = tomllib.loads(folder.path(name).read_text("utf-8"))
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
            continue
        if "dwelling" in data and isinstance(data.get("title"), str):
            found.append({"name": name, "title": data["title"]})
    return found
