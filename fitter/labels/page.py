"""Labels as a page: sheets of A4 that hold as many labels as label sheets have, each with a code for its id.

The code is a QR code (ISO/IEC 18004) of error level M, which is read with 15 % of it gone, and holds the id
as it is; no module is smaller than 0.4 mm, for phones to read (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from fitter.figures.lettering import wrapped
from fitter.labels.models import LabelAnswer

PX = 96 / 25.4  # CSS pixels a mm
ACROSS, DOWN = 3, 7  # labels of 63.5 x 38.1 mm on A4, as label sheets are sold
WIDTH, HEIGHT = 63.5, 38.1  # mm of a label
PAD = 2.0  # mm round what stands on a label
CODE = 20.0  # mm of a code with its quiet zone
MODULE = 0.4  # mm, the least
BORDER = 4  # modules of quiet zone
LEADING = 1.2
SIZES = {"id": 16.0, "kind": 10.5, "": 9.5, "faint": 9.5, "refused": 9.5}  # px of the font


def page(labels: Sequence[LabelAnswer]) -> str:
    """A whole document that stands alone, light on any screen, for it is meant for paper."""
    starts = range(0, len(labels), ACROSS * DOWN)
    sheets = "\n".join(
        f'<section class="sheet">{"".join(map(_label, labels[i : i + ACROSS * DOWN]))}</section>'
        for i in starts
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>Labels</title>\n<style>\n{_CSS}</style>\n</head>\n<body>\n"
        '<p class="note">Print at full size (100 %), without margins added by the printer.</p>\n'
        f"{sheets}\n</body>\n</html>\n"
    )


def sheets_of(labels: int) -> int:
    """Sheets that so many labels take."""
    return -(-labels // (ACROSS * DOWN))


_CSS = f"""\
@page {{ size: A4; margin: 0 }}
body {{ margin: 0; background: #fff; color: #000; font-family: system-ui, sans-serif; color-scheme: light }}
.note {{ margin: 4mm 7mm; font-size: 14px }}
.sheet {{ display: grid; grid-template-columns: repeat({ACROSS}, {WIDTH}mm); grid-auto-rows: {HEIGHT}mm;
  column-gap: 2.5mm; width: 195.5mm; padding: 15.1mm 7.25mm; break-after: page }}
.sheet:last-child {{ break-after: auto }}
.label {{ box-sizing: border-box; padding: {PAD}mm; display: flex; justify-content: space-between;
  overflow: hidden; outline: 0.2mm dashed #999; outline-offset: -0.1mm }}
.label p {{ margin: 0; line-height: {LEADING}; white-space: nowrap }}
.id {{ font-size: {SIZES["id"]}px; font-weight: bold }}
.kind {{ font-size: {SIZES["kind"]}px; font-weight: bold }}
.plain, .faint, .refused {{ font-size: {SIZES[""]}px }}
.faint {{ color: #444 }}
.refused {{ font-weight: bold }}
.label svg {{ flex: none; align-self: flex-start }}
@media screen {{ body {{ min-width: 210mm }} }}
@media print {{ .note {{ display: none }} .label {{ outline: none }} .sheet {{ height: 266.7mm }} }}
"""


def _label(label: LabelAnswer) -> str:
    side, code = _code(label.id)
    room = (WIDTH - 2 * PAD - side) * PX - 4
    texts = "".join(
        f'<p class="{style or "plain"}">{escape(text)}</p>' for style, text in _fitted(label, room)
    )
    return f'<article class="label"><div>{texts}</div>{code}</article>'


def _code(text: str) -> tuple[float, str]:
    """The code of a text as ``svg``, and its side in mm."""
    import segno

    code = segno.make(text, error="m", micro=False)
    modules = code.symbol_size(border=BORDER)[0]
    side = max(CODE, modules * MODULE)
    drawn = code.svg_inline(border=BORDER, omitsize=True, svgclass="code", lineclass=None)
    size = f'style="width:{side:.1f}mm;height:{side:.1f}mm"'
    return side, drawn.replace("<svg ", f'<svg role="img" aria-label="code of {escape(text)}" {size} ', 1)


def _fitted(label: LabelAnswer, room: float) -> list[tuple[str, str]]:
    """The lines of a label with their styles, from top to bottom; what finds no room is left out whole."""
    tested = [("", label.tested)]
    where = [("faint", f"from {label.donor}" if label.donor else ""), ("faint", label.bin)]
    measured = [("faint", f"measured {label.measured}" if label.measured else "")]
    warning = [("refused", f"DO NOT USE: {label.refused}" if label.refused else "")]
    ratings = [("", text) for text in label.ratings]
    shown = [("id", label.id), ("kind", _kind(label)), *warning, *ratings, *where, *tested, *measured]
    urgent = [("id", label.id), *warning, ("kind", _kind(label)), *tested, *where, *ratings, *measured]
    left = (HEIGHT - 2 * PAD) * PX
    lines: dict[tuple[str, str], list[str]] = {}
    for style, text in urgent:
        broken = [line for line in wrapped(text, SIZES[style], room, 3 if style == "refused" else 2) if line]
        left -= (height := SIZES[style] * LEADING * len(broken))
        lines[style, text] = broken if left >= 0 else []
        left += height if left < 0 else 0.0
    return [(style, line) for style, text in shown for line in lines[style, text]]


def _kind(label: LabelAnswer) -> str:
    return f"{label.count} x {label.kind}" if label.count > 1 else label.kind
