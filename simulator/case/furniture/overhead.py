"""Fire devices under the ceiling: sprinkler head, smoke alarm, heat detector.

They are too small to store heat: each yields one watched point with the limit of its class, and no
stuff. None of them may ever be covered or put out of action to pass a limit; that is for the owner
and a licensed fire-protection contractor.
"""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from simulator.case.dwelling import Room
from simulator.case.fields import PositiveLength, refusal
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import Vector
from simulator.case.workbench import Workbench
from simulator.errors import CaseError

#: Highest ceiling temperature [°C] of sprinkler heads by temperature class (NFPA 13 classes, from
#: secondary pages).
SPRINKLER_CEILING = {"ordinary": 38.0, "intermediate": 66.0, "high": 107.0}

#: Temperatures at which heads of the class open [°C] (NFPA 13 classes, from secondary pages).
SPRINKLER_OPENS = {"ordinary": "57 to 77", "intermediate": "79 to 107", "high": "121 to 149"}

#: Highest ambient temperature of a smoke alarm [°C] (installation texts: 4 to 38 °C).
SMOKE_ALARM_LIMIT = 38.0

#: Highest ceiling temperature of an ordinary heat detector [°C] (NFPA 72 classes, secondary pages).
HEAT_DETECTOR_CEILING = 46.0


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
        limit, basis = self.limit_and_basis()
        position: Vector = (0.0, 0.0, height)
        bench.probe(self.words, position, limit, basis)
        half = min(0.05, self.below_ceiling)
        bench.claim((-half, -half, height - half), (half, half, height + half))

    def limit_and_basis(self) -> tuple[float, str]:
        """Return the highest temperature allowed there [°C] and where it comes from."""
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

    def limit_and_basis(self) -> tuple[float, str]:
        """Return the highest ceiling temperature of its class."""
        opens = SPRINKLER_OPENS[self.rating]
        basis = (
            f"highest ceiling temperature of {self.rating} heads, which open at {opens} °C "
            "(NFPA 13 classes, from secondary pages)"
        )
        return SPRINKLER_CEILING[self.rating], basis


class SmokeAlarm(Overhead):
    """Smoke alarm at the ceiling, made for 4 to 38 °C (40 to 100 °F)."""

    words: ClassVar[str] = "smoke alarm"

    kind: Literal["smoke_alarm"] = "smoke_alarm"
    below_ceiling: PositiveLength = Field(
        0.04, description="ceiling to its middle; 1 1/2 in (4 cm)"
    )

    def limit_and_basis(self) -> tuple[float, str]:
        """Return the highest ambient temperature."""
        return SMOKE_ALARM_LIMIT, "ambient 4 to 38 °C (installation texts)"


class HeatDetector(Overhead):
    """Ordinary heat detector at the ceiling; may also trip when the air warms 8 K in a minute."""

    words: ClassVar[str] = "heat detector"

    kind: Literal["heat_detector"] = "heat_detector"
    below_ceiling: PositiveLength = Field(
        0.04, description="ceiling to its middle; 1 1/2 in (4 cm)"
    )

    def limit_and_basis(self) -> tuple[float, str]:
        """Return the highest ceiling temperature of the ordinary class."""
        basis = (
            "highest ceiling temperature of ordinary heat detectors, which open at 57 to 79 °C "
            "(NFPA 72 classes, from secondary pages)"
        )
        return HEAT_DETECTOR_CEILING, basis
