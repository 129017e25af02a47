"""Block diagrams: nothing overlaps, every wire is there, text fits and is read out."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import dataclass
from itertools import combinations, pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fitter.figures.diagram import ROOMS, STYLES, Block, Wire, diagram, read_out
from fitter.figures.layers import Place, Run, in_order, lay_out, without_circles

SVG = "{http://www.w3.org/2000/svg}"
WORDS = st.text("abc mW<&\"'é ", max_size=40)
TOUCH = 1e-6  # px


@st.composite
def graphs(draw: st.DrawFn) -> tuple[list[Block], list[Wire]]:
    """A connected graph of 4 to 25 boxes, with circles and with two wires between the same boxes."""
    n = draw(st.integers(4, 25))
    blocks = [Block(f"n{i}", draw(WORDS), (draw(WORDS),), f"g{i % 3}") for i in range(n)]
    ends = [(draw(st.integers(0, i - 1)), i) for i in range(1, n)]
    pair = st.tuples(st.integers(0, n - 1), st.integers(0, n - 1)).filter(lambda p: p[0] != p[1])
    ends += draw(st.lists(pair, max_size=15))
    kinds, labels = st.sampled_from(list(STYLES)), st.sampled_from(["", "24 V, 3 A fuse, 0.75 mm2", "5 mm"])
    return blocks, [Wire(f"n{a}", f"n{b}", draw(kinds), draw(labels)) for a, b in ends]


@dataclass
class Rectangle:
    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Rectangle) -> bool:
        """Whether they share more than an edge, rounding aside."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across > TOUCH and down > TOUCH


def rectangle(place: Place) -> Rectangle:
    return Rectangle(place.left, place.y - place.height / 2, place.right, place.y + place.height / 2)


def strokes(runs: list[Run]) -> list[Rectangle]:
    """What a wire covers: straight stretches, and at most the box round each bend between two of them."""
    straight = [Rectangle(r.x - 1, r.top, r.x + 1, r.bottom) for r in runs]
    bends = [
        Rectangle(min(a.x, b.x) - 1, a.bottom, max(a.x, b.x) + 1, b.top)
        for a, b in pairwise(runs)
        if b.joined
    ]
    return straight + bends


@settings(max_examples=60, deadline=None)
@given(graphs())
def test_no_boxes_labels_or_wires_overlap(graph: tuple[list[Block], list[Wire]]) -> None:
    blocks, wires = graph
    sizes = {b.id: (60.0 + 9 * i % 100, 30.0 + 17 * i % 50) for i, b in enumerate(blocks)}
    labels = [(12.0 + 5 * len(w.label), 14.0) for w in wires]
    laid = lay_out(sizes, [(w.source, w.target) for w in wires], labels, room=ROOMS[0])
    rectangles = [rectangle(p) for p in (*laid.boxes.values(), *laid.labels)]
    assert not any(a.overlaps(b) for a, b in combinations(rectangles, 2))
    for runs in laid.runs:
        for stroke in strokes(list(runs)):
            assert stroke.top <= stroke.bottom + TOUCH
            assert not any(stroke.overlaps(r) for r in rectangles)
    for place in (*laid.boxes.values(), *laid.labels):
        at = rectangle(place)
        assert at.left >= -TOUCH
        assert at.top >= -TOUCH
        assert at.right <= laid.width + TOUCH
        assert at.bottom <= laid.height + TOUCH


@settings(max_examples=30, deadline=None)
@given(graphs())
@example(([Block("a", "<script>alert(1)</script>"), Block("b", "b")], [Wire("a", "b", "power", "<b>")]))
def test_every_wire_is_drawn_from_box_to_box(graph: tuple[list[Block], list[Wire]]) -> None:
    blocks, wires = graph
    svg = ElementTree.fromstring(diagram(blocks, wires))  # well-formed whatever the text
    boxes = {}
    for group in svg.iter(f"{SVG}g"):
        if "data-block" in group.attrib:
            at = group.find(f"{SVG}rect").attrib  # type: ignore[union-attr]
            x, y, width, height = (float(at[k]) for k in ("x", "y", "width", "height"))
            boxes[group.get("data-block")] = (x, y, x + width, y + height)
    drawn = [g for g in svg.iter(f"{SVG}g") if "data-wire" in g.attrib]
    assert [g.get("data-wire") for g in drawn] == [f"{w.source} {w.target}" for w in wires]
    assert set(boxes) == {b.id for b in blocks}
    for wire, group in zip(wires, drawn, strict=True):
        path = group[0].get("d") or ""
        first = [float(v) for v in re.findall(r"M(\S+) (\S+?)V", path)[0]]
        last = (float(re.findall(r" (\S+) \S+?V\S+?$", path)[0]), float(path.rpartition("V")[2]))
        for (x, y), edge in (((first[0], first[1]), 3), (last, 1)):
            touched = [
                n for n, b in boxes.items() if abs(b[edge] - y) < 0.2 and b[0] - 0.1 <= x <= b[2] + 0.1
            ]
            assert set(touched) & {wire.source, wire.target}
        tip = [float(v) for v in re.findall(r"M(\S+) (\S+?)L", group[1].get("d") or "")[0]]
        left, top, right, bottom = boxes[wire.target]
        assert left - 0.1 <= tip[0] <= right + 0.1
        assert min(abs(tip[1] - top), abs(tip[1] - bottom)) < 0.2, "the arrow ends at the target"


def test_kinds_of_wire_differ_without_colour_and_are_explained() -> None:
    assert len({s.letter for s in STYLES.values()}) == len({s.dashes for s in STYLES.values()}) == len(STYLES)
    blocks = [Block(str(i), f"box {i}") for i in range(7)]
    wires = [Wire(str(i), str(i + 1), kind, "5 mm") for i, kind in enumerate(STYLES)]
    svg = ElementTree.fromstring(diagram(blocks, wires))
    text = " ".join("".join(t.itertext()) for t in svg.iter(f"{SVG}text"))
    for style in STYLES.values():
        assert f"{style.letter} {style.name}" in text
        assert f"{style.letter} 5 mm" in text


def test_description_reads_out_every_wire() -> None:
    blocks = [Block("psu", "old brick", ("shelf 1",)), Block("drv", "carrier", (), "slide", "BUY")]
    wires = [Wire("psu", "drv", "power", "19 V")]
    said = read_out(blocks, wires)
    assert said == "Blocks: old brick, shelf 1; carrier, BUY. Wires: power from old brick to carrier, 19 V."
    svg = ElementTree.fromstring(diagram(blocks, wires, name="d", title="Wiring"))
    assert svg.get("aria-labelledby") == "d-title d-desc"
    assert {e.get("id"): e.text for e in svg if e.get("id")} == {"d-title": "Wiring", "d-desc": said}


@pytest.mark.parametrize(
    ("wires", "problem"),
    [
        ([Wire("a", "b", "string")], "no kind of wire 'string'"),
        ([Wire("a", "a", "power")], "from 'a' to 'a'"),
        ([Wire("a", "c", "power")], "to 'c'"),
    ],
)
def test_wires_that_join_nothing_are_refused(wires: list[Wire], problem: str) -> None:
    with pytest.raises(ValueError, match=problem):
        diagram([Block("a", "a"), Block("b", "b")], wires)


def test_a_diagram_may_be_empty_or_have_a_single_box() -> None:
    assert "<svg" in diagram([], [])
    assert "only" in diagram([Block("a", "only")], [])


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), max_size=30))
def test_edges_are_turned_round_only_to_open_circles(edges: list[tuple[int, int]]) -> None:
    import networkx as nx

    named = [(str(a), str(b)) for a, b in edges if a != b]
    nodes = [str(i) for i in range(10)]
    down = without_circles(nodes, named)
    assert nx.is_directed_acyclic_graph(nx.DiGraph(down))
    assert [set(e) for e in down] == [set(e) for e in named]
    if nx.is_directed_acyclic_graph(nx.DiGraph(named)):
        assert down == named


@settings(deadline=None)
@given(st.lists(st.tuples(st.floats(-50, 50), st.floats(0.5, 5), st.floats(0, 9)), min_size=1, max_size=6))
def test_places_along_a_row_are_the_best_there_are(asked: list[tuple[float, float, float]]) -> None:
    """Held against a general optimiser (SciPy, SLSQP)."""
    from scipy.optimize import minimize

    wanted, weights, apart = (list(column) for column in zip(*asked, strict=True))
    ends = (-30.0, 30.0)

    def cost(x: object) -> float:
        return sum(w * (a - b) ** 2 for w, a, b in zip(weights, x, wanted, strict=True))  # type: ignore[call-overload]

    rules = [{"type": "ineq", "fun": lambda x, i=i: x[i] - x[i - 1] - apart[i]} for i in range(1, len(asked))]
    start = [ends[0] + sum(apart[1 : i + 1]) for i in range(len(asked))]
    found = minimize(cost, start, bounds=[ends] * len(asked), constraints=rules, method="SLSQP")
    ours = in_order(wanted, weights, apart, ends)
    assert cost(ours) <= cost(found.x) + 1e-4 * (1 + abs(found.fun))
    assert all(b - a >= d - 1e-9 for a, b, d in zip(ours, ours[1:], apart[1:], strict=False))
    assert all(ends[0] - 1e-9 <= x <= ends[1] + 1e-9 for x in ours)
