"""Values as makers type them, brought to the form in which a file has them and read by its grammar."""

from __future__ import annotations

import re
from collections.abc import Mapping

from fitter.entering import lexicon
from fitter.entering.lexicon import NUMBER, plain
from fitter.errors import FitterError
from fitter.kinds import Spec
from fitter.ratings import Rating, parse_rating
from fitter.stock.entries import parsed

MASS = Spec("mass", "0..1000 kg")
NO_UNIT = re.compile(rf"{NUMBER}")
FIGURE = re.compile(r"[<>=≤≥~]*\s*[.,]?[0-9]")
_SIMPLE = re.compile(rf"({NUMBER}) ?([^\d\s.,;<>=+-][^\d,;<>=+]*)(.*)")


def value_of(spec: Spec, text: str, *, named: bool) -> tuple[str, str] | None:
    """A value as it is written into a file, and what was added to it; none where it is not one.

    Args:
        spec: The rating it should be of.
        text: As typed.
        named: The name of the rating stands beside it, so that a unit may be left out.
    """
    words = text.split()
    guess = bool(words) and words[0].casefold() in lexicon.listed("roughly")
    if guess:
        text = " ".join(words[1:])
    elif text.startswith("~"):
        guess, text = True, text[1:]
    text, evidence = _evidence(text)
    if guess and not evidence:
        evidence = "estimated"
    added = ""
    if named and NO_UNIT.fullmatch(text) and (unit := lexicon.unit_left_out().get(spec.quantity)):
        text, added = f"{text} {unit}", f"a number without unit, taken as {unit}"
    elif not named and not spec.choices and NO_UNIT.fullmatch(text):
        return None
    written = f"{spaced(text)}, {evidence}" if evidence else spaced(text)
    return (written, added) if _read(spec, written) is not None else None


def _evidence(text: str) -> tuple[str, str]:
    """A value and the evidence behind it."""
    words = text.split()
    for count in (3, 2, 1):
        meant = lexicon.meanings("evidence").get(plain(" ".join(words[-count:])))
        if meant and len(words) > count:
            return " ".join(words[:-count]).rstrip(" ,"), meant
    return text, ""


def spaced(text: str) -> str:
    """A number and its unit with a blank between them."""
    match = _SIMPLE.fullmatch(text)
    if match is None or match[2].casefold().startswith(("e-", "awg")) or match[3]:
        return text
    return f"{match[1]} {match[2].strip()}" if match[2][0] not in '"%°' else text


def _read(spec: Spec, text: str) -> Mapping[str, Rating] | None:
    try:
        return parsed("it", spec, text)
    except FitterError:
        return None


def plausible(spec: Spec, text: str) -> bool:
    """Whether a value lies in the range found in practice for its rating."""
    found = _read(spec, text)
    if found is None:
        return False
    if spec.choices or spec.window:
        return True
    return float(spec.range.lo) <= found["it"].likely <= float(spec.range.hi)


def is_of(quantity: str, text: str) -> bool:
    """Whether a figure with its unit is one of a quantity."""
    try:
        parse_rating(text, quantity)
    except FitterError:
        return False
    return not NO_UNIT.fullmatch(text)


def may_be_value(text: str) -> bool:
    """Whether a text looks like a figure all of whose words may be units, so that it is worth reading."""
    words = text.split()
    if words and words[0].casefold() in lexicon.listed("roughly"):
        words = words[1:]
    if not words or not FIGURE.match(" ".join(words)):
        return False
    known = lexicon.unit_words() | {"to", "e"}
    body = _evidence(" ".join(words))[0]
    return all(chunk.casefold() in known for chunk in re.findall(r"[^\W\d_]+", body))
