"""The slow twin of the search: every combination of every variant, judged and sorted.

Costs are worked out here once more from the checks' judgements and the words of the score, with
nothing of the search's own tables, bounds or sweeps.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from fitter.advice.data import shop
from fitter.checks.base import ROUNDING, Check
from fitter.checks.find import find_checks
from fitter.functions import Sketch, join
from fitter.intervals import Interval
from fitter.kinds import kind_key
from fitter.projects import Project
from fitter.ratings import Evidence, Rating
from fitter.solve.candidates import Candidate, Pool
from fitter.solve.score import Waste
from fitter.solve.tables import Filters, Tables
from fitter.stock.files import load_stock
from fitter.stock.lots import Lot

LARGEST = 200_000  # combinations of one variant; larger draws are left out
EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
SUPPLIES = ("switch mode supply", "adapter", "battery pack")  # as keys; may serve two roles at once


class TooManyError(Exception):
    """A draw with more combinations than are worth trying."""


class Stack:
    """Candidates of one role along one axis."""

    def __init__(self, candidates: Sequence[Candidate], axis: int, axes: int) -> None:
        self.candidates = candidates
        self.shape = tuple(len(candidates) if i == axis else 1 for i in range(axes))
        self.read: set[str] = set()

    def __getitem__(self, rating: str) -> Interval:
        self.read.add(rating)
        found = [c.rating(rating) for c in self.candidates]
        return Interval(
            np.array([r.lo for r in found]).reshape(self.shape),
            np.array([r.hi for r in found]).reshape(self.shape),
        )

    @property
    def minutes(self) -> Any:
        """The longest open measurement among the ratings read, for each candidate."""
        each = [max((c.minutes(r) for r in self.read), default=0.0) for c in self.candidates]
        return np.array(each).reshape(self.shape)


def check_costs(check: Check, roles: Sequence[str], candidates: Mapping[str, Sequence[Candidate]]) -> Any:
    """Cost of one check over the whole grid of candidates, length one where a role does not count."""
    views = {r: Stack(candidates[r], roles.index(r), len(roles)) for r in dict.fromkeys(check.roles)}
    margin = check.judge(views).margin
    minutes: Any = 1.0
    for view in views.values():
        minutes = np.maximum(minutes, view.minutes)
    cost = np.where(np.asarray(margin.lo) >= 1 - ROUNDING, 0.0, np.ceil(minutes) * 1e7)
    return np.where(np.asarray(margin.hi) < 1 - ROUNDING, np.inf, cost)


def stacked(candidate: Candidate) -> bool:
    """Whether two rails of one unit stand in series, so that the unit can serve nothing else."""
    return candidate.offer.key.startswith("rails ")


def taken_too_often(graph: Any, roles: Sequence[str], candidates: Mapping[str, Sequence[Candidate]]) -> Any:
    """Where more pieces of a lot are taken than there are; rails of one supply unit may be shared."""
    over: Any = np.zeros((1,) * len(roles), dtype=bool)
    lots = {c.lot.id: c.lot for r in roles for c in candidates[r] if not c.bought}
    for lot in lots.values():
        total: Any = np.zeros((1,) * len(roles))
        for axis, role in enumerate(roles):
            shape = tuple(len(candidates[role]) if i == axis else 1 for i in range(len(roles)))
            shared = kind_key(lot.kind) in SUPPLIES and lot.count == 1
            count = graph.nodes[role]["role"].count
            mine = [
                0
                if c.bought or c.lot is not lot
                else 0.001
                if shared and not stacked(c)
                else count * c.offer.pieces
                for c in candidates[role]
            ]
            if any(mine):
                total = total + np.array(mine).reshape(shape)
        over = over | (total > lot.count)
    return over


@dataclass(frozen=True)
class Shelf:
    """A stock, a shop and what the maker rules out: one small problem."""

    pool: Pool
    waste: Waste
    fixed: Mapping[str, str]
    without: tuple[str, ...]

    def tables(self) -> Tables:
        return Tables(self.pool, self.waste, Filters(self.fixed, self.without))

    def candidates(self, name: str, role: Any) -> list[Candidate]:
        """Those with pieces enough, less what the maker rules out."""
        table = self.pool.table(role.kinds)
        every = [table.candidate(i) for i in range(len(table))]
        return [
            c
            for c in every
            if (c.bought or c.lot.count >= role.count * c.offer.pieces)
            and (c.bought or c.lot.id not in self.without)
            and (name not in self.fixed or (not c.bought and c.lot.id == self.fixed[name]))
        ]


def graphs(project: Project) -> Iterator[Any]:
    """The component graph of every variant."""
    for ways in itertools.product(*(f.principles for f in project.functions)):
        yield of_principles(project, {f.name: p.name for f, p in zip(project.functions, ways, strict=True)})


def of_principles(project: Project, names: Mapping[str, str]) -> Any:
    """The component graph of the variant with the named principles."""
    sketches = {}
    for function in project.functions:
        principle = next(p for p in function.principles if p.name == names[function.name])
        sketches[function.name] = Sketch(function.name)
        principle.build(sketches[function.name], function.arguments)
    return join(sketches)


def every_build(project: Project, shelf: Shelf) -> list[tuple[float, frozenset[tuple[str, str]]]]:
    """All allowed sets with their scores, best first.

    Raises:
        TooManyError: Some variant has too many combinations.
    """
    found: list[tuple[float, frozenset[tuple[str, str]]]] = []
    for graph in graphs(project):
        found += _of_variant(graph, shelf)
    return sorted(found, key=lambda item: item[0])


def _of_variant(graph: Any, shelf: Shelf) -> Iterator[tuple[float, frozenset[tuple[str, str]]]]:
    roles = [n for n, data in graph.nodes(data=True) if "role" in data]
    if not set(shelf.fixed) <= set(roles):
        return
    candidates = {r: shelf.candidates(r, graph.nodes[r]["role"]) for r in roles}
    shape = tuple(len(candidates[r]) for r in roles)
    if math.prod(shape) > LARGEST:
        raise TooManyError
    if not math.prod(shape):
        return
    total: Any = np.zeros(shape)
    for axis, role in enumerate(roles):
        count = graph.nodes[role]["role"].count
        own = [1e12 * c.bought + shelf.waste.of(c, count) for c in candidates[role]]
        total = total + np.array(own).reshape([-1 if i == axis else 1 for i in range(len(roles))])
    for check in find_checks(graph):
        total = total + check_costs(check, roles, candidates)
    total = np.where(taken_too_often(graph, roles, candidates), np.inf, total)
    for place in np.argwhere(total < np.inf):
        parts = {(r, candidates[r][i].id) for r, i in zip(roles, place, strict=True)}
        yield float(total[tuple(place)]), frozenset(parts)


# ---------------------------------------------------------------- random shelves

MOVED = (
    "resistance", "inductance", "rated_current", "holding_torque", "length", "travel", "load", "play",
    "closed_length", "peak_current", "thermal_resistance", "capacitance", "max_current", "friction",
)  # fmt: skip


@cache
def examples() -> tuple[Lot, ...]:
    """All lots of the example stocks, and the shop's sizes as if they were owned."""
    owned = [lot for name in ("repair_shed", "small_box.yaml") for lot in load_stock(EXAMPLES / name).lots]
    return (*owned, *(replace(lot, count=4) for lots in shop().values() for lot in lots))


def random_shelf(kinds: Sequence[str], rng: random.Random) -> Shelf:
    """A few lots of each kind, figures moved, some untested or worn; and a shop of at most one size each."""
    lots = []
    for kind in kinds:
        alike = [lot for lot in examples() if kind_key(lot.kind) == kind_key(kind)]
        for _ in range(rng.choice((1, 1, 1, 2)) if rng.random() < 0.9 else 0):
            lots.append(_moved(rng.choice(alike), f"{kind}-{len(lots)}", rng))
    sold = {k: rng.sample(s, min(len(s), rng.choice((0, 1, 1, 2)))) for k, s in sorted(shop().items())}
    pool = Pool(lots, (lot for sizes in sold.values() for lot in sizes))
    without = tuple(rng.sample([lot.id for lot in lots], 1)) if lots and rng.random() < 0.2 else ()
    return Shelf(pool, Waste(pool, sold), {}, without)


def fixing_one(shelf: Shelf, project: Project, rng: random.Random) -> Shelf:
    """The same shelf with some role given by hand, whether that can come out well or not."""
    owned = {kind_key(lot.kind): lot for lot in shelf.pool.lots}
    roles = {n: d["role"] for g in graphs(project) for n, d in g.nodes(data=True) if "role" in d}
    fits = [(n, owned[k]) for n, r in sorted(roles.items()) for k in r.kinds if k in owned]
    if not fits:
        return shelf
    role, lot = rng.choice(fits)
    return replace(shelf, fixed={role: lot.id})


def _moved(lot: Lot, name: str, rng: random.Random) -> Lot:
    ratings = {n: _other(r, rng) if n in MOVED else r for n, r in lot.ratings.items()}
    condition = rng.choice(("working", "working", "working", lot.condition, "untested", "worn"))
    count = rng.choice((1, 2, 2, 4, 4))
    own = random.Random(f"{name} {count}")  # draws of its own, so that all others stay as they are
    rails = tuple({**rail, **_isolation(rail, own)} for rail in lot.rails)
    return replace(lot, id=name, ratings=ratings, rails=rails, condition=condition, count=count)


def _isolation(rail: Mapping[str, Rating], rng: random.Random) -> dict[str, Rating]:
    """Whether a rail may stand in series: yes, no, or nobody knows."""
    if "isolated" not in rail:
        return {}
    lo, hi = rng.choice(((1.0, 1.0), (0.0, 1.0), (0.0, 0.0)))
    return {"isolated": replace(rail["isolated"], lo=lo, hi=hi, likely=lo)}


def _other(rating: Rating, rng: random.Random) -> Rating:
    factor, spread = rng.lognormvariate(0, 0.2), rng.choice((1.0, 1.0, 1.05, 1.5))
    evidence = rng.choice((Evidence.MEASURED, Evidence.ESTIMATED, rating.evidence))
    return replace(
        rating,
        lo=rating.lo * factor / spread,
        hi=rating.hi * factor * spread,
        likely=rating.likely * factor,
        evidence=evidence,
    )
