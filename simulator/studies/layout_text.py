"""The text that holds a case's layout, taken out to be changed and put back: a new case."""

from collections.abc import Callable, Iterable
from typing import Any

import tomlkit

from simulator.case.case import Case
from simulator.case.documents import parse
from simulator.case.load import load_texts
from simulator.case.sections import source_name
from simulator.case.variants import main_of


def layout_file(case: Case) -> str:
    """Return the name of the text that holds the layout."""
    main = main_of(case)
    reference = parse(main, case.sources[main]).data.get("layout")
    return source_name(main, reference) if isinstance(reference, str) else main


def with_layout(case: Case, change: Callable[[Any], None]) -> Case:
    """Return the case after its layout was changed; all else is as it was.

    Parameters
    ----------
    case : what ``load`` returned; it must carry its texts.
    change : is given the layout's table as tomlkit reads it, and changes it in place.

    Raises
    ------
    CaseError
        If what comes out is no case.
    """
    main, file, texts = main_of(case), layout_file(case), dict(case.sources)
    document: Any = tomlkit.parse(texts[file])
    if file == main and "layout" not in document:
        document["layout"] = tomlkit.table()
    change(document["layout"] if file == main else document)
    texts[file] = tomlkit.dumps(document)
    return load_texts(texts, main)


def set_equipment(layout: Any, pieces: Iterable[Any]) -> None:
    """Put other equipment into a layout's table, and unplug what is no longer there."""
    plain = [piece.unwrap() if hasattr(piece, "unwrap") else dict(piece) for piece in pieces]
    equipment = tomlkit.aot()
    for piece in plain:
        equipment.append(tomlkit.item(piece))
    layout.pop("equipment", None)
    layout.append("equipment", equipment)
    names = {piece["name"] for piece in plain}
    for circuit in layout.get("circuit", []):
        circuit["loads"] = [load for load in circuit.get("loads", []) if load in names]


def standing(room: str, at: tuple[float, float], turn: float) -> dict[str, Any]:
    """Return the keys that say where a machine stands [m] and whereto it is turned [deg]."""
    return {
        "room": room,
        "at": [f"{at[0]:.3f} m", f"{at[1]:.3f} m"],
        "turn": f"{turn:.1f} deg",
    }
