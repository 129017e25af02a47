"""Smallest conflicts against brute force over all subsets of random monotone problems."""

from __future__ import annotations

import itertools
import random

import pytest

from fitter.solve.conflicts import Conflict, Questions, smallest_conflict, smallest_hitting_set

NAMES = "abcdefgh"


def problem(rng: random.Random) -> list[frozenset[str]]:
    """Random conflicts; a set of requirements is possible if it holds none of them."""
    return [frozenset(rng.sample(NAMES, rng.choice((1, 2, 2, 3, 3, 4)))) for _ in range(rng.randint(0, 6))]


def by_force(conflicts: list[frozenset[str]]) -> int | None:
    """Least number of requirements that cannot be met together, trying all subsets."""
    for size in range(len(NAMES) + 1):
        for subset in itertools.combinations(NAMES, size):
            if any(c <= set(subset) for c in conflicts):
                return size
    return None


@pytest.mark.parametrize("seed", range(300))
def test_as_small_as_brute_force_finds(seed: int) -> None:
    conflicts = problem(random.Random(seed))
    found = smallest_conflict(NAMES, Questions(lambda required: not any(c <= required for c in conflicts)))
    least = by_force(conflicts)
    if least is None:
        assert found is None
        return
    assert found is not None
    assert len(found.members) == least
    assert frozenset(found.members) in conflicts
    assert found.minimal
    assert found.smallest


@pytest.mark.parametrize("seed", range(200))
def test_what_is_not_known_is_never_claimed(seed: int) -> None:
    """Some questions have no answer: the result is still a conflict, and says truly how good it is."""
    rng = random.Random(seed)
    conflicts = [*problem(rng), frozenset(rng.sample(NAMES, 3))]
    subsets = [frozenset(s) for n in range(1, 7) for s in itertools.combinations(NAMES, n)]
    silent = {s for s in subsets if rng.random() < 0.3}

    def possible(required: frozenset[str]) -> bool | None:
        return None if required in silent else not any(c <= required for c in conflicts)

    found = smallest_conflict(NAMES, Questions(possible))
    assert found is not None
    members = frozenset(found.members)
    assert any(c <= members for c in conflicts)
    if found.minimal:
        assert members in conflicts
    if found.smallest:
        assert len(members) == by_force(conflicts)


def test_nothing_is_asked_twice_nor_what_follows() -> None:
    asked: list[frozenset[str]] = []

    def possible(required: frozenset[str]) -> bool:
        asked.append(required)
        return not {"b", "d"} <= required

    assert smallest_conflict(NAMES, Questions(possible)) == Conflict(("b", "d"), True, True)
    for i, each in enumerate(asked):
        for other in asked[:i]:
            impossible = {"b", "d"} <= other
            assert not (each >= other if impossible else each <= other)


def test_what_cannot_be_met_even_alone() -> None:
    assert smallest_conflict("ab", Questions(lambda _: False)) == Conflict((), True, True)


@pytest.mark.parametrize("seed", range(100))
def test_hitting_sets_against_all_subsets(seed: int) -> None:
    rng = random.Random(seed)
    sets = [frozenset(rng.sample(NAMES, rng.randint(1, 4))) for _ in range(rng.randint(0, 8))]
    found = smallest_hitting_set(NAMES, sets, len(NAMES))
    assert found is not None
    assert all(s & set(found) for s in sets)
    smaller = itertools.combinations(NAMES, max(len(found) - 1, 0))
    assert not found or not any(all(s & set(c) for s in sets) for c in smaller)
