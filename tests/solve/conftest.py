"""Lets tests import the stocks of the benchmarks."""

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parents[1] / "benchmarks"))
