"""The file of what is set aside: people can read and change it, and mistakes are said with their place."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from magnet_stock import Run, magnets

from fitter.errors import FitterError
from fitter.stock.files import load_stock
from fitter.stock.set_aside import SetAsideFile, read_file
from fitter.stock.set_aside_edit import store

GOOD = """\
# mine
set_aside:
  - name: lamp          # for the hall
    recipe: magnet
    date: 2026-05-01
    parts:
      - {role: magnet.coil, lot: coil, count: 1}
      - {role: rail.supply, lot: unit, rail: 1, current: 1.5 A, power: 36 W}
history:
  - {date: 2026-05-01, what: taken, build: lamp, recipe: magnet, parts: coil}
"""


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "count: 1",
            "count: one",
            ":7: set_aside lamp magnet.coil.count: 'one' is no whole number; such as `2`",
        ),
        ("count: 1", "count: -1", ":7: set_aside lamp magnet.coil.count: '-1' is no whole number"),
        ("count: 1", "counts: 1", ":7: set_aside lamp: unknown name 'counts'; did you mean 'count'?"),
        (", count: 1", "", ":7: set_aside lamp magnet.coil: neither pieces nor amps; `count: 1`"),
        ("1.5 A", "1.5", ":8: set_aside lamp rail.supply.current: "),
        ("1.5 A", "1.5 V", ":8: set_aside lamp rail.supply.current: "),
        ("1.5 A", "-2 A", ":8: set_aside lamp rail.supply.current: '-2 A' cannot be kept"),
        ("36 W", "1e999 W", ":8: set_aside lamp rail.supply.power: "),
        ("lot: coil, ", "", ":7: set_aside lamp magnet.coil.lot: lot is missing"),
        ("recipe: magnet\n    date", "date", ":3: set_aside lamp.recipe: recipe is missing"),
        ("set_aside:", "aside:", ":3: unknown name 'aside'; did you mean 'set_aside'?"),
        ("history:\n", "history: none\n#", ":9: history: `history:` is not a list"),
        ("set_aside:\n", "set_aside:\n  - just a word\n", ":3: set_aside: names with values are expected"),
        ("name: lamp ", "name: &a lamp ", "YAML anchors"),
        ("history:", "history: [", "not valid YAML"),
        (
            "set_aside:\n",
            "set_aside:\n  - {name: lamp, recipe: x}\n",
            ":4: set_aside: two builds are named 'lamp'",
        ),
    ],
)
def test_a_mistake_of_the_hand_is_said_with_its_place(
    fitter: Run, only_magnets: Path, old: str, new: str, said: str
) -> None:
    stock = magnets(only_magnets)
    assert old in GOOD
    (stock / "set_aside.yaml").write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    for command in (
        "builds",
        "stock set-aside",
        "stock take magnet",
        "stock put-back lamp",
        "stock used-up lamp",
    ):
        status, out, err = fitter(*command.split(), "--stock", stock)
        assert (status, out) == (2, "")
        assert said in err
        assert "set_aside.yaml" in err


def test_a_lot_that_was_renamed_is_said_and_the_rest_still_counts(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets, coils=1)
    (stock / "set_aside.yaml").write_text(GOOD.replace("lot: unit", "lot: old-unit"), encoding="utf-8")
    status, out, err = fitter("builds", "--stock", stock, "--json")
    assert status == 0
    assert "old-unit is set aside for lamp but not in the stock: renamed, or removed by hand" in err
    assert json.loads(out)["builds"][0]["state"] == "buy first"  # the only coil is taken
    assert fitter("stock", "put-back", "lamp", "--stock", stock)[0] == 0


def test_more_than_there_is_is_said(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets)
    (stock / "set_aside.yaml").write_text(GOOD.replace("count: 1", "count: 9"), encoding="utf-8")
    status, _, err = fitter("builds", "--stock", stock)
    assert status == 0
    assert "9 of coil are set aside for lamp, but there are only 3" in err


def test_comments_and_what_others_wrote_stay(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets)
    file = stock / "set_aside.yaml"
    file.write_text(GOOD, encoding="utf-8")
    assert fitter("stock", "take", "magnet", "--stock", stock, "--as", "second: one")[0] == 0
    text = file.read_text(encoding="utf-8")
    lines = iter(text.splitlines())
    assert all(line in lines for line in GOOD.splitlines())  # all of them, in their order
    assert fitter("stock", "put-back", "second: one", "--stock", stock)[0] == 0
    assert file.read_text(encoding="utf-8").startswith(GOOD)
    assert file.with_name("set_aside.yaml.bak").is_file()


@pytest.mark.parametrize(
    "text", ["", "set_aside:\n", "history: []\nset_aside: []\n", "set_aside: []", "# none\n"]
)
def test_written_from_whatever_empty_form(fitter: Run, only_magnets: Path, text: str) -> None:
    stock = magnets(only_magnets)
    file = stock / "set_aside.yaml"
    file.write_text(text, encoding="utf-8")
    status, _, err = fitter("stock", "take", "magnet", "--stock", stock)
    assert (status, err) == (0, "")
    read = read_file(file, file.read_bytes())
    assert [b.name for b in read.builds] == ["magnet"]
    assert [e.what for e in read.history] == ["taken"]


NAMES = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=12)


@settings(deadline=None, max_examples=40)
@given(st.lists(NAMES, min_size=1, max_size=4, unique=True), NAMES)
def test_any_name_is_written_and_read_back(
    tmp_path_factory: pytest.TempPathFactory, names: list[str], lot: str
) -> None:
    file = tmp_path_factory.mktemp("f") / "set_aside.yaml"
    build = read_file(file, GOOD.encode()).builds[0]
    part = type(build.parts[0])("a.b", lot, 2, "rail 1+2", outputs="2 inputs", leaving="used up", was=3)
    read = SetAsideFile(file, b"", (), ())
    made = [type(build)(n, "magnet", "2026-05-01", (part, build.parts[1]), demands="a=1 m") for n in names]
    for n in range(len(made)):
        read = store(read, made[: n + 1])
    assert list(read.builds) == made
    assert store(read, made[1:]).builds == tuple(made[1:])


def test_the_file_is_never_taken_for_lots(only_magnets: Path) -> None:
    stock = magnets(only_magnets)
    before = [lot.id for lot in load_stock(stock).lots]
    (stock / "set_aside.yaml").write_text(GOOD, encoding="utf-8")
    (stock / "Old.set_aside.yaml").write_text(GOOD.replace("lamp", "old"), encoding="utf-8")
    assert [lot.id for lot in load_stock(stock).lots] == before


def test_one_name_in_two_files_is_an_error(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets)
    for name in ("set_aside.yaml", "old.set_aside.yaml"):
        (stock / name).write_text(GOOD, encoding="utf-8")
    status, _, err = fitter("builds", "--stock", stock)
    assert status == 2
    assert "the build 'lamp' is in" in err


def test_changed_meanwhile_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "set_aside.yaml"
    file.write_text(GOOD, encoding="utf-8")
    read = read_file(file, file.read_bytes())
    file.write_text(GOOD + "# more\n", encoding="utf-8")
    with pytest.raises(FitterError, match="changed by another command meanwhile"):
        store(read, [])
    assert file.read_text(encoding="utf-8") == GOOD + "# more\n"
