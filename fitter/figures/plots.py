"""Plots as SVG text that takes the colours of its page, light or dark, and says in words what it shows.

matplotlib draws; afterwards every colour is replaced by a custom property of CSS, so that one figure serves
light and dark pages and print. The properties have fall-backs, so a figure stands alone as well. Text stays
text.
"""

from __future__ import annotations

import html
import io
import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# Colours that readers with any common colour blindness tell apart: M. Okabe and K. Ito, "Color Universal
# Design" (2008). The name is that of the custom property.
INK, SOFT, GRID = "#1a1a1b", "#5c5c5d", "#d5d5d6"
BLUE, ORANGE, GREEN, RED, SKY = "#0072b2", "#e69f00", "#009e73", "#d55e00", "#56b4e9"
_PROPERTIES = {
    INK: "ink",
    SOFT: "soft",
    GRID: "line",
    BLUE: "blue",
    ORANGE: "orange",
    GREEN: "green",
    RED: "red",
    SKY: "sky",
}
_SETTINGS: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "fitter",
    "text.parse_math": False,
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 10.0,
    "text.color": INK,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": GRID,
    "grid.linewidth": 0.6,
    "xtick.color": SOFT,
    "ytick.color": SOFT,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "xtick.major.pad": 6.0,
    "ytick.major.pad": 5.0,
    "hatch.linewidth": 0.8,
    "legend.frameon": False,
    "legend.fontsize": 9.0,
    "path.simplify": False,
}
_FONT = re.compile(r"font(-family)?: ([^;\"]*?)'DejaVu Sans'[^;\"]*")


def plot(
    name: str, title: str, about: str, draw: Callable[[Axes], None], size: tuple[float, float] = (5.4, 3.1)
) -> str:
    """One pair of axes as an SVG element.

    Args:
        name: Told apart from all other figures of the page; letters, digits and dashes.
        title: What it is, in a few words.
        about: What it shows, in words, for readers who do not see it.
        draw: Puts lines and words on the axes.
        size: Inches, wide and high.
    """
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    with mpl.rc_context(_SETTINGS):
        figure = Figure(figsize=size, layout="constrained")
        figure.patch.set_visible(False)
        axes = figure.add_subplot()
        axes.patch.set_visible(False)
        draw(axes)
        out = io.StringIO()
        canvas: Any = FigureCanvasSVG(figure)
        canvas.print_svg(out, metadata={"Date": None})
    return _element(out.getvalue(), name, title, about)


def _element(drawn: str, name: str, title: str, about: str) -> str:
    """The SVG element of a drawn file, with its names, colours and words made fit for a page."""
    body = drawn[drawn.index("<svg") : drawn.rindex("</svg>")]
    head, _, inner = body.partition(">")
    view = re.search(r'viewBox="[^"]*"', head)
    inner = re.sub(r"<metadata>.*?</metadata>|<style.*?</style>|<!--.*?-->", "", inner, flags=re.DOTALL)
    inner = re.sub(r'\bid="', f'id="{name}-', inner)
    inner = inner.replace("url(#", f"url(#{name}-")
    inner = re.sub(r'xlink:href="#', f'href="#{name}-', inner)
    inner = re.sub(
        "|".join(_PROPERTIES),
        lambda m: f"var(--{_PROPERTIES[m[0].lower()]}, {m[0]})",
        inner,
        flags=re.IGNORECASE,
    )
    inner = _FONT.sub(lambda m: f"font{m[1] or ''}: {m[2]}sans-serif", inner)
    labels = f'role="img" aria-labelledby="{name}-title {name}-desc"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {view[0] if view else ""} {labels} class="plot">'
        f'<title id="{name}-title">{html.escape(title)}</title>'
        f'<desc id="{name}-desc">{html.escape(about)}</desc>{inner}</svg>'
    )


def legend(axes: Axes, columns: int = 2) -> None:
    """The key above the axes, where it covers nothing."""
    axes.legend(
        loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=columns, handlelength=2.4, borderaxespad=0.2
    )
