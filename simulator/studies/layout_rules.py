"""Rules of thumb for fans: each says, room by room, where they stand and where they blow.

A rule is one small function of a ``Site`` (one room) that yields wishes: a spot and an aim.
``lay_out`` turns wishes into fans: as many as the room's floor asks for
(``RuleNumbers.floor_per_fan``), each on the free spot nearest to its wish, aimed from where it then
stands. So all rules but "heaters alone" spend about the same number of fans, and a league of rules
compares places, not numbers.

Common practice, by name: ``RULES["corners"]``, ``RULES["beds"]``, ``RULES["heater"]``. A rule of
your own is one more function and one more row in the tuple.
"""

import math
import zlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count, product

import numpy as np

from simulator.case.case import Case
from simulator.errors import CaseError
from simulator.studies.fan_layout import FanPlace, with_fans
from simulator.studies.free_floor import Spot
from simulator.studies.rule_site import Site, site_of

PRACTICE, OWN = "common practice, no source", "our own"

#: Rooms with less floor get no fan [m²] (choice: a cupboard).
LEAST_FLOOR = 2.0
#: Hub of a fan that lies low, over the radius of its blades [m]: it just clears the floor.
LOW = 0.01
#: How far along a wall or from it the fans of a ring stand [m] (estimate: clear of furniture).
INSET = 0.60


@dataclass(frozen=True, slots=True)
class RuleNumbers:
    """The numbers that every rule shares, to be tuned.

    Attributes
    ----------
    floor_per_fan : a room gets one fan for each of these [m²], at least one.
    spacing : least distance between fans; a wish nearer than this to another fan is passed over
        while the rule has others [m].
    tilt : upward tilt of every fan that the rule itself does not tilt [deg].
    height : floor to hub [m]; rules that lay fans low ignore it.
    diameter, flow, power : of each fan [m], [m³/s], [W].
    seed : of rules that draw lots.
    """

    floor_per_fan: float = 6.0
    spacing: float = 0.8
    tilt: float = 0.0
    height: float = 0.40
    diameter: float = 0.50
    flow: float = 1.0
    power: float = 200.0
    seed: int = 0


#: What the numbers of rules are, for tables and plots.
NUMBER_WORDS = {
    "floor_per_fan": "floor for each fan [m²]",
    "spacing": "least distance between fans [m]",
    "tilt": "upward tilt of fans [deg]",
    "height": "floor to hub [m]",
    "diameter": "diameter of a fan [m]",
    "flow": "free delivery of a fan [m³/s]",
    "power": "power of a fan [W]",
}


@dataclass(frozen=True, slots=True)
class Wish:
    """A fan as a rule would have it: ``at`` a spot, blowing at the spot ``aim`` or at an angle."""

    at: Spot
    aim: Spot | float  # spot in the room [m], or compass turn [deg]
    tilt: float | None = None  # [deg]; None: the numbers'
    is_low: bool = False


Wishes = Callable[[Site, int, np.random.Generator], Iterator[Wish]]


@dataclass(frozen=True, slots=True)
class LayoutRule:
    """A rule: its name, what it says, where it comes from, and its wishes for a room."""

    name: str
    words: str
    standing: str
    wishes: Wishes


def lay_out(
    rule: LayoutRule, case: Case, numbers: RuleNumbers, total: int | None = None
) -> tuple[FanPlace, ...]:
    """Return the fans that a rule sets in a case, room by room.

    Parameters
    ----------
    case : furnished and with its heaters; fans it already has are left where they are and count as
        obstacles, so give a case without fans (``with_fans(case, (), "no fans")``).
    total : how many fans there are in all, shared out by floor area; None: as the floor asks for.
    """
    fans: list[FanPlace] = []
    sites = [site_of(case, room.name, numbers.diameter) for room in case.dwelling.rooms]
    shares = [fans_for(site, numbers) for site in sites] if total is None else _shares(sites, total)
    for site, number in zip(sites, shares, strict=True):
        drawn = zlib.crc32(f"{case.dwelling.name} {site.room.name}".encode())
        lots = np.random.default_rng((numbers.seed, drawn))
        fans += _fill(site, rule, number, numbers, lots)
    return tuple(fans)


def case_by_rule(rule: LayoutRule, case: Case, numbers: RuleNumbers) -> Case:
    """Return a case with its fans as a rule sets them, and no others."""
    bare = with_fans(case, (), "heaters alone")
    fans = lay_out(rule, bare, numbers)
    return with_fans(bare, fans, rule.words) if fans else bare


def fans_for(site: Site, numbers: RuleNumbers) -> int:
    """Return how many fans a room's floor asks for."""
    area = site.size[0] * site.size[1]
    return 0 if area < LEAST_FLOOR else max(1, round(area / numbers.floor_per_fan))


def _shares(sites: Sequence[Site], total: int) -> list[int]:
    """Return how many of some fans each room gets: one after another where a fan has most floor."""
    areas = [site.size[0] * site.size[1] for site in sites]
    counts = [0] * len(sites)
    open_rooms = [
        n for n, site in enumerate(sites)
        if areas[n] >= LEAST_FLOOR and site.nearest(site.middle) is not None
    ]  # fmt: skip
    for _ in range(total if open_rooms else 0):
        counts[max(open_rooms, key=lambda n: (areas[n] / (counts[n] + 1), -n))] += 1
    return counts


def _fill(
    site: Site, rule: LayoutRule, number: int, numbers: RuleNumbers, lots: np.random.Generator
) -> list[FanPlace]:
    """Return up to ``number`` fans: first those of wishes at full spacing, then what can stand."""
    fans: list[FanPlace] = []
    passed_over: list[Wish] = []
    for wish in rule.wishes(site, number, lots):
        if len(fans) == number:
            return fans
        at = site.nearest(wish.at)
        if at is None:
            return fans
        if any(math.dist(at, fan.at) < numbers.spacing for fan in fans):
            passed_over.append(wish)
            continue
        fans.append(_fan(site, wish, at, numbers))
        site = site.with_fan(at)
    for wish in passed_over:
        at = site.nearest(wish.at)
        if len(fans) == number or at is None:
            break
        fans.append(_fan(site, wish, at, numbers))
        site = site.with_fan(at)
    return fans


def _fan(site: Site, wish: Wish, at: Spot, numbers: RuleNumbers) -> FanPlace:
    return FanPlace(
        room=site.room.name,
        at=at,
        turn=round(_turn(at, wish.aim), 1) % 360.0,
        tilt=numbers.tilt if wish.tilt is None else wish.tilt,
        height=0.5 * numbers.diameter + LOW if wish.is_low else numbers.height,
        diameter=numbers.diameter,
        flow=numbers.flow,
        power=numbers.power,
    )


def _turn(at: Spot, aim: Spot | float) -> float:
    """Return the compass turn from a spot to an aim [deg]."""
    if isinstance(aim, float):
        return aim
    return math.degrees(math.atan2(aim[1] - at[1], aim[0] - at[0]))


def heaters_alone(site: Site, number: int, lots: np.random.Generator) -> Iterator[Wish]:
    """Yield no fan at all: what the blowers of the heaters do by themselves."""
    return iter(())


def corners_along_walls(site: Site, number: int, lots: np.random.Generator) -> Iterator[Wish]:
    """Yield fans in the corners, each blowing along its wall to the next corner, anticlockwise."""
    length, width = site.size
    yield Wish((0.0, 0.0), 0.0)
    yield Wish((length, width), 180.0)
    yield Wish((length, 0.0), 90.0)
    yield Wish((0.0, width), 270.0)
    yield from ring(site, 2 * number, lots)


def one_at_each_bed(site: Site, number: int, lots: np.random.Generator) -> Iterator[Wish]:
    """Yield a fan before each bed, blowing at it, then before seats and the largest furniture."""
    yield from _at_things(site, number, is_low=False)


def low_under_beds(site: Site, number: int, lots: np.random.Generator) -> Iterator[Wish]:
    """Yield fans on the floor that blow under beds and seats, then along the floor at walls."""
    yield from _at_things(site, number, is_low=True)


def _at_things(site: Site, number: int, *, is_low: bool) -> Iterator[Wish]:
    """Yield a fan before each thing in turn, then before the other sides of each."""
    for nth in range(4):
        for thing in site.things:
            at = site.before(thing, nth)
            if at is not None:
                yield Wish(at, thing.middle, is_low=is_low)
    for wish in ring(site, 2 * number, np.random.default_rng(0)):
        yield Wish(wish.at, wish.aim, is_low=is_low)


def facing_the_heater(site: Site, number: int, lots: np.random.Generator) -> Iterator[Wish]:
    """Yield fans far from the heater (or the door that heat comes in by) that blow back at it."""
    source = site.source_of_heat
    along, across = ((INSET, 0.5 * side, side - INSET) for side in site.size)
    spots = list(product(along, across))
    spots.sort(key=lambda at: (-round(math.dist(at, source), 3), at))
    for at in spots:
        yield Wish(at, source)


def ring(site: Site, number: int, lots: np.random.Generator) -> Iterator[Wish]:
    """Yield fans at even distances around the room, each blowing on to the next, anticlockwise."""
    length, width = (max(side - 2.0 * INSET, 0.1) for side in site.size)
    around = 2.0 * (length + width)
    for nth in range(number):
        run = (0.5 * length + nth * around / number) % around
        for side, turn, corner in (
            (length, 0.0, (INSET, INSET)),
            (width, 90.0, (INSET + length, INSET)),
            (length, 180.0, (INSET + length, INSET + width)),
            (width, 270.0, (INSET, INSET + width)),
        ):
            if run < side:
                along = math.radians(turn)
                at = (corner[0] + run * math.cos(along), corner[1] + run * math.sin(along))
                yield Wish(at, turn)
                break
            run -= side


def grid(site: Site, number: int, lots: np.random.Generator) -> Iterator[Wish]:
    """Yield fans on an even grid; rows blow along the room, every other one back."""
    length, width = site.size
    is_long_x = length >= width
    long, short = max(length, width), min(length, width)
    rows = max(1, min(number, round(math.sqrt(number * short / long))))
    columns = math.ceil(number / rows)
    for row, column in product(range(rows), range(columns)):
        u, v = (column + 0.5) * long / columns, (row + 0.5) * short / rows
        forth = 0.0 if is_long_x else 90.0
        yield Wish((u, v) if is_long_x else (v, u), forth + 180.0 * (row % 2))


def opposite_pairs(site: Site, number: int, lots: np.random.Generator) -> Iterator[Wish]:
    """Yield pairs that stand at opposite walls and blow at each other."""
    length, width = site.size
    if length >= width:
        first, second = (INSET, 0.5 * width), (length - INSET, 0.5 * width)
        third, fourth = (0.5 * length, INSET), (0.5 * length, width - INSET)
    else:
        first, second = (0.5 * length, INSET), (0.5 * length, width - INSET)
        third, fourth = (INSET, 0.5 * width), (length - INSET, 0.5 * width)
    for one, other in ((first, second), (third, fourth)):
        yield Wish(one, other)
        yield Wish(other, one)
    for one, other in (
        ((INSET, INSET), (length - INSET, width - INSET)),
        ((INSET, width - INSET), (length - INSET, INSET)),
    ):
        yield Wish(one, other)
        yield Wish(other, one)


def up_at_the_ceiling(site: Site, number: int, lots: np.random.Generator) -> Iterator[Wish]:
    """Yield fans around the middle of the room, tilted up to stir the hot air below the ceiling."""
    x, y = site.middle
    for nth in range(2 * number):
        turn = 360.0 * nth / number
        along = math.radians(turn)
        at = (x + 0.25 * site.size[0] * math.cos(along), y + 0.25 * site.size[1] * math.sin(along))
        yield Wish(at, turn, tilt=45.0)


def anywhere(site: Site, number: int, lots: np.random.Generator) -> Iterator[Wish]:
    """Yield fans on spots and with aims drawn by lot: what no rule at all is worth."""
    for _ in count():
        x, y = (float(value) for value in lots.uniform(0.0, site.size))
        yield Wish((x, y), float(lots.uniform(0.0, 360.0)))


ALL_RULES: tuple[LayoutRule, ...] = (
    LayoutRule("none", "heaters alone", OWN, heaters_alone),
    LayoutRule("anywhere", "anywhere, by lot", OWN, anywhere),
    LayoutRule("corners", "in the corners, along the walls", PRACTICE, corners_along_walls),
    LayoutRule("beds", "one at each bed, then at large furniture", PRACTICE, one_at_each_bed),
    LayoutRule("heater", "far off, facing the heater", PRACTICE, facing_the_heater),
    LayoutRule("ring", "in a ring, each blowing on to the next", PRACTICE, ring),
    LayoutRule("pairs", "in opposite pairs, blowing at each other", PRACTICE, opposite_pairs),
    LayoutRule("grid", "on an even grid, rows forth and back", OWN, grid),
    LayoutRule("low", "on the floor, under beds and furniture", OWN, low_under_beds),
    LayoutRule("ceiling", "in the middle, tilted up at the ceiling", OWN, up_at_the_ceiling),
)

#: The rules by name, in the order in which reports list them.
RULES: Mapping[str, LayoutRule] = {rule.name: rule for rule in ALL_RULES}


def rule_named(name: str) -> LayoutRule:
    """Return a rule by its name.

    Raises
    ------
    CaseError
        If there is none of this name.
    """
    if name not in RULES:
        raise CaseError(f"unknown rule '{name}'; rules: {', '.join(RULES)}")
    return RULES[name]
