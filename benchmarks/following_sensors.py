"""Where sensors go in the room of the twin experiments by our own rule, before any truth is known.

python benchmarks/following_sensors.py
"""

import argparse

from following_room import described
from following_truths import MODEL

from simulator.case.load import load_texts
from simulator.studies.evaluate import Workers
from simulator.studies.rungs import WHOLE
from simulator.studies.sensor_places import place_sensors

#: Two sensors in one place are at least so far apart [m] (choice: half of a usual pile).
APART = 0.3


def main() -> None:
    """Print the places, the most telling first."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--sensors", type=int, default=5)
    parser.add_argument("--workers", type=int, default=1)
    asked = parser.parse_args()
    case = load_texts({"room": described()}, "room")
    with Workers(asked.workers) as crew:
        plan = place_sensors(case, asked.sensors, crew, rung=WHOLE, apart=APART, turned=True)
    print(f"{plan.runs} runs on cells of {MODEL:g} m, fans turned by lot")
    print(f"no sensor in a place: the last is done {plan.blind / 60.0:.1f} min after half of all")
    for one in plan.sensors:
        x, y, z = one.position
        print(
            f"{one.owner}, {one.words} at {x:.2f}, {y:.2f}, {z:.2f} m: from here on "
            f"{one.regret / 60.0:.1f} min are missed; last in {one.last_in} runs"
        )


if __name__ == "__main__":
    main()
