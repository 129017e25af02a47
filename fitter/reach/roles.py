"""The roles of projects, which of them take a kind of part, and demands for several recipes at once."""

from __future__ import annotations

from collections.abc import Mapping

from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.functions import Principle, Role
from fitter.kinds import kind_key
from fitter.projects import Project, Recipe
from fitter.shed import Shed
from fitter.solve.variants import sketch


def roles_in(project: Project, function: str, principle: Principle) -> list[Role]:
    """The roles of one function in one principle."""
    return [data["role"] for data in sketch(project, function, principle).roles.values()]


def every_role(project: Project) -> list[Role]:
    """The roles of a project in all principles; one that several have alike is given once."""
    each = (r for f in project.functions for p in f.principles for r in roles_in(project, f.name, p))
    return list(dict.fromkeys(each))


def takes(role: Role, kind: str) -> bool:
    """Whether a role is for parts of a kind."""
    return kind_key(kind) in {kind_key(k) for k in role.kinds}


def roles_for(project: Project, kind: str) -> list[Role]:
    """The roles that take a kind, one of each name."""
    return list({r.name: r for r in reversed(every_role(project)) if takes(r, kind)}.values())[::-1]


def own_demands(recipe: Recipe, settings: Mapping[str, str] | None) -> dict[str, str]:
    """Those changed demands that a recipe has."""
    return {n: v for n, v in (settings or {}).items() if n in recipe.demands}


def known_demands(shed: Shed, settings: Mapping[str, str] | None) -> None:
    """See that some recipe has each changed demand.

    Raises:
        FitterError: None has.
    """
    known = {d for r in shed.recipes.values() for d in r.demands}
    for name in settings or {}:
        if name not in known:
            problem = f"no recipe has a demand {name[:40]!r}"
            raise FitterError(problem, field="--set", expected=nearest(name, known))
