"""Saves are whole or not at all, and no name leads out of the folder."""

import os
from pathlib import Path

import pytest

from simulator.workspace.folder import Folder
from simulator.workspace.refusals import NotThere

OLD = {"one.toml": "old one", "two.toml": "old two"}
NEW = {"one.toml": "new one, longer", "two.toml": "new two"}


class Stopped(BaseException):
    """The machine stops."""


def texts_in(folder: Folder) -> dict[str, str]:
    return {name: folder.root.joinpath(name).read_text() for name in OLD}


@pytest.mark.parametrize(
    "name",
    [
        "../out.toml",
        "a/../../out.toml",
        "/etc/passwd",
        "a\\..\\out.toml",
        ".hidden.toml",
        "a/.git/config",
        "",
        ".",
        "a\x00b",
        "c:out.toml",
        "x" * 201,
    ],
)
def test_no_name_leads_out_of_the_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(NotThere):
        Folder(tmp_path).path(name)


def test_a_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    inside = tmp_path / "inside"
    inside.mkdir()
    (inside / "link.toml").symlink_to(tmp_path / "secret.toml")
    with pytest.raises(NotThere):
        Folder(inside).path("link.toml")


def save_until(folder: Folder, texts: dict[str, str], steps: int) -> bool:
    """Save, and stop after some forces to disk and renamings; return whether it was stopped."""
    left = iter(range(steps))
    sync, replace = os.fsync, os.replace

    def count() -> None:
        if next(left, None) is None:
            raise Stopped

    def counted_sync(number: int) -> None:
        count()
        sync(number)

    def counted_replace(path: Path, target: Path) -> None:
        count()
        replace(path, target)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", counted_sync)
        patch.setattr(Path, "replace", counted_replace)
        try:
            folder.save(texts)
        except Stopped:
            return True
    return False


@pytest.mark.parametrize("count", (1, 2))
def test_a_machine_that_stops_at_any_step_leaves_old_or_new(tmp_path: Path, count: int) -> None:
    changed = {name: NEW[name] for name in list(OLD)[:count]}
    seen = set()
    step, is_stopped = 0, True
    while is_stopped:
        folder = Folder(tmp_path / f"{count}-{step}")
        folder.root.mkdir()
        folder.save(OLD)
        is_stopped = save_until(folder, changed, step)
        Folder(folder.root).recover()
        found = texts_in(folder)
        assert found in (OLD, {**OLD, **changed})
        seen.add(found == OLD)
        assert sorted(path.name for path in folder.root.iterdir()) == sorted(OLD)
        step += 1
    assert seen == {True, False}
    assert step > 2 * count


def test_a_save_keeps_line_ends_and_rights(tmp_path: Path) -> None:
    folder = Folder(tmp_path)
    (tmp_path / "a.toml").write_bytes(b"x = 1\r\n")
    (tmp_path / "a.toml").chmod(0o640)
    folder.save({"a.toml": "x = 2\r\n"})
    assert (tmp_path / "a.toml").read_bytes() == b"x = 2\r\n"
    assert (tmp_path / "a.toml").stat().st_mode & 0o777 == 0o640
