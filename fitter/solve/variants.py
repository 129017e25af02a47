"""Variants of a project, opened lazily, best first; builds in order of score over all of them.

A variant takes one principle for each function. Functions are first bounded by themselves, two of a
sort together (their own roles and the checks among them; joining functions only adds checks and
needs, so the sum is a lower bound of the variant). Variants are taken in order of that sum, and one
is searched only as far as no other could give a better build.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from fitter.functions import Principle, Sketch, join
from fitter.recipes import BoundFunction, Project
from fitter.solve.candidates import Candidate
from fitter.solve.limits import Limit
from fitter.solve.model import Model
from fitter.solve.opened import Known, Look, Opened, Solution, bound_of
from fitter.solve.ranked import FORBIDDEN
from fitter.solve.tables import Tables

FEW_CHOICES = 4  # choices of principles that a block of several functions may have


@dataclass(frozen=True, eq=False)
class Found:
    """A build as the search found it: its score and the candidate in each role."""

    score: float
    model: Model
    principles: Mapping[str, Principle]
    parts: Mapping[str, Candidate]


def sketch(project: Project, name: str, principle: Principle) -> Sketch:
    """Roles and links of one function in one principle."""
    bound = next(f for f in project.functions if f.name == name)
    return principle.sketch(name, bound.arguments)


@dataclass(frozen=True, order=True)
class _Choice:
    """Principles of one block of functions, with the least that they cost each by itself."""

    bound: float
    places: tuple[int, ...]
    principles: Mapping[str, Principle] = field(compare=False)


class Variants:
    """All variants of a project, each opened when first needed."""

    def __init__(self, project: Project, tables: Tables) -> None:
        self.project = project
        self.tables = tables
        self.sketches = {
            (f.name, p.name): sketch(project, f.name, p) for f in project.functions for p in f.principles
        }
        self._bounds: dict[tuple[tuple[str, str], ...], float] = {}
        self.blocks = [sorted(self._choices(block)) for block in _blocks(project.functions)]

    def _choices(self, block: Sequence[BoundFunction]) -> Iterator[_Choice]:
        for ways in itertools.product(*(list(enumerate(f.principles)) for f in block)):
            chosen = {f.name: p for f, (_, p) in zip(block, ways, strict=True)}
            bound = sum(self._bound({name: p}) for name, p in chosen.items())
            yield _Choice(bound, tuple(i for i, _ in ways), chosen)

    def _bound(self, chosen: Mapping[str, Principle]) -> float:
        """Least cost of some functions by themselves; forbidden where they lack a role to be filled."""
        key = tuple((name, p.name) for name, p in chosen.items())
        if key not in self._bounds:
            roles = {role for name, p in chosen.items() for role in self.sketches[name, p.name].roles}
            wanted = {role for role in self.tables.filters.fixed if role.partition(".")[0] in chosen}
            self._bounds[key] = bound_of(self._model(chosen)) if wanted <= roles else FORBIDDEN
        return self._bounds[key]

    def _model(self, chosen: Mapping[str, Principle]) -> Model:
        return Model(join({n: self.sketches[n, p.name] for n, p in chosen.items()}), self.tables)

    def in_order(self) -> Iterator[tuple[float, tuple[int, ...]]]:
        """Bound and choice of every variant, cheapest bound first.

        A choice is first ranked by the bounds of its functions alone, and by those of its blocks once
        it comes to the top.
        """
        start = (0,) * len(self.blocks)
        heap = [(self._sum(start), False, start)]
        seen = {start}
        while heap:
            bound, by_blocks, choice = heapq.heappop(heap)
            if bound == FORBIDDEN:
                return
            if by_blocks:
                yield bound, choice
                continue
            together = sum(self._bound(b[i].principles) for b, i in zip(self.blocks, choice, strict=True))
            heapq.heappush(heap, (max(bound, together), True, choice))
            for i in range(len(choice)):
                further = (*choice[:i], choice[i] + 1, *choice[i + 1 :])
                if further[i] < len(self.blocks[i]) and further not in seen:
                    seen.add(further)
                    heapq.heappush(heap, (self._sum(further), False, further))

    def in_any_order(self, chosen: tuple[int, ...] = ()) -> Iterator[tuple[int, ...]]:
        """Every variant that begins with some choices and none of whose blocks is ruled out by itself."""
        if len(chosen) == len(self.blocks):
            yield chosen
            return
        for i, choice in enumerate(self.blocks[len(chosen)]):
            if self._bound(choice.principles) < FORBIDDEN:
                yield from self.in_any_order((*chosen, i))

    def _sum(self, choice: tuple[int, ...]) -> float:
        return sum(block[i].bound for block, i in zip(self.blocks, choice, strict=True))

    def principles(self, choice: tuple[int, ...]) -> dict[str, Principle]:
        """The principle of each function in a variant."""
        chosen: dict[str, Principle] = {}
        for block, i in zip(self.blocks, choice, strict=True):
            chosen |= block[i].principles
        return {f.name: chosen[f.name] for f in self.project.functions}

    def open(self, choice: tuple[int, ...]) -> Model:
        """The whole variant."""
        return self._model(self.principles(choice))


def _blocks(functions: Sequence[BoundFunction]) -> list[list[BoundFunction]]:
    """Functions that are bounded together.

    Two of a sort vie for the same parts. The others are put together as long as that makes few
    choices: what leaves little choice mostly hangs together, such as board, sensors and supplies.
    """
    pairs: list[list[BoundFunction]] = []
    for each in functions:
        partner = next((b for b in pairs if len(b) == 1 and b[0].principles == each.principles), None)
        if partner and len(each.principles) > 1:
            partner.append(each)
        else:
            pairs.append([each])
    blocks = [b for b in pairs if len(b) > 1]
    rest: list[BoundFunction] = []
    for (each,) in sorted((b for b in pairs if len(b) == 1), key=lambda b: len(b[0].principles)):
        if math.prod(len(f.principles) for f in (*rest, each)) <= FEW_CHOICES:
            rest.append(each)
        else:
            blocks.append([each])
    return [*blocks, rest] if rest else blocks


def ranked_builds(project: Project, tables: Tables, limit: Limit | None = None) -> Iterator[Found]:
    """Builds of all variants, best score first, none twice.

    Equal scores come by variant (cheapest bound first, then in the order of the recipe's
    principles), then by part id. When ``limit`` is reached the iteration ends and ``limit.reached``
    is set.
    """
    limit = limit or Limit()
    variants = Variants(project, tables)
    known = Known()
    coming = variants.in_order()
    heap: list[Opened] = []
    waiting = next(coming, None)
    while heap or waiting:
        while waiting and (not heap or waiting[0] <= heap[0].bound):
            heapq.heappush(heap, Opened(*waiting))
            waiting = next(coming, None)
        top = heapq.heappop(heap)
        allowed = limit.left()
        if allowed == 0:
            return
        before = top.nodes
        limit.variants += not top.begun
        found = top.advance(variants, known, _up_to(top, heap, waiting), allowed)
        limit.used += top.nodes - before
        if found is not None:
            limit.note(found[0])
            yield found_in(found, top.model, variants.principles(top.choice))
        if top.bound < FORBIDDEN:
            heapq.heappush(heap, top)


def any_build(project: Project, tables: Tables, limit: Limit) -> Found | None:
    """Some build, the first that is found; best with unpriced tables.

    None where there is none, or where ``limit`` was reached, which it then says.
    """
    variants = Variants(project, tables)
    for choice in variants.in_any_order():
        state = Opened(0.0, choice)
        while state.bound < FORBIDDEN:
            allowed = limit.left()
            if allowed == 0:
                return None
            before = state.nodes
            found = state.advance(variants, Known(), FORBIDDEN, allowed)
            limit.used += state.nodes - before
            if found is not None:
                return found_in(found, state.model, variants.principles(choice))
    return None


def good_build(project: Project, tables: Tables, variants: int = 8) -> Found | None:
    """A build found without search, for when a search takes too long: the best of a few dives.

    The most promising variants are taken; nothing says that there is no better build.
    """
    of = Variants(project, tables)
    best: Found | None = None
    for _, choice in itertools.islice(of.in_order(), variants):
        found = Look(of.open(choice)).soon_found()
        if found is not None and (best is None or found[1][0] < best.score):
            best = found_in(found[1], found[0], of.principles(choice))
    return best


def _up_to(top: Opened, heap: list[Opened], waiting: tuple[float, tuple[int, ...]] | None) -> float:
    """The score to which this variant may be searched before another could do better or tie first."""
    rivals = itertools.chain(((o.bound, o.choice) for o in heap[:1]), [waiting] if waiting else [])
    limits = [bound if top.choice < choice else bound - 1 for bound, choice in rivals]
    return min(limits, default=FORBIDDEN)


def found_in(solution: Solution, model: Model, principles: Mapping[str, Principle]) -> Found:
    """A solution of a model's search as a build."""
    score, assignment = solution
    parts = {role: model.candidate(role, assignment[role]) for role in model.roles}
    return Found(score, model, principles, parts)
