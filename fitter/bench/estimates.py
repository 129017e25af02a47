"""What nobody stated of a lot, estimated from what is seen of it, each estimate with its reason.

Estimates come from the rules of the kind, the same that bound unknown ratings when a stock is loaded
(``applied``). Those of *usual* rules say what is common; loading takes only their likely value, so that no
check fits by them. Their band, and what a measured sibling suggests, are for the maker to take or leave.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cache

from fitter.intervals import Interval
from fitter.kinds import Kind, Rule, Spec, kind_key
from fitter.kinds.model import implied_by
from fitter.kinds.priors import priors
from fitter.kinds.supplies import rails_by_power
from fitter.ratings import Evidence, Rating
from fitter.records import Record
from fitter.stock.lots import Lot
from fitter.units import show, show_span

MEASURED = (Evidence.MEASURED, Evidence.DATASHEET)
ALIKE = ("frame", "frame_width", "wires", "body_length")  # what siblings must not differ in
_POWER = {"switch mode supply": "total_power", "transformer": "apparent_power"}


class Estimate(Record):
    """A rating nobody stated: SI interval, likely value, the sentence that explains it, and where it is from.

    ``applied`` says whether the ends hold for every answer already; otherwise only the likely value does
    (of a class), or nothing (of a sibling).
    """

    rating: str
    interval: Interval
    likely: float
    sentence: str
    source: str
    applied: bool


def estimates(lot: Lot, others: Iterable[Lot] = ()) -> list[Estimate]:
    """All estimates for a lot, the narrowest of each rating last.

    Args:
        lot: Whose stated ratings are left alone.
        others: Lots among which siblings are looked for.
    """
    return [*_by_rules(lot), *_by_power(lot), *_by_siblings(lot, others)]


# ---------------------------------------------------------------- rules


def _by_rules(lot: Lot) -> Iterator[Estimate]:
    kind = lot.kind_of_part
    ratings = kind.complete({}) | dict(lot.ratings)
    mass = {"mass": mass_of(lot)}
    for rule, after in kind.narrowed(ratings, lot.ratings, lot.mass):
        band = implied_by(rule, ratings | mass) or after.interval
        sentence = _sentence(kind, rule, ratings | mass, band, after.likely)
        yield Estimate(rule.target, band, after.likely, sentence, rule.source, not rule.usual)
        ratings[rule.target] = after


def mass_of(lot: Lot) -> Rating:
    """The mass of a lot as a rating, taken to be off by a tenth."""
    if lot.mass is None:
        return Rating(0.0, float("inf"), float("inf"), Evidence.UNKNOWN)
    return Rating(lot.mass * 0.9, lot.mass * 1.1, lot.mass, Evidence.STATED)


def _sentence(kind: Kind, rule: Rule, ratings: Mapping[str, Rating], band: Interval, likely: float) -> str:
    spec = kind.ratings[rule.target]
    known = {name: ratings[name] for name in rule.inputs if ratings[name].known}
    by = ", ".join(f"{name.replace('_', ' ')} {_shown(kind, name, r)}" for name, r in known.items())
    detail = rule.detail(*(ratings[name].interval for name in rule.inputs)) if rule.detail else ""
    open_ = [name.replace("_", " ") for name in rule.inputs if name not in known and name != "mass"]
    text = f"{rule.target.replace('_', ' ')} {span(band, spec)}, likely {show(likely, spec.quantity)}, "
    text += f"{rule.reason}: {by}"
    if detail:
        text += f" ({detail})"
    if open_:
        text += f"; narrower with {' and '.join(open_)}"
    return text


def _shown(kind: Kind, name: str, rating: Rating) -> str:
    spec = MASS if name == "mass" else kind.ratings[name]
    if spec.choices:
        return spec.choices[int(rating.likely)]
    return span(rating.interval, spec)


MASS = Spec("mass")


def span(of: Interval, spec: Spec) -> str:
    """An interval in the units of a rating.

    >>> span(Interval(0.2, 0.3), Spec("torque"))
    '0.2..0.3 N m'
    """
    return show_span(float(of.lo), float(of.hi), spec.quantity)


# ---------------------------------------------------------------- the label of a supply


def _by_power(lot: Lot) -> Iterator[Estimate]:
    """Currents of rails or windings from the power of the whole."""
    kind = lot.kind_of_part
    power = _POWER.get(kind_key(lot.kind))
    if power is None or kind.rails is None:
        return
    total = kind.complete(lot.ratings, lot.mass)[power]
    for number, (before, after) in enumerate(
        zip(lot.rails, rails_by_power(lot.rails, total), strict=True), start=1
    ):
        amps = after["current"]
        if amps is not before["current"]:
            volts = span(after["voltage"].interval, kind.rails["voltage"])
            watts = span(total.interval, kind.ratings[power])
            have = span(amps.interval, kind.rails["current"])
            sentence = f"current {have}, from the power of the whole: {watts} at {volts}"
            place = f"{kind.rails_name}[{number}].current"
            yield Estimate(place, amps.interval, amps.likely, sentence, "power is volts times amperes", True)


# ---------------------------------------------------------------- siblings


def siblings(lot: Lot, others: Iterable[Lot]) -> list[Lot]:
    """Lots that look like a lot: same donor and kind, nothing seen that differs, ohms that agree."""
    return [other for other in others if other.id != lot.id and _alike(lot, other)]


def _alike(a: Lot, b: Lot) -> bool:
    same_origin = a.donor and a.donor == b.donor and kind_key(a.kind) == kind_key(b.kind)
    if not same_origin or not {"resistance"} & a.ratings.keys() & b.ratings.keys():
        return False
    within = float(priors()["siblings"]["ohms"])
    one, two = (lot.ratings["resistance"].likely for lot in (a, b))
    if abs(one - two) > within * max(one, two):
        return False
    shared = [n for n in ALIKE if n in a.ratings and n in b.ratings]
    return all(_meet(a.ratings[n], b.ratings[n]) for n in shared)


def _meet(a: Rating, b: Rating) -> bool:
    return a.lo <= b.hi and b.lo <= a.hi


def _by_siblings(lot: Lot, others: Iterable[Lot]) -> Iterator[Estimate]:
    for other in siblings(lot, others):
        for name, rating in other.ratings.items():
            spec = lot.kind_of_part.spec(name)
            if name in lot.ratings or spec is None or spec.choices or spec.window:
                continue
            if rating.evidence in MEASURED:
                yield _from_sibling(other, name, rating, spec)


def _from_sibling(other: Lot, name: str, rating: Rating, spec: Spec) -> Estimate:
    by = _spread(spec.tolerance) if spec.quantity != "count" else 0.0
    band = Interval(rating.lo * (1 - by), rating.hi * (1 + by))
    sentence = (
        f"{name.replace('_', ' ')} {span(band, spec)}: {other.id} from the same {other.donor} looks alike "
        f"and has {span(rating.interval, spec)} ({rating.evidence.value})"
    )
    return Estimate(name, band, rating.likely, sentence, f"sibling {other.id}", False)


@cache
def _spread(tolerance: str) -> float:
    of = priors()["siblings"]
    return float(of.get(tolerance, of["other"]))
