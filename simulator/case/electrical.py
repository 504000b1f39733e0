"""What is plugged in: a load with its cord, as the load sheet and the plan of circuits see it."""

from dataclasses import dataclass

#: Current that a flexible cord with two loaded conductors carries in air of 30 °C [A] by its size;
#: NEC Table 400.5(A)(1), column B (from memory).
CORD_RATINGS = {
    "18 AWG": 10.0,
    "16 AWG": 13.0,
    "14 AWG": 18.0,
    "12 AWG": 25.0,
    "10 AWG": 30.0,
    "8 AWG": 40.0,
    "6 AWG": 55.0,
}

#: Temperature that a cord's insulation bears [°C], by how case files write it.
CORD_INSULATIONS = {"60 degC": 60.0, "75 degC": 75.0, "90 degC": 90.0}


@dataclass(frozen=True, slots=True)
class Cord:
    """A cord from an outlet to a machine.

    Attributes
    ----------
    rating : current that it carries in air of 30 °C [A].
    insulation : temperature that its insulation bears [°C].
    basis : where the rating comes from.
    """

    rating: float
    insulation: float
    basis: str


@dataclass(frozen=True, slots=True)
class ElectricalLoad:
    """A machine that draws from a circuit.

    Attributes
    ----------
    name, words, room : of the piece of equipment.
    power : the most that it draws [W].
    voltage : that it is made for [V]; None: not given, so that of the circuit it is plugged into.
    cord : its cord, or None if not given.
    is_cord_in_heat : whether the cord lies in the heated air.
    """

    name: str
    words: str
    room: str
    power: float
    voltage: float | None = None
    cord: Cord | None = None
    is_cord_in_heat: bool = True
