"""One part of a set swapped for another, everything else as it is: all candidates judged at once.

What would do as well is what no check turns down; what comes closest is what fails by the least.
Both are read off the real checks, judged for a whole column of candidates in one go.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fitter.checks.base import ROUNDING, Check
from fitter.kinds.model import WHOLE_UNIT
from fitter.solve.builds import Build
from fitter.solve.candidates import Along, Array, Candidate, Columns, Single
from fitter.solve.model import SHARES
from fitter.solve.ranked import FORBIDDEN
from fitter.solve.score import BUY, MINUTE, check_cost
from fitter.solve.sweeps import longest
from fitter.solve.tables import Mask, Tables

MOST = 3  # substitutes of a role that are worth naming


@dataclass(frozen=True)
class Verdicts:
    """What some checks say of every candidate of a role; arrays of shape ``(n,)``.

    ``cost`` is the part of the score, infinite where a check fails; ``fails`` counts those checks, and
    ``worst`` is the least of their best-case margins, one where none fails.
    """

    cost: Array
    fails: Array
    worst: Array


def verdicts(build: Build, role: str, columns: Columns, checks: Sequence[Check]) -> Verdicts:
    """Judge checks for every candidate of a role, the other roles filled as in the set."""
    cost, fails, worst = np.zeros(len(columns)), np.zeros(len(columns)), np.ones(len(columns))
    for check in checks:
        along = Along(columns)
        others = {r: Single(build.parts[r]) for r in check.roles if r != role}
        judgement = check.judge({**others, role: along})
        known = max((v.candidate.minutes(r) for v in others.values() for r in v.read), default=0.0)
        minutes = np.maximum(longest(columns, along.read), known)
        cost = cost + check_cost(judgement, minutes, soft=False)
        best = np.broadcast_to(judgement.margin.hi, cost.shape)
        fails = fails + (best < 1 - ROUNDING)
        worst = np.minimum(worst, best)
    return Verdicts(cost, fails, worst)


def left_over(build: Build, role: str, columns: Columns) -> Array:
    """Pieces of each candidate's lot that the other roles leave; of what is bought, without end."""
    left = np.where(columns.bought, FORBIDDEN, columns.count.astype(float))
    for other, candidate in build.parts.items():
        if other != role and not candidate.bought:
            left[columns.unit == candidate.unit] -= _takes(build, other, candidate)
    return left


def wanted(build: Build, role: str, columns: Columns) -> Array:
    """Pieces that a role takes of each candidate; a share where others may draw on the same unit."""
    shares = build.makes_rail(role) & (columns.count == 1) & (columns.rating("rail").lo != WHOLE_UNIT)
    return np.where(shares, 1 / SHARES, build.roles[role].count * columns.pieces.astype(float))


def pieces(build: Build, role: str, candidate: Candidate, tables: Tables) -> tuple[int, int]:
    """Pieces of a candidate's lot that the other roles leave, and how many a role takes."""
    table = tables.pool.table(build.roles[role].kinds)
    here = [row for row in range(len(table)) if table.candidate(row) is candidate]
    columns = Columns(table, np.array(here))
    return max(int(left_over(build, role, columns)[0]), 0), int(wanted(build, role, columns)[0])


def left_in_lot(build: Build, candidate: Candidate) -> float:
    """Pieces of a candidate's lot that a set leaves."""
    used = (_takes(build, r, c) for r, c in build.parts.items() if not c.bought and c.unit == candidate.unit)
    return candidate.lot.count - sum(used)


def _takes(build: Build, role: str, candidate: Candidate) -> float:
    """Pieces that a part takes of its lot; a share where others may draw on the same unit."""
    if build.makes_rail(role) and candidate.lot.count == 1 and candidate.offer.rail != WHOLE_UNIT:
        return 1 / SHARES
    return build.roles[role].count * float(candidate.offer.pieces)


def substitutes(build: Build, tables: Tables, role: str) -> list[Candidate]:
    """What else would do in a role, best score first, at most :data:`MOST`.

    From stock, another lot in its best use, so that no check fails and, where all checks of the set
    fit, all still do. Where nothing in stock would, the best thing to buy.
    """
    own = [c.check for c in build.checks if c.check.roles == (role,)]
    joint = [c.check for c in build.checks if role in c.check.roles and len(c.check.roles) > 1]
    columns, alone = tables.role(build.roles[role], own)
    score = alone.table.costs + verdicts(build, role, columns, joint).cost
    good = (score < FORBIDDEN) & (left_over(build, role, columns) >= wanted(build, role, columns))
    if not build.unproven:
        good &= np.where(good, score, 0.0) % BUY < MINUTE
    now = build.parts[role]
    good &= columns.bought | (columns.lot_ids != now.lot.id) | now.bought
    stock = list(_best_of_each_lot(columns, score, good & ~columns.bought))
    if stock or now.bought:
        return stock
    return list(_best_of_each_lot(columns, score, good & columns.bought))[:1]


def _best_of_each_lot(columns: Columns, score: Array, good: Mask) -> Iterator[Candidate]:
    """The best few candidates, no two of one lot."""
    places = np.flatnonzero(good)
    seen: set[str] = set()
    for place in places[np.argsort(score[places], kind="stable")]:
        lot = str(columns.lot_ids[place])
        if lot not in seen:
            seen.add(lot)
            yield columns.candidate(int(place))
        if len(seen) == MOST:
            return


def closest(build: Build, tables: Tables, role: str) -> Candidate | None:
    """The part in stock that comes closest to filling a role: fewest faults, then the best worst margin.

    None where there is no part of the kind, or where some part would do.
    """
    table = tables.pool.table(build.roles[role].kinds)
    own = np.flatnonzero(~table.bought & ~np.isin(table.lot_ids, list(tables.filters.without)))
    columns = Columns(table, own)
    said = verdicts(build, role, columns, [c.check for c in build.checks if role in c.check.roles])
    faults = said.fails + (left_over(build, role, columns) < wanted(build, role, columns))
    if not len(columns) or not faults.all():
        return None
    return columns.candidate(int(np.lexsort((-said.worst, faults))[0]))
