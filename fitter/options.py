"""Options of the command line that several commands share, each described in one place."""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import wraps
from pathlib import Path
from typing import Annotated, Any, get_type_hints

import typer

from fitter.errors import FitterError

StockPath = Annotated[
    Path | None,
    typer.Option("--stock", metavar="PATH", help="Stock file or folder [default: FITTER_STOCK or ./stock]"),
]
RecipePath = Annotated[
    Path | None,
    typer.Option(
        "--recipes",
        metavar="PATH",
        help="File or folder of your own recipes [default: FITTER_RECIPES or ./own-recipes]",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document")]
Settings = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="NAME=VALUE", help="Change a demand, such as payload=2kg"),
]
SkipBad = Annotated[
    bool, typer.Option("--skip-bad", help="Leave out lots and recipes with errors and say which")
]
Without = Annotated[list[str] | None, typer.Option("--without", metavar="LOT", help="Do not use this lot")]
With = Annotated[
    list[str] | None, typer.Option("--with", metavar="ROLE=LOT", help="Use this lot in this role")
]


class OrderName(StrEnum):
    """Which sets are shown, and in what order."""

    DIVERSE = "diverse"
    RANKED = "ranked"


Order = Annotated[
    OrderName,
    typer.Option("--order", help="Sets that differ in what matters, or all by score, however alike"),
]
Top = Annotated[int, typer.Option("--top", metavar="N", min=1, max=100, help="How many sets")]
Whole = Annotated[bool, typer.Option("--with-set-aside", help="Count in what is set aside for builds")]
LimitSeconds = Annotated[
    float | None,
    typer.Option(
        "--limit-seconds", metavar="S", min=0, help="Stop each search after this time [default: 20]"
    ),
]
LimitNodes = Annotated[
    int | None,
    typer.Option(
        "--limit-nodes", metavar="N", min=0, help="Stop each search after this many steps [default: 200000]"
    ),
]
RecipeName = Annotated[str, typer.Argument(metavar="RECIPE", help="Name of a recipe", show_default=False)]


@dataclass(frozen=True)
class Asked:
    """What every question about projects takes."""

    stock: StockPath = None
    recipes: RecipePath = None
    json: Json = False
    settings: Settings = None
    skip_bad: SkipBad = False
    without: Without = None
    whole: Whole = False
    limit_seconds: LimitSeconds = None
    limit_nodes: LimitNodes = None

    def __post_init__(self) -> None:
        if self.limit_seconds is not None and math.isnan(self.limit_seconds):
            raise typer.BadParameter("a number of seconds is expected", param_hint="'--limit-seconds'")


def asked(command: Callable[..., None]) -> Callable[..., None]:
    """A command whose parameter ``asked`` is filled from options of its own, those of :class:`Asked`."""

    @wraps(command)
    def filled(**given: Any) -> None:
        own = {f.name: given.pop(f.name) for f in fields(Asked)}
        command(**given, asked=Asked(**own))

    hints = get_type_hints(Asked, include_extras=True)
    mine = [
        inspect.Parameter(f.name, inspect.Parameter.KEYWORD_ONLY, default=f.default, annotation=hints[f.name])
        for f in fields(Asked)
    ]
    theirs = get_type_hints(command, include_extras=True)
    kept = [
        p.replace(annotation=theirs[p.name], kind=inspect.Parameter.KEYWORD_ONLY)
        for p in inspect.signature(command).parameters.values()
        if p.name != "asked"
    ]
    parameters = [*kept, *mine]
    filled.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    filled.__annotations__ = {p.name: p.annotation for p in parameters}
    return filled


def pairs(words: Iterable[str] | None, option: str, example: str = "payload=2kg") -> dict[str, str]:
    """``NAME=VALUE`` words as a dict.

    Raises:
        FitterError: A word without an equals sign, or a name given twice.
    """
    found: dict[str, str] = {}
    for word in words or []:
        name, _, value = (part.strip() for part in word.partition("="))
        if not name or not value:
            raise FitterError(
                "a name, = and a value are expected", got=word, field=option, expected=f"such as {example}"
            )
        if name in found:
            raise FitterError(f"{name!r} is given twice", field=option, expected="give it once")
        found[name] = value
    return found
