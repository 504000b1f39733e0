"""The written study 'What a fan rule is worth', made from seeds by one command.

    python benchmarks/rule_study.py [--workers N] [--only studios,numbers] [--no-run]

It runs the plans in ``benchmarks/studies`` (hours of processor time; stopped, it goes on where it
was), joins their pages to ``benchmarks/RULE_STUDY.md`` and puts the pictures beside it.
"""

import argparse
import shutil
import subprocess
import sys
from math import isfinite
from pathlib import Path

from simulator.studies.campaign.job import COST, PLACE, Row
from simulator.studies.campaign.league import agreement, scores_of
from simulator.studies.campaign.plan import read_plan
from simulator.studies.campaign.report import report, usual_rows
from simulator.studies.campaign.store import Store
from simulator.studies.campaign.table import ordered

HERE = Path(__file__).parent
PLANS = ("studios", "flats", "numbers", "inputs")
PICTURES = {"studios": ("league", "worst"), "flats": ("league",), "numbers": ("floor_per_fan",)}

INTRODUCTION = """# What a fan rule is worth

Where should fans stand? Crews have rules of thumb: in the corners, at the beds, facing the heater,
in a ring. This study puts such rules into furnished dwellings drawn by lot and asks how much sooner
the hiding places are done than with the heaters alone. It is made by
`python benchmarks/rule_study.py`; every dwelling follows from its seed. All dwellings are invented;
the rules are common practice without a source, or our own, as the tables say.
"""

#: Measured once, by the program whose rows the page has; mean times to done.
CELL_SIZES = """All rows of this page are by the program of ff995c2, whose refrigerators stood flush
on the floor: one reason why no run finishes. Now they have feet, and the floor under them comes to
40 to 48 °C in ten hours in two studios where it stayed at 21; floors under fitted cabinets and
baseboards on cold walls are not done there either. It also sealed the loads of some open drawers
off from the air on such cells: in the shipped bedroom on 0.15 m a dresser's load came to 28 °C
where the mended program has 43 and cells of 0.10 m have 50. On cells of 0.20 m the mean times of
every dwelling and rule in twenty studios ranked like those on 0.10 m (0.971), but the rules' means
did not (0.857: rules that differ by less than a quarter of an hour changed places); a run took 4.1
s there. So this study has cells of 0.15 m. In one dwelling differences of a few tenths of an hour
mean nothing: the mean times of single runs on 0.15 and on 0.10 m differ by 0.3 h (standard
deviation, after each dwelling's own mean)."""


def main() -> None:
    """Run what is left of the plans and write the page."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--workers", type=int, default=1)
    options.add_argument("--only", default=",".join((*PLANS, "studios_fine")))
    options.add_argument("--no-run", action="store_true")
    options.add_argument("--store", type=Path, default=Path("rule_study"))
    options.add_argument("--page", type=Path, default=HERE / "RULE_STUDY.md")
    given = options.parse_args()
    if not given.no_run:
        for name in given.only.split(","):
            run(name, given.store, given.workers)
    given.page.write_text(page(given.store, given.page.parent), encoding="utf-8")


def run(name: str, store: Path, workers: int) -> None:
    """Run what is left of a plan."""
    plan = str(HERE / "studies" / f"{name}.toml")
    command = [sys.executable, "-m", "simulator.cli", "study", plan]
    subprocess.run([*command, "--out", str(store / name), "--workers", str(workers)], check=False)


def page(store: Path, folder: Path) -> str:
    """Return the page from the rows that there are."""
    parts, last = [INTRODUCTION], ""
    for name in PLANS:
        plan, jobs = read_plan(HERE / "studies" / f"{name}.toml")
        rows = rows_of(store, name)
        if not rows:
            parts.append(f"## {plan.title}\n\nNot run yet: `benchmarks/studies/{name}.toml`.\n")
            continue
        text = "\n" + report(plan, rows, len(jobs))
        text = text.replace("\n## ", "\n### ").replace("\n# ", "\n## ")
        body, limits = text.split("### Limits")
        last = last or f"## Limits{limits}"  # those of the main study
        parts.append(body.strip() + "\n")
        parts.append(pictures(store / name, name, folder))
        if name == "studios":
            by_rule = [row for row in rows if row["rule"] != PLACE]
            parts.append(cells(by_rule, rows_of(store, "studios_fine")))
            parts.append(throughput(rows))
    return "\n".join(part for part in (*parts, last) if part)


def rows_of(store: Path, name: str) -> list[Row]:
    """Return the rows of a plan that are done."""
    jobs = read_plan(HERE / "studies" / f"{name}.toml")[1]
    found = Store(store / name).rows()
    return ordered(found[job.key] for job in jobs if job.key in found)


def pictures(made: Path, name: str, folder: Path) -> str:
    """Copy the pictures of a plan beside the page and return the lines that show them."""
    lines = []
    for picture in PICTURES.get(name, ()):
        path = made / f"{picture}.png"
        if path.is_file():
            there = folder / "studies" / f"{name}_{picture}.png"
            shutil.copy(path, there)
            lines.append(f"![{name}: {picture}](studies/{there.name})\n")
    return "\n".join(lines)


def told(correlation: float) -> str:
    """Return a correlation in print; where all figures are alike there is none."""
    return f"{correlation:.3f}" if isfinite(correlation) else "–"


def cells(coarse: list[Row], fine: list[Row]) -> str:
    """Say how far ranks on the study's cells agree with those on fine ones."""
    lines = ["### Do coarse cells rank alike?", "", CELL_SIZES, ""]
    if not fine:
        return "\n".join([*lines, "Not measured yet: `benchmarks/studies/studios_fine.toml`.", ""])
    lines += ["| figure | dwellings | every dwelling and rule | rules' means | within dwellings |"]
    lines += ["|---|--:|--:|--:|--:|"]
    horizon = max(row["horizon_h"] for row in fine)
    for measure in ("finishing_h", "mean_hours", "hours_90"):
        late = None if measure == "mean_hours" else horizon
        ours, theirs = (scores_of(usual_rows(rows), measure, late) for rows in (coarse, fine))
        found = agreement(ours, theirs)
        lines.append(
            f"| {measure} | {found['dwellings']:.0f} | {told(found['all'])} |"
            f" {told(found['league'])} | {told(found['within'])} |"
        )
    cost = [sum(row.get(COST, 0.0) for row in rows) / len(rows) for rows in (coarse, fine)]
    lines += [
        "",
        "Spearman's rank correlation of the figures on the study's cells with those on cells of "
        f"{fine[0]['cell_m']:g} m; 0.9 is wanted. A run took {cost[0]:.1f} s of processor time on "
        f"the former and {cost[1]:.1f} s on the latter.",
        "",
    ]
    return "\n".join(lines)


def throughput(rows: list[Row]) -> str:
    """Say what the runs took and what ten thousand dwellings would take."""
    cost = [row[COST] for row in rows if row["rule"] != PLACE]
    mean = sum(cost) / len(cost)
    hours = 10_000 * 6 * mean / 3600.0
    return "\n".join(
        [
            "### Throughput",
            "",
            f"{len(cost)} runs took {mean:.1f} s of processor time each in the mean (rules, "
            f"loading and cells included): {3600.0 / mean:.0f} runs a core-hour. Ten thousand such "
            f"dwellings by six rules on 64 workers: {hours:.0f} core-hours, {hours / 64:.1f} h, if "
            "every core is as quick; `python benchmarks/study_throughput.py` measures scaling and "
            "what a scheduler adds.",
            "",
        ]
    )


if __name__ == "__main__":
    main()
