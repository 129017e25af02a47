"""What a kind of part is: its ratings, how unknown ones are bounded, and the ways it can be used.

A kind is one :class:`Kind` object in a registry. A part in stock names its kind and states what is
known; :meth:`Kind.complete` fills every other rating with the plausible range of that kind,
narrowed by what the known ones imply; :meth:`Kind.offers` lists the ways the part can be used.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from fitter.intervals import Interval
from fitter.ratings import WIDE, Evidence, Rating

if TYPE_CHECKING:
    from fitter.stock.lots import Lot

Ratings = Mapping[str, Rating]
CERTAIN = (Evidence.MEASURED, Evidence.DATASHEET)  # what nobody need measure again
USE = " / "  # between a lot and one of its uses
WHOLE_UNIT = -1  # the rail of an offer that needs a unit for itself
UNLIMITED = Rating(float("inf"), float("inf"), float("inf"), Evidence.DATASHEET)


@dataclass(frozen=True, eq=False)
class Spec:
    """One rating that a kind has; it is the same only as itself, which makes it quick to look up.

    ``plausible`` is the range found in practice, in the units people write; ``minutes`` is what
    it takes to measure the rating at the bench with ``how``; ``window`` marks an operating range
    (both ends hold at once), ``choices`` a rating that is one of a few words.
    """

    quantity: str
    plausible: str = ""
    help: str = ""
    tolerance: str = "electrical"
    minutes: float = 5.0
    how: str = ""
    window: bool = False
    plausible_high: str = ""
    choices: tuple[str, ...] = ()
    likely: str = ""

    @cached_property
    def range(self) -> Interval:
        """Plausible range in SI; of a window, of its low end."""
        return _range(self.plausible, self.quantity)

    @cached_property
    def high_range(self) -> Interval:
        """Plausible range of a window's high end in SI."""
        return _range(self.plausible_high, self.quantity)

    def unknown(self) -> Rating:
        """The rating when nothing is known; the same object each time."""
        return self._unknown

    @cached_property
    def _unknown(self) -> Rating:
        if self.choices:
            codes = [choice_code(self.choices, c) for c in self.choices]
            likely = choice_code(self.choices, self.likely) if self.likely else min(codes)
            return Rating(min(codes), max(codes), likely, Evidence.UNKNOWN)
        return _unknown(self.range, self._likely(self.range))

    def unknown_window(self) -> tuple[Rating, Rating]:
        """Both ends of an operating window when nothing is known."""
        return _unknown(self.range, None), _unknown(self.high_range, None)

    def _likely(self, of: Interval) -> float | None:
        from fitter.units import parse

        return parse(self.likely, self.quantity) if self.likely else None


def choice_code(choices: tuple[str, ...], word: str) -> float:
    """The number that stands for a word: its place among the choices (no = 0, yes = 1)."""
    return float(choices.index(word))


def _range(text: str, quantity: str) -> Interval:
    from fitter.units import parse

    low, _, high = text.partition("..")
    unit = high.strip().lstrip("0123456789.eE+-").strip()
    low = low if any(c.isalpha() or c in "%°" for c in low) else f"{low} {unit}"
    return Interval(parse(low, quantity), parse(high, quantity))


def _unknown(of: Interval, likely: float | None) -> Rating:
    lo, hi = float(of.lo), float(of.hi)
    if likely is None:
        likely = (lo * hi) ** 0.5 if lo > 0 and hi > 3 * lo and hi != float("inf") else (lo + hi) / 2
    return Rating(lo, hi, likely, Evidence.UNKNOWN)


@dataclass(frozen=True)
class Rule:
    """How one rating follows from others: ``formula`` takes and gives intervals.

    ``strict`` rules are laws (Ohm's); the others are estimates from experience, and their spread
    is part of the formula. A ``usual`` rule says what is common, not what is possible: it moves the
    likely value and leaves the ends alone, so that no check fits by it. An input that is no rating of
    the kind is something seen of the lot, such as its ``mass``. ``likely`` gives the likely value where
    that is not the middle, and ``detail`` says in words what the inputs amount to, such as the class of
    a motor.
    """

    target: str
    inputs: tuple[str, ...]
    formula: Callable[..., Interval]
    reason: str
    strict: bool = False
    usual: bool = False
    likely: Callable[..., float] | None = None
    detail: Callable[..., str] | None = None
    source: str = "common practice, no source"


@dataclass(frozen=True)
class Offer:
    """One way a lot can be used: a coil connection, one rail, n pieces side by side.

    ``sources`` names, for a figure worked out from others, the rating to measure for it. ``rail`` is the
    place of a rail in its unit, or :data:`WHOLE_UNIT` where nothing else may draw on that unit. ``cautions``
    are those of this way to use it; ``owned_only`` marks one for which nobody would buy parts.
    """

    key: str
    label: str
    ratings: Mapping[str, Rating]
    pieces: int = 1
    rail: int | None = None
    sources: Mapping[str, str] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    owned_only: bool = False

    def shown(self, lot: str) -> str:
        """The id of a lot with this way to use it: what candidates are ordered by."""
        return f"{lot}{USE}{self.key}" if self.key else lot


@dataclass(frozen=True)
class Kind:
    """A kind of part as the trade names it."""

    name: str
    ratings: Mapping[str, Spec]
    about: str = ""
    ports: Mapping[str, str] = field(default_factory=dict)
    rules: tuple[Rule, ...] = ()
    rails: Mapping[str, Spec] | None = None
    rails_name: str = "rails"
    derive_offers: Callable[[Lot, Ratings], Iterable[Offer]] | None = None
    refused: str = ""
    refuse: Callable[[Lot], str] | None = None
    derive_refused: Callable[[Lot, Ratings], Iterable[str]] | None = None
    cautions: tuple[str, ...] = ()

    def complete(self, known: Mapping[str, Rating], mass: float | None = None) -> dict[str, Rating]:
        """Every rating of the kind: the known ones as they are, the others bounded.

        A window rating ``name`` appears as ``name.min`` and ``name.max``. ``mass`` is that of one piece, kg.
        """
        result = {**known, **self._nothing_known, **known}
        for rule, narrowed in self.narrowed(result, known, mass):
            result[rule.target] = narrowed
        return result

    def narrowed(
        self, ratings: Mapping[str, Rating], known: Mapping[str, Rating], mass: float | None = None
    ) -> Iterator[tuple[Rule, Rating]]:
        """Each rule that says more of a rating than ``ratings`` does by then, and the rating it makes.

        ``ratings`` are all of the kind; whoever takes a result up in them lets later rules use it.
        """
        seen = {"mass": _weighed(mass)} if self._by_mass else {}
        for rule in self.rules:
            if rule.target not in known:
                after = _apply(rule, {**ratings, **seen} if "mass" in rule.inputs else ratings)
                if after is not ratings[rule.target]:
                    yield rule, after

    @cached_property
    def _by_mass(self) -> bool:
        return any("mass" in rule.inputs for rule in self.rules)

    @cached_property
    def _nothing_known(self) -> Mapping[str, Rating]:
        """Every rating as it is when nothing is known."""
        found: dict[str, Rating] = {}
        for name, spec in self.ratings.items():
            if spec.window:
                found[f"{name}.min"], found[f"{name}.max"] = spec.unknown_window()
            else:
                found[name] = spec.unknown()
        return found

    def offers(self, lot: Lot) -> list[Offer]:
        """The ways this lot can be used, each with every rating that a check may read."""
        ratings = self.complete(lot.ratings, lot.mass)
        if self.derive_offers is None:
            return [Offer("", "", ratings)]
        return list(self.derive_offers(lot, ratings))

    def ruled_out(self, lot: Lot) -> list[str]:
        """Ways to use a lot that are not offered, each with its reason."""
        return list(self.derive_refused(lot, self.complete(lot.ratings))) if self.derive_refused else []

    def refusal(self, lot: Lot) -> str:
        """Why this lot is never placed in a build; empty when it may be."""
        if self.refused:
            return self.refused
        return self.refuse(lot) if self.refuse else ""

    def spec(self, path: str) -> Spec | None:
        """The description of a rating, of a window's end, or of a rating of one rail."""
        name = path.rsplit(".", 1)[0] if path.endswith((".min", ".max")) else path
        found = self.ratings.get(name)
        if found is None and self.rails is not None:
            found = self.rails.get(name)
        return found

    def minutes(self, offer: Offer, name: str) -> float:
        """What it takes to measure a rating of an offer that is not certain; zero where nothing is open."""
        rating = offer.ratings[name]
        if rating.lo == rating.hi or rating.evidence in CERTAIN:
            return 0.0
        spec = self.spec(offer.sources.get(name, name).rpartition("].")[2])
        return spec.minutes if spec else 0.0


def _apply(rule: Rule, ratings: Mapping[str, Rating]) -> Rating:
    """The target narrowed by one rule; left alone where the rule knows nothing or contradicts."""
    before = ratings[rule.target]
    implied = implied_by(rule, ratings)
    if implied is None or not implied.lo <= implied.hi:
        return before
    if rule.usual:
        return replace(before, likely=_likely(rule, ratings, implied))
    if implied.lo <= before.lo and implied.hi >= before.hi:
        return before
    likely = _likely(rule, ratings, implied)
    return Rating(float(implied.lo), float(implied.hi), likely, Evidence.ESTIMATED, text=rule.reason)


def implied_by(rule: Rule, ratings: Mapping[str, Rating]) -> Interval | None:
    """What a rule leaves of its target, ``lo > hi`` where it contradicts; none where it knows nothing."""
    sources = [ratings[name] for name in rule.inputs]
    if not any(s.known for s in sources):
        return None
    said = rule.formula(*(s.interval for s in sources))
    if said.lo == -math.inf and said.hi == math.inf:
        return None
    return said.intersect(ratings[rule.target].interval)


def _likely(rule: Rule, ratings: Mapping[str, Rating], implied: Interval) -> float:
    points = [Interval.point(ratings[name].likely) for name in rule.inputs]
    likely = _middle(rule.formula(*points)) if rule.likely is None else rule.likely(*points)
    if not math.isfinite(likely):
        likely = ratings[rule.target].likely
    return min(max(likely, float(implied.lo)), float(implied.hi))


def _middle(of: Interval) -> float:
    """Likely value between two ends: the mean, geometric where they are far apart."""
    lo, hi = float(of.lo), float(of.hi)
    return (lo * hi) ** 0.5 if lo > 0 and hi > WIDE * lo else (lo + hi) / 2


@lru_cache(maxsize=1024)
def _weighed(mass: float | None) -> Rating:
    """A mass as a rating; a lot's mass is the likely value alone, so it is taken to be off by a tenth."""
    if mass is None:
        return Rating(0.0, math.inf, math.inf, Evidence.UNKNOWN)
    return Rating(mass * 0.9, mass * 1.1, mass, Evidence.STATED)


KINDS: dict[str, Kind] = {}


def register(kind: Kind) -> Kind:
    """Add a kind to the registry; two kinds of one name are a fault of the program."""
    key = kind_key(kind.name)
    if key in KINDS:
        raise RuntimeError(f"the kind {kind.name!r} is registered twice")
    KINDS[key] = kind
    return kind


def kind_key(text: str) -> str:
    """A kind's name as written by hand, brought to the registry's form."""
    return " ".join(text.replace("_", " ").replace("-", " ").casefold().split())
