"""A printed page as one file: HTML that needs nothing beside it, or PDF by WeasyPrint."""

from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

from simulator.errors import RenderError, ResultError
from simulator.output.overwriting import refuse_to_overwrite
from simulator.output.whole_file import whole_file
from simulator.units import System

#: Endings of file names, and so the formats, that a sheet can have.
FORMATS = (".html", ".pdf")

#: Paper by the system of units, and the size of its type [pt]: letter paper is shorter.
PAPER: dict[System, tuple[str, float]] = {"si": ("A4", 7.7), "us": ("letter", 7.5)}

NO_WEASYPRINT = (
    "PDF needs WeasyPrint: pip install 'roomsoak[pdf]'; or write .html and print it from a browser"
)


def check_place(out_path: Path, *, force: bool) -> None:
    """Refuse a path at which no sheet can be written, in one line, before any work is done.

    Raises
    ------
    ResultError
        If it does not end in .html or .pdf, its folder is not there, or it exists already.
    """
    if out_path.suffix.lower() not in FORMATS:
        raise ResultError(
            f"{out_path}: a sheet is written as .html or .pdf, not '{out_path.suffix}'"
        )
    if not out_path.parent.is_dir():
        raise ResultError(f"{out_path.parent}: no such folder; make it first")
    refuse_to_overwrite([out_path], force=force)
    if out_path.suffix.lower() == ".pdf":
        _weasyprint()


def write_page(html: str, out_path: Path) -> Path:
    """Write a page in the format that the path's ending says, in one step; return the path.

    Raises
    ------
    ResultError
        One line, if it cannot be written.
    RenderError
        If a PDF is asked for and WeasyPrint or its system libraries are missing.
    """
    is_pdf = out_path.suffix.lower() == ".pdf"
    data = _weasyprint().HTML(string=html).write_pdf() if is_pdf else html.encode()
    try:
        with whole_file(out_path) as unfinished:
            unfinished.write_bytes(data)
    except OSError as error:
        raise ResultError(f"{out_path}: cannot be written ({error.strerror})") from error
    return out_path


def page_html(template: str, content: Mapping[str, Any], mark: str, units: System) -> str:
    """Return a page without scripts, links or pictures from elsewhere.

    Parameters
    ----------
    template : name of its file in this folder.
    content : what it prints; escaped.
    mark : hash of what it was made from, printed at the foot of each page.
    """
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("simulator.output.sheet", "."),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(template).render(content, css=_style(mark, units))


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
