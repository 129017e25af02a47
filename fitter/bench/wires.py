"""Which wire is which, from a table of resistances between pairs of wires.

Every wiring that a motor with so many wires can have is laid out in all ways of naming its wires, and each
is held against the readings: is there a resistance of the coils, and one of the test leads, with which all
readings come out within the tolerance of the meter? What remains is what the wires can be. One wiring left
is an answer; several are told as *ambiguous*, with the reading or the trial that decides. Some things no
ohm-meter can tell, such as which halves of an 8-wire motor belong to one coil: these are said as questions.

Resistances are multiples of that of one half-coil: a reading is ``(k R + leads)`` within the meter's error.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from itertools import combinations

from fitter.errors import FitterError
from fitter.intervals import Interval
from fitter.records import Record

METER = 0.05  # share of a reading that a cheap meter may be off; common practice, no source
LEADS = 0.6  # ohm, at most, of test leads and clips that nobody took off; common practice, no source
OPEN_FROM = 100e3  # ohm; whatever reads more is not a copper coil
WIRE_COUNTS = (2, 3, 4, 5, 6, 8)
_ROUNDING = 1e-9  # so that a meter off by just as much as it may be is not ruled out
UNLIKE = 1.25  # coils of one motor that differ by more are not both sound; common practice, no source

Pair = frozenset[str]
Table = Mapping[Pair, float]


class Coil(Record):
    """A coil: its two ends, and its taps (the centre tap of one coil, or the point that several share)."""

    ends: tuple[str, ...]
    tap: tuple[str, ...] = ()


class Wiring(Record):
    """One way in which the wires may be joined inside.

    ``steps`` has, for each pair that conducts, the number of half-coils between; ``coil_of`` the coil that
    each such pair lies in, because coils may differ.
    """

    form: str
    coils: tuple[Coil, ...]
    steps: Mapping[Pair, tuple[float, int]]


class Reading(Record):
    """What the wires can be: the wirings that fit the readings, best first, and the pairs worth measuring."""

    wires: tuple[str, ...]
    wirings: tuple[Wiring, ...]
    groups: tuple[tuple[str, ...], ...]
    next_pairs: tuple[Pair, ...]

    @property
    def form(self) -> str:
        """The one form that is left; empty where several or none are."""
        forms = {w.form for w in self.wirings}
        return forms.pop() if len(forms) == 1 else ""

    @property
    def decided(self) -> bool:
        """Whether one wiring is left."""
        return len(self.wirings) == 1


# ---------------------------------------------------------------- all wirings


def wirings(wires: tuple[str, ...]) -> Iterator[Wiring]:
    """Every way to join so many wires inside, each once.

    Raises:
        FitterError: No motor has so many.
    """
    if len(wires) not in WIRE_COUNTS:
        expected = "from 2 to 6 wires, or 8; leave out screens and sensors"
        raise FitterError(f"{len(wires)} wires fit no motor known here", expected=expected)
    yield from _laid_out(wires)


@cache
def _laid_out(wires: tuple[str, ...]) -> tuple[Wiring, ...]:
    forms = {
        2: (_separate_coils,),
        3: (_three_ends,),
        4: (_separate_coils, _star_of_three),
        5: (_common_wire, _rings, _star_of_five),
        6: (_tapped_coils, _separate_coils, _tied_taps),
        8: (_separate_coils,),
    }
    return tuple(w for form in forms[len(wires)] for w in form(wires))


_SEPARATE = {2: "one coil", 4: "two coils", 6: "three coils", 8: "four half-coils"}


def _separate_coils(wires: tuple[str, ...]) -> Iterator[Wiring]:
    """Wires in pairs, nothing between the pairs."""
    for pairs in _pairings(wires):
        steps = {frozenset(p): (1.0, i) for i, p in enumerate(pairs)}
        yield Wiring(_SEPARATE[len(wires)], tuple(Coil(p) for p in pairs), steps)


def _pairings(wires: tuple[str, ...]) -> Iterator[tuple[tuple[str, str], ...]]:
    if not wires:
        yield ()
        return
    first, *rest = wires
    for at, other in enumerate(rest):
        for others in _pairings((*rest[:at], *rest[at + 1 :])):
            yield ((first, other), *others)


def _three_ends(wires: tuple[str, ...]) -> Iterator[Wiring]:
    """Three phases (star and delta look alike from outside), or one coil with its centre tap."""
    alike = {frozenset(p): (2.0, 0) for p in combinations(wires, 2)}
    yield Wiring("three phases", (Coil(wires),), alike)
    for coil in _tapped(wires, 0):
        yield Wiring("one coil with centre tap", (coil[0],), coil[1])


def _tapped(wires: tuple[str, ...], number: int) -> Iterator[tuple[Coil, Mapping[Pair, tuple[float, int]]]]:
    """A coil of three wires, each of them as the centre tap."""
    for tap in wires:
        ends = tuple(w for w in wires if w != tap)
        halves = {frozenset((tap, end)): (1.0, number) for end in ends}
        yield Coil(ends, (tap,)), {**halves, frozenset(ends): (2.0, number)}


def _star(wires: tuple[str, ...], taps: tuple[str, ...], form: str) -> Wiring:
    """Ends that meet in one point, which all the taps are joined to."""
    ends = tuple(w for w in wires if w not in taps)
    steps = {frozenset(p): (2.0, 0) for p in combinations(ends, 2)}
    steps |= {frozenset((end, tap)): (1.0, 0) for end in ends for tap in taps}
    steps |= {frozenset(p): (0.0, 0) for p in combinations(taps, 2)}
    return Wiring(form, (Coil(ends, taps),), steps)


def _star_of_three(wires: tuple[str, ...]) -> Iterator[Wiring]:
    for point in wires:
        yield _star(wires, (point,), "three phases with their common point")


def _common_wire(wires: tuple[str, ...]) -> Iterator[Wiring]:
    for common in wires:
        yield _star(wires, (common,), "two coils, their centre taps joined")


def _star_of_five(wires: tuple[str, ...]) -> Iterator[Wiring]:
    steps = {frozenset(p): (2.0, 0) for p in combinations(wires, 2)}
    yield Wiring("five phases in a star", (Coil(wires),), steps)


def _rings(wires: tuple[str, ...]) -> Iterator[Wiring]:
    """Five phases in a ring: 1 x 4 coils side by side between neighbours, 2 x 3 between the others."""
    first, *rest = wires
    for others in _orders(tuple(rest)):
        ring = (first, *others)
        steps = {
            frozenset((ring[i], ring[j])): (0.8 if j - i in (1, 4) else 1.2, 0)
            for i, j in combinations(range(5), 2)
        }
        yield Wiring("five phases in a ring", (Coil(ring),), steps)


def _orders(rest: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Orders round a ring, each once and not also backwards."""
    from itertools import permutations

    return (order for order in permutations(rest) if order[0] < order[-1])


def _tapped_coils(wires: tuple[str, ...]) -> Iterator[Wiring]:
    first, *rest = wires
    for others in combinations(rest, 2):
        one = (first, *others)
        two = tuple(w for w in wires if w not in one)
        for a, a_steps in _tapped(one, 0):
            for b, b_steps in _tapped(two, 1):
                yield Wiring("two coils with centre taps", (a, b), {**a_steps, **b_steps})


def _tied_taps(wires: tuple[str, ...]) -> Iterator[Wiring]:
    for taps in combinations(wires, 2):
        yield _star(wires, taps, "two coils, their centre taps joined and led out twice")


# ---------------------------------------------------------------- held against readings


def identify(
    wires: Iterable[str], table: Table, *, meter: float = METER, leads: float | None = None
) -> Reading:
    """What wires can be, by the ohms between them.

    Args:
        wires: Their names, 2 to 6 or 8 of them.
        table: Ohms between pairs, infinite where nothing conducts; pairs may be left out.
        meter: Share of a reading by which the meter may be off.
        leads: Ohms of the test leads, contained in every reading; unknown, they are at most :data:`LEADS`.

    Raises:
        FitterError: So many wires fit no motor, or a reading names something else.

    >>> found = identify("abcd", {frozenset("ab"): 2.1, frozenset("cd"): 2.2, frozenset("ac"): math.inf})
    >>> found.decided, [coil.ends for coil in found.wirings[0].coils]
    (True, [('a', 'b'), ('c', 'd')])
    """
    names = tuple(wires)
    _check(names, table)
    resting = Interval(0.0, LEADS) if leads is None else Interval(leads, leads)
    left = tuple(w for w in wirings(names) if _fits(w, table, meter, resting))
    return Reading(names, left, _groups(names, table), _worth_measuring(names, table, left))


def _check(wires: tuple[str, ...], table: Table) -> None:
    for pair, ohms in table.items():
        if len(pair) != 2 or not pair <= set(wires):
            raise FitterError("a reading is between two wires", got="-".join(sorted(pair)))
        if not ohms >= 0:
            raise FitterError("ohms are not below zero", got="-".join(sorted(pair)))


def is_open(ohms: float) -> bool:
    """Whether a reading says that nothing conducts."""
    return ohms >= OPEN_FROM


def _fits(wiring: Wiring, table: Table, meter: float, leads: Interval) -> bool:
    """Whether some ohms of the coils and of the leads give every reading."""
    by_coil: dict[int, list[tuple[float, Interval]]] = {}
    for pair, ohms in table.items():
        if is_open(ohms) != (pair not in wiring.steps):
            return False
        if pair in wiring.steps:
            half_coils, coil = wiring.steps[pair]
            true = Interval(ohms / (1 + meter) * (1 - _ROUNDING), ohms / (1 - meter) * (1 + _ROUNDING))
            by_coil.setdefault(coil, []).append((half_coils, true))
    for readings in by_coil.values():
        leads = _leads_left(readings, leads)
        if leads.lo > leads.hi:
            return False
    return True


def _leads_left(readings: list[tuple[float, Interval]], leads: Interval) -> Interval:
    """The ohms of the leads with which all readings of one coil can be true; ``lo > hi`` for none.

    Each reading says ``lo <= k R + r <= hi``. From two of them ``R`` is eliminated: ``(lo_i - r)/k_i`` must
    not exceed ``(hi_j - r)/k_j``, which bounds ``r`` on one side.
    """
    low, high = float(leads.lo), float(leads.hi)
    for k, span in readings:
        high = min(high, float(span.hi))  # no coil has less than no ohms
        if k == 0:
            low = max(low, float(span.lo))
    for k, lower in readings:
        for other, upper in readings:
            # lower.lo - r over k, at most upper.hi - r over other, both sides times k x other
            slope = k - other
            room = float(upper.hi) * k - float(lower.lo) * other
            if slope > 0:
                high = min(high, room / slope)
            elif slope < 0:
                low = max(low, room / slope)
            elif room < 0:
                return Interval(1.0, 0.0)
    return Interval(low, high)


def _groups(wires: tuple[str, ...], table: Table) -> tuple[tuple[str, ...], ...]:
    """Wires that conduct to each other, as far as the readings tell."""
    group = {wire: {wire} for wire in wires}
    for pair, ohms in table.items():
        if not is_open(ohms):
            a, b = pair
            merged = group[a] | group[b]
            group.update(dict.fromkeys(merged, merged))
    found = {tuple(w for w in wires if w in members) for members in group.values()}
    return tuple(sorted(found, key=lambda members: wires.index(members[0])))


def _worth_measuring(wires: tuple[str, ...], table: Table, left: tuple[Wiring, ...]) -> tuple[Pair, ...]:
    """Pairs not read yet on which the wirings left disagree, the one that splits them most evenly first."""
    if len(left) < 2:
        return ()
    worst: dict[Pair, int] = {}
    for pair in map(frozenset, combinations(wires, 2)):
        if pair not in table:
            counts: dict[float, int] = {}
            for wiring in left:
                foretold = _foretold(wiring, pair, table)
                counts[foretold] = counts.get(foretold, 0) + 1
            if len(counts) > 1:
                worst[pair] = max(counts.values())
    return tuple(sorted(worst, key=lambda p: (worst[p], sorted(map(wires.index, p)))))


def _foretold(wiring: Wiring, pair: Pair, table: Table) -> float:
    """What a pair would read, over the highest reading of its coil so far; infinite where it is open."""
    if pair not in wiring.steps:
        return math.inf
    k, number = wiring.steps[pair]
    read = [of for p, (of, coil) in wiring.steps.items() if coil == number and p in table]
    return round(k / (max(read, default=1.0) or 1.0), 3)


def coil_resistance(wiring: Wiring, table: Table, number: int, *, meter: float = METER) -> Interval | None:
    """Ohms of one half-coil (of the whole coil where there are no halves) by the readings; none without one.

    Args:
        wiring: One that fits the readings.
        table: As for :func:`identify`, test leads taken off.
        number: Of the coil.
        meter: Share of a reading by which the meter may be off.

    Returns:
        The hull of what the readings say, ohm.
    """
    spans = [
        Interval(table[pair] / k * (1 - meter), table[pair] / k * (1 + meter))
        for pair, (k, coil) in wiring.steps.items()
        if coil == number and k > 0 and pair in table
    ]
    hull = spans[0] if spans else None
    for span in spans[1:]:
        hull = span.hull(hull) if hull else span
    return hull


def unlike_coils(wiring: Wiring, table: Table) -> bool:
    """Whether coils differ by more than copper of one motor does: turns are shorted, or it is no motor."""
    found = [coil_resistance(wiring, table, i) for i in {i for _, i in wiring.steps.values()}]
    ohms = [(float(each.lo) + float(each.hi)) / 2 for each in found if each]
    return len(ohms) > 1 and max(ohms) > UNLIKE * min(ohms)
