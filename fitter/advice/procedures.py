"""The bench procedures of ``procedures.yaml``: how to find a rating with what a maker has."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from fitter.documents import package_data
from fitter.intervals import Interval
from fitter.kinds import kind_key
from fitter.records import Record
from fitter.units import parse


class Instrument(Record):
    """What readings are taken with: share of a reading that it may be off, and ``size``, an amount in SI."""

    name: str
    share: float
    size: float

    def widened(self, value: float) -> Interval:
        """The reading with the instrument's own tolerance, in the unit of the reading.

        >>> Instrument("ruler", 0.0, 0.5e-3).widened(0.040)
        Interval(lo=0.0395, hi=0.0405)
        """
        error = max(abs(value) * self.share, self.size)
        return Interval(value - error, value + error)


class Reading(Record):
    """A raw figure taken at the bench."""

    name: str
    quantity: str
    instrument: Instrument
    about: str


class Procedure(Record):
    """How to measure; ``yields`` has the ratings found, by kind, and ``cautions`` keys of their texts."""

    code: str
    title: str
    minutes: float
    yields: Mapping[str, tuple[str, ...]]
    tools: tuple[str, ...]
    readings: Mapping[str, Reading]
    steps: tuple[str, ...]
    formula: str
    cautions: tuple[str, ...]
    mind: tuple[str, ...]


@cache
def procedures() -> Mapping[str, Procedure]:
    """All procedures by code, in the order of the file."""
    content = package_data("advice", "procedures.yaml")
    instruments = content["instruments"]
    return {code: _procedure(code, entry, instruments) for code, entry in content["procedures"].items()}


def _procedure(code: str, entry: Mapping[str, Any], instruments: Mapping[str, Any]) -> Procedure:
    return Procedure(
        code=code,
        title=entry["title"],
        minutes=float(entry["minutes"]),
        yields={kind_key(kind): tuple(names) for kind, names in entry["yields"].items()},
        tools=tuple(entry["tools"]),
        readings={name: _reading(name, of, instruments) for name, of in entry["readings"].items()},
        steps=tuple(entry["steps"]),
        formula=entry["formula"],
        cautions=tuple(entry["cautions"]),
        mind=tuple(entry["mind"]),
    )


def _reading(name: str, entry: Mapping[str, str], instruments: Mapping[str, Any]) -> Reading:
    tool = entry["instrument"]
    spread = instruments[tool]
    size = _size(spread["size"], entry["quantity"]) if "size" in spread else 0.0
    return Reading(
        name=name,
        quantity=entry["quantity"],
        instrument=Instrument(tool, spread.get("percent", 0) / 100, size),
        about=entry["about"],
    )


def _size(text: str, quantity: str) -> float:
    """An amount by which a reading may be off; of a temperature it is a difference."""
    return parse(text, "temperature_difference" if quantity == "temperature" else quantity)


def procedure_for(kind: str, rating: str) -> Procedure | None:
    """The procedure that finds a rating of a kind; none where a glance, a print or calipers will do.

    Args:
        kind: As written in a stock.
        rating: Its name; of a rail with or without its place, of a window with or without its end.

    >>> procedure_for("stepper motor", "holding_torque").title
    'Torque with an arm on a scale'
    >>> procedure_for("switch-mode supply", "rails[2].current").code
    'P17'
    """
    name = bare(rating)
    found = [p for p in procedures().values() if name in p.yields.get(kind_key(kind), ())]
    return found[0] if found else None


def bare(rating: str) -> str:
    """A rating's name without the rail it belongs to and without the end of a window.

    >>> bare("rails[1].voltage"), bare("supply_voltage.min")
    ('voltage', 'supply_voltage')
    """
    name = rating.rpartition("].")[2]
    return name.rsplit(".", 1)[0] if name.endswith((".min", ".max", ".low", ".high")) else name
