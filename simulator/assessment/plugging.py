"""Which outlet takes which machine: an exact search for a plan in which no circuit is over."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from simulator.case.case import Circuit
from simulator.case.electrical import ElectricalLoad

#: Share of a breaker's rating for a load of three hours or more [-]; NEC 210.19 and 210.20.
CONTINUOUS_SHARE = 0.80

#: Voltages within this share of each other are one [-]: 110 and 120 V, 220 and 240 V (common
#: practice, no source).
SAME_VOLTAGE = 0.10

#: Steps of the search before it gives up, and, once all are plugged in, before it stops to look for
#: a plan with fewer moves (our choice: about a second).
MOST_STEPS, MOST_TIDYING = 100_000, 3_000

#: Round figures such as 1.92 kW on 20 A are still allowed [-].
ROUND_OFF = 1e-9


@dataclass(frozen=True, slots=True)
class PluggingPlan:
    """Where each load goes.

    Attributes
    ----------
    plugs : name of the load, name of its circuit.
    moved : loads that change their circuit or are plugged in nowhere yet.
    left_off : loads that fit on no circuit beside the others: as little power as possible.
    is_proven : False: the search was cut short, a plan with less left off may exist.
    provided : name of a load, voltage that it has to be made for [V]: not given, and in doubt.
    """

    plugs: tuple[tuple[str, str], ...]
    moved: tuple[str, ...]
    left_off: tuple[str, ...]
    is_proven: bool = True
    provided: tuple[tuple[str, float], ...] = ()


def allowed_power(circuit: Circuit) -> float:
    """Return what a circuit may carry for three hours or more [W]."""
    return CONTINUOUS_SHARE * circuit.voltage * circuit.rating


def is_same_voltage(one: float, other: float) -> bool:
    """Return whether two nominal voltages are one system's."""
    return abs(one - other) <= SAME_VOLTAGE * max(one, other)


def plugged_into(circuits: Sequence[Circuit]) -> dict[str, int]:
    """Return for each load the index of the circuit that it is plugged into."""
    return {name: index for index, circuit in enumerate(circuits) for name in circuit.loads}


def voltage_of(load: ElectricalLoad, circuits: Sequence[Circuit]) -> float | None:
    """Return the voltage that a load is made for, or that of its circuit, or None: not known."""
    if load.voltage is not None or is_in_doubt(load, circuits):
        return load.voltage
    index = plugged_into(circuits).get(load.name)
    return None if index is None else circuits[index].voltage


def is_in_doubt(load: ElectricalLoad, circuits: Sequence[Circuit]) -> bool:
    """Return whether a load's voltage is not given and its circuit cannot be what it is made for.

    That is so where the load by itself trips every breaker of that voltage at once: it was likely
    put down for a wrong circuit, which then says nothing about it.
    """
    index = plugged_into(circuits).get(load.name)
    if load.voltage is not None or index is None:
        return False
    here = circuits[index].voltage
    most = max(c.voltage * c.rating for c in circuits if is_same_voltage(c.voltage, here))
    return load.power > most * (1.0 + ROUND_OFF)


def fits_on(load: ElectricalLoad, circuit: Circuit, voltage: float | None) -> bool:
    """Return whether a circuit could carry a load by itself: voltage, reach and power."""
    return (
        (voltage is None or is_same_voltage(voltage, circuit.voltage))
        and (not circuit.rooms or load.room in circuit.rooms)
        and load.power <= allowed_power(circuit) * (1.0 + ROUND_OFF)
    )


def plan_circuits(loads: Sequence[ElectricalLoad], circuits: Sequence[Circuit]) -> PluggingPlan:
    """Return the plan that leaves the least power off, and of these one with few moves.

    No circuit gets more than ``allowed_power``. The search is exact: branch and bound over loads,
    the largest first, with states met before left out. Only if it takes more than ``MOST_STEPS`` is
    the plan the best so far, and says so.
    """
    search = _Search.of(loads, circuits)
    search.go(0, 0.0, 0)
    best = search.best
    now = plugged_into(circuits)
    names = [load.name for load in search.loads]
    doubted = {load.name for load in loads if is_in_doubt(load, circuits)}
    return PluggingPlan(
        plugs=tuple(
            (name, circuits[place].name)
            for name, place in zip(names, best, strict=True)
            if place is not None
        ),
        moved=tuple(
            name
            for name, place in zip(names, best, strict=True)
            if place is not None and now.get(name) != place
        ),
        left_off=tuple(name for name, place in zip(names, best, strict=True) if place is None),
        is_proven=search.best_cost[0] == 0.0 or search.steps <= MOST_STEPS,
        provided=tuple(
            (name, circuits[place].voltage)
            for name, place in zip(names, best, strict=True)
            if place is not None and name in doubted
        ),
    )


@dataclass(slots=True)
class _Search:
    """Depth-first search over loads (largest first) and their circuits, with what is left on each.

    Cost of a plan: (power left off [W], moves).
    """

    loads: list[ElectricalLoad]
    fitting: list[list[int]]  # circuits that could carry each load, its present one first
    home: list[int | None]
    left: list[float]  # [W] on each circuit
    twins: list[tuple[float, tuple[str, ...]]]  # what makes circuits alike
    chosen: list[int | None]
    best: list[int | None]
    best_cost: tuple[float, int] = (float("inf"), 0)
    steps: int = 0
    seen: dict[tuple[int, tuple[float, ...]], tuple[float, int]] = field(default_factory=dict)

    @classmethod
    def of(cls, loads: Sequence[ElectricalLoad], circuits: Sequence[Circuit]) -> "_Search":
        """Return the search before its first step."""
        ordered = sorted(loads, key=lambda load: -load.power)
        now = plugged_into(circuits)
        home = [now.get(load.name) for load in ordered]
        fitting = []
        for load, here in zip(ordered, home, strict=True):
            voltage = voltage_of(load, circuits)
            could = [i for i, c in enumerate(circuits) if fits_on(load, c, voltage)]
            fitting.append([i for i in could if i == here] + [i for i in could if i != here])
        return cls(
            loads=ordered,
            fitting=fitting,
            home=home,
            left=[allowed_power(circuit) * (1.0 + ROUND_OFF) for circuit in circuits],
            twins=[(circuit.voltage, circuit.rooms) for circuit in circuits],
            chosen=[None] * len(ordered),
            best=[None] * len(ordered),
        )

    def go(self, index: int, off: float, moves: int) -> None:
        """Place the load ``index`` and all after it as cheaply as possible."""
        self.steps += 1
        if self._is_hopeless(index, (off, moves)):
            return
        if index == len(self.loads):
            self.best_cost, self.best = (off, moves), list(self.chosen)
            return
        load, tried = self.loads[index], set()
        for place in self.fitting[index]:
            is_home = place == self.home[index]
            alike = (self.twins[place], round(self.left[place], 6))
            if load.power > self.left[place] or (alike in tried and not is_home):
                continue
            if not is_home:
                tried.add(alike)
            self.left[place] -= load.power
            self.chosen[index] = place
            self.go(index + 1, off, moves + (not is_home))
            self.left[place] += load.power
        self.chosen[index] = None
        self.go(index + 1, off + load.power, moves)

    def _is_hopeless(self, index: int, cost: tuple[float, int]) -> bool:
        """Return whether nothing better can follow, or enough has been tried."""
        most = MOST_TIDYING if self.best_cost[0] == 0.0 else MOST_STEPS
        if cost >= self.best_cost or (self.steps > most and self.best_cost[0] < float("inf")):
            return True
        rest = sum(load.power for load in self.loads[index:])
        if cost[0] + max(0.0, rest - sum(self.left)) > self.best_cost[0] * (1.0 + ROUND_OFF):
            return True
        state = (index, tuple(round(power, 6) for power in self.left))
        known = self.seen.get(state)
        if known is not None and known <= cost:
            return True
        self.seen[state] = cost
        return False
