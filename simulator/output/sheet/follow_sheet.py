"""The sheet of a followed treatment: what was measured, what is inferred, and how well."""

import hashlib
import json
from pathlib import Path
from typing import Any

from simulator.assessment.cautions import CAUTIONS
from simulator.case.case import Case
from simulator.output.sheet.content import says_invented
from simulator.output.sheet.page import page_html, write_page
from simulator.studies.following import words
from simulator.studies.following.following import Following
from simulator.units import System, format_quantity

#: What is filled in by hand.
WRITE_IN = ("address, unit", "date", "crew chief", "inspected by, on", "inspected again by, on")

PLACES_NOTE = (
    "Middle, and in brackets where nine tenths of what may be lie. 'Inferred' is what the model "
    "says that the sensors have corrected; a sensor named here lies in the place, at one point of "
    "it, while the place counts with its coldest point. Egg dose 3.5 and 50 °C (122 °F) are asked "
    "of every place."
)


def write_follow_sheet(found: Following, case: Case, out_path: Path, units: System = "si") -> Path:
    """Write the sheet of a followed treatment and return its path.

    Parameters
    ----------
    out_path : ending in .html or .pdf; ``page.check_place`` has looked at it.

    Raises
    ------
    ResultError, RenderError
        One line, if it cannot be written.
    """
    return write_page(follow_html(found, case, units), out_path)


def follow_html(found: Following, case: Case, units: System = "si") -> str:
    """Return the sheet as one HTML page."""
    facts = json.dumps([dict(case.sources), found.table()], sort_keys=True)
    mark = hashlib.sha256(facts.encode()).hexdigest()
    return page_html("follow.html.j2", follow_content(found, case, units), mark, units)


def follow_content(found: Following, case: Case, units: System) -> dict[str, Any]:
    """Return what the template prints."""
    forecast, calibration = found.forecast, found.calibration
    return {
        "title": case.title,
        "is_invented": says_invented(case),
        "facts": _facts(found, units),
        "write_in": WRITE_IN,
        "answer": [
            *words.headline(forecast, found.planned, units),
            words.outlook(found.heat_off, units),
        ],
        "decides": words.DECIDES,
        "fifty": format_quantity(50.0, "temperature", units),
        "measured": _measured(found, units),
        "places_note": PLACES_NOTE,
        "places": [
            {
                "place": f"{row.owner}, {row.words}",
                "room": row.room,
                "known": ", ".join(row.sensors) or "inferred",
                "now": words.temperature_words(row.temperature, units),
                "dose": words.dose_words(row.dose),
                "done": words.time_words(row.done, forecast.horizon, units),
            }
            for row in forecast.places
        ],
        "learnt": list(words.learnt_lines(calibration, units)),
        "trust": list(words.trust_lines(found.basis, calibration, found.log, units)),
        "cautions": CAUTIONS,
    }


def _facts(found: Following, units: System) -> list[tuple[str, str]]:
    log = found.log
    return [
        ("last reading", f"{format_quantity(float(log.time[-1]), 'time', units)} after heat on"),
        ("heat planned to end", f"{format_quantity(found.planned, 'time', units)} after heat on"),
        ("sensors in the log", f"{len(log.sensors)}, at {log.time.size} times"),
    ]


def _measured(found: Following, units: System) -> list[dict[str, str]]:
    checks = {check.name: check for check in found.calibration.sensors}
    rows = []
    for row in found.forecast.measured:
        check = checks[row.name]
        rows.append(
            {
                "name": row.name,
                "place": row.place,
                "last": format_quantity(check.last_reading, "temperature", units),
                "peak": format_quantity(row.peak, "temperature", units),
                "dose": words.dose_number(row.dose),
                "reached": "yes" if row.is_done else "no",
                "words": check.words or "agrees",
            }
        )
    return rows
