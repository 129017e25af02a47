"""Limits of demands, uses of lots, and donor machines, on a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table
from rich.text import Text

from fitter import words
from fitter.show.terminal import _STATE_STYLE, _plain, console, indent
from fitter.units import show

if TYPE_CHECKING:
    from fitter.reach.models import (
        CellAnswer,
        LimitsAnswer,
        MachineAnswer,
        MachinesAnswer,
        PassOnAnswer,
        PassOnsAnswer,
        PullList,
        ReachAnswer,
        RoleUse,
        SideAnswer,
        UsesAnswer,
    )

_CERTAINTIES = {"certain": "for certain", "likely": "likely", "best": "at best"}
_REASONS = ("never placed", "faulty", "no project takes it", "too few", "no set passes with it", "too many")
_MOST = 6  # ratings or checks named in one line
_CUT = "The search was cut short"


# ---------------------------------------------------------------- limits


def limits(answer: LimitsAnswer) -> None:
    """How far a demand goes, and what stops it."""
    out = console()
    quantity = answer.demand.quantity
    out.print(Text.assemble((answer.title, "bold"), "  from stock alone"))
    for side in answer.sides:
        out.print()
        asked = show(answer.demand.asked, quantity)
        out.print(Text(f"{side.sense.capitalize()} {answer.demand.demand} (asked: {asked})", style="bold"))
        _side(out, side, quantity)
    _sampled(out, answer)
    if answer.second:
        _beside(out, answer)
    if answer.stopped_by:
        out.print(f"{_CUT}: what is marked ? may go further.")


def _sampled(out: Console, answer: LimitsAnswer) -> None:
    """That a demand which cuts both ways was only tried here and there."""
    values = sorted({v for side in answer.sides for v in side.sampled})
    if values:
        tried = ", ".join(dict.fromkeys(show(v, answer.demand.quantity) for v in values))
        out.print()
        text = f"More {answer.demand.demand} makes some checks harder and others easier, so it was tried at"
        out.print(_plain(f"{text} {tried}. What goes only between two of these is not seen."))


def _side(out: Console, side: SideAnswer, quantity: str) -> None:
    shown: dict[tuple[object, ...], str] = {}
    for reach in side.reaches:
        out.print(
            _plain(f"{_CERTAINTIES[reach.certainty]:<12} {_value(reach.value, quantity, reach.proved)}")
        )
        if reach.value is None:
            continue
        key = tuple(sorted(reach.parts.items()))
        same = shown.setdefault(key, _CERTAINTIES[reach.certainty])
        alike = same != _CERTAINTIES[reach.certainty]
        parts = f"the set above ({same})" if alike else ", ".join(f"{r}={x}" for r, x in reach.parts.items())
        out.print(indent(_plain(f"with {parts}")))
        _stopped(out, reach, quantity)


def _stopped(out: Console, reach: ReachAnswer, quantity: str) -> None:
    """What stands between a set and the next value."""
    if reach.at_end:
        out.print(indent(_plain("as far as the recipe allows")))
    for check in reach.checks[:2]:
        out.print(indent(_plain(f"at {show(reach.beyond or 0.0, quantity)}: {words.check_line(check)}")))
        lots = [f"{r}={reach.parts[r]}" for r in check.roles if r in reach.parts]
        out.print(indent(_plain(f"limited by {', '.join(lots)}"), 4))
    if reach.roles:
        out.print(indent(_plain(f"goes further with another {' or '.join(reach.roles)}, bought")))
    if reach.measure:
        out.print(indent(_plain(f"not certain until measured: {_some(reach.measure)}")))


def _value(value: float | None, quantity: str, proved: bool) -> str:
    if value is None:
        return "no value" if proved else "not known"
    return show(value, quantity) + ("" if proved else " ?")


def _beside(out: Console, answer: LimitsAnswer) -> None:
    """The first demand beside values of the second."""
    assert answer.second is not None
    first, second = answer.demand, answer.second
    out.print()
    if not answer.rows:
        out.print(_plain(f"No value of {second.demand} goes, whatever the {first.demand}."))
        return
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column(second.demand)
    for side in answer.sides:
        for certainty in _CERTAINTIES.values():
            table.add_column(f"{side.sense} {first.demand} {certainty}", justify="right")
    for row in answer.rows:
        cells = [text for cell in row.cells for text in _cells(cell, first.quantity)]
        mark = " (asked)" if row.value == second.asked else ""
        table.add_row(_plain(show(row.value, second.quantity) + mark), *map(_plain, cells))
    out.print(table)


def _cells(cell: CellAnswer, quantity: str) -> list[str]:
    return [_value(v, quantity, cell.proved) for v in (cell.certain, cell.likely, cell.best)]


# ---------------------------------------------------------------- uses


def uses(answer: UsesAnswer) -> None:
    """What a lot is good for."""
    out = console()
    about = ", ".join(filter(None, (f"{answer.count} x {answer.kind}", answer.name, answer.bin)))
    out.print(Text.assemble((answer.lot, "bold"), f"  {about}"))
    if answer.refused:
        out.print(_plain(f"never placed: {answer.refused}"))
    elif not answer.uses:
        out.print("No project has a role for this kind.")
    for use in answer.uses:
        _use(out, use)


def _use(out: Console, use: RoleUse) -> None:
    out.print()
    style = _STATE_STYLE[use.state]
    out.print(Text.assemble((use.recipe, "bold"), f"  {use.role}  ", (use.state, style)))
    if use.short:
        out.print(indent(_plain(use.short)))
    for check in use.fails[:_MOST]:
        out.print(indent(_plain(words.check_line(check))))
    if use.state == "out of reach":
        out.print(indent(_plain(_at_all(use.useful))))
        return
    if use.measure:
        out.print(indent(_plain(f"measure first: {_some(use.measure)}")))
    if use.measure_others:
        out.print(indent(_plain(f"and of other parts: {_some(use.measure_others)}")))
    if use.to_buy:
        bought = [r for r, lot in use.parts.items() if lot is None]
        out.print(indent(_plain(f"to buy: {', '.join(bought)}")))
    owned = ", ".join(f"{r}={lot}" for r, lot in use.parts.items() if lot is not None and r != use.role)
    if owned:
        out.print(indent(_plain(f"with {owned}")))


def _at_all(useful: bool | None) -> str:
    if useful is None:
        return "with other demands: not known in the time there was"
    easier = "goes with easier demands: change what falls short with --set"
    return easier if useful else "goes with no plausible demands, anything else bought"


def _some(names: list[str]) -> str:
    more = len(names) - _MOST
    return ", ".join(names[:_MOST]) + (f" and {more} more" if more > 0 else "")


def pass_on(answer: PassOnsAnswer) -> None:
    """Lots to pass on, by reason."""
    out = console()
    if not answer.lots:
        out.print("Every lot may serve some project.")
    else:
        out.print("What no project here has a use for, also with everything else bought:\n")
    by_reason: dict[str, list[PassOnAnswer]] = {}
    for each in answer.lots:
        by_reason.setdefault(each.reason, []).append(each)
    for reason in sorted(by_reason, key=_REASONS.index):
        _passed_on(out, reason, by_reason[reason])
        out.print()
    if answer.not_known:
        out.print(_plain(f"{_CUT}. Not known: {_some(answer.not_known)}"))
    out.print("Why one of them is of no use: fitter uses LOT", style="dim")


def _passed_on(out: Console, reason: str, lots: list[PassOnAnswer]) -> None:
    """Lots of one reason; what is said of all of them is said once."""
    texts = {each.text for each in lots}
    shared = texts.pop() if len(texts) == 1 else ""
    shared = "" if reason == "faulty" else shared
    out.print(Text.assemble((reason, "bold"), f"  {shared}" if shared else ""))
    for each in lots:
        why = "" if shared or reason == "faulty" else f": {each.text}"
        pieces = f"{each.spare} of {each.count}" if each.spare < each.count else f"{each.count}"
        out.print(indent(_plain(f"{each.lot}  {pieces} x {each.kind}, {each.bin}{why}")))


# ---------------------------------------------------------------- donors


def donors(answer: MachinesAnswer, top: int) -> None:
    """Machines to look for, most useful first."""
    out = console()
    if not answer.machines and not answer.nowhere:
        out.print("Nothing is missing.")
    for rank, machine in enumerate(answer.machines[:top], start=1):
        _machine(out, rank, machine)
    for gap in answer.nowhere:
        out.print(_plain(f"in no machine within its limits: {gap}"))
    if answer.outcome == "stopped":
        out.print(f"{_CUT}: other sets may need other parts.")
    if answer.machines:
        out.print("What to take out: fitter donors --at MACHINE", style="dim")


def _machine(out: Console, rank: int, each: MachineAnswer) -> None:
    closes = f"  closes {each.gaps_closed:.1f} gaps, {each.strip_time}"
    out.print(Text.assemble((f"{rank}. {each.machine}", "bold"), closes))
    by_kind: dict[str, list[str]] = {}
    for gap in each.gaps:
        pieces = f"{gap.count} x " if gap.count > 1 else ""
        by_kind.setdefault(gap.kind, []).append(f"{pieces}{gap.recipe} {gap.role} {gap.chance:.0%}")
    for kind, gaps in by_kind.items():
        out.print(indent(_plain(f"{kind}: {', '.join(gaps)}")))
    out.print(indent(_plain(f"mind: {', '.join(each.hazards)}" if each.hazards else "no special hazards")))
    out.print()


def pull_list(answer: PullList) -> None:
    """A list to work through at the machine: hazards first."""
    out = console()
    out.print(Text.assemble((answer.machine, "bold"), f"  {answer.strip_time}"))
    _hazards(out, answer.hazards)
    if answer.rails:
        out.print(_plain(f"Rails inside: {', '.join(answer.rails)}"))
    use = ""
    for pull in answer.pulls:
        if pull.use != use:
            use = pull.use
            out.print(Text(f"\n{use.capitalize()}", style="bold"))
        why = ", ".join(pull.gaps) or pull.text or (f"you have {pull.in_stock}" if pull.roles else "")
        box = "   " if use == "leave alone" else "[ ]"
        line = f"{box} {pull.count} {pull.kind} ({pull.chance:.0%}), {pull.hint}"
        out.print(_plain(f"{line}: {why}" if why else line))
        for gap in pull.outside:
            out.print(indent(_plain(f"commonly outside the limits of {gap}"), 4))
        _hazards(out, {k: t for k, t in pull.hazards.items() if k not in answer.hazards})
    _together(out, answer.keep_together)
    if answer.outcome == "stopped":
        out.print(f"{_CUT}: other sets may need other parts.")


def _hazards(out: Console, hazards: Mapping[str, str]) -> None:
    for name, text in hazards.items():
        out.print(indent(Text.assemble((f"{name}: ", "bold"), text)))


def _together(out: Console, notes: Iterable[str]) -> None:
    for number, note in enumerate(notes):
        if not number:
            out.print(Text("\nKeep together", style="bold"))
        out.print(indent(_plain(note)))
