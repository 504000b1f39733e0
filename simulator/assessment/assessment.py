"""What a run means: the answer that pictures, sheets and searches are made from."""

from dataclasses import dataclass

from simulator.assessment.end_of_heat import END_OF_RUN, EndOfHeat
from simulator.assessment.harm import HarmVerdict
from simulator.assessment.power import NO_POWER, PowerSheet
from simulator.grid.grid import FloatArray, IntArray
from simulator.grid.place_key import PlaceKey


@dataclass(frozen=True, slots=True)
class PlaceVerdict:
    """One hiding place (a refuge group), judged by its slowest member. Times in s, nan: never."""

    owner: str
    words: str
    room: str
    state: str  # "done", "marginal", "not done"
    litres: float
    coldest: float  # lowest temperature of any member at the end of the heat [°C]
    peak: float  # lowest peak of any member [°C]
    egg_dose: float  # lowest egg dose at the end of the run [-]
    egg_dose_colder: float  # the same if every temperature were 2 K lower
    adult_dose: float
    time_to_lt99: float  # egg dose 1 in every member
    time_to_done: float  # egg dose 3.5 and 50 °C in every member
    time_to_lt99_colder: float  # the same, 2 K lower
    time_to_done_colder: float


@dataclass(frozen=True, slots=True)
class ColdSpot:
    """A connected region of refuges that is not done, or, if all are done, that was slowest."""

    rank: int
    kind: str  # "cold" or "slow"
    words: str
    room: str
    litres: float
    coldest: float  # [°C] at the end of the heat
    mean: float  # [°C]
    egg_dose: float
    lag: float  # from the air's mean to its slowest refuge reaching 50 °C [s]; nan: never
    time_to_done: float  # [s]; nan: not within the horizon
    centre: tuple[float, float, float]
    low: tuple[float, float, float]
    high: tuple[float, float, float]
    refuges: IntArray
    #: The hiding places that it lies in, the one with most of it first.
    places: tuple[PlaceKey, ...] = ()


@dataclass(frozen=True, slots=True)
class ObjectPeak:
    """The hottest point of a thing and, where known, the temperature that harms it [°C]."""

    owner: str
    name: str
    peak: float
    limit: float | None
    basis: str


@dataclass(frozen=True, slots=True)
class Assessment:
    """What ``assess`` returns. R refuges, T times of the history."""

    finishing_time: float  # [s]; nan: not within the horizon
    finishing_time_colder: float  # with every temperature 2 K lower
    is_all_done: bool
    places: tuple[PlaceVerdict, ...]  # slowest first
    cold_spots: tuple[ColdSpot, ...]  # ranked
    coldest_by_furniture: tuple[tuple[str, float, tuple[float, float, float]], ...]
    peaks: tuple[ObjectPeak, ...]
    air_maximum: float
    fraction_below_50: FloatArray  # (T,) share of refuge volume below 50 °C
    coldest: FloatArray  # (T,) over refuges [°C]
    warmest: FloatArray
    mean: FloatArray
    egg_dose: FloatArray  # (R,)
    time_to_done: FloatArray  # (R,) [s], nan: never
    heat_imbalance: float  # largest |imbalance| of the ledger [-]
    notes: tuple[str, ...]  # limits of the answer in plain words
    duration: float  # of the run [s]
    litres: FloatArray  # (R,) [l]; 0 of what is taken out before the end
    is_complete: bool = True  # False: the run was cut off before its horizon
    harm: tuple[HarmVerdict, ...] = ()  # stops first
    power: PowerSheet = NO_POWER  # circuits, cords, energy used
    #: The moment at which coldest places and shares are told.
    end: EndOfHeat = END_OF_RUN
