"""Is a search for the places of fans better than lots, common practice and all pairs there are?

Modes, each on its own so that they can share a machine; every run goes into a log, so a benchmark
that is stopped goes on:

- ``cost [CASE]``: what each rung costs beside one close run, in CPU seconds of one process.
- ``ranks [CASE]``: do cheap looks and whole runs on coarse cells rank random layouts of three fans
  as close runs do? Spearman's rank correlation over 30 layouts, and the scatter between starts,
  which the widths of ties are set by.
- ``exhaustive [CASE]``: in a small room with two fans, is the search as good as the best of all
  pairs of 60 poses? The best pairs by looks and the search's answer are run again with long
  averages from new starts. The sampler is asked the same.
- ``rivals [CASE]``: does the search beat the best of 200 random layouts (screened by looks, the
  best ten run closely with long averages), three layouts of common practice and the given one, all
  with long averages from new starts? What is near to the search is run from more starts, and the
  difference told with its standard error.

Where all layouts were looked at by an earlier program, ``--screened FILE`` with those values spares
most of the looks of ``exhaustive`` and ``rivals``: only the best are looked at again.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=. python benchmarks/placement.py MODE ... [--log FILE]``. With
``--sections FOLDER`` the figures go into a file there, and ``placement.py report --sections
FOLDER`` makes ``benchmarks/PLACEMENT_REPORT.md`` of them.
"""

import argparse
import json
import os
import platform
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
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
from simulator.studies.fan_layout import with_fans
from simulator.studies.layout import Layout, given_fans
from simulator.studies.layout_rules import RULES, RuleNumbers, lay_out
from simulator.studies.objectives import OBJECTIVES
from simulator.studies.placement import Placement, Question, place
from simulator.studies.placement_effort import EFFORTS, Effort
from simulator.studies.placement_sampler import Sampled
from simulator.studies.placement_search import Search
from simulator.studies.placement_space import Step
from simulator.studies.placement_worth import FIRST_START, PRACTICE
from simulator.studies.rungs import CLOSE, CLOSE_LOOK, CLOSEST, LOOK, WHOLE, Rung
from simulator.studies.trial_log import TrialLog
from simulator.studies.trials import Trial, Trials

ROOT = Path(__file__).parents[1]
BEDROOM = ROOT / "geometries" / "bedroom_prepared.toml"
SMALL = ROOT / "tests" / "rooms" / "small.toml"
PAGE = ROOT / "benchmarks" / "PLACEMENT_REPORT.md"

#: Starts that no search chooses by; random layouts are chosen by the first of them.
NEW_STARTS = (FIRST_START, FIRST_START + 1, FIRST_START + 2)
#: Random layouts that are run closely, and how many of them again from new starts.
VERIFIED, KEPT = 10, 2
#: Starts of a layout at most; differences of so many standard errors part two.
MOST_STARTS, PARTED = 8, 2.0
#: Scatter of a close run with long averages between starts [s], and by how many degrees of freedom
#: it is known (measured in the bedroom: 200 s over four starts of one layout, 140 s over three of
#: another, 70 s over four of a third).
SCATTER, KNOWN_BY = 147.0, 8
OURS = "this search"
#: Layouts that are looked at again where all were by an earlier program.
LOOKED_AGAIN = 60
#: A look with averages as long as those of the closest runs.
LONG_LOOK = replace(WHOLE, settings=replace(CLOSEST.settings))

PREFACE = """# The search for places of fans, measured

Made by `benchmarks/placement.py`, one command a section, and put together by its mode `report`; do
not edit by hand. All rooms are invented. Values are of the objective that the search makes small
unless asked otherwise: the time until the hiding places have their dose, the slowest counting most,
with a penalty for places that are never done; so they compare layouts and are no finishing times.
"Common practice" has no source.

What these figures cannot say: two dwellings and one small room are no sample of dwellings; cells of
0.10 m leave an error of their own, which is common to the layouts that are compared; a search is
run with one seed.
"""

#: Measured once, by the commits before this one.
TRIED = """\
What the two efforts do, in the bedroom with three fans, one seed each; values of close runs with
long averages, by heat of 3cb56c8 and 21da181. `--effort usual` explores about one layout: exchanges
decided by looks on fine cells, four of them an exchange, two passes, four finalists. Its answer has
16,764 s, and 16,967 and 16,705 s from new starts: no better than the best of 200 random layouts.
With as much work, one pass from the best of 64 or 112 drawn layouts had 16,815 and 16,799 s,
exchanges on cells of 0.14 m 16,843 s, and 15,904 s on those cells: none is better than another by
more than starts scatter. `--effort long` draws 200 layouts, begins exchanges from the best three by
looks on fine cells, runs fourteen finalists with long averages and has such runs decide a last
exchange. All its numbers were set by what they cost, before any of its runs, and not changed after.
The best it drew had 16,627 s by a close look and 15,521 s after one pass of exchanges; the best
finalist 15,939 s, the last exchange 15,782 s, and three new starts 15,799 s. So most seems won by
where exchanges began, and the answer was not the best by luck. In the studio the best finalist had
25,908 s, the last exchange 25,517 s, and three new starts 25,227 s. None of the ten random layouts
that were verified there, of common practice, nor the given one with five fans is within 1,000 s of
it. The usual search was not run there.

Why long averages decide: six finalists that looks on fine cells put within 330 s of each other had
16,815 to 18,037 s, and whole runs on cells of 0.14 m told thirteen apart no better (correlation
0.14). That is no scatter: of nine layouts of a wider range looks on fine cells from two starts
differ by 58 s in the median, but from long averages by 385 s (standard deviation), whole runs there
by 181 s. Over those nine, four of them alike, Spearman's rank correlation with long averages was
0.65 for looks and 0.60 for whole runs on cells of 0.20 m, 0.87 for looks on 0.14 m, 0.92 for looks
and 0.93 for close runs on 0.10 m. So a search can leave bad layouts by looks, and needs a long run
of each good one. What there is to gain: heaters alone have about 23,300 s on coarse cells; the
answer of the usual search has 16,973 s by a close run, and 14,413 s if all convection were ten
times as good, 9 of 80 places still cold. Cold places make up 72 % of the sum of squares that its
objective comes from.

The whole command `roomsoak place geometries/bedroom_prepared.toml --fans 3 --workers 2` on two
cores that did nothing else, by heat of a1ae0db: 293 s by the clock (541 CPU s, 234 runs). With
`--effort long` it is the work that the first section tells, 1,697 CPU s on a machine that did other
work as well: by estimate sixteen minutes on two cores.
"""


class Bench:
    """Trials of one case without its fans, in one process, with a log."""

    def __init__(self, path: Path, log: Path | None) -> None:
        self.path, self.log_path = path, log
        self.given = load(path)
        self.case: Case = with_fans(self.given, (), "heaters alone")
        self.floors = Floors((self.case,), ())
        self.objective = OBJECTIVES[0]
        self.reopen()

    def reopen(self) -> None:
        """Read the log again: a search has written to it as well."""
        self.log = TrialLog(self.log_path)
        self.trials = Trials((self.case,), Workers(1), self.log)

    def values(self, layouts: Sequence[Layout], rung: Rung, start: int) -> np.ndarray:
        """Return the values of layouts on a rung from a start."""
        found = []
        for number, layout in enumerate(layouts, start=1):
            (outcome,) = self.trials.outcomes([Trial(layout, rung, start)])
            found.append(outcome.value(self.objective))
            if number % 20 == 0:
                tell(f"{rung.words}, start {start}: {number} of {len(layouts)}")
        return np.array(found)

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

    def search(self, question: Question) -> tuple[Placement, float]:
        """Return the answer of a search in this process with this log, and its CPU seconds."""
        begun = time.process_time()
        found = place(self.given, replace(question, workers=1, log=self.log_path), _step)
        self.reopen()
        return found, time.process_time() - begun


def tell(words: str) -> None:
    """Tell how far it is."""
    print(f"{time.strftime('%H:%M:%S')} {words}", file=sys.stderr, flush=True)


def _step(step: Step) -> None:
    tell(f"{step.words}: {step.value:.0f} s by {step.rung.words}")


def cost(bench: Bench) -> Iterator[str]:
    """Yield what each rung costs."""
    layouts = bench.random_layouts(3, 3, 1)
    spent: dict[Rung, float] = {}
    for rung in (LOOK, WHOLE, CLOSE_LOOK, CLOSE, CLOSEST):
        if rung.cell_size not in [other.cell_size for other in spent]:
            bench.values(layouts[:1], rung, 30)  # compiles, and lays the dwelling
        some = layouts[1:] if rung.cell_size > CLOSE.cell_size else layouts[1:2]
        begun = time.process_time()
        bench.values(some, rung, 30)
        spent[rung] = (time.process_time() - begun) / len(some)
    yield from (
        "| run | cells [m] | CPU s | of a close run | a CPU second |",
        "|---|--:|--:|--:|--:|",
    )
    for rung, seconds in spent.items():
        yield (
            f"| {rung.words} | {rung.cell_size:g} | {seconds:.2f} | {seconds / spent[CLOSE]:.3f} | "
            f"{1.0 / seconds:.2f} |"
        )
    yield from (
        "",
        "Layouts of three fans, two on coarse cells and one on fine ones, in one process that has "
        "compiled and laid the dwelling.",
    )


def ranks(bench: Bench, count: int, rungs: Sequence[Rung]) -> Iterator[str]:
    """Yield how rungs rank layouts, and how far starts scatter."""
    layouts = bench.random_layouts(count, 3, 7)
    table = {rung: bench.values(layouts, rung, 0) for rung in rungs}
    yield from (
        f"{count} random layouts of three fans.",
        "",
        "| run | spread of layouts | scatter between two starts | their rank correlation |",
        "|---|--:|--:|--:|",
    )
    for rung, values in table.items():
        mean, spread = float(values.mean()), float(values.std())
        row = f"| {rung.words} | {100 * spread / mean:.2f} % |"
        if rung.cell_size > CLOSE.cell_size:
            again = bench.values(layouts, rung, 1)
            scatter = float(np.std(values - again) / np.sqrt(2.0))
            row += f" {100 * scatter / mean:.2f} % | {spearmanr(values, again)[0]:.2f} |"
        else:
            row += " not run | |"
        yield row
    yield from ("", "| ranked by | and by | Spearman's rank correlation |", "|---|---|--:|")
    for (one, a), (other, b) in combinations(table.items(), 2):
        yield f"| {one.words} | {other.words} | {spearmanr(a, b)[0]:.2f} |"
    best = int(np.argmin(table[rungs[-1]]))
    for rung in rungs[:-1]:
        place_of_best = int((table[rung] < table[rung][best]).sum()) + 1
        yield from ("", f"The best by {rungs[-1].words} is number {place_of_best} by {rung.words}.")


def exhaustive(bench: Bench, wanted: int, screened: Path | None) -> Iterator[str]:
    """Yield the best of all pairs beside the search's answer, both from new starts.

    ``screened`` holds values of looks at all pairs, in their order, by an earlier program: then
    only the best of those are looked at.
    """
    spec = given_fans(bench.given)[0]
    density = Density(wanted=wanted, turns=8)
    poses = fan_candidates(bench.floors, spec, density)[:60]
    pairs = [Layout(pair) for pair in combinations(poses, 2) if apart(*pair)]
    pairs = [pair for pair in pairs if bench.stands(pair)]
    looked, tried = _screened(pairs, screened)
    values = bench.values(tried, LOOK, 0)
    few = [tried[n] for n in np.argsort(values)[:5]]
    long = _means(bench, few, LONG_LOOK)
    theirs = float(long.min())
    width = bench.objective.width(theirs)
    yield from (
        f"{len(poses)} poses, {len(list(combinations(poses, 2)))} pairs, of which {len(pairs)} can "
        f"stand; all of them were looked at{looked}, the best five run with long averages from "
        f"{len(NEW_STARTS)} new starts. A tie is {width:.0f} s wide.",
        "",
        "| layout | runs tried | value from new starts [s] | beside the best of all pairs |",
        "|---|--:|--:|---|",
        f"| best of all pairs | {len(pairs)} | {theirs:.0f} | |",
    )
    effort = Effort(sampled=150, decide=WHOLE, ladder=((WHOLE, 4),), compare=WHOLE)
    for search, words in ((Search, "greedy search"), (Sampled, "sampler")):
        asked = Question(fans=2, density=density, effort=effort, search=search)
        found, _ = bench.search(asked)
        ours = float(_means(bench, [found.layout], LONG_LOOK)[0])
        verdict = "not worse" if ours <= theirs + width else "**worse**"
        yield (
            f"| {words} | {found.runs} | {ours:.0f} | {verdict} ({ours - theirs:+.0f} s), "
            f"{len(found.layout.fans)} fans |"
        )


def _screened(layouts: list[Layout], screened: Path | None) -> tuple[str, list[Layout]]:
    """Return words and the layouts that are left to look at: all, or those that were best."""
    if screened is None:
        return "", layouts
    earlier = np.array(json.loads(screened.read_text())["values"])
    if len(earlier) != len(layouts):
        raise SystemExit(f"{screened}: {len(earlier)} values for {len(layouts)} layouts")
    best = [layouts[n] for n in np.argsort(earlier)[:LOOKED_AGAIN]]
    return f" by an earlier program, the best {LOOKED_AGAIN} by this one", best


def _means(bench: Bench, layouts: Sequence[Layout], rung: Rung) -> np.ndarray:
    return np.asarray(np.mean([bench.values(layouts, rung, start) for start in NEW_STARTS], axis=0))


def rivals(
    bench: Bench, count: int, fans: int, effort: str, rung: Rung, screened: Path | None
) -> Iterator[str]:
    """Yield the search's answer beside the best random layouts and common practice."""
    words_of_looks, drawn = _screened(bench.random_layouts(count, fans, 7), screened)
    looked = bench.values(drawn, LOOK, 0)
    best = [drawn[n] for n in np.argsort(looked)[:VERIFIED]]
    verified = bench.values(best, rung, NEW_STARTS[0])
    asked = replace(EFFORTS[effort], compare=LOOK)  # its answer is compared below
    found, spent = bench.search(Question(fans=fans, effort=asked))
    spec = given_fans(bench.given)[0]
    numbers = RuleNumbers(diameter=spec.diameter, flow=spec.flow, power=spec.power)
    rows = {OURS: found.layout}
    for name in PRACTICE:
        laid = lay_out(RULES[name], bench.case, numbers, fans)
        words = f"{RULES[name].words} [{RULES[name].standing}]"
        rows[words] = Layout(tuple(replace(fan, voltage=spec.voltage) for fan in laid))
    rows["the given layout"] = Layout(given_fans(bench.given))
    for n in np.argsort(verified)[:KEPT]:
        rows[f"random, number {n + 1} of {count} by looks"] = best[n]
    runs = _repeated(bench, rows, rung)
    ours = runs[OURS]
    width = bench.objective.width(float(np.mean(ours)))
    yield from (
        f"{fans} fans, {found.poses[0]} poses. The search (`--effort {effort}`) made {found.runs} "
        f"runs in {spent:.0f} CPU s of one process (those that its log knew cost nothing). {count} "
        "random layouts were "
        f"looked at{words_of_looks}; the best {VERIFIED} of them had {rung.words} "
        f"({', '.join(f'{value:.0f}' for value in verified)} s), and the best {KEPT} of those are "
        f"below. All values of the table: {rung.words} on cells of {rung.cell_size:g} m from "
        "starts that neither the search nor the choice of random layouts used. What is near to the "
        f"search is run from more starts until the two are {PARTED:g} standard errors apart, at "
        f"most {MOST_STARTS}. A tie is {width:.0f} s wide.",
        "",
        "| layout | fans | runs | mean [s] | each [s] | beside this search |",
        "|---|--:|--:|--:|---|---|",
    )
    for words in sorted(rows, key=lambda words: float(np.mean(runs[words]))):
        values = runs[words]
        told = "" if words == OURS else _beside(ours, values, width)
        each = ", ".join(f"{value:.0f}" for value in values)
        yield (
            f"| {words} | {len(rows[words].fans)} | {len(values)} | {np.mean(values):.0f} | {each} "
            f"| {told} |"
        )
    yield from ("", "```")
    yield from (f"{fan}" for fan in found.layout.fans)
    yield "```"


def _repeated(bench: Bench, rows: Mapping[str, Layout], rung: Rung) -> dict[str, list[float]]:
    """Return values of layouts from new starts: as many as it takes to part them from ours."""
    runs: dict[str, list[float]] = {words: [] for words in rows}
    asked = list(rows)
    for number in range(MOST_STARTS):
        for words in asked:
            start = NEW_STARTS[0] + 1 + number
            runs[words] += bench.values([rows[words]], rung, start).tolist()
            tell(f"{words}, start {start}: {runs[words][-1]:.0f} s")
        ours = runs[OURS]
        near = sorted(
            (words for words in rows if words != OURS),
            key=lambda words: float(np.mean(runs[words])),
        )
        least = [OURS, near[0]] if number + 1 < len(NEW_STARTS) else []
        open_ones = [words for words in near if not _is_parted(ours, runs[words])]
        asked = list(dict.fromkeys([*least, *([OURS, *open_ones] if open_ones else [])]))
    return runs


def _is_parted(ours: Sequence[float], theirs: Sequence[float]) -> bool:
    difference = abs(float(np.mean(theirs)) - float(np.mean(ours)))
    return difference > PARTED * _standard_error(ours, theirs)


def _standard_error(ours: Sequence[float], theirs: Sequence[float]) -> float:
    """Return the standard error of the difference of two means [s].

    Starts of all layouts scatter alike as far as is known, so the scatter of these two is pooled
    with what is known of others: a few runs alone may lie close together by luck.
    """
    several = [np.asarray(one) for one in (ours, theirs) if len(one) > 1]
    squares = sum(float(((one - one.mean()) ** 2).sum()) for one in several)
    freedom = KNOWN_BY + sum(one.size - 1 for one in several)
    variance = (KNOWN_BY * SCATTER**2 + squares) / freedom
    return float(np.sqrt(variance * (1.0 / len(ours) + 1.0 / len(theirs))))


def _beside(ours: Sequence[float], theirs: Sequence[float], width: float) -> str:
    difference = float(np.mean(theirs)) - float(np.mean(ours))
    error = _standard_error(ours, theirs)
    words = "later" if difference > 0.0 else "EARLIER"
    if abs(difference) <= PARTED * error:
        words = "not told apart"
    elif abs(difference) < width:
        words += ", by less than a tie"
    return f"{difference:+.0f} ± {error:.0f} s: {words}"


def _commit() -> str:
    asked = ["git", "-C", str(ROOT), "rev-parse", "--short", "HEAD"]
    return subprocess.run(asked, capture_output=True, text=True, check=False).stdout.strip()


def _section(asked: argparse.Namespace, bench: Bench, lines: Sequence[str]) -> str:
    """Return a section of the page: figures with where they come from."""
    words = [asked.mode, *([str(asked.number)] if asked.number else [])]
    title = {
        "cost": "What runs cost", "ranks": "Do cheap looks rank layouts as close runs do?",
        "exhaustive": "Beside all pairs", "rivals": "Beside lots and common practice",
    }[asked.mode]  # fmt: skip
    begun = "benchmarks/placement.py " + " ".join([words[0], bench.path.name])
    options = f" --number {asked.number}" if asked.number else ""
    options += f" --effort {asked.effort}" if asked.mode == "rivals" else ""
    return "\n".join(
        [
            f"## {title}: {bench.path.stem}",
            "",
            f"`{begun}{options}` at {_commit()}, {platform.machine()}, {os.cpu_count()} CPUs "
            "shared with other work, one process.",
            "",
            *lines,
        ]
    )


#: What the page is to hold, in the order of the page.
EXPECTED = (
    "rivals_bedroom_prepared",
    "rivals_studio_prepared",
    "exhaustive_small",
    "ranks_bedroom_prepared",
    "cost_bedroom_prepared",
)


def report(folder: Path) -> None:
    """Write the page of the sections in a folder, and name those that are missing."""
    paths = [folder / f"{name}.md" for name in EXPECTED]
    sections = [path.read_text() for path in paths if path.exists()]
    missing = [path.stem.replace("_", " ", 1) for path in paths if not path.exists()]
    if missing:
        sections.append(f"Not run, or not to the end: {', '.join(missing)}.\n")
    PAGE.write_text("\n".join([PREFACE, TRIED, *(f"{section}\n" for section in sections)]))
    print(PAGE)


def main() -> None:
    """Answer one of the questions."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("mode", choices=("cost", "ranks", "exhaustive", "rivals", "report"))
    parser.add_argument("case", nargs="?", type=Path)
    parser.add_argument("--number", type=int, help="of layouts or poses")
    parser.add_argument("--fans", type=int, default=3)
    parser.add_argument("--effort", choices=tuple(EFFORTS), default="usual", help="of the search")
    parser.add_argument("--coarse", action="store_true", help="no runs on fine cells")
    parser.add_argument(
        "--screened", type=Path, help="file of looks at all of them by an earlier program"
    )
    parser.add_argument("--log", type=Path)
    parser.add_argument("--sections", type=Path, help="folder of the page's sections")
    asked = parser.parse_args()
    if asked.mode == "report":
        report(asked.sections)
        return
    bench = Bench(asked.case or (SMALL if asked.mode == "exhaustive" else BEDROOM), asked.log)
    rung = WHOLE if asked.coarse else CLOSEST
    modes = {
        "cost": lambda: cost(bench),
        "ranks": lambda: ranks(
            bench,
            asked.number or 30,
            (LOOK, WHOLE) if asked.coarse else (LOOK, WHOLE, CLOSE_LOOK, CLOSE),
        ),
        "exhaustive": lambda: exhaustive(bench, asked.number or 60, asked.screened),
        "rivals": lambda: rivals(
            bench, asked.number or 200, asked.fans, asked.effort, rung, asked.screened
        ),
    }
    section = _section(asked, bench, list(modes[asked.mode]()))
    print(section)
    if asked.sections:
        (asked.sections / f"{asked.mode}_{bench.path.stem}.md").write_text(section)


if __name__ == "__main__":
    main()
