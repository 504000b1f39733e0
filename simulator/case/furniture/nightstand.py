"""The nightstand."""

from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.fields import PositiveLength
from simulator.case.furniture.chest import Chest


class Nightstand(Chest):
    """Small chest beside the bed with two drawers."""

    words: ClassVar[str] = "nightstand"

    kind: Literal["nightstand"] = "nightstand"
    width: PositiveLength = Field(0.50, description="side to side; estimate: 20 in (0.50 m)")
    depth: PositiveLength = Field(0.40, description="front to back; estimate: 16 in (0.40 m)")
    height: PositiveLength = Field(0.60, description="floor to top; estimate: 24 in (0.60 m)")
    drawers: int = Field(
        2, strict=True, ge=1, le=3, description="number of drawers, one above the other"
    )
    pull: PositiveLength = Field(
        0.20, description="how far the lowest open drawer stands out; estimate: 8 in (0.20 m)"
    )
