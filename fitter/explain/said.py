"""The least changes that make a project go without buying, as an answer, each in one line."""

from __future__ import annotations

import time
from collections.abc import Mapping

from fitter.advice.reductions import shown_ratio
from fitter.explain.report import explanations, relaxed
from fitter.explain.steps import ANOTHER_WAY, SECONDS, Step, Steps, chosen
from fitter.kinds.model import USE
from fitter.models import (
    ExplanationAnswer,
    FigureAnswer,
    LimitAnswer,
    RelaxationAnswer,
    StepAnswer,
    StepsAnswer,
    StockPartAnswer,
)
from fitter.projects import Project
from fitter.shed import Sets, Shed
from fitter.solve.adapters import Adapter
from fitter.solve.builds import Build, Checked
from fitter.units import show
from fitter.views import adapter_of, check_of, limit_of
from fitter.words import need_and_have, rating_words

MOST = 3
ALL_SECONDS = 6.0  # of computing, for explanations and changes together


def steps_of(shed: Shed, project: Project, fixed: Mapping[str, str] | None, seconds: float) -> StepsAnswer:
    """The three least changes with which a project goes without buying.

    Args:
        shed: Stock and recipes.
        project: The project as asked for, which the stock alone does not serve.
        fixed: Lots that must fill given roles.
        seconds: Of computing, at the most.
    """
    start = time.process_time()
    search = Steps(shed, project, fixed or {}, seconds)
    near, found = search.near, search.found()
    lower, complete = relaxed(shed, project, fixed, seconds - (time.process_time() - start))
    return _answer(shed, project, near, found, lower, complete=complete and search.complete)


def _answer(
    shed: Shed,
    project: Project,
    near: Build | None,
    found: list[Step],
    lower: list[RelaxationAnswer],
    *,
    complete: bool,
) -> StepsAnswer:
    """The changes worth naming, in order, lower demands among them."""
    sizes = [r.size + ANOTHER_WAY * len(r.let_go) for r in lower]
    steps, demands = chosen(found, sizes, MOST)
    said = [(0.0, sizes[place], _demand(lower[place])) for place in demands]
    said += [(*step.rank[:2], _Said(shed, project, near).step(step)) for step in steps]
    said.sort(key=lambda each: each[:2])
    return StepsAnswer(
        steps=[step for *_, step in said],
        lacking=_lacking(near),
        outcome="complete" if complete else "stopped",
    )


def explained(
    shed: Shed,
    project: Project,
    sets: Sets,
    fixed: Mapping[str, str] | None = None,
    *,
    clash: bool = True,
) -> tuple[list[ExplanationAnswer], StepsAnswer | None]:
    """Why there is no set, or none from stock alone, and the least changes, in one budget of time.

    Without ``clash`` only the changes are sought.
    """
    if sets.stopped_by or sets.stand_in:
        return [], None
    start = time.process_time()
    search = Steps(shed, project, fixed or {}, SECONDS)
    near, found = search.near, search.found()
    left = ALL_SECONDS - (time.process_time() - start)
    if not clash:
        lower, complete = relaxed(shed, project, fixed, left)
        return [], _answer(shed, project, near, found, lower, complete=complete and search.complete)
    why = explanations(shed, project, sets, fixed, left)
    stock = next((e for e in why if e.from_stock), None)
    lower, complete = (stock.relaxations, stock.outcome == "complete") if stock else ([], True)
    return why, _answer(shed, project, near, found, lower, complete=complete and search.complete)


def _lacking(near: Build | None) -> list[str]:
    """What the nearest set from stock alone fails, in one line each; nothing where parts are missing."""
    return [_needs(c) for c in near.failing[:2]] if near else []


def _needs(checked: Checked) -> str:
    need, have = need_and_have(check_of(checked))
    limit = "allows" if checked.check.sense == "at most" else "needs"
    functions = [role.partition(".")[0] for role in checked.check.roles]
    where = max(functions, key=functions.count)
    return f"{where}: {checked.check.name} {limit} {need}, best has {have}"


def _demand(relaxation: RelaxationAnswer) -> StepAnswer:
    """A lower demand as a change among others."""
    return StepAnswer(
        sort="demand",
        about=", ".join(c.demand for c in relaxation.changes),
        text=relaxation.text,
        changes=relaxation.changes,
        state=relaxation.state,
        to_measure=relaxation.to_measure,
        parts=relaxation.parts,
    )


class _Said:
    """Changes of one project in words."""

    def __init__(self, shed: Shed, project: Project, near: Build | None) -> None:
        self.shed = shed
        self.project = project
        self.near = near

    def step(self, step: Step) -> StepAnswer:
        build = step.build
        roles = [r for r in build.parts if step.sort != "gear" or r != step.about]
        return StepAnswer(
            sort=step.sort,  # type: ignore[arg-type]  # a step has one of the sorts of the model
            about=step.about,
            text=self._text(step),
            figures=[_figure(was, now) for was, now in step.figures],
            spec=self._spec(step),
            from_stock=[StockPartAnswer(lot=x.id, name=x.name or x.kind, bin=x.bin) for x in step.extra],
            price=step.price,
            state=step.state.value,
            to_measure=len(build.open_ratings),
            parts={r: None if build.parts[r].bought else build.parts[r].lot.id for r in roles},
        )

    def _spec(self, step: Step) -> dict[str, LimitAnswer]:
        if step.adapter:
            return adapter_of(step.adapter).spec
        rail = step.rail or {}
        return {name: limit_of(at, name, self._size(step, name)) for name, at in rail.items()}

    def _size(self, step: Step, name: str) -> float:
        """Of the rail that a shop has."""
        return step.build.parts[step.about].rating("voltage.low" if name == "voltage" else name).likely

    def _text(self, step: Step) -> str:
        told = {
            "gear": self._gear,
            "rail": self._rail,
            "coils": self._coils,
            "preference": self._preference,
        }[step.sort](step)
        figures = [_change(was, now) for was, now in step.figures if was.check.name != "shaft and bore"]
        return ": ".join((told, "; ".join(figures[:2]))) if figures else told

    def _gear(self, step: Step) -> str:
        adapter = step.adapter
        assert adapter is not None
        motor = step.build.parts[adapter.between[0]].lot.id
        turns = step.build.parts[step.about].rating("ratio").likely
        place = f"between {motor} and {adapter.between[1]}"
        return f"a {shown_ratio(turns)} reduction {place}, {_source(step, adapter)}"

    def _rail(self, step: Step) -> str:
        now = self.near.parts.get(step.about) if self.near else None
        before = f" instead of {now.id}, {_volts(now.rating('voltage.low').likely)}" if now else ""
        new = step.build.parts[step.about]
        volts = _volts(new.rating("voltage.low").likely)
        if step.rail is None:
            return f"{new.id}, {volts}, as {step.about}{before}"
        low, amps = (step.rail[name].low for name in ("voltage", "current"))
        wanted = f"{_volts(low)} or more at {show(amps, 'current')} or more as {step.about}{before}"
        if step.extra:
            return f"{wanted}: {' and '.join(lot.id for lot in step.extra)} in series"
        return f"{wanted}: none in stock, {volts} about {step.price:.0f} EUR"

    def _coils(self, step: Step) -> str:
        part = step.build.parts[step.about]
        return f"{part.lot.id} {part.id.partition(USE)[2]} ({part.offer.label}) as {step.about}"

    def _preference(self, step: Step) -> str:
        function, _, name = step.about.partition(".")
        if name == "principles":
            return f"{function} done another way: {step.build.principles[function].name}"
        written = self.project.recipe.functions[function].arguments[name].text
        return f"{function} without {rating_words(name)} {written}"


def _volts(value: float) -> str:
    return show(value, "voltage")


def _source(step: Step, adapter: Adapter) -> str:
    """Where a reduction comes from."""
    if adapter.from_stock:
        own = " and ".join(f"{lot.id} ({lot.bin})" if lot.bin else lot.id for lot in adapter.from_stock)
        return f"made of {own}"
    return f"not in stock, about {step.price:.0f} EUR"


def _change(was: Checked, now: Checked | None) -> str:
    """A check before and after a change."""
    need, have = need_and_have(check_of(was))
    if now is None:
        return f"{was.check.name} is {have}"
    after, has = need_and_have(check_of(now))
    if need == after:
        return f"{was.check.name} needs {need}, has {has} instead of {have}"
    return f"{was.check.name} needs {after} instead of {need}, has {has}"


def _figure(was: Checked, now: Checked | None) -> FigureAnswer:
    before, after = check_of(was), check_of(now) if now else None
    return FigureAnswer(
        check=before.check,
        quantity=before.quantity,
        unit=before.unit,
        need_before=before.need,
        have_before=before.have,
        need=after.need if after else None,
        have=after.have if after else None,
    )
