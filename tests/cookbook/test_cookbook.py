"""Recipes listed, shown, checked and begun, and the schema of their files."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import jsonschema
import pytest
import yaml

from fitter import cli
from fitter.cookbook.answers import check_recipes, list_functions, list_recipes, show_recipe
from fitter.cookbook.diagrams import chains
from fitter.cookbook.schema import recipe_schema
from fitter.cookbook.starting import begin
from fitter.errors import FitterError
from fitter.functions import FUNCTIONS
from fitter.projects import bind_figures
from fitter.recipes import SHIPPED, Recipe, bind, load_recipes

GOOD = """recipe: my-lift
title: Lift
about: Lifts a tool tray.
difficulty: easy
hours: "4"
tools: saw
cautions: [pinch]
demands:
  load: {value: 2 kg, quantity: mass, least: 0.1 kg, most: 9 kg, help: what it lifts}
  height: {value: 200 mm, quantity: length, least: 50 mm, most: 0.5 m, help: how far}
functions:
  lift:
    function: linear_axis
    principles: [stepper and screw]
    travel: height
    mass: load + 0.5 kg
    speed: height / 20 s
    incline: 90 deg
    power: power
    control: control
  power: {function: supply}
  control: {function: control, power: power}
"""


@pytest.fixture(scope="module")
def shipped() -> dict[str, Recipe]:
    return load_recipes()


@pytest.fixture
def own(tmp_path: Path) -> Path:
    (tmp_path / "my-lift.yaml").write_text(GOOD, encoding="utf-8")
    return tmp_path


def changed(folder: Path, *pairs: tuple[str, str]) -> Path:
    """The good recipe with some words replaced."""
    text = GOOD
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    file = folder / "changed.yaml"
    file.write_text(text, encoding="utf-8")
    return file


# ------------------------------------------------------------------ listed and shown


def test_recipes_are_listed_and_shown(shipped: dict[str, Recipe]) -> None:
    lines = list_recipes(shipped).recipes
    assert [line.recipe for line in lines] == list(shipped)
    assert not any(line.file for line in lines)
    for line in lines:
        shown = show_recipe(shipped, line.recipe)
        assert [d.name for d in shown.demands] == line.demands
        assert all(d.sets for d in shown.demands), "a demand that changes nothing"
        assert all(way.roles and way.diagram for f in shown.functions for way in f.principles)


def test_a_demand_says_which_arguments_follow_from_it(own: Path) -> None:
    shown = show_recipe(load_recipes(own), "my-lift")
    assert {d.name: d.sets for d in shown.demands} == {
        "load": ["lift.mass"],
        "height": ["lift.travel", "lift.speed"],
    }
    assert [(d.least, d.most) for d in shown.demands] == [(0.1, 9), (0.05, 0.5)]
    assert shown.file.endswith("my-lift.yaml")


def test_chains_draw_every_link_of_every_principle_once(shipped: dict[str, Recipe]) -> None:
    for recipe in shipped.values():
        for bound in bind(recipe).functions:
            for way in bound.principles:
                sketch = way.sketch(bound.name, bound.arguments)
                lines = chains(sketch)
                assert sum(line.count("-> ") for line in lines) == len(sketch.links), way.name
                drawn = {word for line in lines for word in line.split()}
                assert {role.split(".")[1] for role in sketch.roles} <= drawn


def test_the_drive_is_one_chain_from_supply_to_load(own: Path) -> None:
    shown = show_recipe(load_recipes(own), "my-lift")
    assert shown.functions[0].principles[0].diagram[0] == (
        "[power] -power-> driver -winding-> motor -shaft-> coupler -shaft-> screw -thread-> load"
    )


# ------------------------------------------------------------------ checked


def test_a_recipe_in_order_is_counted(own: Path) -> None:
    (found,) = check_recipes([own / "my-lift.yaml"]).files
    assert (found.recipe, found.errors, found.advice, found.variants) == ("my-lift", [], [], 2)
    assert found.roles == (
        6,
        8,
    )  # motor, driver, coupler, screw, board, and one unit or the three of a rectifier
    assert 10 < found.checks[0] <= found.checks[1]


def test_shipped_recipes_are_in_order_and_leave_nothing_to_advise() -> None:
    for found in check_recipes(sorted(SHIPPED.glob("*.yaml"))).files:
        assert (found.errors, found.advice) == ([], []), found.file


@pytest.mark.parametrize(
    ("pair", "told"),
    [
        (("height / 20 s", "height / (20 s - load * 10 s/kg)"), "functions.lift.speed: "),
        (("mass: load", "mass: lood"), "changed.yaml:16: functions.lift.mass: "),
        (
            ("recipe: my-lift", "recipe: pen-plotter"),
            "there is a recipe 'pen-plotter' already, among the shipped",
        ),
        (("linear_axis", "linear_axes"), "linear_axis"),
        (("0.1 kg, most", "0.1 kgs, most"), "changed.yaml:9: demands.load.least: "),
    ],
)
def test_what_is_wrong_is_told_with_its_place(tmp_path: Path, pair: tuple[str, str], told: str) -> None:
    (found,) = check_recipes([changed(tmp_path, pair)]).files
    assert any(told in error for error in found.errors), found.errors


def test_arithmetic_that_fails_only_at_an_end_of_a_demand_is_told_with_that_end(tmp_path: Path) -> None:
    """The default of 2 kg comes out; 9 kg makes the speed negative or infinite."""
    (found,) = check_recipes(
        [changed(tmp_path, ("height / 20 s", "height / (9 kg - load) * 1 kg / 20 s"))]
    ).files
    assert len(found.errors) == 1
    assert "with load = 9 kg" in found.errors[0]
    assert "functions.lift.speed" in found.errors[0]


def test_advice_names_what_makers_ask_for(tmp_path: Path) -> None:
    pairs = [("about: Lifts a tool tray.\n", ""), ("cautions: [pinch]\n", ""), (", help: how far", "")]
    (found,) = check_recipes([changed(tmp_path, *pairs, (", most: 9 kg", ""))]).files
    assert found.errors == []
    text = "\n".join(found.advice)
    assert all(word in text for word in ("about", "pinch", "demands.height", "demands.load"))


def test_a_part_that_hangs_on_nothing_is_pointed_out(tmp_path: Path) -> None:
    text = GOOD + "  loose: {function: sense}\n"
    (tmp_path / "loose.yaml").write_text(text, encoding="utf-8")
    (found,) = check_recipes([tmp_path / "loose.yaml"]).files
    assert [line for line in found.advice if "loose.sensors" in line]


# ------------------------------------------------------------------ begun


@pytest.mark.parametrize("function", FUNCTIONS)
def test_a_recipe_begun_for_any_function_is_in_order(function: str, tmp_path: Path) -> None:
    begun = begin("my-own", [function], tmp_path / "my-own.yaml")
    (found,) = check_recipes([Path(begun.file)]).files
    assert found.errors == []
    assert function in begun.functions.values()
    text = Path(begun.file).read_text(encoding="utf-8")
    assert all(f"{name}:" in text for name in FUNCTIONS[function].arguments)
    assert all(len(line) <= 160 for line in text.splitlines())


def test_a_recipe_begun_without_a_word_moves_a_carriage(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert cli.run(["recipe", "new", "tray-shuttle"]) == 0
    assert cli.run(["recipe", "check", "tray-shuttle.yaml"]) == 0
    assert cli.run(["recipe", "show", "tray-shuttle", "--recipes", "tray-shuttle.yaml"]) == 0
    assert "[power] -power-> driver" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["Tray Shuttle"], "NAME: not a name: 'Tray Shuttle'"),
        (["pen-plotter"], "there is a recipe 'pen-plotter' already"),
        (["x", "--function", "linear_axes"], "linear_axis"),
        (["x", "-o", "nowhere/x.yaml"], "nowhere/x.yaml: cannot be written"),
        (["x", "-o", "there.yaml"], "there.yaml: there is such a file already"),
    ],
)
def test_what_cannot_be_begun_is_told(
    words: list[str],
    told: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("there.yaml").write_text("mine", encoding="utf-8")
    assert cli.run(["recipe", "new", *words]) == 2
    assert told in capsys.readouterr().err
    assert Path("there.yaml").read_text(encoding="utf-8") == "mine"
    assert [p.name for p in tmp_path.iterdir()] == ["there.yaml"]


def test_functions_are_listed_with_all_their_arguments() -> None:
    listed = {f.name: f for f in list_functions().functions}
    assert set(listed) == set(FUNCTIONS)
    for name, function in FUNCTIONS.items():
        assert [a.name for a in listed[name].arguments] == list(function.arguments)
        assert list(listed[name].principles) == list(function.principles)


# ------------------------------------------------------------------ the schema of the file


def errors(text: str) -> list[str]:
    validator = jsonschema.Draft202012Validator(recipe_schema())
    return [e.message for e in validator.iter_errors(yaml.load(text, Loader=yaml.BaseLoader))]


def test_the_schema_takes_every_recipe_there_is(tmp_path: Path) -> None:
    jsonschema.Draft202012Validator.check_schema(recipe_schema())
    texts = [f.read_text(encoding="utf-8") for f in SHIPPED.glob("*.yaml")]
    begun = begin("my-own", list(FUNCTIONS), tmp_path / "a.yaml")
    for text in [*texts, GOOD, Path(begun.file).read_text(encoding="utf-8")]:
        assert errors(text) == []


@pytest.mark.parametrize(
    "pair",
    [
        ("function: linear_axis", "function: linear_axes"),
        ("travel: height", "travels: height"),
        ("[stepper and screw]", "[stepper and scew]"),
        ("quantity: mass", "quantity: weight"),
        ("recipe: my-lift", "recipe: My Lift"),
        ("[pinch]", "[punch]"),
        ("    mass: load + 0.5 kg\n", ""),
        ("value: 2 kg, ", ""),
        ("tools:", "tool:"),
    ],
)
def test_the_schema_refuses_what_reading_refuses(tmp_path: Path, pair: tuple[str, str]) -> None:
    file = changed(tmp_path, pair)
    assert errors(file.read_text(encoding="utf-8"))
    assert check_recipes([file]).files[0].errors


def test_the_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["recipe", "schema"]) == 0
    assert json.loads(capsys.readouterr().out) == recipe_schema()


# ------------------------------------------------------------------ a maker's own folder

STOCK = str(Path(__file__).parents[2] / "inventory_examples" / "small_box.yaml")


def test_own_recipes_stand_beside_the_shipped_ones(
    own: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """By the option, by the environment, and from the folder ``own-recipes`` where one works."""

    def named(*more: str) -> dict[str, str]:
        assert cli.run(["recipe", "list", "--json", *more]) == 0
        return {r["recipe"]: r["file"] for r in json.loads(capsys.readouterr().out)["recipes"]}

    monkeypatch.chdir(own)
    assert "my-lift" not in named()
    assert named("--recipes", str(own))["my-lift"]
    monkeypatch.setenv("FITTER_RECIPES", str(own))
    assert named()["my-lift"]
    monkeypatch.setenv("FITTER_RECIPES", "")
    (own / "own-recipes").mkdir()
    (own / "my-lift.yaml").rename(own / "own-recipes" / "my-lift.yaml")
    found = named()
    assert found["my-lift"] == "own-recipes/my-lift.yaml"
    assert set(found) > set(load_recipes())
    assert cli.run(["match", "my-lift", "--stock", STOCK]) == 0


def test_a_name_used_twice_is_said_and_can_be_left_out(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own / "second.yaml").write_text(GOOD, encoding="utf-8")
    arguments = ["builds", "--stock", STOCK, "--recipes", str(own), "--json"]
    assert cli.run(arguments) == 2
    told = capsys.readouterr()
    assert told.err.count("\n") == 1
    assert "second.yaml: recipe: there is a recipe 'my-lift' already, in " in told.err
    assert cli.run([*arguments, "--skip-bad"]) == 0
    left_out = capsys.readouterr()
    assert left_out.err.startswith("skipped: ")
    assert [b["recipe"] for b in json.loads(left_out.out)["builds"]].count("my-lift") == 1


def test_a_broken_recipe_of_ones_own_can_be_left_out(own: Path) -> None:
    changed(own, ("function: linear_axis", "function: levitation"))
    with pytest.raises(FitterError):
        load_recipes(own)
    skipped: list[FitterError] = []
    assert "my-lift" in load_recipes(own, skipped=skipped)
    assert len(skipped) == 1


def test_demands_may_be_taken_to_both_ends_together(shipped: dict[str, Recipe]) -> None:
    """What checking promises holds of the shipped ones for every pair of ends of two demands."""
    for recipe in shipped.values():
        for one, other in itertools.combinations(recipe.demands.values(), 2):
            for ends in itertools.product((one.least, one.most), (other.least, other.most)):
                assert bind_figures(recipe, dict(zip((one.name, other.name), ends, strict=True)))
