"""The bench sheet of a project: one set of parts, worked out in full."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from pathlib import Path

from fitter import words
from fitter.answers import named_roles
from fitter.errors import FitterError
from fitter.models import SetAnswer, unit_of_quantity
from fitter.projects import Project
from fitter.recipes import bind
from fitter.shed import Order, Sets, Shed
from fitter.sheet.bench import boxes_of, cautions_at, first_power, measure_steps
from fitter.sheet.blocks import blocks_of
from fitter.sheet.drives import drives_of
from fitter.sheet.models import BlockAnswer, FigureAnswer, LinkAnswer, SheetAnswer, SheetPart
from fitter.sheet.photos import Album
from fitter.sheet.rails import rails_of
from fitter.sheet.region import region_of
from fitter.sheet.wiring import notes_of, wires_of
from fitter.solve.builds import Build
from fitter.views import set_of


def sheet(
    shed: Shed,
    recipe: str,
    settings: Mapping[str, str] | None = None,
    *,
    stock: Path,
    number: int = 1,
    fixed: Mapping[str, str] | None = None,
    order: Order = "diverse",
) -> SheetAnswer:
    """The sheet of one set: that of this number among those that ``match`` gives, or the nearest.

    Args:
        shed: Stock and recipes.
        recipe: Name of the recipe.
        settings: Demands to change.
        stock: Where the stock is; pictures are taken from its folder only.
        number: Which set, from 1 on.
        fixed: Lots that must fill given roles.
        order: As for ``match``.

    Raises:
        FitterError: Unknown recipe, demand, role or lot; or there are fewer sets.
    """
    project = bind(shed.recipe(recipe), settings)
    roles = named_roles(shed, project, fixed or {})
    sets = shed.sets(project, number, roles, order)
    near = sets if sets.builds else shed.nearest(project, roles)
    if not near.builds:
        raise FitterError(f"no set at all for {recipe}", expected=words.nothing(near.stopped_by))
    if sets.builds and number > len(sets.builds):
        remedy = f"at most {len(sets.builds)}: there are no more"
        raise FitterError(f"no set {number}", field="--set-number", expected=remedy)
    build = near.builds[number - 1 if sets.builds else 0]
    rank = number if sets.builds else 0
    found = _sheet(shed, project, build, set_of(shed, build, rank, near.tables), stock)
    found.note = words.search_note(sets.stopped_by, stand_in=near.stand_in, passes=bool(sets.builds))
    if not sets.builds:
        found.why_not = list(_why_not(shed, project, sets, found.chosen, roles))
    return found


def _sheet(shed: Shed, project: Project, build: Build, chosen: SetAnswer, stock: Path) -> SheetAnswer:
    rails, drives = rails_of(build), drives_of(build)
    measure = measure_steps(shed, build)
    recipe, wires = project.recipe, wires_of(build, rails)
    blocks, links = blocks_of(build, notes_of(wires))
    return SheetAnswer(
        recipe=recipe.name,
        title=recipe.title,
        about=" ".join(recipe.about.split()),
        state=chosen.state,
        number=chosen.rank,
        demands=list(_demands(project)),
        parts=list(_parts(build, chosen, Album(stock))),
        chosen=chosen,
        blocks=[BlockAnswer(**{**asdict(b), "lines": list(b.lines)}) for b in blocks],
        links=[LinkAnswer(**asdict(each)) for each in links],
        wires=wires,
        rails=rails,
        drives=drives,
        region=region_of(build),
        first_power=first_power(build, rails, drives),
        boxes=boxes_of(build, measure),
        measure=measure,
        cautions=cautions_at(recipe, build),
        set_aside=shed.left_out,
    )


def _why_not(
    shed: Shed, project: Project, sets: Sets, chosen: SetAnswer, roles: Mapping[str, str]
) -> Iterator[str]:
    """What fails in the nearest set, and what cannot be had together."""
    for check in chosen.checks:
        if check.verdict == "fails":
            yield words.check_line(check)
    if sets.outcome != "complete":
        return
    from fitter.explain.report import explanations

    for explanation in explanations(shed, project, sets, roles):
        for relaxation in explanation.relaxations[:3]:
            yield f"would go with {relaxation.text}"


def _demands(project: Project) -> Iterator[FigureAnswer]:
    for name, value in project.demands.items():
        demand = project.recipe.demands[name]
        yield FigureAnswer(
            name=name.replace("_", " "),
            value=(value, value),
            unit=unit_of_quantity(demand.quantity),
            quantity=demand.quantity,
            note=demand.help,
        )


def _parts(build: Build, chosen: SetAnswer, album: Album) -> Iterator[SheetPart]:
    for role, part in chosen.parts.items():
        candidate = build.parts[role]
        lot = candidate.lot
        photo, problem = ("", "") if candidate.bought else album.of(lot)
        yield SheetPart(
            role=role,
            about=build.roles[role].about,
            lot=part.lot,
            kind=lot.kind,
            name=part.name,
            bin=part.bin,
            count=part.count,
            use=part.offer,
            condition="new" if candidate.bought else lot.condition,
            note="" if candidate.bought else lot.note,
            photo=photo,
            photo_problem=problem,
            buy=part.buy,
        )
