"""Settings of every test: one cache of compiled code a state of the sources, shared builders.

Numba does not notice an edit in a helper that another module's cached kernel was compiled with
(numba issues 1833, 9483), so the cache lives in a folder named after a hash of all sources.
"""

import hashlib
import os
import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parent
ROOT = TESTS.parent


def _hash_of_sources() -> str:
    digest = hashlib.sha256()
    for path in sorted((ROOT / "simulator").rglob("*.py")):
        digest.update(path.relative_to(ROOT).as_posix().encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


os.environ["NUMBA_CACHE_DIR"] = str(ROOT / ".numba_cache" / _hash_of_sources())
sys.path.insert(0, str(TESTS))
