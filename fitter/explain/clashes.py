"""Requirements that clash: a smallest set of them, and the checks that stand between them."""

from __future__ import annotations

from dataclasses import dataclass

from fitter.explain.case import Case, Requirement, Sort
from fitter.solve.conflicts import smallest_conflict

MOST_CLASHES = 5  # of single requirements that cannot be met by themselves


@dataclass(frozen=True)
class Clash:
    """Requirements that cannot be met together; ``smallest``: proved that no fewer clash."""

    members: tuple[Requirement, ...]
    smallest: bool


@dataclass(frozen=True)
class Reasons:
    """What stands between the requirements of a clash.

    ``roles`` are those of its functions that cannot all be filled from stock; ``checks`` the names of checks
    that rule it out between them: without one of them a set would pass. Empty: parts are missing; none: not
    found out in the time there was.
    """

    roles: tuple[str, ...]
    checks: tuple[str, ...] | None


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
    found = [Clash(first.members, first.smallest)]
    if len(first.members) == 1:
        others = [r for r in requirements if r not in first.members and questions([r]) is False]
        found += [Clash((other,), True) for other in others[: MOST_CLASHES - 1]]
    return found


def reasons(case: Case, clash: Clash) -> Reasons:
    """The roles and the checks that stand between the requirements of a clash."""
    rest = [r for r in clash.members if r.sort is not Sort.STOCK]
    every_role = [role for r in clash.members if r.sort is Sort.STOCK for role in case.roles(r.name)]
    narrowed = smallest_conflict(every_role, case.questions(rest))
    roles = narrowed.members if narrowed and narrowed.minimal else ()
    checks = [Requirement(Sort.CHECK, name) for name in sorted(case.check_names)]
    found = smallest_conflict(checks, case.questions([*rest, *(roles or every_role)], checks=False))
    names = tuple(r.name for r in found.members) if found and found.minimal else None
    return Reasons(tuple(r.name for r in roles), names)
