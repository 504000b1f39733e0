"""A run packed for the viewer in the browser: temperatures in time, bodies, cold spots, machines.

The layout of the bytes is told in ``blob``; ``viewer.js`` beside this file reads them. What the
table holds:

``title`` ``words``
    the case's title; preparation and layout in a line.
``origin`` [m], ``extent`` [m]
    the low corner and the size of the box around the dwelling; all places count from the dwelling's
    own origin, those in arrays of millimetres from this corner.
``cells``
    number of even cells along x, y, z; cell planes that are not even are sampled at their nearest.
``times`` [s], ``low`` [°C], ``step`` [K]
    of the series ``field`` (frames, z, y, x) and ``skin`` (frames, points): code 0 is unknown,
    code n means ``low + (n - 1) * step``.
``scale``
    the fixed scale of colours: low, high [°C], marks [°C], 256 colours as hexadecimal text.
``things`` ``shell`` ``machines`` ``spots``
    bodies: names or colours, and which quadrangles of ``skin_quads`` or ``body_quads`` they are.
``jets`` ``rooms`` ``doorways``
    paths of air from fans and heaters; low and high corners of rooms and open doorways [m].
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simulator.assessment.assessment import Assessment, ColdSpot
from simulator.case.case import Case
from simulator.case.parts import AirMover, HeatedJet
from simulator.grid.grid import FloatArray, Grid, IntArray
from simulator.history import History
from simulator.output.cell_hull import hull_of_cells
from simulator.output.equipment_drawing import jet_lines
from simulator.output.furniture_drawing import box_patches
from simulator.output.pen import rgb
from simulator.output.side_panel import short_words
from simulator.output.surface_tint import surface_tint
from simulator.output.temperature_scale import FIXED_SCALE, TemperatureScale
from simulator.output.viewer.blob import encoded, to_bytes
from simulator.output.viewer.solids import (
    Mesh,
    furniture_of,
    machine_bodies,
    sensor_bodies,
    shell_bodies,
)
from simulator.output.viewpoint import choose_viewpoint


@dataclass(frozen=True, slots=True)
class Fineness:
    """How much of a run is packed: a hand-out needs less than the screen of the one who ran it."""

    step: float = 0.125  # of temperatures [K]; 50 °C is one of them
    most_frames: int = 61
    patch: float = 0.15  # of the skin of furniture [m]


WHOLE = Fineness()


def pack(
    case: Case,
    grid: Grid,
    history: History,
    assessment: Assessment,
    *,
    fineness: Fineness = WHOLE,
    scale: TemperatureScale = FIXED_SCALE,
) -> bytes:
    """Return a run packed for the viewer.

    Parameters
    ----------
    fineness : how many frames, how fine steps of temperature and patches of furniture.
    scale : the fixed scale of colours, written into the pack.
    """
    origin = np.array([grid.x_edges[0], grid.y_edges[0], grid.z_edges[0]])
    extent = np.array([grid.x_edges[-1], grid.y_edges[-1], grid.z_edges[-1]]) - origin
    frames = _frames(history, fineness.most_frames)
    field = _even_field(grid, history, frames)
    skin, places, things = _furniture(case, grid, history, frames, fineness.patch)
    known = np.concatenate([[scale.low], field[np.isfinite(field)], skin[np.isfinite(skin)]])
    low = float(np.floor(known.min()))
    bodies = Mesh()
    table = {
        "title": case.title,
        "words": " · ".join((case.preparation, case.layout)),
        "origin": origin.tolist(),
        "extent": extent.tolist(),
        "cells": list(field.shape[:0:-1]),
        "times": history.frame_time[frames].tolist(),
        "low": low,
        "step": fineness.step,
        "scale": _scale(scale),
        "view": _view(case),
        "rooms": [{"name": r.name, "low": r.low, "high": r.high} for r in case.dwelling.rooms],
        "doorways": [{"low": d.low, "high": d.high} for d in case.dwelling.doorways if d.is_open],
        "things": things,
        "shell": [
            {"colour": colour, "quads": quads}
            for colour, quads in shell_bodies(bodies, case.dwelling)
        ],
        "machines": [
            {"owner": owner, "colour": colour, "quads": quads}
            for owner, colour, quads in (
                *machine_bodies(bodies, case.parts),
                *sensor_bodies(bodies, case.probes),
            )
        ],
        "spots": [_spot(bodies, grid, spot) for spot in assessment.cold_spots],
        "jets": _jets(case, grid, history),
    }
    series = {
        "field": encoded(field, low, fineness.step),
        "skin": encoded(skin, low, fineness.step),
    }
    constant: dict[str, NDArray[Any]] = {
        "skin_places": places.places(origin),
        "skin_quads": places.corners(),
        "body_places": bodies.places(origin),
        "body_quads": bodies.corners(),
    }
    return to_bytes(table, series, constant)


def _frames(history: History, most: int) -> IntArray:
    """Return numbers of frames, evenly picked with the first and the last."""
    count = history.frame_time.size
    return np.unique(np.rint(np.linspace(0, count - 1, min(count, most))).astype(np.int64))


def _even_field(grid: Grid, history: History, frames: IntArray) -> FloatArray:
    """Return temperatures (F, z, y, x) [°C] on even cells; nan where there is no room."""
    index = [
        _even_index(edges, grid.cell_size) for edges in (grid.x_edges, grid.y_edges, grid.z_edges)
    ]
    known = np.where(grid.room >= 0, history.frame_temperature[frames].astype(np.float64), np.nan)
    picked = known[:, index[0]][:, :, index[1]][:, :, :, index[2]]
    return np.ascontiguousarray(picked.transpose(0, 3, 2, 1))


def _even_index(edges: FloatArray, cell_size: float) -> IntArray:
    """Return for each of even cells the cell in which its centre lies."""
    span = float(edges[-1] - edges[0])
    count = max(edges.size - 1, round(span / cell_size))
    centres = edges[0] + (np.arange(count) + 0.5) * span / count
    index: IntArray = np.clip(np.searchsorted(edges, centres, side="right") - 1, 0, edges.size - 2)
    return index


def _furniture(
    case: Case, grid: Grid, history: History, frames: IntArray, patch: float
) -> tuple[FloatArray, Mesh, list[dict[str, Any]]]:
    """Return temperatures (F, points) [°C] on the outside of furniture, its mesh and its names."""
    mesh, things, owners, inside = Mesh(), [], [], []
    for part in furniture_of(case.parts):
        points, quads = box_patches(part.box, patch)
        middle = np.asarray(part.box.centre)
        inside.append(middle + (points - middle) * (1.0 - 0.02 / max(part.box.size)))
        owners.append(part.owner)
        things.append({"owner": part.owner, "name": part.name, "quads": mesh.add(points, quads)})
    rows = []
    for frame in frames:
        tint = surface_tint(grid, history, float(history.frame_time[frame]))
        pieces = [tint.of_thing(o, p) for o, p in zip(owners, inside, strict=True)]
        rows.append(np.concatenate([np.zeros(0), *pieces]))
    return np.stack(rows), mesh, things


def _scale(scale: TemperatureScale) -> dict[str, Any]:
    colours = scale.colours(np.linspace(scale.low, scale.high, 256))
    unknown = list(rgb(scale.unknown))
    return {
        "low": scale.low,
        "high": scale.high,
        "marks": scale.marks,
        "colours": colours.tobytes().hex(),
        "unknown": unknown,
    }


def _view(case: Case) -> dict[str, Any]:
    view = choose_viewpoint(case.dwelling, case.parts, (1200, 900))
    return {"position": view.position, "focus": view.focus}


def _spot(bodies: Mesh, grid: Grid, spot: ColdSpot) -> dict[str, Any]:
    points, quads = hull_of_cells(grid, grid.refuges.cell[spot.refuges])
    return {
        "id": str(spot.rank),
        "kind": spot.kind,
        "words": short_words(spot),
        "room": spot.room,
        "litres": round(spot.litres, 3),
        "coldest": round(spot.coldest, 2),
        "centre": spot.centre,
        "low": points.min(axis=0).tolist(),
        "high": points.max(axis=0).tolist(),
        "quads": bodies.add(points, quads),
    }


def _jets(case: Case, grid: Grid, history: History) -> list[NDArray[Any]]:
    blowing = [part for part in case.parts if isinstance(part, AirMover | HeatedJet)]
    return [
        np.round(line, 3).tolist() for part in blowing for line in jet_lines(part, grid, history)
    ]
