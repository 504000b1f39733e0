"""Do thermostats that switch heaters switch them alike in both ways of marching, and at what cost?

Marches six hours of the shipped bedroom in one frozen flow with a thermostat of 2 K differential,
by steps, by the reduced model, and by the reduced model with its sensors looked at only so often,
as a thermostat without location of its switchings would be. Prints switchings, energy, the largest
difference of any hiding place from the finest steps, in its mean over the last two hours and in the
99.9 % quantile of single moments, and CPU time. At one moment surfaces in a heater's jet, which
swing by several kelvin in every cycle, differ by where in the cycle they are.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=. python benchmarks/switching.py [CELL]`` (2 minutes)
"""

import os
import platform
import sys
import time
from dataclasses import replace

import numpy as np
from heat_march import OUTPUTS, Room, furnish

from simulator.physics.heat.advance import advance
from simulator.physics.heat.control import Control
from simulator.physics.heat.epoch_log import EpochResult
from simulator.physics.heat.implicit_steps import ImplicitSteps
from simulator.physics.heat.march import MarchMethod
from simulator.physics.heat.nodes import start_state
from simulator.physics.heat.reduced_model import ReducedSteps

SIX_HOURS = 6 * 3600.0
SET_TEMPERATURE, DIFFERENTIAL = 45.0, 2.0

METHODS: dict[str, MarchMethod] = {
    "finest steps": ImplicitSteps(
        error=0.005, solver_tolerance=1e-5, longest=60.0, shortest=1.0, switching=0.05
    ),
    "steps": ImplicitSteps(),
    "reduced model": ReducedSteps(),
    "reduced model, looks every 5 s": ReducedSteps(switched_step=5.0, switching=5.0),
    "reduced model, looks every 60 s": ReducedSteps(switched_step=60.0, switching=60.0),
}


def switched(room: Room) -> Control:
    """Return the room's control with the thermostat of this study."""
    jets = tuple(replace(jet, set_temperature=SET_TEMPERATURE) for jet in room.control.jets)
    return replace(room.control, jets=jets, differential=DIFFERENTIAL)


def march(room: Room, method: MarchMethod) -> tuple[float, EpochResult]:
    """Return the CPU time [s] and the result of six hours."""
    begun = time.process_time()
    result = advance(
        room.model(room.radiation),
        start_state(room.grid, room.layout),
        switched(room),
        0.0,
        SIX_HOURS,
        watch=room.watch,
        output_times=OUTPUTS,
        method=method,
    )
    return time.process_time() - begun, result


def main() -> None:
    """Print the table."""
    cell = float(sys.argv[1]) if len(sys.argv) > 1 else 0.20
    threads = os.environ.get("OMP_NUM_THREADS", "not set")
    print(f"{platform.platform()}, {platform.processor()}; OMP_NUM_THREADS {threads}")
    room = furnish(cell)
    march(room, ReducedSteps())  # compiles
    print(f"cells of {cell:g} m, {room.layout.size:,} unknowns, {len(room.grid.jets)} heaters")
    found = {name: march(room, method) for name, method in METHODS.items()}
    _, finest = found["finest steps"]
    heat = finest.ledger.heaters[-1]
    print(f"{'':34}switchings  energy, off by  means, off by  moments  not kept  CPU")
    for name, (seconds, result) in found.items():
        apart = result.refuge_temperature - finest.refuge_temperature
        means = np.abs(apart[OUTPUTS > SIX_HOURS - 7200.0].mean(axis=0)).max()
        moments = np.quantile(np.abs(apart), 0.999)
        energy = 100.0 * (result.ledger.heaters[-1] / heat - 1.0)
        print(
            f"{name:34}{result.switch_time.size:10d}  {energy:+11.3f} %  {means:13.3f} K  "
            f"{moments:9.3f} K  {result.ledger.largest_imbalance:.1e}  {seconds:.2f} s"
        )


if __name__ == "__main__":
    main()
