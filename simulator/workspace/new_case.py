"""A new dwelling from nothing, and a second case beside one: the texts that they begin with."""

import re
from collections.abc import Mapping
from pathlib import PurePosixPath
from typing import Annotated, Literal

import tomlkit
from pydantic import BaseModel, ConfigDict, Field

from simulator.case.sections import SECTIONS
from simulator.units import System
from simulator.workspace import toml_edit
from simulator.workspace.folder import Folder
from simulator.workspace.open_case import read_texts
from simulator.workspace.operations import Texts

_Text = Annotated[str, Field(min_length=1, max_length=60)]


#: The usual temperatures of a treatment, as they are written.
_PLANS: Mapping[System, Mapping[str, str]] = {
    "si": {"target": "55 degC", "thermostat": "60 degC", "air_limit": "63 degC"},
    "us": {"target": "131 degF", "thermostat": "140 degF", "air_limit": "145 degF"},
}


class NewDwelling(BaseModel):
    """What is asked for before anything can be drawn: one room and what lies around it."""

    model_config = ConfigDict(extra="forbid")

    title: Annotated[str, Field(min_length=1, max_length=200)]
    room: _Text = "bedroom"
    size: tuple[_Text, _Text, _Text] = ("4 m", "3.5 m", "2.5 m")
    start: _Text = "20 degC"
    outdoors: _Text = "10 degC"
    walls: _Text = "frame_wall"
    walls_behind: Literal["outdoors", "mirror"] = "outdoors"
    floor: _Text = "carpeted_wood_floor"
    floor_behind: Literal["outdoors", "ground", "mirror"] = "mirror"
    ceiling: _Text = "attic_ceiling"
    ceiling_behind: Literal["outdoors", "mirror"] = "outdoors"


def new_texts(asked: NewDwelling, main: str, units: System = "si") -> Texts:
    """Return the texts of a case with one empty room; its dwelling has a file of its own."""
    stem = PurePosixPath(main).stem
    dwelling = f"{stem}_dwelling.toml"
    case = tomlkit.document()
    case.add(tomlkit.comment("Drawn on the desk."))
    case["title"] = asked.title
    case["dwelling"] = dwelling
    case["preparation"] = {"name": "as found"}
    case["layout"] = {"name": "first layout"}
    case["treatment"] = {**_PLANS[units], "horizon": "6 h"}
    home = tomlkit.document()
    home.add(tomlkit.comment("Drawn on the desk."))
    home["name"] = asked.title[:60]
    home["start"] = asked.start
    home["outdoors"] = {"temperature": asked.outdoors}
    sides = {
        "walls": (asked.walls, asked.walls_behind),
        "floor": (asked.floor, asked.floor_behind),
        "ceiling": (asked.ceiling, asked.ceiling_behind),
    }
    home["shell"] = {
        side: toml_edit.Writer(is_toml=True).value({"construction": made_of, "behind": behind})
        for side, (made_of, behind) in sides.items()
    }
    rooms = tomlkit.aot()
    room = tomlkit.table()
    room["name"] = asked.room
    room["size"] = list(asked.size)
    rooms.append(room)
    home["room"] = rooms
    return {main: tomlkit.dumps(case), dwelling: tomlkit.dumps(home)}


def copied_texts(folder: Folder, main: str, title: str, layout: str = "") -> tuple[str, Texts]:
    """Return name and texts of a second case on the same dwelling.

    Its preparation and its layout are copies of their own; the dwelling stays shared, so that the
    two can be compared. ``layout`` names a layout file whose text is used instead.
    """
    texts = read_texts(folder, main)
    target = folder.free_name(stem_of(title), ".toml")
    text = toml_edit.edited(texts[main], toml_edit.set_value(("title",), title))
    copied: Texts = {}
    if layout:
        name = folder.free_name(f"{PurePosixPath(target).stem}_layout", ".toml")
        copied[name] = folder.read(layout)
        text = toml_edit.edited(text, toml_edit.set_value(("layout",), name))
    for section in SECTIONS[1:] if not layout else ("preparation", "treatment"):
        value = tomlkit.parse(text).get(section)
        if isinstance(value, str):
            source = (PurePosixPath(main).parent / value).as_posix()
            # Beside its original: what a copy names, such as a mesh, is found from its own folder.
            beside = PurePosixPath(source).parent / f"{PurePosixPath(target).stem}_{section}"
            name = folder.free_name(beside.as_posix(), ".toml")
            copied[name] = texts[str(PurePosixPath(source))]
            text = toml_edit.edited(text, toml_edit.set_value((section,), name))
    dwelling = tomlkit.parse(text).get("dwelling")
    if isinstance(dwelling, str):
        shared = (PurePosixPath(main).parent / dwelling).as_posix()
        text = toml_edit.edited(text, toml_edit.set_value(("dwelling",), shared))
    return target, {target: text, **copied}


def stem_of(title: str) -> str:
    """Return a file's stem for a title: plain letters, digits and underscores."""
    stem = re.sub(r"[^a-z0-9]+", "_", title.lower()).strip("_")[:60]
    return stem or "case"
