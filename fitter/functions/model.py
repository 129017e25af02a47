"""Functions, their principles, and the sketch into which a principle puts roles and links.

A *function* is something a project must do (move along a line, supply power). A *principle* is one
way to do it. To add a principle, write one function decorated with :func:`principle`; it receives a
:class:`Sketch` and adds roles (places to fill with a part) and links between them. Checks are found
afterwards by walking the links; a principle lists none.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import Any

import networkx as nx

from fitter.checks.motion import Load, StageType
from fitter.records import Record


class Argument(Record):
    """One figure a function takes: a quantity of :mod:`fitter.units`, or the name of another function."""

    quantity: str
    default: str | None = None
    help: str = ""


class Role(Record):
    """A place to fill with a part of one of these kinds; ``count`` pieces of one lot."""

    name: str
    kinds: tuple[str, ...]
    count: int = 1
    about: str = ""


Arguments = Mapping[str, float | str | None]
Builder = Callable[["Sketch", Arguments], None]


NOISE = ("silent", "quiet", "audible", "loud")  # across a room: nothing, a hum, a whine or rattle, a din


class Principle(Record):
    """One way to realise a function; ``noise`` is one of :data:`NOISE` (common practice, no source).

    ``needs`` names references to other functions without which this way makes no sense.
    """

    function: str
    name: str
    about: str
    build: Builder
    noise: str = ""
    needs: tuple[str, ...] = ()

    def lacks(self, given: Collection[str]) -> tuple[str, ...]:
        """Arguments that this way needs and that are not among the given."""
        return tuple(n for n in self.needs if n not in given)

    def sketch(self, name: str, arguments: Arguments) -> Sketch:
        """Roles and links of a function of this name, done this way."""
        made = Sketch(name)
        self.build(made, arguments)
        return made


class Function:
    """What a recipe may ask for, with its arguments and the ways to do it."""

    def __init__(self, name: str, about: str, arguments: dict[str, Argument]) -> None:
        self.name = name
        self.about = about
        self.arguments = arguments
        self.principles: dict[str, Principle] = {}


FUNCTIONS: dict[str, Function] = {}
REFERENCE = "function"  # quantity of an argument that names another function of the recipe


def function(name: str, about: str, **arguments: Argument) -> Function:
    """Register a function."""
    FUNCTIONS[name] = Function(name, about, arguments)
    return FUNCTIONS[name]


def principle(
    of: str, name: str, about: str, noise: str = "", needs: tuple[str, ...] = ()
) -> Callable[[Builder], Builder]:
    """Register a principle of a function."""

    def add(build: Builder) -> Builder:
        FUNCTIONS[of].principles[name] = Principle(of, name, about, build, noise, needs)
        return build

    return add


class Link(Record):
    """An edge of the component graph; an end may be the terminal of another function."""

    kind: str
    source: str | tuple[str, str]
    target: str | tuple[str, str]
    data: tuple[tuple[str, object], ...] = ()


class Sketch:
    """Roles and links of one function in one principle, before functions are joined."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.roles: dict[str, dict[str, Any]] = {}
        self.loads: dict[str, Load] = {}
        self.links: list[Link] = []
        self.terminals: dict[str, str] = {}

    def role(
        self,
        part: str,
        *kinds: str,
        count: int = 1,
        about: str = "",
        stage: StageType | None = None,
        **data: object,
    ) -> str:
        """Add a place to fill; the role's name is the function's and this one's, joined by a dot."""
        name = f"{self.name}.{part}"
        self.roles[name] = {"role": Role(name, kinds, count, about or part), "stage": stage, **data}
        return name

    def load(self, load: Load) -> str:
        """Add what is moved."""
        self.loads[load.name] = load
        return load.name

    def link(
        self, kind: str, source: str | tuple[str, str], target: str | tuple[str, str], **data: object
    ) -> None:
        """Join two nodes; an end ``(function, terminal)`` is looked up when functions are joined."""
        self.links.append(Link(kind, source, target, tuple(data.items())))

    def terminal(self, name: str, node: str) -> None:
        """Offer a node under a name that other functions can link to."""
        self.terminals[name] = node


def join(sketches: Mapping[str, Sketch]) -> nx.DiGraph[str]:
    """The component graph of several sketches: roles and loads as nodes, links as edges.

    Links to a function that is not among the sketches are left out, so that a part of a project
    can be judged alone.
    """
    graph: nx.DiGraph[str] = nx.DiGraph()
    for sketch in sketches.values():
        for name, data in sketch.roles.items():
            graph.add_node(name, function=sketch.name, **data)
        for name, load in sketch.loads.items():
            graph.add_node(name, function=sketch.name, load=load)
    for sketch in sketches.values():
        for link in sketch.links:
            source, target = _end(link.source, sketches), _end(link.target, sketches)
            if source is not None and target is not None:
                graph.add_edge(source, target, link=link.kind, **dict(link.data))
    return graph


def _end(end: str | tuple[str, str], sketches: Mapping[str, Sketch]) -> str | None:
    if isinstance(end, str):
        return end
    function_name, terminal = end
    sketch = sketches.get(function_name)
    return sketch.terminals.get(terminal) if sketch else None
