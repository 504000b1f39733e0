"""The job sheet as one file: HTML that needs nothing beside it, or PDF by WeasyPrint."""

import os
from importlib import resources
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

from simulator.errors import RenderError, ResultError
from simulator.output.field_file import Result, read_result
from simulator.output.sheet.content import content_of
from simulator.units import System

#: Endings of file names, and so the formats, that a sheet can have.
FORMATS = (".html", ".pdf")

#: Paper by the system of units, and the size of its type [pt]: letter paper is shorter.
PAPER: dict[System, tuple[str, float]] = {"si": ("A4", 7.7), "us": ("letter", 7.5)}

NO_WEASYPRINT = (
    "PDF needs WeasyPrint: pip install 'roomsoak[pdf]'; or write .html and print it from a browser"
)


def write_sheet(
    result_path: Path, out_path: Path, units: System = "si", *, force: bool = False
) -> Path:
    """Write the job sheet of a result file and return its path.

    Parameters
    ----------
    result_path : of a finished run; nothing else is read.
    out_path : ending in .html or .pdf; not replaced unless ``force``.
    units : of all that is printed; "us" is laid out for letter paper, "si" for A4.

    Raises
    ------
    ResultError
        One line, if the result cannot be read or the sheet not be written.
    RenderError
        If a PDF is asked for and WeasyPrint or its system libraries are missing.
    """
    if out_path.suffix.lower() not in FORMATS:
        raise ResultError(
            f"{out_path}: a sheet is written as .html or .pdf, not '{out_path.suffix}'"
        )
    if not out_path.parent.is_dir():
        raise ResultError(f"{out_path.parent}: no such folder; make it first")
    if out_path.exists() and not force:
        raise ResultError(f"{out_path}: exists already; give --force to replace it")
    is_pdf = out_path.suffix.lower() == ".pdf"
    printer = _weasyprint() if is_pdf else None
    html = sheet_html(read_result(result_path), units)
    data = html.encode() if printer is None else printer.HTML(string=html).write_pdf()
    unfinished = out_path.with_name(f"{out_path.name}.{os.getpid()}.part")
    try:
        unfinished.write_bytes(data)
        unfinished.replace(out_path)
    except OSError as error:
        raise ResultError(f"{out_path}: cannot be written ({error.strerror})") from error
    finally:
        unfinished.unlink(missing_ok=True)
    return out_path


def sheet_html(result: Result, units: System = "si") -> str:
    """Return the job sheet as one HTML page without scripts, links or pictures from elsewhere."""
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("simulator.output.sheet", "."),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    style = _style(result.hash, units)
    return environment.get_template("sheet.html.j2").render(content_of(result, units), css=style)


def _style(run_hash: str, units: System) -> Markup:
    """Return the style sheet with the paper's size, and the run's hash at the foot of each page."""
    text = resources.files("simulator.output.sheet").joinpath("sheet.css").read_text("utf-8")
    letters = "".join(letter for letter in run_hash if letter in "0123456789abcdef")
    paper, size = PAPER[units]
    filled = text.replace("%HASH%", letters[:12]).replace("%TYPE%", f"{size:g}")
    return Markup(f"@page {{ size: {paper}; }}\n{filled}")


def _weasyprint() -> Any:
    """Return the module that prints PDF."""
    try:
        import weasyprint
    except ImportError as error:
        raise RenderError(NO_WEASYPRINT) from error
    except OSError as error:
        reason = " ".join(str(error).split())[:120]
        raise RenderError(
            "PDF needs the system library Pango (Debian: libpango-1.0-0 libpangoft2-1.0-0): "
            f"{reason}"
        ) from error
    return weasyprint
