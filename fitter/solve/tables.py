"""Checks turned into costs: tables over one or two roles, and sweeps over more.

A check is judged once for all candidates of its roles together, as arrays. Tables are kept and
shared by all variants of a project in which the same check stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from fitter.checks.base import Check
from fitter.checks.sums import SumCheck
from fitter.functions import Role
from fitter.kinds.model import USE
from fitter.solve.candidates import Along, Array, Columns, Pool
from fitter.solve.corners import Corners
from fitter.solve.ranked import FORBIDDEN, CostTable, Weighted
from fitter.solve.score import BUY, Waste
from fitter.solve.sums import Sum
from fitter.solve.sweeps import Pricing, Sweep, longest

if TYPE_CHECKING:
    import numpy.typing as npt

LARGEST_TABLE = 200_000  # entries of the table of a check, or of one amount in a sum
FEWEST_SUMMED = 4  # a sum over no more roles is tabulated like any check
COARSER = 10  # so many times smaller are tables for a first look
Mask: TypeAlias = "npt.NDArray[np.bool_]"


class Filters:
    """What is fixed or ruled out, by hand (``--with``, ``--without``) or to find out what it brings about.

    A lot may be fixed in one of its uses, as a candidate's id has it. ``owned`` names roles, or functions
    with all their roles, that nothing bought may fill;
    ``settled`` names functions that nothing bought may fill and whose checks must fit for certain;
    ``given`` names sizes of a shop that may be taken all the same;
    ``most`` has the most pieces that may be taken of some lots; ``unchecked`` names checks that are left out.
    """

    def __init__(
        self,
        fixed: Mapping[str, str] | None = None,
        without: Iterable[str] = (),
        *,
        owned: Iterable[str] = (),
        settled: Iterable[str] = (),
        given: Iterable[str] = (),
        most: Mapping[str, int] | None = None,
        unchecked: Iterable[str] = (),
    ) -> None:
        self.fixed = dict(fixed or {})
        self.without = frozenset(without)
        self.settled = frozenset(settled)
        self.owned = frozenset(owned) | self.settled
        self.given = frozenset(given)
        self.most = dict(most or {})
        self.unchecked = frozenset(unchecked)

    def of(self, role: str) -> tuple[str | None, bool, frozenset[str]]:
        """What they mean for one role: its lot if fixed, whether the stock must fill it, lots left out."""
        owned = not self.owned.isdisjoint((role, role.partition(".")[0]))
        return self.fixed.get(role), owned, self.without

    def strict(self, check: Check) -> bool:
        """Whether a check must fit for certain."""
        return any(role.partition(".")[0] in self.settled for role in check.roles)

    def available(self, columns: Columns) -> npt.NDArray[np.int64]:
        """Pieces that may be taken of the lot of each candidate."""
        pieces = columns.count
        for lot, most in self.most.items():
            pieces = np.where(~columns.bought & (columns.lot_ids == lot), np.minimum(pieces, most), pieces)
        return pieces

    def too_many(self, role: Role, columns: Columns) -> Mask:
        """Which candidates of a role take more pieces than may be taken."""
        return ~columns.bought & (role.count * columns.pieces > self.available(columns))

    def keep(self, role: str, columns: Columns) -> Mask:
        """Which candidates of a role remain."""
        keep = np.ones(len(columns), dtype=bool)
        fixed, owned, without = self.of(role)
        for lot in without:
            keep &= columns.bought | (columns.lot_ids != lot)
        if fixed is not None:
            lot, mark, _ = fixed.partition(USE)
            keep &= ~columns.bought & (columns.lot_ids == lot)
            for place in np.flatnonzero(keep) if mark else ():
                keep[place] = columns.candidate(int(place)).id == fixed
        return keep & (~columns.bought | np.isin(columns.lot_ids, list(self.given))) if owned else keep


class Tables:
    """Costs of all checks of a project over the candidates of a pool.

    Unpriced tables only say what is ruled out: quicker where any set will do. Strict ones rule out whatever
    does not fit for certain.
    """

    def __init__(
        self,
        pool: Pool,
        waste: Waste,
        filters: Filters | None = None,
        *,
        soft: bool = False,
        priced: bool = True,
        strict: bool = False,
    ) -> None:
        self.pool = pool
        self.waste = waste
        self.filters = filters or Filters()
        self.pricing = Pricing(soft=soft, priced=priced, strict=strict)
        self.corners = Corners()
        self._joint: dict[tuple[Check, bool, bool, tuple[Columns, ...]], list[Weighted]] = {}
        self._columns: dict[tuple[object, ...], tuple[Columns, CostTable]] = {}

    def filtered(self, filters: Filters) -> Tables:
        """The same tables with other filters; what both need is worked out once."""
        other = copy(self)
        other.filters = filters
        return other

    def role(self, role: Role, checks: Sequence[Check]) -> tuple[Columns, CostTable]:
        """Candidates of a role that pass its own checks, and what each costs by itself."""
        columns = self.pool.columns(role)
        short = self.filters.too_many(role, columns) if self.filters.most else None
        settled = role.name.partition(".")[0] in self.filters.settled
        out = b"" if short is None or not short.any() else short.tobytes()
        key = (role, tuple(checks), self.filters.of(role.name), settled, out)
        if key not in self._columns:
            left = columns.select(~short) if short is not None and out else columns
            self._columns[key] = self._role(role, left, checks)
        return self._columns[key]

    def _role(self, role: Role, columns: Columns, checks: Sequence[Check]) -> tuple[Columns, CostTable]:
        columns = columns.select(self.filters.keep(role.name, columns))
        cost = np.zeros(len(columns))
        if self.pricing.priced:
            cost = BUY * columns.bought + self.waste.cents(columns, role.count)
        for check in checks:
            if len(columns):
                cost = cost + self._own(check, columns)
        keep = cost < FORBIDDEN
        return columns.select(keep), CostTable((role.name,), cost[keep])

    def joint(
        self,
        check: Check,
        columns: Mapping[str, Columns],
        *,
        coarse: bool = False,
    ) -> list[Weighted]:
        """A check over several roles; made once for all variants in which it stands."""
        key = (check, coarse, self.filters.strict(check), tuple(columns[r] for r in check.roles))
        if key not in self._joint:
            entries = LARGEST_TABLE // (COARSER if coarse else 1)
            self._joint[key] = self.weighted(check, columns, entries)
        return self._joint[key]

    def weighted(
        self,
        check: Check,
        columns: Mapping[str, Columns],
        entries: int | None = None,
        focus: str | None = None,
    ) -> list[Weighted]:
        """A check over several roles; nothing where it passes whatever fills its roles."""
        focus = focus if focus in check.roles else None
        entries = entries or LARGEST_TABLE
        if isinstance(check, SumCheck) and len(check.roles) > FEWEST_SUMMED:
            summed = Sum(check, columns, self.corners, self.pricing_of(check), entries, focus)
            return [] if summed.always else summed.tables()
        sweep = Sweep(check, columns, self.corners, self.pricing_of(check))
        if sweep.always:
            return []
        found = sweep.tabulated(entries, focus)
        return [] if isinstance(found, CostTable) and not found.table.costs.any() else [found]

    def pricing_of(self, check: Check) -> Pricing:
        """What the verdicts of a check cost."""
        return replace(self.pricing, strict=True) if self.filters.strict(check) else self.pricing

    def _own(self, check: Check, columns: Columns) -> Array:
        """Cost of a check of one role for all its candidates."""
        view = Along(columns)
        judgement = check.judge({check.roles[0]: view})
        cost = self.pricing_of(check).cost(judgement, longest(columns, view.read))
        return np.broadcast_to(cost, (len(columns),))
