"""The job sheet as one file: HTML that needs nothing beside it, or PDF by WeasyPrint."""

from pathlib import Path

from simulator.output.field_file import Result, read_result
from simulator.output.sheet.content import content_of
from simulator.output.sheet.page import check_place, page_html, write_page
from simulator.units import System


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
    check_place(out_path, force=force)
    return write_page(sheet_html(read_result(result_path), units), out_path)


def sheet_html(result: Result, units: System = "si") -> str:
    """Return the job sheet as one HTML page without scripts, links or pictures from elsewhere."""
    return page_html("sheet.html.j2", content_of(result, units), result.hash, units)
