"""The field types of case files: text with a unit in, SI (and °C) out, validated by pydantic."""

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
)
from pydantic_core import CoreSchema, PydanticCustomError

from simulator.errors import UnitError
from simulator.units import parse_quantity


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads text of a dimension; forms find the dimension in the field's JSON schema."""

    dimension: str

    def read(self, value: Any) -> float:
        try:
            return parse_quantity(value, self.dimension)
        except UnitError as error:
            raise PydanticCustomError("quantity", "{problem}", {"problem": str(error)}) from None

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return BeforeValidator(self.read).__get_pydantic_core_schema__(source, handler)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {**handler(schema), "dimension": self.dimension}


def _opening(value: Any) -> tuple[float, bool]:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if is_number and 0.0 <= value <= 1.0:
        return float(value), False
    if isinstance(value, str):
        try:
            width = parse_quantity(value, "length")
        except UnitError as error:
            raise PydanticCustomError("quantity", "{problem}", {"problem": str(error)}) from None
        if width >= 0.0:
            return width, True
    problem = f"{value!r} is not an opening; give a width such as '30 cm' or a share from 0 to 1"
    raise PydanticCustomError("quantity", "{problem}", {"problem": problem})


#: Text such as "14 ft 6 in" to metres.
Length = Annotated[float, _Reader("length")]
PositiveLength = Annotated[float, _Reader("length"), Field(gt=0.0)]
NotNegativeLength = Annotated[float, _Reader("length"), Field(ge=0.0)]
#: "60 kg/m3" (of loose stuff) to kg/m³.
Density = Annotated[float, _Reader("density"), Field(gt=0.0)]
#: "1500 cfm" to m³/s.
Flow = Annotated[float, _Reader("flow"), Field(gt=0.0)]
#: "5.6 kW" to W.
Power = Annotated[float, _Reader("power"), Field(ge=0.0)]
#: "50 Pa".
Pressure = Annotated[float, _Reader("pressure"), Field(gt=0.0)]
#: "140 degF" to °C.
Temperature = Annotated[float, _Reader("temperature"), Field(gt=-60.0, lt=200.0)]
#: "9 degF_difference" or "5 K" to kelvin.
TemperatureDifference = Annotated[float, _Reader("temperature difference"), Field(gt=0.0)]
#: "30 deg" to degrees.
Angle = Annotated[float, _Reader("angle"), Field(ge=-360.0, le=360.0)]
#: "5 K/h" to K/s.
TemperatureRate = Annotated[float, _Reader("temperature rate"), Field(gt=0.0)]
#: A time of the run, "0 h" being its start, to seconds.
Moment = Annotated[float, _Reader("time"), Field(ge=0.0)]
#: "6 h" to seconds.
Duration = Annotated[float, _Reader("time"), Field(gt=0.0)]
#: "0.5 1/h" to 1/s.
AirChange = Annotated[float, _Reader("air change"), Field(ge=0.0)]
#: "120 V".
Voltage = Annotated[float, _Reader("voltage"), Field(gt=0.0)]
#: "15 A".
Current = Annotated[float, _Reader("current"), Field(gt=0.0)]
#: "0.13 W/(m K)".
Conductivity = Annotated[float, _Reader("conductivity"), Field(gt=0.0)]
#: "0.04 m2 K/W".
ThermalResistance = Annotated[float, _Reader("thermal resistance"), Field(ge=0.0)]
#: "1600 J/(kg K)".
SpecificHeat = Annotated[float, _Reader("specific heat"), Field(gt=0.0)]
#: "30 cm" to (metres, True), or a bare share from 0 to 1 to (share, False).
Opening = Annotated[tuple[float, bool], BeforeValidator(_opening)]
#: true or false, and no words such as "yes".
Flag = Annotated[bool, Field(strict=True)]
#: A name that messages and results can use: one short line.
Name = Annotated[
    str, Field(strict=True, min_length=1, max_length=60, pattern=r"^[^\x00-\x1f\x7f]*$")
]
#: A bare number between 0 and 1.
Share = Annotated[float, Field(strict=True, ge=0.0, le=1.0)]
#: On the floor of a room, from its south-west corner: [x east, y north].
FloorPoint = tuple[Length, Length]
#: In a room, from its south-west floor corner: [x, y, z].
RoomPoint = tuple[Length, Length, Length]
#: Extent along x, y, z before turning.
Size = tuple[PositiveLength, PositiveLength, PositiveLength]


def refusal(key: str | tuple[str | int, ...], problem: str) -> PydanticCustomError:
    """Return the error with which a table's own check points at a key, or a path, within it."""
    return PydanticCustomError("refusal", "{problem}", {"problem": problem, "key": key})


class Record(BaseModel):
    """A table of a case file: unknown keys are refused, nothing can be changed after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
