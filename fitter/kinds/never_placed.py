"""Kinds that are known so that they can be refused: never placed in a build, whatever they could do."""

from __future__ import annotations

from fitter.kinds.model import Kind, register

_REFUSED = {
    "laser unit": ("invisible laser light: never power it; keep lenses, mirrors and housing only", "laser"),
    "laser diode": ("invisible laser light: never power it", "laser"),
    "lamp inverter": ("makes more than a thousand volts: never placed", "high voltage"),
    "mercury lamp": ("holds mercury: take it whole to a collection point", "mercury"),
    "flyback transformer": ("makes many thousand volts: never placed", "high voltage"),
    "microwave transformer": ("lethal voltage and current: never placed", "high voltage"),
    "microwave capacitor": ("lethal charge: never placed", "high voltage"),
    "magnetron": ("lethal supply and toxic ceramic: never placed", "high voltage"),
    "universal motor": ("bare mains motor that races without load: never placed", "mains"),
    "shaded-pole motor": ("bare mains motor: never placed", "mains"),
    "lithium cell": ("unknown lithium cells are never placed", "battery"),
    "fuser heater": ("mains heater: never placed, and never unattended", "mains"),
    "photoconductor drum": ("may hold selenium or arsenic: never cut, sand or heat it", "toner"),
}

for _name, (_why, _caution) in _REFUSED.items():
    register(Kind(_name, {}, about="Known so that it can be refused.", refused=_why, cautions=(_caution,)))
