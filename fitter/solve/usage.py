"""What a build takes of the stock: pieces, amps and watts of supply units, outputs of controllers.

A supply unit that is there once may serve several builds, each drawing on one of its rails or sharing one, as
long as it is known what each draws. Everything else, controllers among it, belongs to one build: a board runs
one program.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fitter.checks.power import RailAmount, RailCurrent
from fitter.checks.rails import PartRail
from fitter.checks.signals import Outputs
from fitter.intervals import Interval
from fitter.kinds.model import WHOLE_UNIT
from fitter.solve.builds import Build
from fitter.solve.candidates import Candidate, Single


@dataclass(frozen=True)
class Use:
    """What one role takes: pieces of a lot; where it shares a unit, amps of its rail and watts."""

    role: str
    part: Candidate
    pieces: int
    shares: bool
    amps: float = 0.0
    watts: float = 0.0
    outputs: tuple[tuple[str, int], ...] = ()


def takes(build: Build, role: str) -> tuple[int, bool]:
    """Pieces that a role takes of its lot, and whether other builds may draw on the same unit."""
    pieces = build.roles[role].count * build.parts[role].offer.pieces
    return pieces, _may_share(build, role) and _feeds(build, role) is not None


def use_of(build: Build, role: str) -> Use:
    """What a role takes of its lot, in stock or bought."""
    part = build.parts[role]
    pieces, shares = takes(build, role)
    if not shares:
        return Use(role, part, pieces, False, outputs=tuple(_outputs(build, role)))
    feeds = _feeds(build, role)
    assert feeds is not None
    figures = part.offer.ratings
    most = figures["current"].hi
    amps = min(_most(build, feeds, False), most)
    watts = min(_most(build, feeds, True), figures["unit_power"].hi, most * figures["voltage.high"].hi)
    return Use(role, part, pieces, True, amps, watts)


def uses(build: Build) -> list[Use]:
    """What each role takes, those that are to be bought left out."""
    return [use_of(build, role) for role, part in build.parts.items() if not part.bought]


def _may_share(build: Build, role: str) -> bool:
    part = build.parts[role]
    return build.makes_rail(role) and part.lot.count == 1 and part.offer.rail != WHOLE_UNIT


def _feeds(build: Build, role: str) -> RailCurrent | None:
    """The check that adds up what a supply feeds; none where nobody says what is drawn from it."""
    for checked in build.checks:
        check = checked.check
        if isinstance(check, RailCurrent) and isinstance(check.rail, PartRail) and check.rail.role == role:
            return check
    return None


def _most(build: Build, check: RailCurrent, watts: bool) -> float:
    """The most that all consumers draw at once, with the headroom that the check asks for."""
    views = {role: Single(build.parts[role]) for role in check.roles}
    each = (RailAmount(check.rail, c, watts).of(views) for c in check.consumers)
    return float(sum(each, Interval.point(0.0)).hi)


def _outputs(build: Build, role: str) -> Iterator[tuple[str, int]]:
    """What a controller in this role commands and reads."""
    for checked in build.checks:
        if isinstance(checked.check, Outputs) and checked.check.controller == role:
            yield checked.check.rating, checked.check.wanted
