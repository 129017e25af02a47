"""Telling parts apart at the bench: which wire is which, and cards for boards and unlabelled supplies."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from pydantic import Field

from fitter.advice.data import cautions
from fitter.advice.procedures import Procedure, procedures
from fitter.bench import connections, wires
from fitter.bench.connections import Connection
from fitter.bench.readings import reading_interval, readings_for
from fitter.bench.wires import Pair, Wiring
from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.kinds import KINDS, kind_key
from fitter.models import Answer, Ends, unit_of_quantity
from fitter.physics import supplies
from fitter.units import parse, show_span

SHOWN = 6  # wirings told where several are left
_OPEN = ("inf", "infinite", "open", "ol", "o.l", "o.l.", "-", "1.", "none", "∞")
_PAIR = re.compile(r"([^-=:]+)[-:]([^-=:]+)=(.+)")


class CoilAnswer(Answer):
    """A coil as it is found: ends, tap, and ohms of one half-coil (of the coil where it has no halves)."""

    ends: list[str]
    tap: list[str]
    resistance: Ends | None
    unit: str = "ohm"


class ConnectionAnswer(Answer):
    """One way to connect the motor, with the wires named."""

    name: str
    how: str
    driver: str


class QuestionAnswer(Answer):
    """What ohms cannot tell, and the trial that does."""

    question: str
    trial: str


class WiresAnswer(Answer):
    """Which wire is which.

    *clear*: nothing is left open. *ambiguous*: several wirings fit, or something that matters cannot be told
    by ohms. *no match*: no motor reads so.
    """

    wires: list[str]
    state: Literal["clear", "ambiguous", "no match"]
    form: str = Field(description="what it is; empty where several forms fit, or none")
    coils: list[CoilAnswer]
    connections: list[ConnectionAnswer]
    questions: list[QuestionAnswer]
    candidates: list[str] = Field(description="what fits the readings, where that is more than one wiring")
    measure_next: list[str] = Field(description="pairs whose ohms would decide, the best first")
    groups: list[list[str]] = Field(description="wires that conduct to each other")
    notes: list[str]


class FindingAnswer(Answer):
    """What readings say of a rating."""

    kind: str
    rating: str
    value: Ends
    unit: str
    sentence: str


class StepsAnswer(Answer):
    """One procedure of a card."""

    code: str
    title: str
    minutes: float
    tools: list[str]
    steps: list[str]
    readings: dict[str, str]
    formula: str
    mind: list[str]


class CardAnswer(Answer):
    """A card to work through at the bench, and what the readings given say."""

    title: str
    procedures: list[StepsAnswer]
    findings: list[FindingAnswer]
    cautions: dict[str, str]


# ---------------------------------------------------------------- readings as typed


def parse_readings(words: Iterable[str]) -> tuple[list[str], dict[Pair, float]]:
    """``1-2=3.1`` words as the wires in order of their names, and ohms between pairs.

    Raises:
        FitterError: Not of that form, no resistance, a pair read twice, or a wire with itself.

    >>> parse_readings(["red-blue=3.1", "red-black=inf"])[0]
    ['red', 'blue', 'black']
    """
    names: dict[str, None] = {}
    table: dict[Pair, float] = {}
    for word in words:
        match = _PAIR.fullmatch(word.strip())
        if match is None:
            expected = "two wires and the ohms between them, such as 1-2=3.1 or red-blue=open"
            raise FitterError("not a reading", got=word.strip()[:60], expected=expected)
        a, b, ohms = (part.strip() for part in match.groups())
        pair = frozenset((a, b))
        if len(pair) < 2 or pair in table:
            problem = "a wire against itself" if len(pair) < 2 else "this pair is read twice"
            raise FitterError(problem, got=word.strip()[:60], expected="each pair once")
        names |= {a: None, b: None}
        table[pair] = ohms_of(ohms)
    return [*names], table


def ohms_of(text: str) -> float:
    """A resistance as a meter shows it; ``open``, ``inf``, ``OL`` and ``-`` mean that nothing conducts.

    Raises:
        FitterError: No resistance.

    >>> ohms_of("2k2"), ohms_of("OL"), ohms_of("3,1")
    (2200.0, inf, 3.1)
    """
    if text.casefold() in _OPEN:
        return math.inf
    plain = re.fullmatch(r"[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+", text)
    return parse(f"{text.rstrip('.,')} ohm" if plain else text, "resistance")


def readings_of_text(text: str) -> list[str]:
    """The readings of a file: one or more a line, and what follows ``#`` is left out.

    >>> readings_of_text("1-2=3.1  # red, blue\\n1-3=open, 2-3=open")
    ['1-2=3.1', '1-3=open', '2-3=open']
    """
    lines = (re.sub(r"\s*=\s*", "=", line.partition("#")[0]) for line in text.splitlines())
    return [word for line in lines for word in re.split(r"[;\s]+|,(?=\s*[^-=,;\s]+[-:])", line) if word]


# ---------------------------------------------------------------- wires


def identify_wires(
    words: Sequence[str], *, count: int | None = None, meter: float = wires.METER, leads: float | None = None
) -> WiresAnswer:
    """Which wire is which, from readings as typed.

    Args:
        words: Such as ``1-2=3.1``.
        count: How many wires there are, where some stand in no reading; these count as further ones.
        meter: Share by which the meter may be off.
        leads: Ohms of the test leads, where they are known.

    Raises:
        FitterError: A reading that is none, or so many wires as no motor has.
    """
    names, table = parse_readings(words)
    if count is not None:
        if count < len(names):
            raise FitterError(f"{len(names)} wires stand in the readings", got=str(count), field="--wires")
        names += [str(n) for n in range(1, 2 * count + 1) if str(n) not in names][: count - len(names)]
    return answer_of(names, table, meter=meter, leads=leads)


def answer_of(
    names: Sequence[str],
    table: Mapping[Pair, float],
    *,
    meter: float = wires.METER,
    leads: float | None = None,
) -> WiresAnswer:
    """Which wire is which, from a table of ohms."""
    found = wires.identify(names, table, meter=meter, leads=leads)
    only = found.wirings[0] if found.decided else None
    net = {p: max(ohms - (leads or 0.0), 0.0) for p, ohms in table.items()}
    questions = (
        [QuestionAnswer(question=q.question, trial=q.trial) for q in connections.questions(only)]
        if only
        else []
    )
    unread = list(connections.unread(only, table)) if only else []
    return WiresAnswer(
        wires=list(names),
        state=_state(only, bool(found.wirings), bool(questions or unread)),
        form=found.form,
        coils=[_coil(only, i, net, meter) for i in range(len(only.coils))] if only else [],
        connections=[_connection(c) for c in connections.connections(only)] if only else [],
        questions=[QuestionAnswer(question=q.question, trial=q.trial) for q in questions],
        candidates=[] if only else [connections.in_words(w) for w in found.wirings[:SHOWN]],
        measure_next=[
            "-".join(sorted(p, key=list(names).index)) for p in (*found.next_pairs[:SHOWN], *unread)
        ],
        groups=[list(g) for g in found.groups],
        notes=list(connections.notes(only, found.wirings, net)),
    )


def _state(only: Wiring | None, some: bool, open_: bool) -> Literal["clear", "ambiguous", "no match"]:
    if not some:
        return "no match"
    return "clear" if only and not open_ else "ambiguous"


def _connection(of: Connection) -> ConnectionAnswer:
    return ConnectionAnswer(name=of.name, how=of.how, driver=of.driver)


def _coil(wiring: Wiring, number: int, table: Mapping[Pair, float], meter: float) -> CoilAnswer:
    coil = wiring.coils[number]
    ohms = wires.coil_resistance(wiring, table, number, meter=meter)
    ends = (float(ohms.lo), float(ohms.hi)) if ohms else None
    return CoilAnswer(ends=list(coil.ends), tap=list(coil.tap), resistance=ends)


# ---------------------------------------------------------------- cards

_CARDS: Mapping[str, tuple[str, tuple[str, ...], tuple[str, ...]]] = {
    "board": (
        "Brushless motor with its board",
        ("P15", "P10"),
        ("brushless motor with driver",),
    ),
    "supply": (
        "Supply without a label",
        ("P16", "P17", "P21", "P18", "P19"),
        ("switch-mode supply", "adapter", "transformer"),
    ),
}


def card(name: str, given: Mapping[str, str]) -> CardAnswer:
    """A card of steps, and what the readings given say.

    Args:
        name: ``board`` or ``supply``.
        given: Readings by name, each with its unit.

    Raises:
        FitterError: A reading that no step of the card takes, or not of its quantity.
    """
    title, codes, kinds = _CARDS[name]
    shown = [procedures()[code] for code in codes]
    values = _values(shown, given)
    texts = cautions()
    keys = dict.fromkeys(key for p in shown for key in p.cautions)
    return CardAnswer(
        title=title,
        procedures=[_steps(p) for p in shown],
        findings=[*_findings(kinds, codes, values), *_printed_volts(values)],
        cautions={key: texts[key] for key in keys},
    )


def _values(shown: Sequence[Procedure], given: Mapping[str, str]) -> dict[str, float]:
    known = {name: reading for p in shown for name, reading in p.readings.items()}
    values = {}
    for name, text in given.items():
        if name not in known:
            raise FitterError(f"no step takes a reading {name!r}", expected=nearest(name, known))
        values[name] = parse(text, known[name].quantity)
    return values


def _steps(procedure: Procedure) -> StepsAnswer:
    return StepsAnswer(
        code=procedure.code,
        title=procedure.title,
        minutes=procedure.minutes,
        tools=list(procedure.tools),
        steps=list(procedure.steps),
        readings={name: r.about for name, r in procedure.readings.items()},
        formula=procedure.formula,
        mind=list(procedure.mind),
    )


def _findings(
    kinds: Sequence[str], codes: Sequence[str], values: Mapping[str, float]
) -> Iterable[FindingAnswer]:
    """Every rating that the readings suffice for."""
    for kind in kinds:
        for method in readings_for(kind):
            if method.procedure in codes and set(method.inputs) <= set(values):
                spans = {n: reading_interval(method.procedure, n, values[n]) for n in method.inputs}
                found = method.compute(spans)
                yield _finding(kind, method.rating, (float(found.lo), float(found.hi)), method.formula)


def _finding(kind: str, rating: str, ends: tuple[float, float], because: str) -> FindingAnswer:
    of = KINDS[kind_key(kind)]
    spec = of.spec(rating)
    if spec is None or spec.choices:
        words = spec.choices if spec else ()
        text = " or ".join(dict.fromkeys(words[int(e)] for e in ends))
        unit = "1"
    else:
        text, unit = show_span(*ends, spec.quantity), unit_of_quantity(spec.quantity)
    sentence = f"{kind}: {rating.replace('_', ' ')} {text} ({because})"
    return FindingAnswer(kind=kind, rating=rating, value=ends, unit=unit, sentence=sentence)


def _printed_volts(values: Mapping[str, float]) -> Iterable[FindingAnswer]:
    """The rail that the print on its output capacitor allows."""
    if "capacitor_print" in values:
        low, high = supplies.rail_from_capacitor_rating(values["capacitor_print"])
        because = "half to four fifths of the volts on its output capacitor"
        yield _finding("switch-mode supply", "voltage", (float(low), float(high)), because)
