"""Which requirements cannot be met together: a smallest set, found by asking again with some left out.

The module knows nothing of parts. A *requirement* is any hashable value, and ``possible`` says of a set
of requirements whether they can be met together: yes, no, or (within the time there is) not known. It
must be monotone: what is possible stays so with less required. Each question may be a whole search,
so answers are kept and used again for subsets and supersets.

A first conflict, from which nothing can be left out, is found by halving (QuickXplain: U. Junker,
*Preferred explanations and relaxations for over-constrained problems*, AAAI 2004, algorithm 1). That none is
smaller is proved by hitting sets: whatever is possible leaves out at least one member of every conflict,
so a conflict meets the rest of every possible set; as long as a smallest set that meets them all is
itself possible, it is let grow and gives a further set to meet (A. Ignatiev, A. Previti, M. Liffiton,
J. Marques-Silva, *Smallest MUS extraction with minimal hitting set dualization*, CP 2015, algorithm 1).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

R = TypeVar("R", bound=Hashable)
MOST_ROUNDS = 200  # sets to be met before a proof that a conflict is smallest is given up


@dataclass(frozen=True)
class Conflict(Generic[R]):
    """Requirements that cannot be met together.

    ``minimal``: none can be left out. ``smallest``: no conflict has fewer members. Either is false where
    it was not proved.
    """

    members: tuple[R, ...]
    minimal: bool
    smallest: bool


class Questions(Generic[R]):
    """Answers about sets of requirements, each found once; supersets and subsets answer each other."""

    def __init__(self, possible: Callable[[frozenset[R]], bool | None]) -> None:
        self._ask = possible
        self.possible: list[frozenset[R]] = []
        self.impossible: list[frozenset[R]] = []
        self._open: set[frozenset[R]] = set()

    def __call__(self, required: Iterable[R]) -> bool | None:
        """Whether requirements can be met together; none where that is not known."""
        asked = frozenset(required)
        if any(asked <= known for known in self.possible):
            return True
        if any(asked >= known for known in self.impossible):
            return False
        if asked in self._open:
            return None
        answer = self._ask(asked)
        if answer is None:
            self._open.add(asked)
        else:
            (self.possible if answer else self.impossible).append(asked)
        return answer


def smallest_conflict(requirements: Sequence[R], possible: Questions[R]) -> Conflict[R] | None:
    """A smallest set of requirements that cannot be met together; none if all can, or it is not known.

    Members come in the order of ``requirements``. Where questions stay open the conflict may have
    members too many; it says so.
    """
    if possible(requirements) is not False:
        return None
    found = _irreducible(requirements, possible)
    minimal = all(possible(r for r in found if r != out) for out in found)
    to_meet = [frozenset(requirements) - known for known in possible.possible]
    for _ in range(MOST_ROUNDS):
        least = smallest_hitting_set(requirements, to_meet, len(found))
        if least is None or len(least) == len(found):
            return Conflict(tuple(found), True, True)
        answer = possible(least)
        if answer is None:
            break
        if answer is False:
            return Conflict(least, True, True)
        grown = _grown(least, requirements, possible)
        to_meet.append(frozenset(r for r in requirements if r not in grown))
    return Conflict(tuple(found), minimal, False)


def _irreducible(requirements: Sequence[R], possible: Questions[R]) -> list[R]:
    """A conflict from which nothing can be left out, as far as questions are answered."""

    def within(given: list[R], added: bool, rest: list[R]) -> list[R]:
        """Members of ``rest`` that make a conflict together with ``given``."""
        if added and possible(given) is False:
            return []
        if len(rest) <= 1:
            return rest
        half = len(rest) // 2
        first, second = rest[:half], rest[half:]
        late = within([*given, *first], bool(first), second)
        early = within([*given, *late], bool(late), first)
        return [*early, *late]

    if possible([]) is False:
        return []
    return within([], False, list(requirements))


def _grown(start: Iterable[R], requirements: Sequence[R], possible: Questions[R]) -> set[R]:
    """A possible set with everything added that keeps it possible."""
    grown = set(start)
    for each in requirements:
        if each not in grown and possible([*grown, each]):
            grown.add(each)
    return grown


def smallest_hitting_set(order: Sequence[R], sets: Sequence[frozenset[R]], most: int) -> tuple[R, ...] | None:
    """A smallest set that meets every given set, members in ``order``; none with at most ``most`` members.

    >>> smallest_hitting_set("abc", [frozenset("ab"), frozenset("bc")], 3)
    ('b',)
    """
    place = {r: i for i, r in enumerate(order)}

    def meet(left: Sequence[frozenset[R]], members: int) -> frozenset[R] | None:
        if not left:
            return frozenset()
        if members == 0:
            return None
        fewest: frozenset[R] = min(left, key=len)
        for each in sorted(fewest, key=place.__getitem__):
            rest = meet([s for s in left if each not in s], members - 1)
            if rest is not None:
                return rest | {each}
        return None

    for members in range(most + 1):
        found = meet(sets, members)
        if found is not None:
            return tuple(sorted(found, key=place.__getitem__))
    return None
