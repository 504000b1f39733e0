"""A moving picture of two states side by side: the same clock, the same scale."""

from collections.abc import Callable, Iterator, Set
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from simulator.errors import RenderError
from simulator.grid.grid import FloatArray
from simulator.grid.place_key import PlaceKey
from simulator.output.graphics_check import prepare_graphics
from simulator.output.lesson.gathered import Shown
from simulator.output.pen import NOT_DONE, QUIET, Pen
from simulator.output.picture_foot import draw_scale
from simulator.output.picture_sheet import blank_figure, pixel_axes
from simulator.output.plan_drawing import draw_warmth, fitted_plan
from simulator.output.temperature_scale import FIXED_SCALE
from simulator.output.viewpoint import Viewpoint, choose_viewpoint
from simulator.studies.comparison import cold_litres_in, index_at
from simulator.studies.comparison_words import litres_text, not_done_text
from simulator.units import System, format_quantity, whole_degrees

WIDTH, HEAD, FOOT = 1100, 96, 126
ROOM = (WIDTH // 2, 380)  # [pixels]
FRAME_TIME, LAST_TIME = 450, 3000  # how long a frame and the last one stand [ms]


def animate(
    first: Shown,
    other: Shown,
    common: Set[PlaceKey],
    path: Path,
    *,
    units: System = "si",
    most_frames: int = 13,
    on_frame: Callable[[int, int], None] | None = None,
) -> Path:
    """Write an animated WebP of two states and return its path.

    Parameters
    ----------
    common : the hiding places whose litres below 50 °C are told: those that all states have.
    on_frame : called with the number of frames drawn and of all.
    """
    end = min(float(first.room.history.frame_time[-1]), float(other.room.history.frame_time[-1]))
    own = first.room.history.frame_time
    times = own[own <= end + 1.0]
    count = min(most_frames, times.size)
    picked = times[np.unique(np.rint(np.linspace(0, times.size - 1, count)).astype(int))]
    frames = []
    for number, frame in enumerate(_frames((first, other), common, picked, units), start=1):
        frames.append(frame)
        if on_frame is not None:
            on_frame(number, picked.size)
    stand = [FRAME_TIME] * (len(frames) - 1) + [LAST_TIME]
    frames[0].save(
        path, save_all=True, append_images=frames[1:], duration=stand, loop=0, quality=70, method=4
    )
    return path


def _frames(
    pair: tuple[Shown, Shown], common: Set[PlaceKey], times: Any, units: System
) -> Iterator[Image.Image]:
    litres = [cold_litres_in(s.answer, common) for s in pair]
    views = [choose_viewpoint(s.answer.case.dwelling, s.answer.case.parts, ROOM) for s in pair]
    if pair[0].answer.case.dwelling.rooms == pair[1].answer.case.dwelling.rooms:
        views[1] = views[0]
    size = (WIDTH, HEAD + ROOM[1] + FOOT)
    for time in times:
        figure = blank_figure(size)
        for number, (shown, view, cold) in enumerate(zip(pair, views, litres, strict=True)):
            left = number * ROOM[0]
            _draw_state(figure, shown, cold, view, float(time), left, units)
        foot = Pen(pixel_axes(figure, (0, HEAD + ROOM[1], WIDTH, size[1])), 1.0)
        draw_scale(foot, FIXED_SCALE, units)
        clock = f"after {format_quantity(float(time), 'time', units)}"
        foot.write(WIDTH - 30.0, 52.0, clock, 30.0, align="right", bold=True)
        figure.canvas.draw()
        yield Image.fromarray(np.asarray(figure.canvas.buffer_rgba())[..., :3].copy())


def _draw_state(
    figure: Any,
    shown: Shown,
    cold: FloatArray,
    view: Viewpoint,
    time: float,
    left: int,
    units: System,
) -> None:
    answer = shown.answer
    moment = index_at(answer, time)
    head = Pen(pixel_axes(figure, (left, 0, left + ROOM[0], HEAD)), 1.0)
    head.write(24.0, 28.0, shown.state.name, 24.0, bold=True)
    litres = float(cold[moment])
    fifty = whole_degrees(50.0, units)
    colour = NOT_DONE if litres > 0.0 else QUIET
    told = f"{litres_text(litres)} below {fifty}, in hiding places that all states have"
    head.write(24.0, 60.0, told, 17.0, colour)
    coldest = format_quantity(float(answer.assessment.coldest[moment]), "temperature", units)
    told = f"coldest hiding place {coldest}; not done at the end: {not_done_text(answer)}"
    head.write(24.0, 83.0, told, 15.0, QUIET)
    axes = pixel_axes(figure, (left, HEAD, left + ROOM[0], HEAD + ROOM[1]))
    try:
        prepare_graphics()
    except RenderError:
        plan = fitted_plan(answer.case.dwelling, ROOM)
        draw_warmth(axes, plan, answer.case, shown.room.grid, shown.room.history, time, ROOM)
        return
    from simulator.output.scene import render_warmth

    room = shown.room
    image = render_warmth(answer.case, room.grid, room.history, view, FIXED_SCALE, time)
    axes.imshow(image, extent=(0, ROOM[0], ROOM[1], 0), interpolation="nearest")
    axes.set_xlim(0.0, ROOM[0])
    axes.set_ylim(ROOM[1], 0.0)
