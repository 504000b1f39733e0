"""What every shipped case keeps: it loads, is powered and watched, and nothing overlaps."""

from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from simulator.case.case import Case
from simulator.case.load import load
from simulator.case.parts import AirMover, HeatedJet, PorousPart, SolidPart

GEOMETRIES = Path(__file__).resolve().parents[2] / "geometries"
CASES = sorted(GEOMETRIES.glob("*.toml"))
FILES = sorted(GEOMETRIES.rglob("*.toml"))

#: A rug's feet reach through it: the only parts that may share space with another piece's.
RUG = "rug"


@pytest.fixture(scope="module")
def cases() -> dict[str, Case]:
    return {path.stem: load(path) for path in CASES}


def mass(case: Case) -> float:
    """Return the mass of all furniture [kg]."""
    return sum(
        part.box.volume
        * part.material.density
        * (1.0 - part.air_fraction if isinstance(part, PorousPart) else 1.0)
        for part in case.parts
        if isinstance(part, SolidPart | PorousPart)
    )


def test_the_dwellings_that_are_promised_are_there(cases: dict[str, Case]) -> None:
    assert set(cases) >= {
        "empty_box",
        "bedroom_as_found",
        "bedroom_prepared",
        "studio_as_found",
        "studio_prepared",
        "two_bedroom_flat_as_found",
        "two_bedroom_flat_prepared",
        "hotel_twin_as_found",
        "hotel_twin_prepared",
        "field_apartment_low",
        "field_apartment_medium",
        "field_apartment_high",
    }


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(GEOMETRIES)))
def test_a_file_says_first_that_it_is_invented(path: Path) -> None:
    assert path.read_text(encoding="utf-8").startswith("# Invented content")


@pytest.mark.parametrize("name", [path.stem for path in CASES])
def test_every_case_is_powered_and_watched(cases: dict[str, Case], name: str) -> None:
    case = cases[name]
    machines = {p.owner for p in case.parts if isinstance(p, AirMover | HeatedJet)}
    plugged = [load_name for circuit in case.circuits for load_name in circuit.loads]
    assert sorted(plugged) == sorted(machines)
    assert sum(probe.is_thermostat for probe in case.probes) == 1
    heat = sum(part.power for part in case.parts if isinstance(part, HeatedJet))
    area = sum(room.size[0] * room.size[1] for room in case.dwelling.rooms)
    assert heat / area > 200.0  # [W/m²] less would not heat a home (estimate)


@pytest.mark.parametrize("name", [path.stem for path in CASES])
def test_no_part_stands_in_a_part_of_another_piece(cases: dict[str, Case], name: str) -> None:
    """Exact, also where a claim is wider than its parts: volumes of the whole dwelling add up."""
    parts = [p for p in cases[name].parts if isinstance(p, SolidPart | PorousPart)]
    parts = [p for p in parts if p.owner != RUG]
    assert all(part.box.turn == part.box.tilt == 0.0 for part in parts)
    centre = np.array([part.box.centre for part in parts]).reshape(-1, 3)
    half = 0.5 * np.array([part.box.size for part in parts]).reshape(-1, 3)
    apart = np.abs(centre[:, None] - centre[None]) - (half[:, None] + half[None])
    inside = np.all(apart < -1e-9, axis=2)
    clashes = [
        (parts[i].owner, parts[i].name, parts[j].owner, parts[j].name)
        for i, j in combinations(range(len(parts)), 2)
        if inside[i, j]
    ]
    assert not clashes


@pytest.mark.parametrize("dwelling", ("bedroom", "studio", "two_bedroom_flat", "hotel_twin"))
def test_a_prepared_dwelling_holds_less(cases: dict[str, Case], dwelling: str) -> None:
    assert 0.0 < mass(cases[f"{dwelling}_prepared"]) < mass(cases[f"{dwelling}_as_found"])


def test_field_apartment_has_the_equipment_of_the_study_and_three_levels_of_clutter(
    cases: dict[str, Case],
) -> None:
    """4 heaters and 10 fans each (Catron, Wilson & Miller, ICUP)."""
    levels = [cases[f"field_apartment_{level}"] for level in ("low", "medium", "high")]
    for case in levels:
        assert sum(isinstance(part, HeatedJet) for part in case.parts) == 4
        assert sum(isinstance(part, AirMover) for part in case.parts) == 10
        assert case.treatment.target_temperature == 55.0
    low, medium, high = (mass(case) for case in levels)
    assert low < medium < high


@pytest.mark.parametrize("dwelling", ("bedroom", "studio"))
def test_two_layouts_of_one_dwelling_differ_only_in_equipment(
    cases: dict[str, Case], dwelling: str
) -> None:
    pair = [case for name, case in cases.items() if name.startswith(f"{dwelling}_prepared")]
    assert len(pair) == 2
    one, other = (
        [part for part in case.parts if isinstance(part, SolidPart | PorousPart)] for case in pair
    )
    assert one == other
    assert pair[0].layout != pair[1].layout
