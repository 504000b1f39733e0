"""Building models made here with ifcopenshell, read back into dwellings that load and check."""

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from simulator.case.case import Case
from simulator.case.ifc_import import read_building
from simulator.case.load import load
from simulator.cli.program import roomsoak
from simulator.errors import CaseError, RoomsoakError

ifcopenshell = pytest.importorskip(
    "ifcopenshell", reason="building models need the extra: pip install 'roomsoak[ifc]'"
)

CASE = """
title = "from a building model"
dwelling = "home.toml"
[treatment]
horizon = "1 h"
"""


class Model:
    """Writes a small IFC4 model of upright boxes, in millimetres, its building turned."""

    def __init__(self, turn: float = 0.0) -> None:
        import ifcopenshell.api.context
        import ifcopenshell.api.project
        import ifcopenshell.api.root
        import ifcopenshell.api.unit

        api = ifcopenshell.api
        self.file: Any = api.project.create_file()
        self.turn = math.radians(turn)
        api.root.create_entity(self.file, ifc_class="IfcProject", name="test")
        length = api.unit.add_si_unit(self.file, unit_type="LENGTHUNIT", prefix="MILLI")
        api.unit.assign_unit(self.file, units=[length])
        whole = api.context.add_context(self.file, context_type="Model")
        self.body = api.context.add_context(
            self.file,
            context_type="Model",
            context_identifier="Body",
            target_view="MODEL_VIEW",
            parent=whole,
        )
        api.root.create_entity(self.file, ifc_class="IfcBuilding", name="Two rooms")

    def box(
        self,
        kind: str,
        name: str,
        low: tuple[float, float, float],
        size: tuple[float, float, float],
        own_turn: float = 0.0,
    ) -> Any:
        """Add a box by its low corner and size [m]; ``own_turn`` [deg] about its middle."""
        import ifcopenshell.api.geometry
        import ifcopenshell.api.root

        x, y, z = (1e3 * length for length in size)
        middle = [low[axis] + 0.5 * size[axis] for axis in (0, 1)]
        file = self.file
        origin = file.createIfcCartesianPoint((0.0, 0.0, 0.0))
        solid = file.createIfcExtrudedAreaSolid(
            file.createIfcRectangleProfileDef("AREA", None, None, x, y),
            file.createIfcAxis2Placement3D(origin, None, None),
            file.createIfcDirection((0.0, 0.0, 1.0)),
            z,
        )
        shape = file.createIfcShapeRepresentation(self.body, "Body", "SweptSolid", [solid])
        thing = ifcopenshell.api.root.create_entity(file, ifc_class=kind, name=name)
        ifcopenshell.api.geometry.assign_representation(file, product=thing, representation=shape)
        cosine, sine = math.cos(self.turn), math.sin(self.turn)
        angle = self.turn + math.radians(own_turn)
        placed = file.createIfcAxis2Placement3D(
            file.createIfcCartesianPoint(
                (
                    1e3 * (cosine * middle[0] - sine * middle[1]),
                    1e3 * (sine * middle[0] + cosine * middle[1]),
                    1e3 * low[2],
                )
            ),
            file.createIfcDirection((0.0, 0.0, 1.0)),
            file.createIfcDirection((math.cos(angle), math.sin(angle), 0.0)),
        )
        thing.ObjectPlacement = file.createIfcLocalPlacement(None, placed)
        return thing


def two_rooms(path: Path, turn: float = 0.0) -> Path:
    """Write two rooms with a door between, a window, an inner wall and a sofa; return the path."""
    import ifcopenshell.api.pset

    model = Model(turn)
    model.box("IfcSpace", "bedroom", (0.0, 0.0, 0.0), (4.0, 3.2, 2.5))
    model.box("IfcSpace", "hall", (4.1, 0.0, 0.0), (2.0, 3.2, 2.5))
    model.box("IfcDoor", "bedroom door", (4.0, 1.0, 0.0), (0.1, 0.8, 2.0))
    model.box("IfcDoor", "front door", (4.6, -0.2, 0.0), (0.9, 0.2, 2.0))
    model.box("IfcWindow", "bedroom window", (1.0, 3.25, 0.9), (1.2, 0.1, 1.1))
    outer = model.box("IfcWall", "north wall", (-0.2, 3.2, 0.0), (6.5, 0.2, 2.5))
    inner = model.box("IfcWall", "west wall", (-0.2, -0.2, 0.0), (0.2, 3.6, 2.5))
    for wall, external in ((outer, True), (inner, False)):
        common = ifcopenshell.api.pset.add_pset(model.file, product=wall, name="Pset_WallCommon")
        ifcopenshell.api.pset.edit_pset(
            model.file, pset=common, properties={"IsExternal": external}
        )
    model.box("IfcFurniture", "sofa", (1.0, 1.0, 0.0), (1.8, 0.9, 0.8), own_turn=30.0)
    model.file.write(str(path))
    return path


def called(*arguments: str) -> Result:
    return CliRunner().invoke(roomsoak, list(arguments))


def imported(model: Path, folder: Path) -> tuple[Case, dict[str, Any], Result]:
    """Return the case on an imported dwelling, the dwelling's tables, and what was said."""
    home = folder / "home.toml"
    done = called("import", str(model), "--out", str(home), "--force")
    assert done.exit_code == 0, done.output
    (folder / "case.toml").write_text(CASE, encoding="utf-8")
    return load(folder / "case.toml"), tomllib.loads(home.read_text(encoding="utf-8")), done


@pytest.mark.parametrize("turn", (0.0, 27.0, -90.0))
def test_two_rooms_come_back_with_all_that_is_in_them(turn: float, tmp_path: Path) -> None:
    """Also of a building that stands askew: by a quarter turn, sides change their names."""
    case, tables, _ = imported(two_rooms(tmp_path / "home.ifc", turn), tmp_path)
    rooms = {room.name: room for room in case.dwelling.rooms}
    assert set(rooms) == {"bedroom", "hall"}
    assert sorted(rooms["bedroom"].size) == pytest.approx([2.5, 3.2, 4.0], abs=2e-3)
    assert sorted(rooms["hall"].size) == pytest.approx([2.0, 2.5, 3.2], abs=2e-3)
    (door,) = tables["doorway"]
    assert (door["name"], set(door["between"])) == ("bedroom door", {"bedroom", "hall"})
    assert float(door["width"].split()[0]) == pytest.approx(0.8, abs=2e-3)
    assert float(door["height"].split()[0]) == pytest.approx(2.0, abs=2e-3)
    (window,) = tables["window"]
    sides = {0.0: "north", 27.0: "north", -90.0: "east"}
    assert (window["room"], window["side"]) == ("bedroom", sides[turn])
    assert float(window["width"].split()[0]) == pytest.approx(1.2, abs=2e-3)
    assert float(window["sill"].split()[0]) == pytest.approx(0.9, abs=2e-3)
    (sofa,) = tables["furniture"]
    assert [float(text.split()[0]) for text in sofa["size"]] == pytest.approx(
        [1.8, 0.9, 0.8], abs=2e-3
    )
    # a building is turned back by the least angle, so one turned by a quarter stays as it is
    own = 30.0 if turn != -90.0 else -60.0
    assert (float(sofa["turn"].split()[0]) - own) % 180.0 == pytest.approx(0.0, abs=0.05)
    assert case.dwelling.start_temperature == 20.0


def test_walls_say_what_is_behind_them(tmp_path: Path) -> None:
    _, tables, _ = imported(two_rooms(tmp_path / "home.ifc"), tmp_path)
    bedroom, hall = tables["room"]
    assert bedroom["west"] == {"construction": "interior_wall", "behind": "next door"}
    assert "north" not in bedroom
    assert "west" not in hall  # the bedroom is there
    assert tables["shell"]["walls"]["behind"] == "outdoors"
    assert bedroom["at"] == ["0.000 m", "0.000 m"]
    assert hall["at"] == ["4.100 m", "0.000 m"]


def test_check_accepts_the_dwelling_and_what_was_assumed_is_told(tmp_path: Path) -> None:
    _, _, done = imported(two_rooms(tmp_path / "home.ifc"), tmp_path)
    assert done.stdout.strip() == str(tmp_path / "home.toml")
    assert "not in the model, assumed: walls frame_wall" in done.stderr
    assert "door 'front door' joins no two rooms" in done.stderr
    assert "furniture 'sofa' became a box of packed goods of 1.80 x 0.90 x 0.80 m" in done.stderr
    checked = called("check", str(tmp_path / "case.toml"))
    assert checked.exit_code == 0, checked.output
    assert "bedroom" in checked.output
    assert "sofa" in checked.output


def test_a_file_is_not_replaced_unless_forced(tmp_path: Path) -> None:
    model = two_rooms(tmp_path / "home.ifc")
    (tmp_path / "home.toml").write_text("mine", encoding="utf-8")
    done = called("import", str(model), "--out", str(tmp_path / "home.toml"))
    assert done.exit_code == 2
    assert (tmp_path / "home.toml").read_text(encoding="utf-8") == "mine"


def test_rooms_that_touch_are_written_and_told(tmp_path: Path) -> None:
    """Spaces drawn to the middle of a wall leave no partition: that is told at its line."""
    model = Model()
    model.box("IfcSpace", "left", (0.0, 0.0, 0.0), (3.0, 3.0, 2.5))
    model.box("IfcSpace", "right", (3.0, 0.0, 0.0), (3.0, 3.0, 2.5))
    model.file.write(str(tmp_path / "touch.ifc"))
    done = called("import", str(tmp_path / "touch.ifc"), "--out", str(tmp_path / "touch.toml"))
    assert done.exit_code == 2
    assert "mend it by hand" in done.output
    assert "touch.toml:" in done.output
    assert (tmp_path / "touch.toml").is_file()


@pytest.mark.parametrize(
    ("content", "said"),
    (
        (b"", "not an IFC file"),
        (b"solid nothing", "not an IFC file"),
        (b"ISO-10303-21;\nHEADER;\nFILE_SCHEMA(('IFC4'));\nENDSEC;\nDA", "is it damaged?"),
        (
            b"ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n"
            b"FILE_NAME('','',(''),(''),'','','');\nFILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\n"
            b"ENDSEC;\nEND-ISO-10303-21;\n",
            "no spaces",
        ),
    ),
)
def test_a_bad_file_is_refused_in_one_line(content: bytes, said: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.ifc"
    path.write_bytes(content)
    with pytest.raises(CaseError) as caught:
        read_building(path)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)
    with pytest.raises(CaseError, match="cannot be read"):
        read_building(tmp_path / "missing.ifc")


def test_without_the_extra_one_line_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "ifcopenshell", None)
    with pytest.raises(RoomsoakError, match=r"pip install 'roomsoak\[ifc\]'") as caught:
        read_building(two_rooms_text(tmp_path))
    assert caught.value.exit_code == 1


def two_rooms_text(folder: Path) -> Path:
    path = folder / "any.ifc"
    path.write_bytes(b"ISO-10303-21;\n")
    return path
