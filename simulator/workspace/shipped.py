"""The ready dwellings that come with the program: never edited, only copied into the folder."""

import tomllib
from pathlib import Path

import simulator
from simulator.case.attached_files import as_content
from simulator.errors import CaseError
from simulator.workspace.folder import Folder
from simulator.workspace.open_case import attached, read_texts
from simulator.workspace.refusals import NotThere


def shipped_folder() -> Path | None:
    """Return the folder of ready cases: in the installed package, or beside it in a clone."""
    package = Path(simulator.__file__).resolve().parent
    for folder in (package / "geometries", package.parent / "geometries"):
        if folder.is_dir():
            return folder
    return None


def shipped_cases() -> list[dict[str, str]]:
    """Return name and title of every ready case."""
    folder = shipped_folder()
    if folder is None:
        return []
    return [
        {"name": path.stem, "title": str(tomllib.loads(path.read_text("utf-8")).get("title", ""))}
        for path in sorted(folder.glob("*.toml"))
    ]


def copy_shipped(name: str, folder: Folder) -> str:
    """Copy a ready case with its files into a folder and return the name of its copy.

    A file that the folder has already stays as it is: it may be the user's own, and cases that
    share a dwelling go on sharing it.
    """
    ready = shipped_folder()
    if ready is None or name not in {row["name"] for row in shipped_cases()}:
        raise NotThere(f"there is no ready case '{name[:60]}'")
    main = f"{name}.toml"
    texts = read_texts(Folder(ready), main)
    target = folder.free_name(name, ".toml")
    new = {
        source: text
        for source, text in texts.items()
        if source != main and not folder.path(source).exists()
    }
    for source, text in attached(Folder(ready), texts).items():
        if not (path := folder.path(source)).exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(as_content(text))
    folder.save({**new, target: texts[main]})
    return target


def refuse_shipped(folder: Path) -> None:
    """Raise if the desk would work in the folder of the ready cases itself."""
    ready = shipped_folder()
    if ready is not None and folder.resolve().is_relative_to(ready.resolve()):
        raise CaseError(
            f"{folder}: the ready cases are not changed; name another folder, --folder ."
        )


def opened(case_path: Path | None, folder_path: Path | None) -> tuple[Folder, str]:
    """Return the folder to work in and the name of the case to open first, if any.

    Raises
    ------
    CaseError
        One line: the case is missing, or lies outside the folder.
    """
    ready = shipped_folder()
    is_ready = (
        case_path is not None
        and ready is not None
        and case_path.resolve().is_relative_to(ready.resolve())
    )
    if folder_path is None:
        folder_path = Path() if case_path is None or is_ready else case_path.parent
    refuse_shipped(folder_path)
    folder_path.mkdir(parents=True, exist_ok=True)
    folder = Folder(folder_path)
    if case_path is None:
        return folder, ""
    if is_ready:
        return folder, copy_shipped(case_path.stem, folder)
    if not case_path.resolve().is_relative_to(folder.root):
        raise CaseError(f"{case_path}: not in the desk's folder, {folder.root}; name another")
    name = case_path.resolve().relative_to(folder.root).as_posix()
    folder.read(name)
    return folder, name
