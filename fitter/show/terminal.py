"""Answers on a terminal: 80 columns, and nothing that only colour says."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from fitter import words

if TYPE_CHECKING:
    from fitter.models import (
        AdapterAnswer,
        AlternativeAnswer,
        BuildAnswer,
        BuildsAnswer,
        CheckAnswer,
        GapsAnswer,
        MatchAnswer,
        MissingAnswer,
        NearMiss,
        PartAnswer,
        SetAnswer,
        SubstituteAnswer,
    )

_STATE_STYLE = {
    "ready": "bold green",
    "measure first": "bold yellow",
    "buy first": "bold cyan",
    "out of reach": "bold red",
    "not known": "bold",
}
_VERDICT_STYLE = {"fits": "green", "unproven": "yellow", "fails": "bold red"}
_TIGHTEST, _REASONS = 6, 5
_MANY = 3  # things to buy that are named without an example


def console() -> Console:
    """The terminal; 80 columns where its width is not known, never wider than 100.

    Nothing is read as markup: names come from files.
    """
    made = Console(highlight=False, markup=False)
    width = 80 if not made.is_terminal and "COLUMNS" not in os.environ else min(made.width, 100)
    return Console(highlight=False, markup=False, width=width)


def indent(text: RenderableType, by: int = 2) -> Padding:
    return Padding(text, (0, 0, 0, by))


def _plain(text: str, style: str = "") -> Text:
    """Text from stock files: shown as it is, never read as markup."""
    return Text(text, style=style)


def builds(answer: BuildsAnswer) -> None:
    """One block a project: its state, then the reasons."""
    out = console()
    for row in answer.builds:
        head = Text.assemble(
            (f"{row.recipe}", "bold"),
            "  ",
            (row.state, _STATE_STYLE[row.state]),
            "  ",
            _counts(row.to_buy, row.to_measure, row.price),
        )
        out.print(head)
        if row.parts and (note := _note(row, row.state)):
            out.print(indent(note))
        lines = _reasons(row)
        for line in lines[:_REASONS]:
            out.print(indent(_plain(line)))
        if len(lines) > _REASONS:
            out.print(indent(f"and {len(lines) - _REASONS} more: fitter gaps {row.recipe}"))
        out.print()
    _refused(out, answer.refused)
    out.print("Parts and checks of one project: fitter match RECIPE", style="dim")


def _reasons(row: BuildAnswer) -> list[str]:
    """Why a project stands where it does; a long list of things to buy as one line."""
    if len(row.buy) < _MANY:
        lines = Counter(row.why)
        return [
            line if n == 1 else line.replace("to buy: ", f"to buy: {n} x ", 1) for line, n in lines.items()
        ]
    counts = Counter(row.buy)
    named = "; ".join(f"{n} x {what}" if n > 1 else what for what, n in counts.items())
    return [f"to buy: {named}", *(line for line in row.why if not line.startswith("to buy: "))]


def _counts(to_buy: int, to_measure: int, price: float | None) -> str:
    parts = []
    if to_buy:
        cost = f" (about {price:.0f} EUR)" if price else ""
        parts.append(f"{to_buy} to buy{cost}")
    if to_measure:
        parts.append(f"{to_measure} to measure or try")
    return ", ".join(parts)


def _refused(out: Console, refused: dict[str, str]) -> None:
    if refused:
        out.print("Never placed:", style="bold")
        for lot, reason in refused.items():
            out.print(indent(_plain(f"{lot}: {reason}")))
        out.print()


def match(answer: MatchAnswer) -> None:
    """The best sets of one project."""
    out = console()
    _head(out, answer)
    if answer.outcome == "complete" and not answer.sets:
        out.print("No set of parts will do, bought ones included.")
    note = _note(answer, answer.state)
    if note and (answer.stand_in or not answer.sets):
        out.print(_sentence(note))
    if answer.nearest:
        out.print("Closest, and what fails:")
        _set(out, answer.nearest)
    for each in answer.sets:
        out.print()
        out.print(_set_head(each, answer.sets[0]))
        _set(out, each)
        _instead(out, each, answer.sets[0])
    if answer.sets and answer.outcome == "complete" and len(answer.sets) < answer.asked:
        out.print()
        out.print(_NO_MORE[answer.order])
    _explanations(out, answer)
    cautions(out, answer.cautions)
    out.print()
    if note and answer.sets:
        out.print(_sentence(note))
    if answer.sets:
        out.print(_ORDER[answer.order], style="dim")
    out.print(f"All checks: fitter why {answer.recipe}", style="dim")


_ORDER = {
    "diverse": "Diverse sets: other motor, driver, supply or transmission. All: --order ranked",
    "ranked": "Ranked sets: by score, however alike. Only diverse ones: --order diverse",
}
_NO_MORE = {"diverse": "No other set differs in what matters.", "ranked": "There are no further sets."}


def _note(answer: BuildAnswer | MatchAnswer | GapsAnswer, state: str) -> str:
    """How far an answer can be relied on."""
    passes = state not in ("out of reach", "not known")
    return words.search_note(answer.stopped_by, stand_in=answer.stand_in, passes=passes)


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."


def _head(out: Console, answer: MatchAnswer) -> None:
    out.print(Text.assemble((answer.title, "bold"), "  ", (answer.state, _STATE_STYLE[answer.state])))


def _set(out: Console, each: SetAnswer) -> None:
    out.print(_parts(each.parts))
    out.print(_checks(each.checks[:_TIGHTEST], "Tightest checks"))
    _to_do(out, each)


def _set_head(each: SetAnswer, first: SetAnswer) -> Text:
    """Rank and state of a set, and where it differs from the first."""
    head = Text.assemble((f"Set {each.rank}: ", "bold"), (each.state, _STATE_STYLE[each.state]))
    other = list(_differences(each, first))
    return head.append(f", differs from set {first.rank} in {', '.join(other)}") if other else head


def _differences(each: SetAnswer, first: SetAnswer) -> Iterator[str]:
    """Functions done in another way, and roles of the others filled with another part."""
    for function, way in each.principles.items():
        if first.principles.get(function) != way:
            yield f"{function} ({way})"
            continue
        roles = [r for r in each.parts if r.partition(".")[0] == function]
        yield from (r for r in roles if r not in first.parts or _part(first.parts[r]) != _part(each.parts[r]))


def _part(part: PartAnswer) -> tuple[str | None, str, str]:
    return part.lot, part.offer, part.name


def _instead(out: Console, each: SetAnswer, first: SetAnswer) -> None:
    """What else would do in each role; below a further set only where that differs from the first."""
    new = {r: s for r, s in each.substitutes.items() if each is first or s != first.substitutes.get(r)}
    if new:
        same = "" if each is first else f" (other roles: as for set {first.rank})"
        out.print(Text.assemble(("Instead, all else as it is", "bold"), f"{same}:"))
        out.print(indent(_substitutes(new)))


def _substitutes(found: dict[str, list[SubstituteAnswer]]) -> Table:
    """What else would do, a line a role."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_header=False)
    table.add_column(no_wrap=True)
    table.add_column()
    for role, others in found.items():
        table.add_row(role, _plain("; ".join(map(_substitute, others))))
    return table


def _substitute(other: SubstituteAnswer) -> str:
    count = f"{other.count} x " if other.count > 1 else ""
    if other.lot is None:
        return f"BUY {count}{other.name}" + (f", about {other.price:.0f} EUR" if other.price else "")
    use = f", {other.offer}" if other.offer else ""
    return f"{count}{other.lot}{use}" + (f" ({other.bin})" if other.bin else "")


def _parts(parts: dict[str, PartAnswer]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("role", no_wrap=True)
    table.add_column("part")
    table.add_column("bin")
    for role, part in parts.items():
        count = f"{part.count} x " if part.count > 1 else ""
        use = f", {part.offer}" if part.offer else ""
        if part.buy:
            table.add_row(role, _plain(f"BUY {count}{part.buy.example}"), "")
        else:
            table.add_row(role, _plain(f"{count}{part.lot}: {part.name}{use}"), _plain(part.bin))
    return table


def _checks(checks: Iterable[CheckAnswer], title: str) -> Table:
    table = Table(
        box=None, pad_edge=False, padding=(0, 1, 0, 0), title=title, title_justify="left", title_style="bold"
    )
    table.add_column("check")
    for name in ("need", "have", "margin"):
        table.add_column(name, justify="right")
    table.add_column("verdict", no_wrap=True)
    for c in checks:
        table.add_row(
            f"{c.check}{words.where(c)}", *words.cells(c), Text(c.verdict, style=_VERDICT_STYLE[c.verdict])
        )
    return table


def _to_do(out: Console, each: SetAnswer) -> None:
    fails = [c for c in each.checks if c.verdict == "fails"]
    for check in fails:
        out.print(indent(_plain("fails: " + words.check_line(check))))
    if each.measure:
        out.print("Measure or try first:", style="bold")
        for path in each.measure[:6]:
            out.print(indent(_plain(words.measure_line(path))))
        if len(each.measure) > 6:
            out.print(indent(f"and {len(each.measure) - 6} more"))
    for check in each.checks:
        if check.verdict == "unproven" and not check.because:
            out.print(indent(_plain(words.trial_line(check))))
    bought = {r: p for r, p in each.parts.items() if p.buy}
    if bought:
        out.print("To buy:", style="bold")
        for role, part in bought.items():
            for line in _buy_lines(role, part):
                out.print(indent(line))
    for near in each.near_misses:
        out.print(indent(_plain(near_line(near))))


def _buy_lines(role: str, part: PartAnswer) -> Iterator[Text]:
    assert part.buy is not None
    price = f", about {part.buy.price:.0f} EUR" if part.buy.price else ""
    yield _plain(f"{part.buy.count} x {part.buy.kind} for {role}, such as {part.buy.example}{price}")
    spec = "; ".join(_spec(part.buy.spec))
    if spec:
        yield _plain("  " + spec)


def _spec(spec: dict) -> Iterator[str]:  # type: ignore[type-arg]
    for name, at in spec.items():
        yield words.limit(name, at)


def near_line(near: NearMiss) -> str:
    """The closest part in stock for a role and what rules it out."""
    reasons = "; ".join(words.check_line(c) for c in near.checks[:2])
    return f"closest in stock for {near.role}: {near.lot}: {reasons or near.short}"


def cautions(out: Console, cautions: dict[str, str]) -> None:
    if cautions:
        out.print()
        out.print("Take care:", style="bold")
        for text in cautions.values():
            out.print(indent(text))


def _explanations(out: Console, answer: MatchAnswer) -> None:
    """Why there is no set, or none from stock alone; the module is read only where there is need."""
    if answer.explanations or answer.steps:
        from fitter.show.explanations import explanations, steps

        out.print()
        said = steps(out, answer.steps) if answer.steps else set()
        explanations(out, answer.explanations, said)


def why(answer: MatchAnswer, figures: Callable[[Console], None]) -> None:
    """Every check of one set with its sentence; ``figures`` draws what there is to see of it."""
    out = console()
    _head(out, answer)
    if note := _note(answer, answer.state):
        out.print(_sentence(note))
    for each in answer.sets:
        _every_check(out, each)
    figures(out)
    _explanations(out, answer)
    cautions(out, answer.cautions)


def _every_check(out: Console, each: SetAnswer) -> None:
    out.print(_parts(each.parts))
    for verdict in ("fails", "unproven", "fits"):
        found = [c for c in each.checks if c.verdict == verdict]
        if not found:
            continue
        out.print()
        out.print(Text(f"{verdict}: {len(found)}", style=_VERDICT_STYLE[verdict]))
        for c in found:
            known = "" if c.quantity == "flag" else f", margin {words.margin(c.margin)}"
            out.print(indent(_plain(f"{c.check}{words.where(c)}: {words.need_have(c)}{known}")))
            if c.sentence:
                out.print(indent(_plain(c.sentence), 4))
            if c.because:
                out.print(indent(_plain("open: " + ", ".join(c.because[:4])), 4))
    for near in each.near_misses:
        out.print(_plain(near_line(near)))
    for lot, reason in {(p.lot, r): None for p in each.parts.values() for r in p.ruled_out}:
        out.print(_plain(f"never: {lot}, {reason}"))


def gaps(answers: list[GapsAnswer]) -> None:
    """What is missing, project by project."""
    out = console()
    for answer in answers:
        out.print(Text.assemble((answer.title, "bold"), "  ", (answer.state, _STATE_STYLE[answer.state])))
        if note := _note(answer, answer.state):
            out.print(indent(note))
        for c in answer.fails:
            out.print(indent(_plain("fails whatever you buy: " + words.check_line(c))))
        if not answer.missing:
            hopeless = answer.state in ("out of reach", "not known") and not answer.fails
            out.print(indent(words.nothing(answer.stopped_by) if hopeless else "nothing to buy"))
        for missing in answer.missing:
            _missing(out, missing)
        for number, way in enumerate(answer.alternatives, start=1):
            _alternative(out, number, way)
        if answer.steps:
            from fitter.show.explanations import steps

            steps(out, answer.steps, 2)
        if answer.cut_short:
            out.print(
                indent(
                    f"other ways and changes had little time; alone it has more: fitter gaps {answer.recipe}"
                )
            )
        for path in answer.measure[:4]:
            out.print(indent(_plain(words.measure_line(path))))
        out.print()


def _alternative(out: Console, number: int, way: AlternativeAnswer) -> None:
    things = f"{way.to_buy} to buy, about {way.price:.0f} EUR, open checks: {way.unproven}"
    out.print(indent(Text.assemble((f"Or, way {number}: ", "bold"), things)))
    for adapter in way.adapters:
        out.print(indent(_plain(adapter_line(adapter)), 4))
    for line in way.differs:
        out.print(indent(_plain(line), 4))


def adapter_line(adapter: AdapterAnswer) -> str:
    """An adapter: what of the stock does its work, or what to buy."""
    place = f"between {' and '.join(adapter.between)}"
    limits = ", ".join(words.limit(name, at) for name, at in adapter.spec.items())
    if adapter.from_stock:
        own = " and ".join(f"{p.lot} ({p.bin})" if p.bin else p.lot for p in adapter.from_stock)
        return f"{adapter.kind} {place} from stock: {own} (must keep {limits})"
    such = f", such as {adapter.example}" if adapter.example else ""
    return f"buy 1 {adapter.kind} {place}{such}, about {adapter.price:.1f} EUR: {limits}"


def _missing(out: Console, missing: MissingAnswer) -> None:
    price = f", about {missing.price:.0f} EUR" if missing.price else ""
    if missing.price_range:
        low, high = missing.price_range
        price += f" ({low:.0f} to {high:.0f})"
    out.print(indent(_plain(f"{missing.count} x {missing.kind} for {missing.role}{price}", "bold")))
    out.print(indent(_plain(f"such as: {missing.example}"), 4))
    for name, at in missing.spec.items():
        out.print(indent(words.limit(name, at), 4))
    if missing.seldom_listed:
        limits = "; ".join(words.limit(name, at) for name, at in missing.seldom_listed.items())
        out.print(indent(_plain(f"shops seldom list, usual for such a part: {limits}"), 4))
    if missing.donors:
        names = ", ".join(f"{d.machine} ({d.chance:.0%}, {d.strip_time})" for d in missing.donors)
        out.print(indent(f"often found in: {names}", 4))
        hazards = dict.fromkeys(h for d in missing.donors for h in d.hazards)
        if hazards:
            out.print(indent(f"in there: {', '.join(hazards)}", 4))
    if missing.closest:
        out.print(indent(_plain(near_line(missing.closest)), 4))
