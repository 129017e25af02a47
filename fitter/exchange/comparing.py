"""Whether a sheet says something else of a lot than the stock, by what was read of both."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fitter.ratings import Evidence


def same_figures(name: str, old: Mapping[str, object], new: Mapping[str, object]) -> bool:
    """Whether a field says the same; where the sheet names no evidence, the stock keeps its own."""
    return all(_alike(old.get(each), new.get(each)) for each in (name, f"{name}.min", f"{name}.max"))


def _alike(old: object, new: object) -> bool:
    if old == new or not (isinstance(old, tuple) and isinstance(new, tuple)):
        return old == new
    evidence = new[3]
    return (
        evidence is Evidence.STATED
        and old[3] is not Evidence.UNKNOWN
        and old[2] == new[2]
        and (old[0] == old[1] or _around(old) == _around(new))
    )


def no_longer_measured(
    names: Sequence[str], old: Mapping[str, object], new: Mapping[str, object]
) -> str | None:
    """A word about measured figures that give way to others; nothing where there are none."""
    lost = [n for n in names if _is_measured(old.get(n)) and not _is_measured(new.get(n))]
    return (
        f"measured until now: {', '.join(lost)}; write `, measured` behind the new one if it was"
        if lost
        else None
    )


def _is_measured(figures: object) -> bool:
    return isinstance(figures, tuple) and figures[3] is Evidence.MEASURED


def _around(figures: tuple[object, ...]) -> bool:
    """Whether the likely value is the middle, as of one value with a tolerance."""
    low, high, likely = (float(str(f)) for f in figures[:3])
    return abs((low + high) / 2 - likely) <= 1e-9 * abs(likely)
