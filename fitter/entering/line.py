"""A line as a maker types it, understood: every word belongs to some piece, and only one meaning is possible.

All ways to cut the line into pieces are looked at. Where none takes in every word, the first word that no
reading explains is quoted; where two say different things, both are told. Nothing is guessed.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from fitter.documents import nearest
from fitter.entering import lexicon
from fitter.entering.lexicon import KindWords, Template, kind_words
from fitter.entering.pieces import MASS, Line, Piece, Said, is_of, pieces_at, plausible, spaced, value_of
from fitter.errors import FitterError
from fitter.kinds import Spec, kind_key
from fitter.records import Record
from fitter.stock.yaml_edit import Value
from fitter.units import QUANTITIES

MOST_WORDS = 80
_MOST_READINGS = 200
_EXAMPLE = "such as `stepper 42x40 4 wires 2.9 ohm measured from copier bin B3 x8`"
_FIRST = ("id", "kind", "count", "name", "bin", "donor", "condition", "price_new", "mass")


class Meant(Record):
    """What some words of the line were understood as."""

    words: str
    field: str
    value: str
    note: str


class Understood(Record):
    """A lot as the line says it: fields in the order in which they are written, and which word says which."""

    kind: str
    fields: Mapping[str, Value]
    meant: tuple[Meant, ...]
    template: Template | None


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


class Unclear(FitterError):  # noqa: N818  (of the family of input errors, named by what it says)
    """Words that may mean several things."""


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
            found = _resolved(line, reading)
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
        onward[at] = rests[:_MOST_READINGS]
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
    return ", ".join(map(_named, of.ask or of.kind.ratings)) or "no ratings"


def _first_label(of: KindWords) -> str:
    return of.ask[0].replace("_", " ") if of.ask else "count"


def _bad_assignment(line: Line, word: str) -> FitterError:
    """Why ``name=value`` is nothing: an unknown name, or a value that is not one."""
    from fitter.stock.entries import PLAIN, parsed

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
    said = [f"{_named(n)} {each.fields[n]}" for n in names for each in (one, other) if n in each.fields]
    words = next((m.words for each in (one, other) for m in each.meant if m.field == names[0]), "")
    first = names[0] if one.fields.get(names[0]) else names[-1]
    remedy = f"write `{first}={one.fields.get(first, '...')}` or so"
    return Unclear(f"{words!r} can be read in two ways: {' or '.join(said[:2])}", expected=remedy)


def _named(field: str) -> str:
    return field.replace("_", " ")


# ---------------------------------------------------------------- what a reading says


def _resolved(line: Line, reading: Sequence[Piece]) -> Understood:
    """A reading as fields.

    Raises:
        FitterError: A field said twice, a figure that no rating or several may have, a donor of several.
    """
    said = [(line.text(p.start, p.end), s) for p in reading for s in p.says]
    for words, each in said:
        if each.options:
            what = "machine" if each.field == "donor" else "rating"
            names = " or ".join(each.options)
            remedy = (
                f"write `{each.field}={each.options[0]}` or so"
                if what == "machine"
                else f"write `{each.options[0]}={each.value}` or so"
            )
            raise Unclear(f"{words!r} may be {names}", expected=remedy)
    fields, notes, codes = _fields(said)
    meant = [Meant(w, s.field, s.value, s.note) for w, s in said if s.field]
    meant += _place_bare(line, [(w, s.value) for w, s in said if not s.field], fields, codes, notes)
    fields = {**codes, **fields}
    template = _template(line, fields.pop("template", None), fields)
    evidence = fields.pop("evidence", "")
    if evidence:
        fields = {n: _with_evidence(line.of, n, v, str(evidence)) for n, v in fields.items()}
    if template is not None:
        fields = _with_template(line.of, template, fields, notes)
    if notes:
        fields["note"] = "; ".join(
            dict.fromkeys([*notes, *([str(fields["note"])] if "note" in fields else [])])
        )
    fields["kind"] = line.of.kind.name
    places = {words: at for at, (words, _) in reversed(list(enumerate(said)))}
    meant.sort(key=lambda m: min((a for w, a in places.items() if m.words in w), default=len(said)))
    return Understood(line.of.kind.name, ordered(line.of, fields), tuple(meant), template)


def ordered(of: KindWords, fields: Mapping[str, Any]) -> dict[str, Any]:
    """Fields in the order in which they are written into a file."""
    order = [*_FIRST, *of.kind.ratings, of.kind.rails_name, "note"]
    return {name: fields[name] for name in sorted(fields, key=order.index)}


def _fields(said: Sequence[tuple[str, Said]]) -> tuple[dict[str, Any], list[str], dict[str, Any]]:
    """Fields with a name, notes, and figures of codes, which what is typed overrides."""
    fields: dict[str, Any] = {}
    notes: list[str] = []
    codes: dict[str, Any] = {}
    for words, each in said:
        if not each.field:
            continue
        if each.field == "note":
            notes.append(each.value)
            continue
        into = codes if each.of_code else fields
        if into.get(each.field, each.value) != each.value:
            raise FitterError(
                f"{_named(each.field)} is said twice",
                got=f"{into[each.field]}, {each.value}",
                expected=f"leave one out, such as {words!r}",
            )
        into[each.field] = each.value
    return fields, notes, codes


def _with_evidence(of: KindWords, name: str, value: Any, evidence: str) -> Any:
    plain = name not in of.kind.ratings or not isinstance(value, str) or re.search(r", [a-z]+$", value)
    return value if plain else f"{value}, {evidence}"


# ---------------------------------------------------------------- figures without a name


def _place_bare(
    line: Line,
    bare: Sequence[tuple[str, str]],
    fields: dict[str, Any],
    codes: Mapping[str, Any],
    notes: list[str],
) -> list[Meant]:
    """Give every figure without a name its rating, into ``fields``, and say so.

    Raises:
        FitterError: None, or several, may have it.
    """
    meant: list[Meant] = []
    rails: list[dict[str, str]] = []
    left: list[tuple[str, str, tuple[str, ...]]] = []
    for words, text in bare:
        if place := _rail(line.of, text, rails):
            meant.append(Meant(words, place, _written(line.of, place.rpartition(".")[2], text), ""))
        elif note := _note_for(line.of, text):
            notes.append(note)
            meant.append(Meant(words, "note", note, ""))
        else:
            free = [n for n in _may_be(line.of, text) if n not in fields and n not in codes]
            left.append((words, text, tuple(free)))
    for (words, text, _), name in zip(left, _only_way(line.of, [e[1:] for e in left], fields), strict=True):
        fields[name] = _written(line.of, name, text)
        meant.append(Meant(words, name, fields[name], ""))
    if rails:
        fields[line.of.kind.rails_name] = rails
    return meant


def _spec(of: KindWords, name: str) -> Spec:
    return of.kind.spec(name) or MASS


def _written(of: KindWords, name: str, text: str) -> str:
    found = value_of(_spec(of, name), text, named=False)
    assert found is not None, "only ratings that may have the figure are tried"
    return found[0]


def _may_be(of: KindWords, text: str) -> list[str]:
    """The ratings that a figure may be, by its unit and by what is plausible."""
    fits = [n for n, s in of.kind.ratings.items() if not s.choices and value_of(s, text, named=False)]
    likely = [n for n in fits if plausible(_spec(of, n), value_of(_spec(of, n), text, named=False)[0])]  # type: ignore[index]
    for quantity, name in of.bare.items():
        if isinstance(name, str) and any(_spec(of, n).quantity == quantity for n in fits) and name in fits:
            return [name]
    if not fits and value_of(MASS, text, named=False):
        return ["mass"]
    return likely


def _note_for(of: KindWords, text: str) -> str:
    """What a figure that is no rating of the part adds to its note."""
    for quantity, what in of.bare.items():
        if not isinstance(what, str) and is_of(quantity, text):
            return str(what["note"]).format(spaced(text))
    return ""


def _rail(of: KindWords, text: str, rails: list[dict[str, str]]) -> str:
    """Take a figure up as volts or amps of a rail; the field, or nothing where it is neither."""
    specs = of.kind.rails
    if specs is None:
        return ""
    for name in ("voltage", "current"):
        found = value_of(specs[name], text, named=False)
        if found is None or (name == "voltage" and not plausible(specs[name], found[0])):
            continue
        if name == "voltage":
            rails.append({})
        if not rails or "current" in rails[-1]:
            raise FitterError(
                f"{text!r} of which rail?", expected="write volts and then amps, such as `24V 5A 5V 3A`"
            )
        rails[-1][name] = found[0]
        return f"{of.kind.rails_name}[{len(rails)}].{name}"
    return ""


def _only_way(
    of: KindWords, left: Sequence[tuple[str, tuple[str, ...]]], fields: Mapping[str, Any]
) -> list[str]:
    """The ratings of figures, no two alike, where there is but one way."""
    for text, names in left:
        if not names:
            raise _no_rating(of, text, fields)
    ways: list[list[str]] = [[]]
    for _, names in left:
        ways = [[*way, n] for way in ways for n in names if n not in way][:_MOST_READINGS]
    if len(ways) == 1:
        return ways[0]
    if not ways:
        raise FitterError(f"too many figures: {', '.join(t for t, _ in left)}", expected="write `name=value`")
    place = next(i for i in range(len(left)) if len({way[i] for way in ways}) > 1)
    several = sorted({way[place] for way in ways}, key=list(of.kind.ratings).index)
    said = " or ".join(map(_named, several))
    raise Unclear(
        f"{left[place][0]!r} may be {said}", expected=f"write `{several[0]}={left[place][0]}` or so"
    )


def _no_rating(of: KindWords, text: str, fields: Mapping[str, Any]) -> FitterError:
    taken = [n for n in of.kind.ratings if n in fields and value_of(_spec(of, n), text, named=False)]
    if taken:
        return FitterError(
            f"{text!r} is one figure too many: {_named(taken[0])} is {fields[taken[0]]}",
            expected="write `name=value`",
        )
    fits = [n for n, s in of.kind.ratings.items() if not s.choices and value_of(s, text, named=False)]
    if fits:
        usual = f"{_spec(of, fits[0]).plausible} is usual"
        return FitterError(
            f"{text!r} is no likely {_named(fits[0])} of a {of.kind.name}",
            expected=f"{usual}; write `{fits[0]}={text}` if it is so",
        )
    names = ", ".join(map(_named, of.kind.ratings)) or "nothing"
    what = next((q.words for q in QUANTITIES.values() if is_of(q.name, text)), "figure")
    return FitterError(f"a {of.kind.name} has no {what} to put {text!r} in", expected=f"it has {names}")


# ---------------------------------------------------------------- templates


def _template(line: Line, phrase: Any, fields: Mapping[str, Any]) -> Template | None:
    """The template that the line asks for.

    Raises:
        FitterError: Of several machines, or of another one than is named.
    """
    if phrase is None:
        return None
    kind = kind_key(line.of.kind.name)
    donor = str(fields.get("donor", ""))
    of_kind = [t for t in lexicon.templates() if t.kind == kind and (not phrase or phrase in t.names)]
    there = [t for t in of_kind if same_machine(t.donor, donor)] if donor else of_kind
    if len(there) == 1:
        return there[0]
    said = f"{phrase!r}" if phrase else f"a usual {line.of.kind.name}"
    if there:
        names = " or ".join(f"`{t.name}` of the {t.donor}" for t in there)
        raise Unclear(
            f"{said} may be {names}", expected="name the part and the machine, such as `from copier`"
        )
    known = " or ".join(dict.fromkeys(t.donor for t in of_kind)) or "no machine"
    raise FitterError(f"{said} of the {donor or 'machine'} is not known", expected=f"known of {known}")


def same_machine(one: str, other: str) -> bool:
    """Whether two names are of one type of machine."""
    known = lexicon.donors_called()
    names = [known.get(lexicon.plain(name), (name,)) for name in (one, other)]
    from fitter.advice.machines import machine

    try:
        return machine(names[0][0]).name == machine(names[1][0]).name
    except FitterError:
        return False


def _with_template(
    of: KindWords, template: Template, fields: dict[str, Any], notes: list[str]
) -> dict[str, Any]:
    """Fields with those of a template where the line says nothing, as estimates."""
    added: dict[str, Any] = {"donor": template.donor}
    for name, value in template.fields.items():
        if name == "note":
            if not any("in its machine" in note for note in notes):
                notes.append(value)
        elif isinstance(value, list):
            added[name] = [{n: f"{v}, estimated" for n, v in rail.items()} for rail in value]
        else:
            added[name] = f"{value}, estimated" if name in of.kind.ratings else value
    if "frame" in fields:
        added.pop("frame_width", None)
    return added | fields
