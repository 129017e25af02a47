"""What a part is good for: the roles of all recipes that it can fill, and how far each then is."""

from __future__ import annotations

import time
from collections.abc import Mapping

from fitter.functions import Role
from fitter.reach.easiest import Easiest
from fitter.reach.models import RoleUse, UsesAnswer
from fitter.reach.roles import known_demands, own_demands, roles_for
from fitter.recipes import bind
from fitter.shed import Sets, Shed
from fitter.solve.builds import Build, State
from fitter.stock.lots import Lot
from fitter.views import check_of

_RANK = {s.value: i for i, s in enumerate(State)}


def uses(shed: Shed, lot: Lot, settings: Mapping[str, str] | None = None) -> UsesAnswer:
    """What a lot is good for: each recipe and role that takes its kind, the nearest to being built first.

    Args:
        shed: Stock and recipes.
        lot: One of the stock's lots.
        settings: Demands to change; each recipe takes those it has.

    Raises:
        FitterError: A demand that no recipe has, or that cannot be so.
    """
    known_demands(shed, settings)
    held = ", ".join(shed.holders(lot.id))
    refused = f"set aside for {held}" if held else shed.refused.get(lot.id, "")
    projects = [bind(r, own_demands(r, settings)) for r in shed.recipes.values()]
    end = time.process_time() + shed.limit_seconds
    found: list[RoleUse] = []
    for project in [] if refused else projects:
        easiest = Easiest(shed, project)
        found += [_use(easiest, role, lot, end) for role in roles_for(project, lot.kind)]
    found.sort(key=lambda u: (_RANK[u.state], u.to_buy, len(u.measure) + len(u.measure_others), u.recipe))
    return UsesAnswer(
        lot=lot.id,
        kind=lot.kind,
        name=lot.name,
        bin=lot.bin,
        count=lot.count,
        refused=refused,
        uses=found,
        set_aside=shed.left_out,
    )


def _use(easiest: Easiest, role: Role, lot: Lot, end: float) -> RoleUse:
    shed, project, fixed = easiest.shed, easiest.project, {role.name: lot.id}
    sets = shed.sets(project, 1, fixed)
    build = sets.best
    near = shed.nearest(project, fixed).best if build is None else build
    ratings = list(near.open_ratings) if near else []
    return RoleUse(
        recipe=project.recipe.name,
        role=role.name,
        state=_state(sets, build),
        useful=True if build and not build.failing else _goes(easiest, role.name, lot.id, end),
        measure=[p for p in ratings if p.partition(".")[0] == lot.id],
        measure_others=[p for p in ratings if p.partition(".")[0] != lot.id],
        to_buy=near.to_buy if near else 0,
        parts={r: None if c.bought else c.lot.id for r, c in near.parts.items()} if near else {},
        short=f"takes {role.count}, you have {lot.count}" if lot.count < role.count else "",
        fails=[check_of(c) for c in near.failing] if near else [],
        outcome=sets.outcome,
        stopped_by=sets.stopped_by,
    )


def _state(sets: Sets, build: Build | None) -> str:
    if build is not None and not build.failing:
        return build.state.value
    return State.OUT_OF_REACH.value if sets.outcome == "complete" else State.NOT_KNOWN.value


def _goes(easiest: Easiest, role: str, lot: str, end: float) -> bool | None:
    """Whether some set passes with the lot in the role, whatever the demands; none where not known."""
    if lot not in easiest.accepted.get(role, ()):
        return False
    found = easiest.goes(role, lot, end)
    return found if found is None else bool(found)
