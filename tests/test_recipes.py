"""Recipes: the shipped ones keep their contract, and every error of a maker's own says where and what."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitter.advice.data import cautions
from fitter.errors import FitterError, FitterErrors
from fitter.functions import FUNCTIONS
from fitter.recipes import SHIPPED, Recipe, bind, load_recipes, read_recipe
from fitter.units import QUANTITIES, parse

# names of the first four recipes and of their demands: contract of the project
DEMANDS = {
    "pen-plotter": "travel_x travel_y carriage_mass speed acceleration resolution pen_force",
    "camera-slider": "payload travel speed acceleration incline resolution",
    "drawer-rails": "load extension max_closed_length max_play",
    "lab-supply": "voltage current ripple ambient",
}
# defaults of the trade notes for these projects, or the range they allow: common practice, no source
TRADE = {
    "pen-plotter": {
        "travel_x": "300 mm",
        "travel_y": "420 mm",
        "carriage_mass": "0.25 kg",
        "speed": "80 mm/s",
        "acceleration": "1 m/s2",
        "resolution": "0.1 mm",
    },
    "camera-slider": {
        "payload": "1.5 kg",
        "travel": "600 mm..1000 mm",
        "speed": "0.1 mm/s..40 mm/s",
        "resolution": "0.05 mm",
        "incline": "0 deg..90 deg",
    },
    "drawer-rails": {"load": "5 kg..10 kg", "extension": "350 mm", "max_play": "0.2 mm..1 mm"},
    "lab-supply": {
        "voltage": "1.25 V..20 V",
        "current": "0 A..1.5 A",
        "ripple": "0 mV..5 mV",
        "ambient": "35 degC",
    },
}

GOOD = """recipe: my-lift
title: Lift
cautions: [pinch]
demands:
  load: {value: 2 kg, quantity: mass, least: 0.1 kg, most: 9 kg, help: what it lifts}
  height: {value: 200 mm, quantity: length}
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
  power:
    function: supply
  control:
    function: control
    power: power
"""


def write(folder: Path, text: str, name: str = "own.yaml") -> Path:
    file = folder / name
    file.write_text(text, encoding="utf-8")
    return file


def errors_of(file: Path) -> list[FitterError]:
    with pytest.raises(FitterError) as caught:
        read_recipe(file)
    found = caught.value
    return found.errors if isinstance(found, FitterErrors) else [found]


# ------------------------------------------------------------------ the shipped ones


@pytest.fixture(scope="module")
def shipped() -> dict[str, Recipe]:
    return load_recipes()


def test_the_contract_holds(shipped: dict[str, Recipe]) -> None:
    for name, demands in DEMANDS.items():
        assert set(shipped[name].demands) >= set(demands.split())


@pytest.mark.parametrize("name", TRADE)
def test_defaults_are_those_of_the_trade(shipped: dict[str, Recipe], name: str) -> None:
    for demand, text in TRADE[name].items():
        given = shipped[name].demands[demand]
        low, _, high = text.partition("..")
        bounds = parse(low, given.quantity), parse(high or low, given.quantity)
        assert bounds[0] - 1e-12 <= given.value <= bounds[1] + 1e-12, demand


def test_every_shipped_file_is_a_recipe_of_its_own_name(shipped: dict[str, Recipe]) -> None:
    files = {f.stem for f in SHIPPED.glob("*.yaml")}
    assert files == set(shipped)
    assert len(files) >= 4


def test_shipped_recipes_say_what_a_maker_wants_to_know(shipped: dict[str, Recipe]) -> None:
    for recipe in shipped.values():
        assert recipe.title
        assert recipe.about
        assert recipe.hours
        assert recipe.difficulty in ("easy", "medium", "hard")
        assert set(recipe.cautions) <= set(cautions())
        for demand in recipe.demands.values():
            assert demand.help, demand.name
            assert demand.least < demand.value < demand.most or demand.value == demand.least == 0
            assert math.isfinite(demand.least + demand.most)


def test_shipped_recipes_can_be_worked_out_at_both_ends_of_every_demand(shipped: dict[str, Recipe]) -> None:
    for recipe in shipped.values():
        for demand in recipe.demands.values():
            unit = QUANTITIES[demand.quantity].unit
            for value in (demand.least, demand.most):
                text = f"{value!r} {'' if unit == '1' else unit}"
                assert bind(recipe, {demand.name: text}).demands[demand.name] == pytest.approx(
                    value, rel=1e-9
                )


# ------------------------------------------------------------------ binding


def test_a_recipe_is_read_and_bound(tmp_path: Path) -> None:
    recipe = read_recipe(write(tmp_path, GOOD))
    assert (recipe.name, recipe.title, recipe.cautions) == ("my-lift", "Lift", ("pinch",))
    assert recipe.demands["load"].allowed == "100 g to 9 kg"
    project = bind(recipe, {"load": "3 kg"})
    assert project.demands == {"load": 3.0, "height": 0.2}
    lift = next(f for f in project.functions if f.name == "lift")
    assert [p.name for p in lift.principles] == ["stepper and screw"]
    assert lift.arguments["mass"] == 3.5
    assert lift.arguments["speed"] == pytest.approx(0.01)
    assert lift.arguments["incline"] == pytest.approx(math.pi / 2)
    assert lift.arguments["power"] == "power"
    assert lift.arguments["resolution"] == pytest.approx(0.001)
    assert {p.name for p in project.functions[1].principles} == set(FUNCTIONS["supply"].principles)


@pytest.mark.parametrize(
    ("name", "text", "field", "problem", "remedy"),
    [
        ("lode", "2 kg", "--set", "my-lift has no demand 'lode'", "did you mean 'load'?"),
        ("load", "2", "--set load", "no unit", "1.5 kg"),
        ("load", "2 mm", "--set load", "'mm' is a unit of length", "1.5 kg"),
        ("load", "heavy", "--set load", "not a number", "such as"),
        ("load", "20 kg", "--set load", "outside what the recipe allows", "100 g to 9 kg"),
        ("load", "nan kg", "--set load", "not a number", "such as"),
        ("load", "1e400 kg", "--set load", "the number is too large", "less than"),
    ],
)
def test_setting(tmp_path: Path, name: str, text: str, field: str, problem: str, remedy: str) -> None:
    recipe = read_recipe(write(tmp_path, GOOD))
    with pytest.raises(FitterError) as caught:
        bind(recipe, {name: text})
    assert caught.value.field == field
    assert problem in caught.value.problem
    assert remedy in (caught.value.expected or "")


def test_arithmetic_that_fails_for_a_setting_names_the_file_and_the_argument(tmp_path: Path) -> None:
    text = GOOD.replace("height / 20 s", "height * height / (height - 100 mm) / 20 s")
    recipe = read_recipe(write(tmp_path, text))
    with pytest.raises(FitterError) as caught:
        bind(recipe, {"height": "100 mm"})
    assert str(caught.value).startswith(f"{tmp_path}/own.yaml:13: functions.lift.speed: division by zero")


# ------------------------------------------------------------------ what is wrong, with its place


@pytest.mark.parametrize(
    ("old", "new", "line", "field", "problem", "remedy"),
    [
        ("recipe: my-lift", "recipe: My Lift", 1, "recipe", "not a name: 'My Lift'", "hyphens"),
        ("recipe: my-lift", "recipe: my_lift", 1, "recipe", "not a name: 'my_lift'", "hyphens"),
        ("recipe: my-lift", "recipe:", 1, "recipe", "not a name", "hyphens"),
        ("recipe: my-lift", "recipe: [a]", 1, "recipe", "plain text", "recipe"),
        ("title: Lift", "titel: Lift", 2, "titel", "unknown name 'titel'", "did you mean 'title'?"),
        ("title: Lift", "title: {a: b}", 2, "title", "plain text", "title"),
        ("title: Lift", "title: *x", 2, "title", "aliases", "write the value out"),
        ("[pinch]", "[pnch]", 3, "cautions", "unknown caution 'pnch'", "did you mean 'pinch'?"),
        ("[pinch]", "{a: b}", 3, "cautions", "unknown caution", "pinch"),
        ("demands:\n", "demands: none\nabout:\n", 4, "demands", "names with values", "indent"),
        ("{value: 2 kg,", "{", 5, "demands.load", "no value", "value: 1.5 kg"),
        ("value: 2 kg", "value: 2 A", 5, "demands.load.value", "'A' is a unit of current", "kg"),
        ("value: 2 kg", "value: 20 kg", 5, "demands.load.value", "outside what is allowed", "100 g to 9 kg"),
        ("value: 2 kg", "value: [2 kg]", 5, "demands.load.value", "plain text is expected", ""),
        ("least: 0.1 kg", "least: 0.1", 5, "demands.load.least", "no unit", "kg"),
        ("least: 0.1 kg", "lest: 0.1 kg", 5, "demands.load", "unknown name 'lest'", "did you mean 'least'?"),
        (
            "quantity: mass",
            "quantity: mas",
            5,
            "demands.load.quantity",
            "quantity 'mas'",
            "did you mean 'mass'?",
        ),
        ("quantity: mass, ", "", 5, "demands.load.quantity", "unknown quantity ''", "known"),
        (
            "height: {value: 200 mm, quantity: length}",
            "height: 200 mm",
            6,
            "demands.height",
            "not a demand",
            "quantity",
        ),
        (
            "  height:",
            "  load: {value: 1 kg, quantity: mass}\n  height:",
            6,
            "demands.load",
            "stands twice",
            "keep one",
        ),
        (
            "  height:",
            "  m: {value: 1 kg, quantity: mass}\n  height:",
            6,
            "demands.m",
            "'m' is a unit",
            "another name",
        ),
        (
            "  height:",
            "  max: {value: 1 kg, quantity: mass}\n  height:",
            6,
            "demands.max",
            "a word of",
            "another name",
        ),
        (
            "  height:",
            "  A-b: {value: 1 kg, quantity: mass}\n  height:",
            6,
            "demands.A-b",
            "not a name",
            "travel_x",
        ),
        (
            "  height:",
            "  gap: {value: 1 mm, quantity: length}\n  height:",
            6,
            "demands.gap",
            "no function uses",
            "use it",
        ),
        (
            "linear_axis",
            "linear_axes",
            9,
            "functions.lift.function",
            "unknown function",
            "did you mean 'linear_axis'?",
        ),
        (
            "function: linear_axis",
            "function: [a]",
            9,
            "functions.lift.function",
            "unknown function",
            "known: ",
        ),
        ("    function: linear_axis\n", "", 9, "functions.lift.function", "unknown function ''", "known: "),
        (
            "[stepper and screw]",
            "[steper and screw]",
            10,
            "functions.lift.principles",
            "no principle",
            "stepper and s",
        ),
        ("[stepper and screw]", "[]", 10, "functions.lift.principles", "no principle is left", "leave"),
        (
            "travel: height",
            "travle: height",
            11,
            "functions.lift.travle",
            "no argument 'travle'",
            "did you mean 'travel'",
        ),
        (
            "travel: height",
            "travel: heigth",
            11,
            "functions.lift.travel",
            "name 'heigth'",
            "did you mean 'height'?",
        ),
        ("travel: height", "travel: [height]", 11, "functions.lift.travel", "not one value", "how far"),
        ("travel: height", "travel: 2 * load", 11, "functions.lift.travel", "a value of mass", "length"),
        ("load + 0.5 kg", "load + 0.5", 12, "functions.lift.mass", "one comes out", "like values"),
        ("load + 0.5 kg", "load +", 12, "functions.lift.mass", "breaks off", "missing"),
        (
            "    mass: load + 0.5 kg\n",
            "    drag: load\n",
            12,
            "functions.lift.drag",
            "no argument 'drag'",
            "known: ",
        ),
        (
            "incline: 90 deg",
            "holds_unpowered: maybe",
            14,
            "functions.lift.holds_unpowered",
            "not yes or no",
            "stay put",
        ),
        (
            "power: power\n    control: control\n",
            "power: powr\n    control: control\n",
            15,
            "functions.lift.power",
            "no function named 'powr'",
            "did you mean 'power'?",
        ),
        (
            "power: power\n    control: control\n",
            "power: control\n    control: control\n",
            15,
            "functions.lift.power",
            "'control' is a control, which cannot serve here",
            "the supply that feeds it",
        ),
        (
            "    control: control\n",
            "    control: lift\n",
            16,
            "functions.lift.control",
            "'lift' is a linear_axis, which cannot serve here",
            "the control",
        ),
        ("  power:\n", "  the.power:\n", 18, "functions.the.power", "not a name for a function", "x_guide"),
        ("  power:\n", '  "[/b]":\n', 18, "functions.[/b]", "not a name for a function", "x_guide"),
        (
            "    function: supply\n",
            "    - function: supply\n",
            18,
            "functions.power",
            "not a function",
            "indented",
        ),
    ],
)
def test_error(tmp_path: Path, old: str, new: str, line: int, field: str, problem: str, remedy: str) -> None:
    assert old in GOOD
    found = errors_of(write(tmp_path, GOOD.replace(old, new, 1)))
    error = next(e for e in found if e.field == field)
    assert (error.file, error.line) == (str(tmp_path / "own.yaml"), line)
    assert problem in error.problem
    assert remedy in (error.expected or "")
    assert "\n" not in str(error)


def test_a_missing_argument_is_asked_for(tmp_path: Path) -> None:
    (error,) = errors_of(write(tmp_path, GOOD.replace("    speed: height / 20 s\n", "")))
    assert (error.line, error.field) == (9, "functions.lift.speed")
    assert str(error).endswith("this argument is needed; highest speed")


FED = """recipe: tester
title: Tester
demands:
  volts: {value: 12 V, quantity: voltage, least: 1 V, most: 60 V, help: of the source}
functions:
  reading: {function: meter, voltage: volts, power: power}
  power: {function: supply}
"""


def test_a_way_that_needs_another_function_waits_for_its_name(tmp_path: Path) -> None:
    """A display shows nothing without a controller that writes on it."""
    recipe = read_recipe(write(tmp_path, FED))
    assert [p.name for p in recipe.functions["reading"].principles] == ["panel meter"]
    steered = FED.replace("power: power}", "power: power, control: control}")
    steered += "  control: {function: control, power: power}\n"
    recipe = read_recipe(write(tmp_path, steered))
    assert [p.name for p in recipe.functions["reading"].principles] == [
        "panel meter",
        "display on the controller",
    ]
    asked = FED.replace("function: meter,", "function: meter, principles: [display on the controller],")
    (error,) = errors_of(write(tmp_path, asked))
    assert (error.line, error.field) == (6, "functions.reading.principles")
    assert "needs 'control'" in error.problem
    assert "name of another function" in (error.expected or "")


def test_all_errors_are_reported_together(tmp_path: Path) -> None:
    text = (
        GOOD.replace("mass", "mas")
        .replace("supply", "suply")
        .replace("title", "titel")
        .replace("travel:", "tra:")
    )
    found = errors_of(write(tmp_path, text))
    assert [e.field for e in found] == [
        "titel",
        "demands.load.quantity",
        "functions.lift.tra",
        "functions.lift.mas",
        "functions.power.function",
    ]


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "the file is empty"),
        ("title: x\n", "no `recipe:` at the top"),
        ("- a\n", "no `recipe:` at the top"),
        ("recipe: x\n", "a recipe needs functions"),
        ("recipe: x\nfunctions:\n", "a recipe needs functions"),
        ("recipe: x\nfunctions: [", "not valid YAML"),
    ],
)
def test_no_recipe_at_all(tmp_path: Path, text: str, problem: str) -> None:
    (error,) = errors_of(write(tmp_path, text))
    assert problem in error.problem
    assert error.file == str(tmp_path / "own.yaml")


# ------------------------------------------------------------------ a maker's own beside the shipped


def test_own_recipes_stand_beside_the_shipped_ones(tmp_path: Path) -> None:
    file = write(tmp_path, GOOD)
    assert set(load_recipes(file)) == set(load_recipes(tmp_path)) == {*load_recipes(), "my-lift"}
    assert list(load_recipes(file)) == sorted(load_recipes(file))


def test_a_name_that_is_taken_is_said(tmp_path: Path) -> None:
    write(tmp_path, GOOD.replace("my-lift", "pen-plotter"), "a.yaml")
    write(tmp_path, GOOD, "b.yaml")
    write(tmp_path, GOOD, "c.yaml")
    with pytest.raises(FitterErrors) as caught:
        load_recipes(tmp_path)
    shipped, own = caught.value.errors
    assert str(shipped) == (
        f"{tmp_path}/a.yaml: recipe: there is a recipe 'pen-plotter' already, among the shipped ones; "
        "give this one another name"
    )
    assert f"c.yaml: recipe: there is a recipe 'my-lift' already, in {tmp_path}/b.yaml" in str(own)


def test_errors_of_several_files_come_together(tmp_path: Path) -> None:
    write(tmp_path, GOOD.replace("mass", "mas"), "a.yaml")
    write(tmp_path, "recipe: [", "b.yaml")
    with pytest.raises(FitterErrors) as caught:
        load_recipes(tmp_path)
    assert [Path(e.file or "").name for e in caught.value.errors] == ["a.yaml", "a.yaml", "b.yaml"]


def test_no_recipes_there(tmp_path: Path) -> None:
    with pytest.raises(FitterError, match="no such recipes"):
        load_recipes(tmp_path / "none")
    with pytest.raises(FitterError, match="no recipe in this folder"):
        load_recipes(tmp_path)


FUZZ = settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@FUZZ
@given(
    st.integers(0, len(GOOD)),
    st.integers(0, 12),
    st.text(max_size=12) | st.sampled_from(["[", "{", "&a ", "1/0"]),
)
def test_any_change_gives_a_recipe_or_clear_errors(tmp_path: Path, at: int, cut: int, put: str) -> None:
    text = GOOD[:at] + put + GOOD[at + cut :]
    file = tmp_path / "own.yaml"
    file.write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        recipe = read_recipe(file)
    except FitterError as error:
        lines = str(error).splitlines()
    else:
        assert bind(recipe).functions
        return
    assert lines
    assert all(line.startswith(str(file)) for line in lines)
