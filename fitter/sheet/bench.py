"""The first time under power, what to write down, what to measure, and cautions at their place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from fitter.advice.data import cautions as caution_texts
from fitter.checks.lab import FrontCurrent, JunctionHeat, case_heat
from fitter.checks.rails import RectifiedRail
from fitter.checks.steppers import StepperTorque
from fitter.kinds import kind_key
from fitter.measuring.answers import step_of
from fitter.measuring.models import StepAnswer
from fitter.measuring.truths import CONDITION, open_of
from fitter.models import Ends
from fitter.ratings import Rating
from fitter.recipes import Recipe
from fitter.shed import Shed
from fitter.sheet.drives import holds_current, set_current
from fitter.sheet.models import BoxAnswer, CautionAnswer, DriveAnswer, PowerStep, RailAnswer
from fitter.sheet.views import checks_of, known
from fitter.solve.builds import Build
from fitter.units import show, show_span
from fitter.words import split_path

IDLE_LIMIT = 0.25  # share of a rail's peak that boards without their motors should stay below
LEAST_LIMIT = 0.1  # A; bench supplies set no less with any trust
ROOM = 1.25  # a limit over what is expected, so that it does not trip by itself
_ENDS = ("limit switch", "photo interrupter")
FIRST_LOAD = 0.1  # share of the full current for the first load of a supply
HOT_CASE = 80 + 273.15  # K, of a stepper after twenty minutes; common practice, no source


def first_power(build: Build, rails: Sequence[RailAnswer], drives: Sequence[DriveAnswer]) -> list[PowerStep]:
    """The steps in their order; none for a project without power."""
    if not rails:
        return []
    front = next(checks_of(build, FrontCurrent), None)
    steps = _supply_steps(build, front, rails[0]) if front else _motion_steps(build, rails, drives)
    return [_no_short(), *steps]


def _no_short() -> PowerStep:
    return PowerStep(
        text="Everything off and unplugged: ohms between plus and minus of each rail, both ways round, "
        "and from each rail to the case.",
        expect="no short",
    )


def _volts(ends: Ends) -> str:
    return show_span(ends[0] or 0.0, ends[1] or 0.0, "voltage")


def _limit(amps: float) -> float:
    """A limit to set on a bench supply, two digits."""
    return float(f"{max(LEAST_LIMIT, amps * ROOM):.2g}")


def _motion_steps(
    build: Build, rails: Sequence[RailAnswer], drives: Sequence[DriveAnswer]
) -> Iterator[PowerStep]:
    for rail in rails:
        yield PowerStep(
            text=f"{rail.role} alone, nothing connected: measure volts and polarity at its plug.",
            expect=_volts(rail.voltage),
        )
    moving = {d.motor for d in drives}
    for rail in rails:
        quiet = sum(d.peak for d in rail.draws if d.about.split(" ")[0] not in moving)
        idle = max(quiet, rail.peak * IDLE_LIMIT if quiet < rail.peak else quiet)
        volts = show(rail.likely_voltage, "voltage")
        yield PowerStep(
            text=f"A bench supply in place of {rail.role}, set to {volts}, limit set; motors "
            "unplugged and coils off. Where the limit is reached, switch off and look for the fault.",
            limit=_limit(idle),
            expect="lights on, no part warm",
        )
    yield from _set_currents(build)
    if drives:
        yield PowerStep(
            text="Switch off, wait until every light is out, then plug in the motors. Never plug or unplug a "
            "motor while its driver is powered.",
        )
    for rail in rails:
        yield PowerStep(
            text=f"Bench supply for {rail.role} again: let everything on it run slowly, one after the other.",
            limit=_limit(rail.typical),
            expect=f"about {show(rail.typical, 'current')} with all at work",
        )
    if drives and any(kind_key(p.lot.kind) in _ENDS for p in build.parts.values()):
        yield PowerStep(text="Trip each end sensor by hand while it moves slowly: it must stop.")
    yield _own_supply(rails)
    if drives:
        yield PowerStep(
            text="Run at the speed asked for; after twenty minutes feel motor, driver and supply.",
            expect=f"motor below {show(HOT_CASE, 'temperature')}, supply warm at most",
        )


def _own_supply(rails: Sequence[RailAnswer]) -> PowerStep:
    fuses = ", ".join(f"{rail.role} {show(rail.fuse, 'current')} slow" for rail in rails if rail.fuse)
    return PowerStep(text=f"Now the supply of the set, with its fuse in: {fuses or 'as its maker says'}.")


def _set_currents(build: Build) -> Iterator[PowerStep]:
    parts = known(build)
    for check in checks_of(build, StepperTorque):
        if holds_current(parts, check):
            amps = show(float(set_current(parts, check).lo), "current")
            yield PowerStep(
                text=f"{check.driver}: set its current to {amps} peak, its motor still unplugged, with a "
                "plastic screwdriver or one that is insulated to the tip.",
            )


def _supply_steps(build: Build, front: FrontCurrent, rail: RailAnswer) -> Iterator[PowerStep]:
    output = front.output
    if isinstance(front.rail, RectifiedRail):
        yield PowerStep(
            text="Transformer through a series lamp of 40 to 60 W, bridge and capacitor alone.",
            expect="the lamp flashes once and goes dark",
        )
    yield PowerStep(text="Front end alone: measure its volts and polarity.", expect=_volts(rail.voltage))
    small = output.current * FIRST_LOAD
    yield PowerStep(
        text="Regulator, pass transistor and heat sink connected, fed from a bench supply of "
        f"{show(rail.likely_voltage, 'voltage')} with its limit set, no load: turn the output from end to "
        "end.",
        limit=_limit(small),
        expect=show_span(output.lowest_voltage, output.voltage, "voltage"),
    )
    ohms, watts = output.voltage / small, output.voltage * small
    yield PowerStep(
        text=f"A resistor of about {show(ohms, 'resistance')}, {show(max(1.0, 2 * watts), 'power')}, at the "
        "highest output: the volts must not move by more than a few hundredths.",
        limit=_limit(small),
        expect=show(small, "current"),
    )
    yield PowerStep(
        text="Front end with its fuse in: raise the load in steps to the full current at the lowest output, "
        "the hardest case, and stay there for twenty minutes.",
        limit=rail.fuse,
        expect=_sink_words(build, front),
    )


def _sink_words(build: Build, front: FrontCurrent) -> str:
    """How warm the heat sink may get."""
    check = next(checks_of(build, JunctionHeat), None)
    if check is None:
        return ""
    parts = known(build)
    rise = case_heat(front.rail, check.output, parts) * parts[check.sink]["thermal_resistance"]
    lo, hi = (check.output.ambient + float(end) for end in (rise.lo, rise.hi))
    return f"heat sink {show_span(lo, hi, 'temperature')}"


# ---------------------------------------------------------------- measuring


def measure_steps(shed: Shed, build: Build) -> list[StepAnswer]:
    """What keeps checks open, the most telling first, with how to find it out."""
    found = []
    for path in build.open_ratings:
        lot, rating = split_path(path)
        if lot in shed.stock.places and (step := open_of(shed.lot(lot)).get(rating)):
            found.append(step_of(step))
    return found


def boxes_of(build: Build, measure: Sequence[StepAnswer]) -> list[BoxAnswer]:
    """Ratings to write down: those the state hangs on, then what is read off while powering up."""
    wanted = {(step.lot, step.rating): True for step in measure}
    for role, candidate in build.parts.items():
        if not candidate.bought:
            for rating in _WORTH.get(role.rpartition(".")[2], ()):
                wanted.setdefault((candidate.lot.id, split_path(candidate.path(rating))[1]), False)
    lots = {c.lot.id: c for c in build.parts.values()}
    found = []
    for (lot, rating), decides in wanted.items():
        step = open_of(lots[lot].lot).get(rating) if lot in lots else None
        if step is None:
            continue
        blank = "working" if rating == CONDITION else "____"
        now = "untried" if rating == CONDITION else _known(next(iter(step.ratings.values())), step.spec)
        name = _quoted(rating) if "[" in rating else rating
        command = f"fitter record {_quoted(lot)} {name}={blank}"
        found.append(BoxAnswer(lot=lot, rating=rating, now=now, command=command, decides=decides))
    return found


_WORTH: Mapping[str, tuple[str, ...]] = {
    "supply": ("voltage.low",),
    "motor": ("resistance", "rated_current", "no_load_current"),
}


def _known(rating: Rating, spec: object) -> str:
    quantity = getattr(spec, "quantity", "ratio")
    if getattr(spec, "choices", None):
        return "not known"
    return f"{show_span(rating.lo, rating.hi, quantity)}, {rating.evidence.value}"


def _quoted(word: str) -> str:
    """A lot's id as one word of a shell."""
    return (
        word if word.replace("-", "").replace("_", "").isalnum() else "'" + word.replace("'", "'\\''") + "'"
    )


# ---------------------------------------------------------------- cautions

Place = Literal["supply", "wiring", "running", "parts"]
_PLACES: Mapping[Place, tuple[str, ...]] = {
    "supply": ("mains", "charged capacitor", "battery", "supplies in series", "packs in series"),
    "wiring": ("never unplug motor", "coil kick", "old solder"),
    "running": ("pinch", "hot motor", "hot coil", "spinning parts"),
}


def cautions_at(recipe: Recipe, build: Build) -> list[CautionAnswer]:
    """Each caution once, with its place and the parts that call for it."""
    found: dict[str, list[str]] = {key: [] for key in recipe.cautions}
    for role, part in build.parts.items():
        for key in (*part.lot.kind_of_part.cautions, *part.offer.cautions):
            found.setdefault(key, []).append(role)
    texts = caution_texts()
    return [
        CautionAnswer(key=key, text=texts[key], place=_place(key), roles=list(dict.fromkeys(roles)))
        for key, roles in found.items()
        if key in texts
    ]


def _place(key: str) -> Place:
    return next((place for place, keys in _PLACES.items() if key in keys), "parts")
