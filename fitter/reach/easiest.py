"""Whether a lot can serve a project at any plausible value of its demands, anything else bought if need be.

The demands are taken as asked, and each at its easiest; where the checks disagree about which end that is,
at both ends and at what is asked. A lot that goes with none of these is taken to go with no value.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Collection, Iterator, Mapping
from functools import cached_property
from typing import TypeAlias

from fitter.checks.base import ROUNDING, Check
from fitter.checks.find import find_checks
from fitter.errors import FitterError
from fitter.functions import Principle, Role, join
from fitter.projects import Project, bind_figures
from fitter.reach.roles import roles_in
from fitter.shed import Shed
from fitter.solve.candidates import Along, Columns, Hull
from fitter.solve.ease import Ease
from fitter.solve.limits import Limit, StoppedBy
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import Found, any_build, sketch

NODES = 20_000  # that one question may open
MOST_TRIES = 25  # combinations of values of demands
_Ways: TypeAlias = tuple[tuple[tuple[Role, ...], ...], ...]


class Easiest:
    """One project with its demands as easy as they can be."""

    def __init__(self, shed: Shed, project: Project) -> None:
        self.shed = shed
        self.project = project
        self.stopped_by: StoppedBy | None = None

    @cached_property
    def projects(self) -> list[Project]:
        """The project as asked, and with its demands at their easiest."""
        ease = Ease(self.project, self.shed.pool)
        free: dict[str, tuple[float, ...]] = {}
        for name, asked in self.project.demands.items():
            ends = ease.easiest(name)
            free[name] = ends if len(ends) == 1 else (*ends, asked)
        tries = itertools.islice(itertools.product(*free.values()), MOST_TRIES)
        made = (self._bound(dict(zip(free, values, strict=True))) for values in tries)
        return [self.project, *(p for p in made if p is not None)]

    def _bound(self, figures: Mapping[str, float]) -> Project | None:
        try:
            return bind_figures(self.project.recipe, figures)
        except FitterError:
            return None

    @cached_property
    def tables(self) -> list[Tables]:
        """Unpriced tables of each of the projects."""
        filters = Filters(without=self.shed.without)
        return [Tables(self.shed.pool, self.shed.waste, filters, priced=False) for _ in self.projects]

    def goes(self, role: str, lot: str, end: float) -> Found | bool | None:
        """A set with a lot in a role; false where there is none, none where that is not known.

        Args:
            role: Full name of a role.
            lot: Id of a lot.
            end: When the search gives up, by the clock of :func:`time.process_time`.
        """
        known = True
        for project, tables in zip(self.projects, self.tables, strict=True):
            if time.process_time() >= end or self.shed.watcher.stop:
                self.stopped_by = "interrupt" if self.shed.watcher.stop else "seconds"
                return None
            limit = Limit(NODES, end - time.process_time(), self.shed.watcher)
            fixed = tables.filtered(Filters({role: lot}, self.shed.without))
            found = any_build(project, fixed, limit)
            if found is not None:
                return found
            if limit.reached:
                known, self.stopped_by = False, limit.stopped_by
        return False if known else None

    @cached_property
    def accepted(self) -> dict[str, frozenset[str]]:
        """Lots that each role may take: those that no check rules out, whatever fills the other roles."""
        found: dict[str, set[str]] = {}
        for project, tables in zip(self.projects, self.tables, strict=True):
            for function in project.functions:
                for principle in function.principles:
                    for role, lots in _accepted(project, function.name, principle, tables):
                        found.setdefault(role, set()).update(lots)
        return {role: frozenset(lots) for role, lots in found.items()}

    def most_pieces(self, lot: str) -> int:
        """The most pieces of a lot that the project can use at once, in any of its variants."""
        each = max((o.pieces for o in self.shed.stock.lot(lot).offers()), default=1)
        taking = {role for role, lots in self.accepted.items() if lot in lots}
        return each * max((self._pieces(ways, taking) for ways in self._ways), default=0) if taking else 0

    @staticmethod
    def _pieces(functions: _Ways, taking: Collection[str]) -> int:
        """Each function done in the way that takes most."""
        return sum(max(sum(r.count for r in way if r.name in taking) for way in ways) for ways in functions)

    @cached_property
    def _ways(self) -> list[_Ways]:
        """Roles of each principle of each function; of projects that differ in them once each."""
        every = (
            tuple(tuple(tuple(roles_in(p, f.name, w)) for w in f.principles) for f in p.functions)
            for p in self.projects
        )
        return list(dict.fromkeys(every))


def _accepted(
    project: Project, function: str, principle: Principle, tables: Tables
) -> Iterator[tuple[str, set[str]]]:
    """Lots that each role of a function by itself may take; what joins it to others only rules out more."""
    roles = roles_in(project, function, principle)
    checks = find_checks(join({function: sketch(project, function, principle)}))
    columns = {r.name: tables.role(r, [c for c in checks if c.roles == (r.name,)])[0] for r in roles}
    if not all(len(c) for c in columns.values()):
        return
    for role, own in columns.items():
        keep = ~own.bought
        for check in checks:
            if role in check.roles and len(check.roles) > 1:
                keep = keep & _may(check, role, columns)
        yield role, set(own.lot_ids[keep])


def _may(check: Check, role: str, columns: Mapping[str, Columns]) -> object:
    """For each candidate of a role whether a check does not fail for certain."""
    views = {r: Along(columns[r]) if r == role else Hull(columns[r]) for r in check.roles}
    return check.judge(views).margin.hi >= 1 - ROUNDING
