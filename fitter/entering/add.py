"""A lot put into the stock: understood, checked, written, and told back as it now stands in the file."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path

from fitter.bench.contradictions import contradictions
from fitter.bench.estimates import estimates
from fitter.documents import shown_path
from fitter.entering import lexicon
from fitter.entering.lexicon import KindWords, kind_words
from fitter.entering.line import understand
from fitter.entering.meaning import Understood, same_machine
from fitter.entering.models import AddAnswer, EstimateAnswer, MeantAnswer
from fitter.entering.places import Place, counts_of, folder_of, free_id, place_for
from fitter.errors import FitterError, FitterErrors
from fitter.kinds import kind_key
from fitter.models import unit_of_quantity
from fitter.stock.edit import AddLot, edit
from fitter.stock.files import Stock, is_begun, load_stock, read_lots, state_of
from fitter.stock.lots import Lot
from fitter.stock.replace import stock_locked
from fitter.stock.yaml_edit import Value, add_lots


def add(stock: Path, typed: Sequence[str], *, file: str | None = None, dry_run: bool = False) -> AddAnswer:
    """Enter a lot as typed.

    Args:
        stock: File or folder of the stock; made where there is none.
        typed: Words of the line, see :func:`fitter.entering.line.understand`.
        file: The file of a folder to write to; chosen by kind when left out.
        dry_run: Only say what would be written.

    Raises:
        FitterError: A line that is not understood, an id that is taken, a file that cannot be written.
    """
    return enter(stock, understand(typed), file=file, dry_run=dry_run)


def enter(stock: Path, meant: Understood, *, file: str | None, dry_run: bool) -> AddAnswer:
    """Enter a lot that was understood; arguments and errors as :func:`add`."""
    of = kind_words(kind_key(meant.kind))
    seen, there = state_of(stock), _existing(stock)
    place = place_for(stock, file, of, counts_of(there))
    fields = _with_id(meant.fields, of, there)
    lot = _as_lot(fields, place.file)
    if not dry_run:
        folder_of(place.file)
        with stock_locked(stock):
            if state_of(stock) != seen:  # another command was quicker: it may have taken the id
                there = _existing(stock)
                fields = _with_id(meant.fields, of, there)
            lot = edit(place.file, [AddLot(fields)]).after[str(fields["id"])]
    return _answer(meant, fields, lot, place, there, written=not dry_run)


def _existing(stock: Path) -> Stock:
    """The lots there are; none where there is no stock yet. Lots with errors do not keep new ones out."""
    return load_stock(stock, skip_bad=True) if is_begun(stock) else Stock(())


def _with_id(fields: Mapping[str, Value], of: KindWords, stock: Stock) -> dict[str, Value]:
    given = fields.get("id")
    taken = {*stock.places, *(error.lot for error in stock.skipped if error.lot)}
    if given is not None and given in taken:
        free = free_id(of, taken)
        raise FitterError(
            f"there is a lot {given!r} already", field="id", expected=f"{free!r} is free; or leave it out"
        )
    return {**fields, "id": given or free_id(of, taken)} if given else {"id": free_id(of, taken), **fields}


def _as_lot(fields: Mapping[str, Value], file: Path) -> Lot:
    """The lot that a file with these fields would have.

    Raises:
        FitterErrors: What is wrong with them.
    """
    errors: list[FitterError] = []
    lots = read_lots(add_lots("", [fields]).encode(), file.with_suffix(".yaml"), errors)
    if errors:
        raise FitterErrors(
            [FitterError(e.problem, field=e.field, got=e.got, expected=e.expected) for e in errors]
        )
    return lots[0]


# ---------------------------------------------------------------- what is told back


def _answer(
    meant: Understood, fields: Mapping[str, Value], lot: Lot, place: Place, there: Stock, *, written: bool
) -> AddAnswer:
    return AddAnswer(
        lot=lot.id,
        kind=lot.kind,
        count=lot.count,
        file=shown_path(place.file),
        line=lot.line if written else None,
        written=written,
        why_there=place.why,
        understood=[
            MeantAnswer(words=m.words, field=m.field, value=m.value, note=m.note) for m in meant.meant
        ],
        fields={n: v if isinstance(v, str) else [dict(rail) for rail in v] for n, v in fields.items()},
        estimates=estimated(lot, there),
        contradictions=[f"{c.problem}: {c.cause}" for c in contradictions(lot)],
        refused=lot.refusal(),
        hints=list(_hints(meant, lot)),
    )


def estimated(lot: Lot, stock: Stock) -> list[EstimateAnswer]:
    """The narrowest estimate of each rating that nobody stated."""
    kin = [other for other in stock.lots if other.donor == lot.donor] if lot.donor else []
    found = {each.rating: each for each in estimates(lot, kin)}
    return [
        EstimateAnswer(
            rating=name,
            min=_finite(float(each.interval.lo)),
            max=_finite(float(each.interval.hi)),
            likely=_finite(each.likely),
            unit=unit_of_quantity(spec.quantity),
            sentence=each.sentence,
            applied=each.applied,
        )
        for name, each in found.items()
        if (spec := lot.kind_of_part.spec(name.rpartition("].")[2])) is not None
    ]


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _hints(meant: Understood, lot: Lot) -> list[str]:
    """What the maker might add next, or should know was taken for granted."""
    hints = []
    if "condition" not in meant.fields and not lot.kind_of_part.refused:
        hints.append("condition not said, so it counts as working: add `untested` if nobody tried it")
    if meant.template is not None:
        usual = f"what is usual in the {meant.template.donor}"
        hints.append(f"figures of `{meant.template.name}` are {usual}: measure them")
    elif known := _usual(lot):
        hints.append(f"usual figures are known: add {known} to take them as estimates")
    return hints


def _usual(lot: Lot) -> str:
    """Templates that may be this lot; nothing for one whose ratings are known."""
    if not lot.donor or lot.ratings:
        return ""
    names = [
        f"`{t.name}`"
        for t in lexicon.templates()
        if t.kind == kind_key(lot.kind) and same_machine(t.donor, lot.donor)
    ]
    return " or ".join(names)
