"""One lot in full: what is stated, what follows from it, how it can be used, and what to measure next."""

from __future__ import annotations

from pydantic import Field

from fitter import words
from fitter.advice.data import cautions as caution_texts
from fitter.bench.contradictions import contradictions
from fitter.documents import nearest
from fitter.entering.add import estimated
from fitter.entering.models import EstimateAnswer
from fitter.errors import FitterError
from fitter.listings import LotAnswer, lacks, lot_answer
from fitter.models import Answer
from fitter.stock.files import Stock
from fitter.stock.lots import Lot


class OpenAnswer(Answer):
    """A rating of which nothing is known, with the range found in practice."""

    rating: str
    usual: str
    minutes: float
    how: str


class LotViewAnswer(Answer):
    """A lot of the stock with all that is known of it."""

    lot: LotAnswer
    price_new: float | None = Field(description="euro")
    mass: float | None = Field(description="kilogram")
    note: str
    file: str
    line: int
    estimates: list[EstimateAnswer]
    open: list[OpenAnswer]
    uses: list[str] = Field(description="the ways it can be used, such as the coil connections of a motor")
    ruled_out: list[str]
    contradictions: list[str]
    cautions: dict[str, str]
    measure_next: str = Field(description="one line; empty where nothing that matters is open")


def show_lot(stock: Stock, lot_id: str) -> LotViewAnswer:
    """All there is to know of a lot.

    Raises:
        FitterError: There is no such lot.
    """
    if lot_id not in stock.places:
        raise FitterError(f"no lot {lot_id[:40]!r} in stock", expected=nearest(lot_id, stock.places))
    lot = stock.lot(lot_id)
    found = estimated(lot, stock)
    refused = lot.refusal()
    texts = caution_texts()
    return LotViewAnswer(
        lot=lot_answer(lot).model_copy(update={"set_aside": list(stock.set_aside.get(lot_id, ()))}),
        price_new=lot.price_new,
        mass=lot.mass,
        note=lot.note,
        file=lot.file,
        line=lot.line,
        estimates=found,
        open=_open(lot, {each.rating for each in found}),
        uses=[] if refused else [offer.label for offer in lot.offers() if offer.label],
        ruled_out=lot.kind_of_part.ruled_out(lot),
        contradictions=[f"{c.problem}: {c.cause}" for c in contradictions(lot)],
        cautions={key: texts[key] for key in lot.kind_of_part.cautions},
        measure_next=_next(lot),
    )


def _open(lot: Lot, estimates: set[str]) -> list[OpenAnswer]:
    """Ratings that are neither stated nor estimated."""
    kind = lot.kind_of_part
    stated = {name.removesuffix(".min").removesuffix(".max") for name, r in lot.ratings.items() if r.known}
    return [
        OpenAnswer(
            rating=name, usual=spec.plausible or ", ".join(spec.choices), minutes=spec.minutes, how=spec.how
        )
        for name, spec in kind.ratings.items()
        if name not in stated | estimates
    ]


def _next(lot: Lot) -> str:
    """The rating to measure next, how, and how long it takes."""
    names = lacks(lot)
    if not names:
        return ""
    spec = lot.kind_of_part.ratings[names[0]]
    how = f": {spec.how}" if spec.how else ""
    return f"{words.rating_words(names[0])}, {spec.minutes:g} min{how}"
