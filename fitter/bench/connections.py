"""How to connect a motor once its wires are known, and what ohms cannot tell of it, in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from fitter.bench import wires
from fitter.bench.wires import Coil, Pair, Wiring
from fitter.records import Record
from fitter.units import show_span

HIGH_OHMS = 10.0  # of a coil, from which a chopper at 12 V has little left; common practice, no source


class Connection(Record):
    """One way to connect a motor, with its wires named, and what drives it."""

    name: str
    how: str
    driver: str


class Question(Record):
    """What ohms cannot tell, and the trial that does."""

    question: str
    trial: str


def in_words(wiring: Wiring) -> str:
    """A wiring in one line."""
    return f"{wiring.form}: " + ", ".join(map(_coil_words, wiring.coils))


def _coil_words(coil: Coil) -> str:
    ends = " and ".join(coil.ends) if len(coil.ends) == 2 else ", ".join(coil.ends)
    return f"{ends}, tap {' and '.join(coil.tap)}" if coil.tap else ends


_STEPPERS = ("two coils", "two coils with centre taps", "four half-coils")
_CHOPPER = "stepper driver (chopper), or two h-bridges"
_UNIPOLAR = "unipolar driver, or four transistor switches with diodes"


def connections(wiring: Wiring) -> Iterable[Connection]:
    """The ways to connect it that ohms allow to name."""
    first, *rest = wiring.coils
    if wiring.form == "two coils":
        second = rest[0]
        how = f"one bridge on {_and(first.ends)}, the other on {_and(second.ends)}"
        yield Connection(name="bipolar", how=how, driver=_CHOPPER)
    elif wiring.form == "two coils with centre taps":
        second = rest[0]
        one, two = (f"{c.tap[0]} and {c.ends[0]}" for c in (first, second))
        ends = f"one bridge on {_and(first.ends)}, the other on {_and(second.ends)}; {first.tap[0]} and "
        yield Connection(
            name="series", how=f"{ends}{second.tap[0]} left open, each insulated", driver=_CHOPPER
        )
        half = f"one bridge on {one}, the other on {two}; the other ends left open, each insulated"
        yield Connection(name="half coil", how=half, driver=_CHOPPER)
        order = ", ".join(_alternating(first.ends, second.ends))
        taps = f"{first.tap[0]} and {second.tap[0]} to supply plus; ends in the order {order} to the switches"
        yield Connection(name="unipolar", how=taps, driver=_UNIPOLAR)
    elif wiring.form.startswith("two coils, their centre taps joined"):
        how = f"{_and(first.tap)} to supply plus, {_and(first.ends)} to the switches, in an order to be found"
        yield Connection(name="unipolar", how=how, driver=_UNIPOLAR)
    elif wiring.form == "four half-coils":
        how = "two halves of one coil in series, the same way round, to each bridge: 0.71 of the current"
        yield Connection(name="series", how=how, driver=_CHOPPER)
        how = "two halves of one coil side by side, the same way round: 1.41 of the current"
        yield Connection(name="parallel", how=how, driver=_CHOPPER)
        how = "one half of each coil to each bridge, the others left open, each insulated"
        yield Connection(name="half coil", how=how, driver=_CHOPPER)
        how = "halves in series, the joints to supply plus, the outer ends to the switches"
        yield Connection(name="unipolar", how=how, driver=_UNIPOLAR)
    else:
        yield from _no_stepper(wiring)


def _no_stepper(wiring: Wiring) -> Iterable[Connection]:
    """What is no two-phase stepper."""
    first = wiring.coils[0]
    if wiring.form.startswith("three phases"):
        how = f"{_and(first.ends)} in any order; swap two to turn the other way"
        yield Connection(name="three phases", how=how, driver="brushless controller")
    elif wiring.form.startswith("five phases"):
        how = f"{_and(first.ends)} to five half-bridges"
        yield Connection(name="five phases", how=how, driver="driver made for five phases")
    elif wiring.form == "one coil":
        how = f"{_and(first.ends)}; swap them to turn or pull the other way"
        yield Connection(name="one coil", how=how, driver="h-bridge, or switch and diode")
    elif wiring.form == "one coil with centre tap":
        how = f"{first.tap[0]} to supply plus, {_and(first.ends)} switched in turn"
        yield Connection(name="centre tap", how=how, driver="two transistor switches with diodes")
    else:
        how = "one bridge on each of " + "; ".join(_and(c.ends) for c in wiring.coils)
        yield Connection(name="separate coils", how=how, driver="three h-bridges")


def _and(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _alternating(one: Sequence[str], two: Sequence[str]) -> list[str]:
    return [w for pair in zip(one, two, strict=True) for w in pair]


def questions(wiring: Wiring) -> Iterable[Question]:
    """What matters and no ohm-meter can tell."""
    if wiring.form.startswith("two coils, their centre taps joined"):
        ends, plus = wiring.coils[0].ends, wiring.coils[0].tap[0]
        yield Question(
            question=f"which two of {_and(ends)} are the halves of one coil",
            trial=(
                f"{plus} to supply plus through the current limit, {ends[0]} to minus; then each other "
                "end to minus as well: with one of them the shaft turns free again, that is the other half "
                "of the coil; with the other two it moves half a step, one each way, which gives their order"
            ),
        )
    if wiring.form == "four half-coils":
        halves = "; ".join(_and(c.ends) for c in wiring.coils)
        yield Question(
            question=f"which two of the four halves ({halves}) are of one coil, and which way round",
            trial=(
                "meter on DC millivolts across one half, touch a 1.5 V cell to each other half in turn: the "
                "one that makes it kick is its mate; where it kicks to plus as the cell makes contact, the "
                "plus lead of the meter and the plus of the cell are on ends of the same kind"
            ),
        )


def notes(only: Wiring | None, left: Sequence[Wiring], table: Mapping[Pair, float]) -> Iterable[str]:
    if not left:
        yield "no motor reads so: look for a torn or corroded wire, a short, or wires of a sensor among them"
    if only is None:
        return
    if any(unread(only, table)):
        yield "what no reading has shown to conduct follows only if no coil is broken"
    if wires.unlike_coils(only, table):
        yield "the coils differ by more than a quarter: shorted turns in the lower one, or no stepper"
    ohms = wires.coil_resistance(only, table, 0)
    if ohms and ohms.lo >= HIGH_OHMS and only.form in _STEPPERS:
        yield (
            f"coils of {show_span(float(ohms.lo), float(ohms.hi), 'resistance')} eat up a low supply: a "
            "chopper needs one and a half times amperes times ohms, else use plain bridges or switches"
        )
    if only.form in ("two coils", "two coils with centre taps"):
        yield "where it turns the wrong way swap the two ends of one coil"


def unread(wiring: Wiring, table: Mapping[Pair, float]) -> Iterable[Pair]:
    """One pair of each coil that no reading has shown to conduct: it is there only if nothing is broken."""
    for number in range(len(wiring.coils)):
        pairs = [pair for pair, (_, coil) in wiring.steps.items() if coil == number]
        if not any(pair in table for pair in pairs):
            yield pairs[0]
