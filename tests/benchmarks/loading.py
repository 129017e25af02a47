"""How long a stock takes to read, validate and tabulate, and how much memory that fills.

Run it by hand: ``python tests/benchmarks/loading.py [LOTS ...]``. Each row is measured in processes of their
own, in processor time from when the program is imported until the sizes in shops, the stock, and every
rating, price and cost of all kinds are there as arrays. Cold is without anything kept; warm finds the stock
in the cache, best of three. Aims: warm at most 0.15 s at 10,000 lots and 1 s at 100,000; memory below 1 GB.
"""

from __future__ import annotations

import csv
import json
import multiprocessing
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from synthetic import lots as synthetic_lots
from synthetic import write as write_yaml

ROOT = Path(__file__).parents[2]
SIZES = (100, 1_000, 10_000, 100_000)
PLAIN = ("id", "kind", "count", "name", "bin", "donor", "condition", "price_new", "mass", "note")
MEASURED = """
import json, resource, sys, time
from pathlib import Path
import numpy as np
import fitter.shed
from fitter.advice.data import shop
from fitter.kinds import KINDS
from fitter.solve.candidates import Columns, Pool
from fitter.solve.score import Prices, Waste
from fitter.stock.files import open_stock

start = time.process_time()
sizes = shop()
stock = open_stock(Path(sys.argv[1]), Prices(sizes).of)
read = time.process_time()
pool = Pool(stock.lots, [lot for lots in sizes.values() for lot in lots], stock.figures)
waste = Waste(pool, sizes)
for kind in KINDS:
    table = pool.table((kind,))
    waste.cents(Columns(table, np.arange(len(table))), 1)
    for name in table.candidate(0).offer.ratings if len(table) else ():
        table.rating(name)
done = time.process_time()
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps([read - start, done - start, peak]))
"""


def write_table(path: Path, count: int) -> Path:
    """The same stock as a table of one row a lot."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        rows = csv.DictWriter(stream, [*PLAIN, "ratings"], delimiter=";")
        rows.writeheader()
        for lot in synthetic_lots(count):
            ratings = "; ".join(f"{n}={_cell(v)}" for n, v in lot.items() if n not in PLAIN)
            rows.writerow({**{n: lot[n] for n in PLAIN if n in lot}, "ratings": ratings})
    return path


def _cell(value: Any) -> str:
    if isinstance(value, str):
        return value
    return " | ".join(" ".join([r["voltage"], r.get("current", "")]).strip() for r in value)


def measure(stock: Path, folder: str) -> list[float]:
    """Seconds to read, seconds to have all arrays, and the largest memory in MB, of one process."""
    done = subprocess.run(
        [sys.executable, "-c", MEASURED, str(stock)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), "FITTER_CACHE": folder},
        capture_output=True,
        check=True,
    )
    return [float(figure) for figure in json.loads(done.stdout)]


def apart(write: Callable[[Path, int], object], path: Path, count: int) -> None:
    """Write a stock in another process: the memory that this one has filled would count for its children."""
    process = multiprocessing.get_context("spawn").Process(target=write, args=(path, count))
    process.start()
    process.join()


def main(sizes: list[int]) -> None:
    """Measure and print the table."""
    print("   lots  file   read, s  cold, s  memory, MB  warm, s  memory, MB")
    with tempfile.TemporaryDirectory() as place:
        apart(write_yaml, Path(place) / "start.yaml", 91)
        measure(Path(place) / "start.yaml", "off")  # what is compiled once does not count
        for count in sizes:
            for write, name in ((write_yaml, "YAML"), (write_table, "CSV")):
                stock = Path(place) / f"stock.{name.casefold()}"
                apart(write, stock, count)
                read, cold, filled = measure(stock, str(Path(place) / "cache"))
                warm, held = min(measure(stock, str(Path(place) / "cache"))[1:] for _ in range(3))
                print(f"{count:7}  {name:4}  {read:8.2f} {cold:8.2f} {filled:11.0f} {warm:8.3f} {held:11.0f}")
                stock.unlink()


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or list(SIZES))
