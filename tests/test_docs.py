"""README.md and DEVELOPERS.md are true: their commands run, their samples work, their output is current.

When output has changed on purpose, ``FITTER_UPDATE_DOCS=1 pytest tests/test_docs.py`` writes it anew.
"""

from __future__ import annotations

import contextlib
import importlib.util
import io
import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import typer
import yaml
from test_import_direction import MAY_IMPORT

from fitter import cli, words
from fitter.checks.base import Verdict
from fitter.kinds import KINDS, Kind, Spec
from fitter.ratings import parse_rating
from fitter.recipes import load_recipes
from fitter.solve.builds import State
from fitter.units import QUANTITIES, FitterError, parse

ROOT = Path(__file__).parents[1]
GOLDENS = ROOT / "tests" / "recipes" / "goldens"
PAGES = ("README.md", "DEVELOPERS.md")
UPDATE = bool(os.environ.get("FITTER_UPDATE_DOCS"))
REMEDY = "if that is right, run `FITTER_UPDATE_DOCS=1 pytest tests/test_docs.py` and read what it changed"

_FENCE = re.compile(
    r"(?:<!-- (?P<marker>[^\n]+?) -->\n)?^```(?P<language>\w+)\n(?P<body>.*?)^```$", re.M | re.S
)


@dataclass(frozen=True)
class Block:
    """A fenced block of a page, with the marker above it."""

    page: str
    marker: str
    language: str
    body: str
    start: int
    end: int

    def named(self, word: str) -> str | None:
        """What follows ``word: `` in the marker; nothing if it is another marker."""
        head, _, rest = self.marker.partition(": ")
        return rest if head == word else None


def text_of(page: str) -> str:
    return (ROOT / page).read_text(encoding="utf-8")


def blocks(page: str) -> list[Block]:
    return [
        Block(page, m["marker"] or "", m["language"], m["body"], m.start("body"), m.end("body"))
        for m in _FENCE.finditer(text_of(page))
    ]


def marked(word: str, *pages: str) -> list[Block]:
    return [b for page in pages or PAGES for b in blocks(page) if b.named(word) is not None]


def commands(page: str) -> Iterator[str]:
    """Those that are not run anyhow because their output is shown."""
    shown = {b.marker.removeprefix("output of: ").partition(" | up to: ")[0] for b in blocks(page)}
    for block in blocks(page):
        if block.language == "sh":
            lines = (line for line in block.body.splitlines() if line.startswith("fitter "))
            yield from (line for line in lines if line not in shown)


# ---------------------------------------------------------------- where commands are run


def lay_out(folder: Path) -> None:
    """The files that a reader of both pages has in front of them."""
    shutil.copytree(ROOT / "inventory_examples", folder / "inventory_examples")
    for block in marked("file"):
        place = folder / str(block.named("file"))
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(block.body, encoding="utf-8")


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bench")
    lay_out(folder)
    shutil.rmtree(folder / "fitter")
    return folder


@pytest.fixture(scope="module")
def extended(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The package with the samples of DEVELOPERS.md put where that page says."""
    folder = tmp_path_factory.mktemp("extended")
    shutil.copytree(ROOT / "fitter", folder / "fitter", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "recipes", folder / "recipes")
    lay_out_files = [b for b in marked("file") if str(b.named("file")).startswith("fitter/")]
    assert all(not (ROOT / str(b.named("file"))).exists() for b in lay_out_files), (
        "a sample would replace a module"
    )
    lay_out(folder)
    for package, name in re.findall(
        r"Add `(\w+)` to the import list in `(fitter/\w+)/", text_of("DEVELOPERS.md")
    ):
        enlist(folder / name / "__init__.py", package)
    return folder


def enlist(init: Path, name: str) -> None:
    """Add a name to the import list of a package."""
    text = init.read_text(encoding="utf-8")
    first = re.search(r"^from fitter\.\w+ import \(.*\n", text, re.M)
    assert first, f"{init} has no import list any more: DEVELOPERS.md must say how modules are found"
    init.write_text(text[: first.end()] + f"    {name},\n" + text[first.end() :], encoding="utf-8")


def environment() -> dict[str, str]:
    kept = {
        k: v
        for k, v in os.environ.items()
        if not k.startswith("FITTER_") and k not in ("COLUMNS", "FORCE_COLOR")
    }
    return {**kept, "FITTER_STOCK": "inventory_examples/repair_shed", "PYTHONIOENCODING": "utf-8"}


Runner = Callable[[str, str], tuple[int, str, str]]


@pytest.fixture
def run(bench: Path, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Runner:
    """Runs a command of a page; those of DEVELOPERS.md with its samples in place."""

    def here(command: str) -> tuple[int, str, str]:
        monkeypatch.chdir(bench)
        for name in {*os.environ} - {*environment()}:
            monkeypatch.delenv(name)
        monkeypatch.setenv("FITTER_STOCK", environment()["FITTER_STOCK"])
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            status = cli.run(shlex.split(command)[1:])
        return status, out.getvalue(), err.getvalue()

    def apart(command: str) -> tuple[int, str, str]:
        folder = request.getfixturevalue("extended")
        words_ = [sys.executable, "-m", "fitter", *shlex.split(command)[1:]]
        done = subprocess.run(
            words_, cwd=folder, env={**environment(), "PYTHONPATH": str(folder)}, capture_output=True,
            text=True, encoding="utf-8", check=False, stdin=subprocess.DEVNULL,
        )  # fmt: skip
        return done.returncode, done.stdout, done.stderr

    return lambda page, command: here(command) if page == "README.md" else apart(command)


# ---------------------------------------------------------------- what is shown


def cut(output: str, up_to: str) -> str:
    """Output without the blanks at the ends of lines, up to the line that starts with a text."""
    lines = [line.rstrip() for line in output.splitlines()]
    if up_to:
        places = [i for i, line in enumerate(lines) if line.lstrip().startswith(up_to)]
        assert places, f"no line starts with {up_to!r}"
        lines = [*lines[: places[0]], "..."]
    return "\n".join(lines).strip("\n") + "\n"


def _places(word: str) -> list[object]:
    return [pytest.param(b.page, b.marker, id=f"{b.page}: {b.named(word)}") for b in marked(word)]


@pytest.mark.parametrize(("page", "marker"), _places("output of"))
def test_output_shown_is_what_the_command_prints(page: str, marker: str, run: Runner) -> None:
    block = next(b for b in blocks(page) if b.marker == marker)
    command, _, up_to = marker.removeprefix("output of: ").partition(" | up to: ")
    status, out, err = run(page, command)
    assert status == 0, err
    shown = cut(out, up_to)
    if UPDATE:
        text = text_of(page)
        (ROOT / page).write_text(text[: block.start] + shown + text[block.end :], encoding="utf-8")
    else:
        assert block.body == shown, f"{page} no longer shows what `{command}` prints; {REMEDY}"


@pytest.mark.parametrize(
    ("page", "command"), [pytest.param(p, c, id=f"{p}: {c}") for p in PAGES for c in commands(p)]
)
def test_command_is_answered(page: str, command: str, run: Runner) -> None:
    status, out, err = run(page, command)
    assert status == 0, err
    assert out.strip()


def written_down(name: str, lines: list[str]) -> None:
    """Hold a list that follows from the code against the README, where ``<!-- name -->`` starts it."""
    text = text_of("README.md")
    head, start, rest = text.partition(f"<!-- {name} -->\n")
    body, end, tail = rest.partition("<!-- end -->")
    assert start, f"README.md has no section {name}"
    assert end
    wanted = "\n".join(lines) + "\n"
    if UPDATE:
        (ROOT / "README.md").write_text(head + start + wanted + end + tail, encoding="utf-8")
    else:
        assert body == wanted, f"the list '{name}' of README.md is out of date; {REMEDY}"


def test_projects_are_listed_with_their_states() -> None:
    """The states are those of the goldens, which tests hold against the search."""
    goldens = {f.stem: yaml.safe_load(f.read_text(encoding="utf-8")) for f in GOLDENS.glob("*.yaml")}
    stocks = sorted({stock for golden in goldens.values() for stock in golden})
    heads = [stock.removesuffix(".yaml").replace("_", " ") for stock in stocks]
    rows = [
        " | ".join((f"| `{r.name}`", r.title, *(_state(goldens[r.name][stock]) for stock in stocks))) + " |"
        for r in load_recipes().values()
    ]
    head = f"| recipe | project | {' | '.join(heads)} |"
    written_down("projects", [head, "|" + "---|" * (2 + len(stocks)), *rows])


def _state(golden: dict[str, Any]) -> str:
    return golden["state"] + (f", {golden['to_buy']}" if golden["to_buy"] else "")


def test_kinds_and_ratings_are_listed() -> None:
    rows = [
        f"| {k.name} | {', '.join(_ratings(k))} |"
        for k in sorted(KINDS.values(), key=lambda k: k.name)
        if not k.refused
    ]
    written_down("kinds", ["| kind | ratings |", "|---|---|", *rows])


def _ratings(kind: Kind) -> Iterator[str]:
    for name, spec in kind.ratings.items():
        yield f"`{name}`{_note(spec)}"
    if kind.rails is not None:
        yield f"`{kind.rails_name}` (each {', '.join(f'`{n}`' for n in kind.rails)})"


def _note(spec: Spec) -> str:
    if spec.choices:
        return f" ({', '.join(spec.choices)})"
    return "*" if spec.window else ""


def test_what_is_never_placed_is_listed() -> None:
    written_down("never placed", [f"- {k.name}: {k.refused}" for k in KINDS.values() if k.refused])


# ---------------------------------------------------------------- what is said


def leaves(command: object, name: str = "fitter") -> Iterator[str]:
    """All commands by the words that call them."""
    inner = getattr(command, "commands", None)
    if inner is None:
        yield name
        return
    for word, each in inner.items():
        yield from leaves(each, f"{name} {word}")


def documented() -> set[str]:
    table = text_of("README.md").partition("## Commands")[2].partition("\n## ")[0]
    return {
        " ".join(re.findall(r"[a-z][a-z-]*", m[1].partition(" [")[0]))
        for m in re.finditer(r"^\| `(fitter [^`]+)`", table, re.M)
    }


def test_every_command_is_in_the_readme_and_nothing_else() -> None:
    assert documented() == set(leaves(typer.main.get_command(cli.app)))


def options(command: object) -> set[str]:
    inner = getattr(command, "commands", {})
    own = {o for p in getattr(command, "params", ()) for o in p.opts if o.startswith("--")}
    return own.union(*(options(each) for each in inner.values()))


def test_every_option_is_in_the_readme() -> None:
    missing = {o for o in options(typer.main.get_command(cli.app)) if o not in text_of("README.md")}
    assert missing <= {"--version", "--help"}


def test_every_verdict_and_state_is_explained() -> None:
    rows = set(re.findall(r"^\| ([a-z ]+) \|", text_of("README.md"), re.M))
    assert {v.value for v in Verdict} | {s.value for s in State} <= rows


def test_values_are_taken_as_the_table_says() -> None:
    table = text_of("README.md").partition("<!-- table: current -->")[2].partition("\n\n")[0]
    rows = re.findall(r"^\| `([^`]+)`.*?\| `([^`]+)` \|$", table, re.M)
    assert len(rows) == 9
    spec = KINDS["stepper motor"].ratings["rated_current"]
    for written, taken in rows:
        rating = parse_rating(written, spec.quantity, tolerance=spec.tolerance, plausible=spec.range)
        assert words.span((rating.lo, rating.hi), "current") == taken, written


def test_units_of_the_readme_are_read() -> None:
    paragraph = text_of("README.md").partition("**Units**")[2].partition(" A number without")[0]
    spellings = re.findall(r"`([^`]+)`", paragraph)
    assert len(spellings) >= 10
    for text in spellings:
        assert any(_reads(text, quantity) for quantity in QUANTITIES), text


def _reads(text: str, quantity: str) -> bool:
    try:
        parse(text, quantity)
    except FitterError:
        return False
    return True


def test_stock_of_the_readme_is_in_order(bench: Path, run: Runner) -> None:
    status, out, _ = run("README.md", "fitter stock check --stock my-stock.yaml")
    assert status == 0
    assert out.startswith("3 lots in 1 file(s), 0 error(s)")
    status, out, _ = run("README.md", "fitter stock check --stock my-table.csv")
    assert status == 0
    assert out.startswith("2 lots in 1 file(s), 0 error(s)")


def test_code_quoted_from_the_package_stands_there() -> None:
    found = marked("from")
    assert found
    for block in found:
        assert block.body in text_of(str(block.named("from"))), block.marker


def test_modules_named_in_the_guide_exist() -> None:
    text = text_of("DEVELOPERS.md")
    samples = {b.named("file") for b in marked("file")}
    for path in {
        *re.findall(r"`((?:fitter|tests|recipes)/[\w/]+\.\w+)`", text),
        *re.findall(r"\]\(([\w/.]+)\)", text),
    }:
        assert path in samples or (ROOT / path).exists(), path


def test_names_in_the_guide_exist() -> None:
    names = re.findall(r"`((?:[a-z_]+\.)+[A-Za-z_]+)`", text_of("DEVELOPERS.md"))
    modules = {p.stem for p in (ROOT / "fitter").iterdir()} - {"__init__", "__main__"}
    checked = [n for n in names if n.partition(".")[0] in modules and not n.endswith((".py", ".yaml"))]
    assert len(checked) >= 8
    for name in checked:
        assert _exists(f"fitter.{name}"), name


def _exists(name: str) -> bool:
    module, _, attribute = name.rpartition(".")
    with contextlib.suppress(ImportError):
        if hasattr(importlib.import_module(module), attribute):
            return True
    return importlib.util.find_spec(name) is not None


def layers() -> dict[str, int]:
    """Modules and packages by their row in the table of the guide's section on shape."""
    table = text_of("DEVELOPERS.md").partition("## The shape")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| (`[^|(]+) \|", table, re.M)
    return {n: rank for rank, row in enumerate(rows) for n in re.findall(r"`([a-z_]+)(?:\.py|/)`", row)}


def test_the_guide_shows_the_layers_as_they_are() -> None:
    rank = layers()
    commands = {name for name in MAY_IMPORT if name.endswith("_commands")}  # one row for all of them
    assert rank.keys() == MAY_IMPORT.keys() - commands - {"__init__", "__main__"}
    for module, others in MAY_IMPORT.items():
        below = [o for o in others & rank.keys() if module in rank and rank[o] > rank[module]]
        assert not below, f"{module} may import {below}, which the guide puts below it"


def test_samples_of_the_guide_make_a_build(run: Runner) -> None:
    """The buzzer that is loud enough and stands the rail is ready; the other one wants another supply."""
    sets = "--recipes chime.yaml --stock two_buzzers.yaml"
    status, out, err = run("DEVELOPERS.md", f"fitter match chime {sets}")
    assert status == 0, err
    assert out.startswith("Door chime  ready")
    assert "heard at" in out
    _, out, _ = run("DEVELOPERS.md", f"fitter why chime bell.buzzer=bz2 {sets}")
    assert out.startswith("Door chime  buy first")
    _, out, _ = run("DEVELOPERS.md", f"fitter why chime bell.buzzer=bz2 power.supply=brick {sets}")
    assert out.startswith("Door chime  out of reach")
    assert "highest supply voltage" in out.partition("fails")[2]


# ---------------------------------------------------------------- what is run elsewhere


def test_lines_to_paste_are_single_lines() -> None:
    lines = {b.named("run"): b.body for b in marked("run", "README.md")}
    assert set(lines) == {"start", "test"}
    assert all(line.count("\n") == 1 for line in lines.values())


def test_ci_runs_the_lines_that_are_printed() -> None:
    if shutil.which("bash") is None:
        pytest.skip("no bash")
    for block in marked("run", "README.md"):
        done = subprocess.run(
            ["bash", ".ci/run", "--print", str(block.named("run"))], cwd=ROOT, capture_output=True, text=True,
            check=True, stdin=subprocess.DEVNULL,
        )  # fmt: skip
        assert done.stdout == block.body
