"""How many measurements it takes until every recipe has its final state, by what is measured next.

Run it by hand: ``python tests/benchmarks/measuring.py [draws] [seed]``. For every draw each open rating of
the repair shed gets a hidden true value inside its interval. The final state of a recipe is that of the stock
with all ratings measured: its state, how much must be bought, and whether anything is open all the same.
Rules for what to measure next are compared by the number of measurements, and the minutes, after which
all recipes have their final states and keep them:

- *suggested*: always the first step of the first suggestion;
- *random*: any open rating of the stock, in random order;
- *relevant*: the same, of those that the best sets of some recipe read at all;
- *widest*: the widest interval first, ends compared as a ratio;
- *named*: what the best sets name as open, the first recipe first; again after each measurement.
"""

from __future__ import annotations

import math
import random
import statistics
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from fitter.kinds import kind_key
from fitter.measuring.cases import Case, asked, case_of, read
from fitter.measuring.ranking import Ranking
from fitter.measuring.truths import CONDITION, Open, Worlds, drawn, open_of, recorded
from fitter.recipes import bind, load_recipes
from fitter.shed import Shed
from fitter.solve.variants import sketch
from fitter.stock.files import Stock, load_stock
from fitter.stock.lots import Lot

SHED = Path(__file__).parents[2] / "inventory_examples" / "repair_shed"
Order = tuple[Open, ...]
Answer = tuple[str, int, bool]


@dataclass
class Bench:
    """A stock with hidden true values, of which some have been measured."""

    lots: Sequence[Lot]
    recipes: Sequence[str]
    seed: int
    _answers: dict[tuple[str, frozenset[tuple[str, str]]], Answer] = field(default_factory=dict)
    _cases: dict[tuple[str, frozenset[tuple[str, str]]], Case] = field(default_factory=dict)

    def __post_init__(self) -> None:
        dice = random.Random(self.seed)
        self.all = load_recipes()
        self.truth = {}
        for lot in self.lots:
            names = [n for each in open_of(lot).values() for n in each.ratings]
            self.truth[lot.id] = drawn(lot, {n: dice.random() for n in names})
        self.open = [each for lot in self.lots for each in open_of(lot).values() if not lot.refusal()]
        self.kinds = {name: self._kinds(name) for name in self.recipes}
        self.kind_of = {lot.id: kind_key(lot.kind) for lot in self.lots}
        self.everything = frozenset((o.lot.id, o.field) for o in self.open)
        self.final = {name: self.answer(name, self.everything) for name in self.recipes}

    def _kinds(self, recipe: str) -> set[str]:
        """Kinds of part that a recipe has a role for."""
        project = bind(self.all[recipe])
        made = [sketch(project, f.name, p) for f in project.functions for p in f.principles]
        return {kind_key(k) for each in made for data in each.roles.values() for k in data["role"].kinds}

    def _for(self, recipe: str, known: frozenset[tuple[str, str]]) -> frozenset[tuple[str, str]]:
        """What of the known concerns a recipe."""
        return frozenset(at for at in known if self.kind_of[at[0]] in self.kinds[recipe])

    def shed(self, known: frozenset[tuple[str, str]]) -> Shed:
        """The shed with some ratings measured."""
        lots = []
        for lot in self.lots:
            mine = {name for at, name in known if at == lot.id}
            values = {
                n: v
                for each in open_of(lot).values()
                if each.field in mine
                for n, v in self.truth[lot.id].items()
                if n in each.ratings
            }
            lots.append(recorded(lot, values) if values else lot)
        return Shed(Stock(tuple(lots)), self.all)

    def answer(self, recipe: str, known: frozenset[tuple[str, str]]) -> Answer:
        """State of a recipe, purchases, and whether something is open."""
        key = recipe, self._for(recipe, known)
        if key not in self._answers:
            if key in self._cases:
                best = self._cases[key].sets[0]
            else:
                shed = self.shed(known)
                best = shed.sets(bind(self.all[recipe]), 1).builds[0]
            self._answers[key] = (best.state.value, best.to_buy, bool(best.unproven))
        return self._answers[key]

    def case(self, recipe: str, known: frozenset[tuple[str, str]]) -> Case:
        """A recipe as it stands."""
        key = recipe, self._for(recipe, known)
        if key not in self._cases:
            self._cases[key] = case_of(self.shed(known), bind(self.all[recipe]))
        return self._cases[key]

    def is_final(self, known: frozenset[tuple[str, str]]) -> bool:
        """Whether every recipe has its final state."""
        return all(self.answer(name, known) == self.final[name] for name in self.recipes)

    def needed(self, order: Sequence[Open]) -> tuple[int, float]:
        """How many of some measurements in turn, and minutes, until all states are final.

        What is final stays so, because a measurement only narrows: so the place is found by halving.
        """
        low, high = 0, len(order)
        while low < high:
            middle = (low + high) // 2
            known = frozenset((o.lot.id, o.field) for o in order[:middle])
            low, high = (low, middle) if self.is_final(known) else (middle + 1, high)
        return low, sum(o.minutes for o in order[:low])


def suggested(bench: Bench) -> list[Open]:
    """The order in which suggestions come, each looked up anew after the one before."""
    return _followed(bench, lambda known: _first_suggested(bench, known))


def _first_suggested(bench: Bench, known: frozenset[tuple[str, str]]) -> Open | None:
    cases = [bench.case(name, known) for name in bench.recipes]
    found = Ranking(cases, Worlds(seed=7)).measurements
    return found[0].steps[0] if found else None


def named(bench: Bench) -> list[Open]:
    """What the best sets name as open, one after the other."""
    return _followed(bench, lambda known: _first_named(bench, known))


def _first_named(bench: Bench, known: frozenset[tuple[str, str]]) -> Open | None:
    for name in bench.recipes:
        best = bench.case(name, known).sets[0]
        lots = {c.lot.id: c.lot for c in best.parts.values()}
        for lot, figure in asked(best):
            return open_of(lots[lot])[figure]
    return None


def _followed(bench: Bench, choose: Callable[[frozenset[tuple[str, str]]], Open | None]) -> list[Open]:
    order: list[Open] = []
    known: frozenset[tuple[str, str]] = frozenset()
    while (step := choose(known)) is not None:
        order.append(step)
        known |= {(step.lot.id, step.field)}
    return order


def shuffled(bench: Bench, of: Sequence[Open]) -> list[Open]:
    """A random order."""
    return random.Random(bench.seed + 1).sample(list(of), len(of))


def relevant(bench: Bench) -> list[Open]:
    """Ratings that some set looked at reads, before anything is measured."""
    sets = [b for name in bench.recipes for b in bench.case(name, frozenset()).sets]
    wanted = {at for b in sets for at in read(b.parts, b.unproven)}
    return [o for o in bench.open if (o.lot.id, o.field) in wanted]


def widest(bench: Bench) -> list[Open]:
    """The widest interval first."""
    return sorted(bench.open, key=lambda o: (-_width(o), o.path))


def _width(each: Open) -> float:
    rating = max(each.ratings.values(), key=lambda r: r.hi - r.lo)
    if each.field == CONDITION:
        return math.log(2.0)
    return math.log(max(rating.hi, 1e-12) / max(rating.lo, 1e-6 * max(rating.hi, 1e-12)))


def results(
    draws: int, seed: int = 1, recipes: Sequence[str] = (), rules: Sequence[str] = ()
) -> Iterator[dict[str, tuple[int, float]]]:
    """For each draw the measurements and minutes that each rule needs; draws with nothing to do left out."""
    lots = load_stock(SHED).lots
    for number in range(draws):
        bench = Bench(lots, recipes or list(load_recipes()), seed * 1000 + number)
        if bench.is_final(frozenset()):
            continue
        orders: dict[str, Callable[[], list[Open]]] = {
            "suggested": lambda: suggested(bench),
            "named": lambda: named(bench),
            "relevant": lambda: shuffled(bench, relevant(bench)),
            "random": lambda: shuffled(bench, bench.open),
            "widest": lambda: widest(bench),
        }
        yield {name: bench.needed(make()) for name, make in orders.items() if not rules or name in rules}


def main() -> None:
    """Compare the rules and print the ratios."""
    draws = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    found: list[dict[str, tuple[int, float]]] = []
    for each in results(draws, seed):
        found.append(each)
        print({name: count for name, (count, _) in each.items()}, flush=True)
    print(f"{len(found)} of {draws} draws with something to do")
    for name in found[0]:
        counts, minutes = zip(*(each[name] for each in found), strict=True)
        count, time = statistics.mean(counts), statistics.mean(minutes)
        print(f"{name:>10}: {count:6.1f} measurements, {time:7.0f} minutes")
    for other in ("random", "relevant", "widest", "named"):
        ratio = sum(e[other][0] for e in found) / max(sum(e["suggested"][0] for e in found), 1)
        time = sum(e[other][1] for e in found) / max(sum(e["suggested"][1] for e in found), 1)
        print(f"{other} needs {ratio:.1f} times as many measurements, {time:.1f} times the minutes")


if __name__ == "__main__":
    main()
