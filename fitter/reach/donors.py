"""Which discarded machines to look for, and what to take out of one.

A machine's worth is the number of gaps it is expected to close. For each kind that is the chance that it
holds enough pieces, counted out to the gaps that need fewest first, so that no piece closes two gaps, times
the chance that such a part keeps to the limits of the gap's specification. Gaps of which nothing common in
the machine keeps to the limits take no pieces.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from fitter.advice.data import cautions
from fitter.advice.machines import UNLIKELY, Inside, Limits, Machine, machine, machines
from fitter.kinds import KINDS, kind_key
from fitter.reach.models import GapClosed, MachineAnswer, MachinesAnswer, PullAnswer, PullList
from fitter.reach.roles import every_role, known_demands, own_demands, takes
from fitter.recipes import Project, bind
from fitter.shed import Shed
from fitter.side_by_side import side_by_side
from fitter.solve.builds import Build, State
from fitter.solve.gaps import gaps

SAME = 2  # digits of expected gaps that tell two machines apart; the chances are rules of thumb
USES = ("closes a gap", "used by projects", "no use here", "leave alone")


@dataclass(frozen=True)
class Lack:
    """Something that a recipe's best set must buy: so many pieces of a kind, within limits."""

    recipe: str
    role: str
    kind: str
    count: int
    limits: Limits = field(default_factory=dict, compare=False)


@dataclass(frozen=True)
class Lacks:
    """What some recipes lack, their states, and whether all searches came to their end."""

    lacks: tuple[Lack, ...]
    states: Mapping[str, str]
    complete: bool


def lacks(
    shed: Shed,
    names: Sequence[str] = (),
    settings: Mapping[str, str] | None = None,
    processes: int = 1,
) -> Lacks:
    """What recipes lack in the sets that need fewest purchases; all recipes where none is named.

    Args:
        shed: Stock and recipes.
        names: Of recipes; all when empty.
        settings: Demands to change; each recipe takes those it has.
        processes: How many recipes may be searched at once.

    Raises:
        FitterError: Unknown recipe, or a demand that cannot be so.
    """
    known_demands(shed, settings)
    recipes = [shed.recipe(n) for n in names] or list(shed.recipes.values())
    found = side_by_side(
        recipes,
        lambda recipe: _lacks_of(shed, bind(recipe, own_demands(recipe, settings))),
        lambda recipe: recipe.ways,
        shed.watcher,
        processes,
    )
    return Lacks(
        tuple(lack for each in found for lack in each.lacks),
        {name: state for each in found for name, state in each.states.items()},
        all(each.complete for each in found),
    )


def _lacks_of(shed: Shed, project: Project) -> Lacks:
    """What one project lacks."""
    name, sets = project.recipe.name, shed.best_or_nearest(project)
    build = sets.best
    state = build.state.value if build else State.NOT_KNOWN.value
    return Lacks(tuple(_of(name, build)) if build else (), {name: state}, sets.outcome == "complete")


def _of(recipe: str, build: Build) -> list[Lack]:
    return [Lack(recipe, g.role, g.candidate.lot.kind, g.count, g.within) for g in gaps(build)]


def _alike(inside: Inside, wanted: Iterable[Lack]) -> list[Lack]:
    """The gaps of one kind."""
    return [g for g in wanted if kind_key(g.kind) == kind_key(inside.kind)]


def closed_by(inside: Inside, wanted: Iterable[Lack]) -> dict[Lack, float]:
    """Chance that the parts of one kind in a machine close each gap of that kind, fewest pieces first."""
    fits = {g: inside.fits(g.limits) for g in _alike(inside, wanted)}
    taken = 0
    found: dict[Lack, float] = {}
    for gap in sorted((g for g in fits if fits[g]), key=lambda g: (g.count, -fits[g], g.recipe, g.role)):
        taken += gap.count
        if (chance := inside.at_least(taken) * fits[gap]) >= UNLIKELY:
            found[gap] = chance
    return found


def missed_by(inside: Inside, wanted: Iterable[Lack]) -> dict[Lack, list[str]]:
    """Gaps of its kind that nothing common in a machine closes, and the ratings that lie outside."""
    outside = {g: inside.outside(g.limits) for g in _alike(inside, wanted)}
    return {g: ratings for g, ratings in outside.items() if ratings}


def donors(
    shed: Shed,
    names: Sequence[str] = (),
    settings: Mapping[str, str] | None = None,
    processes: int = 1,
) -> MachinesAnswer:
    """Kinds of machines to look for: most gaps closed, then quickest to strip, then fewest hazards.

    Raises:
        FitterError: Unknown recipe or demand.
    """
    lacking = lacks(shed, names, settings, processes)
    found = [_machine(each, lacking.lacks) for each in machines()]
    minutes = {each.name: each.minutes for each in machines()}
    ranked = sorted(
        (m for m in found if m.gaps),
        key=lambda m: (-round(m.gaps_closed, SAME), minutes[m.machine], len(m.hazards), m.machine),
    )
    closed = {(g.recipe, g.role) for m in found for g in m.gaps}
    return MachinesAnswer(
        recipes=dict(lacking.states),
        machines=ranked,
        nowhere=[f"{g.recipe} {g.role}: {g.kind}" for g in lacking.lacks if (g.recipe, g.role) not in closed],
        outcome="complete" if lacking.complete else "stopped",
        set_aside=shed.left_out,
    )


def _machine(each: Machine, wanted: Sequence[Lack]) -> MachineAnswer:
    closed = [
        GapClosed(
            recipe=g.recipe,
            role=g.role,
            kind=g.kind,
            count=g.count,
            chance=chance,
            fits=inside.fits(g.limits),
            hint=inside.hint,
        )
        for inside in each.parts
        for g, chance in closed_by(inside, wanted).items()
    ]
    return MachineAnswer(
        machine=each.name,
        gaps_closed=sum(g.chance for g in closed),
        strip_time=each.strip_time,
        gaps=sorted(closed, key=lambda g: (-g.chance, g.recipe, g.role)),
        hazards=_texts(each.cautions),
    )


def _texts(keys: Iterable[str]) -> dict[str, str]:
    known = cautions()
    return {k: known.get(k, k) for k in dict.fromkeys(keys)}


def pull_list(
    shed: Shed,
    at: str,
    names: Sequence[str] = (),
    settings: Mapping[str, str] | None = None,
    processes: int = 1,
) -> PullList:
    """What to take out of a machine, most useful first, and what to leave alone.

    Parts that close gaps come first, by how many they are expected to close; then those that projects use,
    the kinds that the stock has fewest of first.

    Raises:
        FitterError: Unknown machine, recipe or demand.
    """
    opened = machine(at)
    lacking = lacks(shed, names, settings, processes)
    chosen = [shed.recipe(n) for n in names] or list(shed.recipes.values())
    roles = [role for recipe in chosen for role in every_role(bind(recipe))]
    pulls = []
    for inside in opened.parts:
        worth = sum(closed_by(inside, lacking.lacks).values())
        number = sum(takes(role, inside.kind) for role in roles)
        stock = shed.pool.pieces_by_kind.get(kind_key(inside.kind), 0)
        pulls.append((worth, _pull(inside, lacking.lacks, number, stock)))
    pulls.sort(key=lambda p: (USES.index(p[1].use), -p[0], p[1].in_stock, -p[1].chance, p[1].kind))
    return PullList(
        machine=opened.name,
        also=list(opened.also),
        strip_time=opened.strip_time,
        rails=list(opened.rails),
        hazards=_texts(opened.cautions),
        keep_together=list(opened.keep_together),
        pulls=[pull for _, pull in pulls],
        outcome="complete" if lacking.complete else "stopped",
        set_aside=shed.left_out,
    )


def _pull(inside: Inside, wanted: Sequence[Lack], roles: int, in_stock: int) -> PullAnswer:
    closes = closed_by(inside, wanted)
    kind = KINDS.get(kind_key(inside.kind))
    refused = kind.refused if kind else ""
    use = "leave alone" if refused else USES[0] if closes else USES[1] if roles else USES[2]
    return PullAnswer.model_validate(
        {
            "kind": inside.kind,
            "use": use,
            "chance": inside.chance,
            "count": inside.count,
            "hint": inside.hint,
            "gaps": [f"{g.recipe} {g.role}" for g in closes],
            "outside": [f"{g.recipe} {g.role}: {', '.join(r)}" for g, r in missed_by(inside, wanted).items()],
            "roles": roles,
            "in_stock": in_stock,
            "hazards": _texts(kind.cautions if kind else ()),
            "text": refused,
        }
    )
