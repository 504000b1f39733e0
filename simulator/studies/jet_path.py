"""What the axis of a fan's jet meets first: furniture, or a side of the room."""

import math
from dataclasses import dataclass

import numpy as np

from simulator.case.case import Case
from simulator.case.dwelling import Room
from simulator.case.parts import PorousPart, SolidPart
from simulator.grid.grid import FloatArray
from simulator.studies.fan_layout import FanPlace

#: Distance of the points that are looked at along the axis [m].
STRIDE = 0.05

_SIDES = (("west wall", "east wall"), ("south wall", "north wall"), ("floor", "ceiling"))


@dataclass(frozen=True, slots=True)
class Stuff:
    """The furniture of a case as boxes (B,): centres [m], half sizes [m], turns and tilts [rad]."""

    rooms: dict[str, Room]
    owners: tuple[str, ...]
    centre: FloatArray  # (B, 3)
    half: FloatArray  # (B, 3)
    turn: FloatArray
    tilt: FloatArray

    @classmethod
    def of(cls, case: Case) -> "Stuff":
        """Return the furniture of a case."""
        parts = [part for part in case.parts if isinstance(part, SolidPart | PorousPart)]
        boxes = [part.box for part in parts]
        return cls(
            rooms={room.name: room for room in case.dwelling.rooms},
            owners=tuple(part.owner for part in parts),
            centre=np.array([box.centre for box in boxes]).reshape(-1, 3),
            half=0.5 * np.array([box.size for box in boxes]).reshape(-1, 3),
            turn=np.radians([box.turn for box in boxes]),
            tilt=np.radians([box.tilt for box in boxes]),
        )

    def met_by(self, fan: FanPlace, within: float = 12.0) -> tuple[str, float] | None:
        """Return what the axis of a fan meets first within a distance [m], and how far off [m].

        The name of a piece of furniture, or the side of the room in words; None: nothing.
        """
        room = self.rooms[fan.room]
        turn, tilt = math.radians(fan.turn), math.radians(fan.tilt)
        level = math.cos(tilt)
        ahead = np.array([level * math.cos(turn), level * math.sin(turn), math.sin(tilt)])
        start = np.add(room.low, (fan.at[0], fan.at[1], fan.height))
        away = STRIDE * np.arange(1, int(within / STRIDE) + 1)
        points = start + away[:, None] * ahead
        low, high = points <= np.array(room.low), points >= np.array(room.high)
        is_out = (low | high).any(axis=1)
        inside = self._holds(points)
        is_hit = is_out | inside.any(axis=1)
        if not is_hit.any():
            return None
        first = int(np.argmax(is_hit))
        if is_out[first]:
            axis = int(np.argmax(low[first] | high[first]))
            return f"the {_SIDES[axis][int(high[first][axis])]}", float(away[first])
        return self.owners[int(np.argmax(inside[first]))], float(away[first])

    def _holds(self, points: FloatArray) -> np.ndarray:
        """Return which box holds which point (P, B)."""
        x, y, z = (points[:, None, axis] - self.centre[None, :, axis] for axis in range(3))
        u = np.cos(self.turn) * x + np.sin(self.turn) * y
        v = np.cos(self.turn) * y - np.sin(self.turn) * x
        v, w = (
            np.cos(self.tilt) * v + np.sin(self.tilt) * z,
            np.cos(self.tilt) * z - np.sin(self.tilt) * v,
        )
        is_in: np.ndarray = (
            (np.abs(u) <= self.half[:, 0])
            & (np.abs(v) <= self.half[:, 1])
            & (np.abs(w) <= self.half[:, 2])
        )
        return is_in
