"""A placement as plain JSON, in SI and °C."""

import math
from typing import Any

from simulator.case.case import Case
from simulator.studies.fan_layout import FanPlace
from simulator.studies.placement import Placement
from simulator.studies.placement_words import fan_words, heater_words, room_of, why


def placement_table(found: Placement) -> dict[str, Any]:
    """Return the answer as plain JSON, in SI and °C."""
    objective = found.question.objective
    return {
        "title": found.case.title,
        "is_complete": found.is_complete,
        "objective": {"name": objective.name, "words": objective.words},
        "fans": [fan_table(found.case, fan) for fan in found.layout.fans],
        "heaters": [
            {
                "name": heater.name,
                "room": heater.room,
                "at": list(heater.at),
                "turn": heater.turn,
                "words": heater_words(room_of(found.case, heater.room), heater),
            }
            for heater in found.layout.heaters
        ],
        "contributions": [
            {
                "loss_without": part.loss,
                "meets": None if part.meets is None else list(part.meets),
                "helped": [[place.owner, place.words, later] for place, later in part.helped],
                "why": why(part, found),
            }
            for part in found.contributions
        ],
        "compared": [
            {
                "words": row.words,
                "standing": row.standing,
                "fans": row.fans,
                "values": list(row.values),
                "places_left": [s.places_left for o in row.outcomes for s in o.states],
                "finishing_times": [
                    None if s.finishing_time != s.finishing_time else s.finishing_time
                    for o in row.outcomes
                    for s in o.states
                ],
            }
            for row in found.compared
        ],
        "runner_up": None
        if found.runner_up is None
        else [fan_table(found.case, fan) for fan in found.runner_up.layout.fans],
        "tie": objective.width(found.finalists[0].value) if found.finalists else None,
        "looked_at": found.rung.words,
        "compared_by": found.question.effort.compare.words,
        "cell_size": found.rung.cell_size,
        "by_number_of_fans": [one.value for one in found.by_number],
        "enough_fans": found.enough,
        "sensors": None
        if found.sensors is None
        else [
            {
                "owner": sensor.owner,
                "words": sensor.words,
                "room": sensor.room,
                "position": list(sensor.position),
                "regret": sensor.regret,
                "last_in": sensor.last_in,
            }
            for sensor in found.sensors.sensors
        ],
        "by_number_of_heaters": [
            {"number": one.number, "value": one.value, "is_added": one.is_added}
            for one in found.by_heaters
            if math.isfinite(one.value)
        ],
        "heat": {
            "hours": found.need.hours,
            "needed": found.need.mean,
            "hold": found.need.hold,
            "heaters": found.need.heaters,
            "fans": found.need.fans,
            "circuits": found.need.circuits,
        },
        "poses": list(found.poses),
        "runs": found.runs,
        "notes": list(found.notes),
    }


def fan_table(case: Case, fan: FanPlace) -> dict[str, Any]:
    """Return a fan as plain JSON, with its place in words."""
    return {
        "room": fan.room,
        "at": list(fan.at),
        "height": fan.height,
        "turn": fan.turn,
        "tilt": fan.tilt,
        "words": fan_words(room_of(case, fan.room), fan, "si"),
    }
