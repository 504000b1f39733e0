"""What is to be done before, during and after the heat: two lists made from this dwelling."""

import dataclasses
from collections.abc import Mapping

from simulator.assessment.cited_degrees import degrees_told
from simulator.assessment.equipment_items import equipment_items
from simulator.assessment.general_items import closing_items, general_items
from simulator.assessment.readiness_item import Cost, Readiness, ReadinessItem, Topic
from simulator.case.advice import PieceAdvice, When
from simulator.case.case import Case
from simulator.case.standing import Standing
from simulator.units import System

_TIMES = tuple(When)


def readiness(case: Case, units: System = "si") -> Readiness:
    """Return both lists of a case, from the case alone: what its preparation has done is left out.

    The order is by time, then that of the cautions: people, things that burn or burst, fire
    systems, circuits, carbon monoxide, watching, limits, entries, what lets the heat in, cool-down,
    inspection. ``units`` is the system that the items are worded in; their keys have none.
    """
    items = [
        *general_items(case, units),
        *equipment_items(case, units),
        *_of_pieces(case),
        *_of_doorways(case),
        *closing_items(case),
    ]
    items = [
        dataclasses.replace(
            item, words=degrees_told(item.words, units), reason=degrees_told(item.reason, units)
        )
        for item in items
    ]
    items.sort(key=lambda item: (_TIMES.index(item.when), item.topic))
    return Readiness(
        occupant=tuple(item for item in items if item.when is When.BEFORE),
        crew=tuple(item for item in items if item.when is not When.BEFORE),
    )


def with_costs(lists: Readiness, costs: Mapping[str, Cost]) -> Readiness:
    """Return the lists with what a study found that it costs not to do an item, by its key."""

    def priced(items: tuple[ReadinessItem, ...]) -> tuple[ReadinessItem, ...]:
        return tuple(
            dataclasses.replace(item, cost=costs.get(item.key, item.cost)) for item in items
        )

    return Readiness(priced(lists.occupant), priced(lists.crew))


def _of_pieces(case: Case) -> list[ReadinessItem]:
    """Return what the kinds of furniture say is yet to be done to each piece."""
    return [_of_piece(row) for row in case.advice]


def _of_piece(row: PieceAdvice) -> ReadinessItem:
    advice = row.advice
    return ReadinessItem(
        key=f"{row.owner}: {advice.key}",
        words=advice.words,
        reason=advice.reason,
        standing=advice.standing,
        when=advice.when,
        topic=Topic.STOPS if advice.is_hazard else Topic.PREPARATION,
        overrides=row.overrides,
    )


def _of_doorways(case: Case) -> list[ReadinessItem]:
    """Return the doors between rooms that are still shut."""
    return [
        ReadinessItem(
            key=f"{door.name}: open",
            words=f"{door.name}: open it and keep it open",
            reason="a shut door keeps the air of its rooms apart",
            standing=Standing.PRACTICE,
            when=When.ARRIVAL,
            topic=Topic.PREPARATION,
            overrides={} if "." in door.name else {f"dwelling.doorway.{door.name}.open": True},
        )
        for door in case.dwelling.doorways
        if not door.is_open
    ]
