"""Files that appear under their name only when they are whole."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def whole_file(path: Path, *, part: str = "", is_forced: bool = False) -> Iterator[Path]:
    """Yield another path in the same folder; what is written there becomes the file at the end.

    If the block fails, what was there before stays and nothing else is left behind.

    Parameters
    ----------
    part : name of the other path; left out: the file's with the number of the process.
    is_forced : to the disk, contents and name, before the block ends.

    Raises
    ------
    OSError
        If it cannot be written or given its name.
    """
    unfinished = path.with_name(part or f"{path.name}.{os.getpid()}.part")
    try:
        yield unfinished
        if is_forced:
            _force(unfinished)
        unfinished.replace(path)
        if is_forced and os.name == "posix":  # elsewhere folders cannot be opened
            _force(path.parent)
    finally:
        unfinished.unlink(missing_ok=True)


def _force(path: Path) -> None:
    """Force a file, or the names in a folder, to the disk."""
    is_folder = path.is_dir()
    handle = os.open(path, os.O_RDONLY if is_folder else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
