"""How long `fitter builds` takes on the example stock, as a multiple of importing its libraries.

Run it by hand: ``python tests/benchmarks/start_time.py``. Both are timed as whole processes, best of
five, taking turns so that a busy machine slows both alike. Aim: at most 3.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROUNDS, AIM = 5, 3.0
LIBRARIES = [sys.executable, "-c", "import pint, networkx, pydantic, numpy, rich"]
BUILDS = [
    sys.executable,
    "-m",
    "fitter",
    "builds",
    "--stock",
    str(ROOT / "inventory_examples" / "repair_shed"),
]


def seconds(command: list[str]) -> float:
    """Wall time of one process from start to end."""
    start = time.perf_counter()
    subprocess.run(
        command, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.DEVNULL, check=True
    )
    return time.perf_counter() - start


def main() -> None:
    """Measure and print the ratio."""
    seconds(LIBRARIES), seconds(BUILDS)  # compiled files and the disk's cache are made before anything counts
    rounds = [(seconds(LIBRARIES), seconds(BUILDS)) for _ in range(ROUNDS)]
    libraries, builds = (min(times) for times in zip(*rounds, strict=True))
    print(f"libraries alone {libraries:.2f} s, fitter builds {builds:.2f} s")
    print(f"ratio {builds / libraries:.1f}, aim at most {AIM:g}")


if __name__ == "__main__":
    main()
