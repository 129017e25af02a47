"""The component graph of a build as the boxes and wires of its block diagram, with what is known of each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fitter.checks.find import rail_at
from fitter.checks.motion import Load
from fitter.figures.diagram import Block, Wire
from fitter.functions import Role
from fitter.solve.builds import Build
from fitter.solve.candidates import Candidate, Single
from fitter.units import show, show_span

Link = tuple[str, str]  # the nodes at its ends
# how each link of a component graph is drawn
DRAWN = {
    "ac": "mains",
    "turned": "mains",
    "dc": "power",
    "power": "power",
    "regulate": "power",
    "charges": "power",
    "fused by": "power",
    "turns on": "power",
    "heats": "power",
    "interrupts": "power",
    "winding": "coil",
    "switches": "power",
    "signal": "signal",
    "reads": "signal",
    "shows": "signal",
    "shaft": "motion",
    "belt": "motion",
    "loop": "motion",
    "mesh": "motion",
    "thread": "motion",
    "pull": "motion",
    "turn": "motion",
    "carries": "mount",
    "rod": "mount",
    "mount": "mount",
    "sinks": "mount",
}
# the rating that says which size a link has, by end: 0 is the source
_SIZES = {
    "belt": (1, "belt_pitch", "pitch"),
    "mesh": (0, "module", "module"),
    "thread": (0, "lead", "lead"),
    "rod": (1, "diameter", "rod"),
    "signal": (0, "logic_voltage", "logic"),
}


def blocks_of(build: Build, notes: Mapping[Link, str] | None = None) -> tuple[list[Block], list[Wire]]:
    """Boxes for parts and loads, and wires for links.

    Args:
        build: A judged build.
        notes: What more is known of a wire, such as its gauge and fuse, by the nodes that it joins.
    """
    graph = build.model.graph
    blocks = [
        _load_block(node, data["load"])
        if "load" in data
        else _part_block(build.roles[node], build.parts[node])
        for node, data in graph.nodes(data=True)
    ]
    return blocks, list(_wires(build, notes or {}))


def _load_block(name: str, load: Load) -> Block:
    moved = show(load.mass, "inertia" if load.rotary else "mass")
    return Block(name, "what turns" if load.rotary else "what moves", (moved,), name)


def _part_block(role: Role, part: Candidate) -> Block:
    count = role.count * part.offer.pieces
    several = f"{count} x " if count > 1 else ""
    name = part.lot.name or part.lot.kind
    if part.bought:
        return Block(role.name, f"{several}{part.lot.kind}", (name,), role.name, "BUY")
    lines = (name.partition(",")[0], part.lot.bin)
    return Block(role.name, f"{several}{part.lot.id}", tuple(filter(None, lines)), role.name)


def _wires(build: Build, notes: Mapping[Link, str]) -> Iterator[Wire]:
    for source, target, data in build.model.graph.edges(data=True):
        said = (_known(build, source, target, data), notes.get((source, target), ""))
        yield Wire(source, target, DRAWN[data["link"]], ", ".join(filter(None, said)))


def _known(build: Build, source: str, target: str, data: Mapping[str, object]) -> str:
    """What ratings say of a link: volts, coil connection, sizes."""
    link = str(data["link"])
    if link in ("power", "regulate"):
        return _volts(build, source)
    if link == "winding":
        return build.parts[target].offer.label
    if link == "shaft":
        sizes = _size(build, source, str(data["shaft"])), _size(build, target, str(data["bore"]))
        return _joined("shaft", "bore", *sizes)
    if link in _SIZES:
        end, rating, word = _SIZES[link]
        size = _size(build, (source, target)[end], rating)
        return f"{size} {word}" if size else ""
    return ""


def _volts(build: Build, source: str) -> str:
    """A rail's name where it has one, else what it gives between full load and none."""
    part = build.parts[source]
    if part.offer.label:
        return part.offer.label
    rail = rail_at(build.model.graph, source)
    parts = {role: Single(build.parts[role]) for role in rail.roles}
    return show_span(float(rail.low(parts).lo), float(rail.high(parts).hi), "voltage")


def _joined(shaft: str, bore: str, one: str, other: str) -> str:
    """Both sizes of a fit, once where they are alike."""
    if one == other:
        return f"{shaft} {one}" if one else ""
    return ", ".join(f"{word} {size}" for word, size in ((shaft, one), (bore, other)) if size)


def _size(build: Build, role: str, rating: str) -> str:
    """The likely value of a rating, as it is written on a drawing; empty where nobody knows it."""
    part = build.parts.get(role)
    if part is None or rating not in part.offer.ratings or not part.rating(rating).known:
        return ""
    spec = part.lot.kind_of_part.spec(rating)
    return show(part.rating(rating).likely, spec.quantity) if spec else ""
