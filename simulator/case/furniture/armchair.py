"""The armchair."""

from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.fields import PositiveLength
from simulator.case.furniture.upholstery import UpholsteredSeat


class Armchair(UpholsteredSeat):
    """Upholstered armchair with one loose seat cushion, built as the sofa is."""

    words: ClassVar[str] = "armchair"

    kind: Literal["armchair"] = "armchair"
    width: PositiveLength = Field(0.90, description="over the arms; estimate: 35 in (0.90 m)")
    cushions: int = Field(1, strict=True, ge=1, le=2, description="number of seat cushions")
