"""The room at a moment as a glTF picture to turn: floors and furniture in the scale's colours."""

from pathlib import Path

import numpy as np

from simulator.assessment.assessment import Assessment
from simulator.output.cell_hull import hull_of_cells
from simulator.output.exchange.bodies import floors, furniture
from simulator.output.exchange.gltf import ColouredBody, to_glb
from simulator.output.field_file import Result
from simulator.output.pen import SPOT, rgb
from simulator.output.surface_tint import surface_tint
from simulator.output.temperature_scale import FIXED_SCALE
from simulator.output.viewer.solids import Mesh, machine_bodies, shell_bodies

SHELL = "walls and openings"

#: How much a cold spot hides of what is behind it.
SPOT_OPACITY = 0.6


def write_picture(result: Result, assessment: Assessment, path: Path, time: float) -> None:
    """Write the room at ``time`` [s] with the cold spots of the whole run, each a named body."""
    case = result.case
    tint = surface_tint(result.grid, result.history, time)
    bodies = [
        ColouredBody(body.owner, body.points, body.quads, FIXED_SCALE.colours(body.temperature))
        for body in [*floors(case.dwelling, tint), *furniture(case.parts, tint)]
    ]
    mesh = Mesh()
    plain = [(SHELL, *row) for row in shell_bodies(mesh, case.dwelling)]
    plain += machine_bodies(mesh, case.parts)
    points, quads = mesh.points, mesh.quads
    starts = np.cumsum([0, *(len(rows) for rows in quads)])
    firsts = np.cumsum([0, *(len(rows) for rows in points)])
    for name, colour, (first, _) in plain:
        piece = int(np.searchsorted(starts, first, side="right")) - 1
        shown = _plain(colour, len(points[piece]))
        corners = quads[piece] - firsts[piece]
        around = name != SHELL
        bodies.append(ColouredBody(name, points[piece], corners, shown, seen_from_behind=around))
    for spot in assessment.cold_spots:
        places, faces = hull_of_cells(result.grid, result.grid.refuges.cell[spot.refuges])
        name = f"cold spot: {spot.words}"
        shown = _plain(SPOT, len(places))
        bodies.append(ColouredBody(name, places, faces, shown, SPOT_OPACITY))
    extras = {
        "title": case.title,
        "time [s]": time,
        "colours": f"{FIXED_SCALE.map_name}, {FIXED_SCALE.low:g} to {FIXED_SCALE.high:g}",
        "units of colours": "degree_Celsius",
        "axes": "metres; east is x, north is -z, up is y",
    }
    path.write_bytes(to_glb(bodies, extras))


def _plain(colour: str, count: int) -> np.ndarray[tuple[int, int], np.dtype[np.uint8]]:
    """Return one colour such as "#e7e5e0" for each of some points."""
    return np.tile(np.array(rgb(colour), dtype=np.uint8), (count, 1))
