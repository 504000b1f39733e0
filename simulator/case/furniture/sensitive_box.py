"""A box of things that heat harms."""

from typing import ClassVar, Literal

from pydantic import Field

from simulator.case.dwelling import Room
from simulator.case.fields import Size
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.parts import Refuge
from simulator.case.workbench import Workbench

#: How deep under the lid the watched thing lies [m].
UNDER_LID = 0.01

#: Highest temperature allowed at the thing [°C], and where it comes from.
LIMITS = {
    "aerosol_cans": (50.0, "precautionary statement P412 (GHS): do not expose above 50 °C"),
    "medicines": (40.0, "USP 659, from secondary pages: spikes to 40 °C at most, within 24 h"),
    "candles": (45.0, "candles soften from 45 to 68 °C (secondary pages)"),
    "chocolate": (34.0, "chocolate melts at about 34 °C (secondary pages)"),
    "soft_plastics": (40.0, "soft plastics give way from 40 to 60 °C (secondary pages)"),
    "vinyl_records": (60.0, "vinyl warps from about 60 °C (secondary pages)"),
    "lithium_batteries": (60.0, "storage limit of lithium batteries, 60 °C (secondary pages)"),
    "fire_extinguisher": (49.0, "storage limit on the label, 49 °C (from memory)"),
}


class SensitiveBox(Furniture):
    """Box of things that heat harms: medicines, aerosol cans, candles and so on.

    The hottest of them lies just under the lid and is watched. Remove the box before the day;
    ammunition, lighters, oxygen, solvents, fuel, plants and living things never stay in.
    """

    words: ClassVar[str] = "box of heat-sensitive things"

    kind: Literal["sensitive_box"] = "sensitive_box"
    contents: Literal[
        "aerosol_cans",
        "medicines",
        "candles",
        "chocolate",
        "soft_plastics",
        "vinyl_records",
        "lithium_batteries",
        "fire_extinguisher",
    ] = Field(
        "aerosol_cans", description="what is in it, which sets the limit: " + ", ".join(LIMITS)
    )
    size: Size = Field((0.35, 0.25, 0.25), description="of the box; 14 by 10 by 10 in")

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw one box and watch the thing under its lid."""
        x, y, top = 0.5 * self.size[0], 0.5 * self.size[1], self.size[2]
        low, high = (-x, -y, 0.0), (x, y, top)
        bench.solid("box", low, high, stuffing.HOUSEHOLD_GOODS, Refuge.SURFACE)
        limit, basis = LIMITS[self.contents]
        depth = min(UNDER_LID, 0.5 * top)
        name = self.contents.replace("_", " ")
        bench.probe(name, (0.0, 0.0, top - depth), limit, basis)
        bench.claim(low, high)
