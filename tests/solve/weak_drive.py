"""A small stock for a camera slider whose motor is too weak for a heavy load, for tests of what helps."""

from pathlib import Path

from fitter.shed import Shed
from fitter.stock.files import load_stock

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
HEAVY = {"payload": "9 kg", "travel": "500 mm", "acceleration": "0.9 m/s2"}
WEAK = """
lots:
  - {id: mot, kind: stepper motor, wires: 4, step_angle: "1.8 deg, datasheet",
     rated_current: "1 A, datasheet", resistance: "2 ohm, measured", inductance: "3 mH, measured",
     holding_torque: "0.12 N m, datasheet", detent_torque: "0.005 N m, measured",
     rotor_inertia: "20 g cm2, datasheet", shaft_diameter: "5 mm, measured"}
  - {id: drv, kind: stepper driver, supply_voltage: "8..35 V, datasheet", peak_current: "2 A, datasheet",
     microsteps: "16", logic_voltage: "3..5.5 V, datasheet"}
  - {id: ctl, kind: controller board, logic_voltage: "5 V, measured", step_outputs: "2", pwm_outputs: "2",
     inputs: "6", supply_voltage: "7..30 V, datasheet", supply_current: "0.1 A, measured"}
  - {id: psu, kind: adapter, voltage: "24 V, measured", current: "3 A, nameplate", regulated: "yes"}
  - {id: pul, kind: pulley, count: 2, belt_pitch: "2 mm, measured", teeth: "20", bore: "5 mm, measured",
     width: "7 mm, measured"}
  - {id: blt, kind: timing belt, belt_pitch: "2 mm, measured", width: "6 mm, measured",
     length: "3 m, measured", closed: "no", working_force: "60 N, datasheet"}
  - {id: rod, kind: rod, count: 2, diameter: "12 mm, measured", length: "1 m, measured"}
  - {id: lin, kind: linear bearing, count: 4, bore: "12 mm, measured", load: "100 kg, datasheet",
     friction: "0.01, measured"}
  - {id: sw, kind: limit switch, count: 2, contact_current: "1 A, datasheet"}
"""


def stocked(tmp_path: Path, text: str) -> Shed:
    file = tmp_path / "stock.yaml"
    file.write_text(text, encoding="utf-8")
    return Shed(load_stock(file), Shed.open(EXAMPLES / "small_box.yaml").recipes)
