"""Discarded machines as donors: what each usually holds, and what to mind while it is open."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from fitter.documents import nearest, package_data
from fitter.errors import FitterError


@dataclass(frozen=True)
class Inside:
    """A kind of part in a machine: the chance that it holds any, and from how many to how many then."""

    kind: str
    chance: float
    fewest: int
    most: int
    hint: str

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


def _inside(part: dict[str, str]) -> Inside:
    fewest, _, most = str(part["count"]).partition("..")
    return Inside(part["kind"], float(part["chance"]), int(fewest), int(most or fewest), part.get("hint", ""))


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
