"""The ranked search beside other engines, on stocks of any size, on hard stocks, and as a whole program.

    python tests/benchmarks/search.py [--sizes 100,1000] [--recipes pen-plotter] [--peers cpsat,library]

Run it by hand; it prints its tables and ends with 1 if any peer finds another optimum. Every figure comes
from a process of its own with capped memory. *Ours* is the time from loaded lots to the proven best set,
everything included, best of three where it is short; a peer's time is only that which its engine works,
without setting up its tables (`cpsat_peer.py` beside the tests tells how). CP-SAT runs with its presolve
and without; the shorter time counts. Ratios are of processor time with one worker. The library's own solver
lists all sets of the winning variant alone.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "solve")]

import adversarial  # noqa: E402
import synthetic  # noqa: E402
from rich.console import Console  # noqa: E402
from rich.table import Table  # noqa: E402

RECIPES = "camera-slider,drawer-rails,lab-supply,pen-plotter"
SIZES = "100,1000,10000,100000"
MEMORY = 6 << 30  # bytes of address space a process may take
SHORT = 2.0  # seconds; what takes longer is run once
CONSOLE = Console(width=None if sys.stdout.isatty() else 150)

# ---------------------------------------------------------------- what runs in a process of its own


def _shed(path: str) -> Any:
    from fitter.shed import Shed

    return Shed.open(Path(path))


def _project(shed: Any, recipe: str) -> Any:
    from fitter.projects import bind

    return bind(shed.recipe(recipe))


def run_ours(stock: str, recipe: str, seconds: float) -> dict[str, Any]:
    """Time to the proven best set."""
    loaded = _shed(stock)
    results = [_ours_once(loaded, recipe, seconds)]
    while len(results) < 3 and results[0]["seconds"] < SHORT:
        results.append(_ours_once(loaded, recipe, seconds))
    return min(results, key=lambda r: float(r["seconds"]))


def _ours_once(loaded: Any, recipe: str, seconds: float) -> dict[str, Any]:
    from fitter.shed import Shed
    from fitter.solve.variants import Limit, ranked_builds

    started, worked = time.perf_counter(), time.process_time()
    shed = Shed(loaded.stock, loaded.recipes)
    limit = Limit(nodes=10**9, seconds=seconds)
    found = next(ranked_builds(_project(shed, recipe), shed.tables(), limit), None)
    result: dict[str, Any] = {
        "seconds": time.perf_counter() - started,
        "cpu": time.process_time() - worked,
        "nodes": getattr(limit, "used", 0),
        "outcome": "stopped" if limit.reached else "complete",
        "score": None if found is None else round(found.score),
    }
    if found is not None:
        sizes = [len(shed.pool.columns(role)) for role in found.model.roles.values()]
        result |= {"candidates": sum(sizes), "log10": sum(map(math.log10, sizes))}
        result["principles"] = {name: p.name for name, p in found.principles.items()}
    return result


def _shelf(shed: Any) -> Any:
    from exhaustive import Shelf

    return Shelf(shed.pool, shed.waste, {}, ())


def run_cpsat(stock: str, recipe: str, seconds: float, workers: int, presolve: bool) -> dict[str, Any]:
    """CP-SAT over all variants."""
    import cpsat_peer

    shed = _shed(stock)
    engine = cpsat_peer.Engine(workers, presolve)
    peer = cpsat_peer.best(_project(shed, recipe), _shelf(shed), seconds, engine)
    return {
        "seconds": peer.solving,
        "cpu": peer.working,
        "set up": peer.setting_up,
        "score": peer.score,
        "outcome": "complete" if peer.proven else "stopped",
        "variants": peer.solved,
    }


def run_library(stock: str, recipe: str, seconds: float, principles: dict[str, str]) -> dict[str, Any]:
    """The library's own solver on one variant."""
    import cpsat_peer
    import library
    from exhaustive import of_principles

    shed = _shed(stock)
    variant = cpsat_peer.Variant(
        of_principles(_project(shed, recipe), principles), cpsat_peer.Judged(_shelf(shed))
    )
    variant.set_up()
    found = library.cheapest_of_all(variant, seconds)
    return {
        "seconds": found.seconds,
        "sets": found.sets,
        "score": found.best,
        "outcome": "complete" if found.finished else "stopped",
    }


def run_builds(stock: str) -> dict[str, Any]:
    """The whole program over all recipes."""
    command = [sys.executable, "-m", "fitter", "builds", "--json", "--stock", stock]
    started = time.perf_counter()
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    seconds = time.perf_counter() - started
    outcome = "failed: " + done.stderr.strip().splitlines()[-1] if done.returncode else "complete"
    if done.returncode == 0:
        rows = json.loads(done.stdout)["builds"]
        stopped = [r["recipe"] for r in rows if r.get("outcome") == "stopped"]
        outcome = "stopped: " + ", ".join(stopped) if stopped else "complete"
    return {"seconds": seconds, "outcome": outcome}


RUNS = {"ours": run_ours, "cpsat": run_cpsat, "library": run_library, "builds": run_builds}


def child(job: str) -> None:
    """Do one job and print its result as JSON on the last line."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    what = json.loads(job)
    try:
        result = RUNS[what.pop("what")](**what)
    except MemoryError:
        result = {"seconds": math.inf, "outcome": "out of memory"}
    who = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    result["peak"] = max(resource.getrusage(w).ru_maxrss for w in who) / 1024
    print(json.dumps(result))


def in_process(patience: float, /, **job: Any) -> dict[str, Any]:
    """One job in a process of its own; it is ended when it takes far too long."""
    command = [sys.executable, __file__, "--child", json.dumps(job)]
    try:
        done = subprocess.run(
            command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=3 * patience + 120
        )
    except subprocess.TimeoutExpired:
        return {"seconds": math.inf, "outcome": "ended by force", "peak": math.nan, "score": None}
    if done.returncode:
        last = (done.stderr.strip().splitlines() or ["no message"])[-1]
        return {"seconds": math.inf, "outcome": last, "peak": math.nan, "score": None}
    return dict(json.loads(done.stdout.splitlines()[-1]))


# ---------------------------------------------------------------- tables


def shown(result: dict[str, Any] | None) -> str:
    """Time of a run, and a word where it did not come to its end."""
    if result is None:
        return "-"
    if result["outcome"] not in ("complete", "stopped"):
        return str(result["outcome"])[:40]
    seconds = result["seconds"]
    text = f"{seconds:.3f}" if seconds < 10 else f"{seconds:.0f}"
    return text if result["outcome"] == "complete" else f"stopped at {seconds:.0f}"


def ratio(ours: dict[str, Any], peer: dict[str, Any] | None) -> str:
    """How many times more the peer works (processor time); a bound where one of them was stopped."""
    if peer is None or not ours.get("cpu") or "cpu" not in peer:
        return "-"
    times = f"{peer['cpu'] / ours['cpu']:.3g}"
    ends = ours["outcome"], peer["outcome"]
    return {
        ("complete", "complete"): times,
        ("complete", "stopped"): f"> {times}",
        ("stopped", "complete"): f"< {times}",
    }.get(ends, "-")


def agree(ours: dict[str, Any], peer: dict[str, Any] | None) -> bool:
    """Whether two runs that came to their ends found the same optimum."""
    if peer is None or {ours["outcome"], peer["outcome"]} != {"complete"}:
        return True
    return bool(ours["score"] == peer["score"])


class Bench:
    """All runs of one call, with their stocks in one folder."""

    def __init__(self, arguments: argparse.Namespace, folder: Path) -> None:
        self.arguments = arguments
        self.folder = folder
        self.times: dict[str, list[tuple[int, float]]] = {}
        self.different: list[str] = []

    def stock(self, size: int, sort: str = "") -> str:
        """A stock file, made when first asked for."""
        path = self.folder / f"{sort.replace(' ', '-') or 'shed'}-{size}.yaml"
        if not path.exists():
            if sort:
                adversarial.write(path, sort, size)
            else:
                synthetic.write(path, size)
        return str(path)

    def row(self, recipe: str, size: int) -> Iterator[str]:
        """One recipe on one stock with all peers."""
        limit, stock = self.arguments.seconds, self.stock(size)
        ours = in_process(limit, what="ours", stock=stock, recipe=recipe, seconds=limit)
        if ours["outcome"] == "complete":
            self.times.setdefault(recipe, []).append((size, ours["seconds"]))
        yield from (recipe, f"{size:,}")
        yield f"{ours['candidates']} / {ours['log10']:.1f}" if "candidates" in ours else "-"
        yield from (shown(ours), f"{ours.get('nodes', 0):,}", f"{ours['peak']:.0f}")
        one = self.cpsat(stock, recipe, size, 1)
        two = self.cpsat(stock, recipe, size, 2)
        listed = self.library(stock, recipe, size, ours)
        for name, peer in (("CP-SAT", one), ("CP-SAT", two), ("the library", listed)):
            if not agree(ours, peer):
                self.different.append(f"{recipe}, {size} lots: ours {ours['score']}, {name} {peer['score']}")
        yield from (shown(one), shown(two))
        yield ratio(ours, one)
        yield shown(listed) + (f" ({listed['sets']:,} sets)" if listed and "sets" in listed else "")

    def cpsat(self, stock: str, recipe: str, size: int, workers: int) -> dict[str, Any] | None:
        """CP-SAT with and without presolve, the shorter."""
        if "cpsat" not in self.arguments.peers or size > self.arguments.peers_up_to:
            return None
        limit = self.arguments.seconds
        runs = [
            in_process(
                limit,
                what="cpsat",
                stock=stock,
                recipe=recipe,
                seconds=limit,
                workers=workers,
                presolve=presolve,
            )
            for presolve in (True, False)
        ]
        return min(runs, key=lambda r: (r["outcome"] != "complete", float(r["seconds"])))

    def library(self, stock: str, recipe: str, size: int, ours: dict[str, Any]) -> dict[str, Any] | None:
        """The library's own solver, where ours has told the winning variant."""
        if "library" not in self.arguments.peers or size > self.arguments.peers_up_to:
            return None
        if "principles" not in ours:
            return None
        limit = self.arguments.seconds
        job = {"stock": stock, "recipe": recipe, "seconds": limit, "principles": ours["principles"]}
        return in_process(limit, what="library", **job)

    def growth(self, recipe: str) -> str:
        """The exponent of time in lots, fitted to the logarithms of both; over the larger stocks too."""
        found = self.times.get(recipe, [])
        large = [t for t in found if t[0] >= 1000]
        return f"{recipe}: {_slope(found)}, from 1,000 lots on {_slope(large)}"

    def searches(self) -> None:
        """The four recipes on stocks of all sizes."""
        table = _table(
            "To the proven best set (times in seconds, peak in MB)",
            *("recipe", "lots", "candidates / log10", "ours", "nodes", "peak"),
            *("CP-SAT, 1 worker", "2 workers", "CP-SAT / ours", "library, listing"),
        )
        for recipe in self.arguments.recipes:
            for size in self.arguments.sizes:
                table.add_row(*self.row(recipe, size))
        CONSOLE.print(table)
        for recipe in self.arguments.recipes:
            CONSOLE.print("time grows with lots to the power of", self.growth(recipe), highlight=False)

    def hard(self) -> None:
        """Adversarial stocks."""
        table = _table(
            "Hard stocks",
            *("stock", "recipe", "seconds", "nodes", "peak, MB", "CP-SAT", "CP-SAT / ours", "outcome"),
        )
        for sort in adversarial.STOCKS:
            for recipe in self.arguments.recipes:
                table.add_row(sort, recipe, *self.hard_row(sort, recipe))
        CONSOLE.print(table)

    def hard_row(self, sort: str, recipe: str) -> Iterator[str]:
        """One recipe on one hard stock."""
        limit, size = self.arguments.seconds, self.arguments.hard
        stock = self.stock(size, sort)
        ours = in_process(limit, what="ours", stock=stock, recipe=recipe, seconds=limit)
        peer = self.cpsat(stock, recipe, size, 1)
        if peer and not agree(ours, peer):
            self.different.append(f"{recipe}, {sort}: ours {ours['score']}, CP-SAT {peer['score']}")
        yield from (shown(ours), f"{ours.get('nodes', 0):,}", f"{ours['peak']:.0f}")
        yield from (shown(peer), ratio(ours, peer))
        if ours["outcome"] == "complete":
            yield "none exists" if ours["score"] is None else f"score {ours['score']:,}"
        else:
            yield str(ours["outcome"])

    def builds(self) -> None:
        """The whole program, before and after its cache is filled."""
        table = _table("fitter builds, all recipes, whole process", "lots", "cache", "s", "MB", "outcome")
        for size in self.arguments.sizes:
            stock = self.stock(size)
            with tempfile.TemporaryDirectory() as cache, _environment("FITTER_CACHE", cache):
                for state in ("cold", "warm"):
                    runs = [in_process(600, what="builds", stock=stock)]
                    if state == "warm" and runs[0]["seconds"] < SHORT:
                        runs += [in_process(600, what="builds", stock=stock) for _ in range(2)]
                    best = min(runs, key=lambda r: float(r["seconds"]))
                    cells = (f"{best['seconds']:.2f}", f"{best['peak']:.0f}", str(best["outcome"]))
                    table.add_row(f"{size:,}", state, *cells)
        CONSOLE.print(table)


def _slope(points: list[tuple[int, float]]) -> str:
    if len(points) < 2:
        return "not known"
    logs = [(math.log(n), math.log(t)) for n, t in points]
    x, y = (sum(v) / len(logs) for v in zip(*logs, strict=True))
    return f"{sum((a - x) * (b - y) for a, b in logs) / sum((a - x) ** 2 for a, _ in logs):.2f}"


def _table(title: str, *heads: str) -> Table:
    table = Table(title=title, title_justify="left")
    for head in heads:
        table.add_column(head, justify="left" if head in ("recipe", "stock", "outcome", "cache") else "right")
    return table


@contextlib.contextmanager
def _environment(name: str, value: str) -> Iterator[None]:
    before = os.environ.get(name)
    os.environ[name] = value
    try:
        yield
    finally:
        os.environ.pop(name)
        if before is not None:
            os.environ[name] = before


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=str(__doc__).splitlines()[0])
    parser.add_argument("--sizes", default=SIZES, help="lots, with commas between")
    parser.add_argument("--recipes", default=RECIPES)
    parser.add_argument("--peers", default="cpsat,library", help="none, or cpsat, library")
    parser.add_argument("--peers-up-to", type=int, default=1000, help="lots, for larger stocks ours alone")
    parser.add_argument("--seconds", type=float, default=60.0, help="limit of one run")
    parser.add_argument("--hard", type=int, default=1000, help="lots of the hard stocks")
    parser.add_argument("--tables", default="searches,hard,builds")
    parser.add_argument("--stocks", type=Path, help="folder to keep the stocks in")
    parser.add_argument("--child", help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    for name in ("sizes", "recipes", "peers", "tables"):
        setattr(arguments, name, [part for part in getattr(arguments, name).split(",") if part])
    arguments.sizes = [int(n) for n in arguments.sizes]
    return arguments


def main() -> int:
    """Run what is asked for."""
    arguments = _arguments()
    if arguments.child:
        child(arguments.child)
        return 0
    with tempfile.TemporaryDirectory() as folder:
        if arguments.stocks:
            arguments.stocks.mkdir(parents=True, exist_ok=True)
        bench = Bench(arguments, arguments.stocks or Path(folder))
        for table in arguments.tables:
            getattr(bench, table)()
    for line in bench.different:
        CONSOLE.print(f"DIFFERENT OPTIMUM: {line}", style="bold red", highlight=False)
    return 1 if bench.different else 0


if __name__ == "__main__":
    sys.exit(main())
