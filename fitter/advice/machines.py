"""Discarded machines as donors: what each usually holds, and what to mind while it is open.

What a machine holds is judged against the limits of a gap as intervals. A rating is taken to lie anywhere
in its typical range, no value likelier than another, or to be any of the typical sizes; ratings are taken
to be independent, and all pieces of a kind in one machine to be alike. These are rules of thumb.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any, TypeAlias

from fitter.documents import nearest, package_data
from fitter.errors import FitterError
from fitter.intervals import Interval
from fitter.kinds import KINDS, kind_key
from fitter.units import parse

_Ranges: TypeAlias = tuple[Interval, ...]
Limits: TypeAlias = Mapping[str, Interval]  # in which ratings of a gap must lie, SI; infinite where open
UNLIKELY = 0.005  # a smaller chance prints as none, and counts as none
SLACK = 1e-9  # of floating-point arithmetic, where a single size lies on a limit


@dataclass(frozen=True)
class Inside:
    """A kind of part in a machine: the chance that it holds any, from how many to how many, and of what size.

    ``typical`` has for some ratings the ranges or sizes, SI, in which such parts commonly come.
    """

    kind: str
    chance: float
    fewest: int
    most: int
    hint: str
    typical: Mapping[str, _Ranges] = field(default_factory=dict)

    @property
    def count(self) -> str:
        """From how many to how many, as people write it."""
        return str(self.fewest) if self.fewest == self.most else f"{self.fewest}..{self.most}"

    def at_least(self, pieces: int) -> float:
        """Chance of so many pieces; each number from the fewest to the most is as likely as another."""
        if pieces <= 0:
            return 1.0
        enough = max(self.most - max(pieces, self.fewest) + 1, 0)
        return self.chance * enough / (self.most - self.fewest + 1)

    def shares(self, limits: Limits) -> dict[str, float]:
        """For each typical rating with limits the share of what is common that keeps to them, 0..1.

        Limits of ``voltage.low`` and ``voltage.high`` are both limits of a typical ``voltage``.
        """
        found: dict[str, float] = {}
        for name, common in self.typical.items():
            own = [at for limit, at in limits.items() if name in (limit, limit.partition(".")[0])]
            if own:
                low, high = max(float(at.lo) for at in own), min(float(at.hi) for at in own)
                found[name] = sum(_within(each, low, high) for each in common) / len(common)
        return found

    def fits(self, limits: Limits) -> float:
        """Chance that such a part keeps to some limits; ratings without a typical range are not judged."""
        return math.prod(self.shares(limits).values())

    def outside(self, limits: Limits) -> list[str]:
        """Ratings of which nothing common keeps to the limits."""
        return [name for name, share in self.shares(limits).items() if share == 0]


def _within(common: Interval, low: float, high: float) -> float:
    """Share of a range between two limits; of a single size all or nothing."""
    least, most = float(common.lo), float(common.hi)
    slack = SLACK * max(abs(least), abs(most))
    if least == most:
        return float(low - slack <= least <= high + slack)
    return max(min(most, high) - max(least, low), 0.0) / (most - least)


@dataclass(frozen=True)
class Machine:
    """A type of discarded machine."""

    name: str
    also: tuple[str, ...]
    rails: tuple[str, ...]
    strip_time: str
    cautions: tuple[str, ...]
    keep_together: tuple[str, ...]
    parts: tuple[Inside, ...]

    @property
    def minutes(self) -> float:
        """Middle of the time it takes to strip."""
        low, _, high = self.strip_time.partition(" ")[0].partition("..")
        return (float(low) + float(high or low)) / 2


@cache
def machines() -> tuple[Machine, ...]:
    """All machines that are known."""
    listed = package_data("advice", "donors.yaml")["donors"]
    return tuple(
        Machine(
            each["name"],
            tuple(each.get("also", ())),
            tuple(map(str, each.get("rails", ()))),
            str(each["strip_time"]),
            tuple(each.get("cautions", ())),
            tuple(each.get("keep_together", ())),
            tuple(_inside(part) for part in each["parts"]),
        )
        for each in listed
    )


def _inside(part: Mapping[str, Any]) -> Inside:
    fewest, _, most = str(part["count"]).partition("..")
    return Inside(
        part["kind"],
        float(part["chance"]),
        int(fewest),
        int(most or fewest),
        part.get("hint", ""),
        dict(_typical(part["kind"], part.get("typical", {}))),
    )


def _typical(kind: str, ratings: Mapping[str, str | Sequence[str]]) -> Iterator[tuple[str, _Ranges]]:
    """Typical ranges and sizes in SI, by rating."""
    for name, text in ratings.items():
        spec = KINDS[kind_key(kind)].spec(name)
        if spec is None:
            raise ValueError(f"a {kind} has no rating {name!r}")
        texts = text if isinstance(text, list) else [text]
        yield name, tuple(_range(str(each), spec.quantity) for each in texts)


def _range(text: str, quantity: str) -> Interval:
    low, _, high = text.partition("..")
    unit = high.lstrip("0123456789.")
    return Interval(parse(low + unit, quantity), parse(high or low, quantity))


def machine(name: str) -> Machine:
    """The machine of a name, or of one of its other names.

    Raises:
        FitterError: None is called so.
    """
    wanted = " ".join(name.casefold().replace("-", " ").split())
    known = {n: m for m in machines() for n in (m.name, *m.also)}
    for called, found in known.items():
        if called.casefold().replace("-", " ") == wanted:
            return found
    raise FitterError(f"no machine {name[:40]!r}", field="--at", expected=nearest(name, known))
