"""Round times below curves: whole minutes of a short run, whole hours of a long one."""

from dataclasses import dataclass

from simulator.units import format_quantity

MINUTE, HOUR = 60.0, 3600.0  # [s]

#: A run up to this long is told in minutes [s].
SHORT = 2.0 * HOUR

#: Steps between marks [s].
MINUTES = tuple(MINUTE * step for step in (1, 2, 5, 10, 15, 30, 60))
HOURS = tuple(HOUR * step for step in (1, 2, 3, 4, 6, 12, 24))


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """Marks of an axis from 0: their ``times`` [s] and ``numbers``, which are in ``unit``."""

    times: tuple[float, ...]
    numbers: tuple[str, ...]
    unit: str

    @property
    def words(self) -> tuple[str, ...]:
        """The marks with their unit, such as "30 min"; the first is a plain 0."""
        return ("0", *(format_quantity(time, "time") for time in self.times[1:]))


def time_axis(end: float, most: int = 10) -> TimeAxis:
    """Return the marks of an axis that ends at ``end`` [s], not many more than ``most`` of them.

    >>> time_axis(4500.0, 4).words
    ('0', '30 min', '1 h')
    >>> time_axis(6 * 3600.0).numbers
    ('0', '1', '2', '3', '4', '5', '6')
    """
    unit, size, steps = ("minutes", MINUTE, MINUTES) if end <= SHORT else ("hours", HOUR, HOURS)
    step = next((step for step in steps if end / step <= most), steps[-1])
    times = tuple(step * number for number in range(int(end / step + 1e-9) + 1))
    return TimeAxis(times, tuple(f"{time / size:.0f}" for time in times), unit)
