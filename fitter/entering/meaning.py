"""What a reading of a line says: its fields, the figures that have no name, the template it asks for.

A figure without a name gets the rating that its unit and the usual range allow, where there is but one.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from fitter.advice.machines import machine
from fitter.entering import lexicon
from fitter.entering.lexicon import KindWords, Template
from fitter.entering.pieces import Line, Piece, Said
from fitter.entering.values import MASS, is_of, plausible, spaced, value_of
from fitter.errors import FitterError
from fitter.kinds import Spec, kind_key
from fitter.records import Record
from fitter.stock.yaml_edit import Value
from fitter.units import QUANTITIES

MOST_READINGS = 200
_FIRST = ("id", "kind", "count", "name", "bin", "donor", "condition", "price_new", "mass")


class Unclear(FitterError):  # noqa: N818  (of the family of input errors, named by what it says)
    """Words that may mean several things."""


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


def named(field: str) -> str:
    """A field as people say it."""
    return field.replace("_", " ")


def resolved(line: Line, reading: Sequence[Piece]) -> Understood:
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
                f"{named(each.field)} is said twice",
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
        ways = [[*way, n] for way in ways for n in names if n not in way][:MOST_READINGS]
    if len(ways) == 1:
        return ways[0]
    if not ways:
        raise FitterError(f"too many figures: {', '.join(t for t, _ in left)}", expected="write `name=value`")
    place = next(i for i in range(len(left)) if len({way[i] for way in ways}) > 1)
    several = sorted({way[place] for way in ways}, key=list(of.kind.ratings).index)
    said = " or ".join(map(named, several))
    raise Unclear(
        f"{left[place][0]!r} may be {said}", expected=f"write `{several[0]}={left[place][0]}` or so"
    )


def _no_rating(of: KindWords, text: str, fields: Mapping[str, Any]) -> FitterError:
    taken = [n for n in of.kind.ratings if n in fields and value_of(_spec(of, n), text, named=False)]
    if taken:
        return FitterError(
            f"{text!r} is one figure too many: {named(taken[0])} is {fields[taken[0]]}",
            expected="write `name=value`",
        )
    fits = [n for n, s in of.kind.ratings.items() if not s.choices and value_of(s, text, named=False)]
    if fits:
        usual = f"{_spec(of, fits[0]).plausible} is usual"
        return FitterError(
            f"{text!r} is no likely {named(fits[0])} of a {of.kind.name}",
            expected=f"{usual}; write `{fits[0]}={text}` if it is so",
        )
    names = ", ".join(map(named, of.kind.ratings)) or "nothing"
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
