"""A block diagram: parts as boxes, what joins them as wires, each with its label, as SVG text.

The kind of a wire shows in its dashes and in the letter on it, not in its colour alone; colours are those of
M. Okabe and K. Ito, "Color universal design" (2008), which people with any sort of colour vision tell apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from fitter.figures.layers import Laid, Place, Run, lay_out
from fitter.figures.lettering import width_of, wrapped

PAGE = 700.0  # px: an A4 page less its margins, at 96 px an inch
ROOMS = (
    700.0,
    560.0,
    440.0,
)  # px of a row of boxes, the first with which all of it is no wider than the page
TITLE, LINE, LABEL = 12.0, 10.5, 10.0  # font sizes, px
WIDEST, NARROWEST = 160.0, 84.0  # px of a box
LABEL_ROOM = 104.0  # px of a label, before it takes another line
LEADING = 1.25  # from line to line, by the font's size
PAD = 7.0
EDGE = 4.0  # round the whole, px
ARROW = 6.0
SMALLEST = 0.75  # of its size, to which it shrinks on a screen


@dataclass(frozen=True)
class Block:
    """One box: a title, further lines below it, the group it belongs to, and a tag such as BUY."""

    id: str
    title: str
    lines: tuple[str, ...] = ()
    group: str = ""
    tag: str = ""


@dataclass(frozen=True)
class Wire:
    """What joins two blocks: one of :data:`STYLES`, and what is known of it."""

    source: str
    target: str
    kind: str
    label: str = ""


@dataclass(frozen=True)
class Style:
    """How a kind of wire is drawn: letter, name, dashes, width in px, colours by light and dark."""

    letter: str
    name: str
    dashes: str
    width: float
    light: str
    dark: str


STYLES = {
    "mains": Style("A", "alternating current", "9 3 2 3 2 3", 2.0, "#a64d79", "#cc79a7"),
    "power": Style("P", "power", "", 2.4, "#b95000", "#e69f00"),
    "coil": Style("C", "motor coil", "10 4", 2.2, "#0072b2", "#56b4e9"),
    "signal": Style("S", "signal", "2 3", 2.0, "#00795a", "#009e73"),
    "motion": Style("M", "motion", "14 3 3 3", 2.0, "#333333", "#dddddd"),
    "mount": Style("H", "held or guided", "5 5", 1.2, "#666666", "#aaaaaa"),
}


def diagram(blocks: Sequence[Block], wires: Sequence[Wire], *, name: str = "diagram", title: str = "") -> str:
    """The diagram as one ``svg`` element, for a page of its own or within one.

    It shrinks to the room it has, on a screen only as far as it can be read: what holds it should then scroll
    sideways. Text is text, and a description reads out every wire.

    Args:
        blocks: Boxes, ids different.
        wires: Each from one block to another.
        name: Beginning of the ids in the document, one for each diagram of a page.
        title: What the figure shows.

    Raises:
        ValueError: A wire of unknown kind, or one that does not join two of the blocks.
    """
    for wire in wires:
        if wire.kind not in STYLES:
            raise ValueError(f"no kind of wire {wire.kind!r}; there are {', '.join(STYLES)}")
    texts = {block.id: _BoxText(block) for block in blocks}
    labels = [_label_lines(wire) for wire in wires]
    laid = _fitted(texts, wires, labels)
    legend = _Legend([kind for kind in STYLES if any(w.kind == kind for w in wires)], max(laid.width, 320.0))
    width = max(laid.width, legend.width) + 2 * EDGE
    height = laid.height + legend.height + 2 * EDGE
    shift = (width - 2 * EDGE - laid.width) / 2
    return "\n".join(
        [
            '<svg xmlns="http://www.w3.org/2000/svg" class="diagram" role="img"'
            f' viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}"'
            f' style="--least:{width * SMALLEST:.0f}px"'
            f' aria-labelledby="{escape(name)}-title {escape(name)}-desc">',
            f'<title id="{escape(name)}-title">{escape(title or "Block diagram")}</title>',
            f'<desc id="{escape(name)}-desc">{escape(read_out(blocks, wires))}</desc>',
            f"<style>{_css()}</style>",
            f'<g transform="translate({EDGE + shift:.1f} {EDGE:.1f})">',
            *(_wire(wire, laid, i) for i, wire in enumerate(wires)),
            *(_label(wires[i].kind, lines, laid.labels[i]) for i, lines in enumerate(labels)),
            *(text.drawn(laid.boxes[id_]) for id_, text in texts.items()),
            "</g>",
            *legend.drawn(EDGE, laid.height + EDGE),
            "</svg>",
        ]
    )


def _fitted(texts: Mapping[str, _BoxText], wires: Sequence[Wire], labels: Sequence[Sequence[str]]) -> Laid:
    """The lowest drawing that is no wider than a page, else the narrowest."""
    sizes = {id_: text.size for id_, text in texts.items()}
    edges = [(wire.source, wire.target) for wire in wires]
    tried = [lay_out(sizes, edges, [_label_size(lines) for lines in labels], room=room) for room in ROOMS]
    return min(tried, key=lambda laid: (max(laid.width, PAGE), laid.height))


def read_out(blocks: Sequence[Block], wires: Sequence[Wire]) -> str:
    """The diagram in words: its blocks, then every wire from where to where.

    >>> read_out([Block("a", "supply"), Block("b", "driver")], [Wire("a", "b", "power", "24 V")])
    'Blocks: supply; driver. Wires: power from supply to driver, 24 V.'
    """
    named = {b.id: b.title for b in blocks}
    boxes = "; ".join(", ".join(filter(None, (b.title, *b.lines, b.tag))) for b in blocks)
    joined = "; ".join(
        f"{STYLES[w.kind].name} from {named[w.source]} to {named[w.target]}"
        + (f", {w.label}" if w.label else "")
        for w in wires
    )
    return f"Blocks: {boxes}." + (f" Wires: {joined}." if wires else "")


def _css() -> str:
    """Colours as custom properties, for a page to set its own; dark ones on dark screens, never on paper."""
    light = "".join(f"--wire-{kind}:{style.light};" for kind, style in STYLES.items())
    dark = "".join(f"--wire-{kind}:{style.dark};" for kind, style in STYLES.items())
    return (
        ".diagram{max-width:100%;min-width:var(--least);height:auto}@media print{.diagram{min-width:0}}"
        f".diagram{{{light}--box:#f6f6f4;--box-edge:#555;--ink:#111;--faint:#555;"
        "font-family:system-ui,sans-serif;fill:var(--ink)}"
        "@media screen and (prefers-color-scheme:dark){"
        f".diagram{{{dark}--box:#262626;--box-edge:#aaa;--ink:#eee;--faint:#bbb}}}}"
        f".diagram text{{font-size:{LINE}px}}.diagram .title{{font-size:{TITLE}px;font-weight:bold}}"
        f".diagram .label{{font-size:{LABEL}px}}.diagram .letter,.diagram .tag{{font-weight:bold}}"
        ".diagram .faint{fill:var(--faint)}"
        ".diagram .box{fill:var(--box);stroke:var(--box-edge);stroke-width:1.2}"
        ".diagram .buy .box{stroke-dasharray:5 3;stroke-width:1.6}"
        ".diagram .wire{fill:none}"
    )


class _BoxText:
    """The lines of a box, broken to fit, and the room they take."""

    def __init__(self, block: Block) -> None:
        self.block = block
        room = WIDEST - 2 * PAD
        self.lines = [("faint", t) for t in wrapped(block.group, LINE, room, 1) if t]
        self.lines += [("title", t) for t in wrapped(block.title, TITLE, room, 3)]
        self.lines += [("", t) for line in block.lines for t in wrapped(line, LINE, room, 3) if t]
        self.lines += [("tag", t) for t in wrapped(block.tag, LINE, room, 1) if t]

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the box, px."""
        widest = max(width_of(t, _size(c)) for c, t in self.lines)
        height = sum(_size(c) * LEADING for c, _ in self.lines)
        return max(widest + 2 * PAD, NARROWEST), height + 2 * PAD - 2

    def drawn(self, at: Place) -> str:
        """The box with its text."""
        top = at.y - at.height / 2
        kind = "block buy" if self.block.tag else "block"
        parts = [
            f'<g class="{kind}" data-block="{escape(self.block.id)}">'
            f'<rect class="box" x="{at.left:.1f}" y="{top:.1f}"'
            f' width="{at.width:.1f}" height="{at.height:.1f}" rx="4"/>'
        ]
        y = top + PAD - 1
        for style, text in self.lines:
            parts.append(_text(style, at.x, y + _size(style), text))
            y += _size(style) * LEADING
        return "".join(parts) + "</g>"


def _size(style: str) -> float:
    return TITLE if style == "title" else LINE


def _text(style: str, x: float, y: float, text: str) -> str:
    named = f' class="{style}"' if style else ""
    return f'<text{named} x="{x:.1f}" y="{y:.1f}" text-anchor="middle">{escape(text)}</text>'


def _label_lines(wire: Wire) -> list[str]:
    """The letter of the kind, then what is known."""
    return wrapped(f"{STYLES[wire.kind].letter} {wire.label}".strip(), LABEL, LABEL_ROOM, 4)


def _label_size(lines: Sequence[str]) -> tuple[float, float]:
    return max(width_of(t, LABEL) for t in lines) + 4, LABEL * LEADING * len(lines) + 2


def _label(kind: str, lines: Sequence[str], at: Place) -> str:
    y = at.y - at.height / 2 + LABEL
    letter, _, rest = lines[0].partition(" ")
    first = f'<tspan class="letter">{escape(letter)}</tspan>{escape(f" {rest}" if rest else "")}'
    parts = [first, *(escape(line) for line in lines[1:])]
    spans = "".join(
        f'<tspan x="{at.x:.1f}" y="{y + i * LABEL * LEADING:.1f}">{part}</tspan>'
        for i, part in enumerate(parts)
    )
    return f'<text class="label {kind}" text-anchor="middle" style="fill:var(--wire-{kind})">{spans}</text>'


def _wire(wire: Wire, laid: Laid, place: int) -> str:
    """A wire as one path, with an arrow where it ends."""
    style, runs = STYLES[wire.kind], laid.runs[place]
    dashes = f' stroke-dasharray="{style.dashes}"' if style.dashes else ""
    colour = f"var(--wire-{wire.kind})"
    tip = (
        _arrow(runs[0].x, runs[0].top, -1.0)
        if laid.upwards[place]
        else _arrow(runs[-1].x, runs[-1].bottom, 1.0)
    )
    return (
        f'<g class="link" data-wire="{escape(wire.source)} {escape(wire.target)}">'
        f'<path class="wire" d="{"".join(_path(runs))}"'
        f' style="stroke:{colour};stroke-width:{style.width}"{dashes}/>'
        f'<path d="{tip}" style="fill:{colour}"/></g>'
    )


def _path(runs: Sequence[Run]) -> Iterator[str]:
    before = runs[0]
    for run in runs:
        if run.joined:
            middle = (before.bottom + run.top) / 2
            yield f"C{before.x:.1f} {middle:.1f} {run.x:.1f} {middle:.1f} {run.x:.1f} {run.top:.1f}"
        else:
            yield f"M{run.x:.1f} {run.top:.1f}"
        yield f"V{run.bottom:.1f}"
        before = run


def _arrow(x: float, y: float, way: float) -> str:
    back = y - way * ARROW
    return f"M{x:.1f} {y:.1f}L{x - ARROW / 2:.1f} {back:.1f}H{x + ARROW / 2:.1f}Z"


class _Legend:
    """Names of the kinds of wire in use, each with a stretch of it, in as many lines as they take."""

    SAMPLE = 34.0  # px of wire
    STEP = 18.0

    def __init__(self, kinds: Sequence[str], room: float) -> None:
        self.places: list[tuple[str, float, float]] = []
        x, y, self.width = 0.0, self.STEP + 6, 0.0
        for kind in kinds:
            wide = self.SAMPLE + 8 + width_of(self._words(kind), LABEL) + 14
            if x and x + wide > room:
                x, y = 0.0, y + self.STEP
            self.places.append((kind, x, y))
            x += wide
            self.width = max(self.width, x)
        self.height = y + 6 if kinds else 0.0

    @staticmethod
    def _words(kind: str) -> str:
        return f"{STYLES[kind].letter} {STYLES[kind].name}"

    def drawn(self, left: float, top: float) -> Iterator[str]:
        """A sample and a name for each kind."""
        for kind, x, y in self.places:
            style = STYLES[kind]
            dashes = f' stroke-dasharray="{style.dashes}"' if style.dashes else ""
            yield (
                f'<path class="wire" d="M{left + x:.1f} {top + y:.1f}h{self.SAMPLE:.0f}"'
                f' style="stroke:var(--wire-{kind});stroke-width:{style.width}"{dashes}/>'
                f'<text class="label" x="{left + x + self.SAMPLE + 6:.1f}" y="{top + y + LABEL / 3:.1f}">'
                f'<tspan class="letter">{style.letter}</tspan> {escape(style.name)}</text>'
            )
