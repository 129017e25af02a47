"""The bench card of a lot: what is known, what is not, how to find it out, and what hangs on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Literal

from fitter.advice.data import cautions as caution_texts
from fitter.answers import settings_for
from fitter.bench.estimates import estimates
from fitter.bench.readings import Method, procedure_for, readings_for
from fitter.kinds import Spec
from fitter.kinds.model import CERTAIN
from fitter.measuring.cases import asked, at_likely, recipes_with, roles_for, swapped
from fitter.measuring.dates import measured_on
from fitter.measuring.flips import Flip, flips
from fitter.measuring.models import (
    CardAnswer,
    CardRating,
    CardUse,
    FlipAnswer,
    MethodAnswer,
    ProcedureAnswer,
)
from fitter.measuring.recording import contradictions_of
from fitter.measuring.rejudge import FAILS, OPEN, PASSES
from fitter.measuring.truths import Open, complete, open_of
from fitter.models import FLAG, unit_of_quantity
from fitter.ratings import Rating
from fitter.recipes import bind
from fitter.shed import Shed
from fitter.solve.builds import Build, judge
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import ranked_builds
from fitter.stock.lots import Lot
from fitter.views import ends_of
from fitter.words import span

_VERDICT: Mapping[int, Literal["fits", "unproven", "fails"]] = {
    PASSES: "fits",
    OPEN: "unproven",
    FAILS: "fails",
}
Used = list[tuple[str, str, Build]]  # recipe, role, and its best set with the lot in that role


def card(shed: Shed, lot: Lot, settings: Mapping[str, str] | None = None) -> CardAnswer:
    """The bench card of a lot.

    Args:
        shed: Stock and recipes.
        lot: The lot.
        settings: Demands of recipes to change.
    """
    refused = lot.refusal()
    used = [] if refused else list(_uses(shed, lot, settings or {}))
    guesses = {each.rating: each.sentence for each in estimates(lot)}
    ratings = [_rating(lot, name, r, spec, used, guesses) for name, r, spec in _ratings(lot)]
    return CardAnswer(
        lot=lot.id,
        kind=lot.kind,
        name=lot.name,
        bin=lot.bin,
        count=lot.count,
        condition=lot.condition,
        refused=refused,
        uses=[_use(recipe, role, build) for recipe, role, build in used],
        known=[r for r in ratings if r.certain],
        open=[r for r in ratings if not r.certain],
        contradictions=contradictions_of(lot),
        cautions=_cautions(lot, ratings),
        set_aside=shed.left_out,
    )


def _uses(shed: Shed, lot: Lot, settings: Mapping[str, str]) -> Iterator[tuple[str, str, Build]]:
    """For each recipe the best set that has the lot in some role."""
    tables = shed.tables()
    for name in recipes_with(shed, lot.kind):
        recipe = shed.recipes[name]
        project = bind(recipe, settings_for(recipe, settings))
        found: list[tuple[float, str, Build]] = []
        for role in roles_for(project, lot.kind):
            allowed = tables.filtered(Filters({role: lot.id}, shed.without))
            best = next(iter(ranked_builds(project, allowed, shed.short_limit())), None)
            if best is not None:
                found.append((best.score, role, judge(best, allowed)))
        if found:
            _, role, build = min(found, key=lambda each: each[:2])
            yield name, role, _easiest(build, role, tables)


def _easiest(build: Build, role: str, tables: Tables) -> Build:
    """Of a set and those with another part swapped, the one that the fewest minutes of measuring prove."""
    others = [b for b in swapped([build], tables) if b.parts[role] is build.parts[role]]
    return min([build, *others], key=_minutes)


def _minutes(build: Build) -> float:
    lots = {c.lot.id: c.lot for c in build.parts.values() if not c.bought}
    return sum(open_of(lots[lot])[name].minutes for lot, name in asked(build))


def _use(recipe: str, role: str, build: Build) -> CardUse:
    return CardUse(
        recipe=recipe,
        role=role,
        state=build.state.value,
        open=[f"{lot}.{name}" for lot, name in asked(build)],
    )


def _ratings(lot: Lot) -> Iterator[tuple[str, Rating, Spec]]:
    """Every rating of a lot with what is known of it; a window by its two ends."""
    everything = complete(lot)
    for name, spec in lot.kind_of_part.ratings.items():
        for full in (f"{name}.min", f"{name}.max") if spec.window else (name,):
            yield full, everything[full], spec
    for number, rail in enumerate(lot.rails, start=1):
        for name, spec in (lot.kind_of_part.rails or {}).items():
            yield f"{lot.kind_of_part.rails_name}[{number}].{name}", rail[name], spec


def _rating(
    lot: Lot, name: str, rating: Rating, spec: Spec, used: Used, guesses: Mapping[str, str]
) -> CardRating:
    field = name.removesuffix(".min").removesuffix(".max")
    quantity = FLAG if spec.choices else spec.quantity
    certain = rating.exact or rating.evidence in CERTAIN
    lo, hi = ends_of(rating.interval)
    open_ = open_of(lot).get(field)
    procedure = procedure_for(lot.kind, name)
    return CardRating(
        rating=name,
        quantity=quantity,
        unit=unit_of_quantity(quantity),
        min=lo,
        max=hi,
        likely=rating.likely if rating.likely < float("inf") else None,
        shown=_shown(rating, spec),
        evidence=rating.evidence.value,
        basis=_basis(lot, name, rating, guesses),
        measured_on=measured_on(lot.note).get(field),
        certain=certain,
        minutes=0.0 if certain else spec.minutes,
        how="" if certain else spec.how,
        procedure=None
        if certain or procedure is None
        else ProcedureAnswer(
            code=procedure.code,
            title=procedure.title,
            tools=list(procedure.tools),
            steps=list(procedure.steps),
            mind=list(procedure.mind),
        ),
        methods=[] if certain else [_method(lot, m) for m in readings_for(lot.kind) if m.rating == field],
        flips=[] if certain or open_ is None else list(_flips(lot, open_, used)),
    )


def _shown(rating: Rating, spec: Spec) -> str:
    if spec.choices:
        words = spec.choices[int(rating.lo) : int(rating.hi) + 1]
        return words[0] if len(words) == 1 else " or ".join(words)
    return span(ends_of(rating.interval), spec.quantity)


def _basis(lot: Lot, name: str, rating: Rating, guesses: Mapping[str, str]) -> str:
    """Where an interval comes from: the file, an estimate with its figures, or what is found in practice."""
    stated = lot.ratings.get(name)
    if "]." in name:
        stated = rating if rating.known else None
    if stated is not None:
        return stated.text or stated.evidence.value
    return guesses.get(name, "nothing known: as far as is usual for this kind")


def _method(lot: Lot, method: Method) -> MethodAnswer:
    everything = complete(lot)
    known = {n for n in method.inputs if n in lot.ratings and lot.ratings[n].known}
    filled = [
        f"{n.replace('_', ' ')} = {span(ends_of(everything[n].interval), q)}" if n in known else n
        for n, q in method.inputs.items()
    ]
    wanted = {n: q for n, q in method.inputs.items() if n not in known}
    typed = " ".join(f"{n}=..." for n in wanted)
    return MethodAnswer(
        formula=method.formula,
        filled=", ".join(filled),
        readings=wanted,
        command=f"fitter record {lot.id} {typed}",
    )


def _flips(lot: Lot, open_: Open, used: Used) -> Iterator[FlipAnswer]:
    """Where the verdict on each recipe's set flips; nothing where it does not hang on the rating."""
    for recipe, role, build in used:
        stretches, given = _stretches(lot, open_, build)
        checks = [c.check.name for c in build.unproven if _reads(c.check.roles, build, lot)]
        for each in stretches:
            yield FlipAnswer(
                recipe=recipe,
                role=role,
                checks=list(dict.fromkeys(checks)),
                verdict=_VERDICT[each.verdict],
                min=None if each is stretches[0] else each.low,
                max=None if each is stretches[-1] else each.high,
                given=given,
            )


def _stretches(lot: Lot, open_: Open, build: Build) -> tuple[list[Flip], list[str]]:
    """Flips with all else as it is; where there are none, with all else that is open at its likely value.

    One stretch alone tells something too where the set then passes: the figure need only be known.
    """
    found = flips(build, open_)
    at = (lot.id, open_.field)
    if _telling(found) or at not in asked(build):
        return (found if _telling(found) else []), []
    likely, pinned = at_likely(build, at)
    now = next(c.lot for c in likely.parts.values() if not c.bought and c.lot.id == lot.id)
    found = flips(likely, open_of(now)[open_.field])
    return (found, [".".join(each) for each in pinned]) if _telling(found) else ([], [])


def _telling(found: list[Flip]) -> bool:
    return len(found) > 1 or any(each.verdict == PASSES for each in found)


def _reads(roles: Iterable[str], build: Build, lot: Lot) -> bool:
    return any(not build.parts[r].bought and build.parts[r].lot.id == lot.id for r in roles)


def _cautions(lot: Lot, ratings: Iterable[CardRating]) -> dict[str, str]:
    texts = caution_texts()
    keys = list(lot.kind_of_part.cautions)
    for rating in ratings:
        procedure = procedure_for(lot.kind, rating.rating)
        if procedure is not None and not rating.certain:
            keys += procedure.cautions
    return {k: texts[k] for k in dict.fromkeys(keys) if k in texts}
