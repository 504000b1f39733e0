"""The page of a study and its pictures, from made-up rows."""

from pathlib import Path

import numpy as np
from PIL import Image

from simulator.case.load import load
from simulator.output.league_pictures import draw_plans, plot_league, plot_numbers
from simulator.studies.campaign.job import Row
from simulator.studies.campaign.league import scores_of
from simulator.studies.campaign.outcome import OUTCOMES
from simulator.studies.campaign.plan import PlanFile
from simulator.studies.campaign.report import report, usual_rows
from simulator.studies.layout_rules import RULES, RuleNumbers

GEOMETRIES = Path(__file__).parents[3] / "geometries"
PLAN = PlanFile(
    title="made up",
    cell="0.25 m",
    dwellings={"count": 12},
    rules=("none", "ring", "low"),
    numbers={"floor_per_fan": ("4 m2", "6 m2")},
)


def rows() -> list[Row]:
    lots = np.random.default_rng(0)
    found = []
    for seed in range(12):
        for rule in PLAN.rules:
            for area in (6.0,) if rule == "none" else (4.0, 6.0):
                gain = {"none": 0.0, "ring": 0.6, "low": 0.4}[rule] * 6.0 / area
                figures = dict.fromkeys(OUTCOMES, 1.0)
                hours = 6.0 + 0.1 * seed - gain + 0.01 * float(lots.standard_normal())
                told = {"dwelling": f"seed {seed}", "preparation": "prepared", "rule": rule}
                told |= {"kind": "studio", "area_m2": 20.0 + seed, "point": "", "error": ""}
                numbers = {n: getattr(RuleNumbers(), n) for n in RuleNumbers.__dataclass_fields__}
                numbers["floor_per_fan"] = area
                late = {"mean_hours": hours, "hours_90": None, "horizon_h": 10.0, "fans": 4}
                found.append({**told, **numbers, **figures, **late, "finishing_h": None})
    return found


def test_the_page_says_what_was_run_what_won_and_what_it_is_not() -> None:
    page = report(PLAN, rows(), 70)
    assert "60 runs in 12 dwellings (60 of the 70 of the plan are done), on cells of 0.25 m" in page
    assert "done within the horizon in 0 of 60 runs" in page
    league = page[page.index("## League by mean_hours") :]
    assert league.index("| ring:") < league.index("| low:") < league.index("| none:")
    assert "| ring | floor_per_fan = 4" in page
    assert "## Limits" in page
    for word in ("eradicated", "guaranteed", " safe"):
        assert word not in page
    assert len(usual_rows(rows())) == 36
    assert report(PLAN, rows(), 70) == page


def test_regret_is_what_rules_lose_to_the_search() -> None:
    plan = PLAN.model_copy(update={"place": 12})
    assert "none is done yet" in report(plan, rows(), 70)
    found = rows()
    searched = [{**row, "rule": "place"} for row in found if row["rule"] == "none"][:5]
    for row in [*found, *searched]:
        gain = {"none": 0.0, "low": 20.0, "ring": 40.0, "place": 50.0}[row["rule"]]
        row["litre_hours"] = 500.0 - gain
    page = report(plan, [*found, *searched], 75)
    regret = page[page.index("## Regret") :]
    assert "in 5 of the 12 dwellings" in regret
    assert "| ring | +10 | +10 to +10 | +2.2 % | +10 |" in regret
    assert "| none | +50 |" in regret
    assert "| place:" not in page  # it is no rule and has no place in the league


def test_a_study_without_rows_has_a_page_too() -> None:
    assert "0 runs in 0 dwellings (0 of the 70" in report(PLAN, [], 70)


def test_pictures_are_drawn(tmp_path: Path) -> None:
    scores = scores_of(usual_rows(rows()), "mean_hours")
    path = plot_league(scores, "none", tmp_path / "league.png", title="made up")
    again = plot_league(scores, "none", tmp_path / "again.png", title="made up")
    assert path.read_bytes() == again.read_bytes()
    plot_numbers(rows(), "floor_per_fan", "mean_hours", tmp_path / "numbers.png")
    case = load(GEOMETRIES / "bedroom_prepared_ring.toml")
    draw_plans([(RULES["ring"].words, case)] * 2, tmp_path / "plans.png")
    for name in ("league", "numbers", "plans"):
        pixels = np.asarray(Image.open(tmp_path / f"{name}.png").convert("L"))
        assert pixels.std() > 10.0
