"""Requirements that clash: a smallest set of them, and the checks that stand between them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from fitter.explain.case import Case, Requirement, Sort
from fitter.solve.conflicts import smallest_conflict

MOST_CLASHES = 5  # of single requirements that cannot be met by themselves


@dataclass(frozen=True)
class Clash:
    """Requirements that cannot be met together.

    ``roles`` are those of its functions that cannot all be filled from stock; ``checks`` the names of checks
    that rule it out between them: without one of them a set would pass. No checks: parts are missing.
    ``smallest``: it is proved that no set of requirements with fewer members clashes.
    """

    members: tuple[Requirement, ...]
    roles: tuple[str, ...]
    checks: tuple[str, ...]
    smallest: bool


def clashes(case: Case, *, from_stock: bool) -> list[Clash]:
    """A smallest clash among what is asked for; where single requirements clash, each of them.

    Args:
        case: The project.
        from_stock: Whether all parts must come from the stock.
    """
    requirements = [*case.changeable, *(case.from_stock if from_stock else [])]
    questions = case.questions()
    first = smallest_conflict(requirements, questions)
    if first is None:
        return []
    found = [(first.members, first.smallest)]
    if len(first.members) == 1:
        others = [r for r in requirements if r not in first.members and questions([r]) is False]
        found += [((other,), True) for other in others[: MOST_CLASHES - 1]]
    return [_detailed(case, members, smallest) for members, smallest in found]


def _detailed(case: Case, members: Sequence[Requirement], smallest: bool) -> Clash:
    rest = [r for r in members if r.sort is not Sort.STOCK]
    every_role = [role for r in members if r.sort is Sort.STOCK for role in case.roles(r.name)]
    roles = _narrowed(case, every_role, rest)
    held = [*rest, *roles]
    checks = [Requirement(Sort.CHECK, name) for name in sorted(case.check_names)]
    found = smallest_conflict(checks, case.questions(held, checks=False))
    names = tuple(r.name for r in found.members) if found else ()
    return Clash(tuple(members), tuple(r.name for r in roles), names, smallest)


def _narrowed(
    case: Case, roles: Sequence[Requirement], rest: Collection[Requirement]
) -> tuple[Requirement, ...]:
    """The roles that cannot all be filled from stock."""
    found = smallest_conflict(roles, case.questions(rest))
    return found.members if found else tuple(roles)
