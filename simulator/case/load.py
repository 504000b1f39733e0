'''From case files to a ``Case``: read, merge, validate, compile; every refusal names file and line.

Examples
--------
A whole case in one file; each of the four tables may instead be the relative path of a file that
holds it, such as ``dwelling = "flat/dwelling.toml"``:

>>> case = load_texts({"small.toml": """
... title = "Small bedroom, one heater, one fan"
...
... [dwelling]
... name = "small bedroom"
... start = "68 degF"
... outdoors = { temperature = "5 degC" }
... shell.walls = { construction = "frame_wall", behind = "outdoors" }
... shell.floor = { construction = "carpeted_wood_floor", behind = "mirror" }
... shell.ceiling = { construction = "attic_ceiling", behind = "outdoors" }
... [[dwelling.room]]
... name = "bedroom"
... size = ["12 ft", "11 ft", "8 ft"]
... [[dwelling.furniture]]
... kind = "bed"
... name = "bed"
... room = "bedroom"
... at = ["1.9 m", "2.0 m"]
...
... [layout]
... name = "one of each"
... [[layout.equipment]]
... kind = "fan"
... name = "fan 1"
... room = "bedroom"
... at = ["0.5 m", "0.5 m"]
... turn = "90 deg"
...
... [treatment]
... horizon = "6 h"
... """}, "small.toml")
>>> case.treatment.horizon
21600.0
'''

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TypeVar

from simulator.case.attached_files import read_attached, supply
from simulator.case.build_dwelling import build_dwelling
from simulator.case.case import Case, Circuit
from simulator.case.changes import override_within, with_changes
from simulator.case.documents import Spot, choices, parse
from simulator.case.dwelling_file import DwellingFile
from simulator.case.entries import read_entries
from simulator.case.equipment.kinds import EQUIPMENT
from simulator.case.equipment.placement import Equipment
from simulator.case.furniture.kinds import FURNITURE
from simulator.case.furniture.placement import Furniture
from simulator.case.layout_file import LayoutFile, PreparationFile
from simulator.case.overrides import override
from simulator.case.piece_advice import advice_of
from simulator.case.placing import check_places, place
from simulator.case.refusals import describe
from simulator.case.sections import SECTIONS, Sections, label_of, read_text, source_name
from simulator.case.treatment import TreatmentRecord

Sure = TypeVar("Sure")


def load(path: str | Path, *, overrides: Mapping[str, object] | None = None) -> Case:
    """Return the case that a file describes.

    Parameters
    ----------
    path : of the case file.
    overrides : dotted key -> value to use instead of what the files say, such as
        ``{"preparation": "prepared.toml", "treatment.horizon": "4 h"}``; entries of lists are found
        by their name (``"layout.equipment.fan 1.turn"``).

    Raises
    ------
    CaseError
        One line for each thing that is wrong: ``file:line: table.key: what is wrong; what is
        allowed``.
    """
    path = Path(path)
    main, folder = path.name, path.parent
    sources = {main: read_text(path, str(path), str(path))}
    document = parse(str(path), sources[main])
    for key, value in (overrides or {}).items():
        if key in SECTIONS:
            sources[main] = override(sources[main], key.split("."), value)
            document = parse(str(path), sources[main])
    for section in SECTIONS:
        reference = document.data.get(section)
        if isinstance(reference, str):
            name = source_name(main, reference)
            unreadable = f"{document.place((section,))} file {describe(reference)}"
            sources[name] = read_text(folder / reference, label_of(str(folder), name), unreadable)
    for key, value in (overrides or {}).items():
        if key not in SECTIONS:
            override_within(sources, main, key, value)
    sources = {**read_attached(sources, str(folder)), **sources}
    return load_texts(sources, main, folder=str(folder))


def load_texts(sources: Mapping[str, str], main: str, *, folder: str = "") -> Case:
    """Return the case that some texts describe, such as those kept in a result file.

    Parameters
    ----------
    sources : file name -> TOML text; names are relative to the case file's folder.
    main : name of the case file's text.
    folder : put before file names in messages.
    """
    case = _at_start(sources, main, folder)
    treatment = Sections(sources, main, folder).section("treatment")
    return with_changes(
        case, treatment, sources, main, lambda texts: _at_start(texts, main, folder)
    )


def _at_start(sources: Mapping[str, str], main: str, folder: str) -> Case:
    """Return the case that some texts describe, without what changes during the run."""
    sections = Sections(sources, main, folder)
    problems = sections.problems
    title = sections.title()
    treatment = sections.record(TreatmentRecord, sections.section("treatment").without("change"))
    file = sections.record(DwellingFile, sections.section("dwelling").without("furniture"))
    layout = sections.record(LayoutFile, sections.section("layout").without("equipment"))
    state = sections.record(PreparationFile, sections.section("preparation").without("furniture"))
    problems.raise_any()
    furniture = read_entries(sections.furniture(_sure(state)), FURNITURE, problems)
    furniture = supply(furniture, sources, folder, sections.used)
    equipment = read_entries(sections.equipment(), EQUIPMENT, problems)
    problems.raise_any()
    dwelling = build_dwelling(_sure(file), sections.spot("dwelling"))
    _check_names(_sure(file), furniture, equipment, sections.spot("dwelling"))
    circuits = _circuits(_sure(layout), equipment, sections.spot("layout"))
    _check_rooms(_sure(layout), _sure(file), sections.spot("layout"))
    problems.raise_any()
    placed = place([*furniture, *equipment], _sure(dwelling))
    check_places(placed, _sure(dwelling))
    problems.raise_any()
    return Case(
        title=title,
        preparation=_sure(state).name,
        layout=_sure(layout).name,
        dwelling=_sure(dwelling),
        parts=tuple(part for piece in placed for part in piece.pieces.parts),
        probes=tuple(probe for piece in placed for probe in piece.pieces.probes),
        circuits=circuits,
        treatment=_sure(treatment).compile(),
        furniture_words={
            piece.entry.name: piece.pieces.words
            for piece in placed
            if isinstance(piece.entry, Furniture)
        },
        sources=sections.used,
        loads=tuple(load for entry, _ in equipment if (load := entry.electrical_load) is not None),
        advice=advice_of(placed, sections.names_found(), _sure(state)),
        notes=tuple(note for piece in placed for note in piece.pieces.notes),
    )


def _sure(value: Sure | None) -> Sure:
    """Return a value that is there because nothing wrong was noted."""
    if value is None:
        raise AssertionError("a part of the case is missing although no problem was noted")
    return value


def _check_names(
    file: DwellingFile,
    furniture: Sequence[tuple[Furniture, Spot]],
    equipment: Sequence[tuple[Equipment, Spot]],
    spot: Spot,
) -> None:
    """Note names that are given twice: results and messages tell things apart by them."""
    rooms = [(row.name, spot.at("room", i), "room") for i, row in enumerate(file.room)]
    doorways = [(row.name, spot.at("doorway", i), "doorway") for i, row in enumerate(file.doorway)]
    windows = [(row.name, spot.at("window", i), "window") for i, row in enumerate(file.window)]
    pieces = [(entry.name, place_of, "piece of furniture") for entry, place_of in furniture]
    pieces += [(entry.name, place_of, "piece of equipment") for entry, place_of in equipment]
    _check_unique([*rooms, *doorways, *pieces])
    _check_unique(windows)


def _check_unique(named: Sequence[tuple[str, Spot, str]]) -> None:
    taken: dict[str, str] = {}
    for name, spot, what in named:
        if name in taken:
            message = f"there is already a {taken[name]} named '{name}'; choose another name"
            spot.at("name").refuse(message)
        taken.setdefault(name, what)


def _circuits(
    layout: LayoutFile, equipment: Sequence[tuple[Equipment, Spot]], spot: Spot
) -> tuple[Circuit, ...]:
    """Return the circuits; unknown loads and those plugged in twice are noted."""
    known = [entry.name for entry, _ in equipment]
    plugged: dict[str, str] = {}
    for index, record in enumerate(layout.circuit):
        here = spot.at("circuit", index)
        for number, load_name in enumerate(record.loads):
            if load_name not in known:
                end = choices(load_name, known, "equipment")
                here.at("loads", number).refuse(f"unknown equipment '{load_name}'; {end}")
            elif load_name in plugged:
                here.at("loads", number).refuse(
                    f"'{load_name}' is already plugged into circuit '{plugged[load_name]}'; "
                    "plug it into one"
                )
            plugged.setdefault(load_name, record.name)
    _check_unique(
        [(c.name, spot.at("circuit", i), "circuit") for i, c in enumerate(layout.circuit)]
    )
    return tuple(record.compile() for record in layout.circuit)


def _check_rooms(layout: LayoutFile, file: DwellingFile, spot: Spot) -> None:
    """Note rooms that a circuit is said to reach and that the dwelling has not."""
    known = [room.name for room in file.room]
    for index, record in enumerate(layout.circuit):
        for number, name in enumerate(record.rooms):
            if name not in known:
                end = choices(name, known, "rooms")
                spot.at("circuit", index, "rooms", number).refuse(f"unknown room '{name}'; {end}")
