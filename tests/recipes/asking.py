"""Figures that a recipe comes to, for holding them against a calculation made by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import yaml

from fitter.projects import bind
from fitter.shed import Shed
from fitter.solve.builds import Build

STOCKS = Path(__file__).parents[2] / "inventory_examples"


class Asked:
    """The best set for a recipe, its checks and its parts.

    Args:
        recipe: Name of a shipped recipe.
        way: Principle by function, where it matters.
        settings: Demands to change.
        lots: The stock, as fields by lot; whatever is missing is bought in a size that shops carry.
        folder: Where to write that stock.
        fixed: Lots that must fill given roles.
    """

    def __init__(
        self,
        recipe: str,
        folder: Path,
        *,
        way: Mapping[str, str] | None = None,
        settings: Mapping[str, str] | None = None,
        lots: Sequence[Mapping[str, Any]] = (),
        fixed: Mapping[str, str] | None = None,
    ) -> None:
        file = folder / "stock.yaml"
        file.write_text(yaml.safe_dump({"lots": [dict(lot) for lot in lots]}), encoding="utf-8")
        shed = Shed.open(file)
        project = bind(shed.recipe(recipe), settings)
        chosen = way or {}
        functions = tuple(
            replace(f, principles=tuple(p for p in f.principles if p.name == chosen.get(f.name, p.name)))
            for f in project.functions
        )
        assert all(f.principles for f in functions), f"no such way of {recipe}: {chosen}"
        best = shed.best_or_nearest(replace(project, functions=functions), fixed).best
        assert best is not None
        self.build: Build = best

    def need(self, check: str, role: str) -> tuple[float, float]:
        """What a check of a role needs, SI; the only one of that name that the role is part of."""
        return self._figure(check, role, "need")

    def have(self, check: str, role: str) -> tuple[float, float]:
        """What a check of a role has, SI; the only one of that name that the role is part of."""
        return self._figure(check, role, "have")

    def _figure(self, check: str, role: str, side: str) -> tuple[float, float]:
        sides = [
            getattr(c.judgement, side)
            for c in self.build.checks
            if c.check.name == check and role in c.check.roles
        ]
        (found,) = {(float(s.lo), float(s.hi)) for s in sides}
        return found

    def rating(self, role: str, name: str) -> tuple[float, float]:
        """A rating of the part in a role, SI."""
        found = self.build.parts[role].rating(name)
        return found.lo, found.hi
