"""Which wire is which: every wiring of every motor, read by a cheap meter through leads nobody took off.

The readings come from a network of resistors solved by its Laplacian, which knows nothing of the tables of
the module under test.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.bench import wires
from fitter.bench.wires import Coil, Pair, Reading, identify
from fitter.errors import FitterError

NAMES = "abcdefgh"
Resistors = Sequence[tuple[str, str, float]]

# resistors of one unit between wires (small letters) and points inside (capitals)
CIRCUITS: dict[str, Resistors] = {
    "one coil": [("a", "b", 1)],
    "three phases": [("a", "S", 1), ("b", "S", 1), ("c", "S", 1)],
    "one coil with centre tap": [("a", "b", 1), ("b", "c", 1)],
    "two coils": [("a", "b", 1), ("c", "d", 1)],
    "three phases with their common point": [("a", "d", 1), ("b", "d", 1), ("c", "d", 1)],
    "two coils, their centre taps joined": [("a", "e", 1), ("b", "e", 1), ("c", "e", 1), ("d", "e", 1)],
    "five phases in a star": [(w, "S", 1) for w in "abcde"],
    "five phases in a ring": [(a, b, 1) for a, b in zip("abcde", "bcdea", strict=True)],
    "two coils with centre taps": [("a", "b", 1), ("b", "c", 1), ("d", "e", 1), ("e", "f", 1)],
    "three coils": [("a", "b", 1), ("c", "d", 1), ("e", "f", 1)],
    "two coils, their centre taps joined and led out twice": [
        ("a", "e", 1), ("b", "e", 1), ("c", "e", 1), ("d", "e", 1), ("e", "f", 0),
    ],
    "four half-coils": [("a", "b", 1), ("c", "d", 1), ("e", "f", 1), ("g", "h", 1)],
}  # fmt: skip
COUNT = {form: len({w for a, b, _ in of for w in (a, b) if w.islower()}) for form, of in CIRCUITS.items()}
OF_STEPPERS = [
    "two coils",
    "two coils, their centre taps joined",
    "two coils with centre taps",
    "four half-coils",
]


def two_point(resistors: Resistors) -> dict[Pair, float]:
    """Ohms between all pairs of wires, infinite where they are not joined."""
    merged = {b: a for a, b, ohms in resistors if ohms == 0}
    nodes = sorted({merged.get(w, w) for a, b, _ in resistors for w in (a, b)})
    laplacian = np.zeros((len(nodes), len(nodes)))
    reached = np.eye(len(nodes), dtype=bool)
    for a, b, ohms in resistors:
        if ohms:
            i, j = (nodes.index(merged.get(w, w)) for w in (a, b))
            laplacian[[i, j], [i, j]] += 1 / ohms
            laplacian[[i, j], [j, i]] -= 1 / ohms
            reached[[i, j], [j, i]] = True
    for _ in nodes:
        reached = reached @ reached
    inverse = np.linalg.pinv(laplacian)
    wires_ = sorted({w for a, b, _ in resistors for w in (a, b) if w.islower()})
    found = {}
    for a, b in combinations(wires_, 2):
        i, j = (nodes.index(merged.get(w, w)) for w in (a, b))
        ohms = inverse[i, i] + inverse[j, j] - 2 * inverse[i, j]
        found[frozenset((a, b))] = float(ohms) if reached[i, j] else math.inf
    return found


def read(
    resistors: Resistors, renamed: Mapping[str, str], leads: float, noise: Iterator[float]
) -> dict[Pair, float]:
    """What a meter shows: leads included, every reading off by its own error."""
    return {
        frozenset(renamed[w] for w in pair): (ohms + leads) * (1 + next(noise))
        for pair, ohms in sorted(two_point(resistors).items(), key=lambda item: sorted(item[0]))
    }


def scaled(form: str, ohms: float) -> Resistors:
    return [(a, b, r * ohms) for a, b, r in CIRCUITS[form]]


def meter_noise(seed: int, size: float = 0.05) -> Iterator[float]:
    rng = random.Random(seed)
    while True:
        yield rng.choice([-size, size, rng.uniform(-size, size)])


def shape(coils: Sequence[Coil]) -> frozenset[tuple[frozenset[str], frozenset[str]]]:
    return frozenset((frozenset(c.ends), frozenset(c.tap)) for c in coils)


def true_shape(form: str, renamed: Mapping[str, str]) -> frozenset[tuple[frozenset[str], frozenset[str]]]:
    """Ends and taps of the coils of a circuit as drawn above."""
    drawn = {
        "two coils": [("ab", ""), ("cd", "")],
        "two coils, their centre taps joined": [("abcd", "e")],
        "two coils with centre taps": [("ac", "b"), ("df", "e")],
        "four half-coils": [("ab", ""), ("cd", ""), ("ef", ""), ("gh", "")],
    }[form]
    return frozenset(
        (frozenset(renamed[w] for w in ends), frozenset(renamed[w] for w in tap)) for ends, tap in drawn
    )


def every_naming(form: str) -> Iterator[Mapping[str, str]]:
    """All ways to name the wires; of eight, one of each way that is different."""
    used = NAMES[: COUNT[form]]
    seen = set()
    for order in permutations(used):
        renamed = dict(zip(used, order, strict=True))
        key = true_shape(form, renamed)
        if COUNT[form] < 8 or key not in seen:
            seen.add(key)
            yield renamed


# ---------------------------------------------------------------- right on every wiring


@pytest.mark.parametrize("form", OF_STEPPERS)
@pytest.mark.parametrize("ohms", [2.0, 4.8, 30.0, 150.0])
def test_every_wiring_of_a_stepper_is_told(form: str, ohms: float) -> None:
    """With 5 % of noise and half an ohm of leads that nobody took off, whatever the names of the wires."""
    for seed, renamed in enumerate(every_naming(form)):
        table = read(scaled(form, ohms), renamed, leads=0.5, noise=meter_noise(seed))
        found = identify(NAMES[: COUNT[form]], table)
        assert found.decided, renamed
        assert found.form == form
        assert shape(found.wirings[0].coils) == true_shape(form, renamed)


def test_so_many_wirings_there_are() -> None:
    """Pairs among 8: 7 x 5 x 3; among 4: 3; five choices of the common wire; 10 x 3 x 3 tapped coils."""
    counted = {form: len({true_shape(form, r) for r in every_naming(form)}) for form in OF_STEPPERS}
    assert list(counted.values()) == [3, 5, 90, 105]


@given(
    st.sampled_from(sorted(CIRCUITS)),
    st.floats(0.1, 500),
    st.floats(0, wires.LEADS),
    st.integers(0, 10**6),
    st.randoms(use_true_random=False),
)
@settings(max_examples=300, deadline=None)
def test_what_it_is_is_never_ruled_out(
    form: str, ohms: float, leads: float, seed: int, rng: random.Random
) -> None:
    """Also with little copper and much lead, where it may be ambiguous, and then says so."""
    used = list(NAMES[: COUNT[form]])
    order = rng.sample(used, len(used))
    renamed = dict(zip(used, order, strict=True))
    table = read(scaled(form, ohms), renamed, leads, meter_noise(seed))
    kept = {pair: r for pair, r in table.items() if rng.random() < 0.7}
    for readings in (table, kept):
        found = identify(used, readings)
        truth = [
            w
            for w in found.wirings
            if w.form == form
            and all(
                math.isclose(w.steps[p][0], r) if p in w.steps else math.isinf(r)
                for p, r in in_steps(form, renamed).items()
            )
        ]
        assert len(truth) == 1


def in_steps(form: str, renamed: Mapping[str, str]) -> dict[Pair, float]:
    return {frozenset(renamed[w] for w in pair): r for pair, r in two_point(CIRCUITS[form]).items()}


@pytest.mark.parametrize("form", sorted(CIRCUITS))
def test_form_is_told_from_a_good_meter(form: str) -> None:
    used = NAMES[: COUNT[form]]
    table = read(scaled(form, 3.3), dict(zip(used, used, strict=True)), 0.0, meter_noise(1, 0.01))
    found = identify(used, table, meter=0.01, leads=0.0)
    assert found.form == form
    assert found.decided


def test_little_copper_behind_much_lead_is_ambiguous() -> None:
    """0.01 ohm behind leads of 0.6: the tap cannot be told from the ends."""
    used = NAMES[:6]
    table = read(
        scaled("two coils with centre taps", 0.01), dict(zip(used, used, strict=True)), 0.6, meter_noise(3, 0)
    )
    found = identify(used, table)
    assert len(found.wirings) > 1
    assert shape(found.wirings[0].coils) != shape(found.wirings[1].coils)
    assert set(found.groups) == {("a", "b", "c"), ("d", "e", "f")}


# ---------------------------------------------------------------- few readings


@pytest.mark.parametrize(("form", "at_most"), [
    ("two coils", 4), ("two coils, their centre taps joined", 8),
    ("two coils with centre taps", 11), ("four half-coils", 18),
])  # fmt: skip
def test_pairs_worth_measuring_lead_to_the_answer(form: str, at_most: int) -> None:
    """Reading what it asks for next decides, with fewer readings than there are pairs."""
    used = NAMES[: COUNT[form]]
    rng = random.Random(7)
    for seed in range(30):
        renamed = dict(zip(used, rng.sample(used, len(used)), strict=True))
        all_readings = read(scaled(form, 5.0), renamed, 0.3, meter_noise(seed))
        table: dict[Pair, float] = {}
        found: Reading = identify(used, table)
        while found.next_pairs:
            table[found.next_pairs[0]] = all_readings[found.next_pairs[0]]
            found = identify(used, table)
        assert found.decided
        assert shape(found.wirings[0].coils) == true_shape(form, renamed)
        assert len(table) <= at_most < math.comb(len(used), 2) + (form == "two coils")


# ---------------------------------------------------------------- coils, and what fits nothing


def test_coil_resistance_is_that_of_a_half() -> None:
    table = read(
        scaled("two coils with centre taps", 4.8),
        dict(zip(NAMES, NAMES, strict=True)),
        0.0,
        meter_noise(1, 0),
    )
    found = identify(NAMES[:6], table, meter=0.01)
    ohms = wires.coil_resistance(found.wirings[0], table, 0, meter=0.01)
    assert ohms is not None
    assert (ohms.lo, ohms.hi) == pytest.approx((4.8 * 0.99, 4.8 * 1.01))
    assert not wires.unlike_coils(found.wirings[0], table)


def test_coil_with_shorted_turns_is_told() -> None:
    table = {frozenset("ab"): 2.0, frozenset("cd"): 3.1, frozenset("ac"): math.inf}
    found = identify("abcd", table)
    assert found.decided
    assert wires.unlike_coils(found.wirings[0], table)


def test_a_broken_coil_fits_nothing() -> None:
    pairs = map(frozenset, combinations("abcd", 2))
    found = identify("abcd", {p: 2.0 if p == frozenset("ab") else math.inf for p in pairs})
    assert found.wirings == ()
    assert found.groups == (("a", "b"), ("c",), ("d",))


@pytest.mark.parametrize("count", [1, 7, 9])
def test_no_motor_has_so_many_wires(count: int) -> None:
    with pytest.raises(FitterError, match="fit no motor"):
        identify([str(n) for n in range(count)], {})


@pytest.mark.parametrize(
    "table", [{frozenset("ax"): 1.0}, {frozenset("ab"): -1.0}, {frozenset("ab"): math.nan}]
)
def test_senseless_readings_are_refused(table: Mapping[Pair, float]) -> None:
    with pytest.raises(FitterError):
        identify("abcd", table)
