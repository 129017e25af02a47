"""Checks of a linear supply: rectifier and capacitor, headroom, ripple, heat of the series element."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from fitter.checks.base import Check, Judgement, Part, Parts, RoleName, at_least, at_most, within
from fitter.checks.drives import LOADING
from fitter.checks.power import BRIDGE_SPARE
from fitter.checks.rails import TOO_STIFF, PartRail, Rail, RectifiedRail, current_known
from fitter.intervals import Interval, Number, monotone
from fitter.physics import thermal
from fitter.records import Record
from fitter.units import show

CASE_TO_SINK = Interval(0.3, 1.0)  # washer and grease, TO-3 to TO-220, K/W; common practice, no source
JUNCTION_RESERVE = 25.0  # below the highest junction temperature, K; common practice, no source
SHARING = 0.8  # what several transistors side by side carry over their sum; common practice, no source
RATED_AT = 298.15  # case temperature at which power ratings hold, K
STEEPNESS = (1.5, 2.5)  # exponent of the second-breakdown line in charts of the sheets, from memory
LEAST_DROP = 0.1  # V across a series element; its safe area wants some voltage
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
        judged = at_least(self.output.current / loading, self.rail.current(parts))
        return within(current_known(self.rail, parts), judged, TOO_STIFF)

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
        have = part["max_current"] * sharing(part) if self.shared else part["max_current"]
        return at_least(self.output.current, have)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        if not self.shared or parts[self.part]["devices"].hi <= 1:
            return ""
        return f"side by side they share to {SHARING:.0%} at best, with a resistor in each emitter"


def sharing(part: Part) -> Interval:
    """How many devices the hardest loaded of several counts for: one alone, or fewer than there are."""
    return (part["devices"] * SHARING).maximum(1.0)


def case_heat(rail: Rail, output: LinearOutput, parts: Parts) -> Interval:
    """Heat in the series element at the hardest duty: lowest output, full current, high mains; W."""
    return dropped(rail, output, parts) * output.current


def dropped(rail: Rail, output: LinearOutput, parts: Parts) -> Interval:
    """Voltage across the series element at the hardest duty."""
    return (hottest_input(rail, parts, output.current) - output.lowest_voltage).maximum(0.0)


class JunctionHeat(Check):
    """Junction temperature at the hardest duty: lowest output, full current, high mains."""

    name = "junction temperature"
    quantity = "temperature_difference"
    rail: Rail
    part: RoleName
    sink: RoleName
    output: LinearOutput
    shared: bool
    cooling: str = "thermal_resistance"

    def judge(self, parts: Parts) -> Judgement:
        part = parts[self.part]
        rise = (
            monotone(
                lambda power, case, washer, sink, devices: thermal.junction_temperature(
                    self.output.ambient, power, case, washer, sink, devices
                ),
                rising={
                    "power": case_heat(self.rail, self.output, parts),
                    "case": part["thermal_resistance_jc"],
                    "washer": CASE_TO_SINK,
                    "sink": parts[self.sink][self.cooling],
                },
                falling={"devices": sharing(part) if self.shared else Interval.point(1.0)},
            )
            - self.output.ambient
        )
        return at_least(rise, part["max_junction"] - (self.output.ambient + JUNCTION_RESERVE))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        watts = show(float(case_heat(self.rail, self.output, parts).hi), "power")
        hottest = show(self.output.ambient + float(judgement.need.hi), "temperature")
        return (
            f"up to {watts} of heat at lowest output and full current: junction up to {hottest}, "
            f"kept {JUNCTION_RESERVE:g} K below its limit"
        )


class SafeArea(Check):
    """A pass transistor carries its share at the highest voltage across it, its case being hot.

    The power rating holds for a case at 25 degrees and falls in a straight line to nothing at the
    highest junction temperature; above its full-power voltage second breakdown allows less still.
    """

    name = "safe area of the pass transistor"
    quantity = "current"
    rail: Rail
    part: RoleName
    sink: RoleName
    output: LinearOutput
    cooling: str = "thermal_resistance"

    def judge(self, parts: Parts) -> Judgement:
        part, devices = parts[self.part], sharing(parts[self.part])
        volts = dropped(self.rail, self.output, parts).maximum(LEAST_DROP)
        heat = case_heat(self.rail, self.output, parts)
        case = heat * parts[self.sink][self.cooling] + heat / devices * CASE_TO_SINK
        watts = monotone(
            _derated,
            rising={"power": part["max_power"], "hottest": part["max_junction"]},
            falling={"case": case + self.output.ambient},
        )
        worst = _allowed(volts.hi, part, watts.lo, "lo", STEEPNESS[1])
        best = _allowed(volts.lo, part, watts.hi, "hi", STEEPNESS[0])
        return at_least(Interval.point(self.output.current) / devices, Interval(worst, best))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        volts = show(float(dropped(self.rail, self.output, parts).hi), "voltage")
        return f"current of the hardest loaded transistor with {volts} across it, its case at working heat"


def _derated(power: Number, hottest: Number, case: Number) -> Number:
    """Power rating at a case temperature, gone at the highest junction temperature."""
    slope = power / np.maximum(np.asarray(hottest) - RATED_AT, 1.0)
    return thermal.derated_power(power, slope, case, RATED_AT)


def _allowed(volts: Number, part: Part, watts: Number, end: str, steepness: float) -> Number:
    """Current that one transistor stands, all its ratings taken at one end."""
    current, knee, limit = (
        getattr(part[n], end) for n in ("max_current", "full_power_voltage", "max_voltage")
    )
    return thermal.safe_area_current(volts, current, watts, knee, watts / knee, limit, steepness)


class RegulatorHeat(Check):
    """The regulator beside a pass transistor still carries its base current, on the same sink."""

    name = "junction temperature of the regulator"
    quantity = "temperature_difference"
    rail: Rail
    regulator: RoleName
    part: RoleName
    sink: RoleName
    output: LinearOutput

    def judge(self, parts: Parts) -> Judgement:
        heat = case_heat(self.rail, self.output, parts)
        own = heat / parts[self.part]["current_gain"]
        regulator = parts[self.regulator]
        through = regulator["thermal_resistance_jc"] + CASE_TO_SINK
        rise = heat * parts[self.sink]["thermal_resistance"] + own * through
        return at_least(rise, regulator["max_junction"] - (self.output.ambient + JUNCTION_RESERVE))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return (
            "bolted on the same sink, it carries the output current over the gain of the pass transistor; "
            f"kept {JUNCTION_RESERVE:g} K below its limit"
        )


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


class RectifierVoltage(Check):
    """The bridge stands the winding's peak twice over."""

    name = "voltage of the bridge"
    quantity = "voltage"
    rail: RectifiedRail

    @cached_property
    def roles(self) -> tuple[str, ...]:
        """Transformer and bridge: the capacitor does not change the peak."""
        return self.rail.roles[:2]

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.rail.high(parts) * 2.0, parts[self.rail.bridge]["max_voltage"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "twice the peak without load"


class RectifierCurrent(Check):
    """The bridge carries the direct current that is drawn, with half as much to spare."""

    name = "current of the bridge"
    quantity = "current"
    bridge: RoleName
    current: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.current * BRIDGE_SPARE, parts[self.bridge]["current"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"{BRIDGE_SPARE:g} times the current that is drawn"


class CapacitorVoltage(Check):
    """The capacitor stands the rail without load at high mains."""

    name = "voltage of the capacitor"
    quantity = "voltage"
    rail: RectifiedRail

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.rail.high(parts), parts[self.rail.capacitor]["max_voltage"])
