"""Stock files: what is read, and that everything wrong is said with its place and the nearest right name.

Files here are made up; what they must mean is the file format of the project, so no source is named.
"""

from __future__ import annotations

import math
import random
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from fitter import documents
from fitter.errors import FitterError, FitterErrors
from fitter.kinds import KINDS, kind_key
from fitter.ratings import Evidence, Rating
from fitter.stock.entries import PLAIN
from fitter.stock.files import Stock, load_stock, stock_files
from fitter.stock.tables import with_unit

ROOT = Path(__file__).parents[1]
EXAMPLES = sorted((ROOT / "inventory_examples").rglob("*.yaml"))
MOTOR = "lots:\n  - id: m1\n    kind: stepper motor\n    resistance: 2.8 ohm\n"
SUPPLY = (
    'lots:\n  - id: p1\n    kind: switch-mode supply\n    rails:\n      - {voltage: "24 V", current: 3 A}\n'
)


def write(folder: Path, text: str | bytes, name: str = "stock.yaml") -> Path:
    file = folder / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


def read(folder: Path, text: str | bytes, name: str = "stock.yaml") -> Stock:
    return load_stock(write(folder, text, name))


def errors_of(path: Path) -> list[FitterError]:
    """All errors of a stock; it must have some."""
    with pytest.raises(FitterError) as caught:
        load_stock(path)
    found = caught.value
    return found.errors if isinstance(found, FitterErrors) else [found]


def only_error(folder: Path, text: str | bytes, name: str = "stock.yaml") -> FitterError:
    (error,) = errors_of(write(folder, text, name))
    return error


def ends(rating: Rating) -> tuple[float, float]:
    return rating.lo, rating.hi


# ------------------------------------------------------------------ what is read


def test_a_lot_with_everything(tmp_path: Path) -> None:
    text = """
lots:
  - id: m1
    kind: stepper motor
    count: 4
    name: "square, black"
    bin: shelf 1
    donor: large printer
    condition: untested
    price_new: 12,50 EUR
    mass: 0,28 kg, measured
    note: |
      two lines
      of note
    rated_current: 1.4 A +- 5 %, nameplate
    frame: NEMA 17
"""
    (lot,) = read(tmp_path, text).lots
    assert (lot.id, lot.kind, lot.count) == ("m1", "stepper motor", 4)
    assert (lot.name, lot.bin, lot.donor, lot.condition) == (
        "square, black",
        "shelf 1",
        "large printer",
        "untested",
    )
    assert (lot.price_new, lot.mass) == (12.5, 0.28)
    assert lot.note == "two lines of note"
    assert (Path(lot.file).name, lot.line) == ("stock.yaml", 3)
    assert ends(lot.ratings["rated_current"]) == pytest.approx((1.33, 1.47))
    assert lot.ratings["rated_current"].evidence is Evidence.NAMEPLATE
    assert set(lot.ratings) == {"rated_current", "frame"}


@pytest.mark.parametrize(
    "written",
    [
        "switch_mode supply",
        "Switch-Mode Supply",
        "SWITCH MODE SUPPLY",
        "switch-mode_supply",
        " switch  mode supply ",
    ],
)
def test_a_kind_is_read_in_any_case_with_spaces_underscores_or_hyphens(tmp_path: Path, written: str) -> None:
    (lot,) = read(tmp_path, SUPPLY.replace("switch-mode supply", written)).lots
    assert lot.kind == "switch-mode supply"


@pytest.mark.parametrize("written", ["Stepper_Motor", "STEPPER MOTOR", "stepper-motor"])
def test_the_same_for_a_kind_of_two_words(tmp_path: Path, written: str) -> None:
    (lot,) = read(tmp_path, MOTOR.replace("stepper motor", written)).lots
    assert lot.kind == "stepper motor"


@pytest.mark.parametrize(
    ("written", "count"), [("", 1), ("count: 0", 0), ("count: 7", 7), ('count: "12"', 12), ("count:", 1)]
)
def test_count(tmp_path: Path, written: str, count: int) -> None:
    (lot,) = read(tmp_path, MOTOR + f"    {written}\n").lots
    assert lot.count == count


def test_windows_have_two_ends(tmp_path: Path) -> None:
    text = "lots:\n  - {id: d, kind: stepper driver, supply_voltage: 8..35 V, peak_current: 2 A}\n"
    (lot,) = read(tmp_path, text).lots
    assert ends(lot.ratings["supply_voltage.min"]) == (8.0, 8.0)
    assert ends(lot.ratings["supply_voltage.max"]) == (35.0, 35.0)
    assert "supply_voltage" not in lot.ratings


def test_rails_are_complete_and_unknown_where_nothing_is_said(tmp_path: Path) -> None:
    (lot,) = read(tmp_path, SUPPLY + "      - {voltage: 5 V}\n").lots
    assert [set(rail) for rail in lot.rails] == [{"voltage", "current", "isolated"}] * 2
    assert lot.rails[0]["current"].likely == 3.0
    assert not lot.rails[1]["current"].known


@pytest.mark.parametrize("empty", ["lots:\n", "lots: []\n", "lots: ~\n", "lots: null\n", "# mine\nlots:\n"])
def test_a_list_without_lots_is_a_stock(tmp_path: Path, empty: str) -> None:
    assert read(tmp_path, empty).lots == ()


def test_a_byte_order_mark_and_other_line_ends_are_read(tmp_path: Path) -> None:
    assert read(tmp_path, b"\xef\xbb\xbf" + MOTOR.encode()).lots[0].id == "m1"
    assert read(tmp_path, MOTOR.replace("\n", "\r\n")).lots[0].ratings["resistance"].likely == 2.8


def test_price_and_mass(tmp_path: Path) -> None:
    for written, price in [("8", 8.0), ("8 EUR", 8.0), ("8,50 €", 8.5), ("€ 8.50", 8.5), ("0 EUR", 0.0)]:
        assert read(tmp_path, MOTOR + f"    price_new: {written}\n").lots[0].price_new == price
    for written, mass in [("300 g", 0.3), ("1,4 kg, measured", 1.4), ("1..2 kg", 1.5), ("unknown", None)]:
        assert read(tmp_path, MOTOR + f"    mass: {written}\n").lots[0].mass == mass


def test_a_folder_is_read_with_its_folders_and_without_what_is_hidden(tmp_path: Path) -> None:
    for name, lot in [
        ("b.yaml", "b"),
        ("a.YML", "a"),
        ("deep/c.yaml", "c"),
        (".hid.yaml", "x"),
        (".git/d.yaml", "x"),
    ]:
        file = tmp_path / name
        file.parent.mkdir(exist_ok=True)
        file.write_text(MOTOR.replace("m1", lot))
    (tmp_path / "list.csv").write_text("id,kind\nt,gear\n")
    (tmp_path / "notes.txt").write_text("no stock at all")
    assert [lot.id for lot in load_stock(tmp_path).lots] == ["a", "b", "c", "t"]
    assert [f.name for f in stock_files(tmp_path)] == ["a.YML", "b.yaml", "c.yaml", "list.csv"]


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda f: f.name)
def test_example_stocks_are_in_order(file: Path) -> None:
    assert len(load_stock(file).lots) > 5


# ------------------------------------------------------------------ what is wrong, with its place


@pytest.mark.parametrize(
    ("field", "line", "name", "problem", "remedy"),
    [
        ("resistence: 2 ohm", 4, "resistence", "no rating 'resistence'", "did you mean 'resistance'?"),
        ("current: 2 A", 4, "current", "no rating 'current'", "did you mean 'rated_current'?"),
        ("donnor: printer", 4, "donnor", "no rating 'donnor'", "did you mean 'donor'?"),
        ("resistance: 2 A", 4, "resistance", "'A' is a unit of current", "ohm"),
        ("resistance: 2", 4, "resistance", "no unit", "ohm"),
        ("resistance:", 4, "resistance", "no value", "write"),
        ("resistance: 2 ohmz", 4, "resistance", "unknown unit 'ohmz'", "did you mean `ohm`?"),
        ("resistance: 2 ohm, measurd", 4, "resistance", "unknown evidence 'measurd'", "one of measured"),
        ("resistance: -2 ohm", 4, "resistance", "below zero", "without sign"),
        ("resistance: 5..2 ohm", 4, "resistance", "the range is reversed", "smaller end first"),
        ("resistance: [1 ohm, 2 ohm]", 4, "resistance", "a list in this place", "write one value"),
        ("resistance: {a: 1 ohm}", 4, "resistance", "names with values in this place", "write one value"),
        ("frame: NEMA 99", 4, "frame", "not one of the choices", "NEMA 17"),
        ("wires: 4.5", 4, "wires", "not a whole number", "such as `4`"),
        ("count: two", 4, "count", "not a count", "a whole number"),
        ("count: -1", 4, "count", "not a count", "a whole number"),
        ("count: 1.5", 4, "count", "not a count", "a whole number"),
        ("count: 99999999", 4, "count", "not a count", "a whole number"),
        ("count: ٣", 4, "count", "not a count", "a whole number"),
        ("count: [1]", 4, "count", "a list in this place", "one line of text"),
        ("condition: woking", 4, "condition", "unknown condition 'woking'", "did you mean 'working'?"),
        ("price_new: cheap", 4, "price_new", "not a price in euro", "EUR"),
        ("price_new: nan", 4, "price_new", "not a price in euro", "EUR"),
        ("price_new: 1,000", 4, "price_new", "not a price in euro", "EUR"),
        ("mass: 3 A", 4, "mass", "'A' is a unit of current", "kg"),
        ("mass: -3 kg", 4, "mass", "below zero", "without sign"),
        ("name: [a, b]", 4, "name", "a list in this place", "one line of text"),
        (f"name: {'x' * 2000}", 4, "name", "too long", "at most 1000"),
        ("name: &a printer", 4, "name", "anchors", "leave it out"),
        ("name: *a", 4, "name", "aliases", "write the value out"),
        ("name: !!python/name:os.system x", 4, "name", "tags", "leave it out"),
        ("kind: gear", 4, "kind", "'kind' stands twice, first in line 3", "keep one of them"),
        ("resistance: 1 ohm\n    resistance: 2 ohm", 5, "resistance", "stands twice", "keep one of them"),
        ("rails: []", 4, "rails", "no rating 'rails'", "known: "),
        ("? [a, b]\n    : c", 4, "line 4", "a name is expected", "name: value"),
    ],
)
def test_field(tmp_path: Path, field: str, line: int, name: str, problem: str, remedy: str) -> None:
    text = f"lots:\n  - id: m1\n    kind: stepper motor\n    {field}\n"
    error = only_error(tmp_path, text)
    assert (Path(error.file or "").name, error.line, error.lot, error.field) == (
        "stock.yaml",
        line,
        "m1",
        name,
    )
    assert problem in error.problem
    assert remedy in (error.expected or "")
    assert str(error).startswith(f"{error.file}:{line}: lot m1: {name}: ")
    assert "\n" not in str(error)


@pytest.mark.parametrize(
    ("rails", "field", "problem", "remedy"),
    [
        ("", "rails", "needs its rails", "voltage: 24 V"),
        ("rails:", "rails", "needs its rails", "voltage: 24 V"),
        ("rails: []", "rails", "needs its rails", "voltage: 24 V"),
        ("rails: 24 V", "rails", "text in this place", "a list is expected"),
        ("rails: {voltage: 24 V}", "rails", "names with values in this place", "a list is expected"),
        ("rails: [24 V]", "rails[1]", "not a rail", "{voltage: 24 V"),
        ("rails: [{voltge: 24 V}]", "rails[1]", "no rating 'voltge' here", "did you mean 'voltage'?"),
        ("rails: [{voltage: 5 V}, {voltage: 24 A}]", "rails[2].voltage", "'A' is a unit of current", "24 V"),
        (
            "rails: [{voltage: 24 V, measured, current: 3 A}]",
            "rails[1]",
            "'measured' stands alone",
            "in quotes",
        ),
        ("rails: [{voltage: [24 V]}]", "rails[1].voltage", "a list in this place", "one value"),
        ("rails: [{voltage: 24 V, voltage: 5 V}]", "rails[1].voltage", "stands twice", "keep one"),
        ("secondaries: [{voltage: 5 V}]\n    rails: [{voltage: 5 V}]", "secondaries", "no rating", "known: "),
    ],
)
def test_rails(tmp_path: Path, rails: str, field: str, problem: str, remedy: str) -> None:
    error = only_error(tmp_path, f"lots:\n  - id: p1\n    kind: switch-mode supply\n    {rails}\n")
    assert (error.lot, error.field) == ("p1", field)
    assert problem in error.problem
    assert remedy in (error.expected or "")


def test_secondaries_of_a_transformer_are_asked_for_by_their_name(tmp_path: Path) -> None:
    error = only_error(tmp_path, "lots:\n  - {id: t, kind: transformer}\n")
    assert (error.field, error.line) == ("secondaries", 2)


@pytest.mark.parametrize(
    ("word", "nearest"),
    [
        ("steper motor", "did you mean 'stepper motor'?"),
        ("swich mode suply", "did you mean 'switch-mode supply'?"),
        ("h bride", "did you mean 'h-bridge'?"),
        ("Stepper", "did you mean 'stepper "),
    ],
)
def test_unknown_kind_is_told_the_nearest(tmp_path: Path, word: str, nearest: str) -> None:
    error = only_error(tmp_path, MOTOR.replace("stepper motor", word))
    assert (error.line, error.lot, error.field) == (3, "m1", "kind")
    assert error.problem == f"unknown kind {word!r}"
    assert nearest in (error.expected or "")


def test_a_word_near_no_kind_is_told_the_nearest_few(tmp_path: Path) -> None:
    error = only_error(tmp_path, MOTOR.replace("stepper motor", "qqq"))
    assert f"there are {len(KINDS)}, the nearest: " in (error.expected or "")
    assert len(str(error)) < 250


def test_entries_that_are_no_lots(tmp_path: Path) -> None:
    entries = ["just text", "[a]", "{kind: gear}", "{id: g}", "{id: '', kind: gear}", "&a {id: q}"]
    found = errors_of(write(tmp_path, "lots:\n" + "".join(f"  - {entry}\n" for entry in entries)))
    assert [(e.line, e.lot, e.field) for e in found] == [
        (2, None, None), (3, None, None), (4, "without id", "id"), (5, "g", "kind"), (6, "without id", "id"),
        (7, None, None),
    ]  # fmt: skip
    assert all(e.expected for e in found)


def test_ids_may_not_be_used_twice_even_in_two_files(tmp_path: Path) -> None:
    write(tmp_path, MOTOR, "a.yaml")
    write(tmp_path, "# one line more\n" + MOTOR, "b.yaml")
    (error,) = errors_of(tmp_path)
    assert (Path(error.file or "").name, error.line, error.lot, error.field) == ("b.yaml", 3, "m1", "id")
    assert f"used twice, first in {tmp_path / 'a.yaml'}:2" in error.problem


@pytest.mark.parametrize("faulty", ["first", "second", "both"])
def test_an_id_used_twice_is_told_beside_other_errors(tmp_path: Path, faulty: str) -> None:
    good, bad = "{id: g, kind: gear, teeth: 20}", "{id: g, kind: gear, module: 1 A}"
    entries = {"first": (bad, good), "second": (good, bad), "both": (bad, bad)}[faulty]
    found = errors_of(write(tmp_path, "lots:\n" + "".join(f"  - {e}\n" for e in entries)))
    wrong = [(line, "module") for line, e in enumerate(entries, start=2) if e == bad]
    assert sorted((e.line, e.field) for e in found) == sorted([*wrong, (3, "id")])
    (twice,) = [e for e in found if e.field == "id"]
    assert "'g' is used twice" in twice.problem
    assert twice.problem.endswith(":2")


def test_lots_without_an_id_do_not_count_as_alike(tmp_path: Path) -> None:
    found = errors_of(write(tmp_path, "lots:\n  - {kind: gear}\n  - {kind: gear}\n"))
    assert [(e.line, e.field) for e in found] == [(2, "id"), (3, "id")]
    assert not any("twice" in e.problem for e in found)


def test_all_errors_of_all_files_are_reported_together(tmp_path: Path) -> None:
    two = "lots:\n  - {id: a, kind: gear, module: 1 A, teeth: 3.5}\n  - {id: b, kind: geer}\n"
    write(tmp_path, two, "1.yaml")
    write(tmp_path, "lots: [", "2.yaml")
    write(tmp_path, "id;kind;module\nc;gear;1 A\n", "3.csv")
    write(tmp_path, MOTOR, "4.yaml")
    found = errors_of(tmp_path)
    assert [(Path(e.file or "").name, e.lot, e.field) for e in found] == [
        ("1.yaml", "a", "module"), ("1.yaml", "a", "teeth"), ("1.yaml", "b", "kind"), ("2.yaml", None, None),
        ("3.csv", "c", "module"),
    ]  # fmt: skip
    with pytest.raises(FitterErrors) as caught:
        load_stock(tmp_path)
    assert str(caught.value).splitlines() == [str(e) for e in found]


def test_skipping_leaves_the_good_lots_and_says_what_it_left_out(tmp_path: Path) -> None:
    write(tmp_path, MOTOR + "  - {id: bad, kind: gear, module: 1 A}\n  - {id: g, kind: gear}\n", "a.yaml")
    write(tmp_path, "lots: [", "b.yaml")
    stock = load_stock(tmp_path, skip_bad=True)
    assert [lot.id for lot in stock.lots] == ["m1", "g"]
    assert [(e.lot, Path(e.file or "").name) for e in stock.skipped] == [("bad", "a.yaml"), (None, "b.yaml")]


def test_of_two_lots_with_one_id_the_first_is_kept_when_skipping(tmp_path: Path) -> None:
    text = MOTOR + "  - {id: m1, kind: gear}\n"
    stock = load_stock(write(tmp_path, text), skip_bad=True)
    assert [lot.kind for lot in stock.lots] == ["stepper motor"]
    assert len(stock.skipped) == 1


@pytest.mark.parametrize(
    ("text", "line", "problem", "remedy"),
    [
        ("", None, "the file is empty", "`lots:`"),
        ("# nothing yet\n", None, "the file is empty", "`lots:`"),
        ("- id: m1\n", 1, "no `lots:` at the top", "start the file with `lots:`"),
        ("just words\n", 1, "no `lots:` at the top", "start the file with `lots:`"),
        ("lots: all of them\n", 1, "`lots:` is not a list", "- id:"),
        ("lots:\n  id: m1\n", 2, "`lots:` is not a list", "- id:"),
        ("lots: []\nlotts: []\n", 2, "unknown name 'lotts' at the top", "did you mean 'lots'?"),
        ("lots: []\nlots: []\n", 2, "'lots' stands twice", "keep one"),
        ("lots: *all\n", 1, "aliases", "write the value out"),
        ("lots: []\n---\nlots: []\n", 2, "more than one document", "---"),
        (MOTOR + "    holding_torque: >= 0.5 N m\n", 5, "not valid YAML", 'in quotes, such as ">= 0.5 N m"'),
        (MOTOR + "    name: @home\n", 5, "not valid YAML", "in quotes"),
        (MOTOR + "    inductance: ?\n", 5, "not valid YAML", "in quotes"),
        (MOTOR + "\tname: x\n", 5, "not valid YAML", "not with tabs"),
        (MOTOR + "    note: see: page 2\n", 5, "not valid YAML", "in quotes"),
        (MOTOR + "   name: x\n", 5, "not valid YAML", "check indentation"),
        (MOTOR.encode() + b"    name: caf\xe9\n", 5, "not UTF-8", "save the file as UTF-8"),
        (MOTOR + "    name: a\x00b\n", 5, "a control character (code 0)", "plain text"),
        (MOTOR + "    name: a\x1b[31mb\n", 5, "a control character (code 27)", "plain text"),
        (MOTOR + "    name: a\x85\x9bb\n", 5, "a control character (code 155)", "plain text"),
        (b"PK\x03\x04 a spreadsheet", 1, "a control character", "plain text"),
        (b"\xff\xfel\x00o\x00t\x00s\x00", 1, "not UTF-8", "save the file as UTF-8"),
    ],
)
def test_file(tmp_path: Path, text: str | bytes, line: int | None, problem: str, remedy: str) -> None:
    error = only_error(tmp_path, text)
    assert (Path(error.file or "").name, error.line) == ("stock.yaml", line)
    assert problem in error.problem
    assert remedy in (error.expected or "")


def test_what_is_not_there_or_cannot_be_read(tmp_path: Path) -> None:
    (error,) = errors_of(tmp_path / "none")
    assert "no such stock" in error.problem
    assert "FITTER_STOCK" in (error.expected or "")
    (error,) = errors_of(tmp_path)
    assert "no stock file in this folder" in error.problem
    (tmp_path / "away.yaml").symlink_to(tmp_path / "gone")
    (error,) = errors_of(tmp_path)
    assert error.problem == "cannot be read: No such file or directory"


def test_a_huge_file_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(documents, "LARGEST_FILE", 100)
    assert "too large" in only_error(tmp_path, MOTOR + "#" * 100).problem


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no endless file on this system")
def test_an_endless_file_is_refused() -> None:
    (error,) = errors_of(Path("/dev/zero"))
    assert error.problem == "not a file but a pipe or a device"


def test_nesting_and_bombs_end_quickly(tmp_path: Path) -> None:
    for depth, sign in [(10, "["), (9000, "["), (100_000, "["), (100_000, "{"), (50_000, "- ")]:
        assert errors_of(write(tmp_path, "lots:\n  - id: a\n    kind: gear\n    note: " + sign * depth))
    closed = "lots:\n - {id: a, kind: gear, note: " + "[" * 500 + "]" * 500 + "}\n - {id: b, kind: gear}\n"
    (error,) = errors_of(write(tmp_path, closed))
    assert (error.lot, error.field, error.problem) == ("a", "note", "a list in this place")
    bomb = "a: &a [x]\n" + "".join(
        f"{b}: &{b} [*{a},*{a},*{a}]\n" for a, b in zip("abcdefgh", "bcdefghi", strict=True)
    )
    assert len(errors_of(write(tmp_path, bomb + "lots: *i\n"))) == 10


def test_text_from_a_file_holds_nothing_hidden(tmp_path: Path) -> None:
    entry = r'{id: "a\e[2J", kind: gear, name: "x\u202ey\r\nz", bin: "[red]x[/red]", note: "a\tb"}'
    (lot,) = read(tmp_path, f"lots:\n - {entry}\n").lots
    assert (lot.id, lot.name, lot.bin, lot.note) == ("a\\x1b[2J", "x\\u202ey\\r z", "[red]x[/red]", "a b")


# ------------------------------------------------------------------ tables


TABLE = """id;kind;count;bin;price_new [EUR];rated_current [A];resistance [ohm];ratings
m1;Stepper Motor;4;"shelf 1; left";8,50;1,4;2,8 +- 0,2, measured;"wires=4; holding_torque>=0,4 Nm; frame=17"
m2;stepper_motor;;;;1400 mA;unknown;
psu;switch mode supply;1;;;;;"rails=24 V 3 A | 5 V, measured 2 A, nameplate | 12V 1A isolated, nameplate"
"""


def test_a_table_as_european_spreadsheets_write_it(tmp_path: Path) -> None:
    m1, m2, psu = read(tmp_path, TABLE, "stock.csv").lots
    assert (m1.kind, m1.count, m1.bin, m1.price_new, m1.line) == ("stepper motor", 4, "shelf 1; left", 8.5, 2)
    assert m1.ratings["rated_current"].likely == 1.4
    assert ends(m1.ratings["resistance"]) == pytest.approx((2.6, 3.0))
    assert m1.ratings["resistance"].evidence is Evidence.MEASURED
    assert m1.ratings["holding_torque"].lo == 0.4
    assert ends(m1.ratings["frame"]) == (3.0, 3.0)
    assert (m2.count, m2.bin, m2.ratings["rated_current"].likely) == (1, "", 1.4)
    assert not m2.ratings["resistance"].known
    assert [rail["voltage"].likely for rail in psu.rails] == [24.0, 5.0, 12.0]
    assert [rail["current"].likely for rail in psu.rails] == [3.0, 2.0, 1.0]
    assert [rail["isolated"].hi for rail in psu.rails] == [1.0, 1.0, 1.0]
    assert [rail["isolated"].lo for rail in psu.rails] == [0.0, 0.0, 1.0]
    assert [r["voltage"].evidence.value for r in psu.rails] == ["stated", "measured", "nameplate"]
    assert [r["current"].evidence.value for r in psu.rails] == ["stated", "nameplate", "nameplate"]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("before", ["", "\ufeff", "sep={}\n", "\ufeffsep={}\r\n", "\n\n"])
def test_any_separator_of_spreadsheets(tmp_path: Path, separator: str, before: str) -> None:
    rows = [
        ["ID", "Kind", "Rated Current [mA]", ""],
        ["m1", "stepper motor", "900", ""],
        ["", "", "", ""],
        ["g", "gear"],
    ]
    text = before.format(separator) + "\r\n".join(separator.join(row) for row in rows)
    m1, g = read(tmp_path, text, "stock.CSV").lots
    assert m1.ratings["rated_current"].likely == 0.9
    assert g.ratings == {}


def test_a_table_says_what_the_same_lots_in_yaml_say(tmp_path: Path) -> None:
    yaml = """
lots:
  - {id: d, kind: stepper driver, supply_voltage: "8..35 V, datasheet", peak_current: 2 A}
  - {id: t, kind: transformer, primary_voltage: 230 V,
     secondaries: [{voltage: "24 V, measured", current: "3 A, measured"}]}
  - {id: b, kind: timing belt, belt_pitch: 2 mm, closed: yes, length: ">= 0.9 m", count: 2, condition: worn}
"""
    table = (
        "kind;id;condition;count;ratings;supply_voltage [V];secondaries;belt pitch [mm];closed;length [m]\n"
        "stepper driver;d;;;peak_current=2 A;8..35, datasheet;;;;\n"
        'transformer;t;-;;"primary_voltage=230 V";;24 V 3 A, measured;;;\n'
        "timing_belt;b;worn;2;;;;2;yes;>= 0,9\n"
    )
    for one, other in zip(read(tmp_path, yaml).lots, read(tmp_path, table, "t.csv").lots, strict=True):
        assert [getattr(one, n) for n in PLAIN] == [getattr(other, n) for n in PLAIN]
        assert {n: ends(r) for n, r in one.ratings.items()} == {n: ends(r) for n, r in other.ratings.items()}
        for rail, same in zip(one.rails, other.rails, strict=True):
            assert {n: (ends(r), r.evidence) for n, r in rail.items()} == {
                n: (ends(r), r.evidence) for n, r in same.items()
            }


@pytest.mark.parametrize(
    ("row", "field", "problem", "remedy"),
    [
        ("m;stepper motor;12 V;", "rated_current", "'V' is a unit of voltage", "current"),
        ("m;stepper motor;1,4,5;", "rated_current", "", ""),
        ("m;stepper moter;;", "kind", "unknown kind 'stepper moter'", "did you mean 'stepper motor'?"),
        (";stepper motor;;", "id", "no id", "as on its bag"),
        ("m;;;", "kind", "no kind", "kind: stepper motor"),
        ("m;gear;3;", "rated_current", "a gear has no rating 'rated_current'", "known: "),
        ("m;gear;;resistance=2 ohm", "resistance", "a gear has no rating 'resistance'", "known: "),
        ("m;gear;;teth=20", "teth", "no rating 'teth'", "did you mean 'teeth'?"),
        ("m;gear;;teeth 20", "ratings (teeth 20)", "cannot read 'teeth 20'", "name=value; name=value"),
        ("m;gear;;=20", "ratings (=20)", "cannot read '=20'", "name=value; name=value"),
        ('m;gear;;"teeth=20; teeth=21"', "teeth", "'teeth' stands twice", "keep one"),
        ("m;stepper motor;2;rated_current=3 A", "rated_current", "stands twice", "keep one"),
        ("m;gear;;;extra", "cell 5", "no heading above 'extra'", "in quotes"),
        ("m;switch-mode supply;;", "rails", "needs its rails", "voltage: 24 V"),
        ("m;switch-mode supply;;rails=24 V 3 A | five volts", "rails[2]", "not a rail", "24 V 3 A | 5 V 2 A"),
        ("m;switch-mode supply;;rails=3 A", "rails[1]", "not a rail", "24 V 3 A | 5 V 2 A"),
    ],
)
def test_cell(tmp_path: Path, row: str, field: str, problem: str, remedy: str) -> None:
    error = only_error(tmp_path, "id;kind;rated_current [A];ratings\n\n" + row + "\n", "stock.csv")
    assert (Path(error.file or "").name, error.line, error.field) == ("stock.csv", 3, field)
    assert error.lot == ("without id" if row.startswith(";") else "m")
    assert problem in error.problem
    assert remedy in (error.expected or "")


@pytest.mark.parametrize(
    ("text", "line", "field", "problem", "remedy"),
    [
        ("", None, None, "the file is empty", "headings"),
        ("\n \n", None, None, "the file is empty", "headings"),
        ("m1;stepper motor;4\n", 1, None, "no headings `id` and `kind`", "id;kind"),
        ("id;kind;resistence\na;gear;\n", 1, "resistence", "unknown heading", "did you mean 'resistance'?"),
        ("id;kind;id\na;gear;\n", 1, "id", "this heading stands twice", "keep one"),
        ("id;kind;teeth;Teeth \na;gear;;\n", 1, "teeth", "this heading stands twice", "keep one"),
        ("id;kind;resistance [A]\n", 1, "resistance [A]", "'A' is a unit of current", "ohm"),
        ("id;kind;name [mm]\n", 1, "name [mm]", "no unit belongs here", "`name`"),
        ("id;kind;closed [yes]\n", 1, "closed [yes]", "no unit belongs here", "`closed`"),
        ("id;kind;price_new [USD]\n", 1, "price_new [USD]", "prices are in euro", "[EUR]"),
        ('id;kind;bin\na;gear;"open\nb;gear;x\n', 2, None, "not a table", "check the quotes"),
        ('id;kind;bin\na;gear;"x"y\n', 2, None, "not a table", "check the quotes"),
        (b"id;kind\na;g\xe4r\n", 2, None, "not UTF-8", "UTF-8"),
        (b"id;kind\na;g\x00\n", 2, None, "a control character (code 0)", "plain text"),
        ("id;kind;bin\na;gear;" + "x" * 200_000 + "\n", 2, None, "not a table", "check the quotes"),
    ],
)
def test_table(
    tmp_path: Path, text: str | bytes, line: int | None, field: str | None, problem: str, remedy: str
) -> None:
    errors = errors_of(write(tmp_path, text, "stock.csv"))
    error = errors[0]
    assert (Path(error.file or "").name, error.line) == ("stock.csv", line)
    assert (error.field or "").casefold() == (field or "").casefold()
    assert len(errors) == (2 if "twice" in problem else 1)
    assert problem in error.problem
    assert remedy in (error.expected or "")


def test_a_decimal_comma_that_splits_a_cell_is_pointed_at(tmp_path: Path) -> None:
    (error,) = errors_of(write(tmp_path, "id,kind,resistance\nm,stepper motor,2,8 ohm\n", "s.csv"))[-1:]
    assert "such as a decimal comma" in (error.expected or "")


def test_rows_that_span_lines_keep_their_lines(tmp_path: Path) -> None:
    text = 'id,kind,note\na,gear,"two\nlines"\nb,geer,\n'
    assert errors_of(write(tmp_path, text, "s.csv"))[0].line == 4


@pytest.mark.parametrize(
    ("cell", "full"),
    [
        ("1.4", "1.4 A"),
        ("1,4", "1,4 A"),
        ("1.4, measured", "1.4 A, measured"),
        ("1.4 measured", "1.4 A measured"),
        ("1.4; datasheet", "1.4 A; datasheet"),
        ("1.2..1.6", "1.2..1.6 A"),
        (">= 0.5", ">= 0.5 A"),
        ("1.4 +- 5 %", "1.4 A +- 5 %"),
        ("1.4 +- 0.1", "1.4 A +- 0.1 A"),
        ("1.4 ± 0.1, measured", "1.4 A +- 0.1 A, measured"),
        ("900 mA", "900 mA"),
        ("unknown", "unknown"),
        ("?", "?"),
        ("", ""),
    ],
)
def test_the_unit_of_a_heading_goes_to_numbers_without_one(cell: str, full: str) -> None:
    assert with_unit(cell, "A") == full


# ------------------------------------------------------------------ whatever a file holds


def judge(path: Path) -> None:
    """A stock or errors for people, nothing else; what is skipped is what is wrong."""
    stock = load_stock(path, skip_bad=True)
    assert all(e.file and "\n" not in str(e) for e in stock.skipped)
    if stock.skipped:
        assert [str(e) for e in errors_of(path)] == [str(e) for e in stock.skipped]
    for lot in stock.lots:
        assert lot.id.strip()
        assert kind_key(lot.kind) in KINDS
        for rating in [*lot.ratings.values(), *(r for rail in lot.rails for r in rail.values())]:
            assert rating.lo <= rating.likely <= rating.hi
            assert not math.isnan(rating.lo + rating.hi)


FUZZ = settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
NAMES = st.sampled_from(
    [*PLAIN, "rails", "secondaries", "resistance", "frame", "supply_voltage", "teeth", "<<", ""]
)
WORDS = ["1.4 A", "8..35 V", ">= 3 ohm", "unknown", "4", "NEMA 17", "gear", "stepper motor", "adapter", "~"]
VALUES = st.one_of(st.text(max_size=20), st.sampled_from(WORDS))


def quoted(text: str) -> str:
    """Any text as a YAML scalar in double quotes."""
    plain = (c if c.isascii() and c.isprintable() and c not in '"\\' else f"\\U{ord(c):08x}" for c in text)
    return f'"{"".join(plain)}"'


@FUZZ
@given(st.text(max_size=200))
@example("lots:\n- id: \x85\n")
@example("lots:\n - id: a\n   kind: gear\n   ? a\n   : b\n")
@example("lots: !!binary x")
def test_any_text(tmp_path: Path, text: str) -> None:
    judge(write(tmp_path, text.encode("utf-8", "surrogatepass"), "fuzz.yaml"))
    judge(write(tmp_path, text.encode("utf-8", "surrogatepass"), "fuzz.csv"))
    judge(write(tmp_path, ("id;kind;ratings;rails\n" + text).encode("utf-8", "surrogatepass"), "fuzz.csv"))


@FUZZ
@given(st.binary(max_size=200))
def test_any_bytes(tmp_path: Path, content: bytes) -> None:
    judge(write(tmp_path, content, "fuzz.yaml"))
    judge(write(tmp_path, content, "fuzz.csv"))


@FUZZ
@given(st.lists(st.dictionaries(NAMES, VALUES, max_size=6), max_size=3))
def test_any_values_in_their_places(tmp_path: Path, lots: list[dict[str, str]]) -> None:
    body = ""
    for lot in lots:
        body += " - note: x\n" + "".join(
            f"   {quoted(name)}: {quoted(value)}\n" for name, value in lot.items()
        )
    judge(write(tmp_path, "lots:\n" + body, "fuzz.yaml"))


SNIPPETS = [b"[", b"{", b'"', b": ", b"\n", b"  ", b"- ", b"&a ", b"*a", b"|", b">", b"\x00"]


@pytest.mark.parametrize("seed", range(60))
def test_mutated_example_files(tmp_path: Path, seed: int) -> None:
    pick = random.Random(seed)
    content = bytearray(pick.choice(EXAMPLES).read_bytes())
    for _ in range(pick.randint(1, 6)):
        at = pick.randrange(len(content))
        match pick.randrange(4):
            case 0:
                content[at] = pick.randrange(256)
            case 1:
                del content[at : at + pick.randint(1, 30)]
            case 2:
                content[at:at] = pick.choice(SNIPPETS)
            case _:
                other = pick.randrange(len(content))
                content[at:at] = content[other : other + pick.randint(1, 40)]
    judge(write(tmp_path, bytes(content), "fuzz.yaml"))
