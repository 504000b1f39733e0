"""The other tables as a user writes them: the case itself, preparation, layout, circuits."""

from typing import Any

from pydantic import Field

from simulator.case.case import Circuit
from simulator.case.fields import Current, Name, Record, Voltage


class CaseFile(Record):
    """The case file: which dwelling, in which state, with which equipment, treated how.

    Each of the four is a table in the file itself or the relative path of a TOML file.
    """

    title: str = Field(
        min_length=1,
        max_length=200,
        pattern=r"^[^\x00-\x1f\x7f]*$",
        description="what the case is called",
    )
    dwelling: Any = Field(description="a table or the path of a dwelling file")
    preparation: Any = Field(default=None, description="a table or the path of a file")
    layout: Any = Field(default=None, description="a table or the path of a file")
    treatment: Any = Field(default=None, description="a table or the path of a file")


class PreparationFile(Record):
    """What is done to the dwelling before the heat: pieces removed, changed, added.

    ``change`` holds a table per piece of furniture, with the keys that differ; ``[[furniture]]``
    entries are added to the dwelling's.
    """

    name: Name = Field(default="as found", description="what the state is called")
    remove: tuple[Name, ...] = Field(default=(), description="names of furniture to take out")
    change: dict[str, dict[str, Any]] = Field(
        default_factory=dict, description="[change.NAME] tables with the keys that differ"
    )


class CircuitRecord(Record):
    """An electrical circuit and what is plugged into it."""

    name: Name = Field(description="name, unique among the circuits")
    voltage: Voltage = Field(description="such as '120 V'")
    rating: Current = Field(description="of its breaker, such as '20 A'")
    loads: tuple[Name, ...] = Field(default=(), description="names of equipment plugged into it")
    rooms: tuple[Name, ...] = Field(
        default=(), description="rooms that cords reach from its outlets; left out: all"
    )

    def compile(self) -> Circuit:
        """Return the circuit in SI."""
        return Circuit(self.name, self.voltage, self.rating, self.loads, self.rooms)


class LayoutFile(Record):
    """Where the equipment stands, without the equipment (each kind is a record of its own)."""

    name: Name = Field(default="no equipment", description="what the layout is called")
    circuit: tuple[CircuitRecord, ...] = Field(default=(), description="electrical circuits")
