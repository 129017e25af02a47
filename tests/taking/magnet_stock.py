"""Magnets on one supply unit, a small stock to take from."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

SHED = Path(__file__).parents[2] / "inventory_examples" / "repair_shed"
PARTS = """\
lots:
  - {id: coil, condition: working, kind: electromagnet, count: COILS, rated_voltage: "24 V, datasheet",
     resistance: "16..16 ohm, measured", force: "50 N, datasheet", stroke: "10 mm, measured",
     duty: "1..1, measured"}
  - {id: switch, condition: working, kind: transistor switch, count: 3, max_voltage: "60 V, datasheet",
     continuous_current: "20 A, datasheet", gate_voltage: "3 V, datasheet"}
  - {id: board, condition: working, kind: controller board, count: 3, logic_voltage: "5 V, measured",
     step_outputs: 3, pwm_outputs: 8, inputs: 8, supply_voltage: "5..35 V, datasheet",
     supply_current: "0.05..0.05 A, measured"}
  - {id: unit, condition: working, kind: switch-mode supply, count: UNITS, regulated: yes,
     ripple: "1 mV, measured", total_power: "WATTS..WATTS W, measured", rails: [RAILS]}
"""
RAIL = '{{voltage: "24..24 V, measured", current: "{0}..{0} A, measured", isolated: no}}'
MAGNET = """\
recipe: magnet
functions:
  magnet: {function: switch, power: rail, control: control}
  rail: {function: supply, principles: [one unit]}
  control: {function: control, power: rail}
"""
Run = Callable[..., tuple[int, str, str]]


def magnets(
    folder: Path, *, amps: tuple[float, ...] = (6,), watts: float = 500, units: int = 1, coils: int = 3
) -> Path:
    """A stock and a recipe for magnets, each of which draws 24 V / 16 ohm + 0.05 A = 1.55 A (Ohm's law)."""
    rails = ", ".join(map(RAIL.format, amps))
    text = PARTS.replace("WATTS", str(watts)).replace("RAILS", rails)
    text = text.replace("UNITS", str(units)).replace("COILS", str(coils))
    stock = folder / "stock"
    stock.mkdir(exist_ok=True)
    (stock / "parts.yaml").write_text(text, encoding="utf-8")
    (folder / "recipes").mkdir(exist_ok=True)
    (folder / "recipes" / "magnet.yaml").write_text(MAGNET, encoding="utf-8")
    return stock
