"""How long each recipe takes on each example stock, beside the time it takes to read that stock.

Run it by hand: ``python tests/benchmarks/recipes.py``. Processor seconds of one process, the search
alone; the aim is a second for every recipe on every stock.
"""

from __future__ import annotations

import time
from pathlib import Path

from fitter.projects import bind
from fitter.shed import Shed

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
AIM = 1.0


def main() -> None:
    """Measure and print a line for each stock, and those that take longest."""
    for stock in sorted(p for p in EXAMPLES.iterdir() if p.is_dir() or p.suffix == ".yaml"):
        start = time.process_time()
        shed = Shed.open(stock)
        opening = time.process_time() - start
        spent = {}
        for name, recipe in shed.recipes.items():
            fresh = Shed(shed.stock, {name: recipe})
            start = time.process_time()
            fresh.sets(bind(recipe), 1)
            spent[name] = time.process_time() - start
        slow = sorted(spent, key=lambda n: -spent[n])[:5]
        above = sum(seconds > AIM for seconds in spent.values())
        print(f"{stock.name}: read in {opening:.2f} s, {len(spent)} recipes in {sum(spent.values()):.1f} s,")
        print(f"  {above} above {AIM:g} s; slowest: " + ", ".join(f"{n} {spent[n]:.2f} s" for n in slow))


if __name__ == "__main__":
    main()
