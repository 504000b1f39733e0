"""A result in a notebook: a summary with a picture as HTML, and its fields as xarray."""

import base64
import io
import tempfile
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from PIL import Image

from simulator.assessment.assess import assess
from simulator.errors import ResultError
from simulator.output.pictures import draw_room
from simulator.output.side_panel import facts, short_words, verdict_line
from simulator.units import System, format_quantity

if TYPE_CHECKING:
    from simulator.output.field_file import Result

SIZE = (1040, 715)  # of the picture [pixels]
COLOURS = 128
MOST_SPOTS = 6


def result_html(result: "Result", units: System = "si") -> str:
    """Return a summary table with the picture of a result, for a notebook."""
    judged = assess(result.case, result.grid, result.history)
    history = result.history
    verdict, colour = verdict_line(history, judged, units)
    moment = float(history.time[judged.end.index])
    rows = [
        ("case", f"{result.case.title} ({result.case.preparation}, {result.case.layout})"),
        ("cells", f"{result.grid.is_open.size:,} of {result.cell_size:g} m"),
        ("answer", verdict),
        *((name, text) for name, text in _told(facts(history, judged, moment, units))),
        *(
            (
                f"{spot.kind} spot {spot.rank}",
                f"{short_words(spot)}: {format_quantity(spot.coldest, 'temperature', units)}",
            )
            for spot in judged.cold_spots[:MOST_SPOTS]
        ),
        ("limits", " ".join(judged.notes[:1]) + " All limits: assess(...).notes."),
    ]
    answer = f"color:{colour};font-weight:bold;"
    body = "".join(
        f'<tr><th style="text-align:left">{escape(name)}</th>'
        f'<td style="{answer if name == "answer" else ""}text-align:left">{escape(text)}</td></tr>'
        for name, text in rows
    )
    picture = _picture(result, judged, units)
    return (
        f"<table>{body}</table>"
        f'<img alt="{escape(result.case.title)}" style="max-width:100%" '
        f'src="data:image/png;base64,{picture}">'
    )


def _told(lines: list[str]) -> list[tuple[str, str]]:
    return [("", line) for line in lines]


def _picture(result: "Result", judged: Any, units: System) -> str:
    """Return the picture of the room as base64 of a PNG of few colours."""
    with tempfile.TemporaryDirectory() as folder:
        path = draw_room(
            result.case,
            result.grid,
            result.history,
            judged,
            Path(folder) / "room.png",
            units=units,
            size=SIZE,
        )
        with Image.open(path) as whole:
            few = whole.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    packed = io.BytesIO()
    few.save(packed, format="png", optimize=True)
    return base64.b64encode(packed.getvalue()).decode()


def result_dataset(result: "Result") -> Any:
    """Return the fields and curves of a result as an ``xarray.Dataset``.

    ``temperature`` and ``cell_kind``, ``speed`` and ``velocity`` are named and laid out as in the
    result file: (time, z, y, x), metres, seconds, °C, m/s. The curves have an axis of their own,
    ``moment``, for they have more times than the fields.

    Raises
    ------
    ResultError
        If xarray is not installed.
    """
    try:
        import xarray
    except ImportError:
        raise ResultError(
            'xarray is not installed; get it with: pip install "roomsoak[analysis]"'
        ) from None
    grid, history = result.grid, result.history
    x, y, z = grid.centres
    kind = grid.is_open.astype(np.int8) + 2 * grid.is_blocked.astype(np.int8)
    fields = {
        "temperature": (("time", "z", "y", "x"), history.frame_temperature.transpose(0, 3, 2, 1)),
        "speed": (("z", "y", "x"), history.speed.T),
        "velocity": (("z", "y", "x", "component"), history.velocity.T),
        "cell_kind": (("z", "y", "x"), kind.T),
        "air_mean": (("moment",), history.air_mean),
        "air_minimum": (("moment",), history.air_minimum),
        "air_maximum": (("moment",), history.air_maximum),
        "refuge_temperature": (("moment", "refuge"), history.refuge_temperature),
    }
    units = {"speed": "m s-1", "velocity": "m s-1", "cell_kind": "1"}
    data = xarray.Dataset(
        {
            name: (dimensions, values, {"units": units.get(name, "degree_Celsius")})
            for name, (dimensions, values) in fields.items()
        },
        coords={
            "time": ("time", history.frame_time, {"units": "s"}),
            "moment": ("moment", history.time, {"units": "s"}),
            "x": ("x", x, {"units": "m"}),
            "y": ("y", y, {"units": "m"}),
            "z": ("z", z, {"units": "m"}),
            "component": ("component", ["east", "north", "up"]),
        },
        attrs={"title": result.case.title, "hash": result.hash},
    )
    data["cell_kind"].attrs["flag_meanings"] = "void open blocked"
    return data
