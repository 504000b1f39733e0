"""A small case of four files that the desk's tests draw on, and a client to a desk."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from simulator.workspace.desk import Desk
from simulator.workspace.folder import Folder
from simulator.workspace.server import application

CASE = "small.toml"
TEXTS = {
    CASE: """# Invented content.
title = "Small room"
dwelling = "home/dwelling.toml" # shared
preparation = "home/prepared.toml"
layout = "home/layout.toml"

[treatment]
horizon = "20 min" # short
""",
    "home/dwelling.toml": """# Invented content: a very small room.
name = "small dwelling"
start = "20 degC"
outdoors = { temperature = "5 degC" }

[shell]
walls = { construction = "frame_wall", behind = "outdoors" }
floor = { construction = "wood_floor", behind = "mirror" }
ceiling = { construction = "attic_ceiling", behind = "mirror" }

[[room]]
name = "bedroom" # the only one
size = ["2.4 m", "2.2 m", "2.0 m"]

[[furniture]]
kind = "nightstand"
name = "nightstand"
room = "bedroom"
at = ["0.40 m", "1.90 m"] # by the wall

[[furniture]]
kind = "clutter"
name = "boxes"
room = "bedroom"
at = ["2.00 m", "1.80 m"]
size = ["0.5 m", "0.5 m", "0.5 m"]
packing = "packed"
""",
    "home/prepared.toml": """name = "prepared"

[change.nightstand] # opened
drawers_are = "open"
""",
    "home/layout.toml": """name = "one of each"

[[equipment]]
kind = "electric_heater" # the only one
name = "heater 1"
room = "bedroom"
at = ["0.60 m", "0.60 m"]
turn = "0 deg"
power = "1.5 kW"

[[equipment]]
kind = "fan"
name = "fan 1"
room = "bedroom"
at = ["1.80 m", "0.60 m"]
turn = "90 deg"

[[circuit]]
name = "outlets"
voltage = "230 V"
rating = "16 A"
loads = ["heater 1", "fan 1"]
""",
}


def lay_out(folder: Path) -> Folder:
    """Write the case into a folder."""
    for name, text in TEXTS.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return Folder(folder)


@contextmanager
def desk_client(folder: Path) -> Iterator[TestClient]:
    """Return a client to a desk in a folder."""
    app = application(Desk(Folder(folder)))
    with TestClient(app, base_url="http://127.0.0.1:8000") as client:
        yield client


def edited(client: TestClient, *operations: dict[str, Any], revision: int | None = None) -> Any:
    """Return the answer to an edit of the newest revision."""
    if revision is None:
        revision = client.get(f"/api/case/{CASE}").json()["revision"]
    body = {"revision": revision, "operations": list(operations)}
    return client.post(f"/api/case/{CASE}/edit", json=body)
