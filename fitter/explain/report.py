"""What is said where a project cannot be built as asked: clashes and relaxations as answers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from fitter.explain.case import SECONDS, Case, Requirement, Sort
from fitter.explain.clashes import Clash, Reasons, clashes, reasons
from fitter.explain.relaxations import Change, Relaxation, Relaxations
from fitter.models import ChangeAnswer, ClashAnswer, ExplanationAnswer, RelaxationAnswer, RequirementAnswer
from fitter.projects import Project
from fitter.shed import Sets, Shed
from fitter.solve.variants import sketch
from fitter.units import show, unit_of

MOST_LOTS = 6  # named in one line


def explanations(
    shed: Shed,
    project: Project,
    sets: Sets,
    fixed: Mapping[str, str] | None = None,
    seconds: float = SECONDS,
) -> list[ExplanationAnswer]:
    """Why there is no set, or none from stock alone, and what would change that; nothing where there is one.

    Args:
        shed: Stock and recipes.
        project: The project as asked for.
        sets: What the search found for it.
        fixed: Lots that must fill given roles.
        seconds: Of computing, at the most.
    """
    if sets.stopped_by or sets.stand_in or (sets.best and not sets.best.to_buy and not sets.best.failing):
        return []
    out_of_reach = sets.best is None or bool(sets.best.failing)
    report = _Report(shed, project, fixed, seconds)
    if out_of_reach:
        return [report.explanation(from_stock=False), report.explanation(from_stock=True, clash=False)]
    return [report.explanation(from_stock=True)]


def relaxed(
    shed: Shed, project: Project, fixed: Mapping[str, str] | None, seconds: float
) -> tuple[list[RelaxationAnswer], bool]:
    """Lower demands with which the stock alone serves, the least first, and whether all were found."""
    report = _Report(shed, project, fixed, max(seconds, 0.0))
    found = report.relaxations(Relaxations(report.case, from_stock=True))
    return found, report.case.complete


class _Report:
    """Answers about one project."""

    def __init__(self, shed: Shed, project: Project, fixed: Mapping[str, str] | None, seconds: float) -> None:
        self.shed = shed
        self.project = project
        self.case = Case(shed, project, fixed, seconds)

    def explanation(self, *, from_stock: bool, clash: bool = True) -> ExplanationAnswer:
        """Clashes, relaxations, then the reasons of clashes, in the time that is left."""
        self.case.complete = True
        found = clashes(self.case, from_stock=from_stock) if clash else []
        ways = Relaxations(self.case, from_stock=from_stock)
        changes = self.relaxations(ways)
        hopeless = ways.possible is False
        complete = self.case.complete
        return ExplanationAnswer(
            from_stock=from_stock,
            clashes=[self._clash(c) for c in found],
            relaxations=changes,
            hopeless=hopeless,
            outcome="complete" if complete else "stopped",
        )

    def relaxations(self, ways: Relaxations) -> list[RelaxationAnswer]:
        """The ways to make it go by asking for less."""
        return [self._relaxation(r) for r in ways.found()]

    def _clash(self, clash: Clash) -> ClashAnswer:
        why = reasons(self.case, clash)
        return ClashAnswer(
            requirements=[self._requirement(r) for r in clash.members],
            roles=list(why.roles),
            checks=None if why.checks is None else list(why.checks),
            smallest=clash.smallest,
            text=self._clash_text(clash, why),
        )

    def _clash_text(self, clash: Clash, why: Reasons) -> str:
        asked = "; ".join(self._said(r, why.roles) for r in clash.members)
        text = asked if len(clash.members) == 1 else f"not all of these together: {asked}"
        if why.checks is not None:
            reason = ", ".join(why.checks) or "; ".join(dict.fromkeys(self._lacking(why.roles)))
            text = f"{text}: {reason}" if reason else text
        return text if clash.smallest else f"{text} (fewer may clash already)"

    def _requirement(self, requirement: Requirement) -> RequirementAnswer:
        return RequirementAnswer(
            sort=requirement.sort.value,  # type: ignore[arg-type]  # roles and checks are never members
            name=requirement.name,
            text=self._said(requirement),
        )

    def _said(self, requirement: Requirement, roles: Iterable[str] = ()) -> str:
        """A requirement as a maker says it."""
        name = requirement.name
        if requirement.sort is Sort.DEMAND:
            return self._demand(name)
        if requirement.sort is Sort.FIXED:
            return f"{self.case.fixed[name]} as {name}"
        if requirement.sort is Sort.LEFT_OUT:
            return f"without {name}"
        own = [r.partition(".")[2] for r in roles if r.partition(".")[0] == name]
        return f"{name} from stock ({', '.join(own)})" if own else f"{name} from stock"

    def _demand(self, name: str) -> str:
        asked = self.project.demands[name]
        easier = self.case.easier.get(name, ())
        sense = "" if len(easier) != 1 else "at least " if easier[0] < asked else "at most "
        return f"{name} {sense}{show(asked, self.project.recipe.demands[name].quantity)}"

    def _lacking(self, roles: Iterable[str]) -> Iterator[str]:
        """What the stock lacks for some roles, where no check is to blame."""
        known = {
            name: data["role"]
            for f in self.project.functions
            for p in f.principles
            for name, data in sketch(self.project, f.name, p).roles.items()
        }
        for role in roles:
            table = self.shed.pool.table(known[role].kinds)
            kinds = " or ".join(known[role].kinds)
            yield f"no {kinds} in stock" if table.bought.all() else f"not enough pieces of {kinds} in stock"

    def _relaxation(self, relaxation: Relaxation) -> RelaxationAnswer:
        build = relaxation.build
        return RelaxationAnswer(
            changes=[self._change(c) for c in relaxation.changes],
            let_go=[self._requirement(r) for r in relaxation.let_go],
            state=build.state.value,
            to_buy=build.to_buy,
            to_measure=len(build.open_ratings),
            parts={role: None if c.bought else c.lot.id for role, c in build.parts.items()},
            text=self._relaxation_text(relaxation),
            size=relaxation.size,
        )

    def _change(self, change: Change) -> ChangeAnswer:
        quantity = self.project.recipe.demands[change.demand].quantity
        return ChangeAnswer(
            demand=change.demand,
            asked=change.asked,
            value=change.value,
            unit=unit_of(quantity),
            quantity=quantity,
            least=change.least,
        )

    def _relaxation_text(self, relaxation: Relaxation) -> str:
        parts = [self._change_text(c) for c in relaxation.changes]
        parts += [self._let_go_text(r) for r in relaxation.let_go]
        build = relaxation.build
        lots = list(dict.fromkeys(c.lot.id for c in build.parts.values() if not c.bought))
        more = f" and {len(lots) - MOST_LOTS} more" if len(lots) > MOST_LOTS else ""
        own = f" with {', '.join(lots[:MOST_LOTS])}{more}" if lots else ""
        state = f"{build.state.value}, {build.to_buy} to buy," if build.to_buy else build.state.value
        return f"{' and '.join(parts)}: {state}{own}".rstrip(",")

    def _change_text(self, change: Change) -> str:
        quantity = self.project.recipe.demands[change.demand].quantity
        value, asked = show(change.value, quantity), show(change.asked, quantity)
        return f"{change.demand} {value} instead of {asked}" + (
            "" if change.least else ", perhaps less of a change"
        )

    def _let_go_text(self, requirement: Requirement) -> str:
        if requirement.sort is Sort.FIXED:
            return f"another part than {self.case.fixed[requirement.name]} as {requirement.name}"
        return f"{requirement.name} allowed again"
