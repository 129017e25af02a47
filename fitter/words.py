"""Plain sentences for checks, ratings and specifications: the words all output shares."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fitter.units import show, show_alike, show_span

if TYPE_CHECKING:
    from fitter.models import CheckAnswer, Ends, LimitAnswer

RISE = "temperature_difference"  # what is needed and had is a rise, not a temperature
_WHAT = {"at least": "need", "at most": "limit", "equal": "need"}


def span(ends: Ends, quantity: str) -> str:
    """An interval as text: one figure when its ends print alike.

    >>> span((0.2, 0.3), "torque")
    '0.2..0.3 N m'
    """
    lo, hi = ends
    if lo is None and hi is None:
        return "any"
    if lo is None:
        return "no limit" if hi is None else f"up to {show(hi, quantity)}"
    if hi is None:
        return f"{show(lo, quantity)} or more"
    return show_span(lo, hi, quantity)


def margin(ends: Ends) -> str:
    """A margin interval as text.

    >>> margin((1.5, None)), margin((0.5, 12.0))
    ('1.5 or more', '0.5..12')
    """
    lo, hi = ends
    if lo is None:
        return "ample"
    if hi is None or hi > 99:
        return "ample" if lo > 99 else f"{lo:.2g} or more"
    low, high = f"{lo:.2g}", f"{hi:.2g}"
    return low if low == high else f"{low}..{high}"


def check_line(check: CheckAnswer) -> str:
    """One check in one line: what, need, have and the reason."""
    text = f"{check.check}: {need_have(check)}"
    return f"{text} ({check.sentence})" if check.sentence else text


def need_have(check: CheckAnswer) -> str:
    """Need and have of a check, as a maker would say it."""
    if check.quantity == "flag":
        return {"fits": "yes", "unproven": "not known", "fails": "no"}[check.verdict]
    need, have = need_and_have(check)
    text = f"{_WHAT[check.sense]} {need}, have {have}"
    if check.quantity == RISE:
        text = f"rises by {need}, may rise by {have}"
    return text + shortfall(check) if check.verdict == "fails" else text


def need_and_have(check: CheckAnswer) -> tuple[str, str]:
    """Need and have of a check in one unit."""
    spans = [(lo, hi) for lo, hi in (check.need, check.have) if lo is not None and hi is not None]
    if len(spans) < 2:
        return span(check.need, check.quantity), span(check.have, check.quantity)
    need, have = show_alike(spans, check.quantity)
    return need, have


def where(check: CheckAnswer) -> str:
    """The roles or the functions a check belongs to, in brackets after its name; empty for many."""
    if len(check.roles) <= 2:
        return f" ({', '.join(check.roles)})"
    functions = dict.fromkeys(r.partition(".")[0] for r in check.roles)
    return f" ({', '.join(functions)})" if len(functions) <= 2 else ""


def cells(check: CheckAnswer) -> tuple[str, str, str]:
    """Need, have and margin of a check for a table; empty where it has no figures."""
    if check.quantity == "flag":
        return "", "", ""
    need, have = need_and_have(check)
    if check.quantity == RISE:
        need, have = f"{need} rise", f"{have} rise"
    elif check.sense == "at most":
        need = f"at most {need}"
    return need, have, margin(check.margin)


def shortfall(check: CheckAnswer) -> str:
    """How far off a failing check is, at best."""
    need, have = check.need, check.have
    if check.sense == "at least" and need[0] is not None and have[1] is not None:
        return f", short by {show(need[0] - have[1], check.quantity)} at best"
    if check.sense == "at most" and need[1] is not None and have[0] is not None:
        return f", over by {show(have[0] - need[1], check.quantity)} at best"
    return ""


_CAUSE = {
    "interrupt": "interrupted",
    "seconds": "the search reached its time limit (--limit-seconds)",
    "nodes": "the search reached its limit of steps (--limit-nodes)",
}


def search_note(stopped_by: str | None, *, stand_in: bool, passes: bool) -> str:
    """How far an answer can be relied on; empty where the search came to its end.

    Args:
        stopped_by: What stopped the search, if anything did.
        stand_in: Whether the set shown was put together at once, without search.
        passes: Whether it passes all checks.
    """
    if stopped_by is None:
        return "put together at once, not searched for: another set may come closer" if stand_in else ""
    cause = _CAUSE[stopped_by]
    if not passes:
        return f"{cause} before a set that passes was found; there may be one"
    if stand_in:
        return f"{cause}: this set was put together at once, a better one may exist"
    return f"{cause}: the sets shown are the best, further ones may exist"


def nothing(stopped_by: str | None) -> str:
    """Why there is no set at all to show."""
    if stopped_by is None:
        return "no part for some role, in stock or in a shop"
    return f"{_CAUSE[stopped_by]} before anything was found"


def trial_line(check: CheckAnswer) -> str:
    """What only the finished thing can tell: a check left open by no rating that could be measured."""
    return f"to see when it runs: {check.check}, {need_have(check)}"


def measure_line(path: str) -> str:
    """What to measure, from a rating path ``lot.rating``; the lot's id may hold dots of its own.

    >>> measure_line("psu.2.rails[1].voltage")
    'to measure: psu.2, voltage of rail 1'
    """
    lot, rating = split_path(path)
    if rating == "condition":
        return f"to try: {lot}, whether it works"
    return f"to measure: {lot}, {rating_words(rating)}"


def split_path(path: str) -> tuple[str, str]:
    """Lot and rating of a rating path."""
    match = _PATH.fullmatch(path)
    return (match[1], match[2]) if match else (path, "")


_PATH = re.compile(r"(.*?)\.((?:(?:rails|secondaries)\[\d+\]\.)?\w+)", re.DOTALL)


def limit(name: str, at: LimitAnswer) -> str:
    """One line of a specification, with the size to ask for where shops carry such."""
    said = _limit(name, at)
    if at.size is None:
        return said
    size = show(at.size, at.quantity)
    ends = [show(e, at.quantity) for e in (at.min, at.max) if e is not None]
    return said if size in ends else f"{said}: ask for {size}"


def _limit(name: str, at: LimitAnswer) -> str:
    label, quantity = rating_words(name), at.quantity
    if quantity == "flag":
        return f"{label}: {'yes' if at.min and at.min > 0.5 else 'no'}"
    if at.min is not None and at.max is not None:
        return f"{label} {span((at.min, at.max), quantity)}"
    if at.min is not None:
        return f"{label} at least {show(at.min, quantity)}"
    return f"{label} at most {show(at.max or 0.0, quantity)}"


_ENDS = {".min": ", lower end", ".max": ", upper end", ".low": " under load", ".high": " without load"}


def rating_words(name: str) -> str:
    """A rating's name as a maker says it.

    >>> rating_words("supply_voltage.max"), rating_words("rails[1].voltage")
    ('supply voltage, upper end', 'voltage of rail 1')
    """
    for end, words in _ENDS.items():
        if name.endswith(end):
            return rating_words(name[: -len(end)]) + words
    place, dot, rest = name.partition("].")
    if dot:
        group, _, number = place.partition("[")
        return f"{rest.replace('_', ' ')} of {'rail' if group == 'rails' else 'winding'} {number}"
    return name.replace("_", " ")
