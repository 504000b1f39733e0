"""Furniture from mesh files: what is asked for, carried along with the case, and refused."""

from pathlib import Path

import numpy as np
import pytest

from simulator.case.attached_files import as_content, as_text
from simulator.case.case import Case
from simulator.case.load import load, load_texts
from simulator.case.materials import material
from simulator.case.parts import PorousPart, SolidPart
from simulator.errors import CaseError
from simulator.grid.voxelise import voxelise
from tests.meshes import CHAIR_FILE, CUBE_POINTS, CUBE_TRIANGLES, box, file_of, joined, lounge_chair

GEOMETRIES = CHAIR_FILE.parents[1]

CASE = """
title = "one piece from a mesh"
dwelling = "home/dwelling.toml"
[treatment]
horizon = "1 h"
"""
DWELLING = """
name = "one room"
start = "20 degC"
outdoors = { temperature = "5 degC" }
shell.walls = { construction = "frame_wall", behind = "outdoors" }
shell.floor = { construction = "carpeted_wood_floor", behind = "mirror" }
shell.ceiling = { construction = "attic_ceiling", behind = "outdoors" }
[[room]]
name = "room"
size = ["3 m", "2.4 m", "2.4 m"]
[[furniture]]
kind = "mesh"
name = "crate"
room = "room"
at = ["1.5 m", "1.2 m"]
file = "crate.ply"
unit = "1 cm"
material = "softwood"
"""
SIZE = (60.0, 40.0, 50.0)  # of the crate in its file [cm]
VOLUME = 0.6 * 0.4 * 0.5  # [m³]


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """Return the path of a case whose dwelling lies in a folder with its mesh."""
    (tmp_path / "home").mkdir()
    content = file_of("ply", *box((0, 0, 0), SIZE), tmp_path)
    (tmp_path / "home" / "crate.ply").write_bytes(content)
    return written(tmp_path, "")


def written(folder: Path, more: str, dwelling: str = DWELLING) -> Path:
    (folder / "home" / "dwelling.toml").write_text(dwelling + more, encoding="utf-8")
    path = folder / "case.toml"
    path.write_text(CASE, encoding="utf-8")
    return path


def parts(case: Case, owner: str) -> list[SolidPart | PorousPart]:
    return [
        part
        for part in case.parts
        if isinstance(part, SolidPart | PorousPart) and part.owner == owner
    ]


def test_a_mesh_is_furniture_of_its_own_size_and_mass(home: Path) -> None:
    (crate,) = parts(load(home), "crate")
    assert crate.box.size == pytest.approx((0.6, 0.4, 0.5))
    assert crate.box.centre == pytest.approx((1.5, 1.2, 0.25))
    assert crate.material.density == pytest.approx(material("softwood").density)


@pytest.mark.parametrize("cell", (0.2, 0.1))
def test_the_grid_holds_its_exact_mass_also_turned(home: Path, cell: float) -> None:
    wanted = VOLUME * material("softwood").density
    for turn in ("0 deg", "90 deg", "25 deg"):
        grid = voxelise(load(home, overrides={"dwelling.furniture.crate.turn": turn}), cell)
        assert grid.solids.mass.sum() == pytest.approx(wanted, rel=1e-6)
        assert any(group.owner == "crate" for group in grid.refuges.groups)


def test_air_in_it_stands_still_or_seeps_through(home: Path) -> None:
    wanted = 0.1 * VOLUME * material("softwood").density
    still = load(home, overrides={"dwelling.furniture.crate.air_fraction": 0.9})
    (part,) = parts(still, "crate")
    assert isinstance(part, SolidPart)
    # the air itself weighs 1.2 kg/m³
    assert part.box.volume * part.material.density == pytest.approx(wanted, rel=0.03)
    loose = load(
        home,
        overrides={
            "dwelling.furniture.crate.air_fraction": 0.9,
            "dwelling.furniture.crate.piece_size": "5 cm",
        },
    )
    (pile,) = parts(loose, "crate")
    assert isinstance(pile, PorousPart)
    assert pile.air_fraction == 0.9
    assert voxelise(loose, 0.2).solids.mass.sum() == pytest.approx(wanted, rel=1e-6)


def test_a_table_from_a_mesh_is_the_table_to_the_grid(home: Path) -> None:
    """The same boards drawn by the kind: mass, surface, shut faces and hiding places agree."""
    drawn = DWELLING.split("[[furniture]]")[0] + (
        '[[furniture]]\nkind = "table"\nname = "crate"\nroom = "room"\n'
        'at = ["1.5 m", "1.2 m"]\nchairs = 0\n'
    )
    ours = load(written(home.parent, "", drawn))
    boxes = [part.box for part in parts(ours, "crate")]
    skins = [
        box(
            tuple(100.0 * (c - 0.5 * s) for c, s in zip(b.centre, b.size, strict=True)),
            tuple(100.0 * (c + 0.5 * s) for c, s in zip(b.centre, b.size, strict=True)),
        )
        for b in boxes
    ]
    content = file_of("ply", *joined(*skins), home.parent)
    (home.parent / "home" / "crate.ply").write_bytes(content)
    more = 'hides = "surface"\n'
    lines = DWELLING.replace('material = "softwood"', 'material = "hardwood"')
    meshed = load(written(home.parent, more, lines))
    assert len(parts(meshed, "crate")) == len(boxes) == 5
    for cell in (0.2, 0.1):
        one, other = voxelise(ours, cell), voxelise(meshed, cell)
        assert other.solids.mass.sum() == pytest.approx(one.solids.mass.sum(), rel=1e-6)
        area, others = (grid.surfaces.area[grid.surfaces.part >= 0].sum() for grid in (one, other))
        assert others == pytest.approx(area, rel=1e-5)
        for axis in "xyz":
            shut, also = (getattr(grid, f"closed_{axis}") for grid in (one, other))
            np.testing.assert_array_equal(shut, also)
        volumes = [
            sum(
                grid.refuges.volume[grid.refuges.group == number].sum()
                for number, group in enumerate(grid.refuges.groups)
                if group.owner == "crate" and "floor" not in group.words
            )
            for grid in (one, other)
        ]
        assert volumes[1] == pytest.approx(volumes[0], rel=1e-5)


def test_a_case_carries_its_mesh(home: Path) -> None:
    """A result keeps the texts alone: they rebuild the same case without any file."""
    case = load(home)
    assert set(case.sources) == {"case.toml", "home/dwelling.toml", "home/crate.ply"}
    assert (
        as_content(case.sources["home/crate.ply"]) == (home.parent / "home/crate.ply").read_bytes()
    )
    again = load_texts(case.sources, "case.toml")
    assert again == case


def test_a_preparation_may_bring_a_mesh_from_its_own_folder(home: Path) -> None:
    folder = home.parent / "states"
    folder.mkdir()
    (folder / "other.stl").write_bytes(file_of("stl", *box((0, 0, 0), (30, 30, 30)), home.parent))
    state = 'name = "other"\n[change.crate]\nfile = "other.stl"\n'
    (folder / "other.toml").write_text(state, encoding="utf-8")
    (crate,) = parts(load(home, overrides={"preparation": "states/other.toml"}), "crate")
    assert crate.box.size == pytest.approx((0.3, 0.3, 0.3))


@pytest.mark.parametrize("key", ("unit", "material", "file"))
def test_what_a_mesh_does_not_say_is_asked(home: Path, key: str) -> None:
    lines = [line for line in DWELLING.splitlines() if not line.startswith(f"{key} =")]
    with pytest.raises(CaseError, match=rf"dwelling.toml:\d+: furniture.crate.{key}: missing"):
        load(written(home.parent, "", "\n".join(lines) + "\n"))


@pytest.mark.parametrize(
    ("more", "said"),
    (
        ("unit = 1", "has no unit"),
        ('unit = "1 kg"', "unit of mass"),
        ('unit = "1 m"', r"60 x 40 x 50 m with one unit of 1 m; give the unit"),
        ('material = "sofwood"', "did you mean 'softwood'"),
        ('file = "crat.ply"', r"no readable file 'crat.ply' .*folder of '.*dwelling.toml'"),
        ('file = "dwelling.toml"', "no known format; formats: stl, obj, ply, vtu"),
        ('up = "w"', "x.*y.*z"),
        ('detail = "1 mm"', "must lie between 0.01 m and 0.2 m"),
        ("air_fraction = 1.0", "less than 0.995"),
        ('piece_size = "5 cm"', "loose stuff has air in it"),
        ('elevation = "2.2 m"', "out of room 'room' through its ceiling side"),
        ('shape = "sphere"', "'mesh'.*'box'"),
    ),
)
def test_what_is_wrong_is_told_in_one_line_with_its_place(home: Path, more: str, said: str) -> None:
    key = more.split(" =")[0]
    lines = [line for line in DWELLING.splitlines() if not line.startswith(f"{key} =")]
    path = written(home.parent, "", "\n".join([*lines, more]) + "\n")
    with pytest.raises(CaseError, match=said) as caught:
        load(path)
    assert "\n" not in str(caught.value)
    assert "dwelling.toml:" in str(caught.value)


def test_a_leak_is_refused_at_the_piece_and_its_box_is_offered(home: Path) -> None:
    is_lid = np.all(CUBE_POINTS[CUBE_TRIANGLES][:, :, 2] == 1.0, axis=1)
    content = file_of("ply", CUBE_POINTS * SIZE, CUBE_TRIANGLES[~is_lid], home.parent)
    (home.parent / "home" / "crate.ply").write_bytes(content)
    with pytest.raises(CaseError, match=r"dwelling.toml:\d+: furniture.crate: .*shape = \"box\""):
        load(home)
    (crate,) = parts(load(home, overrides={"dwelling.furniture.crate.shape": "box"}), "crate")
    assert crate.box.size == pytest.approx((0.6, 0.4, 0.5))


def test_a_damaged_attachment_is_refused() -> None:
    text = as_text(b"some bytes")
    assert as_content(text) == b"some bytes"
    for damaged in (text[:-4], text[:20] + "!" + text[21:], "plain words"):
        with pytest.raises(CaseError, match="damaged"):
            as_content(damaged)


def test_the_demo_chair_is_the_one_made_here() -> None:
    """Its file says that it is invented; its case stands in ``test_geometries``."""
    assert CHAIR_FILE.read_text(encoding="utf-8").startswith("# Invented content")
    rows = [line.split()[1:] for line in CHAIR_FILE.read_text().splitlines() if line[0] == "v"]
    np.testing.assert_allclose(np.array(rows, dtype=float), lounge_chair()[0], atol=1e-3)
    case = load(GEOMETRIES / "bedroom_with_lounge_chair.toml")
    assert any(note.startswith("foam lounge chair: ") for note in case.notes)
    assert (
        2.0 < sum(p.box.volume * p.material.density for p in parts(case, "foam lounge chair")) < 8.0
    )
