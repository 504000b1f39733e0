"""Names of places in words a crew uses: which thing, which end of it, how high, by which wall.

A name is put together from what the grid knows of a place ("floor under the bed") and where the
region lies: within the furniture ("head end", "low", "east corner"), and in the room ("against the
north wall"). Compass words: +x is east, +y is north. All distances that decide a word are estimates
of what a person would say, not measurements.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from simulator.assessment.extent import Extent, extent_of_box, extents_of_owners
from simulator.case.case import Case
from simulator.case.parts import SolidPart

#: Nearer than this a region is "against" a wall [m] (estimate: an arm's thickness of space).
WALL_REACH = 0.3

#: Within this of the floor or the ceiling a region is said to be at it [m] (estimate).
LEVEL_REACH = 0.15

#: Heights over the floor where "low" ends and "high" begins in a room [m] (estimate: knee, eye).
ROOM_LEVELS = (0.6, 1.5)

#: A region that spans this share of a thing is not said to be at one end of it [-] (estimate).
WHOLE = 0.6

#: A thing shorter than this has no ends worth naming [m] (estimate).
SHORTEST_WITH_ENDS = 0.4

#: Parts that show where the head of a bed is, the surest first.
HEAD_SIGNS = ("headboard", "pillow")

#: A thing lower than this has no levels worth naming [m] (estimate: a headboard gives a bed none).
LOWEST_WITH_LEVELS = 1.4


@dataclass(frozen=True, slots=True)
class Thing:
    """A piece of furniture as naming needs it; ``head`` is the horizontal way to a bed's head."""

    owner: str
    words: str
    extent: Extent
    head: tuple[float, float] | None = None


def compass(east: int, north: int) -> str:
    """Return "north-east", "west", … from signs along x and y; "" for (0, 0)."""
    first = {-1: "south", 0: "", 1: "north"}[north]
    second = {-1: "west", 0: "", 1: "east"}[east]
    return "-".join(word for word in (first, second) if word)


def outer_third(region: Extent, whole: Extent, axis: int) -> int:
    """Return -1 or +1 if the region lies in the low or high third of the whole, else 0."""
    if whole.length(axis) < SHORTEST_WITH_ENDS or region.share_of(whole, axis) > WHOLE:
        return 0
    position = region.position_in(whole, axis)
    return -1 if position < 1.0 / 3.0 else 1 if position > 2.0 / 3.0 else 0


def place_in_thing(region: Extent, thing: Thing) -> str:
    """Return "head end, east side", "north-east corner", "middle", or "" if it spans the thing."""
    east, north = (outer_third(region, thing.extent, axis) for axis in (0, 1))
    if (east, north) == (0, 0):
        spans = max(region.share_of(thing.extent, axis) for axis in (0, 1))
        return "middle" if spans <= WHOLE and _is_large(thing.extent) else ""
    if thing.head is None:
        return f"{compass(east, north)} {'corner' if east and north else 'side'}"
    along = 0 if abs(thing.head[0]) > abs(thing.head[1]) else 1
    toward = (east, north)[along] * (1 if thing.head[along] > 0 else -1)
    end = {-1: "foot end", 0: "", 1: "head end"}[toward]
    side = compass(0, north) if along == 0 else compass(east, 0)
    return ", ".join(word for word in (end, f"{side} side" if side else "") if word)


def level_in_thing(region: Extent, thing: Extent) -> str:
    """Return "low", "middle" or "high" within a tall thing, "" in a low one or if it spans it."""
    if thing.length(2) < LOWEST_WITH_LEVELS or region.share_of(thing, 2) > WHOLE:
        return ""
    return ("low", "middle", "high")[1 + outer_third(region, thing, 2)]


def level_in_room(region: Extent, room: Extent) -> str:
    """Return "floor", "low", "middle", "high" or "ceiling", "" if it spans most of the height."""
    if region.high[2] <= room.low[2] + LEVEL_REACH:
        return "floor"
    if region.low[2] >= room.high[2] - LEVEL_REACH:
        return "ceiling"
    if region.share_of(room, 2) > WHOLE:
        return ""
    height = region.centre[2] - room.low[2]
    return "low" if height < ROOM_LEVELS[0] else "middle" if height < ROOM_LEVELS[1] else "high"


def wall_words(region: Extent, room: Extent) -> str:
    """Return "against the north wall", "in the north-east corner" or ""."""
    east, north = (_near_side(region, room, axis) for axis in (0, 1))
    if east and north:
        return f"in the {compass(east, north)} corner"
    return f"against the {compass(east, north)} wall" if east or north else ""


def thing_words(owner: str, furniture_words: Mapping[str, str]) -> str:
    """Return the kind ("bed") if the case has only one, else the owner's name ("west bed")."""
    kind = furniture_words.get(owner)
    if kind is None or sum(words == kind for words in furniture_words.values()) > 1:
        return owner
    return kind


def short_name(owner: str, group_words: str, furniture_words: Mapping[str, str]) -> str:
    """Return the words of a refuge group with the thing it belongs to, if they do not name it."""
    if owner not in furniture_words:
        return join_words(group_words)
    thing = thing_words(owner, furniture_words)
    return join_words("" if _says(group_words, thing) else thing, group_words)


def join_words(*phrases: str) -> str:
    """Return phrases joined by commas, empty ones and repetitions left out."""
    words = [word for phrase in phrases for word in phrase.split(", ") if word]
    return ", ".join(dict.fromkeys(words))


def things_of(case: Case) -> dict[str, Thing]:
    """Return the furniture of a case by owner, beds with the way to their head."""
    extents = extents_of_owners(case)
    heads = _heads(case)
    things = {}
    for owner in case.furniture_words:
        if owner in extents:
            words = thing_words(owner, case.furniture_words)
            things[owner] = Thing(owner, words, extents[owner], heads.get(owner))
    return things


def name_place(
    owner: str,
    group_words: str,
    region: Extent,
    room: Extent,
    things: Mapping[str, Thing],
) -> str:
    """Return the name of a region, without its room.

    Parameters
    ----------
    owner, group_words : of the refuge group that matters most in the region.
    region : where its refuges lie.
    room : the room's box.
    things : the furniture by owner.
    """
    thing = things.get(owner)
    beside = thing or _mentioned(group_words, things)
    named = {} if thing is None else {owner: thing.words}
    words = [short_name(owner, group_words, named)]
    if beside is not None:
        words.append(place_in_thing(region, beside))
    level = level_in_room(region, room)
    if thing is not None and level != "floor":
        words.append(level_in_thing(region, thing.extent))
    words.append(_wall_not_said(group_words, wall_words(region, room)))
    if thing is None or level == "floor":
        words.append("" if _level_said(group_words, level) else level)
    return join_words(*words)


def _heads(case: Case) -> dict[str, tuple[float, float]]:
    """Return for each owner with a headboard or pillows the way from its middle to them [m]."""
    extents = extents_of_owners(case)
    heads = {}
    for sign in reversed(HEAD_SIGNS):
        for part in case.parts:
            if isinstance(part, SolidPart) and sign in part.name.lower():
                middle, head = extents[part.owner].centre, extent_of_box(part.box).centre
                heads[part.owner] = (head[0] - middle[0], head[1] - middle[1])
    return heads


def _is_large(extent: Extent) -> bool:
    return max(extent.length(0), extent.length(1)) >= 2.0 * SHORTEST_WITH_ENDS


def _near_side(region: Extent, room: Extent, axis: int) -> int:
    """Return -1 or +1 for the wall that the region is near, 0 for none or for both."""
    low = region.low[axis] - room.low[axis] <= WALL_REACH
    high = room.high[axis] - region.high[axis] <= WALL_REACH
    return int(high) - int(low)


def _mentioned(group_words: str, things: Mapping[str, Thing]) -> Thing | None:
    """Return the furniture that words such as "floor under the bed" speak of, or None."""
    named = sorted(things.values(), key=lambda thing: -len(thing.owner))
    for thing in named:
        if _says(group_words, thing.owner) or _says(group_words, thing.words):
            return thing
    return None


def _level_said(group_words: str, level: str) -> bool:
    """Return whether the words say the level already: a baseboard is at the floor."""
    return _says(group_words, level) or (level == "floor" and _says(group_words, "baseboard"))


def _says(text: str, word: str) -> bool:
    """Return whether ``word`` stands in ``text`` as whole words."""
    spaced = " ".join(text.lower().replace(",", " ").split())
    return bool(word) and f" {word.lower()} " in f" {spaced} "


def _wall_not_said(group_words: str, wall: str) -> str:
    """Drop "against the north wall" after "baseboard, north outside wall"; keep a corner."""
    said = wall.startswith("against") and all(
        _says(group_words, word) for word in wall.split()[-2:]
    )
    return "" if said else wall
