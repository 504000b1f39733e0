"""Every problem; add a new one here."""

from dataclasses import replace

from known_answers import Problem

from airflow_problems.ducts import ErgunPlug, PlanePoiseuille, SquareDuct
from airflow_problems.heated_cavities import HeatedCavity, OnsetOfConvection
from airflow_problems.jets import RoundJet
from airflow_problems.lid_cavities import LidCube, LidSquare, TurnedCavity
from airflow_problems.ventilation import AgeOfAir, UniformScalar
from airflow_problems.vortices import TaylorGreen
from airflow_problems.wall_jet import SlotUnderCeiling

AXIS_BOX, OBLIQUE_BOX = (7.5, 4.0, 4.0), (7.0, 7.0, 4.0)

#: On cells of D/2.5, at other places than the fine ones too.
COARSE_JETS = (
    RoundJet(0.0, AXIS_BOX, (1.5, 2.0, 2.0)),
    RoundJet(0.0, AXIS_BOX, (1.5, 2.1, 2.1)),
    RoundJet(30.0, OBLIQUE_BOX, (1.5, 1.5, 2.0), least_decay=4.8),
    RoundJet(45.0, OBLIQUE_BOX, (1.5, 1.5, 2.0), least_decay=4.8),
    RoundJet(45.0, OBLIQUE_BOX, (1.6, 1.63, 2.1), least_decay=4.8),
)

#: What the tests ask for.
PROBLEMS: tuple[Problem, ...] = (
    LidSquare(32, 100, most=0.01, most_rms=0.003),
    LidSquare(64, 1000, most=0.03, most_rms=0.012, is_slow=True, binds_least=False),
    LidCube(20, most_rms=0.10, is_slow=False),
    TurnedCavity((1, 0, 2)),
    TurnedCavity((1, 2, 0)),
    TurnedCavity((2, 1, 0)),
    HeatedCavity(40, 1e3, 0.01, 0.01, spin_up=0.6, settling=0.2, is_slow=False),
    HeatedCavity(40, 1e4, 0.02, 0.01, spin_up=0.4, settling=0.15, is_slow=False),
    HeatedCavity(80, 1e5, 0.01, 0.01),
    HeatedCavity(20, 1e4, 0.06, 0.0, is_cube=True, is_slow=False),
    HeatedCavity(20, 1e5, 0.14, 0.0, is_cube=True, is_slow=False),
    OnsetOfConvection(),
    PlanePoiseuille(),
    SquareDuct(),
    TaylorGreen(),
    ErgunPlug(0.1, 0.39740),
    ErgunPlug(0.5, 9.06671),
    ErgunPlug(2.0, 142.46267),
    RoundJet(0.0, AXIS_BOX, (1.5, 2.0, 2.0)),
    RoundJet(0.0, AXIS_BOX, (1.543, 2.043, 2.043)),
    RoundJet(30.0, OBLIQUE_BOX, (1.5, 1.5, 2.0), least_decay=4.8),
    RoundJet(45.0, OBLIQUE_BOX, (1.5, 1.5, 2.0), least_decay=4.8),
    *(replace(jet, cell=0.2, binds_young=False, is_slow=False) for jet in COARSE_JETS),
    AgeOfAir(),
    UniformScalar(),
)

#: What the report shows besides: finer cells, and coarser ones than the bands are made for.
REPORTED: tuple[Problem, ...] = (
    LidCube(40, most_rms=0.065),
    HeatedCavity(40, 1e5, 0.03, 0.0, is_cube=True),
    SlotUnderCeiling(2, rows=1, is_binding=False),
    SlotUnderCeiling(2, rows=23, spin_up=200.0, is_binding=False),
    SlotUnderCeiling(3, rows=23, spin_up=200.0, is_binding=False),
)
