"""Real component graphs with random demands, and random boxes of ratings for their parts.

The graphs come from the functions and principles themselves, so that every check is judged on the
links it will meet. A box gives each rating an interval inside the plausible range of its kind.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from fitter.checks.base import Check, Judgement
from fitter.checks.find import find_checks
from fitter.functions import FUNCTIONS, Principle, Sketch, join
from fitter.functions.geared import GEARED, geared
from fitter.intervals import Interval
from fitter.kinds import KINDS, Offer, kind_key
from fitter.ratings import Rating
from fitter.stock.lots import Lot

# Low and high of each demand, SI; wider than the shipped recipes ask for.
DEMANDS: dict[str, dict[str, tuple[float, float]]] = {
    "linear_axis": {
        "travel": (0.05, 2.0),
        "mass": (0.05, 30.0),
        "speed": (1e-4, 1.0),
        "acceleration": (0.01, 10.0),
        "incline": (0.0, np.pi / 2),
        "resolution": (1e-6, 1e-2),
        "process_force": (0.0, 50.0),
        "carriage_length": (0.02, 0.2),
    },
    "rotary_axis": {
        "torque": (0.01, 10.0),
        "speed": (0.01, 50.0),
        "inertia": (1e-6, 0.1),
        "acceleration": (0.01, 50.0),
        "resolution": (1e-5, 0.1),
        "shaft": (0.002, 0.02),
    },
    "guide": {
        "travel": (0.05, 2.0),
        "mass": (0.05, 30.0),
        "max_play": (1e-4, 2e-3),
        "max_sag": (1e-5, 2e-3),
        "max_closed_length": (0.1, 1.0),
        "carriage_length": (0.02, 0.2),
    },
    "push": {
        "force": (0.05, 50.0),
        "stroke": (1e-3, 0.02),
        "duty": (0.05, 1.0),
        "arm": (5e-3, 0.05),
        "count": (1.0, 4.0),
        "at_once": (1.0, 3.0),
    },
    "switch": {"force": (0.0, 50.0), "stroke": (0.0, 0.02), "duty": (0.05, 1.0)},
    "adjustable_supply": {
        "voltage": (2.0, 40.0),
        "current": (0.01, 5.0),
        "ripple": (1e-4, 0.1),
        "ambient": (253.0, 333.0),
        "lowest_voltage": (1.25, 2.0),
    },
    "supply": {"least_voltage": (0.0, 12.0), "run_time": (60.0, 40e3)},
    "sense": {"count": (1.0, 4.0)},
    "spin": {
        "speed": (10.0, 600.0),
        "torque": (1e-4, 0.5),
        "lowest_speed": (1.0, 200.0),
        "inertia": (1e-7, 1e-3),
        "acceleration": (0.1, 100.0),
    },
    "flow": {"flow": (1e-3, 0.1), "pressure": (0.0, 300.0)},
    "light": {"watts": (0.5, 60.0)},
    "heat_wire": {"length": (0.05, 2.0), "watts": (1.0, 100.0)},
    "roll": {"drum_diameter": (0.05, 0.5), "mass": (0.1, 20.0), "speed": (0.5, 10.0)},
    "drive": {
        "mass": (0.3, 30.0),
        "speed": (0.05, 3.0),
        "slope": (0.0, 0.5),
        "acceleration": (0.05, 2.0),
        "rolling_resistance": (0.005, 0.1),
    },
    "rock": {
        "force": (0.5, 50.0),
        "stroke": (0.01, 0.1),
        "rate": (0.5, 10.0),
        "mass": (0.0, 5.0),
        "rod_length": (0.1, 0.3),
    },
    "bearing": {"mass": (0.1, 50.0), "shaft": (0.004, 0.02)},
    "box": {"length": (0.05, 0.5), "width": (0.05, 0.5), "height": (0.02, 0.3)},
    "meter": {"voltage": (1.0, 100.0), "current": (0.1, 30.0)},
    "fixed_rail": {
        "voltage": (3.0, 30.0),
        "current": (0.1, 10.0),
        "tolerance": (0.02, 0.2),
        "ripple": (0.02, 0.3),
    },
    "electronic_load": {
        "voltage": (5.0, 60.0),
        "current": (0.5, 10.0),
        "watts": (5.0, 100.0),
        "ambient": (273.0, 318.0),
    },
    "star_tracker": {
        "arm": (0.1, 0.5),
        "rate": (2e-5, 2e-4),
        "mass": (0.2, 5.0),
        "exposure": (10.0, 600.0),
        "error": (2e-5, 1e-3),
        "session": (600.0, 5000.0),
    },
    "dose": {
        "bore": (0.004, 0.05),
        "volume": (1e-6, 1e-4),
        "flow": (1e-10, 1e-6),
        "smallest_dose": (1e-10, 1e-7),
        "force": (1.0, 200.0),
    },
    "motor_test": {"current": (0.1, 5.0), "watts": (1.0, 50.0)},
    "generate": {
        "turned_at": (10.0, 200.0),
        "fastest": (200.0, 500.0),
        "watts": (0.2, 10.0),
        "voltage": (3.3, 12.0),
        "gearing": (1.0, 15.0),
    },
    "control": {},
}
ONE_SUPPLY = "one unit"
TRANSFORMER = "transformer, bridge and capacitor"


@dataclass(frozen=True)
class Plan:
    """Which function stands under which name in which principle, and what each refers to."""

    name: str
    functions: Mapping[str, tuple[str, str]]
    references: Mapping[str, Mapping[str, str]]

    def __str__(self) -> str:
        return self.name


def _machine(name: str, mover: tuple[str, str], guide: str | None, supply: str, push: str) -> Plan:
    functions = {
        "axis": mover,
        "pen": ("push", push),
        "brake": ("switch", "coil and transistor"),
        "ends": ("sense", "switch or light barrier"),
        "power": ("supply", supply),
        "logic": ("supply", ONE_SUPPLY),
        "control": ("control", "controller board"),
    }
    references = {
        "axis": {"power": "power", "control": "control"},
        "pen": {"power": "power", "logic": "logic", "control": "control"},
        "brake": {"power": "power", "control": "control"},
        "ends": {"control": "control"},
        "control": {"power": "logic"},
    }
    if guide:
        functions["guide"] = ("guide", guide)
        references["guide"] = {"carries": "axis"}
    return Plan(name, functions, references)


FED = (
    "spin",
    "flow",
    "light",
    "heat_wire",
    "roll",
    "drive",
    "rock",
    "bearing",
    "box",
    "meter",
    "fixed_rail",
    "electronic_load",
    "motor_test",
    "generate",
    "star_tracker",
    "dose",
)  # functions that only want power and control


def _fed(what: str, principle: str, supply: str) -> Plan:
    functions = {
        "it": (what, principle),
        "power": ("supply", supply),
        "logic": ("supply", ONE_SUPPLY),
        "control": ("control", "controller board"),
    }
    references = {"it": {"power": "power", "control": "control"}, "control": {"power": "logic"}}
    return Plan(f"{what}: {principle}", functions, references)


def plans() -> list[Plan]:
    """A graph for every principle of every function; guides, supplies and pushes take turns."""
    guides = itertools.cycle(FUNCTIONS["guide"].principles)
    supplies = itertools.cycle(FUNCTIONS["supply"].principles)
    pushes = itertools.cycle(FUNCTIONS["push"].principles)
    found = []
    for what in ("linear_axis", "rotary_axis"):
        for principle in FUNCTIONS[what].principles:
            guide = next(guides) if what == "linear_axis" else None
            found.append(_machine(principle, (what, principle), guide, next(supplies), next(pushes)))
    for what in FED:
        for principle in FUNCTIONS[what].principles:
            found.append(_fed(what, principle, next(supplies)))
    for what, principle in (("linear_axis", "stepper and screw"), ("rotary_axis", "gearmotor direct")):
        way = (what, principle + GEARED)
        guide = next(guides) if what == "linear_axis" else None
        found.append(_machine(way[1], way, guide, next(supplies), next(pushes)))
    for principle in FUNCTIONS["adjustable_supply"].principles:
        found.append(Plan(principle, {"output": ("adjustable_supply", principle)}, {}))
    return found


def demands_of(plan: Plan, rng: np.random.Generator) -> dict[str, dict[str, float]]:
    """Random demands for each function of a plan."""
    drawn = {}
    for name, (what, _) in plan.functions.items():
        drawn[name] = {d: _between(lo, hi, rng) for d, (lo, hi) in DEMANDS[what].items()}
    if "guide" in drawn and "axis" in drawn:
        for shared in ("travel", "mass", "carriage_length"):
            drawn["guide"][shared] = drawn["axis"][shared]
    for each in drawn.values():
        each |= {n: float(round(each[n])) for n in ("count", "at_once") if n in each}
    return drawn


def _between(lo: float, hi: float, rng: np.random.Generator) -> float:
    if lo > 0 and hi > 3 * lo:
        return float(np.exp(rng.uniform(np.log(lo), np.log(hi))))
    return float(rng.uniform(lo, hi))


def graph_of(plan: Plan, demands: Mapping[str, Mapping[str, float]]) -> Any:
    """The component graph of a plan."""
    sketches = {}
    for name, (what, way) in plan.functions.items():
        arguments: dict[str, Any] = dict.fromkeys(FUNCTIONS[what].arguments)
        arguments |= demands[name]
        arguments |= plan.references.get(name, {})
        if "holds_unpowered" in arguments:
            arguments["holds_unpowered"] = "yes"
        sketches[name] = Sketch(name)
        principle: Principle = FUNCTIONS[what].principles[way.removesuffix(GEARED)]
        principle = geared(principle) if way.endswith(GEARED) else principle
        principle.build(sketches[name], arguments)
    return join(sketches)


# ---------------------------------------------------------------- boxes


def lot_of(kind: str, **more: Any) -> Lot:
    """A part of a kind of which nothing is known, with two rails or windings where it has any."""
    spec = KINDS[kind_key(kind)]
    rails = tuple({n: s.unknown() for n, s in spec.rails.items()} for _ in range(2)) if spec.rails else ()
    return Lot(id=more.pop("id", kind), kind=spec.name, rails=rails, **more)


def offer_of(kind: str) -> Offer:
    """The first way to use a part of which nothing is known: every rating a check may read."""
    return lot_of(kind).offers()[0]


_STATE = {"condition": (0.0, 1.0), "unit": (1.0, 3.0), "rail": (0.0, 1.0)}
_WHOLE = ("unit", "rail", "devices", "bipolar", "chopper")  # whole numbers, known in every box


@dataclass
class Boxes:
    """Ratings of the part in one role, drawn when first read: ``n`` boxes as arrays of shape (n, 1)."""

    kind: str
    n: int
    rng: np.random.Generator
    exact: bool = False
    drawn: dict[str, Interval] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.offer = offer_of(self.kind)

    def __getitem__(self, rating: str) -> Interval:
        if rating not in self.drawn:
            self.drawn[rating] = self._draw(rating)
        return self.drawn[rating]

    def _draw(self, rating: str) -> Interval:
        if rating in _STATE:
            lo, hi = _STATE[rating]
            known: Rating | None = None
        else:
            known = self.offer.ratings[rating]
            lo, hi = known.lo, known.hi
        if lo == hi:
            return Interval(np.full((self.n, 1), lo), np.full((self.n, 1), hi))
        if rating in _STATE or self.is_choice(rating):
            return self._choice(rating, int(lo), int(hi))
        return self._range(lo, hi)

    def is_choice(self, rating: str) -> bool:
        """Whether a rating takes whole numbers only: words, codes and flags."""
        spec = KINDS[kind_key(self.kind)].spec(rating)
        return rating in _WHOLE or rating in _STATE or (spec is not None and bool(spec.choices))

    def _choice(self, rating: str, lo: int, hi: int) -> Interval:
        ends = np.sort(self.rng.integers(lo, hi + 1, (2, self.n, 1)), axis=0).astype(float)
        if self.exact or rating in ("unit", "rail"):
            ends[1] = ends[0]
        return Interval(ends[0], ends[1])

    def _range(self, lo: float, hi: float) -> Interval:
        """Sub-ranges: points, a few per cent, or anything up to the whole."""
        a, b = self.rng.uniform(0, 1, (2, self.n, 1))
        width = self.rng.choice([0.0, 0.02, 0.3, 1.0], (self.n, 1), p=[0.25, 0.25, 0.25, 0.25])
        if self.exact:
            width = np.zeros_like(a)
        b = a + (b - a) * width
        values = np.sort(_at(np.stack([a, b]), lo, hi), axis=0)
        return Interval(values[0], values[1])


def _at(share: Any, lo: float, hi: float) -> Any:
    if lo > 0 and hi > 3 * lo:
        return np.exp(np.log(lo) + share * (np.log(hi) - np.log(lo)))
    return lo + share * (hi - lo)


class Points:
    """``m`` points of each box, as arrays of shape (n, m): corners, and places inside."""

    def __init__(self, boxes: Boxes, m: int, rng: np.random.Generator) -> None:
        self.boxes = boxes
        self.m = m
        self.rng = rng
        self.drawn: dict[str, Interval] = {}

    def __getitem__(self, rating: str) -> Interval:
        if rating not in self.drawn:
            box = self.boxes[rating]
            share = self.rng.uniform(size=(self.boxes.n, self.m))
            corner = self.rng.uniform(size=share.shape) < 0.5
            share = np.where(corner, np.round(share), share)
            with np.errstate(invalid="ignore"):
                value = np.where(np.isinf(box.hi), box.lo, box.lo + share * (box.hi - box.lo))
            value = np.minimum(np.maximum(value, box.lo), box.hi)
            if self.boxes.is_choice(rating):
                value = np.round(value)
            self.drawn[rating] = Interval(value, value)
        return self.drawn[rating]


class Known:
    """A part of which everything is known: one box of exact ratings, some of them set by hand."""

    def __init__(self, part: Boxes, role: str, values: Mapping[tuple[str, str], float]) -> None:
        self.part, self.role, self.values = part, role, values

    def __getitem__(self, rating: str) -> Interval:
        value = self.values.get((self.role, rating))
        return Interval.point(float(self.part[rating].lo[0, 0]) if value is None else float(value))


def known_set(
    plan: Plan, values: Mapping[tuple[str, str], float], seed: int, kinds: Mapping[str, str]
) -> tuple[Any, dict[str, Known]]:
    """The graph of a plan and a part of known ratings in each role, all at random but what is given.

    ``values`` sets demands (function and argument) and ratings (role and name), ``kinds`` what fills
    some roles.
    """
    rng = np.random.default_rng(seed)
    demands = demands_of(plan, rng)
    for (name, what), value in values.items():
        if name in demands:
            demands[name][what] = value
    graph = graph_of(plan, demands)
    boxes = all_boxes(graph, 1, rng, exact=True)
    for role, kind in kinds.items():
        if role in boxes:
            boxes[role] = Boxes(kind, 1, rng, exact=True)
    return graph, {role: Known(part, role, values) for role, part in boxes.items()}


def kind_of(graph: Any, role: str, rng: np.random.Generator) -> str:
    """One of the kinds a role takes."""
    return str(rng.choice(list(graph.nodes[role]["role"].kinds)))


def all_boxes(graph: Any, n: int, rng: np.random.Generator, **more: Any) -> dict[str, Boxes]:
    """Boxes for every role of a graph."""
    roles = [node for node, data in graph.nodes(data=True) if "role" in data]
    return {role: Boxes(kind_of(graph, role, rng), n, rng, **more) for role in roles}


def ends(judgement: Judgement, shape: tuple[int, ...]) -> tuple[Any, Any]:
    """Lower and upper margins of all boxes or points."""
    margin = judgement.margin
    return np.broadcast_to(margin.lo, shape), np.broadcast_to(margin.hi, shape)


def checks_of(plan: Plan, rng: np.random.Generator) -> tuple[Any, list[Check]]:
    """A graph with random demands, and all its checks."""
    graph = graph_of(plan, demands_of(plan, rng))
    return graph, find_checks(graph)


def all_check_classes() -> set[type[Check]]:
    """Every check class there is, less those that only others are made from."""

    def below(of: type[Check]) -> Iterator[type[Check]]:
        for each in of.__subclasses__():
            if "name" in vars(each):
                yield each
            yield from below(each)

    return set(below(Check))
