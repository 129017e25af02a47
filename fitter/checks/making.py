"""Checks of what spins, blows, lights and heats: parts that work by themselves once they are fed."""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx
import numpy as np

from fitter.checks.base import Check, Judgement, Parts, Reader, RoleName, at_least, at_most
from fitter.checks.find import before, finder, kinds, links, rail_of
from fitter.checks.rails import Rail
from fitter.intervals import Interval, monotone
from fitter.physics import fans, heaters
from fitter.units import show

SPIN_SAFETY = 1.25  # torque to spare where nothing is lost by slowing down; common practice, no source
BOARD_EFFICIENCY = Interval(0.6, 0.85)  # brushless motor with its board; common practice, no source
FAN_EFFICIENCY = Interval(0.2, 0.5)  # shaft over electrical power of small fans; common practice, no source
FAN_CURVE = Interval(0.7, 1.1)  # true curves over a straight line; common practice, no source
COOLING_SHARE = 0.8  # of its voltage that a fan on a heat sink wants; common practice, no source
SWITCH_SPARE = 1.25  # current a switch carries over what is drawn; common practice, no source
CONVERTER_EFFICIENCY = Interval(0.85, 0.95)  # step-down converters; common practice, no source
CONVERTER_DROP = (
    1.5  # V between input and output that a step-down converter wants; common practice, no source
)
RESISTOR_SHARE = 0.1  # of the string's voltage that a resistor needs to hold the current; common practice
HOT = Interval(*heaters.HOT_OVER_COLD)


class WattConsumer(Reader):
    """A part that turns a power of its own into light, heat or motion."""

    role: RoleName
    rating: str
    efficiency: Interval = Interval(1.0, 1.0)

    @property
    def about(self) -> str:
        return f"{self.role} at its {self.rating.replace('_', ' ')}"

    def current(self, parts: Parts, volts: Interval) -> Interval:
        return parts[self.role][self.rating] / self.efficiency / volts


class SetConsumer(Reader):
    """A converter set to give a power that the recipe asks for."""

    role: RoleName
    watts: float

    @property
    def about(self) -> str:
        return f"{self.role} at {show(self.watts, 'power')}"

    def current(self, parts: Parts, volts: Interval) -> Interval:
        return Interval.point(self.watts) / CONVERTER_EFFICIENCY / volts


class RatedSpeed(Check):
    """A motor with its own board turns as fast as asked under load; a roller makes rim speed of it."""

    name = "speed"
    quantity = "angular_speed"
    motor: RoleName
    speed: float
    roller: RoleName | None = None

    def judge(self, parts: Parts) -> Judgement:
        need = Interval.point(self.speed)
        if self.roller is not None:
            need = need / (parts[self.roller]["diameter"] * 0.5)
        return at_least(need, parts[self.motor]["rated_speed"])


class RatedTorque(Check):
    """It gives the torque for hours, a quarter to spare."""

    name = "torque for hours"
    quantity = "torque"
    motor: RoleName
    torque: float
    roller: RoleName | None = None

    def judge(self, parts: Parts) -> Judgement:
        need = Interval.point(self.torque)
        if self.roller is not None:
            need = need * parts[self.roller]["diameter"] * 0.5
        return at_least(need * SPIN_SAFETY, parts[self.motor]["rated_torque"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"{SPIN_SAFETY:g} times the torque asked for"


class FanSpeed(Check):
    """A fan whose blades are taken off turns a load as fast as asked from the rail."""

    name = "speed"
    quantity = "angular_speed"
    rail: Rail
    fan: RoleName
    speed: float

    def judge(self, parts: Parts) -> Judgement:
        fan = parts[self.fan]
        return at_least(self.speed, fan["rated_speed"] * self.rail.low(parts) / fan["voltage"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "rated speed by the voltage of the rail over its own"


class FanSlow(Check):
    """A fan still starts at the lowest speed asked for."""

    name = "lowest speed"
    quantity = "angular_speed"
    sense = "at most"
    fan: RoleName
    lowest: float

    def judge(self, parts: Parts) -> Judgement:
        fan = parts[self.fan]
        return at_most(self.lowest, fan["rated_speed"] * fan["start_voltage"] / fan["voltage"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "where it starts by itself; pulses slow it down as far as that"


class FanTorque(Check):
    """Torque of a fan's motor: a share of its electrical power over its speed."""

    name = "torque for hours"
    quantity = "torque"
    fan: RoleName
    torque: float

    def judge(self, parts: Parts) -> Judgement:
        fan = parts[self.fan]
        have = fan["voltage"] * fan["current"] * FAN_EFFICIENCY / fan["rated_speed"]
        return at_least(self.torque * SPIN_SAFETY, have)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "volts times amperes on its label, 20 to 50 % of that at the shaft, over its speed"


class Flow(Check):
    """Flow that is left against the pressure of duct and filter, at the voltage of the rail."""

    name = "flow"
    quantity = "flow"
    rail: Rail
    fan: RoleName
    flow: float
    pressure: float
    in_row: int
    beside: int

    def judge(self, parts: Parts) -> Judgement:
        fan = parts[self.fan]
        have = monotone(
            lambda free_flow, shut_off_pressure, speed_ratio: fans.flow_at_pressure(
                free_flow, shut_off_pressure, speed_ratio, self.pressure / self.in_row
            ),
            rising={
                "free_flow": fan["flow"],
                "shut_off_pressure": fan["pressure"],
                "speed_ratio": (self.rail.low(parts) / fan["voltage"]).maximum(1e-3),
            },
        )
        return at_least(self.flow, have * FAN_CURVE * float(self.beside))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        against = show(self.pressure, "pressure")
        return (
            f"against {against}, from free flow and the pressure at no flow; true curves dip below the line"
        )


class FanCools(Check):
    """A fan on a heat sink runs near its own voltage: slower, it cools less than the sink's figure says."""

    name = "voltage of the fan"
    quantity = "voltage"
    rail: Rail
    fan: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return at_least(parts[self.fan]["voltage"] * COOLING_SHARE, self.rail.low(parts))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"{COOLING_SHARE:.0%} of its own: slower, it cools less than the sink's figure says"


class SwitchLoad(Check):
    """A transistor carries what it switches and blocks the rail."""

    name = "switch current"
    quantity = "current"
    rail: Rail
    switch: RoleName
    load: RoleName
    rating: str

    def judge(self, parts: Parts) -> Judgement:
        drawn = parts[self.load][self.rating]
        if self.rating == "rated_power":
            drawn = drawn / self.rail.low(parts).maximum(0.1)
        current = at_least(drawn * SWITCH_SPARE, parts[self.switch]["continuous_current"])
        volts = at_least(self.rail.high(parts) * 1.5, parts[self.switch]["max_voltage"])
        return Judgement(current.need, current.have, current.margin.minimum(volts.margin))


class LightPower(Check):
    """Electrical power of what lights."""

    name = "power of the light"
    quantity = "power"
    light: RoleName
    watts: float
    string: bool

    def judge(self, parts: Parts) -> Judgement:
        light = parts[self.light]
        have = light["forward_voltage"] * light["rated_current"] if self.string else light["rated_power"]
        return at_least(self.watts, have)


class StringVoltage(Check):
    """The rail leaves something for the resistor that holds the current of a string."""

    name = "voltage of the string"
    quantity = "voltage"
    rail: Rail
    light: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return at_least(parts[self.light]["forward_voltage"] * (1 + RESISTOR_SHARE), self.rail.low(parts))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        light = parts[self.light]
        left = (self.rail.high(parts) - light["forward_voltage"]).maximum(0.0)
        ohms, watts = float((left / light["rated_current"]).hi), float((left * light["rated_current"]).hi)
        if ohms <= 0 or not np.isfinite(ohms):
            return ""
        return (
            f"{show(ohms, 'resistance')} in series holds the current; it sheds up to {show(watts, 'power')}"
        )


class WireLength(Check):
    """There is enough resistance wire."""

    name = "length of the wire"
    quantity = "length"
    wire: RoleName
    length: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.length, parts[self.wire]["length"])


class HotWire(Reader):
    """A length of resistance wire that must give a power."""

    wire: RoleName
    length: float
    watts: float

    def resistance(self, parts: Parts) -> Interval:
        """Of the length in use, hot, ohm."""
        wire = parts[self.wire]
        return wire["resistance"] / wire["length"] * self.length * HOT

    def voltage(self, parts: Parts) -> Interval:
        """That makes the power, V."""
        return self.resistance(parts).map(lambda ohms: heaters.voltage_for_power(self.watts, ohms))

    def current(self, parts: Parts) -> Interval:
        """At that power, A."""
        return monotone(
            lambda resistance: heaters.current_for_power(self.watts, resistance),
            falling={"resistance": self.resistance(parts).maximum(1e-6)},
        )


class HeatVoltage(Check):
    """The rail, or a converter on it, reaches the voltage that makes the power."""

    name = "voltage for the wire"
    quantity = "voltage"
    rail: Rail
    hot: HotWire
    converter: RoleName | None

    def judge(self, parts: Parts) -> Judgement:
        need = self.hot.voltage(parts)
        if self.converter is None:
            return at_least(need, self.rail.low(parts))
        highest = parts[self.converter]["output_voltage.max"]
        have = highest.minimum((self.rail.low(parts) - CONVERTER_DROP).maximum(0.0))
        return at_least(need, have)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        ohms, watts = self.hot.resistance(parts), show(self.hot.watts, "power")
        return (
            f"square root of {watts} times the hot wire's ohms, at most {show(float(ohms.hi), 'resistance')}"
        )


class HeatTurnedDown(Check):
    """A converter can be turned down to the voltage that makes the power."""

    name = "lowest setting for the wire"
    quantity = "voltage"
    hot: HotWire
    converter: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return at_least(parts[self.converter]["output_voltage.min"], self.hot.voltage(parts))


class HeatCurrent(Check):
    """A converter, a transistor or the contact that is held down carries the wire's current.

    Pulsed straight from the rail the current of each pulse is volts over ohms, whatever the mean power.
    """

    name = "current of the wire"
    quantity = "current"
    rail: Rail
    hot: HotWire
    through: RoleName
    rating: str
    pulsed: bool

    def judge(self, parts: Parts) -> Judgement:
        drawn = self.hot.current(parts)
        if self.pulsed:
            drawn = self.rail.high(parts) / self.hot.resistance(parts).maximum(1e-6)
        return at_least(drawn * SWITCH_SPARE, parts[self.through][self.rating])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        if not self.pulsed:
            return ""
        watts = self.rail.high(parts) * self.rail.high(parts) / self.hot.resistance(parts).maximum(1e-6)
        full = show(float(watts.hi), "power")
        return f"a transistor that fails leaves it on at up to {full}: the button that must be held ends that"


class PulseConsumer(Reader):
    """A hot wire on its rail while a pulse lasts."""

    hot: HotWire

    @property
    def about(self) -> str:
        return f"{self.hot.wire} during a pulse"

    def current(self, parts: Parts, volts: Interval) -> Interval:
        return volts / self.hot.resistance(parts).maximum(1e-6)


@finder
def spin_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Speed and torque of motors with a board and of fans that turn something."""
    for node, data in graph.nodes(data=True):
        if "spin_torque" not in data:
            continue
        speed, torque = data["spin_speed"], data["spin_torque"]
        if "fan" not in kinds(graph, node):
            yield RatedSpeed(node, speed, data.get("roller"))
            yield RatedTorque(node, torque, data.get("roller"))
            continue
        yield FanTorque(node, torque)
        if data["lowest"] > 0:
            yield FanSlow(node, data["lowest"])
        rail = rail_of(graph, node)
        if rail is not None:
            yield FanSpeed(rail, node, speed)


@finder
def flow_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Flow of fans against a pressure."""
    for node, data in graph.nodes(data=True):
        rail = rail_of(graph, node) if "flow" in data else None
        if rail is not None:
            yield Flow(rail, node, data["flow"], data["pressure"], data["in_row"], data["beside"])


@finder
def cooling_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Fans on heat sinks."""
    for node, data in graph.nodes(data=True):
        rail = rail_of(graph, node) if data.get("cools") else None
        if rail is not None:
            yield FanCools(rail, node)


@finder
def light_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Power of lights, and what holds the current of a bare string."""
    for node, data in graph.nodes(data=True):
        if "light" not in data:
            continue
        string = "led bar" in kinds(graph, node)
        yield LightPower(node, data["light"], string)
        rail = rail_of(graph, node)
        if string and rail is not None:
            yield StringVoltage(rail, node)


@finder
def switched_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Transistors that switch what is no coil."""
    for switch, load, data in links(graph, "turns on"):
        rail = rail_of(graph, load)
        if rail is not None:
            yield SwitchLoad(rail, switch, load, str(data["rating"]))


@finder
def heat_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Voltage and current of a hot wire, and of all that its current runs through."""
    for feed, wire, data in links(graph, "heats"):
        hot = data["hot"]
        assert isinstance(hot, HotWire)
        yield WireLength(wire, hot.length)
        pulsed = "transistor switch" in kinds(graph, feed)
        rail = rail_of(graph, wire if pulsed else feed)
        if rail is None:
            continue
        yield HeatVoltage(rail, hot, None if pulsed else feed)
        if not pulsed:
            yield HeatTurnedDown(hot, feed)
        yield HeatCurrent(rail, hot, feed, "continuous_current" if pulsed else "current", pulsed)
        button = before(graph, wire, "interrupts")
        if button is not None:
            yield HeatCurrent(rail, hot, button, "contact_current", pulsed)
