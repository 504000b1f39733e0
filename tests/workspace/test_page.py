"""The page in headless Chromium: drawn on, run, looked at, reloaded; by mouse and by keys."""

import os
import re
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser import Watched, chromium, watched_page
from desk_case import CASE, lay_out
from desk_process import DeskProcess, desk_process

pytestmark = pytest.mark.slow

#: Longest that the page may take for one thing [ms]; nothing is timed by it.
PATIENCE = 150_000

#: The checker of accessibility: the file of the npm package axe-core.
AXE = Path(os.environ.get("AXE_CORE", "node_modules/axe-core/axe.min.js"))

#: What axe-core calls faults that keep people out.
GRAVE = ("serious", "critical")


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DeskProcess]:
    chromium()
    folder = tmp_path_factory.mktemp("desk")
    lay_out(folder)
    with desk_process(folder) as found:
        yield found


@pytest.fixture
def watched(desk: DeskProcess) -> Iterator[Watched]:
    with watched_page(1400, 950) as found:
        found.page.set_default_timeout(PATIENCE)
        open_case(found.page, desk)
        yield found
        assert found.complaints == []
        strangers = [url for url in found.requests if not is_ours(url, desk)]
        assert strangers == []


def is_ours(url: str, desk: DeskProcess) -> bool:
    return url.startswith((desk.address, "data:", f"blob:{desk.address}"))


def open_case(page: Any, desk: DeskProcess) -> None:
    page.goto(f"{desk.address}#{CASE}")
    page.wait_for_selector("#piece-fan-1")


def until(page: Any, condition: str) -> None:
    """Wait for a condition; the page's content policy keeps it from being waited for inside."""
    end = time.monotonic() + PATIENCE / 1000
    while not page.evaluate(condition):
        assert time.monotonic() < end, condition
        page.wait_for_timeout(50)


def saved(page: Any) -> None:
    until(page, "document.getElementById('saved').textContent === 'all saved'")


def fan(desk: DeskProcess) -> dict[str, Any]:
    layout = tomllib.loads((desk.folder / "home/layout.toml").read_text())
    return next(row for row in layout["equipment"] if row["name"] == "fan 1")


def drag(page: Any, name: str, right: float, down: float) -> None:
    box = page.locator(f"#piece-{name} .claim").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + right / 2, y + down / 2)
    page.mouse.move(x + right, y + down)
    page.mouse.up()


def pixels_of_a_metre(page: Any) -> float:
    return float(page.evaluate("100 * document.getElementById('plan').getScreenCTM().a"))


def metres(text: str) -> float:
    return float(text.removesuffix(" m"))


def test_a_fan_is_dragged_turned_by_keys_and_nothing_is_lost(
    watched: Watched, desk: DeskProcess
) -> None:
    page = watched.page
    before = fan(desk)
    metre = pixels_of_a_metre(page)
    with page.expect_response(re.compile(r"/edit\?")):
        drag(page, "fan-1", -0.30 * metre, -0.20 * metre)
    saved(page)
    after = fan(desk)
    assert metres(after["at"][0]) == pytest.approx(metres(before["at"][0]) - 0.30, abs=0.011)
    assert metres(after["at"][1]) == pytest.approx(metres(before["at"][1]) + 0.20, abs=0.011)
    page.focus("#piece-fan-1")
    with page.expect_response(re.compile(r"/edit\?")):
        for key in ("r", "r", "ArrowRight", "Shift+ArrowRight", "t"):
            page.keyboard.press(key)
    saved(page)
    turned = fan(desk)
    assert turned["turn"] == "120 deg"
    assert turned["tilt"] == "10 deg"
    assert metres(turned["at"][0]) == pytest.approx(metres(after["at"][0]) + 0.30)
    assert page.evaluate("document.activeElement.id") == "piece-fan-1"
    page.reload()
    page.wait_for_selector("#piece-fan-1")
    assert f"{turned['at'][0]} east" in page.get_attribute("#piece-fan-1", "aria-label")
    assert fan(desk) == turned
    for _ in range(2):
        with page.expect_response(re.compile("/undo$")):
            page.click("#undo")
        saved(page)
    assert fan(desk) == before


def test_a_piece_let_go_in_a_wall_goes_back_and_the_page_says_why(desk: DeskProcess) -> None:
    with watched_page(1400, 950) as found:
        page = found.page
        open_case(page, desk)
        before = page.get_attribute("#piece-boxes", "aria-label")
        with page.expect_response(re.compile(r"/edit\?")):
            drag(page, "boxes", 3 * pixels_of_a_metre(page), 0.0)
        page.wait_for_selector("#message.wrong")
        assert "sticks" in page.inner_text("#message")
        assert page.get_attribute("#piece-boxes", "aria-label") == before
        assert page.get_attribute("#piece-boxes", "transform") is None
        assert all("422" in text for text in found.complaints)


def test_run_cancel_run_again_and_compare_two_layouts(watched: Watched, desk: DeskProcess) -> None:
    page = watched.page
    page.click("#run-both")
    page.wait_for_selector("#running progress")
    until(page, "document.querySelector('#running progress').value > 0")
    page.click("#running button:has-text('Cancel')")
    page.wait_for_selector("#running .cancelled")
    until(page, "document.querySelector('#running progress') === null")
    page.click("#run-coarse")
    page.wait_for_selector("#running .done")
    page.click("text=Look at it")
    page.wait_for_selector(".spots button")
    page.click("#spot-0-1")
    assert page.get_attribute("#spot-0-1", "aria-pressed") == "true"
    assert page.locator(".heat-plan .spot.chosen").count() == 1
    assert page.locator('.room-place [data-id="1"]').get_attribute("aria-pressed") == "true"
    page.click("#open-cases")
    page.fill("#copy-title", "Fan the other way")
    page.click("#copy-case")
    until(page, "document.getElementById('case-title').textContent.startsWith('Fan')")
    page.click("#view-draw")
    page.focus("#piece-fan-1")
    with page.expect_response(re.compile(r"/edit\?")):
        page.keyboard.press("R")
        page.keyboard.press("R")
    saved(page)
    page.click("#run-coarse")
    page.wait_for_selector("#running progress")
    until(page, "document.querySelector('#running progress') === null")
    page.wait_for_selector("#running .done")
    page.click("#view-results")
    page.wait_for_selector("#shown-1")
    names = page.locator("#shown-1 option").evaluate_all("all => all.map((one) => one.value)")
    assert "results/fan_the_other_way_20cm.vtkhdf" in names
    page.select_option("#shown-0", "results/small_20cm.vtkhdf")
    page.select_option("#shown-1", "results/fan_the_other_way_20cm.vtkhdf")
    page.wait_for_selector("#comparison table")
    page.wait_for_selector("#answer-1")
    assert "A tie" in page.inner_text("#comparison") or "A " in page.inner_text("#comparison")
    page.evaluate("document.getElementById('at-time').value = 0.5")
    page.dispatch_event("#at-time", "input")
    assert page.inner_text("#at-time-words") == "0 h 10 min"
    with page.expect_download() as waiting:
        page.click("#sheet-0")
    sheet = waiting.value.path().read_text(encoding="utf-8")
    assert "Small room" in sheet
    assert "fan 1" in sheet


def test_two_windows_edit_one_case_and_both_edits_stay(desk: DeskProcess) -> None:
    with watched_page(1200, 900) as found:
        one = found.page
        open_case(one, desk)
        two = one.context.browser.new_page()
        open_case(two, desk)
        two.route("**/api/events", lambda route: route.abort())
        with one.expect_response(re.compile(r"/edit\?")):
            one.focus("#piece-fan-1")
            one.keyboard.press("r")
        saved(one)
        two.click("#tab-day")
        two.fill("#plan-target", "54 degC")
        two.press("#plan-target", "Tab")
        saved(two)
        treatment = tomllib.loads((desk.folder / CASE).read_text())["treatment"]
        assert treatment["target"] == "54 degC"
        assert fan(desk)["turn"] == "105 deg"
        until(one, "document.getElementById('message').textContent.includes('another')")


def test_a_dwelling_is_made_from_nothing_by_forms_alone(desk: DeskProcess, tmp_path: Path) -> None:
    with desk_process(tmp_path) as empty, watched_page(1300, 900) as found:
        page = found.page
        page.goto(empty.address)
        page.fill("#new-title", "Small flat")
        page.fill("#new-size-0", "13 ft")
        page.click("#make-new")
        page.wait_for_selector("#tab-furniture")
        for kind in ("bed", "clutter"):
            page.select_option("#add-furniture-kind", kind)
            page.click("#add-furniture")
            page.wait_for_selector(f"#piece-{kind}")
        page.click("#tab-dwelling")
        page.click("#add-room")
        until(page, "document.querySelectorAll('#plan .wall').length === 2")
        page.click("#add-doorway")
        page.wait_for_selector("#plan .door.open", state="attached")
        page.click("#add-window")
        page.wait_for_selector("#plan .window", state="attached")
        page.click("#tab-equipment")
        for kind in ("electric_heater", "fan", "sensor"):
            page.select_option("#add-equipment-kind", kind)
            page.click("#add-equipment")
            page.wait_for_selector(f"#piece-form h2:has-text('{kind.split('_')[-1]}')")
        page.click("#add-circuit")
        page.wait_for_selector("#circuit-0-loads-0")
        page.check("#circuit-0-loads-0")
        saved(page)
        assert found.complaints == []
        layout = tomllib.loads((tmp_path / "small_flat.toml").read_text())["layout"]
        assert layout["circuit"][0]["loads"] == ["electric heater 1"]
        home = tomllib.loads((tmp_path / "small_flat_dwelling.toml").read_text())
        assert home["doorway"][0]["between"] == ["bedroom", "room"]
        assert [row["kind"] for row in home["furniture"]] == ["bed", "clutter"]


def test_axe_core_finds_no_grave_fault_in_any_view(watched: Watched) -> None:
    if not AXE.is_file():
        pytest.skip(f"axe-core is not at {AXE}; npm install axe-core, or set AXE_CORE")
    source = AXE.read_text(encoding="utf-8")
    page = watched.page
    page.evaluate(f"() => {{ {source} }}")

    def faults(view: str) -> list[str]:
        found = page.evaluate("axe.run()")["violations"]
        return [
            f"{view}: {row['id']}, {node['html'][:120]}"
            for row in found
            if row["impact"] in GRAVE
            for node in row["nodes"]
        ]

    page.focus("#piece-fan-1")
    page.keyboard.press("Enter")
    told = []
    for tab in ("furniture", "dwelling", "preparation", "equipment", "day", "todo", "files"):
        page.click(f"#tab-{tab}")
        if tab == "todo":
            page.wait_for_selector("#panel .todo")
        for details in page.locator("#panel details").all():
            details.evaluate("node => { node.open = true; }")
        told += faults(tab)
    page.click("#open-cases")
    page.wait_for_selector("#cases[open]")
    told += faults("cases")
    page.click("#cases-close")
    page.click("#view-results")
    until(page, "document.getElementById('work').childElementCount > 0")
    page.wait_for_timeout(500)
    told += faults("results")
    assert told == []
