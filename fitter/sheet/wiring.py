"""Which wire goes from where to where."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from fitter.checks.drives import DCTorque, heating_current
from fitter.checks.lab import FrontCurrent
from fitter.checks.power import CoilConsumer, RailCurrent
from fitter.checks.rails import LEAST_VOLTAGE
from fitter.checks.steppers import StepperTorque
from fitter.kinds import kind_key
from fitter.physics import drivers
from fitter.sheet.drives import set_current
from fitter.sheet.models import RailAnswer, WireAnswer
from fitter.sheet.rails import gauge_for, metric
from fitter.sheet.views import checks_of, known
from fitter.solve.builds import Build
from fitter.units import show

SIGNAL_GAUGE = (
    26  # AWG; carries a fraction of an ampere and is still easy to strip; common practice, no source
)
_ORDER = ("mains side", "power", "motor", "coil", "output", "signal")


class _Wiring:
    """The wires of one build."""

    def __init__(self, build: Build, rails: Sequence[RailAnswer]) -> None:
        self.build = build
        self.parts = known(build)
        self.rails = {rail.role: rail for rail in rails}
        self.currents = dict(self._branch_currents())
        self.coils = dict(self._coil_currents())

    def wires(self) -> Iterator[WireAnswer]:
        """One for each link of the component graph that is a wire and whose current is known."""
        for source, target, data in self.build.model.graph.edges(data=True):
            make = _MAKERS.get(data["link"])
            if make is not None and (wire := make(self, source, target)) is not None:
                yield wire

    def _branch_currents(self) -> Iterator[tuple[str, float]]:
        """What each consumer draws at its hardest, by the role that the power wire goes to."""
        for check in checks_of(self.build, RailCurrent):
            volts = check.rail.low(self.parts).maximum(LEAST_VOLTAGE)
            for consumer in check.consumers:
                yield consumer.roles[0], float(consumer.current(self.parts, volts).hi)
                driver = getattr(getattr(consumer, "train", None), "driver", None)
                if driver is not None:
                    yield driver, float(consumer.current(self.parts, volts).hi)
        for front in checks_of(self.build, FrontCurrent):
            for source in front.rail.roles:
                yield source, front.output.current

    def _coil_currents(self) -> Iterator[tuple[str, float]]:
        """What a motor's wires carry, by the motor's role, A rms."""
        for step in checks_of(self.build, StepperTorque):
            yield step.train.motor, float(set_current(self.parts, step).hi) * drivers.FULL_STEP_FRACTION
        for dc in checks_of(self.build, DCTorque):
            yield dc.train.motor, float(heating_current(dc.train, self.parts).hi)
        for check in checks_of(self.build, RailCurrent):
            for consumer in check.consumers:
                if isinstance(consumer, CoilConsumer):
                    volts = check.rail.high(self.parts)
                    yield consumer.role, float(consumer.current(self.parts, volts).hi)

    def kind(self, role: str) -> str:
        """Kind of the part in a role."""
        return kind_key(self.build.parts[role].lot.kind)

    def use(self, role: str) -> str:
        """The way a part is used, in words."""
        return self.build.parts[role].offer.label

    def power(self, source: str, target: str) -> WireAnswer:
        rail = self.rails.get(source)
        current = self.currents.get(target, rail.peak if rail else 0.0)
        fuse = rail.fuse if rail else None
        how = "plus through the fuse, and minus" if fuse else "plus and minus"
        return _wire(source, target, "power", how, current, gauge_for(current, fuse or 0.0), fuse, rail)

    def regulate(self, source: str, target: str) -> WireAnswer:
        rail = self.rails.get(source)
        current = self.currents.get(source, 0.0)
        how = "input of the regulator" if self.kind(target) == "linear regulator" else "collector or drain"
        fuse = rail.fuse if rail else None
        return _wire(source, target, "output", how, current, gauge_for(current, fuse or 0.0), fuse, rail)

    def rectified(self, source: str, target: str) -> WireAnswer:
        if self.kind(source) == "transformer":
            how = "secondary to the bridge, both ends"
            current = float(self.parts[source]["secondary_current"].hi)
        else:
            how, current = "plus and minus", self.currents.get(source, 0.0)
        return _wire(source, target, "mains side", how, current, gauge_for(current), None, None)

    def winding(self, source: str, target: str) -> WireAnswer | None:
        current = self.coils.get(target)
        if current is None:
            return None
        how = self.use(target) or "both leads; swap them if it turns the wrong way"
        return _wire(source, target, "motor", how, current, gauge_for(current), None, None)

    def switches(self, source: str, target: str) -> WireAnswer | None:
        current = self.coils.get(target, self.currents.get(target))
        if current is None:
            return None
        how = "to the coil's minus end; a diode across the coil, its stripe to plus"
        return _wire(source, target, "coil", how, current, gauge_for(current), None, None)

    def in_series(self, source: str, target: str) -> WireAnswer | None:
        current = self.currents.get(target, self.currents.get(source))
        if current is None:
            return None
        how = "in series, within reach" if self.kind(source) == "limit switch" else "both ends"
        return _wire(source, target, "coil", how, current, gauge_for(current), None, None)

    def signal(self, source: str, target: str) -> WireAnswer:
        how = _SIGNALS.get(self.kind(target)) or _SENSORS.get(self.kind(source), "signal and ground")
        return _wire(source, target, "signal", how, None, SIGNAL_GAUGE, None, None)


_SIGNALS = {
    "stepper driver": "step, direction, enable and ground",
    "unipolar driver": "one line for each channel, and ground",
    "h bridge": "both inputs or PWM and direction, and ground",
    "transistor switch": "gate or base, and ground",
    "servo": "pulse and ground",
}
_SENSORS = {
    "limit switch": "normally closed contact to input and ground",
    "photo interrupter": "supply, signal and ground",
    "encoder strip": "both tracks of its reader, supply and ground",
}
_MAKERS: Mapping[str, Callable[[_Wiring, str, str], WireAnswer | None]] = {
    "power": _Wiring.power,
    "winding": _Wiring.winding,
    "signal": _Wiring.signal,
    "switches": _Wiring.switches,
    "turns on": _Wiring.switches,
    "heats": _Wiring.in_series,
    "interrupts": _Wiring.in_series,
    "shows": _Wiring.signal,
    "regulate": _Wiring.regulate,
    "ac": _Wiring.rectified,
    "dc": _Wiring.rectified,
}


def _wire(
    source: str,
    target: str,
    link: Any,
    how: str,
    current: float | None,
    gauge: int,
    fuse: float | None,
    rail: RailAnswer | None,
) -> WireAnswer:
    return WireAnswer(
        source=source,
        target=target,
        link=link,
        how=how,
        rail=rail.label if rail else "",
        current=current,
        gauge=gauge,
        area=metric(gauge),
        fuse=fuse,
    )


def wires_of(build: Build, rails: Sequence[RailAnswer]) -> list[WireAnswer]:
    """All wires of a build, power first."""
    return sorted(_Wiring(build, rails).wires(), key=lambda w: _ORDER.index(w.link))


def notes_of(wires: Sequence[WireAnswer]) -> dict[tuple[str, str], str]:
    """What the block diagram says of each wire beside its volts or its connection."""
    found = {}
    for wire in wires:
        fuse = f", fuse {show(wire.fuse, 'current')}" if wire.fuse is not None else ""
        found[wire.source, wire.target] = f"{wire.gauge} AWG{fuse}"
    return found
