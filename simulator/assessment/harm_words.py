"""Verdicts on harm as sentences: what a crew reads before and after a run."""

from collections.abc import Sequence

from simulator.assessment.cited_degrees import degrees_told
from simulator.assessment.harm import RISES, USUAL_HUMIDITY, HarmVerdict
from simulator.case.hazards import Verdict
from simulator.units import System, format_quantity

FIRE_ADVICE = (
    "Fire devices are never covered, taken down or put out of action to pass a limit: that is for "
    "their owner and a licensed fire-protection contractor, before any heat is put in."
)

_MEANS = {
    "stop": "STOP, no heat until this is settled",
    "ask": "ASK before any heat",
    "warn": "WARN",
}


def stops_of(verdicts: Sequence[HarmVerdict]) -> tuple[HarmVerdict, ...]:
    """Return the verdicts that forbid the heat as things stand."""
    return tuple(one for one in verdicts if one.verdict == Verdict.STOP.value)


def stop_line(verdicts: Sequence[HarmVerdict]) -> str:
    """Return all stops in one sentence, or nothing."""
    stops = stops_of(verdicts)
    if not stops:
        return ""
    listed = "; ".join(
        f"{one.owner} ({one.thing}: {one.why})"
        if one.thing != one.owner
        else f"{one.owner} ({one.why})"
        for one in stops
    )
    return f"STOP before any heat: {listed}."


def harm_lines(verdicts: Sequence[HarmVerdict], units: System, most: int) -> list[str]:
    """Return the verdicts with something to do, things that are alike in one line.

    Parameters
    ----------
    most : lines for each verdict; the others are counted.
    """
    return [
        f"{meaning}: {sentence}" if meaning else sentence
        for meaning, sentence in harm_rows(verdicts, units, most)
    ]


def harm_rows(verdicts: Sequence[HarmVerdict], units: System, most: int) -> list[tuple[str, str]]:
    """Return what ``harm_lines`` prints in two parts: what the verdict means, and the sentence."""
    rows = []
    for verdict, meaning in _MEANS.items():
        alike: dict[tuple[object, ...], list[HarmVerdict]] = {}
        for one in verdicts:
            if one.verdict == verdict:
                alike.setdefault(_likeness(one), []).append(one)
        groups = list(alike.values())
        rows += [(meaning, _sentence(group, units)) for group in groups[:most]]
        if len(groups) > most:
            left = sum(len(group) for group in groups[most:])
            rows.append((verdict, f"{left} more (--json lists every one)"))
    if any(one.is_fire_device for one in verdicts if one.verdict != "within"):
        rows.append(("", FIRE_ADVICE))
    return rows


def _likeness(one: HarmVerdict) -> tuple[object, ...]:
    """Return what must be equal for two things to be told in one line."""
    own = (one.rise, one.medicine, one.humidity)
    return (one.why, one.limit, one.basis, one.standing, one.advice, own)


def _sentence(group: Sequence[HarmVerdict], units: System) -> str:
    """Return things that are alike as one sentence: how hot, limit, why, source, what to do."""
    first = group[0]
    names = "; ".join(_name(one, units) for one in group)
    limit = "" if first.limit is None else f"limit {_degrees(first.limit, units)}"
    told = [part for part in (limit, _why(first, units)) if part]
    basis = "; ".join(part for part in (degrees_told(first.basis, units), first.standing) if part)
    sentence = f"{names}: {', '.join(told)} [{basis}]"
    if first.medicine is not None:
        sentence += f"; {_medicine(first, units)}"
    if first.humidity is not None:
        start, then = 100 * USUAL_HUMIDITY, 100 * first.humidity
        sentence += f"; air of {start:.0f} % humidity at the start then has {then:.0f} %"
    return f"{sentence}. To do: {first.advice}." if first.advice else f"{sentence}."


def _name(one: HarmVerdict, units: System) -> str:
    """Return a thing with its heat."""
    is_said = one.thing in one.owner or one.owner in one.thing
    thing = one.owner if is_said else f"{one.owner} ({one.thing})"
    return thing if one.is_foreseen else f"{thing} {_degrees(one.peak, units)}"


def _why(one: HarmVerdict, units: System) -> str:
    if one.why != RISES:
        return one.why
    if one.rise is None:
        return "may also trip by its rate of rise, which only a run tells"
    rise = format_quantity(one.rise, "temperature difference", units)
    return f"may trip: the air rose by {rise} in a minute"


def _degrees(value: float, units: System) -> str:
    return format_quantity(value, "temperature", units)


def _medicine(verdict: HarmVerdict, units: System) -> str:
    record = verdict.medicine
    assert record is not None
    day, month = (
        format_quantity(value, "temperature", units)
        for value in (record.mean_of_day, record.mean_of_month)
    )
    judged = "within" if record.is_within else "outside"
    return (
        f"mean kinetic temperature {day} over the day and {month} over 30 days; {judged} spike and "
        "mean"
    )
