"""The arrow of the house: a room imports only rooms to its left, also inside functions."""

import ast
from pathlib import Path

import pytest

import simulator

PACKAGE = Path(simulator.__file__).parent

#: From left to right; the leaves come first and may not import each other to the right.
ROOMS = (
    "constants",
    "compiled",
    "errors",
    "units",
    "case",
    "grid",
    "physics",
    "history",
    "progress",
    "run_record",
    "timetable",
    "run_settings",
    "furnished",
    "stages",
    "run_cost",
    "course",
    "epoch",
    "simulation",
    "assessment",
    "studies",
    "output",
    "workspace",
    "cli",
)

#: Imports that the order allows and the design forbids.
FORBIDDEN = {
    ("assessment", room)
    for room in (
        "physics",
        "progress",
        "run_record",
        "stages",
        "timetable",
        "run_cost",
        "course",
        "epoch",
        "simulation",
    )
}


def room_of(path: Path) -> str:
    relative = path.relative_to(PACKAGE)
    return relative.parts[0].removesuffix(".py")


def imported_rooms(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: relative import"
            module = node.module or ""
            names = (
                [f"simulator.{alias.name}" for alias in node.names]
                if module == "simulator"
                else [module]
            )
        else:
            continue
        found |= {name.split(".")[1] for name in names if name.startswith("simulator.")}
    return found


MODULES = sorted(path for path in PACKAGE.rglob("*.py") if room_of(path) != "__init__")


def test_every_room_of_the_package_is_on_the_map() -> None:
    assert {room_of(path) for path in MODULES} <= set(ROOMS)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_to_the_left(path: Path) -> None:
    room = room_of(path)
    for other in imported_rooms(path):
        assert ROOMS.index(other) <= ROOMS.index(room), f"{room} imports {other}"
        assert (room, other) not in FORBIDDEN, f"{room} imports {other}"


def test_a_back_arrow_would_be_seen(tmp_path: Path) -> None:
    """The reader of imports sees an import hidden inside a function."""
    hidden = tmp_path / "hidden.py"
    hidden.write_text("def f():\n    from simulator.cli import main\n    import simulator.output\n")
    assert imported_rooms(hidden) == {"cli", "output"}


def test_heavy_libraries_are_imported_inside_functions() -> None:
    heavy = {"pyvista", "vtk", "vtkmodules", "meshio", "matplotlib"}
    for path in MODULES:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in tree.body:
            names = (
                [alias.name for alias in node.names]
                if isinstance(node, ast.Import)
                else [node.module or ""]
                if isinstance(node, ast.ImportFrom)
                else []
            )
            assert not {name.split(".")[0] for name in names} & heavy, path.name
