"""A reduction in a set: the ratios that do, what it must stand, and whether the stock holds one.

The set is one of a project whose principle was given one more stage (:mod:`fitter.functions.geared`), so
every figure here is read off the same checks as without it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from fitter.advice.reductions import reductions
from fitter.checks.base import Check, Verdict
from fitter.checks.find import find_checks
from fitter.checks.fits import SHAFT_PLAY, BeltPitch, BeltWidth, Mesh, Shaft
from fitter.checks.strength import ReductionTorque
from fitter.functions.geared import geared_roles
from fitter.functions.model import Principle, join
from fitter.intervals import Interval
from fitter.kinds.mechanics import CUT_TO_FIT, REDUCTION
from fitter.projects import Project
from fitter.ratings import Evidence, Rating
from fitter.solve.builds import Build, Checked, PinnedPart, judge_check
from fitter.solve.candidates import Candidate, Pool
from fitter.solve.gaps import Limits, no_worse_with
from fitter.solve.swaps import left_in_lot
from fitter.solve.variants import sketch
from fitter.stock.lots import Lot

_STEPS = 30  # halvings when the end of what does is sought
_FURTHEST = 200.0  # a ratio beyond which nobody looks
LEAST_CENTRES = 0.5  # distance of the centres of two wheels on a belt, in sums of their diameters; geometry


@dataclass(frozen=True)
class Geared:
    """A set with a reduction: its role, the ratios that do, torque at the slow side, N m, and its wheels.

    ``motor`` and ``driven`` are the roles on both sides, ``before`` the checks of the same parts without it.
    """

    build: Build
    role: str
    motor: str
    driven: str
    ratio: Limits
    torque: Limits
    before: tuple[Checked, ...]
    wheels: tuple[Lot, ...] = ()

    @property
    def closes(self) -> tuple[str, ...]:
        """Checks that fail without it."""
        return tuple(dict.fromkeys(c.check.name for c in self.before if c.verdict is Verdict.FAILS))

    @property
    def needed(self) -> bool:
        """Whether something else fails without it than a fit of shaft and bore, for which there is less."""
        return any(name != Shaft.name for name in self.closes)


def geared_set(project: Project, build: Build, pool: Pool) -> Geared | None:
    """What is to be said of the reduction of a set; none where the set goes without it.

    Args:
        project: The project as asked for, without the further stage.
        build: A set with one reduction.
        pool: The stock, to make the reduction of where it has the wheels.
    """
    (role,) = geared_roles(build.roles)
    before = _without(project, build, role)
    build = _best_ratio(build, role)
    motor = next(iter(build.model.graph.predecessors(role)))
    driven = next(iter(build.model.graph.successors(role)))
    found = Geared(build, role, motor, driven, _ratios(build, role), _torque(build, role), before)
    if not found.needed:
        return None
    made = _made(found, pool) if build.parts[role].bought else None
    return made or found


def _without(project: Project, build: Build, role: str) -> tuple[Checked, ...]:
    """All checks of the same parts without the reduction."""
    principles = {f.name: _plain(f.principles, build.principles[f.name]) for f in project.functions}
    graph = join({name: sketch(project, name, p) for name, p in principles.items()})
    parts = {r: c for r, c in build.parts.items() if r != role}
    return tuple(judge_check(check, parts) for check in find_checks(graph))


def _plain(known: Sequence[Principle], used: Principle) -> Principle:
    """The principle of a recipe that a set uses, or uses with a reduction."""
    return next(p for p in known if used.name.startswith(p.name) and used.about == p.about)


def _with(build: Build, role: str, candidate: Candidate) -> Build:
    """The same set with another part in a role, judged anew."""
    parts = {**build.parts, role: candidate}
    redone = (judge_check(c.check, parts) if role in c.check.roles else c for c in build.checks)
    return replace(build, parts=parts, checks=tuple(redone))


class _Likely:
    """A part whose ratings all are what they are most likely to be."""

    def __init__(self, candidate: Candidate) -> None:
        self.candidate = candidate

    def __getitem__(self, rating: str) -> Interval:
        return Interval.point(self.candidate.rating(rating).likely)


def _best_ratio(build: Build, role: str) -> Build:
    """Where checks stay open, a shop's ratio with which they likeliest pass, the cheapest of equals."""
    now = build.parts[role]
    checks = [c for c in build.checks if role in c.check.roles and c.verdict is Verdict.UNPROVEN]
    if not checks or not now.bought:
        return build
    torque = now.rating("torque").lo
    sold = [Candidate(lot, lot.offers()[0], bought=True) for lot in reductions()]
    alike = [c for c in sold if c.rating("torque").lo == torque and _fills(build, role, c)]

    def chance(candidate: Candidate) -> tuple[float, float]:
        parts = {r: _Likely(candidate if r == role else c) for r, c in build.parts.items()}
        worst = min(float(c.check.judge(parts).margin.lo) for c in checks)
        return -min(round(worst, 3), 1.0), candidate.lot.price_new or 0.0

    return _with(build, role, min(alike, key=chance)) if alike else build


def _fills(build: Build, role: str, candidate: Candidate) -> bool:
    """Whether every check is as good with another reduction: none fails, and what fits still does."""
    return no_worse_with(build, role, {"ratio": candidate.rating("ratio").likely})


def _ratios(build: Build, role: str) -> Limits:
    """Ratios about that of the set with which its checks are no worse: open ones at least do not fail.

    A higher ratio asks less torque and more speed of the motor, so what does is one stretch.
    """
    now = build.parts[role].rating("ratio").likely

    def end(far: float) -> float:
        good, bad = now, far
        for _ in range(_STEPS):
            middle = math.sqrt(good * bad)
            held = no_worse_with(build, role, {"ratio": middle})
            good, bad = (middle, bad) if held else (good, middle)
        return good

    return Limits(end(1 / _FURTHEST), end(_FURTHEST))


def _torque(build: Build, role: str) -> Limits:
    """Torque that the slow side must stand, whatever the ratio."""
    need = next(c.judgement.need.hi for c in build.checks if isinstance(c.check, ReductionTorque))
    return Limits(float(need), math.inf)


def _made(found: Geared, pool: Pool) -> Geared | None:
    """The same with a reduction made of the stock's wheels; the set with the fewest open checks."""
    sets = []
    for wheels, candidate in _pairs(found, pool):
        build = _with(found.build, found.role, candidate)
        if not build.failing:
            sets.append(replace(found, build=build, wheels=wheels))
    return min(sets, key=lambda g: (len(g.build.unproven), [w.id for w in g.wheels]), default=None)


def _pairs(found: Geared, pool: Pool) -> Iterator[tuple[tuple[Lot, ...], Candidate]]:
    """Two gears, or two pulleys and a closed belt, that do for certain but for the torque."""
    for fast, slow in _two(found, pool, "gear"):
        if _fit(found, (Mesh("fast", "slow"), *_shafts(found)), {"fast": fast, "slow": slow}):
            force = fast.rating("tooth_force")
            other = slow.rating("tooth_force")
            module = slow.rating("module")
            arm = Interval(module.lo, module.hi) * slow.rating("teeth").likely * 0.5
            least = Interval(min(force.lo, other.lo), min(force.hi, other.hi))
            yield (fast.lot, slow.lot), _composite(fast, slow, least * arm, (fast.lot, slow.lot))
    belts = [c for c in _free(found, pool, "timing belt") if c.rating("closed").lo >= 1]
    for fast, slow in _two(found, pool, "pulley") if belts else ():
        for belt in belts:
            if _runs(found, fast, slow, belt):
                pitch, force = slow.rating("belt_pitch"), belt.rating("working_force")
                arm = Interval(pitch.lo, pitch.hi) * (slow.rating("teeth").likely / (2 * math.pi))
                lots = (fast.lot, slow.lot, belt.lot)
                yield lots, _composite(fast, slow, Interval(force.lo, force.hi) * arm, lots)


def _two(found: Geared, pool: Pool, kind: str) -> Iterator[tuple[Candidate, Candidate]]:
    """Wheels of one kind whose ratio does, the one on the motor first."""
    free = _free(found, pool, kind)
    for fast in free:
        for slow in free:
            enough = fast.lot is not slow.lot or left_in_lot(found.build, fast) > 1
            known = fast.rating("teeth").exact and slow.rating("teeth").exact
            if enough and known and found.ratio.low <= _turns(fast, slow) <= found.ratio.high:
                yield fast, slow


def _turns(fast: Candidate, slow: Candidate) -> float:
    return slow.rating("teeth").likely / fast.rating("teeth").likely


def _free(found: Geared, pool: Pool, kind: str) -> list[Candidate]:
    """Working parts of a kind in stock that the set leaves."""
    table = pool.table((kind,))
    own = [table.candidate(row) for row in range(len(table)) if not table.bought[row]]
    return [c for c in own if c.lot.condition == "working" and left_in_lot(found.build, c) > 0]


def _shafts(found: Geared) -> tuple[Check, ...]:
    """The fast wheel on the motor's shaft; the slow one on a stub that fits the bore of what is driven."""
    graph = found.build.model.graph
    shaft = str(graph.edges[found.motor, found.role]["shaft"])
    bore = str(graph.edges[found.role, found.driven]["bore"])
    return Shaft("fast", "bore", found.motor, shaft), Shaft("slow", "bore", found.driven, bore)


def _fit(found: Geared, checks: Sequence[Check], made_of: Mapping[str, Candidate]) -> bool:
    """Whether checks of wheels, under names of their own, fit for certain in a set."""
    views = {role: PinnedPart(c, {}) for role, c in {**found.build.parts, **made_of}.items()}
    return all(check.judge(views).verdict is Verdict.FITS for check in checks)


def _runs(found: Geared, fast: Candidate, slow: Candidate, belt: Candidate) -> bool:
    """Whether a closed belt runs over two pulleys and is long enough for both."""
    pulleys = ("fast", "slow")
    checks = [c(p, "belt") for c in (BeltPitch, BeltWidth) for p in pulleys]
    wheels = (fast.rating("teeth").hi + slow.rating("teeth").hi) * belt.rating("belt_pitch").hi
    # half of each wheel is wrapped; two straight stretches between centres that far apart at the least
    least = wheels / 2 + 2 * LEAST_CENTRES * wheels / math.pi
    made_of = {"fast": fast, "slow": slow, "belt": belt}
    return belt.rating("length").lo >= least and _fit(found, (*checks, *_shafts(found)), made_of)


def _composite(fast: Candidate, slow: Candidate, torque: Interval, lots: Sequence[Lot]) -> Candidate:
    """A reduction made of wheels, as a part of the stock."""
    turns = _turns(fast, slow)
    middle = (float(torque.lo) + float(torque.hi)) / 2
    ratings = CUT_TO_FIT | {
        "ratio": Rating(turns, turns, turns, Evidence.MEASURED),
        "torque": Rating(float(torque.lo), float(torque.hi), middle, Evidence.ESTIMATED),
    }
    lot = Lot(id=" + ".join(dict.fromkeys(w.id for w in lots)), kind=REDUCTION, ratings=ratings)
    return Candidate(lot, lot.offers()[0])


def bores(found: Geared) -> tuple[Limits | None, Limits | None]:
    """Bore for the motor's shaft, and the shaft that the driven part's bore takes; none where not known."""
    graph = found.build.model.graph
    shaft = found.build.parts[found.motor].rating(str(graph.edges[found.motor, found.role]["shaft"]))
    bore = found.build.parts[found.driven].rating(str(graph.edges[found.role, found.driven]["bore"]))
    return agrees(shaft), agrees(bore)


def agrees(size: Rating) -> Limits | None:
    """Diameters within the play of every diameter that a shaft or a bore may have."""
    limits = Limits(size.hi - SHAFT_PLAY, size.lo + SHAFT_PLAY)
    return limits if limits.low <= limits.high else None
