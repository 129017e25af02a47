"""What there is: the lots of a stock, and the state of its files."""

from __future__ import annotations

import math
from pathlib import Path

from pydantic import Field

from fitter import words
from fitter.bench.contradictions import Contradiction, contradictions
from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.kinds import KINDS, kind_key
from fitter.models import FLAG, Answer, unit_of_quantity
from fitter.ratings import Rating
from fitter.stock.files import Stock, load_stock, stock_files
from fitter.stock.lots import Lot
from fitter.views import ends_of


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


class ContradictionAnswer(Answer):
    """Ratings of a lot that cannot belong together, or hardly."""

    lot: str
    ratings: list[str]
    problem: str
    cause: str = Field(description="what is likely behind it")
    certain: bool = Field(description="whether a law forbids it; else it is against experience")
    file: str
    line: int


class StockCheckAnswer(Answer):
    """What is wrong with the files of a stock."""

    files: int
    lots: int
    errors: list[str]
    refused: dict[str, str] = Field(default_factory=dict)
    contradictions: list[ContradictionAnswer] = Field(default_factory=list)


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
    lo, hi = ends_of(rating.interval)
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
    """Read a stock and report every error, and ratings that cannot belong together.

    Raises:
        FitterError: There is no such stock.
    """
    files = stock_files(path)
    stock = load_stock(path, skip_bad=True)
    refused = {lot.id: f"{lot.kind}: {why}" for lot in stock.lots if (why := lot.kind_of_part.refusal(lot))}
    return StockCheckAnswer(
        files=len(files),
        lots=len(stock.lots),
        errors=[str(e) for e in stock.skipped],
        refused=refused,
        contradictions=[_contradiction(lot, c) for lot in stock.lots for c in contradictions(lot)],
    )


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
