"""The words makers use, from ``advice/maker_words.yaml``, in a form that is quick to look up."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache, cached_property
from typing import Any

from fitter.advice.machines import machines
from fitter.documents import package_data
from fitter.kinds import KINDS, Kind, kind_key
from fitter.records import Record
from fitter.unit_tables import QUANTITIES, WORDS

NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_SLOT = re.compile(r"\{(\w+)\}")


def plain(text: str) -> str:
    """Words without case, hyphens and the signs round them.

    >>> plain("Feed-Motor,")
    'feed motor'
    """
    return kind_key(text.strip(" ,;"))


class Size(Record):
    """A way to write sizes, such as ``42x40``: the pattern, and the rating of each number in it."""

    pattern: re.Pattern[str]
    ratings: tuple[str, ...]


class KindWords(Record):
    """What is typed for one kind, and how its lots are kept."""

    kind: Kind
    prefix: str
    shelf: str
    names: tuple[str, ...]
    bare: Mapping[str, Any]
    sizes: tuple[Size, ...]
    words: Mapping[str, Mapping[str, str]]
    ask: tuple[str, ...]

    @cached_property
    def labels(self) -> Mapping[str, tuple[str, ...]]:
        """Names of ratings in words, and the ratings of this kind that each may be."""
        own = {plain(name): (name,) for name in self.kind.ratings}
        shared = {
            plain(label): tuple(n for n in names if n in self.kind.ratings)
            for label, names in _content()["labels"].items()
        }
        return {label: names for label, names in (shared | own).items() if names}

    @cached_property
    def choices(self) -> Mapping[str, Mapping[str, str]]:
        """Words that are the value of a rating by themselves."""
        found: dict[str, Mapping[str, str]] = {}
        for name, spec in self.kind.ratings.items():
            if "yes" in spec.choices:
                found |= {plain(name): {name: "yes"}, f"not {plain(name)}": {name: "no"}}
            else:
                found |= {plain(choice): {name: choice} for choice in spec.choices}
        return found | {plain(word): fields for word, fields in self.words.items()}


class Code(Record):
    """A code that everyone uses for a part, with the kind and the figures it stands for."""

    code: str
    kind: str
    fields: Mapping[str, str]


class Template(Record):
    """What a part of a machine usually is; its figures are estimates."""

    name: str
    names: tuple[str, ...]
    donor: str
    kind: str
    fields: Mapping[str, Any]


@cache
def _content() -> Mapping[str, Any]:
    return package_data("advice", "maker_words.yaml")  # type: ignore[no-any-return]


@cache
def kind_words(kind: str) -> KindWords:
    """The words of a kind, by its key."""
    of = KINDS[kind]
    entry: Mapping[str, Any] = next(
        (e for name, e in _content()["kinds"].items() if kind_key(name) == kind), {}
    )
    return KindWords(
        kind=of,
        prefix=entry.get("id") or "".join(word[0] for word in kind.split()),
        shelf=entry.get("shelf", ""),
        names=(of.name, *entry.get("also", ())),
        bare=entry.get("bare", {}),
        sizes=tuple(map(_size, entry.get("sizes", ()))),
        words={w: {n: str(v) for n, v in f.items()} for w, f in entry.get("words", {}).items()},
        ask=tuple(entry.get("ask", ())),
    )


def _size(text: str) -> Size:
    """A size as a pattern: numbers in its slots, ``x`` between them."""
    pieces = _SLOT.split(text)
    pattern = "".join(
        f"({NUMBER})" if place % 2 else re.escape(piece).replace("x", "[x×*]")
        for place, piece in enumerate(pieces)
    )
    return Size(re.compile(f"{pattern}(?: ?mm)?", re.IGNORECASE), tuple(pieces[1::2]))


@cache
def kinds_called() -> Mapping[str, tuple[str, ...]]:
    """Names of kinds as typed, one piece or several, and the kinds that each may be."""
    found: dict[str, dict[str, None]] = {}
    for kind in KINDS:
        for name in kind_words(kind).names:
            for form in (plain(name), f"{plain(name)}s", f"{plain(name)}es"):
                found.setdefault(form, {})[kind] = None
    exact = {kind: (kind,) for kind in KINDS}
    return {name: tuple(kinds) for name, kinds in found.items()} | exact


@cache
def codes() -> Mapping[str, tuple[Code, ...]]:
    """Codes by their spelling without blanks."""
    found: dict[str, list[Code]] = {}
    for each in _content()["known"]:
        fields = {name: str(value) for name, value in each["fields"].items()}
        code = Code(str(each["code"]), kind_key(each["kind"]), fields)
        found.setdefault(tight(code.code), []).append(code)
    return {spelling: tuple(each) for spelling, each in found.items()}


def tight(text: str) -> str:
    """A text without blanks, hyphens and case.

    >>> tight("NEMA-17")
    'nema17'
    """
    return plain(text).replace(" ", "")


@cache
def templates() -> tuple[Template, ...]:
    """What parts of machines usually are."""
    return tuple(
        Template(
            each["name"],
            tuple(map(plain, (each["name"], *each.get("also", ())))),
            each["donor"],
            kind_key(each["kind"]),
            {
                name: value if isinstance(value, list) else str(value)
                for name, value in each["fields"].items()
            },
        )
        for each in package_data("advice", "templates.yaml")["templates"]
    )


@cache
def donors_called() -> Mapping[str, tuple[str, ...]]:
    """Names of machines, whole and in part, and what each may be as it is written into a stock."""
    whole: dict[str, str] = {}
    parts: dict[str, dict[str, None]] = {}
    for each in machines():
        for name in (each.name, *each.also):
            words = plain(name).split()
            whole[" ".join(words)] = name if len(words) > 1 else each.name
            for start in range(len(words)):
                for end in range(start + 1, len(words) + 1):
                    part = " ".join(words[start:end])
                    if len(part) > 4 and part not in kinds_called() and part not in ("machine", "drive"):
                        parts.setdefault(part, {})[each.name] = None
    return {part: tuple(names) for part, names in parts.items()} | {n: (d,) for n, d in whole.items()}


@cache
def meanings(part: str) -> Mapping[str, str]:
    """Words of a section of the file that lists words by what they mean, such as ``conditions``."""
    return {plain(word): meant for meant, words in _content()[part].items() for word in words}


@cache
def listed(part: str) -> frozenset[str]:
    """Words of a section that is a list."""
    return frozenset(plain(word) for word in _content()[part])


@cache
def unit_left_out() -> Mapping[str, str]:
    """The unit of a number without one, by quantity."""
    return _content()["unit_left_out"]  # type: ignore[no-any-return]


@cache
def marks() -> Mapping[str, Mapping[str, Any]]:
    """Letters behind a diameter and what they mean."""
    return _content()["marks"]  # type: ignore[no-any-return]


@cache
def unit_words() -> frozenset[str]:
    """All words and signs that units are made of, without case."""
    units = [name for quantity in QUANTITIES.values() for name in quantity.units]
    spellings = [*units, *(name.replace(" ", "") for name in units)]
    chunks = {c.casefold() for name in [*spellings, *WORDS] for c in re.findall(r"[^\W\d_]+", name)}
    return frozenset(chunks | {"awg", "vdc", "vac", "dc", "ac", "Ω".casefold(), "µ", "ω"})


def every_word(kind: str) -> Iterator[str]:
    """All that may be typed for a kind, for suggestions."""
    of = kind_words(kind)
    yield from (*of.labels, *of.choices, *of.names)
    yield from (*meanings("conditions"), *meanings("evidence"), *donors_called())
    yield from ("bin", "from", "donor", "note", "name", "id", "price")


def joined(words: Sequence[str]) -> str:
    """Words as one phrase, for looking up."""
    return plain(" ".join(words))
