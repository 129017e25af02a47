"""What nobody has measured yet, drawn at random: how the true values may lie, and lots as measured.

A rating from ``lo`` to ``hi`` with a likely value is drawn from a triangular distribution with its peak
at the likely value; where the ends are further apart than a factor of three, from one that is triangular
in the logarithm, which is also how the likely value of such a range is chosen. Counts are rounded. Of
several words the likely one counts double. Ratings that others bound are drawn after those, from what
is then left: the detent torque of a motor follows the holding torque that was drawn for it.

The distributions are rules of thumb (common practice, no source). They weigh chances only: what a value
would settle is judged exactly.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import TYPE_CHECKING

import networkx as nx
import numpy as np

from fitter.kinds import KINDS, Spec, kind_key
from fitter.kinds.model import CERTAIN
from fitter.ratings import WIDE, Evidence, Rating, measured
from fitter.solve.candidates import TRIAL_MINUTES, Candidate
from fitter.stock.lots import Lot

if TYPE_CHECKING:
    import numpy.typing as npt

CONDITION = "condition"
# chance that an untested part works when tried; common practice, no source
_WORKS = {"switch mode supply": 0.75, "adapter": 0.8, "capacitor": 0.6, "battery pack": 0.4}
_USUALLY_WORKS = 0.9
_WORN = 0.85  # of that chance, for a part known to be worn
WORLDS = 48  # drawn to weigh chances
_WIRES = (4, 5, 6, 8)  # that steppers come with
Values = Mapping[str, float]  # by name of the rating, SI
Known = frozenset[tuple[str, str]]  # lot and field of what is taken as measured


@dataclass(frozen=True)
class Open:
    """Something of a lot that may be measured: a rating, a figure of a rail, or whether it works.

    ``names`` are the ratings that become known: two for a window, else one. ``rank`` is the order in which
    they are drawn.
    """

    lot: Lot
    field: str
    ratings: Mapping[str, Rating]
    spec: Spec | None

    @property
    def path(self) -> str:
        """``lot.field``."""
        return f"{self.lot.id}.{self.field}"

    @property
    def minutes(self) -> float:
        """What it takes to measure, or to try."""
        return self.spec.minutes if self.spec else TRIAL_MINUTES


@lru_cache(maxsize=4096)  # a lot is the same only as itself
def open_of(lot: Lot) -> Mapping[str, Open]:
    """All that may be measured of a lot, by field, those that bound others first."""
    found: dict[str, Open] = {}
    if lot.condition in ("untested", "worn"):
        found[CONDITION] = Open(lot, CONDITION, {CONDITION: Rating(0.0, 1.0, 1.0, Evidence.UNKNOWN)}, None)
    ratings = complete(lot)
    for name in _order(lot.kind):
        if (spec := lot.kind_of_part.ratings.get(name)) is not None:
            _add(found, lot, name, _ends(ratings, name, spec), spec)
    for number, rail in enumerate(lot.rails, start=1):
        for name, spec in (lot.kind_of_part.rails or {}).items():
            place = f"{lot.kind_of_part.rails_name}[{number}].{name}"
            _add(found, lot, place, {place: rail[name]}, spec)
    return found


def complete(lot: Lot) -> dict[str, Rating]:
    """Every rating of a lot, what its file says as it is and the others as far as they can be bounded."""
    return lot.kind_of_part.complete(lot.ratings, lot.mass)


def _ends(ratings: Mapping[str, Rating], name: str, spec: Spec) -> dict[str, Rating]:
    names = (f"{name}.min", f"{name}.max") if spec.window else (name,)
    return {n: ratings[n] for n in names}


def _add(found: dict[str, Open], lot: Lot, field: str, ratings: Mapping[str, Rating], spec: Spec) -> None:
    if any(not r.exact and r.evidence not in CERTAIN for r in ratings.values()):
        found[field] = Open(lot, field, ratings, spec)


@cache
def _order(name: str) -> list[str]:
    """Ratings of a kind, those that bound others before them as far as they do not bound each other."""
    kind = KINDS[kind_key(name)]
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(kind.ratings)
    for rule in kind.rules:
        for name in rule.inputs:
            if name in kind.ratings and not nx.has_path(graph, rule.target, name):
                graph.add_edge(name, rule.target)
    places = {name: place for place, name in enumerate(kind.ratings)}
    return list(nx.lexicographical_topological_sort(graph, key=lambda n: places.get(n, 0)))


# ---------------------------------------------------------------- drawing


def quantile(rating: Rating, spec: Spec | None, share: float) -> float:
    """The value below which the truth lies with a chance of ``share`` (0 to 1).

    >>> quantile(Rating(1.0, 3.0, 2.0, Evidence.STATED), None, 0.5)
    2.0
    >>> round(quantile(Rating(0.01, 1.0, 0.1, Evidence.UNKNOWN), None, 0.5), 6)
    0.1
    """
    lo, hi, likely = rating.lo, rating.hi, rating.likely
    if spec is not None and spec.choices:
        return _word(rating, share)
    if not math.isfinite(hi):
        hi = WIDE * max(likely, lo)
    if lo > 0 and hi > WIDE * lo:
        value = math.exp(_triangular(math.log(lo), math.log(hi), math.log(likely), share))
    else:
        value = _triangular(lo, hi, likely, share)
    value = min(max(value, lo), hi)
    return _whole(value, rating, spec) if spec is not None and spec.quantity == "count" else value


def _triangular(lo: float, hi: float, mode: float, share: float) -> float:
    """Inverse of the triangular distribution."""
    if hi <= lo:
        return lo
    rising = (mode - lo) / (hi - lo)
    if share < rising:
        return lo + math.sqrt(share * (hi - lo) * (mode - lo))
    return hi - math.sqrt((1 - share) * (hi - lo) * (hi - mode))


def _word(rating: Rating, share: float) -> float:
    codes = np.arange(rating.lo, rating.hi + 1)
    weights = np.where(codes == rating.likely, 2.0, 1.0)
    place = int(np.searchsorted(np.cumsum(weights) / weights.sum(), share))
    return float(codes[min(place, len(codes) - 1)])


def _whole(value: float, rating: Rating, spec: Spec) -> float:
    whole = float(min(max(round(value), math.ceil(rating.lo)), math.floor(rating.hi)))
    return min(_WIRES, key=lambda n: (abs(n - whole), n)) if spec.help == "number of leads" else whole


def chance_it_works(lot: Lot) -> float:
    """How likely a part of that kind and condition works when it is tried."""
    usual = _WORKS.get(kind_key(lot.kind), _USUALLY_WORKS)
    return usual * _WORN if lot.condition == "worn" else usual


def drawn(lot: Lot, shares: Mapping[str, float]) -> dict[str, float]:
    """A true value for all that is open of a lot.

    Args:
        lot: The lot.
        shares: For each name of a rating its place in its distribution, from 0 to 1.
    """
    values: dict[str, float] = {}
    if CONDITION in shares:
        values[CONDITION] = float(shares[CONDITION] < chance_it_works(lot))
    now = lot
    bounds = {name for rule in lot.kind_of_part.rules for name in rule.inputs}
    for name, each in open_of(lot).items():
        if name == CONDITION:
            continue
        left = each if now is lot else open_of(now).get(name, each)
        mine = {
            n: min(max(quantile(r, left.spec, shares[n]), each.ratings[n].lo), each.ratings[n].hi)
            for n, r in left.ratings.items()
        }
        values |= mine
        if name in bounds:
            now = recorded(now, mine, exactly)
    return values


# ---------------------------------------------------------------- what is measured


def as_told(value: float, spec: Spec) -> Rating:
    """A value as a bench tells it."""
    if spec.choices:
        return exactly(value, spec)
    return measured(value, spec.quantity, spec.tolerance)


def exactly(value: float, spec: Spec) -> Rating:
    """A value known for certain."""
    return Rating(value, value, value, Evidence.MEASURED)


def recorded(lot: Lot, values: Values, how: Callable[[float, Spec], Rating] = as_told) -> Lot:
    """A lot once some of its values are measured: known as well as a bench tells it, or as ``how`` says."""
    ratings = dict(lot.ratings)
    rails = [dict(rail) for rail in lot.rails]
    condition = lot.condition
    for name, value in values.items():
        if name == CONDITION:
            condition = "working" if value >= 1 else "faulty"
            continue
        spec = lot.kind_of_part.spec(name.rpartition("].")[2])
        assert spec is not None
        if "]." in name:
            number, _, figure = name.partition("[")[2].partition("].")
            rails[int(number) - 1][figure] = how(value, spec)
        else:
            ratings[name] = how(value, spec)
    return replace(lot, ratings=ratings, rails=tuple(rails), condition=condition)


class Worlds:
    """Many ways in which the truth may lie: for each lot, values of all that is open, drawn once.

    Every rating is drawn evenly over its distribution (one draw from each of ``number`` equal shares, in
    random order), so that few draws tell much. A rating has the same draws whatever else is asked.
    """

    def __init__(self, number: int = WORLDS, seed: int = 1) -> None:
        self.number = number
        self.seed = seed
        self._values: dict[str, list[dict[str, float]]] = {}
        self._candidates: dict[tuple[str, frozenset[str]], list[list[Candidate]]] = {}

    def of(self, lot: Lot) -> list[dict[str, float]]:
        """Values of all that is open of a lot, in each world."""
        if lot.id not in self._values:
            names = [n for each in open_of(lot).values() for n in each.ratings]
            columns = {n: self._shares(f"{lot.id}.{n}") for n in names}
            self._values[lot.id] = [
                drawn(lot, {n: float(column[w]) for n, column in columns.items()}) for w in range(self.number)
            ]
        return self._values[lot.id]

    def _shares(self, path: str) -> npt.NDArray[np.float64]:
        dice = np.random.default_rng([self.seed, zlib.crc32(path.encode())])
        return (dice.permutation(self.number) + 0.5) / self.number

    def measured(self, candidate: Candidate, fields: frozenset[str]) -> list[list[Candidate]]:
        """A candidate in each world once some fields of its lot are measured.

        More than one where measuring changes the ways in which the lot may be used, such as counting the
        wires of a motor: then any of them would do.
        """
        key = (candidate.id, fields)
        if key not in self._candidates:
            self._candidates[key] = [
                list(used(candidate, recorded(candidate.lot, _part(values, fields))))
                for values in self.of(candidate.lot)
            ]
        return self._candidates[key]


def _part(values: Values, fields: frozenset[str]) -> dict[str, float]:
    """The values of some fields; a window has two."""
    return {
        n: v
        for n, v in values.items()
        if n in fields or n.removesuffix(".min").removesuffix(".max") in fields
    }


def used(candidate: Candidate, lot: Lot) -> Iterator[Candidate]:
    """A candidate with its lot as it is now: used as before, or else in each way that is left."""
    offers = lot.offers()
    same = [o for o in offers if o.key == candidate.offer.key]
    for offer in same or offers:
        yield replace(candidate, lot=lot, offer=offer)
