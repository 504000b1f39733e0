"""What a trainer shows of one dwelling: states that differ from it by one thing each.

Three series come from the dwelling as its case has it: *preparation* (each kind of step alone,
then all together), *clutter* (none, as found, stuffed) and *fans* (none, as planned, and by rules
of thumb with as many fans). A state that cannot be, because things would overlap, is left out and
told.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from simulator.assessment.readiness import readiness
from simulator.assessment.readiness_item import ReadinessItem, Topic
from simulator.case.as_written import furniture_of
from simulator.case.case import Case
from simulator.case.furniture.clutter import PACKINGS, Clutter
from simulator.case.parts import AirMover, PorousPart
from simulator.case.sections import Sections
from simulator.case.variants import main_of, varied
from simulator.errors import CaseError
from simulator.studies.fan_layout import fans_of, with_fans
from simulator.studies.free_floor import RASTER, free_floor
from simulator.studies.layout_rules import RULES, RuleNumbers, case_by_rule

#: Kinds of steps as a crew names them, and the keys of advice that belong to each.
STEPS: Mapping[str, tuple[str, ...]] = {
    "beds taken apart": ("under", "bedding", "mattress"),
    "drawers pulled out": ("drawers",),
    "doors opened": ("doors", "open"),
    "closets and shelves thinned out": ("heap", "fill", "clothes", "books"),
    "loose things taken out or spread": ("wash", "packing"),
    "seat cushions on edge": ("cushions",),
    "curtains parted, rugs taken up": ("drawn", "lift"),
    "furniture off the walls": ("off the wall",),
}
#: Name of the step that has what is left.
OTHER_STEPS = "all else on the list"
#: Rules of thumb that are tried for fans.
FAN_RULES = ("ceiling", "corners", "beds", "low")

_PLACE = re.compile(r"^[^:]*:\d+: [^:]*: ")

#: A pile of clutter that is added: side and height [m], and the share of the free floor that such
#: piles take in a stuffed dwelling [-] (choices: what fills a room so that one can just walk).
PILE_SIDE, PILE_HEIGHT, STUFFED_SHARE = 0.60, 0.80, 0.25
MOST_PILES = 24


@dataclass(frozen=True, slots=True)
class State:
    """One state of the dwelling: ``name`` for tables, ``words`` say what was done."""

    name: str
    words: str
    case: Case
    is_step: bool = False  # one step alone: shown by its numbers and a picture


@dataclass(frozen=True, slots=True)
class Series:
    """States in the order in which they are shown; the first is what the others differ from."""

    name: str
    words: str
    states: tuple[State, ...]
    left_out: tuple[str, ...] = ()  # why, one line each


@dataclass(slots=True)
class _Collector:
    states: list[State] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)

    def add(
        self, name: str, words: str, make: Callable[[], Case], *, is_step: bool = False
    ) -> None:
        """Add a state, or the reason why it cannot be."""
        try:
            self.states.append(State(name, words, make(), is_step))
        except CaseError as error:
            self.left_out.append(f"{name}: {_reason(error)}")

    def follow(
        self, name: str, case: Case, items: Sequence[ReadinessItem], *, is_step: bool = False
    ) -> None:
        """Add the case with items of its list done; tell which of them cannot be."""
        now, kept, passed_over = as_far_as_possible(case, items)
        if kept:
            words = "; ".join(item.words for item in kept)
            self.states.append(State(name, words, now, is_step))
        for item, reason in passed_over.items():
            self.left_out.append(f"{name}, without '{item}': {reason}")


def as_far_as_possible(
    case: Case, items: Sequence[ReadinessItem]
) -> tuple[Case, list[ReadinessItem], dict[str, str]]:
    """Return the case with items done, those items, and why others cannot be, by their words.

    A piece pulled off its wall may meet a fan that stands where the layout has it: then the item is
    passed over, those earlier on the list first in their right.
    """
    try:
        return followed(case, items), list(items), {}
    except CaseError:
        pass
    now, kept, passed_over = case, list[ReadinessItem](), dict[str, str]()
    for item in items:
        try:
            now = followed(case, [*kept, item])
            kept.append(item)
        except CaseError as error:
            passed_over[item.words] = _reason(error)
    return now, kept, passed_over


def _reason(error: CaseError) -> str:
    """Return the first thing that is wrong, without file, line and key: a lesson has no file."""
    return _PLACE.sub("", str(error).splitlines()[0])


def preparation_series(case: Case, prepared: Case | None = None) -> Series:
    """Return as found, each kind of step alone, all together, and ``prepared`` if it is given.

    The steps are those of the readiness list that a case file can say are done.
    """
    made = _Collector()
    made.add("as found", f"{case.preparation}: nothing else is done", lambda: case)
    items = [item for item in readiness(case).items if item.overrides]
    for name, mine in steps_of(items).items():
        made.follow(name, case, mine, is_step=True)
    if items:
        made.follow("all together", case, items)
    if prepared is not None:
        made.add(f"as in {main_of(prepared)}", prepared.preparation, lambda: prepared)
    return Series(
        "preparation",
        "what each kind of preparation is worth alone, and all of it together",
        tuple(made.states),
        tuple(made.left_out),
    )


def steps_of(items: Iterable[ReadinessItem]) -> dict[str, list[ReadinessItem]]:
    """Return the items by kind of step, kinds without items left out."""
    kind_of = {key: name for name, keys in STEPS.items() for key in keys}
    found: dict[str, list[ReadinessItem]] = {name: [] for name in (*STEPS, OTHER_STEPS)}
    for item in items:
        key = item.key.rsplit(": ", 1)[-1]
        hazard = item.topic is not Topic.PREPARATION
        found[OTHER_STEPS if hazard else kind_of.get(key, OTHER_STEPS)].append(item)
    return {name: mine for name, mine in found.items() if mine}


def followed(case: Case, items: Sequence[ReadinessItem]) -> Case:
    """Return the case with these items of its readiness list done."""
    before = _removed(case)
    remove: list[str] = []
    values: dict[str, Any] = {}
    for item in items:
        for key, value in item.overrides.items():
            if key == "preparation.remove" and isinstance(value, list):
                remove += [name for name in value if name not in (*before, *remove)]
            elif key != "preparation.change":  # what goes out needs no other change
                values[key] = value
    gone = tuple(f"preparation.change.{name}." for name in remove)
    kept = {key: value for key, value in values.items() if not key.startswith(gone or "\0")}
    return varied(case, kept, remove=remove)


def _removed(case: Case) -> tuple[str, ...]:
    table = Sections(case.sources, main_of(case), "").section("preparation").data
    return tuple(table.get("remove", ()))


def clutter_series(case: Case) -> Series:
    """Return the dwelling without loose clutter, as found, and stuffed."""
    made = _Collector()
    made.add("no clutter", "no piles, nothing under the beds", lambda: without_clutter(case))
    made.add("as found", "{litres:.0f} litres of loose things", lambda: case)
    words = "{litres:.0f} litres of loose things packed tight, beds stuffed under"
    made.add("stuffed", words, lambda: stuffed(case))
    states = [
        replace(state, words=state.words.format(litres=clutter_litres(state.case)))
        for state in made.states
    ]
    return Series(
        "clutter",
        "loose clutter from none to stuffed, the same heaters and fans",
        tuple(states),
        tuple(made.left_out),
    )


def clutter_litres(case: Case) -> float:
    """Return the room that loose clutter takes, with the air in it [l]."""
    return sum(
        1000.0 * part.box.volume
        for part in case.parts
        if isinstance(part, PorousPart) and case.furniture_words.get(part.owner) == Clutter.words
    )


def without_clutter(case: Case) -> Case:
    """Return the case with all piles taken out and nothing under the beds."""
    piles = [piece.name for piece in furniture_of(case) if isinstance(piece, Clutter)]
    return varied(case, _under_beds(case, 0.0), remove=piles)


def stuffed(case: Case) -> Case:
    """Return the case with its piles packed, beds stuffed under, more piles on the free floor."""
    values = _under_beds(case, 1.0)
    for piece in furniture_of(case):
        if isinstance(piece, Clutter) and "." not in piece.name:
            values[f"dwelling.furniture.{piece.name}.packing"] = "packed"
            if piece.air_fraction is not None:
                values[f"dwelling.furniture.{piece.name}.air_fraction"] = PACKINGS["packed"][0]
    table = Sections(case.sources, main_of(case), "").section("preparation").data
    own = [dict(entry) for entry in table.get("furniture", ())]
    piles = [pile for room in case.dwelling.rooms for pile in _piles(case, room.name)]
    values["preparation.furniture"] = [*own, *piles]
    return varied(case, values)


def _under_beds(case: Case, share: float) -> dict[str, Any]:
    return {
        f"dwelling.furniture.{piece.name}.stuffed_under": share
        for piece in furniture_of(case)
        if hasattr(piece, "stuffed_under") and "." not in piece.name
    }


def _piles(case: Case, room: str) -> list[dict[str, Any]]:
    """Return piles on a part of a room's free floor, from its corners inwards."""
    floor = free_floor(case, room)
    radius = 0.5 * 2.0**0.5 * PILE_SIDE
    area = STUFFED_SHARE * RASTER**2 * float((floor.gap > 0.0).sum())
    piles: list[dict[str, Any]] = []
    while len(piles) < MOST_PILES and (len(piles) + 1) * PILE_SIDE**2 <= area:
        corners = [(x, y) for x in (0.0, floor.room.size[0]) for y in (0.0, floor.room.size[1])]
        spots = [spot for corner in corners if (spot := floor.nearest(corner, radius)) is not None]
        if not spots:
            break
        at = min(spots, key=lambda s: min((s[0] - x) ** 2 + (s[1] - y) ** 2 for x, y in corners))
        piles.append(
            {
                "kind": "clutter",
                "name": f"pile {len(piles) + 1} in {room}",
                "room": room,
                "at": [f"{at[0]:.3f} m", f"{at[1]:.3f} m"],
                "size": [f"{PILE_SIDE} m", f"{PILE_SIDE} m", f"{PILE_HEIGHT} m"],
                "packing": "packed",
            }
        )
        floor = floor.without(at, radius)
    return piles


def fan_series(case: Case) -> Series:
    """Return the case without fans, as planned, and with as many fans by rules of thumb."""
    made = _Collector()
    made.add("no fans", "heaters alone", lambda: with_fans(case, (), "no fans"))
    number = len(fans_of(case))
    if number:
        made.add("as planned", f"{case.layout}: {number} fans", lambda: case)
    numbers = _numbers(case)
    for name in FAN_RULES:
        rule = RULES[name]
        made.add(rule.words, rule.standing, partial(case_by_rule, rule, case, numbers))
    return Series(
        "fans",
        "no fans, fans as planned, and as many fans set by rules of thumb",
        tuple(made.states),
        tuple(made.left_out),
    )


def _numbers(case: Case) -> RuleNumbers:
    """Return the rules' numbers: as many fans as the case has, of the size of its first."""
    fans = [
        part for part in case.parts if isinstance(part, AirMover) and part.owner in fans_of(case)
    ]
    if not fans:
        return RuleNumbers()
    area = sum(room.size[0] * room.size[1] for room in case.dwelling.rooms)
    first = fans[0]
    return RuleNumbers(
        floor_per_fan=area / len(fans),
        diameter=first.diameter,
        flow=first.flow,
        power=first.power,
        height=max(RuleNumbers().height, 0.5 * first.diameter + 0.01),
    )


#: Every series by its name.
SERIES: Mapping[str, Callable[[Case], Series]] = {
    "preparation": preparation_series,
    "clutter": clutter_series,
    "fans": fan_series,
}
