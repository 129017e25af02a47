"""What to write on the bag of each lot."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from fitter import words
from fitter.documents import nearest, shown_path
from fitter.errors import FitterError
from fitter.kinds import kind_key
from fitter.labels.models import LabelAnswer, LabelsAnswer
from fitter.labels.page import page, sheets_of
from fitter.listings import LotAnswer, RatingAnswer, list_stock
from fitter.measuring.dates import measured_on
from fitter.outputs import write_output
from fitter.stock.files import Stock

MOST = 5  # ratings on a label
# ratings by which one picks a part of a kind, where they are not simply the first of the kind
_TELLING = {
    "stepper motor": (
        "rated_current",
        "resistance",
        "holding_torque",
        "frame",
        "frame_width",
        "shaft_diameter",
    ),
    "dc motor": ("rated_voltage", "no_load_speed", "stall_current", "stall_torque", "shaft_diameter"),
    "dc gearmotor": ("rated_voltage", "output_speed", "output_torque", "stall_current", "shaft_diameter"),
    "brushless motor": ("speed_constant", "continuous_current", "resistance", "shaft_diameter"),
    "h bridge": ("supply_voltage", "continuous_current", "peak_current", "current_limit", "logic_voltage"),
    "linear regulator": ("output_voltage", "max_input_voltage", "max_current", "dropout"),
    "adapter": ("voltage", "current", "regulated", "ripple"),
    "battery pack": ("chemistry", "cells", "voltage", "capacity", "continuous_current"),
    "lead screw": ("diameter", "lead", "length", "nut"),
}
_TESTED = {"working": "tested: works", "untested": "not tested", "worn": "worn", "faulty": "FAULTY"}


def labels(stock: Stock, file: Path, lots: Sequence[str] | None = None) -> LabelsAnswer:
    """Write a page with labels of the lots named, in that order, or of all.

    Raises:
        FitterError: A lot that is not in stock; a file that is no page or cannot be written.
    """
    if file.suffix.lower() not in (".html", ".htm"):
        raise FitterError(
            f"cannot write {shown_path(file)}", field="-o", expected="a name that ends in .html"
        )
    known = {lot.id: lot for lot in list_stock(stock).lots}
    for lot in lots or ():
        if lot not in known:
            raise FitterError(f"no lot {lot!r} in stock", field="LOT", expected=nearest(lot, known))
    notes = {lot.id: lot.note for lot in stock.lots}
    made = [_label(known[lot], notes[lot]) for lot in dict.fromkeys(lots or known)]
    write_output(file, page(made), "-o")
    return LabelsAnswer(file=shown_path(file), sheets=sheets_of(len(made)), labels=made)


def _label(lot: LotAnswer, note: str) -> LabelAnswer:
    return LabelAnswer(
        id=lot.id,
        kind=lot.kind,
        count=lot.count,
        ratings=list(_telling(lot))[:MOST],
        donor=lot.donor,
        bin=lot.bin,
        tested=_TESTED[lot.condition],
        measured=max(measured_on(note).values(), default=""),
        refused=lot.refused,
    )


def _telling(lot: LotAnswer) -> Iterator[str]:
    """What is known of rails, then of the ratings that matter, each as the maker wrote it."""
    rails = [path for path in lot.ratings if "[" in path]
    for rail in dict.fromkeys(path.partition(".")[0] for path in rails):
        figures = (lot.ratings.get(f"{rail}.{name}") for name in ("voltage", "current"))
        number = rail.partition("[")[2].rstrip("]")
        yield f"{number}: {', '.join(_said(figure) for figure in figures if figure)}"
    for name in _TELLING.get(kind_key(lot.kind), _names(lot.ratings)):
        figure = lot.ratings.get(name) or lot.ratings.get(f"{name}.min")  # both ends of a window are one text
        if figure:
            yield f"{words.rating_words(name)} {_said(figure)}"


def _names(ratings: Iterable[str]) -> list[str]:
    """Ratings of the part itself, in the order of its kind, a window named once."""
    return list(dict.fromkeys(n.removesuffix(".min").removesuffix(".max") for n in ratings if "[" not in n))


def _said(rating: RatingAnswer) -> str:
    """A value without its evidence, unless it is a guess."""
    value = rating.shown.rpartition(", ")[0] or rating.shown
    return f"about {value}" if rating.evidence == "estimated" else value
