"""The first line of a log: how its times are given, and its sensors with their units."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from simulator.case.documents import choices
from simulator.errors import CaseError, UnitError
from simulator.units import parse_quantity

_COLUMN = re.compile(r"^(?P<name>.*?)\s*\[(?P<unit>[^\[\]]+)\]\s*$")


@dataclass(frozen=True, slots=True)
class Columns:
    """The header: unit of elapsed times (None: dates), names and units of the sensors."""

    time_unit: str | None
    names: tuple[str, ...]
    units: tuple[str, ...]

    @classmethod
    def read(
        cls, cells: Sequence[str], known: Sequence[str], label: str, header: tuple[int, str]
    ) -> "Columns":
        """Return the columns of a header, or refuse it in one line."""
        where = f"{label}:{header[0]}"
        first, *rest = (cell.strip() for cell in cells)
        stamped = _COLUMN.match(first)
        name = stamped["name"] if stamped else first
        if name.lower() != "time":
            raise CaseError(
                f"{where}: the first column is '{first}'; it must be 'time' (dates with hours) or "
                "'time [min]'"
            )
        unit = stamped["unit"] if stamped else None
        if unit is not None:
            _check_unit(f"1 {unit}", "time", f"{where}: time")
        names, units = [], []
        for cell in rest:
            column = _COLUMN.match(cell)
            if column is None:
                raise CaseError(
                    f"{where}: column '{cell}' has no unit; write '{cell} [degC]' or "
                    f"'{cell} [degF]'"
                )
            if column["name"] not in known:
                end = choices(column["name"], list(known), "sensors of the layout")
                raise CaseError(f"{where}: unknown sensor '{column['name']}'; {end}")
            if column["name"] in names:
                raise CaseError(f"{where}: sensor '{column['name']}' has two columns; give one")
            _check_unit(f"1 {column['unit']}", "temperature", f"{where}: {column['name']}")
            names.append(column["name"])
            units.append(column["unit"])
        if not names:
            raise CaseError(f"{where}: no sensor; each further column is one, 'NAME [degC]'")
        return cls(unit, tuple(names), tuple(units))


def _check_unit(sample: str, dimension: str, where: str) -> None:
    try:
        parse_quantity(sample, dimension)
    except UnitError as problem:
        raise CaseError(f"{where}: {problem}") from None
