"""Screening and Sobol indices on functions whose answers are known."""

import numpy as np
import pytest

from simulator.studies.campaign.inputs import SensitivityRecord, findings, label
from simulator.studies.sensitivity import morris, sobol


def test_effects_of_a_straight_function_are_its_slopes() -> None:
    slopes = np.array([3.0, -2.0, 0.0])
    found = morris(lambda x: x @ slopes, "abc", 5, np.random.default_rng(0))
    assert found.mean == pytest.approx(slopes)
    assert found.mean_absolute == pytest.approx(abs(slopes))
    assert found.spread == pytest.approx(0.0, abs=1e-12)
    assert found.runs == 5 * 4


def test_company_shows_as_spread() -> None:
    found = morris(lambda x: x[:, 0] * x[:, 1] + x[:, 2], "abc", 40, np.random.default_rng(0))
    assert (found.spread[:2] > 0.2).all()
    assert found.spread[2] == pytest.approx(0.0, abs=1e-12)


def test_walks_stay_in_the_cube_and_move_one_input_at_a_time() -> None:
    seen = []

    def look(points):
        seen.append(points)
        return points.sum(axis=1)

    morris(look, "abcd", 6, np.random.default_rng(1))
    walks = seen[0].reshape(6, 5, 4)
    assert walks.min() >= 0.0
    assert walks.max() <= 1.0
    assert (np.count_nonzero(np.diff(walks, axis=1), axis=2) == 1).all()


def test_sobol_indices_of_ishigami() -> None:
    """Ishigami & Homma 1990, a = 7, b = 0.1: S = 0.314, 0.442, 0; ST = 0.558, 0.442, 0.244."""

    def ishigami(points):
        x, y, z = (2.0 * points.T - 1.0) * np.pi
        return np.sin(x) + 7.0 * np.sin(y) ** 2 + 0.1 * z**4 * np.sin(x)

    found = sobol(ishigami, "xyz", 2048, np.random.default_rng(0))
    # quasi-random sampling of 2048 points: a few hundredths
    assert found.first == pytest.approx([0.314, 0.442, 0.0], abs=0.03)
    assert found.total == pytest.approx([0.558, 0.442, 0.244], abs=0.03)
    assert found.runs == 2048 * 5


INPUTS = {"floor_per_fan": ("3 m2", "9 m2"), "treatment.thermostat": ("56 degC", "60 degC")}


@pytest.mark.parametrize("method", ["morris", "sobol"])
def test_a_design_becomes_runs_and_the_runs_its_answer(method: str) -> None:
    record = SensitivityRecord(method=method, paths=3, samples=64, inputs=INPUTS)
    points = record.points()
    values = [record.values(point) for point in points]
    assert values == [SensitivityRecord(**record.model_dump()).values(p) for p in points]
    assert set(values[0]) == set(INPUTS)
    rows = [
        {
            "point": label(value),
            "dwelling": f"seed {seed}",
            "error": "",
            "mean_hours": seed + float(str(value["floor_per_fan"]).split()[0]),
        }
        for value in values
        for seed in (1, 2)
    ]
    text = "\n".join(findings(record, rows))
    assert f"over 2 dwellings at each of {len(values)} points" in text
    floor = next(line for line in text.splitlines() if line.startswith("| floor_per_fan"))
    effect = float(floor.split("|")[3])
    # from 3 to 9 m² the figure grows by 6; all of the variance is this input's
    assert effect == pytest.approx(6.0 if method == "morris" else 1.0, abs=0.05)
    assert "points are not run yet" in "\n".join(findings(record, rows[:4]))


def test_inputs_have_one_unit() -> None:
    with pytest.raises(ValueError, match="same unit"):
        SensitivityRecord(inputs={"tilt": ("0 deg", "1 rad")})
