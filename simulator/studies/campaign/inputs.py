"""Sensitivity within a plan: points between two values of each input, as jobs of the same store.

The designs of ``sensitivity.py`` call a model with points and read its answers. Here the model is
first asked which points it will be given, then answered from the rows that were run for them.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Field, model_validator

from simulator.case.fields import Record, refusal
from simulator.grid.grid import FloatArray
from simulator.studies.campaign.job import Row
from simulator.studies.campaign.outcome import OUTCOMES
from simulator.studies.layout_rules import RULES
from simulator.studies.sensitivity import Model, morris, sobol

_QUANTITY = re.compile(r"\s*([-+]?\d+(?:\.\d*)?)\s*(\D.*)?")

#: Digits to which inputs are written: points of a design are the same on every machine.
DIGITS = 4


class SensitivityRecord(Record):
    """Which inputs are varied between which two values, and by which design."""

    method: Literal["morris", "sobol"] = "morris"
    rule: str = "corners"
    measure: str = "mean_hours"
    paths: Annotated[int, Field(strict=True, ge=2, le=1000)] = 4
    samples: Annotated[int, Field(strict=True, ge=2, le=4096)] = 8
    seed: Annotated[int, Field(strict=True, ge=0)] = 1
    inputs: dict[str, tuple[Any, Any]]

    @model_validator(mode="after")
    def _is_possible(self) -> "SensitivityRecord":
        if self.rule not in RULES:
            raise refusal("rule", f"unknown rule '{self.rule}'; rules: {', '.join(RULES)}")
        if self.measure not in OUTCOMES:
            raise refusal("measure", f"unknown figure; figures: {', '.join(OUTCOMES)}")
        if self.samples & (self.samples - 1):
            raise refusal("samples", f"{self.samples} is no power of two")
        for name, (low, high) in self.inputs.items():
            if _unit(low) != _unit(high):
                raise refusal(("inputs", name), "give two numbers with the same unit")
        return self

    def values(self, point: FloatArray) -> dict[str, Any]:
        """Return the inputs at a point of the unit cube, with their units."""
        found: dict[str, Any] = {}
        for share, (name, (low, high)) in zip(point, self.inputs.items(), strict=True):
            start, end = _number(low), _number(high)
            number = round(start + float(share) * (end - start), DIGITS)
            unit = _unit(low)
            found[name] = f"{number:g} {unit}" if unit else number
        return found

    def points(self) -> list[FloatArray]:
        """Return every point that the design asks for, each once, in its order."""
        asked: dict[tuple[float, ...], FloatArray] = {}

        def listen(points: FloatArray) -> FloatArray:
            for point in points:
                asked.setdefault(tuple(point), point)
            return np.arange(points.shape[0], dtype=np.float64)

        self._run(listen)
        return list(asked.values())

    def _run(self, model: Model) -> Any:
        lots, names = np.random.default_rng(self.seed), list(self.inputs)
        if self.method == "morris":
            return morris(model, names, self.paths, lots)
        return sobol(model, names, self.samples, lots)

    def analysed(self, answers: Mapping[str, float]) -> Any:
        """Return the design's result; ``answers`` maps ``label`` of a point to its figure."""
        return self._run(
            lambda points: np.array([answers[label(self.values(point))] for point in points])
        )


def label(values: Mapping[str, Any]) -> str:
    """Return the words by which the rows of a point are known."""
    return ", ".join(f"{name} = {value}" for name, value in values.items())


def findings(record: SensitivityRecord, rows: Sequence[Row]) -> Iterator[str]:
    """Yield the result of a sensitivity study as Markdown, or what is missing."""
    ours: dict[str, dict[str, float]] = {}
    for row in rows:
        if row["point"] and not row["error"] and row[record.measure] is not None:
            ours.setdefault(row["point"], {})[row["dwelling"]] = float(row[record.measure])
    wanted = [label(record.values(point)) for point in record.points()]
    missing = [point for point in wanted if point not in ours]
    everywhere = set.intersection(*(set(ours[point]) for point in wanted)) if not missing else set()
    if missing or not everywhere:
        yield f"{len(missing)} of {len(wanted)} points are not run yet."
        return
    answers = {
        point: float(np.mean([ours[point][dwelling] for dwelling in sorted(everywhere)]))
        for point in wanted
    }
    found = record.analysed(answers)
    yield f"Mean over {len(everywhere)} dwellings at each of {len(wanted)} points."
    yield ""
    columns: tuple[FloatArray, ...]
    if record.method == "morris":
        yield "| input | from, to | effect | absolute effect (mu*) | spread |"
        yield "|---|---|--:|--:|--:|"
        columns = (found.mean, found.mean_absolute, found.spread)
    else:
        yield "| input | from, to | alone (first order) | with company (total) |"
        yield "|---|---|--:|--:|"
        columns = (found.first, found.total)
    for nth, (name, (low, high)) in enumerate(record.inputs.items()):
        figures = " | ".join(f"{column[nth]:+.3f}" for column in columns)
        yield f"| {name} | {low}, {high} | {figures} |"


def _number(value: Any) -> float:
    found = _QUANTITY.fullmatch(str(value))
    return float(found[1]) if found else float("nan")


def _unit(value: Any) -> str | None:
    """Return the unit of a text such as "3 m2", "" for a bare number, None for what is neither."""
    found = _QUANTITY.fullmatch(str(value))
    return (found[2] or "").strip() if found else None
