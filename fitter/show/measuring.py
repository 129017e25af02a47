"""What to measure, bench cards, and what was recorded, on a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from fitter import words
from fitter.show.terminal import _STATE_STYLE, _plain, console, indent
from fitter.units import show

if TYPE_CHECKING:
    from fitter.measuring.models import (
        CardAnswer,
        CardRating,
        EffectAnswer,
        FlipAnswer,
        MeasureAnswer,
        MeasurementAnswer,
        RecipeState,
        RecordAnswer,
        StepAnswer,
    )

_CONDITION = "condition"
_MOST_ELSE = 4


def measure(answer: MeasureAnswer) -> None:
    """What to measure next, most telling first."""
    out = console()
    for each in answer.recipes:
        settled = "settled" if each.settled else "open" if each.looked_at else _far(each)
        out.print(
            Text.assemble((each.recipe, "bold"), "  ", (each.state, _STATE_STYLE[each.state]), f"  {settled}")
        )
    out.print()
    if not answer.measurements:
        out.print("No measurement changes any of this.")
    leaders = [m for m in answer.measurements if m.instead_of is None]
    for number, measurement in enumerate(leaders, start=1):
        _measurement(out, number, measurement)
        _else(out, [m for m in answer.measurements if m.instead_of == measurement.rank])
        out.print()
    if answer.stopped_by:
        out.print("The search was cut short: there may be more worth measuring.")
    if answer.measurements:
        out.print("How: fitter measure LOT. Then: fitter record LOT RATING=VALUE", style="dim")


def _far(each: RecipeState) -> str:
    return f"{each.to_buy} to buy, so not looked at"


def _measurement(out: Console, number: int, each: MeasurementAnswer) -> None:
    together = f", {len(each.steps)} together" if len(each.steps) > 1 else ""
    out.print(Text.assemble((f"{number}. {_names(each)}", "bold"), f"  {each.minutes:g} min{together}"))
    for effect in each.recipes:
        out.print(indent(_plain(_effect(effect))))
    for step in each.steps if len(each.steps) == 1 else ():
        out.print(indent(_plain(f"{_where(step)}{step.how}")))


def _else(out: Console, others: list[MeasurementAnswer]) -> None:
    """What would serve the same recipes, in a line each."""
    for each in others[:_MOST_ELSE]:
        chances = [_chance(e.passes + e.rules_out) for e in each.recipes if e.passes + e.rules_out]
        chances = chances or [f"rules out: {_chance(e.best_fails)}" for e in each.recipes if e.best_fails]
        out.print(indent(_plain(f"else {_names(each)}: {each.minutes:g} min, {', '.join(chances)}")))


def _names(each: MeasurementAnswer) -> str:
    by_lot: dict[str, list[str]] = {}
    for step in each.steps:
        by_lot.setdefault(step.lot, []).append(_rating(step))
    return "; ".join(f"{lot}: {', '.join(names)}" for lot, names in by_lot.items())


def _rating(step: StepAnswer) -> str:
    return "whether it works" if step.rating == _CONDITION else words.rating_words(step.rating)


def _where(step: StepAnswer) -> str:
    return f"{step.bin}. " if step.bin else ""


def _effect(effect: EffectAnswer) -> str:
    parts = []
    if effect.passes:
        becomes = effect.becomes if effect.becomes == "ready" else f"{effect.becomes}, all else proven"
        parts.append(f"{becomes}: {_chance(effect.passes)}")
    if effect.rules_out:
        parts.append(f"ruled out, more to buy: {_chance(effect.rules_out)}")
    if effect.best_fails > effect.rules_out + 0.005:
        parts.append(f"its best set ruled out: {_chance(effect.best_fails)}")
    return f"{effect.recipe}: {'; '.join(parts)}"


def _chance(share: float) -> str:
    """A chance as people say it; what was drawn so many times is not told finer than that.

    >>> _chance(0.27), _chance(1.0), _chance(0.004)
    ('27 %', 'almost surely', 'less than 1 %')
    """
    if share >= 0.995:
        return "almost surely"
    return f"{share:.0%}".replace("%", " %") if share >= 0.01 else "less than 1 %"


# ---------------------------------------------------------------- bench card


def card(answer: CardAnswer) -> None:
    """The bench card of a lot."""
    out = console()
    name = f"  {answer.name}" if answer.name else ""
    out.print(Text.assemble((answer.lot, "bold"), f"  {answer.kind}{name}"))
    facts = [answer.bin, f"{answer.count} pieces" if answer.count != 1 else "", answer.condition]
    out.print(indent(_plain(", ".join(fact for fact in facts if fact))))
    if answer.refused:
        out.print(indent(_plain(f"never placed: {answer.refused}", "bold red")))
    for text in answer.contradictions:
        out.print(indent(_plain(text, "yellow")))
    for use in answer.uses:
        waits = f", waits for {', '.join(use.open[:4])}" if use.open else ""
        out.print(indent(_plain(f"{use.recipe}, as {use.role}: {use.state}{waits}")))
    if answer.known:
        out.print()
        out.print("Known", style="bold")
        for rating in answer.known:
            day = f", {rating.measured_on}" if rating.measured_on else ""
            name = words.rating_words(rating.rating)
            source = f" ({rating.basis}{day})" if rating.basis != rating.shown else day
            out.print(indent(_plain(f"{name}: {rating.shown}{source}")))
    _to_find_out(out, answer)
    if answer.cautions:
        out.print()
        out.print("Take care:", style="bold")
        for text in answer.cautions.values():
            out.print(indent(text))


def _to_find_out(out: Console, answer: CardAnswer) -> None:
    """What decides something in full, the rest in a line each."""
    deciding = [r for r in answer.open if r.flips]
    others = [r for r in answer.open if not r.flips]
    if deciding:
        out.print()
        out.print("To measure: it decides", style="bold")
        for rating in deciding:
            _open(out, rating)
    if others:
        out.print()
        out.print("Open, and nothing hangs on it now" if answer.uses else "Open", style="bold")
        for rating in others:
            code = f", {rating.procedure.code}" if rating.procedure else ""
            out.print(
                indent(
                    _plain(
                        f"{words.rating_words(rating.rating)}: {rating.shown} ({rating.minutes:g} min{code})"
                    )
                )
            )
            for method in rating.methods:
                out.print(indent(_plain(f"{method.formula}: {method.command}"), 4))


def _open(out: Console, rating: CardRating) -> None:
    out.print(indent(_plain(f"{words.rating_words(rating.rating)}: {rating.shown}", "bold")))
    out.print(indent(_plain(rating.basis), 4))
    for line in _flip_lines(rating):
        out.print(indent(_plain(line), 4))
    for line in _ways(rating):
        out.print(indent(_plain(line), 4))


def _ways(rating: CardRating) -> Iterator[str]:
    """How to find a rating out."""
    if rating.procedure is None:
        yield f"{rating.how} ({rating.minutes:g} min)"
    else:
        yield (
            f"{rating.procedure.code} {rating.procedure.title} ({rating.minutes:g} min), with: "
            + ", ".join(rating.procedure.tools)
        )
        yield from (f"- {step}" for step in rating.procedure.steps)
        yield from (f"mind: {text}" for text in rating.procedure.mind)
    for method in rating.methods:
        yield f"{method.formula}; with {method.filled}"
        yield f"then: {method.command}"


def _flip_lines(rating: CardRating) -> Iterator[str]:
    by_recipe: dict[str, list[FlipAnswer]] = {}
    for flip in rating.flips:
        by_recipe.setdefault(flip.recipe, []).append(flip)
    for recipe, each in by_recipe.items():
        given = f"; with {', '.join(each[0].given)} as likely" if each[0].given else ""
        yield f"{recipe}: " + "; ".join(_stretch(flip, rating) for flip in each) + given


_SAYS = {"fits": "does", "unproven": "still open", "fails": "will not do"}


def _stretch(flip: FlipAnswer, rating: CardRating) -> str:
    """One stretch of values in words, such as ``does while torque >= 0.21 N m``."""
    says = _SAYS[flip.verdict]
    if rating.quantity == "flag":
        return f"{says} where it is {rating.shown.split(' or ')[0 if flip.min is None else -1]}"
    low = None if flip.min is None else show(flip.min, rating.quantity)
    high = None if flip.max is None else show(flip.max, rating.quantity)
    if low is None:
        return f"{says} up to {high}" if high else f"{says}, whatever it turns out to be"
    return f"{says} from {low}" + (f" to {high}" if high else " on")


# ---------------------------------------------------------------- what was recorded


def record(answer: RecordAnswer) -> None:
    """What was stored and what it changed."""
    out = console()
    for stored in answer.stored:
        for line in stored.working:
            out.print(_plain(line))
        was = f" (was: {stored.before})" if stored.before else ""
        out.print(_plain(f"{answer.lot}, {words.rating_words(stored.rating)}: {stored.value}{was}"))
    out.print(_plain(f"stored in {answer.file}"), soft_wrap=True)
    for text in answer.contradictions:
        out.print(_plain(text, "yellow"))
    out.print()
    for move in _moves(answer):
        out.print(move)
    if not answer.moved:
        out.print("No project has changed.")


def _moves(answer: RecordAnswer) -> Iterable[Text]:
    for each in answer.moved:
        details = [
            _count("to buy", each.to_buy_before, each.to_buy_after),
            _count("to measure or try", each.to_measure_before, each.to_measure_after),
        ]
        yield Text.assemble(
            (each.recipe, "bold"),
            "  ",
            (each.before, _STATE_STYLE[each.before]),
            " -> ",
            (each.after, _STATE_STYLE[each.after]),
            "".join(f"  {text}" for text in details if text),
        )


def _count(what: str, before: int, after: int) -> str:
    return f"{what}: {before} -> {after}" if before != after else ""
