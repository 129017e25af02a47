"""The product's questions as functions that return plain models; terminal and files only render these."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from fitter import words
from fitter.advice.data import donors
from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.kinds import kind_key
from fitter.kinds.model import USE
from fitter.models import (
    AlternativeAnswer,
    BuildAnswer,
    BuildsAnswer,
    DonorAnswer,
    ExplanationAnswer,
    GapsAnswer,
    MatchAnswer,
    MissingAnswer,
    StepsAnswer,
)
from fitter.recipes import Project, Recipe, bind
from fitter.shed import Order, Sets, Shed
from fitter.side_by_side import side_by_side
from fitter.solve.builds import Build, State
from fitter.solve.gaps import Gap, gaps
from fitter.solve.tables import Tables
from fitter.solve.variants import sketch
from fitter.views import alternative_of, bought, cautions_of, check_of, near_miss, set_of, substitutes_of


def builds(
    shed: Shed,
    settings: Mapping[str, str] | None = None,
    names: Sequence[str] = (),
    *,
    processes: int = 1,
) -> BuildsAnswer:
    """What can be built now: every recipe with its state, nearest first.

    Args:
        shed: Stock and recipes.
        settings: Demands to change; each recipe takes those it has.
        names: Of the recipes; all when empty.
        processes: How many recipes may be searched at once.

    Raises:
        FitterError: Unknown recipe, a demand that no recipe has, or a value that none takes.
    """
    recipes = {r.name: r for r in map(shed.recipe, names or shed.recipes)}
    _known_demands(recipes.values(), settings or {})
    beyond = _beyond(recipes.values(), settings or {})
    rows = [_not_for(recipe, beyond[name]) for name, recipe in recipes.items() if name in beyond]
    rows += side_by_side(
        [recipe for name, recipe in recipes.items() if name not in beyond],
        lambda recipe: _build_row(shed, recipe, settings or {}),
        lambda recipe: recipe.ways,
        shed.watcher,
        processes,
    )
    rank = {s.value: i for i, s in enumerate(State)}
    rows.sort(key=lambda r: (rank[r.state], r.to_buy, r.to_measure, r.recipe))
    return BuildsAnswer(builds=rows, refused=shed.refused, set_aside=shed.left_out)


def _known_demands(recipes: Iterable[Recipe], settings: Mapping[str, str]) -> None:
    known = {d for r in recipes for d in r.demands}
    for name in settings:
        if name not in known:
            raise FitterError(
                f"no recipe has a demand {name!r}", field="--set", expected=nearest(name, known)
            )


def _beyond(recipes: Iterable[Recipe], settings: Mapping[str, str]) -> dict[str, FitterError]:
    """Recipes whose limits a setting exceeds, and what is wrong; other recipes may well take it.

    Raises:
        FitterError: None of them takes it.
    """
    concerned = {r.name: (r, own) for r in recipes if (own := settings_for(r, settings))}
    found: dict[str, FitterError] = {}
    for name, (recipe, own) in concerned.items():
        try:
            bind(recipe, own)
        except FitterError as error:
            found[name] = error
    if found and len(found) == len(concerned):
        raise next(iter(found.values()))
    return found


def _not_for(recipe: Recipe, error: FitterError) -> BuildAnswer:
    return BuildAnswer(
        recipe=recipe.name,
        title=recipe.title,
        state=State.OUT_OF_REACH.value,
        outcome="complete",
        to_buy=0,
        to_measure=0,
        price=None,
        parts={},
        why=[str(error)],
    )


def _build_row(shed: Shed, recipe: Recipe, settings: Mapping[str, str]) -> BuildAnswer:
    project = bind(recipe, settings_for(recipe, settings))
    sets = shed.sets(project, 1)
    near = sets if sets.builds else shed.nearest(project)
    shown = near.best
    if shown is None:
        return BuildAnswer(
            recipe=recipe.name,
            title=recipe.title,
            state=_state(sets, None),
            outcome=sets.outcome,
            stopped_by=sets.stopped_by,
            to_buy=0,
            to_measure=0,
            price=None,
            parts={},
            why=[words.nothing(sets.stopped_by)],
        )
    return BuildAnswer(
        recipe=recipe.name,
        title=recipe.title,
        state=_state(sets, shown),
        outcome=sets.outcome,
        stopped_by=sets.stopped_by,
        stand_in=near.stand_in,
        to_buy=shown.to_buy,
        to_measure=len(shown.open_ratings),
        price=_price(shed, shown),
        parts={role: None if c.bought else c.lot.id for role, c in shown.parts.items()},
        buy=[shown.roles[role].about for role, c in shown.parts.items() if c.bought],
        why=list(_reasons(shown)),
    )


def _price(shed: Shed, build: Build) -> float | None:
    total = sum(
        shed.waste.price(c.lot) * build.roles[r].count * c.offer.pieces
        for r, c in build.parts.items()
        if c.bought
    )
    return round(total, 2) if build.to_buy else None


def _reasons(build: Build) -> Iterator[str]:
    """Why a project stands where it does, in a few lines."""
    for checked in build.failing:
        yield words.check_line(check_of(checked))
    for role, candidate in build.parts.items():
        if candidate.bought:
            yield f"to buy: {build.roles[role].about}, such as {candidate.lot.name}"
    for path in build.open_ratings[:3]:
        yield words.measure_line(path)
    for checked in build.unproven:
        if not checked.because:
            yield words.trial_line(check_of(checked))
    if build.state is State.READY:
        yield "tightest: " + words.check_line(check_of(build.tightest[0]))


def match(
    shed: Shed,
    recipe: str,
    settings: Mapping[str, str] | None = None,
    *,
    top: int = 3,
    fixed: Mapping[str, str] | None = None,
    order: Order = "ranked",
) -> MatchAnswer:
    """Which of the stock's parts for a project: the best sets.

    Args:
        shed: Stock and recipes.
        recipe: Name of the recipe.
        settings: Demands to change.
        top: How many sets.
        fixed: Lots that must fill given roles.
        order: ``ranked``, the sets by score, however alike; or ``diverse``, always the best of those that
            differ from the ones before in what matters, with what else would do in each role.

    Raises:
        FitterError: Unknown recipe, demand, role or lot.
    """
    project = bind(shed.recipe(recipe), settings)
    roles = named_roles(shed, project, fixed or {})
    sets = shed.sets(project, top, roles, order)
    near = sets if sets.builds else shed.nearest(project, roles)
    answers = [set_of(shed, b, rank, sets.tables) for rank, b in enumerate(sets.builds, start=1)]
    if order == "diverse":
        for answer, build in zip(answers, sets.builds, strict=True):
            answer.substitutes = substitutes_of(shed, build, sets.tables)
    closest = None if sets.builds else near.best
    explained, steps = _explanations(shed, project, sets, roles)
    return MatchAnswer(
        recipe=project.recipe.name,
        title=project.recipe.title,
        outcome=sets.outcome,
        stopped_by=sets.stopped_by,
        stand_in=near.stand_in,
        order=order,
        asked=top,
        state=_state(sets, closest),
        demands=dict(project.demands),
        sets=answers,
        nearest=set_of(shed, closest, 0, near.tables) if closest else None,
        explanations=explained,
        steps=steps,
        cautions=cautions_of(project.recipe, near.builds),
        refused=shed.refused,
        set_aside=shed.left_out,
    )


def _explanations(
    shed: Shed, project: Project, sets: Sets, fixed: Mapping[str, str] | None = None, *, clash: bool = True
) -> tuple[list[ExplanationAnswer], StepsAnswer | None]:
    """Why there is no set, or none from stock alone, and the least changes; read only where needed."""
    if sets.best and not sets.best.to_buy and not sets.best.failing:
        return [], None
    from fitter.explain.said import explained

    return explained(shed, project, sets, fixed, clash=clash)


def _state(sets: Sets, closest: Build | None) -> str:
    """State of a project: that of its best set; out of reach only where it is proved that none passes."""
    shown = sets.best or closest
    if shown is not None and not shown.failing:
        return shown.state.value
    return State.OUT_OF_REACH.value if sets.outcome == "complete" else State.NOT_KNOWN.value


def named_roles(shed: Shed, project: Project, fixed: Mapping[str, str]) -> dict[str, str]:
    """Roles given by hand, completed to full names (``motor`` for ``slide.motor`` where only one has it)."""
    known: dict[str, dict[str, None]] = {}
    for f in project.functions:
        for p in f.principles:
            for name, data in sketch(project, f.name, p).roles.items():
                known.setdefault(name, {}).update(dict.fromkeys(data["role"].kinds))
    result = {}
    for word, text in fixed.items():
        full = [n for n in known if n == word or n.rpartition(".")[2] == word]
        if len(full) != 1:
            problem = f"no role {word!r}" if not full else f"{word!r} may be {' or '.join(sorted(full))}"
            raise FitterError(problem, field=f"{word}={text}", expected="roles: " + ", ".join(sorted(known)))
        lot, named = _lot_and_use(shed, text, f"{word}={text}")
        _fillable(shed, list(known[full[0]]), lot, f"{word}={text}")
        result[full[0]] = named
    return result


def _lot_and_use(shed: Shed, text: str, place: str) -> tuple[str, str]:
    """A lot given by hand, and it with the use that was named beside it, if one was (``m8/parallel``)."""
    lots = shed.stock.places
    lot, mark, use = (text, "", "") if text in lots else (part.strip() for part in text.partition("/"))
    if lot not in lots:
        raise FitterError(f"no lot {lot!r} in stock", field=place, expected=nearest(lot, lots))
    if not mark:
        return lot, lot
    uses = [offer.key for offer in shed.stock.lot(lot).offers()]
    if use not in uses:
        raise FitterError(f"{lot} has no use {use!r}", field=place, expected=", ".join(filter(None, uses)))
    return lot, f"{lot}{USE}{use}"


def _fillable(shed: Shed, kinds: Sequence[str], lot_id: str, place: str) -> None:
    """Whether a lot may be put into a role at all."""
    lot = shed.stock.lot(lot_id)
    if holders := shed.holders(lot_id):
        remedy = f"`fitter stock put-back {holders[0]}`, or ask with --with-set-aside"
        raise FitterError(f"{lot_id} is set aside for {', '.join(holders)}", field=place, expected=remedy)
    if lot_id in shed.refused:
        raise FitterError(f"{lot_id} is never placed: {shed.refused[lot_id]}", field=place)
    if kind_key(lot.kind) not in {kind_key(k) for k in kinds}:
        raise FitterError(
            f"{lot_id} is a {lot.kind}", field=place, expected="this role takes: " + ", ".join(kinds)
        )


def why(
    shed: Shed,
    recipe: str,
    settings: Mapping[str, str] | None = None,
    *,
    fixed: Mapping[str, str] | None = None,
    see: Callable[[Build], None] | None = None,
) -> MatchAnswer:
    """The reasons for one combination, or for its refusal: every check, those that fail first.

    Roles not named are filled as well as the stock and the shops allow. ``see`` is shown the build itself.

    Raises:
        FitterError: Unknown recipe, demand, role or lot.
    """
    project = bind(shed.recipe(recipe), settings)
    roles = named_roles(shed, project, fixed or {})
    found = shed.best_or_nearest(project, roles)
    if not found.builds and found.outcome == "complete":
        raise FitterError(
            f"no set at all for {recipe}", expected="some role has no part of its kind with pieces enough"
        )
    if see and found.best:
        see(found.best)
    explained, steps = _explanations(shed, project, found, roles, clash=not fixed)
    return MatchAnswer(
        recipe=project.recipe.name,
        title=project.recipe.title,
        outcome=found.outcome,
        stopped_by=found.stopped_by,
        stand_in=found.stand_in,
        state=_state(found, None),
        demands=dict(project.demands),
        sets=[set_of(shed, b, 1, found.tables) for b in found.builds],
        explanations=explained,
        steps=steps,
        cautions=cautions_of(project.recipe, found.builds),
        refused=shed.refused,
        set_aside=shed.left_out,
    )


def gaps_of(
    shed: Shed, recipe: str, settings: Mapping[str, str] | None = None, *, seconds: float | None = None
) -> GapsAnswer:
    """What is missing for a project, with specifications, donors and prices.

    Args:
        shed: Stock and recipes.
        recipe: Name of the recipe.
        settings: Demands to change.
        seconds: Of computing, for other ways and the least changes; all that they are worth when left out.

    Raises:
        FitterError: Unknown recipe or demand.
    """
    project = bind(shed.recipe(recipe), settings)
    sets = shed.sets(project, 1)
    near = sets if sets.builds else shed.nearest(project)
    build = near.best
    if build is None:
        return GapsAnswer(
            recipe=project.recipe.name,
            title=project.recipe.title,
            state=_state(sets, None),
            outcome=sets.outcome,
            stopped_by=sets.stopped_by,
            missing=[],
            measure=[],
            set_aside=shed.left_out,
        )
    start = time.process_time()
    ways = _alternatives(shed, project, build, seconds)
    steps = _steps(shed, project, build, seconds, time.process_time() - start)
    return GapsAnswer(
        recipe=project.recipe.name,
        title=project.recipe.title,
        state=_state(sets, build),
        outcome=sets.outcome,
        stopped_by=sets.stopped_by,
        stand_in=near.stand_in,
        missing=[_missing(shed, build, gap, near.tables) for gap in gaps(build)],
        measure=list(build.open_ratings),
        fails=[check_of(c) for c in build.failing],
        set_aside=shed.left_out,
        alternatives=ways,
        steps=steps,
        cut_short=seconds is not None and time.process_time() - start >= seconds,
    )


def _alternatives(
    shed: Shed, project: Project, build: Build, seconds: float | None
) -> list[AlternativeAnswer]:
    """Ways that trade off against a set, in half of the time; the module is read only where there is need."""
    if not build.to_buy and not build.failing:
        return []
    from fitter.explain.alternatives import SECONDS, alternatives

    allowed = SECONDS if seconds is None else min(SECONDS, seconds / 2)
    return [alternative_of(shed, build, way) for way in alternatives(shed, project, build, allowed)]


def _steps(
    shed: Shed, project: Project, build: Build, seconds: float | None, used: float
) -> StepsAnswer | None:
    """The least changes without buying, in what alternatives left of the time for explaining."""
    if not build.to_buy and not build.failing:
        return None
    from fitter.explain.said import ALL_SECONDS, steps_of

    return steps_of(shed, project, None, (ALL_SECONDS if seconds is None else seconds) - used)


def _missing(shed: Shed, build: Build, gap: Gap, tables: Tables) -> MissingAnswer:
    item = bought(shed, build, gap)
    return MissingAnswer(
        role=gap.role,
        kind=item.kind,
        count=item.count,
        example=item.example,
        spec=item.spec,
        price=item.price,
        price_range=item.price_range,
        seldom_listed=item.seldom_listed,
        closest=near_miss(build, gap.role, tables),
        donors=[
            DonorAnswer(
                machine=d.name,
                chance=d.chance,
                strip_time=d.strip_time,
                hint=d.hint,
                hazards=list(d.cautions),
            )
            for d in donors(item.kind, gap.within, item.count)[:4]
        ],
    )


def settings_for(recipe: Recipe, settings: Mapping[str, str]) -> dict[str, str]:
    """Those changed demands that a recipe has."""
    return {n: v for n, v in settings.items() if n in recipe.demands}
