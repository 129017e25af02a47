"""Values measured at the bench, stored in the file of their lot, and what that changes."""

from __future__ import annotations

import copy
import datetime
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from fitter.answers import builds, settings_for
from fitter.bench.contradictions import contradictions
from fitter.documents import shown_path
from fitter.measuring.cases import recipes_with
from fitter.measuring.dates import noted
from fitter.measuring.models import MovedAnswer, RecordAnswer, StoredAnswer
from fitter.measuring.readings import Value, before, values
from fitter.measuring.truths import CONDITION
from fitter.models import BuildAnswer
from fitter.shed import Shed
from fitter.stock.edit import SetField, edit, file_of
from fitter.stock.lots import Lot


def record(
    stock: Path,
    opened: Callable[[], Shed],
    lot_id: str,
    given: Mapping[str, str],
    settings: Mapping[str, str] | None = None,
    date: str | None = None,
) -> RecordAnswer:
    """Store values of a lot and say which answers they change.

    Args:
        stock: File or folder of the stock.
        opened: Opens the shed; asked before and after.
        lot_id: The lot.
        given: Names of ratings or readings, with their values as typed.
        settings: Demands of recipes to change.
        date: The day, as ``2026-05-01``; today where it is left out.

    Raises:
        FitterError: No such lot; a value that is not understood; a file that cannot be changed. Nothing is
            then written.
    """
    shed = opened()
    lot = shed.lot(lot_id)
    found = values(lot, given)
    day = date or datetime.date.today().isoformat()
    file = file_of(stock, lot_id)
    old = _states(shed, lot, settings or {})
    edited = edit(file, changes(lot, found, day))
    new = _states(opened(), lot, settings or {})
    return RecordAnswer(
        lot=lot_id,
        file=shown_path(file),
        date=day,
        stored=[_stored(lot, value) for value in found],
        moved=[_moved(row, new[name]) for name, row in old.items() if _differ(row, new[name])],
        contradictions=contradictions_of(edited.after[lot_id]),
    )


def changes(lot: Lot, found: Iterable[Value], day: str) -> list[SetField]:
    """The fields to set: the values, and the day they were measured in the lot's note."""
    made = [SetField(lot.id, value.field, value.text) for value in found]
    names = [v.field for v in found if v.field != CONDITION and v.text.casefold().endswith("measured")]
    note = noted(lot.note, names, day) if names else lot.note
    return [*made, SetField(lot.id, "note", note)] if note != lot.note else made


def contradictions_of(lot: Lot) -> list[str]:
    """What cannot be true at once of a lot, each with its likely cause."""
    return [f"{each.problem}: {each.cause}" for each in contradictions(lot)]


def _states(shed: Shed, lot: Lot, settings: Mapping[str, str]) -> dict[str, BuildAnswer]:
    """Where the recipes stand that have a use for a lot."""
    few = copy.copy(shed)
    few.recipes = {name: shed.recipes[name] for name in recipes_with(shed, lot.kind)}
    used = {n: v for recipe in few.recipes.values() for n, v in settings_for(recipe, settings).items()}
    return {row.recipe: row for row in builds(few, used).builds}


def _stored(lot: Lot, value: Value) -> StoredAnswer:
    return StoredAnswer(
        rating=value.field, value=value.text, before=before(lot, value.field), working=list(value.working)
    )


def _differ(one: BuildAnswer, other: BuildAnswer) -> bool:
    return (one.state, one.to_buy, one.to_measure) != (other.state, other.to_buy, other.to_measure)


def _moved(one: BuildAnswer, other: BuildAnswer) -> MovedAnswer:
    return MovedAnswer(
        recipe=one.recipe,
        before=one.state,
        after=other.state,
        to_buy_before=one.to_buy,
        to_buy_after=other.to_buy,
        to_measure_before=one.to_measure,
        to_measure_after=other.to_measure,
    )
