"""When a value was measured, kept in the note of its lot: ``measured 2026-05-01 resistance, rated_current``.

The grammar of ratings has evidence but no date, and a note is text that any reader of a stock file takes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from fitter.stock.entries import LONGEST_WORDS

_ENTRY = re.compile(r"(?:^|; )measured ([0-9]{4}-[0-9]{2}-[0-9]{2}) ([\w\[\].]+(?:, [\w\[\].]+)*)")


def measured_on(note: str) -> dict[str, str]:
    """The date of each rating that a note has one for.

    >>> measured_on("from the attic; measured 2026-05-01 resistance, rails[1].current")
    {'resistance': '2026-05-01', 'rails[1].current': '2026-05-01'}
    """
    return {name: m[1] for m in _ENTRY.finditer(note) for name in m[2].split(", ")}


def noted(note: str, names: Iterable[str], date: str) -> str:
    """A note with the date of ratings just measured; left as it is where there is no room.

    >>> noted("from the attic; measured 2026-05-01 resistance, inductance", ["resistance"], "2026-06-02")
    'from the attic; measured 2026-05-01 inductance; measured 2026-06-02 resistance'
    """
    dates = {**measured_on(note), **dict.fromkeys(names, date)}
    by_date: dict[str, list[str]] = {}
    for name, day in sorted(dates.items(), key=lambda item: item[1]):
        by_date.setdefault(day, []).append(name)
    own = _ENTRY.sub("", note).strip("; ")
    entries = [f"measured {day} {', '.join(each)}" for day, each in by_date.items()]
    found = "; ".join([own, *entries] if own else entries)
    return found if len(found) <= LONGEST_WORDS else note
