"""Checks of what gives or takes power on a bench: fixed rails, electronic loads, test drives, generators."""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx
import numpy as np

from fitter.checks.base import Check, Judgement, Parts, Reader, RoleName, at_least, at_most
from fitter.checks.find import before, finder, kinds, links, rail_of
from fitter.checks.lab import InputLimit, JunctionHeat, LinearOutput, SafeArea, SeriesCurrent, case_heat
from fitter.checks.making import CONVERTER_DROP, CONVERTER_EFFICIENCY
from fitter.checks.rails import Rail
from fitter.intervals import Interval, Number, as_number, largest, monotone
from fitter.physics import generators, stepper, wires
from fitter.records import Record
from fitter.units import show

PHASES = 2  # of a stepper
LARGEST_FUSE = 2.5  # of the current that may be drawn; common practice, no source
# True over first-harmonic power of a rectified phase: up to a rail of some share of its EMF, and above.
# Simulation in time, in the tests.
LOW_RAIL, HARMONICS_LOW, HARMONICS = 0.45, 0.8, Interval(0.5, 1.15)
SETTINGS = tuple(float(v) for v in np.geomspace(3.0, 60.0, 28))  # V at which a converter's input may settle


class DemandConsumer(Reader):
    """What a recipe draws from a rail at its posts."""

    role: RoleName
    amps: float

    @property
    def about(self) -> str:
        return f"{self.role} at its posts"

    def current(self, parts: Parts, volts: Interval) -> Interval:
        return Interval.point(self.amps)


class RailWithin(Check):
    """A fixed rail stays within its tolerance under full load."""

    name = "voltage of the rail"
    quantity = "voltage"
    rail: Rail
    voltage: float
    tolerance: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.voltage * (1 - self.tolerance), self.rail.low(parts))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"{show(self.voltage, 'voltage')} within {self.tolerance:.0%} under full load"


class RailWithoutLoad(Check):
    """A fixed rail stays within its tolerance without load."""

    name = "voltage of the rail without load"
    quantity = "voltage"
    sense = "at most"
    rail: Rail
    voltage: float
    tolerance: float

    def judge(self, parts: Parts) -> Judgement:
        return at_most(self.voltage * (1 + self.tolerance), self.rail.high(parts))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"{show(self.voltage, 'voltage')} within {self.tolerance:.0%} without load"


class RailRipple(Check):
    """Ripple of a rail as it comes."""

    name = "ripple of the rail"
    quantity = "voltage"
    sense = "at most"
    rail: Rail
    ripple: float

    def judge(self, parts: Parts) -> Judgement:
        return at_most(self.ripple, self.rail.ripple(parts))


class ConverterOutput(Check):
    """A converter can be set to the voltage, and the rail leaves it enough to work from."""

    name = "setting of the converter"
    quantity = "voltage"
    rail: Rail | None
    converter: RoleName
    voltage: float

    def judge(self, parts: Parts) -> Judgement:
        converter = parts[self.converter]
        low = at_most(self.voltage, converter["output_voltage.min"])
        high = at_least(self.voltage, converter["output_voltage.max"])
        margin = low.margin.minimum(high.margin)
        if self.rail is not None:
            margin = margin.minimum(at_least(self.voltage + CONVERTER_DROP, self.rail.low(parts)).margin)
        return Judgement(high.need, high.have, margin)


class ConverterCurrent(Check):
    """A converter gives the current for hours."""

    name = "current of the converter"
    quantity = "current"
    converter: RoleName
    amps: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.amps, parts[self.converter]["current"])


class ConverterRipple(Check):
    """Ripple that a converter leaves at its output, whatever the rail in front of it has."""

    name = "ripple of the converter"
    quantity = "voltage"
    sense = "at most"
    converter: RoleName
    ripple: float

    def judge(self, parts: Parts) -> Judgement:
        return at_most(self.ripple, parts[self.converter]["ripple"])


class FuseHolds(Check):
    """A fuse carries the current for hours."""

    name = "fuse holds"
    quantity = "current"
    fuse: RoleName
    amps: float

    def judge(self, parts: Parts) -> Judgement:
        need = float(wires.fuse_rating_needed(self.amps))
        return at_least(need, parts[self.fuse]["rated_current"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"loaded to {wires.UL_FUSE_LOADING:.0%} of its rating"


class FuseBlows(Check):
    """A fuse blows before the rail gives up or the leads get hot."""

    name = "fuse blows"
    quantity = "current"
    rail: Rail
    fuse: RoleName
    amps: float

    def judge(self, parts: Parts) -> Judgement:
        most = self.rail.current(parts).minimum(self.amps * LARGEST_FUSE)
        return at_least(parts[self.fuse]["rated_current"], most)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"at most what the rail gives, and {LARGEST_FUSE:g} times what may be drawn"


class FuseBehind(Check):
    """A fuse behind a converter blows before the converter gives up or the leads get hot."""

    name = "fuse blows"
    quantity = "current"
    converter: RoleName
    fuse: RoleName
    amps: float

    def judge(self, parts: Parts) -> Judgement:
        most = parts[self.converter]["current"].minimum(self.amps * LARGEST_FUSE)
        return at_least(parts[self.fuse]["rated_current"], most)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"at most what the converter gives, and {LARGEST_FUSE:g} times what may be drawn"


class UnderTest(Reader):
    """A source that is being loaded, as a rail that stays at one voltage."""

    volts: float

    def low(self, parts: Parts) -> Interval:
        return Interval.point(self.volts)

    def high(self, parts: Parts) -> Interval:
        return Interval.point(self.volts)

    def current(self, parts: Parts) -> Interval:
        return Interval.point(float("inf"))

    def unit_power(self, parts: Parts) -> Interval:
        return Interval.point(float("inf"))

    def unit_current(self, parts: Parts) -> Interval:
        return Interval.point(float("inf"))

    def ripple(self, parts: Parts) -> Interval:
        return Interval.point(0.0)


class LoadHeat(JunctionHeat):
    """Junction temperature while all the power of an electronic load turns into heat."""

    name = "junction temperature"

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        watts = show(float(case_heat(self.rail, self.output, parts).hi), "power")
        hottest = show(self.output.ambient + float(judgement.need.hi), "temperature")
        return f"{watts} of heat: junction up to {hottest}, kept well below its limit"


class LoadArea(SafeArea):
    """Transistors of an electronic load at one end of its curve of constant power."""

    name = "safe area of the transistors"
    end: str = ""  # full current, or full voltage

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"at full {self.end}: " + super().sentence(parts, judgement)


class DriveCurrent(Check):
    """A driver on a test bench gives the current of the largest motor."""

    name = "driver current"
    quantity = "current"
    driver: RoleName
    amps: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.amps, parts[self.driver]["peak_current"])


class Turned(Record):
    """How a generator is turned, and what it must give: rad/s, W, V."""

    slowest: float
    fastest: float
    watts: float
    voltage: float


class Generator(Reader):
    """A motor that is turned, with its bridges."""

    motor: RoleName
    bridges: RoleName
    stepping: bool

    def emf(self, parts: Parts, speed: float) -> Interval:
        """Peak voltage of one phase, or between the brushes, V."""
        motor = parts[self.motor]
        if not self.stepping:
            return motor["torque_constant"] * speed
        constant = monotone(
            stepper.torque_constant,
            rising={"holding_torque": motor["holding_torque"]},
            falling={"rated_current": motor["rated_current"]},
        )
        return constant * speed

    def power(self, parts: Parts, speed: float, volts: float) -> Interval:
        """Into a direct voltage, W."""
        motor, drop = parts[self.motor], parts[self.bridges]["diode_drop"]
        falling = {"resistance": motor["resistance"], "diode_drop": drop}
        rising = {"emf": self.emf(parts, speed)}
        if not self.stepping:
            return monotone(
                generators.direct_power, rising=rising, falling=falling, fixed={"dc_voltage": volts}
            )
        teeth = monotone(stepper.rotor_teeth, falling={"step_angle": motor["step_angle"]})
        falling["reactance"] = motor["inductance"] * teeth * speed
        one = monotone(
            generators.rectified_power, rising=rising, falling=falling, fixed={"dc_voltage": volts}
        )
        low_rail = as_number(np.asarray(self.emf(parts, speed).lo) * LOW_RAIL >= volts)
        least = low_rail * (HARMONICS_LOW - float(HARMONICS.lo)) + HARMONICS.lo
        return Interval(one.lo * least, one.hi * HARMONICS.hi) * float(PHASES)


class GeneratorPower(Check):
    """Turned at its slowest, a generator still feeds the converter, at the best voltage that this takes."""

    name = "power of the generator"
    quantity = "power"
    generator: Generator
    converter: RoleName
    turned: Turned

    def judge(self, parts: Parts) -> Judgement:
        window = parts[self.converter]
        least = window["input_voltage.min"].maximum(self.turned.voltage + CONVERTER_DROP)
        most = window["input_voltage.max"]
        have = Interval.point(0.0)
        for volts in SETTINGS:
            power = self.generator.power(parts, self.turned.slowest, volts)
            have = Interval(
                largest(have.lo, power.lo * _within(volts, least.hi, most.lo)),
                largest(have.hi, power.hi * _within(volts, least.lo, most.hi)),
            )
        return at_least(Interval.point(self.turned.watts) / CONVERTER_EFFICIENCY, have)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"at {show(self.turned.slowest, 'angular_speed')}, losses of the converter included"


def _within(volts: float, low: Number, high: Number) -> Number:
    return as_number((np.asarray(low) <= volts) & (volts <= np.asarray(high)))


class GeneratorOpen(Check):
    """Turned fast without load, a generator does not break what is behind it."""

    name = "voltage of the generator without load"
    quantity = "voltage"
    generator: Generator
    part: RoleName
    rating: str
    fastest: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.generator.emf(parts, self.fastest), parts[self.part][self.rating])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return (
            f"peak at {show(self.fastest, 'angular_speed')}; a Zener diode or a brake resistor keeps it lower"
        )


@finder
def fixed_rail_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Voltage, ripple, fuse and converter of a rail that goes to posts."""
    for node, data in graph.nodes(data=True):
        if "posts" not in data:
            continue
        volts, tolerance, amps, ripple = data["posts"]
        rail = rail_of(graph, node)
        if rail is not None and "fuse" in kinds(graph, node):
            yield RailWithin(rail, volts, tolerance)
            yield RailWithoutLoad(rail, volts, tolerance)
            yield RailRipple(rail, ripple)
            yield FuseHolds(node, amps)
            yield FuseBlows(rail, node, amps)
        elif rail is not None:
            yield ConverterOutput(rail, node, volts)
            yield ConverterCurrent(node, amps)
            yield ConverterRipple(node, ripple)
    for converter, fuse, data in links(graph, "fused by"):
        amps = float(str(data["amps"]))
        yield FuseHolds(fuse, amps)
        yield FuseBehind(converter, fuse, amps)


@finder
def load_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Heat, safe area and limits of transistors that take power."""
    for part, sink, data in links(graph, "sinks"):
        cooling = str(data["cooling"])
        full_current, full_voltage = data["full_current"], data["full_voltage"]
        assert isinstance(full_current, LinearOutput)
        assert isinstance(full_voltage, LinearOutput)
        yield LoadHeat(UnderTest(full_current.voltage), part, sink, full_current, True, cooling)
        for end, output in (("current", full_current), ("voltage", full_voltage)):
            yield LoadArea(UnderTest(output.voltage), part, sink, output, cooling, end)
        yield SeriesCurrent(part, full_current, True)
        yield InputLimit(UnderTest(full_voltage.voltage), part, "max_voltage")


@finder
def drive_test_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Current of drivers on a test bench."""
    for node, data in graph.nodes(data=True):
        if "tests" in data:
            yield DriveCurrent(node, data["tests"])


@finder
def generator_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Power and voltages of generators."""
    for bridges, converter, data in links(graph, "charges"):
        motor, turned = before(graph, bridges, "turned"), data["turned"]
        assert isinstance(turned, Turned)
        if motor is None:
            continue
        generator = Generator(motor, bridges, "stepper motor" in kinds(graph, motor))
        yield GeneratorPower(generator, converter, turned)
        yield GeneratorOpen(generator, converter, "input_voltage.max", turned.fastest)
        yield GeneratorOpen(generator, bridges, "max_voltage", turned.fastest)
        yield GeneratorOpen(generator, str(data["capacitor"]), "max_voltage", turned.fastest)
        yield ConverterOutput(None, converter, turned.voltage)
        yield ConverterCurrent(converter, turned.watts / turned.voltage)
