"""The readiness lists as text with boxes to tick."""

import math
from collections.abc import Sequence

from simulator.assessment.readiness_item import Cost, Readiness, ReadinessItem
from simulator.case.advice import When

#: What stands above each part of the lists.
HEADINGS = {
    When.BEFORE: "The occupant, before the day",
    When.ARRIVAL: "The crew, on arrival",
    When.DURING: "The crew, during the heat",
    When.COOL_DOWN: "The crew, at cool-down",
}

CLOSING = (
    "Local codes, makers' labels and licensed people come before these lists. A model's word is no "
    "proof; inspection decides."
)


def parts_of(lists: Readiness) -> list[tuple[str, tuple[ReadinessItem, ...]]]:
    """Return the headings that have items, each with its items in order."""
    parts = [
        (heading, tuple(item for item in lists.items if item.when is when))
        for when, heading in HEADINGS.items()
    ]
    return [(heading, items) for heading, items in parts if items]


def why(item: ReadinessItem) -> str:
    """Return the reason of an item with its standing and, where a study found it, its cost."""
    cost = "" if item.cost is None else f"; {cost_words(item.cost)}"
    return f"{item.reason} ({item.standing.value}){cost}"


def cost_words(cost: Cost) -> str:
    """Return what it costs not to do an item."""
    told: Sequence[str] = [
        "" if math.isnan(cost.minutes) else f"{cost.minutes:.0f} min later",
        f"{cost.litres:.1f} l more stay cold" if cost.litres > 0.0 else "",
    ]
    words = " and ".join(part for part in told if part)
    return f"left undone: {words}" if words else "left undone: no difference found"
