"""How long `fitter builds` takes on the example stock, as a multiple of importing its libraries.

Run it by hand: ``python tests/benchmarks/start_time.py``. All are timed as whole processes, best of
five, taking turns so that a busy machine slows all alike. Aim: at most 3 for four recipes, which tells
what starting costs; what all recipes take stands beside it, and grows with their number.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROUNDS, AIM = 5, 3.0
FOUR = ("camera-slider", "drawer-rails", "lab-supply", "pen-plotter")
LIBRARIES = [sys.executable, "-c", "import pint, networkx, pydantic, numpy, rich"]
STOCK = ["--stock", str(ROOT / "inventory_examples" / "repair_shed")]
BUILDS = [sys.executable, "-m", "fitter", "builds", *STOCK]


def seconds(command: list[str]) -> float:
    """Wall time of one process from start to end."""
    start = time.perf_counter()
    subprocess.run(
        command, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.DEVNULL, check=True
    )
    return time.perf_counter() - start


def main() -> None:
    """Measure and print the ratio."""
    commands = (LIBRARIES, [*BUILDS, *FOUR], BUILDS)
    for command in commands:
        seconds(command)  # compiled files and the disk's cache are made before anything counts
    rounds = [[seconds(command) for command in commands] for _ in range(ROUNDS)]
    libraries, four, every = (min(times) for times in zip(*rounds, strict=True))
    number = len(list((ROOT / "recipes").glob("*.yaml")))
    print(f"libraries alone {libraries:.2f} s, fitter builds of four recipes {four:.2f} s")
    print(f"ratio {four / libraries:.1f}, aim at most {AIM:g}")
    print(f"of all {number} recipes {every:.2f} s, ratio {every / libraries:.1f}")


if __name__ == "__main__":
    main()
