"""Sets with a reduction between a motor and what it turns: the project searched with one more stage."""

from __future__ import annotations

import itertools
import time
from collections.abc import Iterator
from dataclasses import replace

from fitter.advice.reductions import reductions
from fitter.functions.geared import geared, turns_something
from fitter.projects import Project
from fitter.shed import Shed
from fitter.solve.builds import judge
from fitter.solve.limits import Limit
from fitter.solve.reductions import Geared, geared_set
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import ranked_builds

NODES = 2_000  # that one search may open
SETS = 3  # looked at: the best may go without the reduction


def geared_projects(project: Project) -> Iterator[Project]:
    """The project with one more stage in each function that has a motor, one function at a time."""
    for function in project.functions:
        ways = tuple(geared(p) for p in function.principles if turns_something(p, function.arguments))
        if ways:
            changed = replace(function, principles=ways)
            yield replace(
                project, functions=tuple(changed if f is function else f for f in project.functions)
            )


def with_reductions(shed: Shed) -> Tables:
    """Tables of the stock and the shop, with the reductions that can be made of a shop's wheels."""
    return Tables(shed.pool.with_sold(reductions()), shed.waste)


def geared_sets(
    shed: Shed, project: Project, tables: Tables, filters: Filters, end: float
) -> Iterator[Geared]:
    """For each function with a motor the best set with a reduction that does not go without it.

    Args:
        shed: The stock, to make the reduction of.
        project: As asked for, without reductions.
        tables: Those of :func:`with_reductions`.
        filters: What else is asked of the sets.
        end: Processor time at which to stop.
    """
    filtered = tables.filtered(filters)
    for changed in geared_projects(project):
        left = end - time.process_time()
        if left <= 0 or shed.watcher.stop:
            return
        limit = Limit(NODES, left, shed.watcher)
        for found in itertools.islice(ranked_builds(changed, filtered, limit), SETS):
            one = geared_set(project, judge(found, filtered), shed.pool)
            if one is not None:
                yield one
                break
