"""Hidden truths of the twin experiments, run once and kept: a line each in a file, resumable."""

from typing import Any

import numpy as np
from following_room import hidden

from simulator import simulation
from simulator.assessment.assess import assess
from simulator.case.load import load_texts
from simulator.run_settings import THOROUGH
from simulator.studies.evaluate import one_thread
from simulator.studies.following.courses import Course, course_of, sensors_of
from simulator.studies.following.twin import hidden_values
from simulator.studies.program_digest import program_digest
from simulator.studies.prolonged import prolonged
from simulator.studies.trial_log import key_of
from simulator.studies.uncertain import varied_case, varied_settings

#: Cells of the truth, and of the model with its one finer run [m].
TRUTH, MODEL, FINER = 0.125, 0.20, 0.10

#: What makes a truth.
_MAKERS = (
    "simulator.assessment.assess",
    "simulator.simulation",
    "simulator.studies.following.courses",
    "simulator.studies.prolonged",
    "simulator.studies.uncertain",
)


def truth_key(seed: int) -> str:
    """Return what a kept truth is known by: its room and values, and the program that ran it."""
    return key_of(program_digest(*_MAKERS), TRUTH, hidden(seed), hidden_values(seed))


def truth(seed: int) -> dict[str, Any]:
    """Return what a hidden truth comes to: courses of its sensors, and when its places are done."""
    values = hidden_values(seed)
    case = varied_case(prolonged(load_texts({"hidden": hidden(seed)}, "hidden")), values)
    settings = varied_settings(one_thread(THOROUGH), values)
    run = simulation.simulate(case, TRUTH, settings=settings)
    answer = assess(case, run.grid, run.history)
    course = course_of(case, run.grid, run.history)
    names = sensors_of(case)
    return {
        "seed": seed,
        "values": values,
        "step": float(course.time[1]),
        "sensors": {name: _row(course, n) for n, name in enumerate(names)},
        "coldest": [_row(course, len(names) + n) for n in range(len(course.places))],
        "place_names": [[p.owner, p.words, p.room] for p in course.places],
        "finishing": _or_none(answer.finishing_time),
        "places": [[p.owner, p.words, p.room, _or_none(p.time_to_done)] for p in answer.places],
    }


def _or_none(time: float) -> float | None:
    return None if np.isnan(time) else time


def _row(course: Course, column: int) -> list[float]:
    return [round(value, 2) for value in course.temperature[:, column].tolist()]
