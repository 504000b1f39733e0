"""Walls, doors, windows, outlets, scale bar and north arrow of the plan."""

from markupsafe import Markup

from simulator.case.case import Case
from simulator.case.dwelling import Doorway, Side, Window
from simulator.output.sheet import svg
from simulator.output.sheet.label_space import Rectangle
from simulator.output.sheet.plan_view import WALL, PlanView
from simulator.units import FOOT, System, format_quantity

WALL_FILL = "#9a9a9a"


def shell(case: Case, view: PlanView) -> Markup:
    """Return the rooms with their walls cut through, doors, windows and wall outlets."""
    names = {room.name for room in view.rooms}
    drawn = [_walls(view)]
    drawn += [_room(view.box(room.low, room.high)) for room in view.rooms]
    drawn += [_doorway(d, view) for d in case.dwelling.doorways if names.intersection(d.rooms)]
    drawn += [_window(w, view) for w in case.dwelling.windows if w.room in names]
    for socket in case.dwelling.sockets:
        if socket.room in names:
            drawn.append(_socket(socket.position, socket.side, view))
    return Markup("").join(drawn)


def _walls(view: PlanView) -> Markup:
    boxes = []
    for room in view.rooms:
        low, high = [v - WALL for v in room.low[:2]], [v + WALL for v in room.high[:2]]
        left, top, right, bottom = view.box(low, high)
        boxes.append(
            svg.rectangle(left, top, right - left, bottom - top, fill=WALL_FILL, stroke="none")
        )
    return Markup("").join(boxes)


def _room(box: Rectangle) -> Markup:
    left, top, right, bottom = box
    return svg.rectangle(left, top, right - left, bottom - top, fill=svg.WHITE, stroke_width=0.45)


def _doorway(door: Doorway, view: PlanView) -> Markup:
    """Return an open doorway as a gap between its jambs, a shut one as a barred gap."""
    left, top, right, bottom = view.box(door.low, door.high)
    gap = svg.rectangle(
        left - 0.3, top - 0.3, right - left + 0.6, bottom - top + 0.6, fill=svg.WHITE, stroke="none"
    )
    is_upright = bottom - top > right - left  # a wall that runs north and south
    jambs = (
        ((left, top, right, top), (left, bottom, right, bottom))
        if is_upright
        else ((left, top, left, bottom), (right, top, right, bottom))
    )
    lines = [svg.line(*jamb, width=0.5) for jamb in jambs]
    if not door.is_open:
        middle = 0.5 * (left + right), 0.5 * (top + bottom)
        shut = (
            (middle[0], top, middle[0], bottom)
            if is_upright
            else (left, middle[1], right, middle[1])
        )
        lines.append(svg.line(*shut, width=1.0))
    return Markup("").join([gap, *lines])


def _window(window: Window, view: PlanView) -> Markup:
    """Return a window as a white gap in the wall with a pane."""
    low, high = list(window.low[:2]), list(window.high[:2])
    axis = window.side.axis
    if axis == 2:
        return Markup("")
    low[axis], high[axis] = sorted((low[axis], low[axis] + window.side.sign * WALL))
    left, top, right, bottom = view.box(low, high)
    frame = svg.rectangle(left, top, right - left, bottom - top, fill=svg.WHITE, stroke_width=0.35)
    if axis == 0:
        middle = 0.5 * (left + right)
        return frame + svg.line(middle, top, middle, bottom, width=0.25)
    middle = 0.5 * (top + bottom)
    return frame + svg.line(left, middle, right, middle, width=0.25)


def _socket(position: tuple[float, float, float], side: Side, view: PlanView) -> Markup:
    """Return a wall outlet in its wall."""
    at = [position[0], position[1]]
    if side.axis < 2:
        at[side.axis] += 0.5 * side.sign * WALL
    return outlet_symbol(*view.at(at[0], at[1]))


def outlet_symbol(x: float, y: float) -> Markup:
    """Return the sign of a wall outlet: a ring with two slots."""
    slots = svg.line(x - 0.4, y - 0.5, x - 0.4, y + 0.5) + svg.line(
        x + 0.4, y - 0.5, x + 0.4, y + 0.5
    )
    return svg.circle(x, y, 1.15) + slots


def lengths_take(view: PlanView) -> list[Rectangle]:
    """Return what ``lengths`` takes of the drawing [mm]."""
    left, top = view.corner[0], view.margin_top
    right, bottom = view.size[0] - left, view.corner[1]
    y, x = bottom + view.length(WALL) + 2.6, left - view.length(WALL) - 2.6
    return [(left, y - 1.4, right, y + 1.4), (x - 1.4, top, x + 1.4, bottom)]


def lengths(view: PlanView, units: System) -> Markup:
    """Return the inner length and depth of the storey, drawn outside of its walls."""
    left, top = view.corner[0], view.margin_top
    right, bottom = view.size[0] - left, view.corner[1]
    across = format_length((right - left) * view.ratio / 1000.0, units)
    deep = format_length((bottom - top) * view.ratio / 1000.0, units)
    y, x = bottom + view.length(WALL) + 2.6, left - view.length(WALL) - 2.6
    drawn = [
        svg.line(left, y, right, y, 0.2),
        svg.line(left, y - 1.2, left, y + 1.2, 0.2),
        svg.line(right, y - 1.2, right, y + 1.2, 0.2),
        svg.line(x, top, x, bottom, 0.2),
        svg.line(x - 1.2, top, x + 1.2, top, 0.2),
        svg.line(x - 1.2, bottom, x + 1.2, bottom, 0.2),
    ]
    wide = svg.text_width(across, 2.4) + 1.6
    middle = 0.5 * (left + right)
    drawn.append(svg.rectangle(middle - 0.5 * wide, y - 1.4, wide, 2.8, fill="#fff", stroke="none"))
    drawn.append(svg.text(middle, y, across))
    upright = 0.5 * (top + bottom)
    turned = svg.rectangle(-0.5 * wide, -1.4, wide, 2.8, fill="#fff", stroke="none")
    turned += svg.text(0.0, 0.0, deep)
    drawn.append(
        svg.element("g", turned, transform=f"translate({x:.2f} {upright:.2f}) rotate(-90)")
    )
    return Markup("").join(drawn)


def format_length(metres: float, units: System) -> str:
    """Return a length of a room as text."""
    return format_quantity(metres, "length", units) if units == "us" else f"{metres:.2f} m"


def scale_bar(x: float, y: float, view: PlanView, units: System) -> Markup:
    """Return a bar of two metres (six feet) in black and white pieces, from its left end."""
    piece, name = (0.5, "m") if units == "si" else (2 * FOOT, "ft")
    step = view.length(piece)
    drawn = []
    for number in range(4):
        fill = svg.BLACK if number % 2 == 0 else svg.WHITE
        drawn.append(svg.rectangle(x + number * step, y, step, 1.4, fill=fill, stroke_width=0.2))
    for number in (0, 2, 4):
        told = number * (0.5 if units == "si" else 2)
        words = f"{told:g}" + (f" {name}" if number == 4 else "")
        drawn.append(svg.text(x + number * step, y + 3.2, words, 2.2))
    drawn.append(
        svg.text(
            x + 4 * step + 7.0,
            y + 0.7,
            f"scale 1:{view.ratio} where the page is printed at 100 %",
            2.4,
            anchor="start",
        )
    )
    return Markup("").join(drawn)


def north_arrow(x: float, y: float) -> Markup:
    """Return an arrow that points up the page, its tip at (x, y)."""
    left = svg.path([(x, y), (x - 1.8, y + 6.0), (x, y + 4.6)], fill=svg.BLACK, width=0.2)
    right = svg.path([(x, y), (x + 1.8, y + 6.0), (x, y + 4.6)], fill=svg.WHITE, width=0.2)
    return left + right + svg.text(x, y - 1.8, "N", 3.0, is_bold=True)
