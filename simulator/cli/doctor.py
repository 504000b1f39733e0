"""``roomsoak doctor``: whether this machine has what is needed, and what to do if not."""

import contextlib
import json
import os
import platform
import sys
import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path

import click

from simulator.cli.options import json_option

#: Libraries without which nothing runs.
NEEDED = (
    "numpy",
    "scipy",
    "numba",
    "pyvista",
    "vtk",
    "meshio",
    "h5py",
    "pydantic",
    "click",
    "rich",
    "tomlkit",
    "matplotlib",
)

OLDEST_PYTHON = (3, 11)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was looked at; ``remedy`` says what to do if it is not good."""

    name: str
    is_good: bool
    is_needed: bool
    found: str
    remedy: str = ""


@click.command(short_help="Check this machine; say what to install.")
@json_option
def doctor(as_json: bool) -> None:
    """Check that this machine has what is needed; say what to install if not."""
    findings = examine()
    is_well = all(finding.is_good for finding in findings if finding.is_needed)
    if as_json:
        click.echo(
            json.dumps({"is_well": is_well, "findings": [asdict(f) for f in findings]}, indent=2)
        )
    else:
        for line in report_lines(findings):
            click.echo(line)
    if not is_well:
        click.get_current_context().exit(1)


def examine() -> tuple[Finding, ...]:
    """Return everything that was looked at."""
    return (
        _python(),
        _libraries(),
        _cores(),
        _threads(),
        _memory(),
        _compiled_cache(),
        _graphics(),
        _display(),
    )


def report_lines(findings: tuple[Finding, ...]) -> list[str]:
    """Return the findings as lines, each remedy below its finding."""
    width = max(len(finding.name) for finding in findings)
    lines = []
    for finding in findings:
        mark = "ok" if finding.is_good else "MISSING" if finding.is_needed else "note"
        lines.append(f"{mark:>7}  {finding.name:<{width}}  {finding.found}")
        if finding.remedy and not finding.is_good:
            lines.append(f"{'':>7}  {'':<{width}}  -> {finding.remedy}")
    missing = [f.name for f in findings if f.is_needed and not f.is_good]
    lines.append(f"Missing: {', '.join(missing)}" if missing else "All that is needed is here.")
    return lines


def _python() -> Finding:
    found = f"{platform.python_version()} on {platform.system()} {platform.machine()}"
    is_good = sys.version_info >= OLDEST_PYTHON
    return Finding("Python", is_good, True, found, "install Python 3.11 or newer")


def _libraries() -> Finding:
    from importlib import metadata

    versions, missing = [], []
    for name in NEEDED:
        try:
            versions.append(f"{name} {metadata.version(name)}")
        except metadata.PackageNotFoundError:
            missing.append(name)
    remedy = f"install {' '.join(missing)} with pip" if missing else ""
    return Finding("libraries", not missing, True, ", ".join(versions), remedy)


def _cores() -> Finding:
    count = _usable_cores()
    return Finding("cores", True, False, f"{count} usable")


def _usable_cores() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _threads() -> Finding:
    """Linear algebra with more threads than cores slows a run down."""
    names = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS")
    found = {name: os.environ.get(name) for name in names}
    told = ", ".join(f"{name}={value}" for name, value in found.items() if value) or "not limited"
    counts = [int(value) for value in found.values() if value and value.isdigit()]
    is_good = not counts or max(counts) <= _usable_cores()
    return Finding("threads", is_good, False, told, "ask for no more threads than there are cores")


def _memory() -> Finding:
    total = total_memory()
    if total is None:
        return Finding("memory", True, False, "unknown")
    gigabytes = total / 2**30
    remedy = "a bedroom at 0.10 m needs about 1 GiB; use larger cells or close other programs"
    return Finding("memory", gigabytes >= 2.0, False, f"{gigabytes:.1f} GiB", remedy)


def total_memory() -> float | None:
    """Return the machine's memory [bytes], or what its container may use; None: unknown."""
    limits = []
    for path in ("/sys/fs/cgroup/memory.max", "/sys/fs/cgroup/memory/memory.limit_in_bytes"):
        try:
            limits.append(float(Path(path).read_text(encoding="ascii").strip()))
        except (OSError, ValueError):
            continue
    with contextlib.suppress(AttributeError, ValueError, OSError):
        limits.append(float(os.sysconf("SC_PHYS_PAGES")) * os.sysconf("SC_PAGE_SIZE"))
    return min(limits) if limits else None


def _compiled_cache() -> Finding:
    """Where compiled kernels are kept; without it every start compiles anew."""
    import simulator

    own = os.environ.get("NUMBA_CACHE_DIR")
    folder = Path(own) if own else Path(simulator.__file__).parent
    is_good = _is_writable(folder)
    remedy = "set NUMBA_CACHE_DIR to a folder that you can write to"
    return Finding("compiled-code cache", is_good, False, str(folder), remedy)


def _is_writable(folder: Path) -> bool:
    """Return whether a file can be made in the folder or, if it is not there, beside it."""
    while not folder.exists() and folder != folder.parent:
        folder = folder.parent
    try:
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _graphics() -> Finding:
    from simulator.output.graphics_check import DEBIAN_PACKAGES, working_window

    window = working_window()
    if window is None:
        remedy = f"on Debian or Ubuntu: apt-get install {' '.join(DEBIAN_PACKAGES)}"
        return Finding("OpenGL", False, True, "nothing draws here (tried in a process)", remedy)
    return Finding("OpenGL", True, True, f"draws with {window or 'the default window'}")


def _display() -> Finding:
    from simulator.output.graphics_check import has_display

    found = "yes" if has_display() else "none: `roomsoak show` writes a PNG instead of a window"
    return Finding("display", True, False, found)
