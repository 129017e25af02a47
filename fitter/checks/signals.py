"""Control: outputs, inputs, signal levels; pushing and switching; and the state of each part."""

from __future__ import annotations

from fitter.checks.base import Check, Judgement, Parts, RoleName, at_least, yes
from fitter.checks.rails import Rail
from fitter.intervals import Interval

# Ledex solenoid data (item REL-06 of the published values)
LONG_ON = "each time on for less than five minutes: longer counts as always on"


class Outputs(Check):
    """A controller has enough outputs or inputs of a sort."""

    quantity = "count"
    controller: RoleName
    rating: str
    wanted: int

    @property
    def name(self) -> str:  # type: ignore[override]
        return self.rating.replace("_", " ") + " of the controller"

    def judge(self, parts: Parts) -> Judgement:
        return at_least(float(self.wanted), parts[self.controller][self.rating])


class SignalHigh(Check):
    """The controller's signal is high enough for what listens to it."""

    name = "signal level, high enough"
    quantity = "voltage"
    controller: RoleName
    listener: RoleName

    def judge(self, parts: Parts) -> Judgement:
        # CMOS inputs take 0.7 of their supply as high; outputs give nearly all of theirs
        return at_least(
            parts[self.listener]["logic_voltage.min"] * 0.7, parts[self.controller]["logic_voltage"]
        )


class SignalLow(Check):
    """The controller's signal is not too high for what listens to it."""

    name = "signal level, not too high"
    quantity = "voltage"
    controller: RoleName
    listener: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return at_least(
            parts[self.controller]["logic_voltage"], parts[self.listener]["logic_voltage.max"] * 1.1
        )


class SensorSupply(Check):
    """A light barrier works from the controller's own voltage."""

    name = "sensor voltage"
    quantity = "voltage"
    controller: RoleName
    sensor: RoleName

    def judge(self, parts: Parts) -> Judgement:
        logic, sensor = parts[self.controller]["logic_voltage"], parts[self.sensor]
        low = at_least(sensor["supply_voltage.min"], logic * 1.05)
        high = at_least(logic, sensor["supply_voltage.max"] * 1.05)
        return Judgement(low.need, low.have, low.margin.minimum(high.margin))


class ServoForce(Check):
    """Force of a servo at the end of its horn."""

    name = "push force"
    quantity = "force"
    servo: RoleName
    force: float
    arm: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.force * 1.5, parts[self.servo]["torque"] * (1 / self.arm))


class CoilForce(Check):
    """Force of a solenoid at its stroke."""

    name = "push force"
    quantity = "force"
    coil: RoleName
    force: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.force * 1.5, parts[self.coil]["force"])


class Stroke(Check):
    """A solenoid moves far enough."""

    name = "stroke"
    quantity = "length"
    coil: RoleName
    stroke: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.stroke, parts[self.coil]["stroke"])


class CoilVoltage(Check):
    """The rail reaches what the coil is made for (pull-in at 75 % as relay sheets give it)."""

    name = "coil voltage"
    quantity = "voltage"
    rail: Rail
    coil: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return at_least(parts[self.coil]["rated_voltage"] * 0.75, self.rail.low(parts))


class CoilHeat(Check):
    """The coil stands the rail for its share of time on: P over continuous P is 1/duty (Ledex data)."""

    name = "coil heat"
    quantity = "voltage"
    rail: Rail
    coil: RoleName
    duty: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.rail.high(parts), self._stands(parts, self.duty))

    def _stands(self, parts: Parts, duty: float) -> Interval:
        """Voltage that the coil stands when it is on for a share of the time."""
        coil = parts[self.coil]
        gain = (coil["duty"] * (1 / duty)).map(lambda d: d**0.5)
        return coil["rated_voltage"] * gain * 1.1

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        stands_always = judgement.need.hi <= self._stands(parts, 1.0).lo
        return "" if stands_always else LONG_ON


class SwitchRating(Check):
    """A transistor blocks the rail and carries the coil."""

    name = "switch current"
    quantity = "current"
    rail: Rail
    switch: RoleName
    coil: RoleName

    def judge(self, parts: Parts) -> Judgement:
        need = self.rail.high(parts) / parts[self.coil]["resistance"]
        current = at_least(need * 1.25, parts[self.switch]["continuous_current"])
        volts = at_least(self.rail.high(parts) * 1.5, parts[self.switch]["max_voltage"])
        return Judgement(current.need, current.have, current.margin.minimum(volts.margin))


class GateVoltage(Check):
    """The controller's signal turns the transistor on fully."""

    name = "gate voltage"
    quantity = "voltage"
    controller: RoleName
    switch: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return at_least(parts[self.switch]["gate_voltage"], parts[self.controller]["logic_voltage"])


class Condition(Check):
    """A part nobody has tried, or one that is worn, is never taken for sure."""

    name = "condition"
    quantity = "flag"
    role: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return yes(parts[self.role]["condition"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "untested or worn: try it before you trust it" if judgement.margin.lo < 1 else ""


class FreeOutputs(Check):
    """Outputs in series must be tied to nothing else, or one of them is shorted."""

    name = "isolation of the outputs in series"
    quantity = "flag"
    role: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return yes(parts[self.role]["free_outputs"])

    def idle(self, parts: Parts) -> bool:
        return bool(parts[self.role]["free_outputs"].lo >= 1)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "a common minus or an earthed one would short an output: ohms to the others and to earth"
