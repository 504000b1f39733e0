"""How many drawn dwellings are valid under the loader that ``roomsoak check`` uses, and how fast.

    python benchmarks/ten_thousand_dwellings.py [first] [count]

Every seed is drawn and loaded in both states; what is refused is printed with its seed.
"""

import sys
import time
from collections import Counter

from simulator.errors import CaseError
from simulator.studies.random_dwellings.random_dwelling import PREPARATIONS, random_dwelling


def main() -> None:
    """Draw, load, count."""
    first = int(sys.argv[1]) if len(sys.argv) > 1 else 0
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 10_000
    kinds, heaters, refused = Counter[str](), Counter[int](), []
    drawing = loading = 0.0
    for seed in range(first, first + count):
        start = time.process_time()
        dwelling = random_dwelling(seed)
        drawn = time.process_time()
        for preparation in PREPARATIONS:
            try:
                case = dwelling.case(preparation)
            except CaseError as error:
                refused.append((seed, preparation))
                print(f"seed {seed}, {preparation}: {error}")
                continue
        loading += time.process_time() - drawn
        drawing += drawn - start
        kinds[dwelling.kind] += 1
        heaters[len(case.loads)] += 1
        if (seed - first + 1) % 500 == 0:
            print(f"{seed - first + 1} drawn, {len(refused)} refused", file=sys.stderr, flush=True)
    print(f"seeds {first} to {first + count - 1}: {2 * count} cases, {len(refused)} refused")
    print(f"processor time: drawing {1000 * drawing / count:.1f} ms a dwelling,")
    print(
        f"loading {500 * loading / count:.1f} ms a case; {(drawing + loading) / 60:.1f} min in all"
    )
    print("sizes:", dict(kinds.most_common()))
    print("heaters:", dict(sorted(heaters.items())))
    raise SystemExit(1 if refused else 0)


if __name__ == "__main__":
    main()
