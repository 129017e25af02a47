"""Whether a slow drive keeps to the sky for as long as a picture takes."""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx

from fitter.checks.base import Check, Judgement, Parts, RoleName, at_most
from fitter.checks.find import finder, links
from fitter.intervals import Interval
from fitter.physics import tracking
from fitter.records import Record

LEAD_ERROR = 1e-3  # of a rolled thread over some length: 0.1 mm in 100 mm; common practice, no source
WOBBLE = Interval(
    0.002, 0.01
)  # of the lead within one turn, a thread that runs out; common practice, no source


class Tracking(Record):
    """A board on a hinge that must follow the sky: m, rad/s, s, rad."""

    arm: float
    rate: float
    exposure: float
    error: float
    session: float


class Drift(Check):
    """Tangent of the angle, error of the thread and its wobble within one turn, at the end of the session."""

    name = "drift during a picture"
    quantity = "angle"
    sense = "at most"
    rod: RoleName
    tracking: Tracking
    corrected: bool

    def judge(self, parts: Parts) -> Judgement:
        of = self.tracking
        steady = of.rate * of.exposure * LEAD_ERROR + self._tangent()
        return at_most(of.error, parts[self.rod]["lead"] * WOBBLE * (1 / of.arm) + steady)

    def _tangent(self) -> float:
        if self.corrected:
            return 0.0
        of = self.tracking
        return float(tracking.tangent_drift(of.rate, max(of.session - of.exposure, 0.0), of.exposure))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        said = "thread off by 0.1 mm in 100 mm and by up to 1 % of its lead within a turn"
        return said if self.corrected else f"{said}, and the straight rod at the end of the session"


@finder
def tracking_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Drift of boards on a threaded rod."""
    for rod, _, data in links(graph, "thread"):
        of = data.get("tracking")
        if isinstance(of, Tracking):
            yield Drift(rod, of, bool(data["corrected"]))
