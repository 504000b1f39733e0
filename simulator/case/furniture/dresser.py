"""The dresser."""

from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.fields import PositiveLength
from simulator.case.furniture.chest import Chest


class Dresser(Chest):
    """Chest of drawers full of folded clothes; boards around loose textile.

    Shut drawers are among the slowest things in a room. Open drawers let air through their load.
    """

    words: ClassVar[str] = "dresser"

    kind: Literal["dresser"] = "dresser"
    width: PositiveLength = Field(0.90, description="side to side; estimate: 35 in (0.90 m)")
    depth: PositiveLength = Field(0.45, description="front to back; estimate: 18 in (0.45 m)")
    height: PositiveLength = Field(0.95, description="floor to top; estimate: 37 in (0.95 m)")
    drawers: int = Field(
        4, strict=True, ge=1, le=8, description="number of drawers, one above the other"
    )
    pull: PositiveLength = Field(
        0.28, description="how far the lowest open drawer stands out; estimate: 11 in (0.28 m)"
    )
