"""Several recipes asked about at once: side by side, in one budget of time."""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Mapping

from fitter.answers import gaps_of, settings_for
from fitter.models import GapsAnswer
from fitter.recipes import Recipe
from fitter.shed import Shed
from fitter.side_by_side import side_by_side

SECONDS = 10.0  # of each core, for other ways and least changes of all recipes together


def gaps_of_several(
    shed: Shed, recipes: Iterable[Recipe], settings: Mapping[str, str] | None = None, *, processes: int = 1
) -> list[GapsAnswer]:
    """What is missing for each of some projects, as :func:`fitter.answers.gaps_of` says it of one.

    Of several, each has an equal share of :data:`SECONDS` for other ways and least changes, and what those
    before it left; an answer that ran out of it says so. One alone has all the time it is worth.

    Args:
        shed: Stock and recipes.
        recipes: What is asked about.
        settings: Demands to change; each recipe takes those it has.
        processes: How many recipes may be looked at at once.

    Raises:
        FitterError: A demand that cannot be so.
    """
    asked = list(recipes)
    purse = _Purse(math.ceil(len(asked) / max(processes, 1)))

    def missing(recipe: Recipe) -> GapsAnswer:
        own = settings_for(recipe, settings or {})
        if len(asked) == 1:
            return gaps_of(shed, recipe.name, own)
        start, share = time.process_time(), purse.share
        answer = gaps_of(shed, recipe.name, own, seconds=share)
        purse.spend(min(time.process_time() - start, share) if answer.steps else 0.0)
        return answer

    return side_by_side(asked, missing, lambda recipe: recipe.ways, shed.watcher, processes)


class _Purse:
    """Seconds of one process for so many tasks, of which each has an equal share of what is left."""

    def __init__(self, tasks: int) -> None:
        self.left = SECONDS
        self.tasks = tasks

    @property
    def share(self) -> float:
        """For the next task."""
        return max(self.left, 0.0) / max(self.tasks, 1)

    def spend(self, seconds: float) -> None:
        """A task is done."""
        self.left -= seconds
        self.tasks -= 1
