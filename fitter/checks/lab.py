"""Checks of a linear supply: rectifier and capacitor, headroom, ripple, heat of the series element."""

from __future__ import annotations

from fitter.checks.base import Check, Judgement, Parts, RoleName, at_least, at_most
from fitter.checks.drives import LOADING
from fitter.checks.rails import PartRail, Rail, RectifiedRail
from fitter.intervals import Interval, monotone
from fitter.physics import thermal
from fitter.records import Record
from fitter.units import show

CASE_TO_SINK = Interval(0.3, 1.0)  # washer and grease, TO-3 to TO-220, K/W; common practice, no source
BASE_DROP = 1.2  # what a pass transistor adds to the regulator's dropout: base-emitter and its resistor, V
# A three-terminal regulator rejects the ripple of a switch-mode supply far less than that of the
# mains: its gain is nearly gone at 50 kHz and above (typical sheet curves, from memory), dB.
SWITCHING_REJECTION = Interval(15.0, 40.0)


class LinearOutput(Record):
    """What a linear supply must give: SI units, ambient in kelvin."""

    voltage: float
    current: float
    ripple: float
    ambient: float
    lowest_voltage: float


def trough(rail: Rail, parts: Parts, current: float) -> Interval:
    """Lowest input of the series element while it carries the full current."""
    if isinstance(rail, RectifiedRail):
        return rail.low_at(parts, Interval.point(current))
    return rail.low(parts)


def hottest_input(rail: Rail, parts: Parts, current: float) -> Interval:
    """Input voltage at full current and high mains, from which the heat is reckoned."""
    if isinstance(rail, RectifiedRail):
        return rail.hottest_at(parts, current)
    return rail.low(parts)


class Headroom(Check):
    """At low mains and full current the input still exceeds output plus dropout."""

    name = "headroom at low mains"
    quantity = "voltage"
    rail: Rail
    regulator: RoleName
    output: LinearOutput
    through_pass: bool

    def judge(self, parts: Parts) -> Judgement:
        extra = BASE_DROP if self.through_pass else 0.0
        need = parts[self.regulator]["dropout"] + (self.output.voltage + extra)
        return at_least(need, trough(self.rail, parts, self.output.current))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "highest output plus dropout; the input is taken at its trough, mains 10 % down"


class OutputRange(Check):
    """The regulator can be set as high as wanted."""

    name = "range of the regulator"
    quantity = "voltage"
    regulator: RoleName
    output: LinearOutput

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.output.voltage, parts[self.regulator]["output_voltage.max"])


class FrontCurrent(Check):
    """The front end gives the output current for hours."""

    name = "current of the front end"
    quantity = "current"
    rail: Rail
    output: LinearOutput

    def judge(self, parts: Parts) -> Judgement:
        # a transformer's direct current is derated already; a switch-mode unit is loaded to 80 %
        loading = LOADING if isinstance(self.rail, PartRail) else 1.0
        return at_least(self.output.current / loading, self.rail.current(parts))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        if isinstance(self.rail, PartRail):
            return f"loaded to {LOADING:.0%} for long life"
        return "direct current is 0.42 to 0.67 of the winding's rated AC, more behind a soft transformer"


class InputLimit(Check):
    """The series element stands the input without load at high mains."""

    name = "input voltage limit"
    quantity = "voltage"
    rail: Rail
    part: RoleName
    rating: str

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.rail.high(parts), parts[self.part][self.rating])


class SeriesCurrent(Check):
    """The series element carries the output current, shared by all its devices."""

    name = "current of the series element"
    quantity = "current"
    part: RoleName
    output: LinearOutput
    shared: bool

    def judge(self, parts: Parts) -> Judgement:
        part = parts[self.part]
        have = part["max_current"] * part["devices"] if self.shared else part["max_current"]
        return at_least(self.output.current, have)


class JunctionHeat(Check):
    """Junction temperature at the hardest duty: lowest output, full current, high mains."""

    name = "junction temperature"
    quantity = "temperature_difference"
    rail: Rail
    part: RoleName
    sink: RoleName
    output: LinearOutput
    shared: bool

    def power(self, parts: Parts) -> Interval:
        """Heat in the series element, W."""
        return (hottest_input(self.rail, parts, self.output.current) - self.output.lowest_voltage).maximum(
            0.0
        ) * self.output.current

    def judge(self, parts: Parts) -> Judgement:
        part = parts[self.part]
        rise = (
            monotone(
                lambda power, case, washer, sink, devices: thermal.junction_temperature(
                    self.output.ambient, power, case, washer, sink, devices
                ),
                rising={
                    "power": self.power(parts),
                    "case": part["thermal_resistance_jc"],
                    "washer": CASE_TO_SINK,
                    "sink": parts[self.sink]["thermal_resistance"],
                },
                falling={"devices": part["devices"] if self.shared else Interval.point(1.0)},
            )
            - self.output.ambient
        )
        return at_least(rise, part["max_junction"] - self.output.ambient)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        watts = show(float(self.power(parts).hi), "power")
        hottest = show(self.output.ambient + float(judgement.need.hi), "temperature")
        return f"up to {watts} of heat at lowest output and full current: junction up to {hottest}"


class OutputRipple(Check):
    """Ripple left at the output after the regulator."""

    name = "ripple at the output"
    quantity = "voltage"
    sense = "at most"
    rail: Rail
    regulator: RoleName
    output: LinearOutput

    def judge(self, parts: Parts) -> Judgement:
        mains = isinstance(self.rail, RectifiedRail)
        rejection = parts[self.regulator]["ripple_rejection"] if mains else SWITCHING_REJECTION
        gain = monotone(lambda decibel: 10 ** (-decibel / 20), falling={"decibel": rejection})
        return at_most(self.output.ripple, self._input_ripple(parts) * gain)

    def _input_ripple(self, parts: Parts) -> Interval:
        if isinstance(self.rail, RectifiedRail):
            return self.rail.ripple_at(parts, self.output.current)
        return self.rail.ripple(parts)


class BridgeRating(Check):
    """The bridge stands the winding's peak twice over and carries the direct current."""

    name = "rating of the bridge"
    quantity = "voltage"
    rail: RectifiedRail

    def judge(self, parts: Parts) -> Judgement:
        bridge = parts[self.rail.bridge]
        volts = at_least(self.rail.high(parts) * 2.0, bridge["max_voltage"])
        amps = at_least(self.rail.current(parts) * 1.5, bridge["current"])
        return Judgement(volts.need, volts.have, volts.margin.minimum(amps.margin))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "twice the peak without load, and one and a half times the direct current"


class CapacitorVoltage(Check):
    """The capacitor stands the rail without load at high mains."""

    name = "voltage of the capacitor"
    quantity = "voltage"
    rail: RectifiedRail

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.rail.high(parts), parts[self.rail.capacitor]["max_voltage"])
