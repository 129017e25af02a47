"""A recipe's best set, and the sets behind it that wait for other measurements."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from fitter.checks.base import Check, Verdict
from fitter.kinds import kind_key
from fitter.measuring.truths import Known, open_of, recorded, used
from fitter.projects import Project
from fitter.ratings import Evidence
from fitter.recipes import bind
from fitter.shed import Shed
from fitter.solve.builds import Build, Checked, State, judge, judge_check
from fitter.solve.candidates import Candidate, Single
from fitter.solve.diverse import telling_roles
from fitter.solve.swaps import substitutes
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import ranked_builds, sketch
from fitter.words import split_path

MOST_SETS = 4  # of a recipe that are searched for
MOST_STUCK = 4  # further ones, of those that are open with nothing left to measure
FEW_LOTS = 3  # a set that waits for more has nothing in common with the best one without them all
MOST_SWAPPED = 8  # sets more, of those with one part swapped


@dataclass(frozen=True)
class Case:
    """A recipe with its best set and those behind it; ``closed`` where the last has nothing open.

    ``stopped`` is what cut its search short, if anything did; ``far`` where only the best set was looked
    for, because it buys too much for a measurement to make the recipe go.
    """

    project: Project
    sets: Sequence[Build]
    closed: bool
    stopped: str | None = None
    far: bool = False

    @property
    def name(self) -> str:
        """Of the recipe."""
        return self.project.recipe.name

    @property
    def settled(self) -> bool:
        """Whether no measurement can change what there is to say of this recipe."""
        return self.stopped is None and (not self.sets or not self.sets[0].unproven)

    @property
    def state(self) -> State:
        """Of the best set."""
        if self.sets:
            return self.sets[0].state
        return State.NOT_KNOWN if self.stopped else State.OUT_OF_REACH


def case_of(shed: Shed, project: Project, most: int = MOST_SETS, most_to_buy: int | None = None) -> Case:
    """The best set of a project, and the best that do without the parts that keep those before open.

    A set that is open although nothing of it is left to measure is passed over: others may still pass.
    Where the best set buys for more roles than ``most_to_buy`` it is all that is looked for.
    """
    tables = shed.tables()
    without = set(shed.without)
    sets: list[Build] = []
    hopeful = 0
    closed = False
    while hopeful < most and len(sets) < most + MOST_STUCK:
        limit = shed.limit() if not sets else shed.short_limit()
        allowed = tables.filtered(Filters(without=without))
        found = next(iter(ranked_builds(project, allowed, limit)), None)
        if found is None:
            if not sets:
                return Case(project, sets, closed=not limit.reached, stopped=limit.stopped_by)
            closed = not limit.reached
            break
        build = judge(found, allowed)
        sets.append(build)
        if most_to_buy is not None and sets[0].to_buy > most_to_buy:
            return Case(project, sets, closed=False, far=True)
        waits = {lot for lot, _ in asked(build)}
        hopeful += bool(waits)
        closed = not build.unproven
        if closed or len(waits) > FEW_LOTS or build.to_buy > sets[0].to_buy:
            break
        waits = waits or _stuck(build)
        if not waits:
            break
        without |= waits
    return Case(project, [*sets, *swapped(sets, tables)], closed)


def _stuck(build: Build) -> set[str]:
    """The lots that keep a set open although nothing is left to measure: those measured in vain first."""
    in_vain: set[str] = set()
    others: set[str] = set()
    for checked in build.unproven:
        views = {role: Single(build.parts[role]) for role in checked.check.roles}
        checked.check.judge(views)
        for role, view in views.items():
            candidate = build.parts[role]
            open_ = [r for r in map(candidate.rating, view.read) if not r.exact and not candidate.bought]
            others |= {candidate.lot.id} if open_ else set()
            in_vain |= {candidate.lot.id} if any(r.evidence is Evidence.MEASURED for r in open_) else set()
    return in_vain or others


def swapped(sets: Sequence[Build], tables: Tables) -> list[Build]:
    """Sets with one part that matters swapped for another, where fewer or other ratings then count."""
    known = [read(build.parts, build.unproven) for build in sets]
    found: list[Build] = []
    for build in sets:
        if not build.unproven:
            continue
        for role in telling_roles(build.model.graph):
            for candidate in substitutes(build, tables, role):
                parts = {**build.parts, role: candidate}
                counts = read(parts, [c for c in build.checks if not _fits(c.check, parts)])
                if not any(less <= counts for less in known):
                    known.append(counts)
                    found.append(_with(build, parts, role))
    return sorted(found, key=lambda b: len(asked(b)))[:MOST_SWAPPED]


def _fits(check: Check, parts: Mapping[str, Candidate]) -> bool:
    return check.judge({role: Single(parts[role]) for role in check.roles}).verdict is Verdict.FITS


def _with(build: Build, parts: Mapping[str, Candidate], role: str) -> Build:
    """A set with another part in one role, judged anew."""
    checks = (judge_check(c.check, parts) if role in c.check.roles else c for c in build.checks)
    return replace(build, parts=parts, checks=tuple(checks))


def read(parts: Mapping[str, Candidate], checks: Iterable[Checked]) -> Known:
    """All that can be measured and that some checks of a set read."""
    found: set[tuple[str, str]] = set()
    for checked in checks:
        views = {role: Single(parts[role]) for role in checked.check.roles}
        checked.check.judge(views)
        for role, view in views.items():
            found.update(_measurable(parts[role], view.read))
    return frozenset(found)


def _measurable(candidate: Candidate, names: Iterable[str]) -> Iterator[tuple[str, str]]:
    if candidate.bought:
        return
    can = open_of(candidate.lot)
    for name in names:
        lot, field = split_path(candidate.path(name))
        if field in can:
            yield lot, field


def asked(build: Build) -> list[tuple[str, str]]:
    """Lot and field of the ratings that keep a set open and can be measured, the most telling first."""
    lots = {c.lot.id: c.lot for c in build.parts.values() if not c.bought}
    paths = [split_path(path) for path in build.open_ratings]
    return [(lot, name) for lot, name in paths if lot in lots and name in open_of(lots[lot])]


def at_likely(build: Build, but: tuple[str, str]) -> tuple[Build, list[tuple[str, str]]]:
    """A set in which all that it waits for has its likely value, save one rating; and what that was."""
    pinned = [at for at in asked(build) if at != but]
    parts = dict(build.parts)
    for role, candidate in build.parts.items():
        fields = [] if candidate.bought else [name for lot, name in pinned if lot == candidate.lot.id]
        if fields:
            opened = [open_of(candidate.lot)[name] for name in fields]
            values = {n: r.likely for each in opened for n, r in each.ratings.items()}
            parts[role] = next(used(candidate, recorded(candidate.lot, values)))
    checks = tuple(judge_check(c.check, parts) for c in build.checks)
    return replace(build, parts=parts, checks=checks), pinned


def roles_of(build: Build, lot: str) -> list[str]:
    """Roles that a lot fills in a set."""
    return [role for role, c in build.parts.items() if not c.bought and c.lot.id == lot]


def roles_for(project: Project, kind: str) -> list[str]:
    """Roles of a project, in whatever way it is built, that a kind of part may fill."""
    key = kind_key(kind)
    made = [sketch(project, f.name, p) for f in project.functions for p in f.principles]
    found = {
        name: None
        for each in made
        for name, data in each.roles.items()
        if key in map(kind_key, data["role"].kinds)
    }
    return list(found)


def recipes_with(shed: Shed, kind: str) -> list[str]:
    """Recipes that have a role for a kind of part."""
    return [name for name, recipe in shed.recipes.items() if roles_for(bind(recipe), kind)]
