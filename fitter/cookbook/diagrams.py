"""A sketch drawn as chains in plain text: which role hangs on which, and by what link."""

from __future__ import annotations

from itertools import pairwise

import networkx as nx

from fitter.functions import Sketch


def chains(sketch: Sketch) -> list[str]:
    """Every link of a sketch once, as chains that are as long as they can be.

    What belongs to another function stands under that function's name.
    """
    graph = _drawn(sketch)
    lines = []
    while graph.number_of_edges():
        start = next((n for n in graph if graph.out_degree(n) and not graph.in_degree(n)), None)
        path = _path(graph, start if start is not None else next(n for n in graph if graph.out_degree(n)))
        lines.append(_line(graph, path, sketch.name))
        graph.remove_edges_from(list(pairwise(path)))
    alone = [name for name in sketch.roles if name not in graph]
    return lines + [_word(name, sketch.name) for name in alone]


def _drawn(sketch: Sketch) -> nx.DiGraph[str]:
    """The links as edges from what drives to what is driven, those from other functions first."""
    edges = []
    for link in sketch.links:
        source, target = (end if isinstance(end, str) else end[0] for end in (link.source, link.target))
        ends = (target, source) if ("turns", True) in link.data else (source, target)
        edges.append((*ends, link.kind))
    graph: nx.DiGraph[str] = nx.DiGraph()
    for source, target, kind in sorted(edges, key=lambda e: "." in e[0]):
        graph.add_edge(source, target, link=kind)
    return graph


def _path(graph: nx.DiGraph[str], start: str) -> list[str]:
    """The longest way on from a node."""
    paths: list[list[str]] = [[start]]
    longest = paths[0]
    while paths:
        path = paths.pop()
        on = [n for n in graph.successors(path[-1]) if n not in path]
        paths += [[*path, n] for n in on]
        if len(path) > len(longest):
            longest = path
    return longest


def _line(graph: nx.DiGraph[str], path: list[str], function: str) -> str:
    steps = (f" -{graph.edges[a, b]['link']}-> {_word(b, function)}" for a, b in pairwise(path))
    return _word(path[0], function) + "".join(steps)


def _word(node: str, function: str) -> str:
    """A role by its last name; another function in brackets."""
    return node.removeprefix(f"{function}.") if node.startswith(f"{function}.") else f"[{node}]"
