"""The command line: status, one clear line for what is wrong, JSON that keeps its contract, plain text."""

from __future__ import annotations

import json
import math
import os
import re
import shlex
import signal
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import typer
from rich.cells import cell_len

from fitter import answers, cli, listings
from fitter.errors import FitterError
from fitter.recipes import load_recipes

ROOT = Path(__file__).parents[1]
SHED = ROOT / "inventory_examples" / "repair_shed"
SLIDES = """lots:
  - {id: s1, kind: drawer slide, count: 2, travel: 400 mm, closed_length: 400 mm, load: 30 kg, bin: here}
  - {id: g1, kind: gear, module: 0.5 mm}
"""
BAD = SLIDES + "  - {id: b1, kind: geer}\n  - {id: b2, kind: gear, teeth: 3 A}\n"


@dataclass(frozen=True)
class Done:
    """What a command gave."""

    status: int
    out: str
    err: str


Command = Callable[..., Done]


@pytest.fixture
def fitter(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Command:
    """Runs a command in this process, as the installed script does; the stock is the example one."""
    monkeypatch.setenv("FITTER_STOCK", str(SHED))
    monkeypatch.delenv("FITTER_TRACEBACK", raising=False)
    monkeypatch.delenv("COLUMNS", raising=False)

    def run(line: str, *words: object) -> Done:
        status = cli.run([*shlex.split(line), *map(str, words)])
        shown = capsys.readouterr()
        return Done(status, shown.out, shown.err)

    return run


@pytest.fixture
def slides(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small stock that answers quickly."""
    return stock(tmp_path, SLIDES)


def stock(folder: Path, text: str, name: str = "stock.yaml") -> Path:
    file = folder / name
    file.write_text(text, encoding="utf-8")
    return file


ANSWERED = [
    "builds",
    "match camera-slider",
    "match pen-plotter --top 2",
    "why drawer-rails",
    "why camera-slider slide.motor=m4",
    "gaps",
    "gaps pen-plotter lab-supply",
    "stock list",
    "stock list --kind 'Stepper Motor'",
    "stock check",
    "recipe list",
    "recipe show lab-supply",
]


# ------------------------------------------------------------------ answers as text


@pytest.mark.parametrize("line", ANSWERED)
def test_a_question_is_answered_in_eighty_columns_and_without_a_word_on_standard_error(
    fitter: Command, line: str
) -> None:
    done = fitter(line)
    assert (done.status, done.err) == (0, "")
    assert len(done.out) > 60
    assert max(map(cell_len, done.out.splitlines())) <= 80
    assert "\x1b" not in done.out


def test_top_says_how_many_sets(fitter: Command) -> None:
    assert "Set 2: " not in fitter("match drawer-rails").out
    assert "Set 2: " in fitter("match pen-plotter --top 2").out


def test_the_order_shown_is_named(fitter: Command) -> None:
    diverse, ranked = (
        fitter("match camera-slider --top 2"),
        fitter("match camera-slider --top 2 --order ranked"),
    )
    assert "Diverse sets: other motor, driver, supply or transmission." in diverse.out
    assert "Instead, all else as it is" in diverse.out
    assert "Ranked sets: by score, however alike." in ranked.out
    assert "Instead, all else as it is" not in ranked.out
    assert ", differs from set 1 in power.supply" in diverse.out
    assert ", differs from set 1 in ends.sensors" in ranked.out
    assert "No other set differs in what matters." in fitter("match drawer-rails --top 9").out


@pytest.mark.parametrize("line", ["builds", "match pen-plotter", "why pen-plotter", "gaps pen-plotter"])
def test_a_limit_is_said_and_never_taken_for_none(fitter: Command, line: str) -> None:
    for option, name in (("--limit-nodes", "limit of steps"), ("--limit-seconds", "time limit")):
        done = fitter(f"{line} {option} 0")
        assert (done.status, done.err) == (0, "")
        said = " ".join(done.out.split())
        assert f"he search reached its {name} ({option}): this set was put together at once" in said
        assert "out of reach" not in done.out
    assert "reached its" not in fitter(line).out


def test_what_no_search_found_is_never_called_impossible(fitter: Command) -> None:
    """Nothing passes here, but a search that may not look cannot know."""
    pair = "match camera-slider --with motor=m9 --with supply=psu-scan"
    done = fitter(f"{pair} --limit-nodes 0")
    assert done.out.startswith("Motorised camera slider  not known")
    assert "before a set that passes was found; there may be one" in " ".join(done.out.split())
    assert "No set of parts will do" not in done.out
    assert "No set of parts will do" in fitter(pair).out


def test_figures_that_are_compared_stand_in_one_unit(fitter: Command) -> None:
    """Torque needed and torque had differ by a factor of hundreds; they still compare at a glance."""
    rows = [r for r in fitter("match camera-slider").out.splitlines() if r.startswith("torque at speed")]
    assert rows
    for row in rows:
        assert len(set(re.findall(r"m?N m", row))) == 1
    asked = fitter("gaps camera-slider --set travel=8m --json")
    assert asked.status == 0
    for line in fitter("why camera-slider --set travel=8m").out.splitlines():
        if match := re.search(r"need [\d.]+ (\w+), have [\d.]+ (\w+)", line):
            assert match[1] == match[2], line


def test_a_rise_of_temperature_is_called_one(fitter: Command) -> None:
    assert re.search(
        r"junction temperature \(output\) +\S+ K rise +\S+ K rise", fitter("match lab-supply").out
    )
    assert re.search(r"rises by \S+ K, may rise by \S+ K", fitter("why lab-supply").out)


def test_a_demand_is_changed(fitter: Command) -> None:
    assert "drawer-rails  out of reach" in fitter("builds --set 'extension = 1.9 m'").out


def test_help_and_version_are_answers(fitter: Command) -> None:
    for line in ("", "--help", "match --help", "stock --help", "recipe show --help"):
        done = fitter(line)
        assert (done.status, done.err) == (0, "")
        assert done.out.startswith("Usage: fitter")
        assert max(map(len, done.out.splitlines())) <= 80
    assert re.fullmatch(r"fitter \d+\.\d+\.\d+\n", fitter("--version").out)


def test_every_command_says_what_it_does_in_one_line(fitter: Command) -> None:
    for line in ("--help", "stock --help", "recipe --help", "identify --help"):
        for row in fitter(line).out.partition("Commands:\n")[2].splitlines():
            assert re.fullmatch(r"  [a-z-]+ +\S.*\.", row), row
            assert not row.endswith("...")


def leaves(command: Any, name: str) -> list[str]:
    inner = getattr(command, "commands", None)
    return (
        [name]
        if inner is None
        else [leaf for word, each in inner.items() for leaf in leaves(each, f"{name} {word}")]
    )


def test_every_command_is_in_the_readme() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    commands = leaves(typer.main.get_command(cli.app), "fitter")
    assert len(commands) >= 9
    assert [command for command in commands if command not in readme] == []


# ------------------------------------------------------------------ where the stock is


def test_the_stock_is_named_or_in_the_environment_or_here(
    fitter: Command, slides: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "2 lots, 3 pieces" in fitter("stock list --stock", slides).out
    assert "2 lots, 3 pieces" in fitter("stock list --stock", slides.parent).out
    monkeypatch.setenv("FITTER_STOCK", str(slides))
    assert "2 lots, 3 pieces" in fitter("stock list").out
    for empty in (True, False):
        monkeypatch.setenv("FITTER_STOCK", "") if empty else monkeypatch.delenv("FITTER_STOCK")
        monkeypatch.chdir(tmp_path)
        (tmp_path / "stock").mkdir(exist_ok=True)
        stock(tmp_path / "stock", SLIDES)
        assert "2 lots, 3 pieces" in fitter("stock list").out


def test_a_stock_that_is_not_there_is_said_with_the_remedy(
    fitter: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("FITTER_STOCK")
    for line in ("builds", "match pen-plotter", "why pen-plotter", "gaps", "stock list", "stock check"):
        done = fitter(line)
        assert (done.status, done.out) == (2, "")
        assert done.err == "stock: no such stock; name a file or folder with --stock, or set FITTER_STOCK\n"


def test_lots_with_errors_stop_or_are_left_out(fitter: Command, tmp_path: Path) -> None:
    bad = stock(tmp_path, BAD)
    stopped = fitter("match drawer-rails --stock", bad)
    assert (stopped.status, stopped.out) == (2, "")
    assert [line.partition(": unknown")[0] for line in stopped.err.splitlines()] == [
        f"{bad}:4: lot b1: kind",
        f"{bad}:5: lot b2: teeth: 'A' is a unit of current (got '3 A'); write the count such as `4`",
    ]
    for line in ("match drawer-rails", "builds", "why drawer-rails", "gaps drawer-rails", "stock list"):
        done = fitter(f"{line} --skip-bad --stock", bad)
        assert done.status == 0
        assert [e.partition(": ")[0] for e in done.err.splitlines()] == ["skipped", "skipped"]
        assert f"skipped: {bad}:4: lot b1: kind: unknown kind 'geer'; did you mean 'gear'?" in done.err
        assert done.out


def test_checking_a_stock_says_every_error_and_ends_with_2(fitter: Command, tmp_path: Path) -> None:
    done = fitter("stock check --stock", stock(tmp_path, BAD))
    assert done.status == 2
    assert "did you mean 'gear'?" in done.out
    assert "2 lots in 1 file(s), 2 error(s)" in done.out
    as_json = fitter("stock check --json --stock", stock(tmp_path, BAD))
    assert as_json.status == 2
    assert len(json.loads(as_json.out)["errors"]) == 2


def test_a_table_of_lots_is_a_stock(fitter: Command, tmp_path: Path) -> None:
    table = "id;kind;count;travel [mm];closed_length [mm];load\ns1;drawer slide;2;400;400;30 kg\n"
    done = fitter("match drawer-rails --stock", stock(tmp_path, table, "lots.csv"))
    assert (done.status, done.err) == (0, "")
    assert "s1" in done.out


# ------------------------------------------------------------------ what is wrong


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("bulds", "No such command 'bulds'; did you mean 'builds'?; see `fitter --help`"),
        ("zzz", "No such command 'zzz'; known: builds, donors, gaps, identify, limits, "),
        ("stock lst", "No such command 'lst'; did you mean 'list'?; see `fitter stock --help`"),
        ("stock", "Missing command; known: "),
        (
            "recipe",
            "Missing command; known: list, show, check, new, functions, schema; see `fitter recipe --help`",
        ),
        ("--nope", "No such option: --nope"),
        ("match", "Missing argument 'RECIPE'; see `fitter match --help`"),
        ("recipe show", "Missing argument 'RECIPE'; see `fitter recipe show --help`"),
        ("match a b", "'b' is one word too many; --compare before a function"),
        ("match pen-plotter --topp 2", "No such option: --topp"),
        ("match pen-plotter --top", "Option '--top' requires an argument"),
        ("match pen-plotter --top 0", "Invalid value for '--top'"),
        ("match pen-plotter --top 101", "Invalid value for '--top'"),
        ("match pen-plotter --top many", "Invalid value for '--top'"),
        ("match pen-plotter --order best", "Invalid value for '--order'"),
        ("builds --limit-seconds soon", "Invalid value for '--limit-seconds'"),
        ("builds --limit-seconds nan", "--limit-seconds"),
        ("gaps --limit-nodes -1", "Invalid value for '--limit-nodes'"),
        ("match pen-ploter", "no recipe 'pen-ploter'; did you mean 'pen-plotter'?"),
        ("why nope", "no recipe 'nope'; "),
        ("gaps nope", "no recipe 'nope'"),
        ("recipe show nope", "no recipe 'nope'"),
        ("schema nope", "COMMAND: no JSON of 'nope'; "),
        (
            "match pen-plotter --set speed",
            "--set: a name, = and a value are expected (got 'speed'); such as payload=2kg",
        ),
        ("match pen-plotter --set =3", "--set: a name, = and a value are expected"),
        ("match pen-plotter --set speed=", "--set: a name, = and a value are expected"),
        ("match pen-plotter --set speed=1m/s --set speed=2m/s", "--set: 'speed' is given twice"),
        (
            "match pen-plotter --set speed=3",
            "--set speed: no unit (got '3'); write the speed such as `80 mm/s`",
        ),
        ("match pen-plotter --set speed=3kg", "--set speed: 'kg' is a unit of mass"),
        (
            "match pen-plotter --set speed=9km/s",
            "--set speed: outside what the recipe allows (got '9km/s'); 1 mm/s to 5 m/s",
        ),
        (
            "match pen-plotter --set sped=3m/s",
            "--set: pen-plotter has no demand 'sped'; did you mean 'speed'?",
        ),
        ("gaps pen-plotter --set payload=3kg", "--set: no demand 'payload' in pen-plotter; known: "),
        ("builds --set paylod=3kg", "--set: no recipe has a demand 'paylod'; did you mean 'payload'?"),
        ("match camera-slider --with motor", "--with: a name, = and a value are expected"),
        ("match camera-slider --with motr=m1", "no role 'motr'"),
        ("match camera-slider --with motor=m111", "no lot 'm111' in stock; did you mean 'm11'?"),
        ("match camera-slider --with motor=rod1", "rod1 is a rod"),
        ("why camera-slider motor", "ROLE=LOT: a name, = and a value are expected"),
        ("why camera-slider motor=las1", "las1 is never placed"),
        ("match camera-slider --without m111", "--without: no lot 'm111' in stock; did you mean 'm11'?"),
        ("stock list --kind steper", "--kind: unknown kind 'steper'"),
        ("builds --recipes nowhere", "nowhere: no such recipes; name a file or folder with --recipes"),
        (
            "builds --stock nowhere",
            "nowhere: no such stock; name a file or folder with --stock, or set FITTER_STOCK",
        ),
        ("match 'a\x1b[31m\nb'", "no recipe 'a\\x1b[31m\\nb'"),
        ("match camera-slider --with 'mo\x1btor\n=m1'", "no role 'mo\\x1btor'"),
    ],
)
def test_bad_input_is_one_clear_line_and_status_2(fitter: Command, line: str, says: str) -> None:
    done = fitter(line)
    assert (done.status, done.out) == (2, "")
    (only,) = done.err.splitlines()
    assert says in only
    assert only.isprintable()
    assert "Traceback" not in done.err


def test_errors_of_own_recipes_are_lines_with_their_place(fitter: Command, tmp_path: Path) -> None:
    recipe = stock(
        tmp_path, "recipe: mine\nfunctions:\n  a: {function: suply}\n  b: {functin: supply}\n", "mine.yaml"
    )
    for line in ("builds", "recipe list", "recipe show mine", "gaps"):
        done = fitter(f"{line} --recipes", recipe)
        assert (done.status, done.out) == (2, "")
        assert [e.partition(": unknown")[0] for e in done.err.splitlines()] == [
            f"{recipe}:3: functions.a.function",
            f"{recipe}:4: functions.b.function",
        ]


def test_a_fault_of_ours_is_said_without_a_traceback(
    fitter: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("two\nlines")

    monkeypatch.setattr(listings, "list_stock", fail)
    done = fitter("stock list")
    assert (done.status, done.out) == (1, "")
    assert done.err.splitlines() == [
        "a fault of fitter, not of your files: RuntimeError: two\\nlines",
        "set FITTER_TRACEBACK=1 and run it again for the details to report",
    ]


def test_a_traceback_is_shown_when_it_is_asked_for(fitter: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(listings, "list_stock", lambda *_, **__: 1 / 0)
    monkeypatch.setenv("FITTER_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        cli.run(["stock", "list"])


def test_stopping_by_hand_ends_cleanly(fitter: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(answers, "builds", stop)
    done = fitter("builds")
    assert (done.status, done.out, done.err) == (130, "", "stopped\n")


def test_pairs_of_names_and_values() -> None:
    assert cli.pairs(["a=1", " b = x=y "], "--set") == {"a": "1", "b": "x=y"}
    assert cli.pairs(None, "--set") == {}
    with pytest.raises(FitterError, match="given twice"):
        cli.pairs(["a=1", "a=1"], "--set")


# ------------------------------------------------------------------ text from files


HOSTILE = r"""
lots:
  - {id: "[red]s1[/red]", kind: drawer slide, count: 2, travel: 400 mm, closed_length: 400 mm, load: 30 kg,
     name: "[bold]x[/bold] [link=http://x]y[/link] \e[31mred\e[0m \a\b\r end", bin: "[/nope] {0} %s \u202e"}
  - {id: "[/]", kind: lamp inverter}
  - {id: "[blink]u[/blink]", kind: drawer slide, count: 2, condition: untested, name: ":smile: [@click=x]"}
"""


@pytest.mark.parametrize(
    "line",
    [
        "stock list",
        "match drawer-rails --top 3",
        "why drawer-rails",
        "builds",
        "gaps camera-slider",
        "stock check",
    ],
)
def test_markup_and_control_characters_in_names_are_shown_and_do_nothing(
    fitter: Command, tmp_path: Path, line: str
) -> None:
    done = fitter(f"{line} --stock", stock(tmp_path, HOSTILE))
    assert (done.status, done.err) == (0, "")
    assert all(c.isprintable() or c == "\n" for c in done.out)
    if line == "stock list":
        assert "[/]" in done.out
        assert "[red]s1[/red]" in done.out
        assert "[/nope] {0} %s" in done.out.replace("\n", " ")
    if line.startswith("match"):
        seen = " ".join(done.out.split())
        assert "[bold]x[/bold]" in seen
        assert "\\x1b[31mred" in seen


MARKED = r"""
recipe: marked
title: "[/nope] [red]tray[/red] \e[31m"
about: "[/about]"
hours: "[/hours]"
tools: "[/tools]"
demands:
  load: {value: 8 kg, quantity: mass, help: "[/help]"}
functions:
  rails: {function: guide, principles: [slides], travel: 350 mm, mass: load}
"""


def test_markup_in_own_recipes_is_shown_and_does_nothing(fitter: Command, tmp_path: Path) -> None:
    own = stock(tmp_path, MARKED, "marked.yaml")
    for line in ("recipe list", "recipe show marked", "match marked", "builds", "gaps marked"):
        done = fitter(f"{line} --recipes", own)
        assert (done.status, done.err) == (0, "")
        assert "[/" in done.out or line == "builds"
        assert all(c.isprintable() or c == "\n" for c in done.out)


def test_an_id_may_hold_a_dot(fitter: Command, tmp_path: Path) -> None:
    dotted = SLIDES.replace("s1", "s1.2").replace("bin: here", "condition: untested")
    assert (
        "to try: s1.2, whether it works" in fitter("match drawer-rails --stock", stock(tmp_path, dotted)).out
    )


def test_names_in_errors_are_harmless_too(fitter: Command, tmp_path: Path) -> None:
    text = r'lots: [{id: "[red]\e[31m\n", kind: "ge\aar", "te\eth": 3}]'
    done = fitter("builds --stock", stock(tmp_path, text))
    assert done.status == 2
    (line,) = done.err.splitlines()
    assert line.isprintable()
    assert "lot [red]\\x1b[31m: kind: unknown kind" in line


def test_long_names_do_not_break_the_columns(fitter: Command, tmp_path: Path) -> None:
    long = stock(tmp_path, SLIDES.replace("s1", "s" * 60).replace("here", "界" * 200))
    for line in ("stock list", "match drawer-rails", "why drawer-rails", "builds"):
        done = fitter(f"{line} --stock", long)
        assert max(map(cell_len, done.out.splitlines())) <= 80
    assert "s" * 20 in fitter("match drawer-rails --stock", long).out


# ------------------------------------------------------------------ JSON


class Maybe:
    """A shape that may be null."""

    def __init__(self, shape: object) -> None:
        self.shape = shape


class Each:
    """A mapping of any names to one shape."""

    def __init__(self, shape: object) -> None:
        self.shape = shape


ENDS = (Maybe(float), Maybe(float))
SPEC = Each({"min": Maybe(float), "max": Maybe(float), "unit": str})
STATE = {"ready", "measure first", "buy first", "out of reach"}
# contract of the project: names and shapes of what --json prints; more names may stand beside these
CONTRACT: dict[str, object] = {
    "builds": {
        "builds": [
            {
                "recipe": str,
                "state": STATE,
                "to_buy": int,
                "to_measure": int,
                "parts": Each(Maybe(str)),
                "why": [str],
            }
        ]
    },
    "match": {
        "recipe": str,
        "outcome": {"complete", "stopped"},
        "sets": [
            {
                "rank": int,
                "state": STATE,
                "parts": Each({"lot": Maybe(str), "offer": str, "buy": Maybe({"spec": SPEC})}),
                "checks": [
                    {
                        "check": str,
                        "roles": [str],
                        "verdict": {"fits", "unproven", "fails"},
                        "need": ENDS,
                        "have": ENDS,
                        "unit": str,
                        "margin": ENDS,
                        "because": [str],
                    }
                ],
            }
        ],
    },
    "gaps": {
        "recipe": str,
        "missing": [
            {
                "role": str,
                "kind": str,
                "count": int,
                "spec": SPEC,
                "donors": [{"machine": str}],
                "price": Maybe(float),
            }
        ],
    },
}


def conforms(value: Any, shape: Any, place: str = "answer") -> None:
    """Whether a JSON value has a shape of the contract."""
    if isinstance(shape, Maybe):
        if value is not None:
            conforms(value, shape.shape, place)
    elif isinstance(shape, Each):
        assert isinstance(value, dict), place
        for name, each in value.items():
            conforms(each, shape.shape, f"{place}.{name}")
    elif isinstance(shape, dict):
        assert isinstance(value, dict), place
        assert set(shape) <= set(value), f"{place} lacks {set(shape) - set(value)}"
        for name, each in shape.items():
            conforms(value[name], each, f"{place}.{name}")
    elif isinstance(shape, list):
        assert isinstance(value, list), place
        for index, each in enumerate(value):
            conforms(each, shape[0], f"{place}[{index}]")
    elif isinstance(shape, tuple):
        assert isinstance(value, list), place
        assert len(value) == len(shape), place
        for index, each in enumerate(shape):
            conforms(value[index], each, f"{place}[{index}]")
    elif isinstance(shape, set):
        assert value in shape, place
    else:
        kinds = (int, float) if shape is float else shape
        assert isinstance(value, kinds), place
        assert not isinstance(value, bool), place


def document(done: Done) -> Any:
    """The one JSON document that standard output holds."""

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    assert (done.status, done.err) == (0, "")
    return json.loads(done.out, parse_constant=refuse)


SCHEMA_OF = {"stock list": "stock-list", "stock check": "stock-check", "recipe list": "recipe-list",
             "recipe show": "recipe-show", "match drawer-rails --compare": "match-compare"}  # fmt: skip
IN_JSON = [
    "builds",
    "match camera-slider",
    "match drawer-rails --set extension=1.9m",
    "match pen-plotter --top 2 --limit-nodes 0",
    "match camera-slider --top 2 --order ranked",
    "why drawer-rails",
    "gaps lab-supply drawer-rails",
    "gaps drawer-rails --set extension=1.9m",
    "measure",
    "measure m9",
    "measure las1",
    "plan drawer-rails lab-supply",
    "match drawer-rails --compare rails",
    "limits drawer-rails load extension",
    "limits lab-supply current --limit-seconds 0",
    "uses sl1",
    "uses las1",
    "uses",
    "donors",
    "donors drawer-rails --set extension=1.9m",
    "donors --at scanner",
    "stock list",
    "stock check",
    "recipe list",
    "recipe show lab-supply",
]


@pytest.mark.parametrize("line", IN_JSON)
def test_json_is_one_document_that_keeps_contract_and_schema(fitter: Command, line: str) -> None:
    value = document(fitter(f"{line} --json"))
    command = next((s for c, s in SCHEMA_OF.items() if line.startswith(c)), line.split()[0])
    shape = CONTRACT.get("match" if command == "why" else command)
    for each in value["gaps"] if command == "gaps" and "gaps" in value else [value]:
        if shape is not None:
            conforms(each, shape)
    schema = document(fitter(f"schema {command}"))
    jsonschema.Draft202012Validator(schema).validate(value)
    for number in numbers(value):
        assert math.isfinite(number)


def numbers(value: Any) -> list[float]:
    if isinstance(value, dict | list):
        inner = value.values() if isinstance(value, dict) else value
        return [n for each in inner for n in numbers(each)]
    return [value] if isinstance(value, float) else []


def test_a_build_whose_parts_are_all_owned_buys_nothing(fitter: Command) -> None:
    (best,) = document(fitter("match drawer-rails --json"))["sets"]
    assert [part["buy"] for part in best["parts"].values()] == [None]
    assert all(part["lot"] for part in best["parts"].values())
    missing = document(fitter("match pen-plotter --json"))["sets"][0]["parts"]
    assert any(part["buy"] and part["lot"] is None for part in missing.values())


def test_quantities_in_json_are_si(fitter: Command) -> None:
    (best,) = document(fitter("match drawer-rails --json --set extension=35cm"))["sets"]
    travel = next(c for c in best["checks"] if c["check"] == "travel of the slides")
    assert travel["need"] == [0.35, 0.35]
    assert travel["unit"] == "m"


def test_gaps_of_one_and_of_several(fitter: Command) -> None:
    assert document(fitter("gaps lab-supply --json"))["recipe"] == "lab-supply"
    assert {each["recipe"] for each in document(fitter("gaps --json"))["gaps"]} == set(load_recipes())


def test_no_json_when_input_is_bad(fitter: Command, tmp_path: Path) -> None:
    for line in ("match nope --json", "builds --json --set a=1", "stock list --json --kind zz"):
        done = fitter(line)
        assert (done.status, done.out) == (2, "")
    skipping = fitter("stock list --json --skip-bad --stock", stock(tmp_path, BAD))
    assert len(json.loads(skipping.out)["lots"]) == 2
    assert skipping.err.count("skipped: ") == 2


def test_schemas_are_valid_and_say_what_is_wrong(fitter: Command) -> None:
    everything = document(fitter("schema"))
    assert {*CONTRACT, "why"} <= set(everything)
    for name, schema in everything.items():
        jsonschema.Draft202012Validator.check_schema(schema)
        assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
        assert schema == document(fitter(f"schema {name}"))
    good = document(fitter("builds --json"))
    for change in ({"state": 5}, {"to_buy": "two"}, {"parts": {"a": 1}}, {"why": "because"}):
        broken = {"builds": [{**good["builds"][0], **change}]}
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.Draft202012Validator(everything["builds"]).validate(broken)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(everything["match"]).validate({"recipe": "x"})


def test_schemas_name_all_of_the_contract(fitter: Command) -> None:
    """Names that the contract promises are properties of the schema, and required."""
    for command, shape in CONTRACT.items():
        text = json.dumps(document(fitter(f"schema {command}")))
        for name in promised(shape):
            assert f'"{name}": {{' in text
            assert f'"{name}"' in text.partition('"required"')[2]


def promised(shape: object) -> set[str]:
    if isinstance(shape, Maybe | Each):
        return promised(shape.shape)
    if isinstance(shape, dict):
        return set(shape).union(*map(promised, shape.values()))
    return set().union(*map(promised, shape)) if isinstance(shape, list | tuple) else set()


# ------------------------------------------------------------------ as a process of its own


def environment(**more: str) -> Mapping[str, str]:
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("FITTER_", "PYTHONIO", "LC_", "LANG"))}
    return {**kept, "FITTER_STOCK": str(SHED), "PYTHONPATH": str(ROOT), **more}


def start(line: str, **more: str) -> subprocess.Popen[bytes]:
    words = [sys.executable, "-m", "fitter", *shlex.split(line)]
    return subprocess.Popen(
        words,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
        env=environment(**more),
    )


@pytest.mark.parametrize("line", ["stock list", "stock list --json"])
def test_a_closed_pipe_ends_quietly(line: str) -> None:
    process = start(line)
    assert process.stdout is not None
    process.stdout.close()
    assert process.stderr is not None
    assert (process.stderr.read(), process.wait(30)) == (b"", 0)


def test_an_interrupt_ends_quietly(tmp_path: Path) -> None:
    """The interrupt comes while the command waits for an answer, so surely while it is at work."""
    words = [sys.executable, "-m", "fitter", "stock", "add", "--ask", "--stock", str(tmp_path / "s.yaml")]
    pipe = subprocess.PIPE
    process = subprocess.Popen(words, stdin=pipe, stdout=pipe, stderr=pipe, env=environment())
    assert process.stderr is not None
    assert process.stderr.read(1)  # the first letter of the first question
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=30)
    assert (process.returncode, out) == (130, b"")
    assert err.endswith(b"stopped\n")
    assert b"Traceback" not in err


def test_a_terminal_without_our_letters_still_gets_an_answer() -> None:
    process = start("recipe show lab-supply", PYTHONIOENCODING="ascii")
    out, err = process.communicate(timeout=30)
    assert (process.returncode, err) == (0, b"")
    assert rb"35 \xb0C" in out
    process = start("stock list --json", PYTHONIOENCODING="latin-1")
    out, err = process.communicate(timeout=30)
    assert (process.returncode, err) == (0, b"")
    assert json.loads(out.decode("ascii"))["lots"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full device on this system")
def test_a_full_disk_is_said() -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "fitter", "recipe", "list"], stdout=full, stderr=subprocess.PIPE,
            env=environment(), timeout=30, check=False,
        )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr == b"cannot go on: [Errno 28] No space left on device\n"
