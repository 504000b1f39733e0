"""Fire devices under the ceiling: sprinkler head, smoke alarm, heat detector.

They are too small to store heat: each yields one watched point with the limit of its class, and no
stuff. None of them may ever be covered or put out of action to pass a limit; that is for the owner
and a licensed fire-protection contractor.
"""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case import hazards
from simulator.case.dwelling import Room
from simulator.case.fields import Flag, PositiveLength, refusal
from simulator.case.furniture.placement import Furniture
from simulator.case.hazards import Hazard
from simulator.case.parts import Vector
from simulator.case.workbench import Workbench
from simulator.errors import CaseError


class Overhead(Furniture):
    """A small thing that hangs from the ceiling. Not a kind of its own."""

    may_overlap: ClassVar[bool] = True

    below_ceiling: PositiveLength

    @model_validator(mode="after")
    def _hangs_from_the_ceiling(self) -> Self:
        if self.elevation != 0.0:
            raise refusal("elevation", "it hangs from the ceiling; use below_ceiling")
        return self

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Watch one point under the ceiling of ``room``."""
        height = room.size[2] - self.below_ceiling
        if height <= 0.0:
            raise CaseError(f"{self.name}: below_ceiling is more than the room's height")
        position: Vector = (0.0, 0.0, height)
        bench.watch(self.words, position, self.hazard())
        half = min(0.05, self.below_ceiling)
        bench.claim((-half, -half, height - half), (half, half, height + half))

    def hazard(self) -> Hazard:
        """Return what heat does to it."""
        raise NotImplementedError


class Sprinkler(Overhead):
    """Automatic sprinkler head. Its class sets the highest temperature allowed at the ceiling.

    An ordinary head's limit, 38 °C (100 °F), is passed in every heat treatment: see the owner and a
    licensed fire-protection contractor before the day.
    """

    words: ClassVar[str] = "sprinkler head"

    kind: Literal["sprinkler"] = "sprinkler"
    rating: Literal["ordinary", "intermediate", "high"] = Field(
        "ordinary",
        description="ordinary, intermediate or high: the class, stamped or shown by colour",
    )
    below_ceiling: PositiveLength = Field(
        0.08, description="ceiling to the head; estimate: 3 in (8 cm)"
    )

    def hazard(self) -> Hazard:
        """Return what heat does to a head of its class."""
        return hazards.sprinkler(self.rating)


class SmokeAlarm(Overhead):
    """Smoke alarm at the ceiling, made for 4 to 38 °C (40 to 100 °F)."""

    words: ClassVar[str] = "smoke alarm"

    kind: Literal["smoke_alarm"] = "smoke_alarm"
    below_ceiling: PositiveLength = Field(
        0.04, description="ceiling to its middle; 1 1/2 in (4 cm)"
    )

    def hazard(self) -> Hazard:
        """Return what heat does to it."""
        return hazards.smoke_alarm()


class HeatDetector(Overhead):
    """Heat detector at the ceiling; most also trip when the air warms by about 8 K in a minute."""

    words: ClassVar[str] = "heat detector"

    kind: Literal["heat_detector"] = "heat_detector"
    below_ceiling: PositiveLength = Field(
        0.04, description="ceiling to its middle; 1 1/2 in (4 cm)"
    )

    rating: Literal["ordinary", "intermediate"] = Field(
        "ordinary", description="ordinary or intermediate: the class, stamped or shown by colour"
    )
    by_rate: Flag = Field(
        True, description="true if it also trips when the air warms by about 8 K in a minute"
    )

    def hazard(self) -> Hazard:
        """Return what heat does to a detector of its class."""
        return hazards.heat_detector(self.rating, by_rate=self.by_rate)
