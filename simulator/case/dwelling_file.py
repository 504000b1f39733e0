"""The dwelling file as a user writes it: rooms, constructions, openings, leaks.

Rooms are inner boxes; the gaps between them (2 to 60 cm) are partitions. Sides are named by
compass: x runs east, y north, z up. Where a side faces another room across a partition, the
partition counts and not the side's own construction.
"""

from typing import Any, Literal

from pydantic import Field, model_validator

from simulator.case.constructions import CONSTRUCTIONS
from simulator.case.fields import (
    AirChange,
    Conductivity,
    Density,
    Flag,
    FloorPoint,
    Length,
    Name,
    NotNegativeLength,
    Opening,
    PositiveLength,
    Record,
    Share,
    Size,
    SpecificHeat,
    Temperature,
    ThermalResistance,
    refusal,
)

WallName = Literal["west", "east", "south", "north"]


class MaterialRecord(Record):
    """A material of the user's own."""

    name: Name = Field(description="name, not one of the ready materials")
    conductivity: Conductivity = Field(description="such as '0.13 W/(m K)'")
    density: Density = Field(description="such as '500 kg/m3'")
    heat_capacity: SpecificHeat = Field(description="such as '1600 J/(kg K)'")
    emissivity: Share = Field(default=0.9, description="long-wave emissivity, 0 to 1")
    harm_temperature: Temperature | None = Field(default=None, description="where harm begins")
    source: str = Field(min_length=1, description="where the numbers come from")


class LayerRecord(Record):
    """One layer of a construction."""

    material: Name = Field(description="name of a material")
    thickness: PositiveLength = Field(description="such as '1/2 in'")


class ConstructionRecord(Record):
    """A construction of the user's own: layers from the room side outwards."""

    name: Name = Field(description="name, not one of the ready constructions")
    layers: tuple[LayerRecord, ...] = Field(
        min_length=1, description="list of { material, thickness } from the room side outwards"
    )


class BehindRecord(Record):
    """Something behind a wall that has a temperature of its own."""

    name: Name = Field(description="name, not 'outdoors', 'ground' or 'mirror'")
    temperature: Temperature = Field(description="held for the whole run")
    resistance: ThermalResistance = Field(
        default=0.13,  # Rsi of ISO 6946 for horizontal heat flow (read at second hand)
        description="between the construction and that temperature",
    )


class SideRecord(Record):
    """What a side of a room is made of and what is behind it."""

    construction: Name = Field(description="name of a construction")
    behind: Name = Field(
        description="'outdoors', 'ground', 'mirror' (a room treated alike) or a [[behind]] name"
    )


def _side(*ends: str) -> Any:
    """Return the field of a side, with the ready constructions that suit it."""
    suited = [name for name in CONSTRUCTIONS if name.endswith(ends)]
    return Field(
        default=None,
        description="{ construction, behind }",
        json_schema_extra={"ready": {"construction": ", ".join(suited)}},
    )


_WALL, _FLOOR, _CEILING = _side("_wall"), _side("_floor", "_on_ground"), _side("_ceiling")


class ShellRecord(Record):
    """The usual walls, floor and ceiling, for rooms that do not say otherwise."""

    walls: SideRecord | None = _WALL
    floor: SideRecord | None = _FLOOR
    ceiling: SideRecord | None = _CEILING


class RoomRecord(ShellRecord):
    """A room as the box of its air, and what its sides are if not the shell's."""

    name: Name = Field(description="name, unique in the dwelling")
    at: FloorPoint = Field(
        default=(0.0, 0.0), description="its south-west inner corner: [x east, y north]"
    )
    elevation: Length = Field(default=0.0, description="height of its floor above the first floor")
    size: Size = Field(description="inner size [x, y, height], such as ['4.2 m', '3.6 m', '8 ft']")
    west: SideRecord | None = _WALL
    east: SideRecord | None = _WALL
    south: SideRecord | None = _WALL
    north: SideRecord | None = _WALL


class DoorwayRecord(Record):
    """An opening through the partition between two rooms."""

    name: Name = Field(description="name, unique in the dwelling")
    between: tuple[Name, Name] = Field(description="the two rooms")
    along: NotNegativeLength = Field(
        description="from the first room's south or west end of that wall to the opening"
    )
    width: PositiveLength = Field(default=0.81, description="of the opening")  # 32 in leaf
    height: PositiveLength = Field(default=2.03, description="of the opening")  # 6 ft 8 in leaf
    sill: NotNegativeLength = Field(default=0.0, description="its foot above the floor")
    open: Flag = Field(default=True, description="a shut door is as solid as the partition")


class WindowRecord(Record):
    """A window in a wall of a room."""

    name: Name = Field(description="name, unique among the windows")
    room: Name = Field(description="the room it belongs to")
    side: WallName = Field(description="the wall it is in")
    along: NotNegativeLength = Field(
        description="from the wall's south or west end to the window's near edge"
    )
    sill: NotNegativeLength = Field(default=0.9, description="its foot above the floor")
    width: PositiveLength = Field(description="of the glazing")
    height: PositiveLength = Field(description="of the glazing")
    construction: Name = Field(default="double_glazing", description="name of a construction")
    open: Opening = Field(
        default=(0.0, False),
        description="how far it is open: width of the opening, such as '30 cm', or a share of the"
        " window, such as 0.5; left out: shut",
    )


class SocketRecord(Record):
    """An electrical outlet in a wall; bugs hide in the cavity behind it."""

    room: Name = Field(description="the room it belongs to")
    side: WallName = Field(description="the wall it is in")
    along: NotNegativeLength = Field(description="from the wall's south or west end")
    height: NotNegativeLength = Field(default=0.30, description="above the floor")


class LeakageRecord(Record):
    """How much air leaks in and out of each room that has an outside."""

    air_changes: AirChange | None = Field(
        default=None, description="of each room's volume, such as '0.5 1/h' (the default)"
    )
    n50: AirChange | None = Field(
        default=None, description="air change at 50 Pa of a blower-door test, such as '4 1/h'"
    )
    shielding: Share = Field(default=0.03, description="e of EN 12831, with n50")
    height_correction: float = Field(
        default=1.0, gt=0.0, le=10.0, strict=True, description="ε of EN 12831, with n50"
    )

    @model_validator(mode="after")
    def _one_way_only(self) -> "LeakageRecord":
        if self.air_changes is not None and self.n50 is not None:
            raise refusal("n50", "give either air_changes or n50, not both")
        return self

    @property
    def rate(self) -> float:
        """Air changes of a room with an outside [1/s].

        Notes
        -----
        From a blower-door test by EN 12831: V̇ = 2 V n50 e ε (read at second hand). The default of
        0.5 per hour is common practice, no source (0.2 to 1.5 for dwellings).
        """
        if self.n50 is not None:
            return 2.0 * self.n50 * self.shielding * self.height_correction
        return 0.5 / 3600.0 if self.air_changes is None else self.air_changes


class OutdoorsRecord(Record):
    """The air and the ground around the dwelling."""

    temperature: Temperature = Field(description="of the air outdoors")
    ground: Temperature = Field(
        default=12.0, description="of the deep ground (default: a mild climate, no source)"
    )


class DwellingFile(Record):
    """A dwelling, without its furniture (each kind of furniture is a record of its own)."""

    name: Name = Field(description="what the dwelling is called")
    start: Temperature = Field(description="of everything in it when the heat is turned on")
    outdoors: OutdoorsRecord = Field(description="table with temperature and ground")
    partition: Name = Field(
        default="interior_wall", description="construction of all gaps between rooms"
    )
    shell: ShellRecord = Field(
        default=ShellRecord(), description="walls, floor and ceiling of rooms that give none"
    )
    leakage: LeakageRecord = Field(
        default=LeakageRecord(), description="table with air_changes or n50"
    )
    material: tuple[MaterialRecord, ...] = Field(default=(), description="own materials")
    construction: tuple[ConstructionRecord, ...] = Field(
        default=(), description="own constructions"
    )
    behind: tuple[BehindRecord, ...] = Field(default=(), description="neighbours")
    room: tuple[RoomRecord, ...] = Field(min_length=1, description="at least one [[room]]")
    doorway: tuple[DoorwayRecord, ...] = Field(default=(), description="doorways")
    window: tuple[WindowRecord, ...] = Field(default=(), description="windows")
    socket: tuple[SocketRecord, ...] = Field(default=(), description="electrical outlets")
