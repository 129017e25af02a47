"""The pictures of the README, drawn from the example stock.

Run it when they are out of date: ``python tests/pictures/draw.py``. A test says when they are.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from fitter.shed import Shed
from fitter.sheet.answers import sheet
from fitter.show.sheet import block_diagram, figures

HERE = Path(__file__).parent
STOCK = HERE.parents[1] / "inventory_examples" / "repair_shed"


def pictures() -> Iterator[tuple[str, str]]:
    """Name of each file and what is in it: parts and wiring, then the plots of a sheet."""
    shed = Shed.open(STOCK)
    slider = sheet(shed, "camera-slider", stock=STOCK)
    yield "slider-parts.svg", block_diagram(slider)
    plots = dict(figures(slider)) | dict(figures(sheet(shed, "lab-supply", stock=STOCK)))
    yield "slider-torque.svg", _on_white(plots["Torque of slide.motor"])
    yield "supply-region.svg", _on_white(plots["Volts and amps for hours"])


def _on_white(plot: str) -> str:
    """A plot by itself: outside a page it keeps its dark ink, whatever it is shown on."""
    return plot.replace(' class="plot"', ' class="plot" style="background:#fff"', 1)


def main() -> None:
    """Write all pictures beside this file."""
    for name, svg in pictures():
        (HERE / name).write_text(f"{svg}\n", encoding="utf-8", newline="")


if __name__ == "__main__":
    main()
