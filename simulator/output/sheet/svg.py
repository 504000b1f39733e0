"""Drawings for the sheet as SVG text: elements, strokes that tell apart without colour, widths.

Lengths of a drawing are millimetres of paper; y runs down the page.
"""

from dataclasses import dataclass

from markupsafe import Markup, escape

BLACK, GREY, LIGHT, WHITE = "#000000", "#666666", "#dddddd", "#ffffff"

FONT = "Liberation Sans, Arial, Helvetica, DejaVu Sans, sans-serif"

#: Width of characters over the size of the type [-], rounded up so that a text of a usual sans
#: serif face fits (estimate from such faces).
_NARROW, _WIDE = frozenset("iljtfrI.,:;'|!()[]/ -"), frozenset("mwMW@%–—")
_WIDTHS = {"narrow": 0.34, "plain": 0.60, "wide": 0.95}


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished drawing: its elements, and its size on paper [mm]."""

    body: Markup
    width: float
    height: float
    words: str  # what it shows, for readers who do not see it

    @property
    def markup(self) -> Markup:
        """The whole <svg> element, to be set into a page."""
        attributes = {
            "width": f"{self.width:.2f}mm",
            "height": f"{self.height:.2f}mm",
            "viewBox": f"0 0 {self.width:.2f} {self.height:.2f}",
            "role": "img",
            "aria-label": self.words,
            "font-family": FONT,
        }
        return element("svg", content=self.body, **attributes)


def element(tag: str, content: str | Markup = "", **attributes: str | float) -> Markup:
    """Return an element; ``stroke_width`` stands for stroke-width.

    Text in ``content`` and in attributes is escaped; markup stays.
    """
    told = Markup("").join(
        Markup(' {}="{}"').format(Markup(_attribute(key)), _shown(value))
        for key, value in attributes.items()
    )
    name = Markup(tag)
    return Markup("<{}{}>{}</{}>").format(name, told, escape(content), name)


def _attribute(key: str) -> str:
    return key if key == "viewBox" else key.replace("_", "-")


def _shown(value: str | float) -> str:
    return f"{value:.2f}" if isinstance(value, float) else str(value)


def line(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    width: float = 0.25,
    dash: str = "",
    stroke: str = BLACK,
) -> Markup:
    """Return a line; ``dash`` in millimetres, such as "1.2 0.8"."""
    dashes = {"stroke_dasharray": dash} if dash else {}
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=width, **dashes)


def path(
    points: list[tuple[float, float]],
    *,
    fill: str = "none",
    stroke: str = BLACK,
    width: float = 0.25,
    dash: str = "",
    is_closed: bool = True,
) -> Markup:
    """Return a polygon or an open line through points."""
    dashes = {"stroke_dasharray": dash} if dash else {}
    return element(
        "polygon" if is_closed else "polyline",
        points=" ".join(f"{x:.2f},{y:.2f}" for x, y in points),
        fill=fill,
        stroke=stroke,
        stroke_width=width,
        **dashes,
    )


def rectangle(
    left: float,
    top: float,
    width: float,
    height: float,
    *,
    fill: str = "none",
    stroke: str = BLACK,
    stroke_width: float = 0.25,
) -> Markup:
    """Return a rectangle from its upper left corner."""
    return element(
        "rect",
        x=left,
        y=top,
        width=width,
        height=height,
        fill=fill,
        stroke=stroke,
        stroke_width=stroke_width,
    )


def circle(x: float, y: float, radius: float, *, fill: str = WHITE, width: float = 0.3) -> Markup:
    """Return a circle about a point."""
    return element("circle", cx=x, cy=y, r=radius, fill=fill, stroke=BLACK, stroke_width=width)


def text(
    x: float,
    y: float,
    words: str,
    size: float = 2.4,
    *,
    anchor: str = "middle",
    fill: str = BLACK,
    is_bold: bool = False,
) -> Markup:
    """Return one line of text whose middle height is at ``y``; ``size`` [mm]."""
    weight = {"font_weight": "bold"} if is_bold else {}
    return element(
        "text",
        words,
        x=x,
        y=y + 0.35 * size,
        font_size=size,
        text_anchor=anchor,
        fill=fill,
        **weight,
    )


def text_width(words: str, size: float) -> float:
    """Return the width that a line of text takes at most, of type of ``size`` [mm]."""
    kinds = ("narrow" if c in _NARROW else "wide" if c in _WIDE else "plain" for c in words)
    return size * sum(_WIDTHS[kind] for kind in kinds)
