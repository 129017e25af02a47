"""Parts put back, or gone from the stock for good with what was built of them.

Using a build up changes two sorts of file. First the build's entry is marked with what is to go and how many
pieces each lot had, and the text of lots that end is kept in the history; then the lots are changed; then
the marks are taken away. Interrupted anywhere, the marks tell what was still to be done: the same command
again finishes it, and until then no answer counts pieces that are on their way out, nor misses them twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from fitter.documents import nearest, shown_path
from fitter.errors import FitterError
from fitter.stock.edit import Change, RemoveLot, SetField, edit_files, places_of, removed_text
from fitter.stock.files import set_aside_files
from fitter.stock.lots import Lot
from fitter.stock.set_aside import Part, SetAside, SetAsideFile, read_all
from fitter.stock.set_aside_edit import store
from fitter.taking.models import PutBackAnswer, UsedUpAnswer
from fitter.taking.take import event_of, parts_of, stock_of

USED, FAULTY = "used up", "faulty"
Found = tuple[SetAsideFile, SetAside]


# ---------------------------------------------------------------- back into the boxes


def put_back(stock: Path, name: str, faulty: Sequence[str] = ()) -> PutBackAnswer:
    """Free the parts of a build; of each lot named as faulty one piece does not come back good.

    A lot of one piece is then marked faulty, of several one piece leaves the stock.

    Raises:
        FitterError: No such build or part; it is half used up; a file that cannot be changed.
    """
    file, build = _build(stock, name)
    if build.leaving:
        remedy = f"finish that with `fitter stock used-up {name}`"
        raise FitterError(f"{name} is half used up and cannot be put back", expected=remedy)
    lots = stock_of(stock)
    answer = PutBackAnswer(name=name, recipe=build.recipe, parts=[], file=shown_path(file.file))
    if faulty:
        _leave(stock, name, _with_broken(build, faulty), FAULTY)
        answer.faulty = list(faulty)
        if (found := _found(stock, name)) is None:
            return answer
        file, build = found
    store(file, [b for b in file.builds if b != build], event_of("put back", build, build.parts))
    answer.parts = parts_of(build.parts, lots)
    return answer


def _with_broken(build: SetAside, faulty: Sequence[str]) -> list[tuple[Part, bool]]:
    """The parts, one piece of each broken lot apart and marked.

    Raises:
        FitterError: The build holds no such piece.
    """
    parts = [(part, False) for part in build.parts]
    for lot in faulty:
        at = next((i for i, (p, broken) in enumerate(parts) if p.lot == lot and not (broken or p.gone)), None)
        if at is None:
            remedy = nearest(lot, {p.lot for p, broken in parts if not broken})
            raise FitterError(f"{build.name} holds no {lot!r}", field="--faulty", expected=remedy)
        part = parts[at][0]
        rest = [(replace(part, count=part.count - 1), False)] if part.count > 1 else []
        parts[at : at + 1] = [(replace(part, count=min(part.count, 1)), True), *rest]
    return parts


# ---------------------------------------------------------------- out of the stock


def used_up(stock: Path, name: str, roles: Sequence[str] = ()) -> UsedUpAnswer:
    """Take the parts of a build out of the stock for good: all, or those of some roles.

    A supply unit leaves with the first build that is used up; what others draw on it is then marked as gone.

    Raises:
        FitterError: No such build or role; a file that cannot be changed. What was begun is finished when
            asked again.
    """
    file, build = _build(stock, name)
    lots = stock_of(stock)
    _known_roles(build, roles)
    leaving = [p for p, leaves in _chosen(build, roles) if leaves or p.leaving]
    notes = [*_others(file, build, leaving)]
    if build.leaving:
        notes += _finish(stock, name)
    if (found := _found(stock, name)) is not None:
        chosen = _chosen(found[1], roles)
        if not roles or any(leaves for _, leaves in chosen):
            notes += _leave(stock, name, chosen, USED)
    rest, left = _found(stock, name), places_of(stock, {p.lot for p in leaving})
    return UsedUpAnswer(
        name=name,
        recipe=build.recipe,
        parts=parts_of(leaving, lots),
        removed=sorted({p.lot for p in leaving} - left.keys()),
        left={lot: found.count for lot, (_, found) in sorted(left.items())},
        still_held=parts_of(rest[1].parts, lots) if rest else [],
        notes=notes,
        file=shown_path(file.file),
    )


def _chosen(build: SetAside, roles: Sequence[str]) -> list[tuple[Part, bool]]:
    """The parts, each with whether it is to leave: those of some roles, or all; not what is gone already."""
    return [(p, not p.gone and (not roles or p.role in roles)) for p in build.parts]


def _known_roles(build: SetAside, roles: Sequence[str]) -> None:
    known = [p.role for p in build.parts]
    for role in roles:
        if role not in known:
            raise FitterError(
                f"{build.name} holds nothing for {role!r}", field="ROLE", expected=nearest(role, known)
            )


def _others(file: SetAsideFile, build: SetAside, leaving: Sequence[Part]) -> Iterator[str]:
    """Which other builds lose the unit that they draw on."""
    units = {p.lot for p in leaving if p.shares}
    for other in file.builds:
        for lot in sorted({p.lot for p in other.parts if p.lot in units and p.shares and not p.gone}):
            if other.name != build.name:
                yield f"{lot} feeds {other.name} as well: it leaves the stock with {build.name}"


def _leave(stock: Path, name: str, chosen: Sequence[tuple[Part, bool]], how: str) -> list[str]:
    """Take the chosen parts of a build out of the stock, so that an interruption can be made good."""
    file, build = _build(stock, name)
    leaving = [p for p, leaves in chosen if leaves]
    _nobody_else(stock, name, {p.lot for p in leaving})
    places = places_of(stock, {p.lot for p in leaving})
    units = {p.lot for p in leaving if p.shares}

    def marked(part: Part, leaves: bool) -> Part:
        if leaves:
            return replace(part, leaving=how, was=places[part.lot][1].count if part.lot in places else 0)
        return replace(part, gone=name) if part.shares and part.lot in units else part

    mine = replace(
        build,
        parts=tuple(marked(p, leaves) for p, leaves in chosen if leaves or not (how == USED and p.gone)),
    )
    builds = [
        mine if b == build else replace(b, parts=tuple(marked(p, False) for p in b.parts))
        for b in file.builds
    ]
    ends = [c.lot for lot in places for c in _changes(mine, places[lot][1]) if isinstance(c, RemoveLot)]
    removed = "\n".join(f"# {places[lot][0].name}\n{removed_text(places[lot][0], lot)}" for lot in ends)
    store(file, builds, event_of(how, build, leaving), removed)
    return _finish(stock, name)


def _nobody_else(stock: Path, name: str, lots: set[str]) -> None:
    """One build after the other: what is left of a lot is only known when nobody else's pieces are under way.

    Raises:
        FitterError: Another build is half used up and takes pieces of the same lots.
    """
    for file in read_all(set_aside_files(stock)):
        for other in file.builds:
            if other.name != name and any(p.leaving and p.lot in lots for p in other.parts):
                remedy = f"finish that first with `fitter stock used-up {other.name}`"
                raise FitterError(
                    f"{other.name} is half used up", file=shown_path(file.file), expected=remedy
                )


def _changes(build: SetAside, lot: Lot) -> list[Change]:
    """What is to be done to a lot whose pieces are on their way out; nothing where it is done."""
    leaving = [p for p in build.parts if p.leaving and p.lot == lot.id]
    if not leaving or lot.count != leaving[0].was:
        return []
    if leaving[0].leaving == FAULTY and lot.count == 1:
        return [SetField(lot.id, "condition", FAULTY)] if lot.condition != FAULTY else []
    left = lot.count - sum(p.count for p in leaving) - any(p.shares for p in leaving)
    return [SetField(lot.id, "count", str(left)) if left > 0 else RemoveLot(lot.id)]


def _finish(stock: Path, name: str) -> list[str]:
    """Do to the lots what the marks of a build say, and take the marks away; gives what could not be done."""
    build = _build(stock, name)[1]
    places = places_of(stock, {p.lot for p in build.parts if p.leaving})
    by_file: dict[Path, list[Change]] = {}
    for at, lot in places.values():
        by_file.setdefault(at, []).extend(_changes(build, lot))
    edit_files({at: changes for at, changes in by_file.items() if changes})
    file, build = _build(stock, name)
    kept = replace(build, parts=tuple(p for p in build.parts if not p.leaving))
    others = [b for b in file.builds if b != build]
    store(file, [*others, kept] if kept.parts else others)
    return [*_strange(build)]


def _strange(build: SetAside) -> Iterator[str]:
    for part in build.parts:
        if part.leaving and not part.was:
            yield f"{part.lot} was not in the stock any more: nothing was taken out"


# ---------------------------------------------------------------- finding a build


def _found(stock: Path, name: str) -> Found | None:
    files = read_all(set_aside_files(stock))
    return next(((f, b) for f in files for b in f.builds if b.name == name), None)


def _build(stock: Path, name: str) -> Found:
    """The file and the entry of a build.

    Raises:
        FitterError: There is none of that name.
    """
    if (found := _found(stock, name)) is not None:
        return found
    known = [b.name for f in read_all(set_aside_files(stock)) for b in f.builds]
    remedy = nearest(name, known) if known else "nothing is set aside"
    raise FitterError(f"no build {name!r} is set aside", field="NAME", expected=remedy)
