"""A line as a maker types it, understood: every word belongs to some piece, and only one meaning is possible.

All ways to cut the line into pieces are looked at. Where none takes in every word, the first word that no
reading explains is quoted; where two say different things, both are told. Nothing is guessed.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Sequence

from fitter.documents import nearest
from fitter.entering import lexicon
from fitter.entering.lexicon import KindWords, kind_words
from fitter.entering.meaning import MOST_READINGS, Unclear, Understood, named, resolved
from fitter.entering.pieces import Line, Piece, pieces_at
from fitter.entering.values import MASS
from fitter.errors import FitterError
from fitter.kinds import kind_key
from fitter.stock.entries import PLAIN, parsed

MOST_WORDS = 80
_EXAMPLE = "such as `stepper 42x40 4 wires 2.9 ohm measured from copier bin B3 x8`"


def understand(typed: Sequence[str]) -> Understood:
    """The lot that words on a command line stand for.

    Args:
        typed: The words; one with blanks in it was quoted, and stays whole where a name, note or bin goes.

    Raises:
        FitterError: A word that is not understood, or may mean several things.
    """
    words = tuple(_split(typed))
    if len(words) > MOST_WORDS:
        raise FitterError("too many words", expected=f"at most {MOST_WORDS}; use `note=...` for prose")
    failures: list[tuple[int, FitterError]] = []
    found: dict[str, Understood] = {}
    unclear: list[str] = []
    for kind in _kinds_in(words):
        try:
            found[kind] = _for_kind(Line(words, kind_words(kind)))
        except _Stuck as stuck:
            failures.append((stuck.place, stuck.error))
            unclear += [kind] * isinstance(stuck.error, Unclear)
    if len(found) == 1 and not unclear:
        return next(iter(found.values()))
    if found:
        names = " or ".join([*found, *unclear])
        raise Unclear(f"this may be a {names}", expected=f"name it, such as `{next(iter(found))}`")
    raise max(failures, key=lambda each: each[0])[1]


class _Stuck(Exception):  # noqa: N818  (a reading that goes no further, not an error of the program)
    def __init__(self, place: int, error: FitterError) -> None:
        super().__init__(str(error))
        self.place = place
        self.error = error


def _split(typed: Sequence[str]) -> Iterator[str]:
    """Words; a quoted one stays whole behind a name, note, bin or donor and in ``name=value``."""
    before = ""
    for word in typed:
        whole = " " not in word.strip() or lexicon.plain(before).rstrip(":") in (
            "bin",
            "name",
            "note",
            "from",
            "donor",
        )
        starts = re.match(r"\w+=", word)
        if (whole or starts) and word.strip():
            yield word.strip()
        else:
            yield from word.split()
        before = word


# ---------------------------------------------------------------- which kind


def _kinds_in(words: Sequence[str]) -> list[str]:
    """Kinds that words of the line name, in their order; those of codes and templates where none is named.

    Raises:
        FitterError: There are none.
    """
    if not words:
        raise FitterError("no words", expected=_EXAMPLE)
    places = range(len(words))
    named = [k for at in places for k in (*_named_at(words, at), *_of_templates(words, at))]
    found = named or [k for at in places for k in _of_codes(words, at)]
    if not found:
        raise _no_kind(words)
    return list(dict.fromkeys(found))


def _named_at(words: Sequence[str], at: int) -> tuple[str, ...]:
    if words[at].startswith("kind="):
        key = kind_key(words[at].removeprefix("kind="))
        return lexicon.kinds_called().get(key, ())
    for end in range(min(at + 5, len(words)), at, -1):
        if kinds := lexicon.kinds_called().get(lexicon.joined(words[at:end])):
            return kinds
    return ()


def _of_templates(words: Sequence[str], at: int) -> Iterator[str]:
    for end in range(at + 1, min(at + 4, len(words)) + 1):
        phrase = lexicon.joined(words[at:end])
        yield from (each.kind for each in lexicon.templates() if phrase in each.names)


def _of_codes(words: Sequence[str], at: int) -> Iterator[str]:
    for end in range(at + 1, min(at + 2, len(words)) + 1):
        yield from (code.kind for code in lexicon.codes().get(lexicon.tight(" ".join(words[at:end])), ()))


def _no_kind(words: Sequence[str]) -> FitterError:
    for word in words:
        near = difflib.get_close_matches(lexicon.plain(word), lexicon.kinds_called(), n=1, cutoff=0.75)
        if near and lexicon.plain(word).isalpha():
            return FitterError(f"{word!r} is not understood", expected=f"did you mean {near[0]!r}?")
    return FitterError(
        "no word of this line names a kind of part", got=" ".join(words)[:60], expected=_EXAMPLE
    )


# ---------------------------------------------------------------- readings


def _for_kind(line: Line) -> Understood:
    """The one meaning of a line as a part of one kind."""
    readings = _readings(line)
    good: dict[str, Understood] = {}
    wrong: list[FitterError] = []
    for reading in readings:
        try:
            found = resolved(line, reading)
            good.setdefault(repr(sorted(found.fields.items())), found)
        except FitterError as error:
            wrong.append(error)
    if len(good) == 1:
        return next(iter(good.values()))
    if good:
        raise _Stuck(len(line.words), _two_meanings(*list(good.values())[:2]))
    raise _Stuck(len(line.words), next((e for e in wrong if isinstance(e, Unclear)), wrong[0]))


def _readings(line: Line) -> list[tuple[Piece, ...]]:
    """All ways to cut the line into pieces, whole to the end.

    Raises:
        _Stuck: There is none.
    """
    pieces = [pieces_at(line, at) for at in range(len(line.words))]
    onward: list[list[tuple[Piece, ...]]] = [[] for _ in line.words] + [[()]]
    for at in range(len(line.words) - 1, -1, -1):
        rests = [(piece, *rest) for piece in pieces[at] for rest in onward[piece.end]]
        onward[at] = rests[:MOST_READINGS]
    if onward[0]:
        return onward[0]
    reached = {0}
    for at in range(len(line.words)):
        if at in reached:
            reached |= {piece.end for piece in pieces[at]}
    raise _stuck_at(line, max(place for place in reached if place < len(line.words)))


def _stuck_at(line: Line, at: int) -> _Stuck:
    """What is wrong with the word no reading goes beyond."""
    word = line.words[at]
    problem = f"{word!r} is not understood"
    kind = line.of.kind.name
    if meant := lexicon.meanings("evidence").get(lexicon.plain(word)):
        return _Stuck(
            at,
            FitterError(
                f"{meant}: which value?",
                got=word,
                expected="put it right behind its value, or write `all measured`",
            ),
        )
    if re.fullmatch(r"[~]?[0-9][0-9.,/]*", word):
        after = line.words[at + 1] if at + 1 < len(line.words) else ""
        near = _near(after, lexicon.every_word(kind_key(kind))) if after.isalpha() else None
        remedy = (
            f"did you mean `{word} {near}`?"
            if near
            else f"write its unit, or a name such as `{_first_label(line.of)} {word}`"
        )
        got = f"{word} {after}" if near else None
        return _Stuck(at, FitterError(f"{word!r} alone says nothing", got=got, expected=remedy))
    if "=" in word:
        return _Stuck(at, _bad_assignment(line, word))
    near = _near(word, lexicon.every_word(kind_key(kind)))
    known = f"known of a {kind} are {_listed(line.of)}; anything else goes into `note ...`"
    remedy = f"did you mean {near!r}?" if near else known
    return _Stuck(at, FitterError(problem, expected=remedy))


def _near(word: str, known: Iterable[str]) -> str | None:
    found = difflib.get_close_matches(lexicon.plain(word), list(dict.fromkeys(known)), n=1, cutoff=0.7)
    return found[0] if found else None


def _listed(of: KindWords) -> str:
    """The ratings that are asked for first, or all."""
    return ", ".join(map(named, of.ask or of.kind.ratings)) or "no ratings"


def _first_label(of: KindWords) -> str:
    return of.ask[0].replace("_", " ") if of.ask else "count"


def _bad_assignment(line: Line, word: str) -> FitterError:
    """Why ``name=value`` is nothing: an unknown name, or a value that is not one."""
    name, _, value = word.partition("=")
    field = name.casefold().replace(" ", "_").replace("-", "_")
    labels = line.of.labels.get(lexicon.plain(name), ())
    field = labels[0] if len(labels) == 1 else field
    spec = line.of.kind.ratings.get(field) or (MASS if field == "mass" else None)
    if spec is None:
        names = [*line.of.kind.ratings, *PLAIN]
        return FitterError(
            f"a {line.of.kind.name} has no rating {name[:40]!r}",
            got=word[:60],
            expected=nearest(field, names),
        )
    try:
        parsed(field, spec, value)
    except FitterError as error:
        return FitterError(error.problem, got=word[:60], expected=error.expected, field=field)
    return FitterError(f"{word!r} is not understood", expected="write it as `name=value`")


def _two_meanings(one: Understood, other: Understood) -> FitterError:
    """The first field that two readings fill differently."""
    names = [n for n in {**one.fields, **other.fields} if one.fields.get(n) != other.fields.get(n)]
    said = [f"{named(n)} {each.fields[n]}" for n in names for each in (one, other) if n in each.fields]
    words = next((m.words for each in (one, other) for m in each.meant if m.field == names[0]), "")
    first = names[0] if one.fields.get(names[0]) else names[-1]
    remedy = f"write `{first}={one.fields.get(first, '...')}` or so"
    return Unclear(f"{words!r} can be read in two ways: {' or '.join(said[:2])}", expected=remedy)
