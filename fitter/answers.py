"""The product's questions as functions that return plain models; terminal and files only render these.

Quantities are numbers in SI base or coherent derived units, with the unit named beside them; an
unbounded end of an interval is null.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from fitter import words
from fitter.advice.data import cautions as caution_texts
from fitter.advice.data import donors, shop
from fitter.checks.base import Check, Verdict
from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.intervals import Interval
from fitter.kinds import KINDS, kind_key
from fitter.ratings import Rating
from fitter.recipes import BoundFunction, Project, Recipe, bind, load_recipes
from fitter.solve.builds import Build, Checked, State, judge, judge_check
from fitter.solve.candidates import Candidate, Pool
from fitter.solve.gaps import Gap, gaps
from fitter.solve.score import Waste
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import Limit, good_build, ranked_builds, sketch
from fitter.stock.files import Stock, load_stock, stock_files
from fitter.stock.lots import Lot
from fitter.units import QUANTITIES

Ends = tuple[float | None, float | None]
EXPLAIN_SECONDS = 4.0  # for finding a set to explain; then a good one has to do
FLAG = "flag"  # a property that is there or not: one for yes, zero for no


def unit_of_quantity(quantity: str) -> str:
    """SI unit of a quantity; that of a plain number for yes and no."""
    return "1" if quantity == FLAG else QUANTITIES[quantity].unit


class Answer(BaseModel):
    """Base of all answers; a model is set up when first used, which keeps the start short."""

    model_config = ConfigDict(defer_build=True)


class CheckAnswer(Answer):
    """One check of a set: need, have and margin (have over need, or limit over actual)."""

    check: str
    roles: list[str]
    verdict: Literal["fits", "unproven", "fails"]
    sense: Literal["at least", "at most", "equal"]
    quantity: str
    need: Ends
    have: Ends
    unit: str
    margin: Ends
    because: list[str] = Field(description="ratings (lot.rating) that keep it unproven")
    sentence: str = ""


class LimitAnswer(Answer):
    """Least and most of a rating of something to buy."""

    min: float | None
    max: float | None
    unit: str
    quantity: str


class BuyAnswer(Answer):
    """What to buy for a role: an example size, its usual price, and the limits that any part must keep."""

    kind: str
    count: int
    example: str
    price: float | None = Field(description="euro for all pieces, an estimate")
    spec: dict[str, LimitAnswer]


class PartAnswer(Answer):
    """What fills a role: a lot of the stock in one of its uses, or something to buy."""

    lot: str | None
    offer: str
    name: str
    bin: str
    count: int
    buy: BuyAnswer | None


class NearMiss(Answer):
    """The stock's closest part for a role that nothing in stock fills, and how far off it is."""

    role: str
    lot: str
    checks: list[CheckAnswer]
    short: str = Field(default="", description="where there are too few pieces")


class SetAnswer(Answer):
    """One combination of parts."""

    rank: int
    state: str
    principles: dict[str, str]
    to_buy: int
    to_measure: int
    parts: dict[str, PartAnswer]
    checks: list[CheckAnswer]
    measure: list[str] = Field(description="open ratings, the one that decides most first")
    near_misses: list[NearMiss]


class MatchAnswer(Answer):
    """Sets for a project, best first."""

    recipe: str
    title: str
    outcome: Literal["complete", "stopped"]
    state: str
    demands: dict[str, float]
    sets: list[SetAnswer]
    nearest: SetAnswer | None = Field(default=None, description="what comes closest where no set exists")
    cautions: dict[str, str] = {}
    refused: dict[str, str] = Field(default={}, description="lots that are never placed, and why")


class BuildAnswer(Answer):
    """One project and how far it is from being built."""

    recipe: str
    title: str
    state: str
    outcome: Literal["complete", "stopped"]
    to_buy: int
    to_measure: int
    price: float | None
    parts: dict[str, str | None]
    why: list[str]


class BuildsAnswer(Answer):
    """All projects, nearest first."""

    builds: list[BuildAnswer]
    refused: dict[str, str] = {}


class DonorAnswer(Answer):
    """A machine that commonly holds a missing part."""

    machine: str
    chance: float
    strip_time: str
    hint: str


class MissingAnswer(Answer):
    """One thing that is missing."""

    role: str
    kind: str
    count: int
    example: str
    spec: dict[str, LimitAnswer]
    donors: list[DonorAnswer]
    price: float | None
    closest: NearMiss | None = None


class GapsAnswer(Answer):
    """What is missing for one project."""

    recipe: str
    title: str
    state: str
    outcome: Literal["complete", "stopped"]
    missing: list[MissingAnswer]
    measure: list[str]
    fails: list[CheckAnswer] = Field(default=[], description="what no purchase can repair")


class GapsOfSeveral(Answer):
    """What is missing for several projects."""

    gaps: list[GapsAnswer]


@dataclass
class Shed:
    """A stock and the recipes, and what is worked out once for both."""

    stock: Stock
    recipes: Mapping[str, Recipe]
    without: Sequence[str] = ()
    limit_nodes: int = 200_000
    limit_seconds: float = 20.0
    pool: Pool = field(init=False)
    waste: Waste = field(init=False)

    def __post_init__(self) -> None:
        sizes = shop()
        self.pool = Pool(self.stock.lots, (lot for lots in sizes.values() for lot in lots))
        self.waste = Waste(self.pool, sizes)
        known = {lot.id for lot in self.stock.lots}
        for lot in self.without:
            if lot not in known:
                raise FitterError(f"no lot {lot!r} in stock", field="--without", expected=nearest(lot, known))

    @staticmethod
    def open(
        stock: Path, recipes: Path | None = None, *, skip_bad: bool = False, without: Sequence[str] = ()
    ) -> Shed:
        """Read a stock and the recipes.

        Raises:
            FitterErrors: What is wrong with the files.
        """
        return Shed(load_stock(stock, skip_bad=skip_bad), load_recipes(recipes), without)

    def recipe(self, name: str) -> Recipe:
        """A recipe by name.

        Raises:
            FitterError: There is none of that name.
        """
        found = self.recipes.get(name.replace("_", "-"))
        if found is None:
            raise FitterError(f"no recipe {name!r}", expected=nearest(name, self.recipes))
        return found

    def limit(self) -> Limit:
        """A fresh limit for one search."""
        return Limit(self.limit_nodes, self.limit_seconds)

    @property
    def refused(self) -> dict[str, str]:
        """Lots that are never placed, and why."""
        return {r.lot.id: f"{r.lot.kind}: {r.reason}" for r in self.pool.refusals}

    def tables(self, fixed: Mapping[str, str] | None = None, *, soft: bool = False) -> Tables:
        """Tables for one project."""
        return Tables(self.pool, self.waste, Filters(fixed, self.without), soft=soft)

    def sets(
        self, project: Project, top: int, fixed: Mapping[str, str] | None = None, *, soft: bool = False
    ) -> Sets:
        """The best sets for a project."""
        tables, limit = self.tables(fixed, soft=soft), self.limit()
        found: list[Build] = []
        for each in ranked_builds(project, tables, limit):
            found.append(judge(each, tables))
            if len(found) >= top:
                break
        return Sets(found, "stopped" if limit.reached and len(found) < top else "complete")

    def nearest(self, project: Project, fixed: Mapping[str, str] | None = None) -> Build | None:
        """The set with the fewest failing checks, where none passes.

        When that takes longer than a few seconds a good set stands in: it shows what fails all the same.
        """
        tables = self.tables(fixed, soft=True)
        found = next(ranked_builds(project, tables, self.short_limit()), None)
        found = found or good_build(project, tables)
        return judge(found, tables) if found else None

    def best_or_nearest(self, project: Project, fixed: Mapping[str, str] | None = None) -> Build | None:
        """The best set if one that passes is found soon, else what comes nearest."""
        tables = self.tables(fixed)
        found = next(ranked_builds(project, tables, self.short_limit()), None)
        return judge(found, tables) if found else self.nearest(project, fixed)

    def short_limit(self) -> Limit:
        """A limit for finding a set to explain."""
        return Limit(self.limit_nodes, min(self.limit_seconds, EXPLAIN_SECONDS))


@dataclass(frozen=True)
class Sets:
    """Builds found, and whether the search came to its end."""

    builds: list[Build]
    outcome: Literal["complete", "stopped"]


# ---------------------------------------------------------------- questions


def builds(shed: Shed, settings: Mapping[str, str] | None = None) -> BuildsAnswer:
    """What can be built now: every recipe with its state, nearest first.

    Args:
        shed: Stock and recipes.
        settings: Demands to change; each recipe takes those it has.

    Raises:
        FitterError: A demand that no recipe has.
    """
    _known_demands(shed.recipes.values(), settings or {})
    rows = [_build_row(shed, recipe, settings or {}) for recipe in shed.recipes.values()]
    rank = {s.value: i for i, s in enumerate(State)}
    rows.sort(key=lambda r: (rank[r.state], r.to_buy, r.to_measure, r.recipe))
    return BuildsAnswer(builds=rows, refused=shed.refused)


def _known_demands(recipes: Iterable[Recipe], settings: Mapping[str, str]) -> None:
    known = {d for r in recipes for d in r.demands}
    for name in settings:
        if name not in known:
            raise FitterError(
                f"no recipe has a demand {name!r}", field="--set", expected=nearest(name, known)
            )


def _build_row(shed: Shed, recipe: Recipe, settings: Mapping[str, str]) -> BuildAnswer:
    project = bind(recipe, settings_for(recipe, settings))
    sets = shed.sets(project, 1)
    best = sets.builds[0] if sets.builds else None
    shown = best or shed.nearest(project)
    if shown is None:
        return BuildAnswer(
            recipe=recipe.name,
            title=recipe.title,
            state=State.OUT_OF_REACH.value,
            outcome=sets.outcome,
            to_buy=0,
            to_measure=0,
            price=None,
            parts={},
            why=["no part for some role, in stock or in a shop"],
        )
    return BuildAnswer(
        recipe=recipe.name,
        title=recipe.title,
        state=shown.state.value,
        outcome=sets.outcome,
        to_buy=shown.to_buy,
        to_measure=len(shown.open_ratings),
        price=_price(shed, shown),
        parts={role: None if c.bought else c.lot.id for role, c in shown.parts.items()},
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
        yield words.check_line(_check(checked))
    for role, candidate in build.parts.items():
        if candidate.bought:
            yield f"to buy: {build.roles[role].about}, such as {candidate.lot.name}"
    for path in build.open_ratings[:3]:
        yield words.measure_line(path)
    for checked in build.unproven:
        if not checked.because:
            yield words.trial_line(_check(checked))
    if build.state is State.READY:
        yield "tightest: " + words.check_line(_check(build.tightest[0]))


def match(
    shed: Shed,
    recipe: str,
    settings: Mapping[str, str] | None = None,
    *,
    top: int = 3,
    fixed: Mapping[str, str] | None = None,
) -> MatchAnswer:
    """Which of the stock's parts for a project: the best sets.

    Args:
        shed: Stock and recipes.
        recipe: Name of the recipe.
        settings: Demands to change.
        top: How many sets.
        fixed: Lots that must fill given roles.

    Raises:
        FitterError: Unknown recipe, demand, role or lot.
    """
    project = bind(shed.recipe(recipe), settings)
    roles = named_roles(shed, project, fixed or {})
    sets = shed.sets(project, top, roles)
    closest = None if sets.builds else shed.nearest(project, roles)
    answers = [_set(shed, b, rank) for rank, b in enumerate(sets.builds, start=1)]
    shown = sets.builds or ([closest] if closest else [])
    return MatchAnswer(
        recipe=project.recipe.name,
        title=project.recipe.title,
        outcome=sets.outcome,
        state=answers[0].state if answers else State.OUT_OF_REACH.value,
        demands=dict(project.demands),
        sets=answers,
        nearest=_set(shed, closest, 0) if closest else None,
        cautions=_cautions(project.recipe, shown),
        refused=shed.refused,
    )


def named_roles(shed: Shed, project: Project, fixed: Mapping[str, str]) -> dict[str, str]:
    """Roles given by hand, completed to full names (``motor`` for ``slide.motor`` where only one has it)."""
    known: dict[str, dict[str, None]] = {}
    for f in project.functions:
        for p in f.principles:
            for name, data in sketch(project, f.name, p).roles.items():
                known.setdefault(name, {}).update(dict.fromkeys(data["role"].kinds))
    lots = {lot.id: lot for lot in shed.stock.lots}
    result = {}
    for word, lot in fixed.items():
        full = [n for n in known if n == word or n.rpartition(".")[2] == word]
        if len(full) != 1:
            problem = f"no role {word!r}" if not full else f"{word!r} may be {' or '.join(sorted(full))}"
            raise FitterError(problem, field=f"{word}={lot}", expected="roles: " + ", ".join(sorted(known)))
        if lot not in lots:
            raise FitterError(f"no lot {lot!r} in stock", field=f"{word}={lot}", expected=nearest(lot, lots))
        _fillable(shed, list(known[full[0]]), lot, f"{word}={lot}")
        result[full[0]] = lot
    return result


def _fillable(shed: Shed, kinds: Sequence[str], lot_id: str, place: str) -> None:
    """Whether a lot may be put into a role at all."""
    lot = next(lot for lot in shed.stock.lots if lot.id == lot_id)
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
) -> MatchAnswer:
    """The reasons for one combination, or for its refusal: every check, those that fail first.

    Roles not named are filled as well as the stock and the shops allow.

    Raises:
        FitterError: Unknown recipe, demand, role or lot.
    """
    project = bind(shed.recipe(recipe), settings)
    roles = named_roles(shed, project, fixed or {})
    build = shed.best_or_nearest(project, roles)
    if build is None:
        raise FitterError(
            f"no set at all for {recipe}", expected="some role has no part of its kind with pieces enough"
        )
    answer = _set(shed, build, 1)
    return MatchAnswer(
        recipe=project.recipe.name,
        title=project.recipe.title,
        outcome="complete",
        state=build.state.value,
        demands=dict(project.demands),
        sets=[answer],
        cautions=_cautions(project.recipe, [build]),
        refused=shed.refused,
    )


def gaps_of(shed: Shed, recipe: str, settings: Mapping[str, str] | None = None) -> GapsAnswer:
    """What is missing for a project, with specifications, donors and prices.

    Raises:
        FitterError: Unknown recipe or demand.
    """
    project = bind(shed.recipe(recipe), settings)
    sets = shed.sets(project, 1)
    build = sets.builds[0] if sets.builds else shed.nearest(project)
    if build is None:
        raise FitterError(
            f"no set at all for {recipe}", expected="some role has no part of its kind with pieces enough"
        )
    return GapsAnswer(
        recipe=project.recipe.name,
        title=project.recipe.title,
        state=build.state.value,
        outcome=sets.outcome,
        missing=[_missing(shed, build, gap) for gap in gaps(build)],
        measure=list(build.open_ratings),
        fails=[_check(c) for c in build.failing],
    )


def _missing(shed: Shed, build: Build, gap: Gap) -> MissingAnswer:
    bought = _bought(shed, build, gap)
    return MissingAnswer(
        role=gap.role,
        kind=bought.kind,
        count=bought.count,
        example=bought.example,
        spec=bought.spec,
        price=bought.price,
        closest=near_miss(shed, build, gap.role),
        donors=[
            DonorAnswer(machine=d.name, chance=d.chance, strip_time=d.strip_time, hint=d.hint)
            for d in donors(bought.kind)[:4]
        ],
    )


# ---------------------------------------------------------------- from builds to answers


def _ends(interval: Interval) -> Ends:
    lo, hi = float(interval.lo), float(interval.hi)
    return (lo if math.isfinite(lo) else None, hi if math.isfinite(hi) else None)


def _check(checked: Checked) -> CheckAnswer:
    check, j = checked.check, checked.judgement
    return CheckAnswer(
        check=check.name,
        roles=list(dict.fromkeys(check.roles)),
        verdict=checked.verdict.value,
        sense=check.sense,
        quantity=check.quantity,
        need=_ends(j.need),
        have=_ends(j.have),
        unit=unit_of_quantity(check.quantity),
        margin=_ends(j.margin),
        because=list(checked.because),
        sentence=checked.sentence,
    )


def _bought(shed: Shed, build: Build, gap: Gap) -> BuyAnswer:
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


def _set(shed: Shed, build: Build, rank: int) -> SetAnswer:
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
            buy=_bought(shed, build, gap) if gap else None,
        )
    near = [near_miss(shed, build, role) for role in missing]
    return SetAnswer(
        rank=rank,
        state=build.state.value,
        principles={f: p.name for f, p in build.principles.items()},
        to_buy=build.to_buy,
        to_measure=len(build.open_ratings),
        parts=parts,
        checks=[_check(c) for c in build.tightest],
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
    near = NearMiss(role=role, lot=candidate.id, checks=[_check(c) for c in fails], short=short)
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


def _cautions(recipe: Recipe, shown: Sequence[Build]) -> dict[str, str]:
    """Cautions of a recipe and of the parts shown, each once."""
    texts = caution_texts()
    keys = list(recipe.cautions)
    for build in shown:
        for candidate in build.parts.values():
            keys += candidate.lot.kind_of_part.cautions
    return {k: texts[k] for k in dict.fromkeys(keys) if k in texts}


# ---------------------------------------------------------------- stock and recipes


class RatingAnswer(Answer):
    """A rating as stated: ends and likely value in SI, and how it is known."""

    min: float | None
    max: float | None
    likely: float | None
    unit: str
    evidence: str
    shown: str = Field(description="as the maker wrote it")


class LotAnswer(Answer):
    """One lot of the stock."""

    id: str
    kind: str
    count: int
    name: str
    bin: str
    donor: str
    condition: str
    refused: str = Field(description="why it is never placed; empty when it may be")
    ratings: dict[str, RatingAnswer]


class StockAnswer(Answer):
    """The stock, lot by lot."""

    lots: list[LotAnswer]


class StockCheckAnswer(Answer):
    """What is wrong with the files of a stock."""

    files: int
    lots: int
    errors: list[str]
    refused: dict[str, str] = {}


class RecipeLine(Answer):
    """One recipe in a list."""

    recipe: str
    title: str
    about: str
    difficulty: str
    hours: str
    demands: list[str]


class RecipesAnswer(Answer):
    """All recipes."""

    recipes: list[RecipeLine]


class DemandAnswer(Answer):
    """A requirement that may be changed; value in SI."""

    name: str
    value: float
    unit: str
    quantity: str
    help: str


class PrincipleAnswer(Answer):
    """One way to do a function, and the roles it needs."""

    name: str
    about: str
    roles: list[str]


class FunctionAnswer(Answer):
    """A function of a recipe."""

    name: str
    about: str
    principles: list[PrincipleAnswer]


class RecipeAnswer(Answer):
    """One recipe in full."""

    recipe: str
    title: str
    about: str
    difficulty: str
    hours: str
    tools: str
    demands: list[DemandAnswer]
    functions: list[FunctionAnswer]
    cautions: dict[str, str]


def settings_for(recipe: Recipe, settings: Mapping[str, str]) -> dict[str, str]:
    """Those changed demands that a recipe has."""
    return {n: v for n, v in settings.items() if n in recipe.demands}


def list_stock(stock: Stock, kind: str | None = None) -> StockAnswer:
    """All lots, or those of one kind, with what their files state.

    Raises:
        FitterError: Unknown kind.
    """
    if kind is not None and kind_key(kind) not in KINDS:
        raise FitterError(f"unknown kind {kind!r}", field="--kind", expected=nearest(kind_key(kind), KINDS))
    lots = [lot for lot in stock.lots if kind is None or kind_key(lot.kind) == kind_key(kind)]
    return StockAnswer(lots=[_lot(lot) for lot in sorted(lots, key=lambda lot: lot.id)])


def _lot(lot: Lot) -> LotAnswer:
    ratings = {name: _rating(lot, name, r) for name, r in lot.ratings.items()}
    for index, rail in enumerate(lot.rails, start=1):
        place = f"{lot.kind_of_part.rails_name}[{index}]"
        ratings.update({f"{place}.{name}": _rating(lot, name, r) for name, r in rail.items() if r.known})
    return LotAnswer(
        id=lot.id,
        kind=lot.kind,
        count=lot.count,
        name=lot.name,
        bin=lot.bin,
        donor=lot.donor,
        condition=lot.condition,
        refused=lot.kind_of_part.refusal(lot),
        ratings=ratings,
    )


def _rating(lot: Lot, name: str, rating: Rating) -> RatingAnswer:
    spec = lot.kind_of_part.spec(name)
    quantity = FLAG if spec is None or spec.choices else spec.quantity
    lo, hi = _ends(rating.interval)
    shown = rating.text or words.span((lo, hi), quantity)
    return RatingAnswer(
        min=lo,
        max=hi,
        likely=rating.likely if math.isfinite(rating.likely) else None,
        unit=unit_of_quantity(quantity),
        evidence=rating.evidence.value,
        shown=shown,
    )


def check_stock(path: Path) -> StockCheckAnswer:
    """Read a stock and report every error.

    Raises:
        FitterError: There is no such stock.
    """
    files = stock_files(path)
    stock = load_stock(path, skip_bad=True)
    refused = {lot.id: f"{lot.kind}: {why}" for lot in stock.lots if (why := lot.kind_of_part.refusal(lot))}
    return StockCheckAnswer(
        files=len(files), lots=len(stock.lots), errors=[str(e) for e in stock.skipped], refused=refused
    )


def list_recipes(recipes: Mapping[str, Recipe]) -> RecipesAnswer:
    """All recipes, one line each."""
    return RecipesAnswer(
        recipes=[
            RecipeLine(
                recipe=r.name,
                title=r.title,
                about=r.about,
                difficulty=r.difficulty,
                hours=r.hours,
                demands=list(r.demands),
            )
            for r in recipes.values()
        ]
    )


def show_recipe(recipes: Mapping[str, Recipe], name: str) -> RecipeAnswer:
    """One recipe in full.

    Raises:
        FitterError: Unknown recipe.
    """
    recipe = recipes.get(name.replace("_", "-"))
    if recipe is None:
        raise FitterError(f"no recipe {name!r}", expected=nearest(name, recipes))
    project = bind(recipe)
    return RecipeAnswer(
        recipe=recipe.name,
        title=recipe.title,
        about=recipe.about,
        difficulty=recipe.difficulty,
        hours=recipe.hours,
        tools=recipe.tools,
        demands=[
            DemandAnswer(
                name=d.name, value=d.value, unit=QUANTITIES[d.quantity].unit, quantity=d.quantity, help=d.help
            )
            for d in recipe.demands.values()
        ],
        functions=[_function(recipe, project, f) for f in project.functions],
        cautions=_cautions(recipe, []),
    )


def _function(recipe: Recipe, project: Project, bound: BoundFunction) -> FunctionAnswer:
    ways = []
    for p in bound.principles:
        roles = [data["role"] for data in sketch(project, bound.name, p).roles.values()]
        named = [f"{r.count} x {r.about}" if r.count > 1 else r.about for r in roles]
        ways.append(PrincipleAnswer(name=p.name, about=p.about, roles=named))
    return FunctionAnswer(name=bound.name, about=recipe.functions[bound.name].function.about, principles=ways)
