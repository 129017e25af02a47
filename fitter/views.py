"""Builds, checks and gaps as answer models."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fitter.advice.data import cautions as caution_texts
from fitter.checks.base import ROUNDING, Check, Verdict
from fitter.intervals import Interval
from fitter.models import (
    FLAG,
    BuyAnswer,
    CheckAnswer,
    Ends,
    LimitAnswer,
    NearMiss,
    PartAnswer,
    SetAnswer,
    unit_of_quantity,
)
from fitter.recipes import Recipe
from fitter.shed import Shed
from fitter.solve.builds import Build, Checked, judge_check
from fitter.solve.candidates import Candidate
from fitter.solve.gaps import Gap, gaps


def ends_of(interval: Interval) -> Ends:
    lo, hi = float(interval.lo), float(interval.hi)
    return (lo if math.isfinite(lo) else None, hi if math.isfinite(hi) else None)


def check_of(checked: Checked) -> CheckAnswer:
    check, j = checked.check, checked.judgement
    return CheckAnswer(
        check=check.name,
        roles=list(dict.fromkeys(check.roles)),
        verdict=checked.verdict.value,
        sense=check.sense,
        quantity=check.quantity,
        need=ends_of(j.need),
        have=ends_of(j.have),
        unit=unit_of_quantity(check.quantity),
        margin=ends_of(j.margin),
        because=list(checked.because),
        sentence=checked.sentence,
    )


def bought(shed: Shed, build: Build, gap: Gap) -> BuyAnswer:
    lot = gap.candidate.lot
    return BuyAnswer(
        kind=lot.kind,
        count=gap.count,
        example=lot.name or lot.id,
        price=round(shed.waste.price(lot) * gap.count, 2),
        spec={name: _limit(gap.candidate, name, at.low, at.high) for name, at in sorted(gap.spec.items())},
    )


def _limit(candidate: Candidate, name: str, low: float, high: float) -> LimitAnswer:
    quantity = rating_quantity(candidate, name)
    if quantity == "count":
        low = math.ceil(low - ROUNDING) if math.isfinite(low) else low
        high = math.floor(high + ROUNDING) if math.isfinite(high) else high
    return LimitAnswer(
        min=low if math.isfinite(low) else None,
        max=high if math.isfinite(high) else None,
        unit=unit_of_quantity(quantity),
        quantity=quantity,
    )


def rating_quantity(candidate: Candidate, name: str) -> str:
    """The quantity of a rating or of a figure worked out from ratings."""
    source = candidate.offer.sources.get(name, name).rpartition("].")[2]
    if name == "output_constant":
        return "torque_constant"
    spec = candidate.lot.kind_of_part.spec(source) if name != "voltage.high" else None
    if spec is None:
        return "voltage" if name.startswith("voltage") else "ratio"
    return FLAG if spec.choices else spec.quantity


def set_of(shed: Shed, build: Build, rank: int) -> SetAnswer:
    missing = {g.role: g for g in gaps(build)}
    parts = {}
    for role, c in build.parts.items():
        gap = missing.get(role)
        parts[role] = PartAnswer(
            lot=None if c.bought else c.lot.id,
            offer=c.offer.label or c.offer.key,
            name=c.lot.name or c.lot.kind,
            bin="" if c.bought else c.lot.bin,
            count=build.roles[role].count * c.offer.pieces,
            buy=bought(shed, build, gap) if gap else None,
        )
    near = [near_miss(shed, build, role) for role in missing]
    return SetAnswer(
        rank=rank,
        state=build.state.value,
        principles={f: p.name for f, p in build.principles.items()},
        to_buy=build.to_buy,
        to_measure=len(build.open_ratings),
        parts=parts,
        checks=[check_of(c) for c in build.tightest],
        measure=list(build.open_ratings),
        near_misses=[n for n in near if n],
    )


def near_miss(shed: Shed, build: Build, role: str) -> NearMiss | None:
    """The part in stock that comes closest to filling a role, the other roles as in the build."""
    checks = [c.check for c in build.checks if role in c.check.roles]
    table = shed.pool.table(build.roles[role].kinds)
    own = (table.candidate(row) for row in range(len(table)) if not table.bought[row])
    tries = [_try(build, role, c, checks) for c in own if c.lot.id not in shed.without]
    found = [t for t in tries if t is not None]
    return min(found, key=lambda t: (t[0], t[1].lot))[1] if found else None


def _try(
    build: Build, role: str, candidate: Candidate, checks: Sequence[Check]
) -> tuple[tuple[float, float], NearMiss] | None:
    """How badly a candidate fails in a role: number of faults, then the worst margin; none if it would do."""
    judged = [judge_check(c, {**build.parts, role: candidate}) for c in checks]
    fails = [c for c in judged if c.verdict is Verdict.FAILS]
    short = _short_of_pieces(build, role, candidate)
    if not fails and not short:
        return None
    worst = min((float(c.judgement.margin.hi) for c in fails), default=1.0)
    near = NearMiss(role=role, lot=candidate.id, checks=[check_of(c) for c in fails], short=short)
    return (len(fails) + bool(short), -worst), near


def _short_of_pieces(build: Build, role: str, candidate: Candidate) -> str:
    """Words for a lot with too few pieces left for a role."""
    used = sum(
        build.roles[r].count * c.offer.pieces
        for r, c in build.parts.items()
        if c.lot.id == candidate.lot.id and r != role
    )
    wanted, left = build.roles[role].count * candidate.offer.pieces, candidate.lot.count - used
    return "" if left >= wanted else f"{max(left, 0)} left of the {wanted} pieces this takes"


def cautions_of(recipe: Recipe, shown: Sequence[Build]) -> dict[str, str]:
    """Cautions of a recipe and of the parts shown, each once."""
    texts = caution_texts()
    keys = list(recipe.cautions)
    for build in shown:
        for candidate in build.parts.values():
            keys += candidate.lot.kind_of_part.cautions
    return {k: texts[k] for k in dict.fromkeys(keys) if k in texts}
