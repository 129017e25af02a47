"""Ratings of a lot that cannot belong together, or hardly, each with the likely cause.

Two sources: the rules of the kind, where what others imply of a stated rating has nothing in common with it;
and checks of their own below, for what no rule bounds. A contradiction never changes an answer: it says where
to look again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping

from fitter.bench.estimates import MASS, mass_of, span
from fitter.intervals import Interval
from fitter.kinds import Rule, Spec, kind_key
from fitter.kinds.priors import Seen, StepperClass, hull, names_of, sized
from fitter.kinds.steppers import NOTHING
from fitter.ratings import Evidence, Rating
from fitter.records import Record
from fitter.stock.lots import Lot

MISREAD = "one of them is misread, or belongs to another part"


class Contradiction(Record):
    """Ratings that cannot belong together; ``certain`` where a law forbids it, not experience."""

    ratings: tuple[str, ...]
    problem: str
    cause: str
    certain: bool = False


_Check = Callable[[Lot], Iterator[Contradiction]]
_CHECKS: dict[str, list[_Check]] = {}


def contradictions(lot: Lot) -> list[Contradiction]:
    """All that cannot be of a lot as it is stated; certain ones first, each set of ratings once.

    >>> from fitter.ratings import parse_rating
    >>> known = {"bore": parse_rating("12 mm", "length"), "outer_diameter": parse_rating("10 mm", "length")}
    >>> [c.problem for c in contradictions(Lot("b1", "ball bearing", ratings=known))]
    ['bore 10.8..13.2 mm in an outer diameter of 9..11 mm']
    """
    found = [c for check in _CHECKS.get(kind_key(lot.kind), ()) for c in check(lot)]
    found += _by_rules(lot)
    found.sort(key=lambda c: not c.certain)
    first: dict[tuple[str, ...], Contradiction] = {}
    for each in found:
        first.setdefault(tuple(sorted(each.ratings)), each)
    return list(first.values())


def _check_of(*kinds: str) -> Callable[[_Check], _Check]:
    def enlist(check: _Check) -> _Check:
        for kind in kinds:
            _CHECKS.setdefault(kind_key(kind), []).append(check)
        return check

    return enlist


# ---------------------------------------------------------------- rules of the kind

_CAUSES: Mapping[tuple[str, str], str] = {
    ("stepper motor", "rated_current"): (
        "the label is for both phases together, or the ohms are end to end instead of a half-coil"
    ),
    ("stepper motor", "resistance"): "ohms end to end instead of a half-coil",
    ("stepper motor", "holding_torque"): (
        "kg cm read as N m or the like, torque behind a gear, or the wrong frame or length"
    ),
    ("stepper motor", "inductance"): "measured end to end instead of a half-coil, or in other units",
    ("stepper motor", "frame_width"): "the frame is named by its bolts: measure the body across the flats",
    ("stepper motor", "body_length"): "measured with the shaft or a gear on it",
    ("dc motor", "torque_constant"): "run at another voltage than the rated one, or speed behind a gear",
    ("dc gearmotor", "gear_ratio"): "one speed is that of the motor and one that of the output, mixed up",
    ("transformer", "apparent_power"): "iron of another transformer, a toroid, or watts of the whole machine",
}


def _by_rules(lot: Lot) -> Iterator[Contradiction]:
    """Stated ratings that have nothing in common with what other stated ones imply."""
    kind = lot.kind_of_part
    stated = {n for n, r in lot.ratings.items() if r.known} | ({"mass"} if lot.mass is not None else set())
    rules = [r for r in kind.rules if r.target in stated and stated & {*r.inputs} - {r.target}]
    if not rules:
        return
    ratings = {**kind.complete(lot.ratings, lot.mass), "mass": mass_of(lot)}
    for rule in rules:
        implied = rule.formula(*(ratings[name].interval for name in rule.inputs))
        if rule.usual:  # what is usual has exceptions
            implied = Interval(implied.lo * (0.8 if implied.lo > 0 else 1), implied.hi * 1.25)
        have = lot.ratings[rule.target]
        if implied.lo <= implied.hi and not _meet(implied, have.interval):
            yield _broken(lot, rule, implied, ratings)


def _broken(lot: Lot, rule: Rule, implied: Interval, ratings: Mapping[str, Rating]) -> Contradiction:
    kind = lot.kind_of_part
    by = [n for n in rule.inputs if ratings[n].known and ratings[n].evidence is not Evidence.ESTIMATED]
    shown = ", ".join(f"{_words(n)} {_value(lot, n, ratings[n])}" for n in by)
    spec = kind.ratings[rule.target]
    problem = f"{_words(rule.target)} {_value(lot, rule.target, lot.ratings[rule.target])}, "
    problem += f"but {shown} {'gives' if len(by) == 1 else 'give'} {_said(implied, spec)}"
    cause = _CAUSES.get((kind.name, rule.target), MISREAD)
    return Contradiction((rule.target, *by), problem, cause, rule.strict)


def _said(of: Interval, spec: Spec) -> str:
    if spec.choices:
        return spec.choices[int(of.lo)]
    return span(of, spec)


def _value(lot: Lot, name: str, rating: Rating) -> str:
    spec = MASS if name == "mass" else lot.kind_of_part.ratings[name]
    return _said(rating.interval, spec)


def _words(name: str) -> str:
    return name.replace("_", " ")


def _meet(a: Interval, b: Interval) -> bool:
    slack = 1e-9
    return bool(a.lo * (1 - slack) <= b.hi and b.lo * (1 - slack) <= a.hi)


# ---------------------------------------------------------------- checks of their own


def _stated(lot: Lot, *names: str) -> list[Interval] | None:
    """What is stated of all these ratings; none where one is not."""
    found = [lot.ratings.get(name) for name in names]
    if any(r is None or not r.known for r in found):
        return None
    return [r.interval for r in found if r is not None]


def _shown(lot: Lot, name: str) -> str:
    return f"{_words(name)} {_value(lot, name, lot.ratings[name])}"


def _too_large(lot: Lot, name: str, limit: Interval, text: str, cause: str) -> Iterator[Contradiction]:
    """A stated rating whose least value is above the greatest that is allowed."""
    if lot.ratings[name].lo > limit.hi:
        yield Contradiction((name,), f"{_shown(lot, name)} {text}", cause, True)


@_check_of("stepper motor")
def _stepper_class(lot: Lot) -> Iterator[Contradiction]:
    """Ohms and mass that no stepper of that size and build has."""
    ratings = lot.kind_of_part.complete(lot.ratings, None)
    width, length, step = (ratings[n].interval for n in ("frame_width", "body_length", "step_angle"))
    classes = [c for of in sized(Seen(width, length, step, NOTHING, NOTHING)) for c in of.classes]
    if not classes:
        return
    seen = tuple(n for n in ("frame", "frame_width", "body_length", "step_angle") if n in lot.ratings)
    if "resistance" in lot.ratings:
        cause = "a can type, ohms end to end instead of a half-coil, a bad contact, or a coil that is broken"
        yield from _not_of_class(lot, "resistance", lot.ratings["resistance"], classes, seen, cause)
    if lot.mass is not None:
        lighter = lot.mass < min(float(c.mass.lo) for c in classes)
        cause = "a can type or a smaller frame" if lighter else "weighed with its gear, bracket or wires"
        yield from _not_of_class(lot, "mass", mass_of(lot), classes, seen, cause)


def _not_of_class(
    lot: Lot, name: str, have: Rating, classes: list[StepperClass], seen: tuple[str, ...], cause: str
) -> Iterator[Contradiction]:
    spec = MASS if name == "mass" else lot.kind_of_part.ratings[name]
    usual = hull([c.mass if name == "mass" else c.ohms for c in classes])
    if not _meet(usual, have.interval):
        what = "such motors" if len(classes) > 3 else f"a {names_of(tuple(classes))}"
        sizes = ", ".join(_shown(lot, n) for n in seen)
        problem = f"{_words(name)} {span(have.interval, spec)}, but {what} ({sizes}) has {span(usual, spec)}"
        yield Contradiction((name, *seen), problem, cause)


@_check_of("stepper motor")
def _steps(lot: Lot) -> Iterator[Contradiction]:
    """A turn is a whole number of steps."""
    if (found := _stated(lot, "step_angle")) and found[0].lo > 0:
        least, most = 2 * math.pi / float(found[0].hi), 2 * math.pi / float(found[0].lo)
        if math.ceil(least - 0.05) > math.floor(most + 0.05):
            problem = f"{_shown(lot, 'step_angle')} is no whole number of steps a turn"
            yield Contradiction(("step_angle",), problem, "geared, or miscounted", True)


@_check_of("stepper motor")
def _lead_count(lot: Lot) -> Iterator[Contradiction]:
    found = _stated(lot, "wires")
    if found and found[0].exact and found[0].lo not in (4, 5, 6, 8):
        cause = "a wire of a sensor or screen among them, or one that is torn off"
        yield Contradiction(("wires",), f"{found[0].lo:g} wires", cause)


@_check_of("dc gearmotor")
def _geared_torque(lot: Lot) -> Iterator[Contradiction]:
    if found := _stated(lot, "output_torque", "stall_torque", "gear_ratio"):
        output, stall, ratio = found
        if output.lo > float(stall.hi) * float(ratio.hi):
            problem = f"{_shown(lot, 'output_torque')} is more than {_shown(lot, 'stall_torque')} times ratio"
            cause = "the stall torque is that of the output, or units are mixed up"
            yield Contradiction(("output_torque", "stall_torque", "gear_ratio"), problem, cause, True)


@_check_of("adapter")
def _open_and_label(lot: Lot) -> Iterator[Contradiction]:
    """Open volts far above the label mean that it is not regulated."""
    found = _stated(lot, "open_voltage", "voltage")
    if not found or lot.ratings.get("regulated", NO).hi == 0:
        return
    ratio = found[0] / found[1]
    both = f"{_shown(lot, 'open_voltage')} at a label of {_value(lot, 'voltage', lot.ratings['voltage'])}"
    if ratio.lo > OPEN_OVER_LABEL:
        stated = "regulated" in lot.ratings
        cause = "it is not regulated: write `regulated: no`, and keep it from parts that stand little more"
        yield Contradiction(
            ("open_voltage", "voltage", *(["regulated"] if stated else [])), both, cause, stated
        )
    elif ratio.hi < 0.9:
        yield Contradiction(("open_voltage", "voltage"), both, "it is broken, gives AC, or has another label")


NO = Rating(0.0, 1.0, 0.0, Evidence.UNKNOWN)
OPEN_OVER_LABEL = 1.2  # common practice, no source


@_check_of("switch-mode supply")
def _rails_and_total(lot: Lot) -> Iterator[Contradiction]:
    yield from _each_within(lot, "total_power", "rails", "watts of one rail, or of the input, on the label")


@_check_of("transformer")
def _windings_and_total(lot: Lot) -> Iterator[Contradiction]:
    yield from _each_within(lot, "apparent_power", "secondaries", "current for a short time, or mixed up")


def _each_within(lot: Lot, total: str, place: str, cause: str) -> Iterator[Contradiction]:
    """No rail gives more than the whole."""
    found = _stated(lot, total)
    for number, rail in enumerate(lot.rails, start=1):
        volts, amps = rail["voltage"], rail["current"]
        if found and volts.known and amps.known and volts.lo * amps.lo > float(found[0].hi):
            names = (total, f"{place}[{number}].voltage", f"{place}[{number}].current")
            least = span(Interval.point(volts.lo * amps.lo), lot.kind_of_part.ratings[total])
            problem = f"{place}[{number}] gives {least} at least, but {_shown(lot, total)}"
            yield Contradiction(names, problem, cause, True)


# Volts of a cell, empty to full, in the order of the choices; common practice, no source.
_CELL = {
    "lead-acid": (1.7, 2.45),
    "nickel-metal hydride": (0.9, 1.55),
    "lithium-ion": (2.5, 4.25),
    "lithium iron phosphate": (2.0, 3.7),
    "alkaline": (0.8, 1.65),
}


@_check_of("battery pack")
def _cells(lot: Lot) -> Iterator[Contradiction]:
    """Volts of the pack over its cells must be those of its chemistry."""
    found = _stated(lot, "chemistry", "cells", "voltage.min", "voltage.max")
    if not found or not found[0].exact:
        return
    low, high = _CELL[lot.kind_of_part.ratings["chemistry"].choices[int(found[0].lo)]]
    cells, empty, full = found[1:]
    if full.lo > high * float(cells.hi) * 1.02 or empty.hi < low * float(cells.lo) * 0.98:
        volts = f"voltage {span(Interval(empty.lo, full.hi), lot.kind_of_part.ratings['voltage'])}"
        usual = f"{low * float(cells.lo):.3g}..{high * float(cells.hi):.3g} V"
        problem = f"{volts}, but {cells.hi:g} cells have {usual}"
        cause = "another chemistry, a cell miscounted, or cells side by side"
        yield Contradiction(("voltage", "cells", "chemistry"), problem, cause)


# Rated volts in which electrolytic capacitors are made; common practice, no source.
_PRINTED = (
    4,
    6.3,
    10,
    16,
    25,
    35,
    40,
    50,
    63,
    75,
    80,
    100,
    160,
    180,
    200,
    220,
    250,
    315,
    350,
    385,
    400,
    420,
    450,
)
_MOST_STORED = 1000.0  # joule; nothing a maker has stores more; common practice, no source


@_check_of("capacitor")
def _capacitor(lot: Lot) -> Iterator[Contradiction]:
    found = _stated(lot, "max_voltage")
    if found and not any(found[0].lo <= v * 1.02 and v * 0.98 <= found[0].hi for v in _PRINTED):
        cause = "a figure misread, or the volts it was found at instead of those printed"
        yield Contradiction(
            ("max_voltage",),
            f"none is made for {_value(lot, 'max_voltage', lot.ratings['max_voltage'])}",
            cause,
        )
    both = _stated(lot, "capacitance", "max_voltage")
    if both and float(both[0].lo) * float(both[1].lo) ** 2 / 2 > _MOST_STORED:
        problem = f"{_shown(lot, 'capacitance')} at {_shown(lot, 'max_voltage')} would store more than 1000 J"
        yield Contradiction(("capacitance", "max_voltage"), problem, "uF read as mF, or volts misread")


@_check_of("timing belt")
def _whole_teeth(lot: Lot) -> Iterator[Contradiction]:
    """A closed belt has a whole number of teeth."""
    found = _stated(lot, "length", "belt_pitch", "closed")
    if found and found[2].lo == 1:
        teeth = found[0] / found[1]
        if math.ceil(float(teeth.lo) - 0.02) > math.floor(float(teeth.hi) + 0.02):
            problem = f"{_shown(lot, 'length')} is {float(teeth.lo):.4g}..{float(teeth.hi):.4g} teeth of "
            problem += f"{_value(lot, 'belt_pitch', lot.ratings['belt_pitch'])}, no whole number"
            cause = "another pitch (2.000, 2.032 and 2.073 mm look alike), or the teeth miscounted"
            yield Contradiction(("length", "belt_pitch", "closed"), problem, cause, True)


@_check_of("pulley")
def _pulley_bore(lot: Lot) -> Iterator[Contradiction]:
    if found := _stated(lot, "bore", "belt_pitch", "teeth"):
        across = found[1] * found[2] * (1 / math.pi)
        text = f"in a pulley of {float(across.hi) * 1e3:.3g} mm pitch diameter"
        yield from _too_large(lot, "bore", across, text, "another pitch, or outside taken for bore")


@_check_of("gear")
def _gear_bore(lot: Lot) -> Iterator[Contradiction]:
    if found := _stated(lot, "bore", "module", "teeth"):
        root = found[1] * (found[2] - 2.5)
        text = f"in a gear of {float(root.hi) * 1e3:.3g} mm at the foot of its teeth"
        yield from _too_large(lot, "bore", root, text, "another module, or teeth miscounted")


@_check_of("ball bearing")
def _bearing(lot: Lot) -> Iterator[Contradiction]:
    if _stated(lot, "bore", "outer_diameter"):
        outer = _value(lot, "outer_diameter", lot.ratings["outer_diameter"])
        if lot.ratings["bore"].likely >= lot.ratings["outer_diameter"].likely:
            problem = f"{_shown(lot, 'bore')} in an outer diameter of {outer}"
            yield Contradiction(("bore", "outer_diameter"), problem, "the two are swapped", True)


@_check_of("lead screw")
def _screw_pitch(lot: Lot) -> Iterator[Contradiction]:
    """Threads side by side are no coarser than about half the diameter."""
    if found := _stated(lot, "lead", "starts", "diameter"):
        pitch = found[0] / found[1]
        if pitch.lo > float(found[2].hi) * 0.55:
            problem = f"{_shown(lot, 'lead')} with {found[1].hi:g} start(s) on {_shown(lot, 'diameter')}"
            yield Contradiction(
                ("lead", "starts", "diameter"), problem, "more starts than counted at the end face"
            )


@_check_of("drawer slide")
def _slide(lot: Lot) -> Iterator[Contradiction]:
    if found := _stated(lot, "travel", "closed_length"):
        limit = found[1] * 1.15
        text = f"is more than a slide of {_value(lot, 'closed_length', lot.ratings['closed_length'])} has"
        yield from _too_large(lot, "travel", limit, text, "length pulled out taken for the travel")


@_check_of("rod")
def _rod_mass(lot: Lot) -> Iterator[Contradiction]:
    """Steel weighs 7.85 g/cm3."""
    found = _stated(lot, "diameter", "length")
    if found and lot.mass is not None:
        steel = found[0] * found[0] * found[1] * (math.pi / 4 * 7850)
        have = mass_of(lot).interval
        if not _meet(Interval(float(steel.lo) * 0.9, steel.hi), have):
            light = have.hi < steel.lo
            cause = (
                "hollow, or not of steel: it sags more"
                if light
                else "weighed with something on it, or misread"
            )
            problem = f"mass {span(have, MASS)}, but solid steel of that size has {span(steel, MASS)}"
            yield Contradiction(("mass", "diameter", "length"), problem, cause)
