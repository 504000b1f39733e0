"""Is the placement search worth its runs?

Four questions, each a mode; every run goes into a log, so a benchmark that is stopped goes on:

- ``cost``: what each rung costs beside one close run, in CPU seconds of one process.
- ``ranks [CASE] [layouts]``: do cheap looks and whole runs on coarse cells rank random layouts of
  three fans as close runs do? Spearman's rank correlation over 30 layouts, and the scatter between
  starts, which the widths of ties are set by.
- ``exhaustive [poses]``: in a small room with two fans, is the search as good as the best of all
  pairs? The best pair by looks and the search's answer are run again from new starts.
- ``rivals [CASE] [layouts]``: does the search beat the best of 200 random layouts (screened by
  looks, the best ten run closely) and three layouts of common practice, all from new starts?

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=. python benchmarks/placement.py MODE ... [--log FILE]``
"""

import argparse
import os
import platform
import time
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
from scipy.stats import spearmanr

from simulator.case.case import Case
from simulator.case.load import load
from simulator.errors import CaseError
from simulator.studies.candidates import Density, Floors, apart, fan_candidates
from simulator.studies.evaluate import Workers
from simulator.studies.fan_layout import FanPlace, with_fans
from simulator.studies.layout import Layout, given_fans
from simulator.studies.layout_rules import RULES, RuleNumbers, lay_out
from simulator.studies.objectives import OBJECTIVES
from simulator.studies.placement import Question, place
from simulator.studies.placement_effort import Effort
from simulator.studies.placement_worth import PRACTICE
from simulator.studies.rungs import CLOSE, CLOSEST, LOOK, WHOLE, Rung
from simulator.studies.trial_log import TrialLog
from simulator.studies.trials import Trial, Trials

ROOT = Path(__file__).parents[1]
BEDROOM = ROOT / "geometries" / "bedroom_prepared.toml"
SMALL = ROOT / "tests" / "rooms" / "small.toml"

#: Starts that no search uses.
NEW_STARTS = (20, 21, 22)


class Bench:
    """Trials of one case without its fans, in one process, with a log."""

    def __init__(self, path: Path, log: Path | None) -> None:
        self.given = load(path)
        self.case: Case = with_fans(self.given, (), "heaters alone")
        self.log = TrialLog(log)
        self.trials = Trials((self.case,), Workers(1), self.log)
        self.floors = Floors((self.case,), ())
        self.objective = OBJECTIVES[0]

    def values(self, layouts: list[Layout], rung: Rung, start: int) -> np.ndarray:
        """Return the values of layouts on a rung from a start."""
        asked = [Trial(layout, rung, start) for layout in layouts]
        return np.array([one.value(self.objective) for one in self.trials.outcomes(asked)])

    def random_layouts(self, count: int, fans: int, seed: int) -> list[Layout]:
        """Return layouts of poses drawn by lot that can stand together."""
        lots = np.random.default_rng(seed)
        spec = given_fans(self.given)[0]
        poses = fan_candidates(self.floors, spec, Density())
        found: list[Layout] = []
        while len(found) < count:
            layout = Layout(tuple(poses[n] for n in lots.choice(len(poses), fans, replace=False)))
            if all(apart(a, b) for a, b in combinations(layout.fans, 2)) and self.stands(layout):
                found.append(layout)
        return found

    def stands(self, layout: Layout) -> bool:
        """Return whether a layout can be set up."""
        try:
            self.trials.case(layout)
        except CaseError:
            return False
        return True


def cost(bench: Bench) -> None:
    """Print what each rung costs."""
    layouts = bench.random_layouts(2, 3, 1)
    spent = {}
    for rung in (LOOK, WHOLE, CLOSE, CLOSEST):
        bench.values(layouts[:1], rung, 30)  # compiles, and lays the dwelling
        begun = time.process_time()
        bench.values(layouts[1:], rung, 30)
        spent[rung.words] = time.process_time() - begun
    whole = spent[CLOSE.words]
    for words, seconds in spent.items():
        print(
            f"{words:<34}{seconds:7.2f} CPU s{seconds / whole:8.3f} of a close run"
            f"{1.0 / seconds:7.2f} a CPU second"
        )


def ranks(bench: Bench, count: int, rungs: tuple[Rung, ...]) -> None:
    """Print how rungs rank layouts, and how far starts scatter."""
    layouts = bench.random_layouts(count, 3, 5)
    table = {}
    for rung in rungs:
        table[rung.words] = bench.values(layouts, rung, 0)
        if rung is not CLOSEST:
            again = bench.values(layouts, rung, 1)
            scatter = float(np.std(table[rung.words] - again) / np.sqrt(2.0))
            mean = float(table[rung.words].mean())
            spread = float(table[rung.words].std())
            print(
                f"{rung.words:<34}scatter between starts {100 * scatter / mean:5.2f} %, spread of "
                f"layouts {100 * spread / mean:5.2f} %, rank correlation of two starts "
                f"{spearmanr(table[rung.words], again)[0]:5.2f}"
            )
    for one, other in combinations(table, 2):
        print(f"{one} and {other}: Spearman {spearmanr(table[one], table[other])[0]:.2f}")


def exhaustive(bench: Bench, wanted: int) -> None:
    """Print the best of all pairs beside the search's answer, both from new starts."""
    spec = given_fans(bench.given)[0]
    density = Density(wanted=wanted, turns=8)
    poses = fan_candidates(bench.floors, spec, density)[:60]
    pairs = [
        Layout(pair)
        for pair in combinations(poses, 2)
        if apart(*pair) and left_standing(bench, pair)
    ]
    begun = time.process_time()
    values = bench.values(pairs, LOOK, 0)
    spent = time.process_time() - begun
    few = [pairs[n] for n in np.argsort(values)[:5]]
    best = few[int(np.argmin(mean_of(bench, few)))]
    effort = Effort(judge=LOOK, ladder=((LOOK, 4),))
    begun = time.process_time()
    found = place(
        bench.given,
        Question(fans=2, density=density, effort=effort, workers=1),
        lambda step: None,
    )
    searched = time.process_time() - begun
    theirs, ours = mean_of(bench, [best, found.layout])
    width = bench.objective.width(theirs)
    print(f"{len(poses)} poses, {len(pairs)} pairs: {spent:.0f} CPU s ({len(pairs)} runs)")
    print(f"search: {found.runs} runs, {searched:.0f} CPU s")
    print(f"best of all pairs {theirs:.0f} s, search {ours:.0f} s, width of a tie {width:.0f} s")
    print("not worse" if ours <= theirs + width else "WORSE")


def left_standing(bench: Bench, pair: tuple[FanPlace, ...]) -> bool:
    """Return whether two fans can be set up."""
    return bench.stands(Layout(pair))


def mean_of(bench: Bench, layouts: list[Layout]) -> np.ndarray:
    """Return the values of layouts by looks from new starts."""
    return np.mean([bench.values(layouts, LOOK, start) for start in NEW_STARTS], axis=0)


def rivals(bench: Bench, count: int, fans: int, log: Path | None, rung: Rung) -> None:
    """Print the search's answer beside the best random layouts and common practice."""
    drawn = bench.random_layouts(count, fans, 7)
    looked = bench.values(drawn, LOOK, 0)
    best = [drawn[n] for n in np.argsort(looked)[:10]]
    close = bench.values(best, rung, 0)
    champion = best[int(np.argmin(close))]
    spec = given_fans(bench.given)[0]
    numbers = RuleNumbers(diameter=spec.diameter, flow=spec.flow, power=spec.power)
    rows = {"best of random": champion}
    for name in PRACTICE:
        laid = lay_out(RULES[name], bench.case, numbers, fans)
        rows[RULES[name].words] = Layout(tuple(replace(f, voltage=spec.voltage) for f in laid))
    rows["given"] = Layout(given_fans(bench.given))
    found = place(bench.given, Question(fans=fans, workers=1, log=log), lambda s: print(s.words))
    rows["search"] = found.layout
    runs = [bench.values(list(rows.values()), rung, start) for start in NEW_STARTS[:2]]
    for name, values in zip(rows, np.array(runs).T, strict=True):
        print(f"{name:<44}{values.mean():8.0f} s  ({', '.join(f'{v:.0f}' for v in values)})")


def main() -> None:
    """Answer one of the questions."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("mode", choices=("cost", "ranks", "exhaustive", "rivals"))
    parser.add_argument("case", nargs="?", type=Path)
    parser.add_argument("--number", type=int, help="of layouts or poses")
    parser.add_argument("--fans", type=int, default=3)
    parser.add_argument("--coarse", action="store_true", help="no runs on fine cells")
    parser.add_argument("--log", type=Path)
    asked = parser.parse_args()
    usual = SMALL if asked.mode == "exhaustive" else BEDROOM
    path = asked.case or usual
    print(f"{platform.processor() or platform.machine()}, {os.cpu_count()} cores; one process")
    print(f"{path.name}; objective: {OBJECTIVES[0].words}")
    bench = Bench(path, asked.log)
    if asked.mode == "cost":
        cost(bench)
    elif asked.mode == "ranks":
        ranks(bench, asked.number or 30, (LOOK, WHOLE) if asked.coarse else (LOOK, WHOLE, CLOSE))
    elif asked.mode == "exhaustive":
        exhaustive(bench, asked.number or 60)
    else:
        rivals(
            bench, asked.number or 200, asked.fans, asked.log, WHOLE if asked.coarse else CLOSEST
        )
    print(f"{bench.trials.run} runs made")


if __name__ == "__main__":
    main()
