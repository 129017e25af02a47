"""What a run of words in a line can be: a size, a rating with its name, a bare figure, a bin, a count.

Each finder takes the words from one place on and yields the pieces that may start there. None of them
decides: :mod:`fitter.entering.line` keeps the readings in which every word belongs to some piece.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from fitter.entering import lexicon
from fitter.entering.lexicon import NUMBER, KindWords, plain
from fitter.entering.values import FIGURE, MASS, NO_UNIT, is_of, may_be_value, value_of
from fitter.kinds import kind_key
from fitter.records import Record
from fitter.stock.entries import PLAIN

LONGEST = 8  # words of one value, such as `1.4 A +- 0.1 A measured`
_COUNTED = re.compile(r"[x×*]([0-9]{1,5})|([0-9]{1,5})[x×*]", re.IGNORECASE)
_WHOLE = re.compile(r"[0-9]{1,5}")
_EUROS = re.compile(r"(?:EUR|€) ?[0-9].*|[0-9].*(?:EUR|€|euros?)", re.IGNORECASE)
_ROUND_X = re.compile(r"(?<=[0-9]) ?([x×*]) ?(?=[0-9])")
_PAIR_OF = re.compile(rf"([2-4])[x×]({NUMBER} ?V.*)", re.IGNORECASE)
FREE = ("name", "note")  # take what is quoted, or the rest of the line


class Said(Record):
    """What a piece says: a field and its value; a bare figure has no field yet, ``note`` adds to the note.

    ``options`` are what it may mean where that is not clear.
    """

    field: str
    value: str
    note: str = ""
    options: tuple[str, ...] = ()
    of_code: bool = False


class Piece(Record):
    """Words ``start`` to ``end`` of a line and what they say."""

    start: int
    end: int
    says: tuple[Said, ...]


class Line(Record):
    """The words of a line as typed, and the kind they are read for."""

    words: tuple[str, ...]
    of: KindWords

    def text(self, start: int, end: int) -> str:
        """Words as one text, the signs that only part them left out."""
        return " ".join(self.words[start:end]).strip(" ,;")

    def phrase(self, start: int, end: int) -> str:
        """Words for looking up; nothing beyond the end of the line."""
        return plain(" ".join(self.words[start:end])) if end <= len(self.words) else ""


Finder = Callable[[Line, int], Iterator[Piece]]


def pieces_at(line: Line, at: int) -> list[Piece]:
    """All pieces that may start at a word, the longest first."""
    found = [piece for finder in _FINDERS for piece in finder(line, at)]
    return sorted(found, key=lambda p: -p.end)


# ---------------------------------------------------------------- ratings with their names


def values_from(line: Line, at: int) -> Iterator[tuple[int, str]]:
    """Runs of words from a place on that look like a value, the longest first."""
    for end in range(min(at + LONGEST, len(line.words)), at, -1):
        text = line.text(at, end)
        if may_be_value(text):
            yield end, text


def _labelled(line: Line, at: int, end: int) -> tuple[str, ...]:
    return line.of.labels.get(line.phrase(at, end).rstrip(":"), ())


def _label_then_value(line: Line, at: int) -> Iterator[Piece]:
    for middle in range(at + 1, min(at + 4, len(line.words))):
        names = _labelled(line, at, middle)
        for end in range(min(middle + LONGEST, len(line.words)), middle, -1) if names else ():
            if says := _value_for(line, names, line.text(middle, end)):
                yield Piece(at, end, says)
                break


def _value_then_label(line: Line, at: int) -> Iterator[Piece]:
    for middle in range(min(at + LONGEST, len(line.words) - 1), at, -1):
        text = line.text(at, middle)
        if not FIGURE.match(text):
            continue
        for end in range(middle + 1, min(middle + 3, len(line.words)) + 1):
            says = _value_for(line, _labelled(line, middle, end), text)
            if says and _whole_figure(text):
                yield _with_evidence(line, Piece(at, end, says))


def _whole_figure(text: str) -> bool:
    return bool(NO_UNIT.fullmatch(text)) or may_be_value(text) or bool(re.fullmatch(r"[0-9.,]+D", text))


def _with_evidence(line: Line, piece: Piece) -> Piece:
    """A piece with the word for evidence that stands behind it, as in ``4 wires measured``."""
    meant = lexicon.meanings("evidence").get(line.phrase(piece.end, piece.end + 1))
    if not meant or any("," in each.value for each in piece.says):
        return piece
    says = [
        Said(
            s.field, f"{s.value}, {meant}" if s.field in line.of.kind.ratings else s.value, s.note, s.options
        )
        for s in piece.says
    ]
    return Piece(piece.start, piece.end + 1, tuple(says))


def _value_for(line: Line, names: Sequence[str], text: str) -> tuple[Said, ...]:
    """What a text says as a value of one of some ratings."""
    letter = text[-1:].upper()
    if (mark := lexicon.marks().get(letter)) and set(mark["ratings"]) & set(names):
        if says := _value_for(line, names, text[:-1].strip()):
            return (*says, Said("note", mark["note"]))
        return ()
    good = [(n, v) for n in names if (v := value_of(line.of.kind.ratings[n], text, named=True))]
    if not good:
        return ()
    name, (value, added) = good[0]
    options = tuple(n for n, _ in good) if len(good) > 1 else ()
    return (Said(name, value, added, options),)


def _assignment(line: Line, at: int) -> Iterator[Piece]:
    """``name=value``; a value of several words goes as far as it makes sense."""
    name, sign, first = line.words[at].partition("=")
    if not sign or not name or name[-1] in "<>":
        return
    field = _name_of(line, name)
    one_word = not first or (field in PLAIN and field != "mass")
    last = at + 1 if one_word else min(at + LONGEST, len(line.words))
    for end in range(max(last, at + 1), at, -1):
        value = " ".join([first, *line.words[at + 1 : end]]).strip(" ,;")
        says = _assigned(line, field, value)
        if says:
            yield Piece(at, end, says)
            return


def _name_of(line: Line, name: str) -> str:
    """The field of a name before an equals sign; the name itself where there is none."""
    field = name.strip().casefold().replace(" ", "_").replace("-", "_")
    if field in PLAIN or field in line.of.kind.ratings:
        return field
    names = line.of.labels.get(plain(name), ())
    return names[0] if len(names) == 1 else field


def _assigned(line: Line, field: str, value: str) -> tuple[Said, ...]:
    if not value:
        return ()
    if field in line.of.kind.ratings:
        return _value_for(line, (field,), value)
    if field == "kind":
        return (Said("kind", value),) if kind_key(value) == kind_key(line.of.kind.name) else ()
    if field == "mass":
        found = value_of(MASS, value, named=True)
        return (Said("mass", found[0]),) if found else ()
    return (Said(field, value),) if field in PLAIN else ()


# ---------------------------------------------------------------- sizes, codes, words of the kind


def _kind(line: Line, at: int) -> Iterator[Piece]:
    key = kind_key(line.of.kind.name)
    for end in range(min(at + 5, len(line.words)), at, -1):
        if key in lexicon.kinds_called().get(line.phrase(at, end), ()):
            yield Piece(at, end, (Said("kind", line.of.kind.name),))
    if _WHOLE.fullmatch(line.words[at]):  # `4 steppers`
        for piece in _kind(line, at + 1) if at + 1 < len(line.words) else ():
            yield Piece(at, piece.end, (Said("count", line.words[at]), *piece.says))


def _sizes(line: Line, at: int) -> Iterator[Piece]:
    for end in range(at + 1, min(at + 6, len(line.words)) + 1):
        text = _ROUND_X.sub(r"\1", line.text(at, end))
        for size in line.of.sizes:
            if match := size.pattern.fullmatch(text):
                says = [
                    Said(n, _length(line, n, v)) for n, v in zip(size.ratings, match.groups(), strict=True)
                ]
                yield _with_evidence(line, Piece(at, end, tuple(says)))


def _length(line: Line, name: str, number: str) -> str:
    return number if line.of.kind.ratings[name].quantity == "count" else f"{number} mm"


def _codes(line: Line, at: int) -> Iterator[Piece]:
    for end in (at + 1, at + 2):
        if end <= len(line.words):
            for code in lexicon.codes().get(lexicon.tight(line.text(at, end)), ()):
                if code.kind == kind_key(line.of.kind.name):
                    says = [Said(n, v, of_code=True) for n, v in code.fields.items()]
                    yield Piece(at, end, tuple(says))


def _words_of_kind(line: Line, at: int) -> Iterator[Piece]:
    for end in range(at + 1, min(at + 4, len(line.words)) + 1):
        if fields := line.of.choices.get(line.phrase(at, end)):
            yield _with_evidence(line, Piece(at, end, tuple(Said(n, v) for n, v in fields.items())))


def _templates(line: Line, at: int) -> Iterator[Piece]:
    for end in range(at + 1, min(at + 4, len(line.words)) + 1):
        phrase = line.phrase(at, end)
        kind = kind_key(line.of.kind.name)
        if any(phrase in each.names and each.kind == kind for each in lexicon.templates()):
            yield Piece(at, end, (Said("template", phrase),))
    if line.phrase(at, at + 1) == "usual":
        yield Piece(at, at + 1, (Said("template", ""),))


# ---------------------------------------------------------------- bare figures


def _bare(line: Line, at: int) -> Iterator[Piece]:
    for end, text in values_from(line, at):
        if says := _figure(line, text):
            yield Piece(at, end, says)
    if match := _PAIR_OF.fullmatch(line.text(at, at + 1)):
        yield Piece(at, at + 1, (Said("", match[2]),) * int(match[1]))


def _figure(line: Line, text: str) -> tuple[Said, ...]:
    """A figure whose rating follows from its unit; ``12V/2A`` says two."""
    if _is_figure(line, text):
        return (Said("", text),)
    first, sign, second = text.partition("/")
    if sign and first[-1:].isalpha() and second[:1].isdigit():
        both = (*_figure(line, first), *_figure(line, second))
        return both if len(both) > 1 else ()
    return ()


def _is_figure(line: Line, text: str) -> bool:
    body = text.split()[0] if text else ""
    if NO_UNIT.fullmatch(text) or not body:
        return False
    specs = [*line.of.kind.ratings.values(), *(line.of.kind.rails or {}).values(), MASS]
    if any(not s.choices and s.quantity != "count" and value_of(s, text, named=False) for s in specs):
        return True
    return any(is_of(quantity, text) for quantity in _COMMON)


_COMMON = ("length", "voltage", "current", "resistance", "torque", "force", "power", "angular_speed")


# ---------------------------------------------------------------- what every lot has


def _conditions(line: Line, at: int) -> Iterator[Piece]:
    for end in (at + 2, at + 1):
        if meant := lexicon.meanings("conditions").get(line.phrase(at, end)):
            yield Piece(at, end, (Said("condition", meant),))
    of_all = line.phrase(at, at + 1) in ("all", "everything")
    if of_all and (meant := lexicon.meanings("evidence").get(line.phrase(at + 1, at + 2))):
        yield Piece(at, at + 2, (Said("evidence", meant),))


def _counts(line: Line, at: int) -> Iterator[Piece]:
    word = line.words[at].strip(" ,;")
    if match := _COUNTED.fullmatch(word):
        yield Piece(at, at + 1, (Said("count", match[1] or match[2]),))
    after = line.phrase(at + 1, at + 2)
    if _WHOLE.fullmatch(word) and after in lexicon.listed("count"):
        yield Piece(at, at + 2, (Said("count", word),))
    before = plain(word) in lexicon.listed("count_before") or word.casefold() in ("x", "×")
    if before and _WHOLE.fullmatch(after):
        yield Piece(at, at + 2, (Said("count", after),))
    for end in (at + 2, at + 1):
        if line.phrase(at, end) in lexicon.listed("pair"):
            yield Piece(at, end, (Said("count", "2"),))


def _price_and_mass(line: Line, at: int) -> Iterator[Piece]:
    start = at + 1 if line.phrase(at, at + 1) == "price" else at
    for end in (start + 2, start + 1):
        if end <= len(line.words) and _EUROS.fullmatch(line.text(start, end)):
            yield Piece(at, end, (Said("price_new", line.text(start, end)),))
    if line.phrase(at, at + 1) in lexicon.listed("weight"):
        for end in range(min(at + 4, len(line.words)), at + 1, -1):
            if found := value_of(MASS, line.text(at + 1, end), named=True):
                yield Piece(at, end, (Said("mass", found[0]),))


def _bins(line: Line, at: int) -> Iterator[Piece]:
    """``bin B3``, ``drawer A``, ``bin shelf 1``; more words than that are put in quotes."""
    start = at + 1 if line.phrase(at, at + 1).rstrip(":") == "bin" else at
    if start >= len(line.words):
        return
    if line.phrase(start, start + 1) in lexicon.listed("containers") and start + 1 < len(line.words):
        label = line.words[start + 1].strip(" ,;")
        if len(label) <= 3:
            yield Piece(at, start + 2, (Said("bin", line.text(start, start + 2)),))
            return
    if start > at:
        yield Piece(at, start + 1, (Said("bin", line.text(start, start + 1)),))


def _free_words(line: Line, at: int) -> Iterator[Piece]:
    """``note`` and ``name`` with what is quoted behind them, else with the rest of the line."""
    word = line.phrase(at, at + 1).rstrip(":")
    if word in FREE and at + 1 < len(line.words):
        end = at + 2 if " " in line.words[at + 1].strip() else len(line.words)
        yield Piece(at, end, (Said(word, line.text(at + 1, end)),))
    if word == "id" and at + 1 < len(line.words):
        yield Piece(at, at + 2, (Said("id", line.text(at + 1, at + 2)),))


def _donors(line: Line, at: int) -> Iterator[Piece]:
    start = at + 1 if line.phrase(at, at + 1) in ("from", "donor", "donor:") else at
    known = lexicon.donors_called()
    for end in range(min(start + 5, len(line.words)), start, -1):
        if names := known.get(line.phrase(start, end)):
            options = names if len(names) > 1 else ()
            yield Piece(at, end, (Said("donor", names[0], options=options),))
            return
    if start > at and start < len(line.words):
        end = start + 1
        while end < len(line.words) and " " not in line.words[start] and not _known(line, end):
            end += 1
        yield Piece(at, end, (Said("donor", line.text(start, end)),))


def _known(line: Line, at: int) -> bool:
    """Whether a word is one that says something by itself."""
    return any(True for finder in _FINDERS if finder is not _donors for _ in finder(line, at))


def _skipped(line: Line, at: int) -> Iterator[Piece]:
    if line.phrase(at, at + 1) in lexicon.listed("skipped"):
        yield Piece(at, at + 1, ())


_FINDERS: tuple[Finder, ...] = (
    _assignment,
    _kind,
    _sizes,
    _codes,
    _words_of_kind,
    _templates,
    _label_then_value,
    _value_then_label,
    _bare,
    _conditions,
    _counts,
    _price_and_mass,
    _bins,
    _free_words,
    _donors,
    _skipped,
)
