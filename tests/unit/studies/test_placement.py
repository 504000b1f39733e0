"""The search for a layout: its answer, its answer again, and clear words where there is none."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from simulator.case.case import Case
from simulator.case.load import load, load_texts
from simulator.case.variants import varied
from simulator.cli.program import roomsoak
from simulator.errors import CaseError
from simulator.studies.candidates import (
    POSTURES,
    Density,
    Floors,
    apart,
    fan_candidates,
    neighbours,
)
from simulator.studies.fan_layout import with_fans
from simulator.studies.free_floor import reach
from simulator.studies.layout import Layout, given_fans, given_heaters, laid_out, left_off
from simulator.studies.placement import Question, _knee, place
from simulator.studies.placement_draws import drawn_layouts, posture_of, thinned
from simulator.studies.placement_effort import EFFORTS, Effort
from simulator.studies.placement_sampler import Sampled
from simulator.studies.placement_search import Search
from simulator.studies.placement_space import Ranked, Step
from simulator.studies.placement_table import placement_table
from simulator.studies.placement_task import PlacementTask
from simulator.studies.placement_words import COARSE_ONLY, placement_lines, plan_text, why
from simulator.studies.rungs import CLOSE_LOOK, CLOSEST, LOOK, WHOLE, Rung
from simulator.studies.trial_log import TrialLog, key_of
from simulator.studies.trials import Trial

SMALL = Path(__file__).parents[2] / "rooms" / "small.toml"
SHORT = {"treatment.horizon": "30 min"}
#: Few poses and short averages: what is tested is how layouts are chosen, not how well.
GLANCE = replace(
    LOOK,
    settings=replace(
        LOOK.settings, first_flow=replace(LOOK.settings.first_flow, discard=4.0, average=8.0)
    ),
)
QUICKLY = Effort(
    batch=4, fresh=4, runoff=2, drawn=5, proven=1, passes=1, exchanged=2, polish=1, polished=1,
    look=GLANCE, judge=GLANCE, decide=GLANCE, close=2, ladder=((GLANCE, 2),), compare=GLANCE,
)  # fmt: skip
FEW = Density(wanted=12, turns=4, postures=POSTURES[:1])
ASKED = Question(objective=Question().objective, density=FEW, effort=QUICKLY, workers=1)


@pytest.fixture(scope="module")
def case() -> Case:
    return load(SMALL, overrides=SHORT)


@pytest.fixture(scope="module")
def answer(case: Case, tmp_path_factory: pytest.TempPathFactory):  # type: ignore[no-untyped-def]
    log = tmp_path_factory.mktemp("placement") / "log.jsonl"
    return place(case, replace(ASKED, log=log)), log


def test_poses_stand_free_and_blow_free(case: Case) -> None:
    bare = with_fans(case, (), "none")
    floors, fan = Floors([bare], []), given_fans(case)[0]
    poses = fan_candidates(floors, fan, Density(wanted=200))
    assert 100 < len(poses) <= 200
    gap = floors.floors["room"]
    for pose in poses:
        i, j = (round(value / 0.05) - 1 for value in pose.at)
        assert gap.gap[i, j] >= reach(fan.diameter) - 1e-9
        met = floors.stuff.met_by(pose)
        assert met is None or met[1] > 0.6
        with_fans(case, (pose,), "one")  # loads: nothing overlaps
    assert len({pose.turn for pose in poses}) == 8
    assert len({pose.tilt for pose in poses}) >= 2
    assert all(pose != poses[0] for pose in neighbours(floors, poses[0], FEW))


def test_answer_names_places_reasons_and_rivals(answer) -> None:  # type: ignore[no-untyped-def]
    found, _ = answer
    assert found.is_complete
    assert len(found.layout.fans) == 2
    assert [row.fans for row in found.compared] == [2, 2, 2, 2, 2]
    assert sum("common practice" in row.standing for row in found.compared) == 3
    text = "\n".join(placement_lines(found))
    for words in (
        "fan 1: in the room,", "from the", "wall", "its jet meets", "this plan, 2 fans",
        "the given layout, 2 fans", "common practice, no source", "How much is enough",
        "Heat needed on average", "Limits",
    ):  # fmt: skip
        assert words in text, words
    assert len(found.by_number) == 3
    assert found.by_heaters[0].number == 1
    assert {one.number: one.is_added for one in found.by_heaters}.get(2, True)
    table = placement_table(found)
    assert json.loads(json.dumps(table, allow_nan=False))["fans"][0]["room"] == "room"


def test_layout_file_is_the_layout(answer, case: Case) -> None:  # type: ignore[no-untyped-def]
    found, _ = answer
    text = plan_text(found)
    assert text.startswith("# Placed by a search")
    main, source = next(iter(case.sources.items()))
    head = source[: source.index("[layout]")] + source[source.index("[treatment]") :]
    again = load_texts({main: 'layout = "plan.toml"\n' + head, "plan.toml": text}, main)
    assert again.parts == found.case.parts
    assert again.circuits == found.case.circuits
    assert {circuit.name: len(circuit.loads) for circuit in again.circuits} == {
        "range": 1,
        "outlets": 2,
    }


def test_a_log_cut_off_anywhere_gives_the_same_answer(  # type: ignore[no-untyped-def]
    answer, case: Case, tmp_path: Path
) -> None:
    found, log = answer
    lines = log.read_text().splitlines(keepends=True)
    whole = len(lines) - 9
    cut = tmp_path / "cut.jsonl"
    cut.write_text("".join(lines[:whole]) + lines[whole][:40])
    again = place(case, replace(ASKED, log=cut))
    assert again.runs == found.runs - whole == 9
    assert placement_table(again) | {"runs": 0} == placement_table(found) | {"runs": 0}
    known = place(case, replace(ASKED, log=cut))
    assert known.runs == 0


def test_killed_and_resumed_gives_the_same_answer(answer, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """SIGKILL amid the search in a process of its own, which goes on from two thirds of the way."""
    found, whole = answer
    log = tmp_path / "killed.jsonl"
    begun = whole.read_text().splitlines(keepends=True)[: 2 * found.runs // 3]
    log.write_text("".join(begun))
    program = (
        "import sys; sys.path[:0] = sys.argv[1:3]\n"
        "from pathlib import Path\nfrom dataclasses import replace\n"
        "from test_placement import ASKED, SHORT, SMALL, load, place\n"
        "place(load(SMALL, overrides=SHORT), replace(ASKED, log=Path(sys.argv[3])))\n"
    )
    here = Path(__file__)
    child = subprocess.Popen(
        [sys.executable, "-c", program, str(here.parent), str(here.parents[2]), str(log)],
        env=os.environ,
    )
    try:
        for _ in range(3000):
            if log.read_bytes().count(b"\n") >= len(begun) + 3:
                break
            assert child.poll() is None, "it ended before it was killed"
            time.sleep(0.05)
        child.send_signal(signal.SIGKILL)
    finally:
        child.kill()
        child.wait()
    done = log.read_bytes().count(b"\n")
    assert len(begun) + 3 <= done < found.runs
    again = place(load(SMALL, overrides=SHORT), replace(ASKED, log=log))
    assert again.runs <= found.runs - done
    assert placement_table(again) | {"runs": 0} == placement_table(found) | {"runs": 0}


def test_ctrl_c_leaves_the_best_so_far(case: Case) -> None:
    told = []

    def stop(step: object) -> None:
        told.append(step)
        if len(told) == 3:
            raise KeyboardInterrupt

    found = place(case, ASKED, stop)
    assert not found.is_complete
    assert found.layout == told[-1].layout  # type: ignore[attr-defined]
    assert "INTERRUPTED" in "\n".join(placement_lines(found))
    assert plan_text(found)


def test_no_fans_to_place_is_an_answer(case: Case) -> None:
    found = place(case, replace(ASKED, fans=0))
    assert found.layout.fans == ()
    text = "\n".join(placement_lines(found))
    assert "no fan is placed" in text
    assert "the given layout, 2 fans" in text


def test_heaters_move_where_they_are_free(case: Case) -> None:
    few = replace(FEW, heater_poses=8)
    found = place(case, replace(ASKED, fans=0, moves_heaters=True, density=few))
    assert found.layout.heaters[0].name == "heater 1"
    assert "heater 1: in the room" in "\n".join(placement_lines(found))
    assert found.poses[-1] > 1


def test_where_nothing_is_free_or_powered_the_answer_is_clear(case: Case) -> None:
    crowded = varied(
        with_fans(case, (), "none"),
        {
            "dwelling.furniture.bags.size": ["1.8 m", "1.8 m", "0.6 m"],
            "dwelling.furniture.bags.at": ["1.9 m", "0.9 m"],
            "layout.equipment.heater 1.at": ["0.5 m", "1.3 m"],
            "layout.equipment.heater 1.turn": "270 deg",
        },
    )
    with pytest.raises(CaseError, match=r"no free floor for a fan of 0\.5 m: it needs"):
        place(crowded, replace(ASKED, fans=1))
    weak = varied(case, {"layout.circuit.outlets.rating": "1 A"})
    with pytest.raises(CaseError, match="no feasible circuit: none has 200 W at 120 V left"):
        place(weak, ASKED)
    dark = varied(case, {"layout.circuit.range.rating": "5 A"})
    with pytest.raises(CaseError, match="no feasible plan of circuits: heater 1"):
        place(dark, ASKED)


def test_fans_beyond_the_circuits_are_told(case: Case) -> None:
    tight = varied(case, {"layout.circuit.outlets.rating": "3 A"})  # 288 W: one fan of 200 W
    found = place(tight, replace(ASKED, effort=replace(QUICKLY, passes=0)))
    assert len(found.layout.fans) == 1
    assert any("carry 1 of 2 fans" in note for note in found.notes)
    assert not left_off(tight, found.layout)


def test_circuits_reach_their_rooms_alone(case: Case) -> None:
    far = varied(case, {"layout.circuit.outlets.rooms": ["room"]})
    fan = given_fans(far)[0]
    assert fan.voltage == 120.0
    assert not left_off(far, Layout((fan,)))
    assert left_off(far, Layout((replace(fan, room="elsewhere"),))) == ("fan 1",)
    moved = laid_out(far, Layout(given_fans(far)[:1], given_heaters(far)), "same")
    assert moved.parts[-1] == far.parts[-1] or len(moved.parts) == len(far.parts) - 1


def test_command_writes_the_layout_and_refuses_to_overwrite(tmp_path: Path) -> None:
    out, log = tmp_path / "plan.toml", tmp_path / "log.jsonl"
    out.write_text("mine")
    base = ["place", str(SMALL), "--out", str(out), "--log", str(log)]
    refused = CliRunner().invoke(roomsoak, base)
    assert refused.exit_code == 2
    assert "exists already; give --force" in refused.output
    wrong = CliRunner().invoke(roomsoak, [*base[:2], "--objective", "speed"])
    assert wrong.exit_code == 2
    assert "unknown objective 'speed'" in wrong.output
    assert out.read_text() == "mine"
    assert not log.exists()


def test_command_answers_in_json_with_progress_beside_it(tmp_path: Path) -> None:
    path, out = tmp_path / "small.toml", tmp_path / "plan.toml"
    path.write_text(SMALL.read_text().replace('horizon = "4 h"', 'horizon = "20 min"'))
    asked = ["place", str(path), "--fans", "0", "--effort", "quick", "--workers", "1", "--json"]
    done = CliRunner().invoke(
        roomsoak, [*asked, "--out", str(out), "--log", str(tmp_path / "log.jsonl")]
    )
    assert done.exit_code == 0, done.output
    table = json.loads(done.stdout)
    assert table["fans"] == [] and table["is_complete"] and table["file"] == str(out)
    assert table["heat"]["circuits"] > table["heat"]["heaters"] > 0.0
    assert "Heat needed on average" in done.stderr
    assert "best so far" in done.stderr
    assert out.read_text().startswith("# Placed by a search")


def test_log_keeps_what_is_whole(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    log = TrialLog(path)
    log.keep("a", {"x": 1.5})
    log.keep("b", {"x": None})
    log.close()
    path.write_bytes(path.read_bytes() + b'{"key": "c", "ru')
    again = TrialLog(path)
    assert (again.known("a"), again.known("b"), again.known("c")) == ({"x": 1.5}, {"x": None}, None)
    again.keep("d", {"x": 2})
    again.close()
    last = TrialLog(path)
    last.close()
    assert last.known("d") == {"x": 2}
    assert key_of(1, "a") != key_of(1, "b") == key_of(1, "b")


def test_knee_is_where_no_more_fans_are_worth_it() -> None:
    def knee(*values: float) -> int:
        return _knee([Ranked(Layout(), (value,)) for value in values])

    assert knee(100.0) == 0
    assert knee(100.0, 80.0, 79.5) == 1
    assert knee(100.0, 80.0, 79.5, 60.0) == 3  # the third makes up for the second
    assert knee(100.0, 99.5, 99.0) == 0


def test_fewer_fans_are_the_answer_where_more_are_worse(case: Case) -> None:
    fan = given_fans(case)[0]
    two, one, none = Layout((fan, replace(fan, turn=9.0))), Layout((fan,)), Layout()
    known = {two: 1000.0, two.without_fan(0): 990.0, one: 900.0, none: 1200.0}

    def search(values: dict[Layout, float]) -> Search:
        def outcomes(trials: list[Trial]) -> list[SimpleNamespace]:
            return [SimpleNamespace(value=lambda _, of=values[one.layout]: of) for one in trials]

        known_runs = SimpleNamespace(outcomes=outcomes)
        found = Search(SimpleNamespace(), known_runs, ASKED.objective)  # type: ignore[arg-type]
        found._judged.update(values)
        return found

    assert search(known)._spare(two) == one
    assert search(known | {one: 970.0})._spare(two) == two  # a tie: within 60 s
    assert search(known | {none: 500.0})._spare(two) == none
    assert [ranked.value for ranked in search(known).by_number()] == [1200.0, 900.0, 1000.0]
    without_one = {two: 1000.0, none: 1200.0}  # a search that draws whole layouts, cut off
    assert [ranked.value for ranked in search(without_one).by_number()] == [1200.0]


def test_first_fan_is_tried_to_every_other_side_of_every_spot(case: Case) -> None:
    space = PlacementTask.of((case,), replace(ASKED, density=Density(wanted=200))).space
    poses = space.fans[0]
    plain = [pose for pose in poses if posture_of(pose) == posture_of(poses[0])]
    half = thinned(poses, 2)
    assert {pose.at for pose in half} == {pose.at for pose in plain}
    assert 0.4 * len(plain) < len(half) < 0.65 * len(plain)
    assert {pose.turn for pose in half} == {pose.turn for pose in plain}
    assert thinned(poses, 1) == plain


def test_a_side_passed_over_promises_what_its_neighbours_do(case: Case) -> None:
    fan = given_fans(case)[0]
    sides = [replace(fan, turn=turn) for turn in (0.0, 45.0, 90.0, 135.0, 180.0)]
    search = Search(SimpleNamespace(), SimpleNamespace(), ASKED.objective)  # type: ignore[arg-type]
    search._promise |= {sides[0]: 10.0, sides[2]: 30.0}
    elsewhere = replace(fan, at=(fan.at[0] + 1.0, fan.at[1]))
    lying = replace(sides[2], tilt=fan.tilt + 30.0)
    search._promise_alike([*sides, lying, elsewhere])
    promised = [search._promise[pose] for pose in (*sides, lying)]
    assert promised == [10.0, 20.0, 30.0, 30.0, 30.0, 30.0]
    assert elsewhere not in search._promise


def test_coarse_looks_propose_and_close_ones_decide(case: Case) -> None:
    """Coarse cells would keep the layout; none is looked at twice on either."""
    fan = given_fans(case)[0]
    every = [Layout((replace(fan, turn=turn),)) for turn in (0.0, 9.0, 18.0, 27.0, 36.0)]
    here, one, two, three, four = every
    values = {
        LOOK: (900.0, 950.0, 960.0, 970.0, 980.0),
        CLOSE_LOOK: (600.0, 610.0, 450.0, 200.0, 100.0),
        CLOSEST: (950.0, 970.0, 500.0, 300.0, 200.0),
        WHOLE: (930.0, 800.0, 850.0, 980.0, 990.0),
    }
    asked: list[Trial] = []

    def outcomes(trials: list[Trial]) -> list[SimpleNamespace]:
        asked.extend(trials)
        found = [values[trial.rung][every.index(trial.layout)] for trial in trials]
        return [SimpleNamespace(value=lambda _, of=value: of) for value in found]

    def layouts(rung: Rung) -> list[Layout]:
        return [trial.layout for trial in asked if trial.rung == rung]

    runs = SimpleNamespace(outcomes=outcomes)
    effort = Effort(close=1, ladder=((CLOSEST, 2),))
    search = Search(SimpleNamespace(), runs, ASKED.objective, effort)  # type: ignore[arg-type]
    search._look([here], None)
    assert search._by_looks(here, [four, one, two], "") == two
    assert layouts(CLOSE_LOOK) == [here, one, two]
    assert search._by_looks(two, [here, one, three, four], "") == three
    assert layouts(CLOSE_LOOK) == [here, one, two, two, three]  # the log knows the second time
    assert sorted(layouts(LOOK), key=every.index) == every
    search._climb(three)
    assert layouts(CLOSEST) == [three, two]
    assert search.best == three
    assert search.judged(three) == 980.0
    assert search.reached == CLOSEST


def test_exchanges_end_when_none_of_a_round_helps(case: Case) -> None:
    fans = tuple(replace(given_fans(case)[0], turn=turn) for turn in (0.0, 9.0, 18.0))
    tried: list[int] = []

    class Tried(Search):
        def _others(self, current: Layout, index: int, _: object) -> tuple[list[Layout], str]:
            tried.append(index)
            return ([current.without_fan(0)] if len(tried) == 2 else []), ""

    def better(current: Layout, others: Sequence[Layout], _: str) -> Layout:
        return replace(current, fans=current.fans[::-1]) if others else current

    search = Tried(SimpleNamespace(), SimpleNamespace(), ASKED.objective)  # type: ignore[arg-type]
    search._exchange(Layout(fans), 2, np.random.default_rng(0), better)
    assert tried == [0, 1, 2, 0, 1]


def test_layouts_drawn_by_lot_stand_and_differ_and_are_drawn_alike(case: Case) -> None:
    space = PlacementTask.of((case,), replace(ASKED, density=Density(wanted=60))).space
    drawn = drawn_layouts(space, 2, 20, np.random.default_rng(3))
    assert drawn == drawn_layouts(space, 2, 20, np.random.default_rng(3))
    assert drawn != drawn_layouts(space, 2, 20, np.random.default_rng(4))
    assert len(set(drawn)) == len(drawn) > 15
    assert len({layout.fans[0] for layout in drawn}) > 10
    for layout in drawn:
        assert apart(*layout.fans)
        assert not left_off(case, layout)
    assert drawn_layouts(space, 3, 20, np.random.default_rng(3)) == []  # two are asked for


Known = dict[Rung, dict[Layout, Any]]


def _turned(case: Case, *turns: float) -> list[Layout]:
    """Return layouts of two fans that differ by how the first one is turned."""
    fan = given_fans(case)[0]
    return [Layout((replace(fan, turn=turn), fan)) for turn in turns]


def _told(
    values: Known, kind: type[Search] = Search, **effort: Any
) -> tuple[Search, list[Trial], list[Step]]:
    """Return a search whose runs have these values (or one for each start), its runs and steps."""
    asked: list[Trial] = []
    steps: list[Step] = []

    def value_of(trial: Trial) -> float:
        known = values[trial.rung][trial.layout]
        return float(known[trial.start - 1] if isinstance(known, tuple) else known)

    def outcomes(trials: list[Trial]) -> list[SimpleNamespace]:
        asked.extend(trials)
        found = [value_of(trial) for trial in trials]
        return [SimpleNamespace(value=lambda _, of=value: of) for value in found]

    runs, space = SimpleNamespace(outcomes=outcomes), SimpleNamespace()
    return kind(space, runs, ASKED.objective, Effort(**effort), steps.append), asked, steps  # type: ignore[arg-type]


def test_exchanges_begin_from_the_best_of_all_looked_at_closely(
    case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of three drawn, looks prove two; by closer looks one is better than the greedy layout."""
    greedy, good, fair, poor = _turned(case, 9.0, 18.0, 27.0, 36.0)
    values: Known = {
        LOOK: {good: 700.0, fair: 600.0, poor: 800.0},
        CLOSE_LOOK: {greedy: 500.0, good: 400.0, fair: 900.0, poor: 100.0},
    }
    monkeypatch.setattr(
        "simulator.studies.placement_search.drawn_layouts", lambda *_: [poor, good, fair]
    )
    lots = np.random.default_rng(0)
    search, asked, steps = _told(values, drawn=3, proven=2, origins=2)
    search._looked[greedy] = 650.0
    assert search._origins(greedy, lots) == [good, greedy]
    assert poor not in [trial.layout for trial in asked if trial.rung == CLOSE_LOOK]
    assert [step.layout for step in steps] == [fair, good]
    search, asked, _ = _told(values, drawn=0)
    assert search._origins(greedy, lots) == [greedy]
    search, asked, _ = _told(values, drawn=3)
    alone = greedy.without_fan(0)
    assert search._origins(alone, lots) == [alone]
    assert not asked


def test_long_runs_decide_where_looks_on_fine_cells_cannot(case: Case) -> None:
    """By closer looks the first is best; by long runs the third, and better one beside it."""
    first, second, third, beside, far = _turned(case, 9.0, 18.0, 27.0, 36.0, 45.0)
    values: Known = {
        LOOK: {beside: 910.0, far: 900.0},
        CLOSE_LOOK: {first: 100.0, second: 110.0, third: 120.0, beside: 130.0, far: 140.0},
        CLOSEST: {first: 900.0, second: 800.0, third: 500.0, beside: 400.0},
        WHOLE: {first: 1.0, second: 2.0, third: 3.0, beside: 4.0},
    }
    begun: list[Layout] = []

    class Beside(Search):
        def _others(self, current: Layout, index: int, _: object) -> tuple[list[Layout], str]:
            begun.append(current)
            return ([beside, far] if index == 0 else []), f"fan {index + 1}"

    for polish, best in ((0, third), (1, beside)):
        search, asked, steps = _told(
            values, Beside, ladder=((CLOSEST, 3),), polish=polish, polished=1, again=()
        )
        search._decided |= {one: values[CLOSE_LOOK][one] for one in (first, second, third)}
        search._climb(first)
        assert search.best == search.finalists[0].layout == best
        assert search.judged(best) == values[WHOLE][best]
        assert begun == [third, beside][: 2 * polish]
        assert {step.layout for step in steps} == {third, best}  # never one that looks praise
    assert far in [trial.layout for trial in asked if trial.rung == CLOSE_LOOK]


def test_best_of_many_by_luck_is_found_out_by_more_starts(case: Case) -> None:
    """The first has one lucky start; the third is the best on the whole."""
    lucky, second, third, fourth = layouts = _turned(case, 9.0, 18.0, 27.0, 36.0)
    values: Known = {
        CLOSEST: {
            lucky: (10000.0, 10400.0, 10400.0),
            second: (10020.0, 10300.0, 10400.0),
            third: (10040.0, 10040.0, 10060.0),
            fourth: (10050.0, 10500.0, 10500.0),
        },
        WHOLE: dict.fromkeys(layouts, 1.0),
    }

    def answer(*again: int) -> tuple[Search, int]:
        search, asked, _ = _told(values, ladder=((CLOSEST, 4),), again=again)
        search._decided |= {one: number + 1.0 for number, one in enumerate(layouts)}
        search._climb(lucky)
        return search, len([trial for trial in asked if trial.rung == CLOSEST])

    assert answer()[0].best == lucky
    assert answer(2)[0].best == second
    search, runs = answer(3, 2)
    assert search.best == third
    assert search.finalists[0].values == (10040.0, 10040.0)
    assert runs == 7  # no tie is left after the second start


def test_coarse_cells_alone_take_no_fan_away(case: Case) -> None:
    (two,) = _turned(case, 9.0)
    one, other = two.without_fan(0), two.without_fan(1)
    coarse = {two: 1000.0, one: 900.0, other: 990.0, Layout(): 1200.0}
    for close, best in ((880.0, two), (700.0, one)):
        values: Known = {WHOLE: coarse, CLOSE_LOOK: {two: 900.0, one: close}}
        search, _, _ = _told(values)
        search._judged.update(coarse)
        search._decided[one] = close
        assert search._spare(two) == best


def test_efforts_do_more_and_more() -> None:
    quick, usual, long = (EFFORTS[name] for name in ("quick", "usual", "long"))
    assert quick.compare.cell_size > usual.compare.cell_size == long.compare.cell_size
    assert quick.passes * quick.exchanged < usual.passes * usual.exchanged
    assert usual.drawn == usual.polish == 0 < long.proven < long.drawn
    assert usual.ladder[-1][0] == long.ladder[-1][0] == CLOSEST
    assert usual.ladder[-1][1] < long.ladder[-1][1]
    assert list(long.again) == sorted(long.again, reverse=True)  # those have the most averages


def test_what_a_fan_adds_is_told_by_the_width_of_a_tie(answer) -> None:  # type: ignore[no-untyped-def]
    found, _ = answer
    part = replace(found.contributions[0], value=20000.0, helped=())
    for loss, words in ((201.0, "is worse by"), (150.0, "can be spared"), (-199.0, "can be spared"),
                        (-300.0, "BETTER by 5 min")):  # fmt: skip
        assert words in why(replace(part, loss=loss), found)[0], loss


def test_limits_name_the_cells_that_were_used(answer) -> None:  # type: ignore[no-untyped-def]
    found, _ = answer
    coarse = "\n".join(placement_lines(found))
    assert "on cells of 20.0 cm" in coarse and "Cells of 20.0 cm" in coarse
    assert "10.0 cm" not in coarse
    assert COARSE_ONLY in coarse
    fine = "\n".join(placement_lines(replace(found, rung=CLOSEST)))
    assert "Cells of 10.0 cm" in fine and COARSE_ONLY not in fine


def test_circuits_are_planned_once_for_fans_of_the_same_rooms(
    case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    planned = []
    monkeypatch.setattr(
        "simulator.studies.placement_space.left_off",
        lambda case, layout: planned.append(layout) or left_off(case, layout),
    )
    space = PlacementTask.of((case,), replace(ASKED, density=Density(wanted=100))).space
    first, *others = space.fans[0]
    open_poses = [pose for pose in others if space.may_add(Layout((first,)), pose)]
    assert 0 < len(open_poses) < len(others)
    assert len(planned) == 1


def test_sampler_draws_layouts_that_stand_and_repeats_itself(case: Case, tmp_path: Path) -> None:
    pytest.importorskip("optuna")
    asked = replace(
        ASKED,
        search=Sampled,
        effort=replace(QUICKLY, sampled=6, runoff=1, polish=0, again=()),
        log=tmp_path / "log.jsonl",
    )
    found = place(case, asked)
    assert found.is_complete
    assert len(found.by_number) == 3
    first, second = found.layout.fans[:2] if len(found.layout.fans) == 2 else (None, None)
    assert first is None or apart(first, second)
    again = place(case, asked)
    assert again.runs == 0
    assert again.layout == found.layout


def test_sampler_that_is_not_installed_is_one_clear_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "optuna", None)
    log = tmp_path / "log.jsonl"
    asked = ["place", str(SMALL), "--search", "sampler", "--log", str(log), "-q"]
    failed = CliRunner().invoke(roomsoak, asked)
    assert failed.exit_code == 1
    assert failed.output.splitlines() == [
        "layouts are drawn by the package optuna; install it with "
        "pip install 'roomsoak[sampler]', or use the greedy search"
    ]
