"""Builds, checks and gaps as answer models."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from fitter.advice.data import cautions as caution_texts
from fitter.advice.sizes import adapter_size, carried, price_range, seldom_listed
from fitter.checks.base import ROUNDING, Verdict
from fitter.intervals import Interval
from fitter.models import (
    FLAG,
    AdapterAnswer,
    AlternativeAnswer,
    BuyAnswer,
    CheckAnswer,
    Ends,
    LimitAnswer,
    NearMiss,
    PartAnswer,
    SetAnswer,
    StockPartAnswer,
    SubstituteAnswer,
    unit_of_quantity,
)
from fitter.recipes import Recipe
from fitter.shed import Shed
from fitter.solve.builds import Build, Checked, judge_check
from fitter.solve.candidates import Candidate
from fitter.solve.gaps import Gap, Limits, gaps
from fitter.solve.swaps import closest, pieces, substitutes
from fitter.solve.tables import Tables

if TYPE_CHECKING:
    from fitter.explain.alternatives import Way
    from fitter.solve.adapters import Adapter


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
    spec = {name: _limit(gap.candidate, name, at.low, at.high) for name, at in sorted(gap.spec.items())}
    unlisted = seldom_listed(lot.kind)
    price = shed.waste.price(lot) * gap.count
    return BuyAnswer(
        kind=lot.kind,
        count=gap.count,
        example=lot.name or lot.id,
        price=round(price, 2),
        spec={name: at for name, at in spec.items() if name not in unlisted},
        seldom_listed={name: at for name, at in spec.items() if name in unlisted},
        price_range=price_range(lot.kind, price),
    )


def _limit(candidate: Candidate, name: str, low: float, high: float) -> LimitAnswer:
    quantity = rating_quantity(candidate, name)
    source = candidate.offer.sources.get(name, name).rpartition("].")[2]
    if quantity == "count":
        low = math.ceil(low - ROUNDING) if math.isfinite(low) else low
        high = math.floor(high + ROUNDING) if math.isfinite(high) else high
    return limit_of(Limits(low, high), quantity, carried(candidate.lot.kind, source, low, high))


def rating_quantity(candidate: Candidate, name: str) -> str:
    """The quantity of a rating or of a figure worked out from ratings."""
    source = candidate.offer.sources.get(name, name).rpartition("].")[2]
    if name == "output_constant":
        return "torque_constant"
    spec = candidate.lot.kind_of_part.spec(source) if name != "voltage.high" else None
    if spec is None:
        return "voltage" if name.startswith("voltage") else "ratio"
    return FLAG if spec.choices else spec.quantity


def set_of(shed: Shed, build: Build, rank: int, tables: Tables) -> SetAnswer:
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
            ruled_out=[] if c.bought else c.lot.kind_of_part.ruled_out(c.lot),
        )
    near = [near_miss(build, role, tables) for role in missing]
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


def substitutes_of(shed: Shed, build: Build, tables: Tables) -> dict[str, list[SubstituteAnswer]]:
    """What else would do in each role, everything else as it is."""
    found = {role: substitutes(build, tables, role) for role in build.parts}
    return {role: [_substitute(shed, build, role, c) for c in each] for role, each in found.items() if each}


def _substitute(shed: Shed, build: Build, role: str, candidate: Candidate) -> SubstituteAnswer:
    lot, count = candidate.lot, build.roles[role].count * candidate.offer.pieces
    return SubstituteAnswer(
        lot=None if candidate.bought else lot.id,
        offer=candidate.offer.label or candidate.offer.key,
        name=lot.name or lot.kind,
        bin="" if candidate.bought else lot.bin,
        count=count,
        price=round(shed.waste.price(lot) * count, 2) if candidate.bought else None,
    )


def near_miss(build: Build, role: str, tables: Tables) -> NearMiss | None:
    """The part in stock that comes closest to filling a role, the other roles as in the build."""
    candidate = closest(build, tables, role)
    if candidate is None:
        return None
    swapped = {**build.parts, role: candidate}
    judged = [judge_check(c.check, swapped) for c in build.checks if role in c.check.roles]
    fails = [check_of(c) for c in judged if c.verdict is Verdict.FAILS]
    return NearMiss(
        role=role, lot=candidate.id, checks=fails, short=_short_of_pieces(build, role, candidate, tables)
    )


def _short_of_pieces(build: Build, role: str, candidate: Candidate, tables: Tables) -> str:
    """Words for a lot with too few pieces left for a role."""
    left, takes = pieces(build, role, candidate, tables)
    if left >= takes:
        return ""
    count, used = candidate.lot.count, candidate.lot.count - left
    elsewhere = f", {'all' if used == count else used} used elsewhere in this set" if used else ""
    return f"{takes} needed, you have {count}{elsewhere}"


def alternative_of(shed: Shed, best: Build, way: Way) -> AlternativeAnswer:
    """Another way to get a project going, with all that it needs bought."""
    build = way.build
    return AlternativeAnswer(
        to_buy=way.items,
        price=way.price,
        unproven=len(build.unproven),
        parts={role: None if c.bought else c.lot.id for role, c in way.parts.items()},
        buy={gap.role: bought(shed, build, gap) for gap in gaps(build) if gap.role in way.parts},
        adapters=[adapter_of(a) for a in way.adapters],
        measure=list(build.open_ratings),
        differs=list(_differences(best, way)),
    )


def adapter_of(adapter: Adapter) -> AdapterAnswer:
    """An adapter with its limits, sizes to ask for and price, or what the stock has that does its work."""
    own = adapter.from_stock
    return AdapterAnswer(
        kind=adapter.kind,
        between=list(adapter.between),
        closes=list(adapter.closes),
        spec={name: _limits_of(adapter, name) for name in adapter.spec},
        example=adapter.example,
        from_stock=[StockPartAnswer(lot=lot.id, name=lot.name or lot.kind, bin=lot.bin) for lot in own],
        price=adapter.price,
        price_range=None if own else price_range(adapter.kind, adapter.price),
    )


def _limits_of(adapter: Adapter, name: str) -> LimitAnswer:
    at, quantity = adapter.spec[name]
    return limit_of(at, quantity, adapter_size(adapter.kind, name, at.low, at.high))


def limit_of(at: Limits, quantity: str, size: float | None) -> LimitAnswer:
    """Least and most of a figure, and the size to ask for."""
    return LimitAnswer(
        min=at.low if math.isfinite(at.low) else None,
        max=at.high if math.isfinite(at.high) else None,
        unit=unit_of_quantity(quantity),
        quantity=quantity,
        size=size,
    )


def _differences(best: Build, way: Way) -> Iterator[str]:
    """What is other than in the best set, what is bought first."""
    now, before = way.parts, best.parts
    other = [r for r, c in now.items() if r not in before or before[r].id != c.id]
    for role in sorted(other, key=lambda r: (not now[r].bought, r)):
        name = now[role].lot.name or now[role].lot.kind
        yield f"{role}: buy {name}" if now[role].bought else f"{role}: {now[role].id} from stock"
    gone = [r for r, c in before.items() if r not in now and c.bought]
    if gone:
        yield f"not needed: {', '.join(gone)}"


def cautions_of(recipe: Recipe, shown: Sequence[Build]) -> dict[str, str]:
    """Cautions of a recipe and of the parts shown, each once."""
    texts = caution_texts()
    keys = list(recipe.cautions)
    for build in shown:
        for candidate in build.parts.values():
            keys += (*candidate.lot.kind_of_part.cautions, *candidate.offer.cautions)
    return {k: texts[k] for k in dict.fromkeys(keys) if k in texts}
