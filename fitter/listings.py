"""What there is: the lots of a stock, and the state of its files."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from pydantic import Field

from fitter import words
from fitter.bench.contradictions import Contradiction, contradictions
from fitter.entering.lexicon import kind_words
from fitter.errors import FitterError, FitterErrors
from fitter.kinds import KINDS, Spec, kind_key
from fitter.models import FLAG, Answer, unit_of_quantity
from fitter.ratings import Evidence, Rating
from fitter.stock.conditions import Met
from fitter.stock.files import Stock, load_stock, set_aside_files, stock_files
from fitter.stock.filters import Filters, chosen, filters, ordered
from fitter.stock.left import mismatches
from fitter.stock.lots import Lot
from fitter.stock.set_aside import read_all
from fitter.views import ends_of


class RatingAnswer(Answer):
    """A rating as stated: ends and likely value in SI, and how it is known."""

    min: float | None
    max: float | None
    likely: float | None
    unit: str
    evidence: str
    shown: str = Field(description="as the maker wrote it")
    taken: str = Field(default="", description="the range that it stands for, in words")


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
    set_aside: list[str] = Field(default_factory=list, description="what builds hold of it, in words")
    possibly: bool = Field(
        default=False, description="what is known of it leaves open whether it was asked for"
    )
    asked: list[str] = Field(
        default_factory=list, description="what it has of the ratings asked for, in words"
    )


class StockAnswer(Answer):
    """The stock, lot by lot."""

    lots: list[LotAnswer]
    unknown: list[str] = Field(
        default_factory=list, description="lots of which nobody has said what was asked for"
    )


class ContradictionAnswer(Answer):
    """Ratings of a lot that cannot belong together, or hardly."""

    lot: str
    ratings: list[str]
    problem: str
    cause: str = Field(description="what is likely behind it")
    certain: bool = Field(description="whether a law forbids it; else it is against experience")
    file: str
    line: int


class MissingAnswer(Answer):
    """A rating that lots of a kind lack, though it matters for what can be built from them."""

    kind: str
    rating: str
    lots: list[str]
    minutes: float = Field(description="what it takes to measure it once")
    how: str


class StockCheckAnswer(Answer):
    """What is wrong with the files of a stock."""

    files: int
    lots: int
    errors: list[str]
    refused: dict[str, str] = Field(default_factory=dict)
    set_aside: list[str] = Field(
        default_factory=list, description="where what is set aside does not go with the lots"
    )
    contradictions: list[ContradictionAnswer] = Field(default_factory=list)
    missing: list[MissingAnswer] = Field(
        default_factory=list, description="ratings that matter most of those nobody stated, most useful first"
    )


def list_stock(
    stock: Stock,
    kind: str | None = None,
    wanted: Filters | None = None,
    by: str | None = None,
    *,
    reverse: bool = False,
) -> StockAnswer:
    """All lots, or those that are wanted, with what their files state.

    Args:
        stock: The lots.
        kind: Only lots of this kind, where no filters are given.
        wanted: What lots must be.
        by: Field or rating to sort by; id when left out.
        reverse: Greatest first.

    Raises:
        FitterError: Unknown kind; no lot has what is to be sorted by.
    """
    wanted = wanted or filters(kind)
    found = ordered(chosen(stock.lots, wanted, stock.set_aside), by, reverse=reverse)
    return StockAnswer(
        lots=[_listed(stock, lot, met, wanted) for lot, met in found if met is not Met.UNKNOWN],
        unknown=[lot.id for lot, met in found if met is Met.UNKNOWN],
    )


def _listed(stock: Stock, lot: Lot, met: Met, wanted: Filters) -> LotAnswer:
    asked = [said for each in wanted.where for said in _asked(lot, each.name)]
    more = {
        "possibly": met is Met.POSSIBLY,
        "asked": asked,
        "set_aside": list(stock.set_aside.get(lot.id, ())),
    }
    return lot_answer(lot).model_copy(update=more)


def _asked(lot: Lot, name: str) -> Iterator[str]:
    """A rating asked for that the lot's file does not state, as it is estimated."""
    spec = lot.kind_of_part.spec(name)
    found = lot.complete.get(name)
    if name not in lot.ratings and spec and found and not spec.choices:
        ends = words.span(ends_of(found.interval), spec.quantity)
        yield f"{words.rating_words(name)} {ends}, {found.evidence.value}"


def lot_answer(lot: Lot) -> LotAnswer:
    """What the files state of a lot."""
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
    lo, hi = ends_of(rating.interval)
    shown = rating.text or words.span((lo, hi), quantity)
    return RatingAnswer(
        min=lo,
        max=hi,
        likely=rating.likely if math.isfinite(rating.likely) else None,
        unit=unit_of_quantity(quantity),
        evidence=rating.evidence.value,
        shown=shown,
        taken="" if quantity == FLAG else words.span((lo, hi), quantity),
    )


def check_stock(path: Path) -> StockCheckAnswer:
    """Read a stock and report every error, and ratings that cannot belong together.

    Raises:
        FitterError: There is no such stock.
    """
    files = stock_files(path)
    stock = load_stock(path, skip_bad=True)
    refused = {lot.id: f"{lot.kind}: {why}" for lot in stock.lots if (why := lot.kind_of_part.refusal(lot))}
    errors, odd = _set_aside(path, stock)
    return StockCheckAnswer(
        files=len(files),
        lots=len(stock.lots),
        errors=[*(str(e) for e in stock.skipped), *errors],
        set_aside=odd,
        refused=refused,
        contradictions=[_contradiction(lot, c) for lot in stock.lots for c in contradictions(lot)],
        missing=missing(stock.lots),
    )


def _set_aside(path: Path, stock: Stock) -> tuple[list[str], list[str]]:
    """What is wrong with the files of what is set aside; and where these do not go with the lots."""
    try:
        builds = [build for file in read_all(set_aside_files(path)) for build in file.builds]
    except FitterError as error:
        return [str(each) for each in (error.errors if isinstance(error, FitterErrors) else [error])], []
    return [], mismatches(stock, builds)


MOST_MISSING = 8  # lines; more would not be read
_PLACES = 3  # how many of the ratings that matter most for a kind are looked at


def missing(lots: Iterable[Lot]) -> list[MissingAnswer]:
    """The ratings that matter most of those not known: of the most lots and for the least work first."""
    lacking: dict[tuple[str, str], list[str]] = {}
    weights: dict[tuple[str, str], float] = {}
    for lot in lots:
        for place, name in enumerate(lacks(lot)[:_PLACES], start=1):
            key = (lot.kind, name)
            lacking.setdefault(key, []).append(lot.id)
            weights[key] = weights.get(key, 0.0) + 1 / place
    best = sorted(lacking, key=lambda key: (-weights[key] / _spec(key).minutes, key))
    return [
        MissingAnswer(
            kind=key[0], rating=key[1], lots=lacking[key], minutes=_spec(key).minutes, how=_spec(key).how
        )
        for key in best[:MOST_MISSING]
    ]


def _spec(key: tuple[str, str]) -> Spec:
    return KINDS[kind_key(key[0])].ratings[key[1]]


def lacks(lot: Lot) -> list[str]:
    """Ratings that matter for a lot and are not known well, most useful first."""
    if lot.refusal():
        return []
    known = lot.complete
    return [name for name in kind_words(kind_key(lot.kind)).ask if not _known_well(known, name)]


def _known_well(ratings: Mapping[str, Rating], name: str) -> bool:
    """Whether a rating is stated, or follows closely enough from others."""
    found = ratings.get(name) or ratings[f"{name}.min"]
    estimated = found.evidence is Evidence.ESTIMATED
    return found.known and (not estimated or found.hi <= _CLOSE * found.lo)


_CLOSE = 1.5  # an estimate no wider than this is not worth measuring first


def _contradiction(lot: Lot, found: Contradiction) -> ContradictionAnswer:
    return ContradictionAnswer(
        lot=lot.id,
        ratings=list(found.ratings),
        problem=found.problem,
        cause=found.cause,
        certain=found.certain,
        file=lot.file,
        line=lot.line,
    )
