"""Adapters: small parts that close a failing check, so that a mismatch becomes a line on the list.

Five are known. A *reducing sleeve* brings a shaft to a wider bore. A *coupler* with a stub of rod brings a
motor's shaft to a bore too narrow for it. A *step-down converter* brings a rail to what a controller board or
a servo stands. A *level shifter* brings a controller's signals to what listens. Each is specified so that
the check passes for certain with the adapter between, which is judged by the check itself; a mismatch that
no such part closes for certain gets none. A *reduction* changes torque and speed, and with them most checks
of a drive, so it is a stage of the train in a search of its own (:mod:`fitter.solve.reductions`).

What an adapter does not change is judged as if it were not there, on the safe side: a sleeve passes on the
shaft's torque, and a converter draws no more current from its rail than it gives (its output stays below
the share of the input at which that holds). Where the stock holds a part that does the work of an adapter
it is taken, and nothing need be bought.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fitter.advice.sizes import adapter_price
from fitter.checks.base import Check, Part, Verdict
from fitter.checks.drives import LOADING, HighestVoltage, LowestVoltage
from fitter.checks.find import find_checks
from fitter.checks.fits import Shaft
from fitter.checks.power import RatedConsumer
from fitter.checks.rails import PartRail
from fitter.checks.signals import SignalHigh, SignalLow
from fitter.checks.strength import CouplerLoad, CouplerTorque
from fitter.functions.model import Role
from fitter.intervals import Interval
from fitter.kinds.mechanics import REDUCTION
from fitter.solve.builds import Build, Checked, PinnedPart, judge_check
from fitter.solve.candidates import Candidate, Pool
from fitter.solve.gaps import Limits
from fitter.solve.reductions import Geared, agrees, bores
from fitter.solve.swaps import left_in_lot
from fitter.stock.lots import Lot

LEAST_WALL = 0.00025  # m, of a sleeve: brass tube is drawn no thinner; common practice, no source
CONVERTER_DROP = 2.0  # V, that a step-down board needs over its output; common practice, no source
CONVERTER_EFFICIENCY = 0.8  # of a step-down board at the least; common practice, no source
CHANNELS = 3.0  # step, direction, enable

SLEEVE, CONVERTER, SHIFTER = "reducing sleeve", "step-down converter", "level shifter"
STUB = "coupler with a stub of rod"
CLOSED_BY = {
    SLEEVE: frozenset({Shaft.name}),
    CONVERTER: frozenset({HighestVoltage.name}),
    SHIFTER: frozenset({SignalHigh.name, SignalLow.name}),
}


@dataclass(frozen=True)
class Adapter:
    """A part between two roles, with least and most of its figures, SI, and their quantities."""

    kind: str
    between: tuple[str, str]
    spec: Mapping[str, tuple[Limits, str]]
    closes: tuple[str, ...]
    example: str = ""
    usual_price: float | None = None
    from_stock: tuple[Lot, ...] = ()

    @property
    def price(self) -> float:
        """Typical price, euro; nothing where the stock has it."""
        if self.from_stock:
            return 0.0
        return adapter_price(self.kind) if self.usual_price is None else self.usual_price


def whole(build: Build) -> Build:
    """A set that was searched without some checks, judged by all of them."""
    known = {c.check for c in build.checks}
    left_out = [c for c in find_checks(build.model.graph) if c not in known]
    return replace(build, checks=(*build.checks, *(judge_check(c, build.parts) for c in left_out)))


def adapters(build: Build, pool: Pool | None = None) -> list[Adapter] | None:
    """What closes every failing check of a set; none where some check cannot be closed.

    With a pool, parts of the stock that the set leaves are taken where they do.
    """
    found: dict[tuple[str, tuple[str, str]], Adapter] = {}
    for checked in build.failing:
        adapter = _adapter(build, checked)
        if adapter is None:
            return None
        found[adapter.kind, adapter.between] = adapter
    return _owned(build, list(found.values()), pool) if pool else list(found.values())


# For each adapter: the kind of part that does its work, and which of its figures keeps each limit.
_SAME_WORK = {
    STUB: ("coupler", {"bore a": "bore_a", "bore b": "bore_b", "torque": "torque"}),
    CONVERTER: (
        "buck converter",
        {"input voltage, upper end": "input_voltage.max", "current": "current"},
    ),
}


def _owned(build: Build, found: Sequence[Adapter], pool: Pool) -> list[Adapter]:
    """Adapters, each made of the stock where that holds one for certain, no piece taken twice."""
    taken: Counter[str] = Counter()
    result = []
    for adapter in found:
        kind, figures = _SAME_WORK.get(adapter.kind, ("", {}))
        own = (c for c in owned_candidates(pool, kind) if _does(adapter, c, figures)) if kind else ()
        lot = next((c.lot for c in own if left_in_lot(build, c) > taken[c.lot.id]), None)
        if lot:
            taken[lot.id] += 1
        result.append(replace(adapter, from_stock=(lot,)) if lot else adapter)
    return result


def _does(adapter: Adapter, part: Candidate, figures: Mapping[str, str]) -> bool:
    """Whether a part keeps every limit of an adapter for certain; a converter is set to its output."""
    kept = all(
        limits.low <= part.rating(figures[name]).lo and part.rating(figures[name]).hi <= limits.high
        for name, (limits, _) in adapter.spec.items()
        if name in figures
    )
    if not kept or "output voltage" not in adapter.spec:
        return kept
    out, asked = (part.rating("output_voltage.min").hi, part.rating("output_voltage.max").lo), adapter.spec
    return max(out[0], asked["output voltage"][0].low) <= min(out[1], asked["output voltage"][0].high)


def owned_candidates(pool: Pool, kind: str) -> list[Candidate]:
    """Every use of the stock's working parts of a kind."""
    table = pool.table((kind,))
    own = (table.candidate(row) for row in range(len(table)) if not table.bought[row])
    return [c for c in own if c.lot.condition == "working"]


def _adapter(build: Build, checked: Checked) -> Adapter | None:
    check = checked.check
    if isinstance(check, Shaft):
        return _sleeve(build, check) or _stub(build, check)
    if isinstance(check, HighestVoltage):
        return _converter(build, check)
    if isinstance(check, SignalHigh | SignalLow):
        return _shifter(build, check.controller, check.listener)
    return None


def _sleeve(build: Build, check: Shaft) -> Adapter | None:
    """A tube on the shaft and in the bore, where its wall has room and both are known well enough."""
    shaft = build.parts[check.inner].rating(check.shaft)
    bore = build.parts[check.outer].rating(check.bore)
    inside, outside = agrees(shaft), agrees(bore)
    if inside is None or outside is None or outside.low - inside.high < 2 * LEAST_WALL:
        return None
    spec = {"inside diameter": (inside, "length"), "outside diameter": (outside, "length")}
    return Adapter(SLEEVE, (check.inner, check.outer), spec, (check.name,))


def _stub(build: Build, check: Shaft) -> Adapter | None:
    """A coupler on a motor's shaft, and in its other bore a stub of rod, in a bearing, that fits the part."""
    graph = build.model.graph
    shaft = agrees(build.parts[check.inner].rating(check.shaft))
    bore = agrees(build.parts[check.outer].rating(check.bore))
    link = graph.edges.get((check.inner, check.outer), {})
    on_motor = any(d["link"] == "winding" for _, _, d in graph.in_edges(check.inner, data=True))
    if shaft is None or bore is None or not on_motor or link.get("link") != "shaft":
        return None
    torque = Limits(_through(build, check), math.inf)
    spec = {"bore a": (shaft, "length"), "bore b": (bore, "length"), "torque": (torque, "torque")}
    return Adapter(STUB, (check.inner, check.outer), spec, (check.name,))


def _through(build: Build, check: Shaft) -> float:
    """Torque that a coupler between two parts must stand, N m: what its own check asks for."""
    graph = build.model.graph.copy()
    graph.remove_edge(check.inner, check.outer)
    graph.add_node(STUB, role=Role(STUB, ("coupler",)))
    graph.add_edge(check.inner, STUB, link="shaft", shaft=check.shaft, bore="bore_a")
    graph.add_edge(STUB, check.outer, link="turn")
    views: dict[str, Part] = {role: PinnedPart(part, {}) for role, part in build.parts.items()}
    views[STUB] = {"torque": Interval(0.0, math.inf)}
    asks = (c for c in find_checks(graph) if isinstance(c, CouplerTorque | CouplerLoad) and STUB in c.roles)
    return max(float(check.judge(views).need.hi) for check in asks)


def reduction(found: Geared) -> Adapter | None:
    """The reduction of a set as a thing to get; none where shaft or bore are not known well enough."""
    inside, outside = bores(found)
    if inside is None or outside is None:
        return None
    part = found.build.parts[found.role].lot
    spec = {
        "ratio": (found.ratio, "ratio"),
        "torque at the slow side": (found.torque, "torque"),
        "bore": (inside, "length"),
        "shaft": (outside, "length"),
    }
    between = (found.motor, found.driven)
    own = found.wheels or (() if part.price_new is not None else (part,))
    return Adapter(REDUCTION, between, spec, found.closes, part.name, part.price_new, own)


def _converter(build: Build, check: HighestVoltage) -> Adapter | None:
    """A step-down board between rail and consumer, for consumers whose current is a rating of their own."""
    amps = _rated_current(build, check.consumer)
    if amps is None:
        return None
    views = {role: PinnedPart(build.parts[role], {}) for role in check.roles}
    low, high = float(check.rail.low(views).lo), float(check.rail.high(views).hi)
    part = build.parts[check.consumer]
    top = min(part.rating("supply_voltage.max").lo, low - CONVERTER_DROP, low * CONVERTER_EFFICIENCY)
    out = Limits(part.rating("supply_voltage.min").hi, top)
    if out.low > out.high or not _stands(build, check.consumer, out):
        return None
    spec = {
        "input voltage, upper end": (Limits(high, math.inf), "voltage"),
        "output voltage": (out, "voltage"),
        "current": (Limits(amps / LOADING, math.inf), "current"),
    }
    return Adapter(CONVERTER, (check.rail.roles[0], check.consumer), spec, (check.name,))


def _rated_current(build: Build, role: str) -> float | None:
    """Most that a consumer draws whatever its voltage; none where that depends on the rail."""
    for checked in build.checks:
        for consumer in getattr(checked.check, "consumers", ()):
            if isinstance(consumer, RatedConsumer) and consumer.role == role:
                return build.parts[role].rating(consumer.rating).hi
    return None


def _stands(build: Build, consumer: str, out: Limits) -> bool:
    """Whether a consumer works for certain from every voltage of a converter."""
    volts = Interval(out.low, out.high)
    rail = PartRail("converter")
    parts: dict[str, Part] = {
        "converter": {"voltage.low": volts, "voltage.high": volts},
        consumer: PinnedPart(build.parts[consumer], {}),
    }
    return _fit((HighestVoltage(rail, consumer), LowestVoltage(rail, consumer)), parts)


def _fit(checks: Sequence[Check], parts: Mapping[str, Part]) -> bool:
    return all(check.judge(parts).verdict is Verdict.FITS for check in checks)


def _shifter(build: Build, controller: str, listener: str) -> Adapter | None:
    """A level shifter whose outputs a listener takes for certain."""
    logic = build.parts[listener]
    out = Limits(logic.rating("logic_voltage.min").hi, logic.rating("logic_voltage.max").lo)
    if out.low > out.high:
        return None
    parts: dict[str, Part] = {
        listener: PinnedPart(logic, {}),
        controller: {"logic_voltage": Interval(out.low, out.high)},
    }
    if not _fit((SignalHigh(controller, listener), SignalLow(controller, listener)), parts):
        return None
    level = build.parts[controller].rating("logic_voltage")
    spec = {
        "level in": (Limits(level.lo, level.hi), "voltage"),
        "level out": (out, "voltage"),
        "channels": (Limits(CHANNELS, math.inf), "count"),
    }
    return Adapter(SHIFTER, (controller, listener), spec, (SignalHigh.name, SignalLow.name))
