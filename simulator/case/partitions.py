"""Which rooms face each other across a partition, and where."""

from dataclasses import dataclass

from simulator.case.dwelling import Room, Side
from simulator.case.parts import Vector

#: Thickness that a gap between two rooms may have to be a partition [m] (estimate: from a board to
#: an old masonry wall or a floor with its joists).
THINNEST_PARTITION = 0.02
THICKEST_PARTITION = 0.60

#: Round-off that positions written in mixed units may have [m].
ROUND_OFF = 1e-6


@dataclass(frozen=True, slots=True)
class Gap:
    """The box of wall between two rooms that face each other, ``low`` to ``high`` [m].

    ``side`` is the side of the first room that it lies on.
    """

    side: Side
    low: Vector
    high: Vector

    @property
    def thickness(self) -> float:
        """Distance between the two rooms [m]."""
        return self.high[self.side.axis] - self.low[self.side.axis]

    @property
    def is_partition(self) -> bool:
        """Whether it is as thick as a partition may be."""
        return THINNEST_PARTITION - ROUND_OFF <= self.thickness <= THICKEST_PARTITION + ROUND_OFF


def rooms_overlap(first: Room, second: Room) -> bool:
    """Return whether two rooms share air."""
    return all(
        min(first.high[axis], second.high[axis]) - max(first.low[axis], second.low[axis])
        > ROUND_OFF
        for axis in range(3)
    )


def gap_between(first: Room, second: Room) -> Gap | None:
    """Return the gap across which two rooms face each other, or None if they do not."""
    for side in Side:
        axis = side.axis
        near = first.high[axis] if side.sign > 0 else second.high[axis]
        far = second.low[axis] if side.sign > 0 else first.low[axis]
        if far - near < -ROUND_OFF:
            continue
        low = [max(first.low[i], second.low[i]) for i in range(3)]
        high = [min(first.high[i], second.high[i]) for i in range(3)]
        low[axis], high[axis] = near, far
        if all(high[i] - low[i] > ROUND_OFF for i in range(3) if i != axis):
            return Gap(side, (low[0], low[1], low[2]), (high[0], high[1], high[2]))
    return None


def partition_share(room: Room, others: tuple[Room, ...], side: Side) -> float:
    """Return the share of a room's side that is partition to other rooms [-]."""
    across = [axis for axis in range(3) if axis != side.axis]
    covered = 0.0
    for other in others:
        gap = gap_between(room, other) if other is not room else None
        if gap is not None and gap.side is side and gap.is_partition:
            covered += _product([gap.high[i] - gap.low[i] for i in across])
    return covered / _product([room.size[i] for i in across])


def _product(lengths: list[float]) -> float:
    return lengths[0] * lengths[1]
