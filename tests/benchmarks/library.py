"""The constraint library's own solver on the problem of one variant.

It knows hard constraints only and no costs, so it finds no optimum by itself: it lists every allowed set,
and the cheapest is kept. The constraints are the same judged tables that CP-SAT gets.
"""

from __future__ import annotations

import signal
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import constraint
import numpy as np
from cpsat_peer import Grid, Variant
from exhaustive import SUPPLIES

from fitter.checks.base import Check
from fitter.kinds import kind_key


@dataclass
class Listed:
    """How far the listing came."""

    finished: bool
    sets: int
    best: int | None
    seconds: float


class _TimeUpError(Exception):
    pass


def _time_up(*_: Any) -> None:
    raise _TimeUpError


def cheapest_of_all(variant: Variant, seconds: float) -> Listed:
    """List all sets of a variant that is set up, for so long at the most."""
    problem = _problem(variant)
    listed = Listed(False, 0, None, 0.0)
    signal.signal(signal.SIGALRM, _time_up)
    started = time.perf_counter()
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        for found in problem.getSolutionIter():
            score = _score(variant, found)
            listed.sets += 1
            listed.best = score if listed.best is None else min(score, listed.best)
        listed.finished = True
    except _TimeUpError:
        pass
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
    listed.seconds = time.perf_counter() - started
    return listed


def _problem(variant: Variant) -> constraint.Problem:
    problem = constraint.Problem(constraint.OptimizedBacktrackingSolver())
    for role, candidates in variant.candidates.items():
        problem.addVariable(role, list(range(len(candidates))))
    for grid in variant.grids:
        problem.addConstraint(constraint.FunctionConstraint(_allowed(grid)), list(grid.roles))
    for check in _untabulated(variant):
        roles = list(dict.fromkeys(check.roles))
        problem.addConstraint(constraint.FunctionConstraint(_passes(variant, check, roles)), roles)
    roles = list(variant.candidates)
    problem.addConstraint(constraint.FunctionConstraint(_pieces_reach(variant, roles)), roles)
    return problem


def _untabulated(variant: Variant) -> list[Check]:
    tabulated = {g.check for g in variant.grids}
    return [c for c in variant.checks if len(set(c.roles)) > 1 and c not in tabulated]


def _allowed(grid: Grid) -> Callable[..., bool]:
    allowed = (grid.costs < np.inf).tolist()
    maps = [c.of.tolist() for c in grid.classes]

    def at(*places: int) -> bool:
        found = allowed
        for of, place in zip(maps, places, strict=True):
            found = found[of[place]]
        return bool(found)

    return at


def _passes(variant: Variant, check: Check, roles: list[str]) -> Callable[..., bool]:
    return lambda *places: variant.exact(check, dict(zip(roles, places, strict=True))) < np.inf


def _pieces_reach(variant: Variant, roles: list[str]) -> Callable[..., bool]:
    counts = {r: variant.graph.nodes[r]["role"].count for r in roles}

    def reach(*places: int) -> bool:
        taken: dict[str, int] = {}
        for role, place in zip(roles, places, strict=True):
            c = variant.candidates[role][place]
            if c.bought or (kind_key(c.lot.kind) in SUPPLIES and c.lot.count == 1):
                continue
            taken[c.lot.id] = taken.get(c.lot.id, 0) + counts[role] * c.offer.pieces
            if taken[c.lot.id] > c.lot.count:
                return False
        return True

    return reach


def _score(variant: Variant, places: Mapping[str, int]) -> int:
    own = sum(variant.own[r][i] for r, i in places.items())
    tabulated = sum(g.at(places) for g in variant.grids)
    return int(own + tabulated + sum(variant.exact(c, places) for c in _untabulated(variant)))
