"""How far is the speed near surfaces on coarse cells from that on 0.05 m cells?

Prints the machine, the threads, and for three invented layouts of one furnished room the speed of
the air near surfaces on cells of 0.20, 0.10 and 0.05 m, the scatter of each average and the
difference from 0.05 m. With the word ``obstacles`` it does so for six fans in bad places: close to
a wall, before a wall or furniture, at the floor, before a gap, in a corner.
``simulator.physics.airflow.grid_bias`` holds the figures found.

Run: ``OMP_NUM_THREADS=1 PYTHONPATH=.:tests python benchmarks/airflow_grid_study.py [obstacles]``
(3 minutes; with ``obstacles`` 5)
"""

import os
import platform
import sys
import time

from air_rooms import fan, furnished_room

from simulator.case.parts import AirMover
from simulator.physics.airflow.solve_airflow import solve_airflow

LAYOUTS: dict[str, tuple[AirMover, ...]] = {
    "two fans opposed": (
        fan((0.6, 0.6, 0.4), (1.0, 0.6, 0.2)),
        fan((4.2, 2.6, 0.8), (-1.0, -0.2, 0.0)),
    ),
    "two fans turning the air the same way": (
        fan((0.8, 0.5, 0.5), (1.0, 0.0, 0.1)),
        fan((4.2, 3.0, 0.7), (-1.0, 0.0, 0.1)),
    ),
    "one fan": (fan((0.8, 0.6, 0.6), (1.0, 0.8, 0.1)),),
}

OBSTACLES: dict[str, tuple[AirMover, ...]] = {
    "0.15 m before a wall, blowing from it": (fan((0.15, 2.9, 1.2), (1.0, 0.0, 0.0)),),
    "blowing at a wall 0.5 m away": (fan((4.5, 2.5, 1.2), (1.0, 0.0, 0.0)),),
    "blowing at a dresser 1 m away": (fan((3.4, 1.0, 0.5), (1.0, 0.0, 0.0)),),
    "cut by the floor": (fan((3.4, 2.4, 0.1), (-1.0, 0.3, 0.0)),),
    "blowing under a bed": (fan((2.9, 1.8, 0.15), (-1.0, 0.0, 0.0), diameter=0.3, flow=0.5),),
    "in a corner": (fan((0.3, 0.3, 0.3), (1.0, 1.0, 0.3)),),
}

#: Seconds discarded and averaged; fine cells cost 16 times as much a second as cells twice as wide.
TIMES = {0.20: (20.0, 240.0), 0.10: (20.0, 120.0), 0.05: (20.0, 60.0)}


def main() -> None:
    """Print the machine and the figures of each layout."""
    threads = os.environ.get("OMP_NUM_THREADS", "not set")
    print(f"{platform.machine()}, {os.cpu_count()} CPUs, OMP_NUM_THREADS {threads}")
    layouts = OBSTACLES if "obstacles" in sys.argv[1:] else LAYOUTS
    for name, fans in layouts.items():
        print(name)
        finest = 0.0
        for cell in sorted(TIMES):
            discard, average = TIMES[cell]
            start = time.process_time()
            airflow = solve_airflow(
                furnished_room(cell, fans=fans), discard=discard, average=average
            )
            spent = time.process_time() - start
            finest = finest or airflow.near_surface_speed
            print(
                f"  {cell:.2f} m: {airflow.near_surface_speed:.3f} m/s, halves differ by"
                f" {100.0 * airflow.scatter:.1f} %, {discard:.0f} + {average:.0f} s,"
                f" least thrust {airflow.thrust_share.min():.2f} of the free one,"
                f" CPU {spent:.1f} s: {100.0 * (airflow.near_surface_speed / finest - 1.0):+.1f} %"
                f" against {min(TIMES):.2f} m",
                flush=True,
            )


if __name__ == "__main__":
    main()
