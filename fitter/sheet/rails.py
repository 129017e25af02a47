"""What each rail gives and what is drawn from it, with fuse and wire."""

from __future__ import annotations

from collections.abc import Iterator

from fitter.checks.drives import LOADING
from fitter.checks.lab import FrontCurrent
from fitter.checks.power import RailCurrent
from fitter.checks.rails import LEAST_VOLTAGE, PartRail, Rail
from fitter.intervals import Interval
from fitter.physics import wires
from fitter.sheet.models import DrawAnswer, RailAnswer
from fitter.sheet.views import Parts, checks_of, known, likely
from fitter.solve.builds import Build
from fitter.units import show_span
from fitter.views import ends_of

# Preferred ratings of miniature and blade fuses, A; common practice, no source.
FUSES = (
    *(0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8),
    *(1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0, 15.0, 20.0, 25.0, 30.0),
)
STURDIEST = 24  # AWG; thinner power wires break before they burn; common practice, no source
NEAR_ENOUGH = 0.95  # a metric wire this close to a gauge counts as the same; common practice, no source


def rails_of(build: Build) -> list[RailAnswer]:
    """Every rail of a build that feeds something."""
    return [*_fed(build), *_fronts(build)]


def _fed(build: Build) -> Iterator[RailAnswer]:
    for check in checks_of(build, RailCurrent):
        draws = [
            DrawAnswer(
                about=consumer.about,
                typical=_drawn(check, number, likely(build), "lo"),
                peak=_drawn(check, number, known(build), "hi"),
            )
            for number, consumer in enumerate(check.consumers)
        ]
        yield _rail(build, check.rail, check.room(known(build)), draws, LOADING)


def _drawn(check: RailCurrent, number: int, parts: Parts, end: str) -> float:
    volts = check.rail.low(parts).maximum(LEAST_VOLTAGE)
    return float(getattr(check.consumers[number].current(parts, volts), end))


def _fronts(build: Build) -> Iterator[RailAnswer]:
    """The front end of a linear supply, which passes on the current of its output."""
    for check in checks_of(build, FrontCurrent):
        amps = check.output.current
        draws = [DrawAnswer(about="the output at full current", typical=amps, peak=amps)]
        loading = LOADING if isinstance(check.rail, PartRail) else 1.0
        yield _rail(build, check.rail, check.rail.current(known(build)), draws, loading)


def _rail(build: Build, rail: Rail, rating: Interval, draws: list[DrawAnswer], loading: float) -> RailAnswer:
    parts = known(build)
    voltage = rail.low(parts).hull(rail.high(parts))
    peak = sum(d.peak for d in draws)
    fuse = fuse_for(peak)
    gauge = gauge_for(peak, fuse or 0.0)
    role = rail.roles[-1]
    span = show_span(float(voltage.lo), float(voltage.hi), "voltage")
    return RailAnswer(
        label=f"{role}, {span}",
        role=role,
        voltage=ends_of(voltage),
        likely_voltage=float(rail.low(likely(build)).lo),
        rating=ends_of(rating),
        loading=loading,
        draws=draws,
        typical=sum(d.typical for d in draws),
        peak=peak,
        fuse=fuse,
        gauge=gauge,
        area=metric(gauge),
    )


def fuse_for(current: float) -> float | None:
    """The smallest usual fuse that carries a current for hours, loaded to 75 %, A; none above 30 A.

    >>> fuse_for(1.5), fuse_for(40.0)
    (2.0, None)
    """
    least = float(wires.fuse_rating_needed(current))
    return next((f for f in FUSES if f >= least - 1e-9), None)


def gauge_for(current: float, fuse: float = 0.0) -> int:
    """The thinnest gauge (AWG) that carries a current in a bundle, and in free air what its fuse lets pass.

    >>> gauge_for(1.4, fuse=2.0), gauge_for(0.2)
    (20, 24)
    """
    good = [
        gauge
        for gauge, amps in wires.AWG_BUNDLED_CURRENT.items()
        if amps >= current and wires.AWG_FREE_AIR_CURRENT[gauge] >= fuse and gauge <= STURDIEST
    ]
    return max(good, default=min(wires.AWG_BUNDLED_CURRENT))


def metric(gauge: int) -> float:
    """Cross-section of the flexible wire that shops carry for a gauge, m^2.

    >>> round(metric(20) * 1e6, 2)
    0.5
    """
    area = float(wires.gauge_area(gauge))
    sizes = [size * 1e-6 for size in wires.FLEXIBLE_CABLE]
    return next((size for size in sizes if size >= NEAR_ENOUGH * area), sizes[-1])
