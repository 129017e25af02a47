"""A principle with one more stage: a reduction between its motor and what the motor turns."""

from __future__ import annotations

from collections.abc import Mapping

from fitter.checks.motion import Reduction
from fitter.functions.model import Arguments, Link, Principle, Role, Sketch
from fitter.kinds.mechanics import REDUCTION

GEARED = ", geared"


def geared(principle: Principle) -> Principle:
    """The same way to do a function with a reduction on the motor's shaft, cut to both sides."""

    def build(sketch: Sketch, a: Arguments) -> None:
        principle.build(sketch, a)
        for link in [each for each in sketch.links if _from_motor(sketch, each)]:
            _insert(sketch, link)

    return principle.replace(name=principle.name + GEARED, build=build)


def turns_something(principle: Principle, arguments: Arguments) -> bool:
    """Whether a principle has a motor on whose shaft something sits."""
    made = principle.sketch("any", arguments)
    return any(_from_motor(made, link) for link in made.links)


def _from_motor(sketch: Sketch, link: Link) -> bool:
    motors = {each.target for each in sketch.links if each.kind == "winding"}
    return link.kind == "shaft" and link.source in motors


def _insert(sketch: Sketch, link: Link) -> None:
    """Put a reduction into a link from a motor's shaft to a bore."""
    data = dict(link.data)
    stage = sketch.role("reduction", REDUCTION, about="reduction on the motor", stage=Reduction)
    sketch.links.remove(link)
    sketch.link("turn", link.source, stage, shaft=data["shaft"])
    sketch.link("turn", stage, link.target, bore=data["bore"])


def geared_roles(roles: Mapping[str, Role]) -> list[str]:
    """The roles of reductions among some."""
    return [name for name, role in roles.items() if role.kinds == (REDUCTION,)]
