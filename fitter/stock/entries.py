"""One entry of a stock file as a lot, every field checked against its kind."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any

from fitter.documents import Bad, Fields, Items, Node, Text, line_of, nearest, one_line
from fitter.errors import FitterError
from fitter.intervals import Interval
from fitter.kinds import KINDS, Kind, Spec, kind_key
from fitter.ratings import Evidence, Rating, parse_choice, parse_rating, parse_window
from fitter.stock.lots import CONDITIONS, Lot
from fitter.units import QUANTITIES

WORDS = ("name", "bin", "donor", "note", "photo")
PLAIN = ("id", "kind", "count", "condition", "price_new", "mass", *WORDS)
LONGEST_ID = 60
LONGEST_WORDS = 1000
_PRICE = re.compile(r"(?:EUR|€)? ?([0-9]{1,6}(?:[.,][0-9]{1,2})?) ?(?:EUR|€|euros?)?", re.IGNORECASE)
_COUNT = re.compile(r"[0-9]{1,7}")


def read_lot(entry: Node, file: str, problems: list[FitterError]) -> Lot | None:
    """The lot of one entry; what is wrong with it is added to ``problems``, each with its place.

    Args:
        entry: Names and values as written.
        file: Name of the file, for errors.
        problems: Errors are added here; the lot is whole only when there are none.
    """
    if not isinstance(entry, Fields):
        error = entry.error if isinstance(entry, Bad) else FitterError("not a lot")
        if error.expected is None:
            error = FitterError(error.problem, expected="start it with `- id: ...`, its fields below")
        problems.append(error.at(file=file, line=line_of(entry)))
        return None
    return _Reader(entry, file, problems).lot()


class _Reader:
    """Reads the fields of one lot and notes what is wrong with each, with its place."""

    def __init__(self, fields: Fields, file: str, problems: list[FitterError]) -> None:
        self.fields = fields
        self.file = file
        self.problems = problems
        self.id = ""
        self.id = self.word("id")

    def wrong(self, place: str, node: Node, error: FitterError) -> None:
        """Note an error; what is bad YAML already says so itself."""
        if isinstance(node, Bad):
            error = node.error
        lot = self.id or "without id"
        self.problems.append(error.at(file=self.file, line=line_of(node), lot=lot, field=place))

    def word(self, name: str, longest: int = LONGEST_WORDS) -> str:
        """A plain field; empty when it is left out."""
        node = self.fields.get(name)
        if node is None:
            return ""
        if not isinstance(node, Text):
            self.wrong(name, node, _misplaced(node, "one line of text is expected"))
            return ""
        if len(node.text) > longest:
            self.wrong(name, node, FitterError("too long", expected=f"at most {longest} characters"))
            return ""
        return one_line(node.text)

    def lot(self) -> Lot | None:
        self._check_id()
        kind = self._kind()
        plain: dict[str, Any] = {w: self.word(w) for w in WORDS}
        count, condition, price, mass = self._count(), self._condition(), self._price(), self._mass()
        if kind is None:
            return None
        rails = self._rails(kind)
        return Lot(
            id=self.id,
            kind=kind.name,
            count=count,
            **plain,
            condition=condition,
            price_new=price,
            mass=mass,
            ratings=self._ratings(kind),
            rails=rails,
            file=self.file,
            line=self.fields.line,
        )

    def _check_id(self) -> None:
        node = self.fields.get("id", self.fields)
        if isinstance(node, Text) and self.id and len(self.id) > LONGEST_ID:
            self.wrong("id", node, FitterError("too long", expected=f"at most {LONGEST_ID} characters"))
        elif not self.id and (node is self.fields or isinstance(node, Text)):
            self.wrong("id", node, FitterError("no id", expected="give the lot a short id, as on its bag"))

    def _kind(self) -> Kind | None:
        word = self.word("kind")
        node = self.fields.get("kind", self.fields)
        if word and (kind := KINDS.get(kind_key(word))):
            return kind
        if word:
            remedy = nearest(word.replace("_", " ").casefold(), [k.name for k in KINDS.values()])
            self.wrong("kind", node, FitterError(f"unknown kind {word[:40]!r}", expected=remedy))
        elif node is self.fields or isinstance(node, Text):
            remedy = "say what it is, such as `kind: stepper motor`"
            self.wrong("kind", node, FitterError("no kind", expected=remedy))
        return None

    def _count(self) -> int:
        word = self.word("count")
        if not word:
            return 1
        if _COUNT.fullmatch(word):
            return int(word)
        remedy = "a whole number of pieces, 0 or more"
        self.wrong("count", self.fields["count"], FitterError("not a count", got=word[:40], expected=remedy))
        return 0

    def _condition(self) -> str:
        word = self.word("condition").casefold() or CONDITIONS[0]
        if word not in CONDITIONS:
            error = FitterError(f"unknown condition {word[:40]!r}", expected=nearest(word, CONDITIONS))
            self.wrong("condition", self.fields["condition"], error)
        return word

    def _price(self) -> float | None:
        word = self.word("price_new")
        if not word:
            return None
        if match := _PRICE.fullmatch(word):
            return float(match[1].replace(",", "."))
        error = FitterError(
            "not a price in euro", got=word[:40], expected="write it as `8 EUR` or `8.50 EUR`"
        )
        self.wrong("price_new", self.fields["price_new"], error)
        return None

    def _mass(self) -> float | None:
        word = self.word("mass")
        if not word or word.casefold() == Evidence.UNKNOWN:
            return None
        try:
            return parse_rating(word, "mass", plausible=Interval(0.0, math.inf)).likely
        except FitterError as error:
            self.wrong("mass", self.fields["mass"], error)
            return None

    def _ratings(self, kind: Kind) -> dict[str, Rating]:
        ratings: dict[str, Rating] = {}
        for name, node in self.fields.items():
            if name in PLAIN or (kind.rails is not None and name == kind.rails_name):
                continue
            spec = kind.ratings.get(name)
            if spec is None:
                self.wrong(name, node, _no_rating(kind, name))
            else:
                ratings.update(self._rating(name, name, spec, node))
        return ratings

    def _rails(self, kind: Kind) -> tuple[Mapping[str, Rating], ...]:
        if kind.rails is None:
            return ()
        name = kind.rails_name
        node = self.fields.get(name)
        expected = f"`{name}:` with a line such as `- {{voltage: 24 V, current: 3 A}}` for each"
        if node is None or (isinstance(node, Items | Text) and not _filled(node)):
            error = FitterError(f"a {kind.name} needs its {name}", expected=expected)
            self.wrong(name, self.fields if node is None else node, error)
            return ()
        if not isinstance(node, Items):
            self.wrong(name, node, _misplaced(node, f"a list is expected: {expected}"))
            return ()
        return tuple(self._rails_of(name, kind.rails, node))

    def _rails_of(self, name: str, specs: Mapping[str, Spec], rails: Items) -> Iterator[dict[str, Rating]]:
        for number, rail in enumerate(rails, start=1):
            place = f"{name}[{number}]"
            if isinstance(rail, Fields):
                yield self._one_rail(place, specs, rail)
            else:
                self.wrong(place, rail, FitterError("not a rail", expected="`{voltage: 24 V, current: 3 A}`"))

    def _one_rail(self, place: str, specs: Mapping[str, Spec], rail: Fields) -> dict[str, Rating]:
        found: dict[str, Rating] = {}
        for name, node in rail.items():
            if name in specs:
                found.update(self._rating(f"{place}.{name}", name, specs[name], node))
            elif name in [e.value for e in Evidence]:
                remedy = 'put a value with a comma in quotes, such as `{voltage: "24 V, measured"}`'
                self.wrong(place, node, FitterError(f"{name!r} stands alone", expected=remedy))
            else:
                self.wrong(
                    place, node, FitterError(f"no rating {name!r} here", expected=nearest(name, specs))
                )
        return {n: found.get(n) or s.unknown() for n, s in specs.items()}

    def _rating(self, place: str, name: str, spec: Spec, node: Node) -> Mapping[str, Rating]:
        """One field as a rating, or as the two ends of a window; empty when it is wrong."""
        if not isinstance(node, Text):
            self.wrong(place, node, _misplaced(node, f"write one value such as `{_example(spec)}`"))
            return {}
        try:
            return parsed(name, spec, node.text)
        except FitterError as error:
            self.wrong(place, node, error)
            return {}


@lru_cache(maxsize=8192)  # the same words stand in many lots
def parsed(name: str, spec: Spec, text: str) -> Mapping[str, Rating]:
    """A value of a rating as written, or the two ends of a window, by name.

    Raises:
        FitterError: It is not understood.
    """
    if spec.choices:
        return {name: parse_choice(text, spec.choices)}
    if spec.window:
        low, high = parse_window(
            text,
            spec.quantity,
            tolerance=spec.tolerance,
            plausible_low=spec.range,
            plausible_high=spec.high_range,
        )
        return {f"{name}.min": low, f"{name}.max": high}
    return {name: parse_rating(text, spec.quantity, tolerance=spec.tolerance, plausible=spec.range)}


def _no_rating(kind: Kind, name: str) -> FitterError:
    names = [*kind.ratings, *PLAIN, *([kind.rails_name] if kind.rails is not None else [])]
    return FitterError(f"a {kind.name} has no rating {name[:40]!r}", expected=nearest(name, names))


def _misplaced(node: Node, expected: str) -> FitterError:
    """A list, names or text where something else belongs."""
    what = (
        "a list" if isinstance(node, Items) else "names with values" if isinstance(node, Fields) else "text"
    )
    return FitterError(f"{what} in this place", expected=expected)


def _filled(node: Items | Text) -> bool:
    return bool(node.text if isinstance(node, Text) else node)


def _example(spec: Spec) -> str:
    if spec.choices:
        return spec.choices[-1]
    if spec.window:
        return "8..35 V"
    return f"{QUANTITIES[spec.quantity].example}, measured"
