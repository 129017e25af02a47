"""Setting the parts of a build aside, and what is set aside."""

from __future__ import annotations

import datetime
import itertools
import math
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from fitter.advice.data import shop
from fitter.answers import named_roles
from fitter.documents import one_line, shown_path
from fitter.errors import FitterError
from fitter.recipes import Project, bind
from fitter.shed import Order, Sets, Shed
from fitter.solve.builds import Build
from fitter.solve.gaps import gaps
from fitter.solve.score import Prices
from fitter.solve.usage import Use, uses
from fitter.stock.files import Stock, open_stock, set_aside_files, set_aside_home
from fitter.stock.left import mismatches
from fitter.stock.set_aside import Event, Part, SetAside, SetAsideFile, read_all
from fitter.stock.set_aside_edit import ChangedMeanwhileError, store
from fitter.taking.models import EventAnswer, HeldBuild, HeldPart, Purchase, SetAsideAnswer, TakenAnswer
from fitter.units import show
from fitter.views import bought

TRIES = 3  # of a take, when others change what is set aside while it searches
LONGEST_NAME = 60


@dataclass(frozen=True)
class Wanted:
    """Which set of a recipe to take, and under which name."""

    recipe: str
    settings: Mapping[str, str]
    number: int = 1
    name: str | None = None
    fixed: Mapping[str, str] | None = None
    order: Order = "diverse"


def take(stock: Path, opened: Callable[[], Shed], wanted: Wanted) -> TakenAnswer:
    """Set the parts of a set aside.

    Where another command sets something aside while this one searches, it searches again: nothing is ever
    taken twice.

    Args:
        stock: File or folder of the stock.
        opened: Opens the shed, without what is set aside already.
        wanted: What to take.

    Raises:
        FitterError: No such recipe, demand, role or set; the name is in use; a file that cannot be changed.
            Nothing is then set aside.
    """
    for _ in range(TRIES - 1):
        try:
            return _take(stock, opened, wanted)
        except ChangedMeanwhileError:
            continue
    return _take(stock, opened, wanted)


def _take(stock: Path, opened: Callable[[], Shed], wanted: Wanted) -> TakenAnswer:
    files = read_all(set_aside_files(stock))
    known = {b.name for f in files for b in f.builds}
    name = _name(wanted, known)
    shed = opened()
    project = bind(shed.recipe(wanted.recipe), wanted.settings)
    build = _numbered(shed, project, wanted)
    made = _set_aside(shed, project, build, wanted, name)
    mine = file_at(files, set_aside_home(stock))
    event = event_of("taken", made, made.parts)
    store(mine, [*mine.builds, made], event, others=[f for f in files if f is not mine])
    return TakenAnswer(build=shown(made, shed.stock), set_number=wanted.number, file=shown_path(mine.file))


def file_at(files: Sequence[SetAsideFile], home: Path) -> SetAsideFile:
    """The file of this place; an empty one where there is none yet."""
    return next((f for f in files if f.file == home), SetAsideFile(home, b"", (), ()))


def _name(wanted: Wanted, known: Collection[str]) -> str:
    """The name asked for, else that of the recipe, numbered where that is in use.

    Raises:
        FitterError: It is in use, or no name.
    """
    if wanted.name is None:
        plain = wanted.recipe.replace("_", "-")
        numbered = (f"{plain}-{n}" for n in itertools.count(2))
        return next(n for n in itertools.chain([plain], numbered) if n not in known)
    if wanted.name != one_line(wanted.name) or not 0 < len(wanted.name) <= LONGEST_NAME:
        problem = f"a name of one line and 1 to {LONGEST_NAME} characters is expected"
        raise FitterError(problem, got=wanted.name[:LONGEST_NAME], field="--as", expected="such as slider-1")
    if wanted.name in known:
        remedy = "give another name, or see `fitter stock set-aside`"
        raise FitterError(f"there is a build {wanted.name!r} already", field="--as", expected=remedy)
    return wanted.name


def _numbered(shed: Shed, project: Project, wanted: Wanted) -> Build:
    """The set of that number, counted as ``fitter match`` does.

    Raises:
        FitterError: There is none, or nothing in it is from stock.
    """
    roles = named_roles(shed, project, wanted.fixed or {})
    sets = shed.sets(project, wanted.number, roles, wanted.order)
    recipe = project.recipe.name
    passing = [b for b in sets.builds if not b.failing]
    if not passing:
        raise FitterError(f"no set for {recipe} {_came_to(sets)}", expected=f"see `fitter why {recipe}`")
    if len(passing) < wanted.number:
        problem = f"there is no set {wanted.number} for {recipe}: {len(passing)} {_came_to(sets)}"
        remedy = f"see `fitter match {recipe} --top {wanted.number}`"
        raise FitterError(problem, field="--set-number", expected=remedy)
    if not any(not c.bought for c in passing[wanted.number - 1].parts.values()):
        raise FitterError(f"all parts for {recipe} must be bought: there is nothing to set aside")
    return passing[wanted.number - 1]


def _came_to(sets: Sets) -> str:
    return "passes" if sets.outcome == "complete" else "was found before the search stopped"


def _set_aside(shed: Shed, project: Project, build: Build, wanted: Wanted, name: str) -> SetAside:
    missing = [(g.role, bought(shed, build, g)) for g in gaps(build)]
    return SetAside(
        name,
        project.recipe.name,
        today(),
        tuple(map(_part, uses(build))),
        build.state.value,
        ", ".join(f"{n}={one_line(v)}" for n, v in wanted.settings.items()),
        tuple(
            (role, one_line(f"{b.count} x {b.example}" if b.count > 1 else b.example)) for role, b in missing
        ),
        ", ".join(build.open_ratings),
    )


def _part(use: Use) -> Part:
    offer, outputs = use.part.offer, ", ".join(f"{n} {name.replace('_', ' ')}" for name, n in use.outputs)
    if not use.shares:
        return Part(use.role, use.part.lot.id, use.pieces, offer.key, outputs=outputs)
    rail = 0 if offer.rail is None else offer.rail + 1
    kept = (_kept(use.amps), _kept(use.watts))
    return Part(use.role, use.part.lot.id, 0, offer.key, rail, *kept, outputs)


def _kept(value: float) -> float:
    """A figure as it is written down: three digits, never less than it is."""
    if value <= 0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(value)) - 2)
    return float(f"{math.ceil(value / step - 1e-9) * step:.10g}")


def today() -> str:
    """The day, as ``2026-05-01``."""
    return datetime.date.today().isoformat()


def event_of(what: str, build: SetAside, parts: Sequence[Part]) -> Event:
    """A line of the history."""
    return Event(today(), what, build.name, build.recipe, ", ".join(_briefly(parts)))


def _briefly(parts: Sequence[Part]) -> Iterator[str]:
    """Pieces by lot, then what is drawn of units."""
    pieces: dict[str, int] = {}
    for part in parts:
        pieces[part.lot] = pieces.get(part.lot, 0) + part.count
    yield from (f"{n} x {lot}" if n > 1 else lot for lot, n in pieces.items() if n)
    for part in parts:
        if part.shares:
            rail = f" rail {part.rail}" if part.rail else ""
            yield f"{part.lot}{rail} ({show(part.current, 'current')})"


# ---------------------------------------------------------------- showing


def stock_of(path: Path) -> Stock:
    """All lots, for their names and bins; those with errors left out."""
    return open_stock(path, Prices(shop()).of, skip_bad=True)


def shown(build: SetAside, stock: Stock) -> HeldBuild:
    """A build as a model."""
    return HeldBuild(
        name=build.name,
        recipe=build.recipe,
        date=build.date,
        state=build.state,
        demands=build.demands,
        parts=parts_of(build.parts, stock),
        to_buy=[Purchase(role=role, what=what) for role, what in build.to_buy],
        to_measure=[path for path in build.to_measure.split(", ") if path],
        unfinished=build.leaving,
    )


def parts_of(parts: Sequence[Part], stock: Stock) -> list[HeldPart]:
    """Parts as models, with the name and the bin of their lots."""
    return list(_parts_of(parts, stock))


def _parts_of(parts: Sequence[Part], stock: Stock) -> Iterator[HeldPart]:
    for part in parts:
        lot = stock.lot(part.lot) if part.lot in stock.places else None
        yield HeldPart(
            role=part.role,
            lot=part.lot,
            name=(lot.name or lot.kind) if lot else "",
            bin=lot.bin if lot else "",
            count=part.count,
            offer=part.offer,
            rail=part.rail or None,
            current=part.current if part.shares else None,
            power=part.power if part.shares else None,
            outputs=part.outputs,
            gone=part.gone,
        )


def set_aside(path: Path) -> SetAsideAnswer:
    """All that is set aside, and the history.

    Raises:
        FitterErrors: What is wrong with the files.
    """
    stock, files = stock_of(path), read_all(set_aside_files(path))
    builds = [build for file in files for build in file.builds]
    events = sorted((e for f in files for e in f.history), key=lambda e: e.date)
    return SetAsideAnswer(
        builds=[shown(build, stock) for build in builds],
        mismatches=mismatches(stock, builds),
        history=[
            EventAnswer(date=e.date, what=e.what, build=e.build, recipe=e.recipe, parts=e.parts)
            for e in events
        ],
    )
