"""Pages opened in headless Chromium with everything that they ask for or complain about noted."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome")

#: A browser without a screen or graphics card still draws with WebGL2 under these.
SWITCHES = (
    "--no-sandbox",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
)


@dataclass(slots=True)
class Watched:
    """A page; what it asked for (addresses) and what it complained about."""

    page: Any
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)


def chromium() -> str:
    """Return where Chromium is; skip the test, with the reason, where there is none."""
    pytest.importorskip("playwright", reason="playwright is not installed")
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        pytest.skip("no Chromium found; on Debian or Ubuntu: apt-get install chromium")
    return found


@contextmanager
def watched_page(
    width: int = 900, height: int = 700, *, more_switches: tuple[str, ...] = ()
) -> Iterator[Watched]:
    """Yield an empty page of a fresh browser."""
    path = chromium()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=[*SWITCHES, *more_switches])
        page = browser.new_page(viewport={"width": width, "height": height})
        watched = Watched(page)
        page.on("request", lambda request: watched.requests.append(request.url))
        page.on(
            "console",
            lambda said: said.type in ("error", "warning") and watched.complaints.append(said.text),
        )
        page.on("pageerror", lambda error: watched.complaints.append(str(error)))
        yield watched
        browser.close()
