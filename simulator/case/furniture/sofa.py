"""The sofa."""

from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.fields import PositiveLength
from simulator.case.furniture.upholstery import UpholsteredSeat


class Sofa(UpholsteredSeat):
    """Upholstered sofa: base with springs, loose seat cushions, padded back and arms, short feet.

    Defaults make a three-seater of 79 in (2.0 m). A loveseat is about 60 in (1.5 m) with 2
    cushions.
    """

    words: ClassVar[str] = "sofa"

    kind: Literal["sofa"] = "sofa"
    width: PositiveLength = Field(2.0, description="over the arms; three-seater 79 in (2.0 m)")
    cushions: int = Field(3, strict=True, ge=1, le=5, description="number of seat cushions")
