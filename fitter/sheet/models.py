"""What a bench sheet holds: figures in SI units, with the unit named beside them."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fitter.measuring.models import StepAnswer
from fitter.models import LEFT_OUT, Answer, BuyAnswer, Ends, SetAnswer


class FigureAnswer(Answer):
    """Something to set, to know or to see: lowest and highest value, alike where it is exact."""

    name: str
    value: Ends
    unit: str
    quantity: str
    note: str = ""


class SheetPart(Answer):
    """What fills a role, where it lies and what it looks like."""

    role: str
    about: str
    lot: str | None
    kind: str
    name: str
    bin: str
    count: int
    use: str = Field(description="the way it is used, such as the coil connection; empty where there is one")
    condition: str
    note: str
    photo: str = Field(default="", description="the picture as a data address; empty where there is none")
    photo_problem: str = Field(default="", description="why a picture that the lot names is not shown")
    buy: BuyAnswer | None = None


class WireAnswer(Answer):
    """One connection by wire."""

    source: str
    target: str
    link: Literal["power", "motor", "signal", "coil", "mains side", "output"]
    how: str
    rail: str = Field(description="label of the rail; empty for wires that carry none")
    current: float | None = Field(description="A, the most it carries for hours; null for signals")
    gauge: int = Field(description="AWG, the thinnest that will do")
    area: float = Field(description="m^2, the flexible wire that shops carry for that gauge")
    fuse: float | None = Field(description="A, of the fuse that protects it; null where none is asked for")


class BlockAnswer(Answer):
    """A box of the block diagram: a part, or a load."""

    id: str
    title: str
    lines: list[str]
    group: str
    tag: str = Field(description="BUY where it must be bought, else empty")


class LinkAnswer(Answer):
    """What joins two boxes of the block diagram."""

    source: str
    target: str
    kind: str = Field(description="mains, power, coil, signal, motion or mount")
    label: str


class CurveAnswer(Answer):
    """Likely torque at one supply voltage."""

    voltage: float = Field(description="V")
    torque: list[float] = Field(description="N m, one for each speed")


class TorqueAnswer(Answer):
    """Torque of a motor on its driver over speed, by the formulas of the check of torque."""

    speeds: list[float] = Field(description="rad/s, of the motor's output shaft")
    least: list[float] = Field(description="N m, with all ratings and the rail at their worst")
    most: list[float] = Field(description="N m, with all at their best")
    curves: list[CurveAnswer] = Field(description="likely ratings, at the least and the most rail voltage")
    need_speed: Ends = Field(description="rad/s, what the load asks for")
    need_torque: Ends = Field(description="N m, safety factor included")
    safety: float


class MoveAnswer(Answer):
    """A move over the whole travel, from rest to rest."""

    distance: float = Field(description="m, or rad for a load that turns")
    rotary: bool
    times: list[float] = Field(description="s, of the corners")
    speeds: list[float] = Field(description="m/s or rad/s at the corners")


class DriveAnswer(Answer):
    """One drive: what to set, what its motor gives, and how it moves."""

    name: str
    motor: str
    driver: str
    settings: list[FigureAnswer]
    formulas: list[str]
    torque: TorqueAnswer | None = None
    move: MoveAnswer | None = None


class DrawAnswer(Answer):
    """What one consumer takes from a rail, A."""

    about: str
    typical: float = Field(description="ratings at their likely values")
    peak: float = Field(description="at its hardest, ratings at their worst")


class RailAnswer(Answer):
    """One rail: what it gives, what is drawn, its fuse and its wire."""

    label: str
    role: str
    voltage: Ends = Field(description="V, from the least under load to the most without")
    likely_voltage: float = Field(description="V, likely under load")
    rating: Ends = Field(description="A for hours")
    loading: float = Field(description="share of the rating that may be used")
    draws: list[DrawAnswer]
    typical: float
    peak: float
    fuse: float | None = Field(description="A, slow; null where no usual fuse is large enough")
    gauge: int
    area: float


class RegionAnswer(Answer):
    """Volts and amps that a linear supply may give for hours."""

    voltages: list[float]
    heat: list[float] = Field(description="A, up to which the heat limits hold whatever the ratings")
    heat_at_best: list[float] = Field(description="A, up to which they may hold")
    electrical: list[float] = Field(description="A, from front end, series element and headroom")
    voltage: float = Field(description="V asked for")
    current: float = Field(description="A asked for")


class PowerStep(Answer):
    """One step of powering up for the first time."""

    text: str
    limit: float | None = Field(default=None, description="A, to set on the supply that feeds it")
    expect: str = ""


class BoxAnswer(Answer):
    """A box to write a measured value into, and the command that records it."""

    lot: str
    rating: str
    now: str = Field(description="what is known of it")
    command: str
    decides: bool = Field(description="whether the state of the set hangs on it")


class CautionAnswer(Answer):
    """A caution and where on the sheet it belongs."""

    key: str
    text: str
    place: Literal["supply", "wiring", "running", "parts"]
    roles: list[str] = Field(description="of the parts that call for it; empty where the recipe does")


class SheetAnswer(Answer):
    """All that one page for the bench shows."""

    recipe: str
    title: str
    about: str
    state: str
    number: int = Field(description="which set of the answer to match; 0 for the nearest where none passes")
    why_not: list[str] = Field(default_factory=list, description="why no set passes; empty where one does")
    note: str = Field(default="", description="how far the search can be relied on, where it was cut short")
    demands: list[FigureAnswer]
    parts: list[SheetPart]
    chosen: SetAnswer = Field(description="the set as `match` gives it, with all its checks")
    blocks: list[BlockAnswer]
    links: list[LinkAnswer]
    wires: list[WireAnswer]
    rails: list[RailAnswer]
    drives: list[DriveAnswer]
    region: RegionAnswer | None = None
    first_power: list[PowerStep]
    boxes: list[BoxAnswer]
    measure: list[StepAnswer]
    cautions: list[CautionAnswer]
    set_aside: list[str] = LEFT_OUT
