"""Sheets as people keep them, taken into a stock: what is understood, refused, and written."""

from __future__ import annotations

import contextlib
import datetime
import io
import json
import os
import time
import zipfile
from pathlib import Path

import jsonschema
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter import cli
from fitter.entering.add import add
from fitter.errors import FitterError, FitterErrors
from fitter.exchange import importing
from fitter.exchange.headings import heading
from fitter.exchange.importing import import_sheet
from fitter.exchange.models import ImportAnswer
from fitter.kinds import KINDS
from fitter.stock.files import load_stock

STOCK = """# my box
lots:
  - id: m1   # from the attic
    kind: stepper motor
    count: 2
    resistance: 2.1 ohm, measured   # cold
    holding_torque: 0.4 N m, measured
    note: runs

  - {id: p1, kind: switch-mode supply, rails: [{voltage: "24 V, measured", current: 3 A}]}
"""


@pytest.fixture
def stock(tmp_path: Path) -> Path:
    file = tmp_path / "stock.yaml"
    file.write_text(STOCK, encoding="utf-8")
    return file


def taken(stock: Path, content: str | bytes, **named: object) -> ImportAnswer:
    """What a CSV sheet comes to."""
    sheet = stock.parent / "sheet.csv"
    sheet.write_bytes(content.encode() if isinstance(content, str) else content)
    return import_sheet(sheet, stock, **named)  # type: ignore[arg-type]


def workbook(file: Path, rows: list[list[object]], more: dict[str, list[list[object]]] | None = None) -> Path:
    book = openpyxl.Workbook()
    book.active.title = "first"
    for row in rows:
        book.active.append(row)
    for name, others in (more or {}).items():
        sheet = book.create_sheet(name)
        for row in others:
            sheet.append(row)
    book.save(file)
    return file


# ---------------------------------------------------------------- columns


@pytest.mark.parametrize(
    ("cell", "kind", "name", "unit"),
    [
        ("rated_current [A]", "stepper motor", "rated_current", "A"),
        ("R (ohm)", "stepper motor", "resistance", "ohm"),
        ("length mm", "rod", "length", "mm"),
        ("Ohms", "relay", "coil_resistance", "ohm"),
        ("VOLTS", "dc motor", "rated_voltage", "V"),
        ("volts", "adapter", "voltage", "V"),
        ("amps", "stepper motor", "rated_current", "A"),
        ("torque Ncm", "stepper motor", "holding_torque", "Ncm"),
        ("torque", "coupler", "torque", ""),
        ("Qty", "rod", "count", ""),
        ("stored in", "rod", "bin", ""),
        ("From", "rod", "donor", ""),
        ("Weight [g]", "rod", "mass", "g"),
        ("Price (EUR)", "rod", "price_new", "EUR"),
        ("step-angle", "stepper motor", "step_angle", ""),
    ],
)
def test_a_heading_and_what_it_stands_for(cell: str, kind: str, name: str, unit: str) -> None:
    found = heading(cell)
    assert found is not None
    column = found.of(KINDS[kind])
    assert (column.name, column.unit) == (name, unit)


@pytest.mark.parametrize("cell", ["colour", "length bananas", "qwertz [A]", "shaft colour"])
def test_a_heading_that_is_not_understood(cell: str) -> None:
    assert heading(cell) is None


def test_columns_not_understood_are_errors_with_the_nearest_name(stock: Path) -> None:
    content = "id,kind,resistence [ohm],colour\nm2,stepper motor,2,red\n"
    with pytest.raises(FitterErrors) as error:
        taken(stock, content, write=True)
    first, second = error.value.errors
    assert (first.field, first.line) == ("column C (resistence [ohm])", 1)
    assert "did you mean 'resistance'?" in str(first)
    assert second.field == "column D (colour)"
    assert stock.read_text(encoding="utf-8") == STOCK
    answer = taken(stock, content, ignore=["resistence [ohm]", "D"])
    assert (answer.added, answer.wrong) == (1, 0)
    with pytest.raises(FitterErrors, match="no column 'nothing'"):
        taken(stock, content, ignore=["nothing", "C", "D"])


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        ("", "the sheet is empty"),
        ("a,b\n1,2\n", "no heading `kind` or `id`"),
        ("My parts,,\nid,kind,count\nx,rod,1\n", "the headings seem to be in row 2"),
        ("id,kind,\nx,rod,5\n", "no heading above this column"),
        ("id,kind\nx,rod,5\n", "no heading above this column"),
        ("id,kind,qty,pcs\nx,rod,5,5\n", "a second column for count"),
    ],
)
def test_a_sheet_that_is_none(stock: Path, content: str, problem: str) -> None:
    with pytest.raises(FitterError, match=problem):
        taken(stock, content)


# ---------------------------------------------------------------- rows

LIST = """Part;Qty;Box;from;Ohms;Volts;Amps;Torque [N cm];Shaft mm;Notes
stepper;2;shoe box;printer;2,1 +- 0,1;;1,2..1,6;;5;runs

power supply;1;shelf;copier;;24;3;;;-5 V is dead
stepper;1;;;;;1.2-1.6 A, nameplate;20;;
"""


def test_a_list_with_headings_of_its_own(tmp_path: Path) -> None:
    stock = tmp_path / "new.yaml"
    answer = taken(stock, LIST, write=True)
    assert [(r.row, r.lot, r.outcome) for r in answer.rows] == [
        (2, "m1", "add"),
        (4, "psu1", "add"),
        (5, "m2", "add"),
    ]
    one, supply, two = load_stock(stock).lots
    assert (one.count, one.bin, one.donor, one.note) == (2, "shoe box", "printer", "runs")
    assert (one.ratings["resistance"].lo, one.ratings["resistance"].hi) == pytest.approx((2.0, 2.2))
    assert (one.ratings["rated_current"].lo, one.ratings["rated_current"].hi) == (1.2, 1.6)
    assert one.ratings["shaft_diameter"].likely == pytest.approx(0.005)
    assert two.ratings["holding_torque"].likely == pytest.approx(0.2)
    assert two.ratings["rated_current"].evidence == "nameplate"
    assert supply.rails[0]["voltage"].likely == 24
    again = taken(stock, LIST, write=True)
    assert [(r.lot, r.outcome) for r in again.rows] == [
        ("m1", "unchanged"),
        ("psu1", "unchanged"),
        ("m2", "unchanged"),
    ]


def test_an_edited_sheet_updates_by_id_and_touches_nothing_else(stock: Path) -> None:
    content = (
        "id;kind;count;resistance [ohm];torque;rails;note\nm1;;3;2,1;0,5 N m, measured;;\np1;;;;;24 V 4 A;\n"
    )
    answer = taken(stock, content, write=True)
    assert {(c.field, c.old, c.new) for row in answer.rows for c in row.changes} == {
        ("count", "2", "3"),
        ("holding_torque", "0.4 N m, measured", "0,5 N m, measured"),
        ("rails[1].current", "3 A", "4 A"),
    }
    expected = STOCK.replace("count: 2", "count: 3").replace("0.4 N m,", "0,5 N m,").replace("3 A}", "4 A}")
    assert stock.read_text(encoding="utf-8") == expected
    assert stock.with_name("stock.yaml.bak").read_text(encoding="utf-8") == STOCK


def test_a_measured_figure_that_gives_way_to_one_that_is_not_is_told(stock: Path) -> None:
    (row,) = taken(stock, "id,resistance [ohm],torque\nm1,2.2,0.4 N m\n").rows
    assert [(c.field, c.new) for c in row.changes] == [("resistance", "2.2 ohm")]
    assert row.remark is not None
    assert "measured until now: resistance" in row.remark


def test_nothing_is_half_imported(stock: Path) -> None:
    content = "id,kind,count,travel [mm]\nr1,rod,1,\nr2,rod,many,\nr3,rood,1,\nr1,rod,1,\nm1,,1,9\n"
    answer = taken(stock, content, write=True)
    assert (answer.added, answer.wrong, answer.written) == (1, 4, False)
    assert stock.read_text(encoding="utf-8") == STOCK
    said = [error for row in answer.rows for error in row.errors]
    assert all(f"sheet.csv:{n}:" in error for n, error in zip((3, 4, 5, 6), said, strict=True))
    assert "count (column C)" in said[0]
    assert "did you mean 'rod'?" in said[1]
    assert "stands in row 2 too" in said[2]
    assert "has no rating 'travel'" in said[3]


def test_a_dry_run_is_the_default_and_writes_nothing(stock: Path) -> None:
    answer = taken(stock, "id,kind\nr1,rod\n")
    assert (answer.added, answer.written) == (1, False)
    assert stock.read_text(encoding="utf-8") == STOCK
    assert sorted(os.listdir(stock.parent)) == ["sheet.csv", "stock.yaml"]


def test_lots_of_several_files_change_where_they_stand(tmp_path: Path) -> None:
    folder = tmp_path / "stock"
    folder.mkdir()
    (folder / "a.yaml").write_text("lots:\n- {id: a, kind: rod}\n", encoding="utf-8")
    (folder / "b.csv").write_text("id;kind;count\nb;rod;1\n", encoding="utf-8")
    sheet = workbook(
        tmp_path / "mine.xlsx", [["id", "kind", "qty"], ["a", "rod", 4], ["b", "rod", 5], ["c", "rod", 6]]
    )
    answer = import_sheet(sheet, folder, write=True)
    assert (answer.updated, answer.added) == (2, 1)
    assert (folder / "a.yaml").read_text(encoding="utf-8") == "lots:\n- {id: a, kind: rod, count: 4}\n"
    assert (folder / "b.csv").read_text(encoding="utf-8") == "id;kind;count\nb;rod;5\n"
    assert [lot.id for lot in load_stock(folder / "mine.yaml").lots] == ["c"]
    other = import_sheet(
        workbook(tmp_path / "x.xlsx", [["kind"], ["rod"]]), folder, into=Path("n.csv"), write=True
    )
    assert other.files == [str(folder / "n.csv")]
    assert load_stock(folder / "n.csv").lots[0].kind == "rod"
    with pytest.raises(FitterError, match="would not belong to the stock"):
        import_sheet(sheet, folder, into=tmp_path / "elsewhere.yaml")
    with pytest.raises(FitterError, match="kept for what is set aside"):
        import_sheet(sheet, folder, into=Path("set_aside.yaml"))


def test_a_word_for_several_kinds_is_asked_about(stock: Path) -> None:
    answer = taken(stock, "id,kind\nx,motor\n")
    assert "may be a stepper motor or dc motor; write which" in answer.rows[0].errors[0]


# ---------------------------------------------------------------- encodings


@pytest.mark.parametrize(
    ("encoding", "said"),
    [
        ("utf-8", "UTF-8"),
        ("utf-8-sig", "UTF-8 with a mark at its start"),
        ("cp1252", "Windows-1252"),
        ("utf-16", "UTF-16"),
    ],
)
def test_encodings_are_told_apart(stock: Path, encoding: str, said: str) -> None:
    answer = taken(stock, "id;kind;Stück;note\nx;rod;2;größer, 5 €\n".encode(encoding), write=True)
    assert answer.read_as == said
    assert load_stock(stock).lot("x").note == "größer, 5 €"


def test_an_encoding_can_be_named(stock: Path) -> None:
    content = "id;kind;note\nx;rod;Größe\n".encode("mac-roman")
    assert taken(stock, content, encoding="mac-roman").rows[0].changes[0].new == "Größe"
    for name in ("klingon", "hex", "a\0b", "utf-8"):
        with pytest.raises(FitterError):
            taken(stock, content, encoding=name)
    with pytest.raises(FitterError, match="not Windows-1252 text"):
        taken(stock, b"id;kind\nx;rod\x81\xff\n")


# ---------------------------------------------------------------- workbooks


def test_typed_cells_and_the_sheet_with_kinds(stock: Path, tmp_path: Path) -> None:
    rows = [
        ["id", "kind", "count", "rated_current [A]", "self locking", "note", "price"],
        ["g1", "dc gearmotor", 2.0, 1.4, True, datetime.date(2026, 5, 1), 8.5],
        [None] * 7,
        [7, "rod", 1, None, None, "=not a formula", None],
    ]
    rows[0][3] = "continuous_current [A]"
    sheet = workbook(tmp_path / "w.xlsx", [["about"], ["my parts"]], {"parts": rows, "old": rows[:1]})
    answer = import_sheet(sheet, stock, write=True)
    assert (answer.sheet, answer.other_sheets, answer.added) == ("parts", ["first", "old"], 2)
    lot = load_stock(stock).lot("g1")
    assert (lot.count, lot.note, lot.price_new) == (2, "2026-05-01", 8.5)
    assert lot.ratings["continuous_current"].likely == 1.4
    assert [row.row for row in answer.rows] == [2, 4]
    assert import_sheet(sheet, stock, sheet="old").rows == []
    with pytest.raises(FitterError, match="did you mean 'parts'"):
        import_sheet(sheet, stock, sheet="part")


def test_merged_cells_are_refused(stock: Path, tmp_path: Path) -> None:
    file = workbook(tmp_path / "w.xlsx", [["id", "kind", "ratings", ""], ["a", "rod"]])
    book = openpyxl.load_workbook(file)
    book.active.merge_cells("C1:D1")
    book.save(file)
    with pytest.raises(FitterError, match="the cells C1:D1 of sheet 'first' are merged"):
        import_sheet(file, stock)


def test_a_workbook_that_claims_more_than_it_holds(stock: Path, tmp_path: Path) -> None:
    file = workbook(tmp_path / "w.xlsx", [["id", "kind"], ["a", "rod"]])
    book = openpyxl.load_workbook(file)
    book.active["XFD1048576"] = "far"
    book.save(file)
    begun = time.monotonic()
    with pytest.raises(FitterError, match="cells far beyond the others"):
        import_sheet(file, stock)
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", bytes(300 * 2**20))
    (tmp_path / "b.xlsx").write_bytes(bomb.getvalue())
    with pytest.raises(FitterError, match="too large"):
        import_sheet(tmp_path / "b.xlsx", stock)
    content = (
        "<office:document-content xmlns:office='o' xmlns:table='t'><table:table>"
        "<table:table-row table:number-rows-repeated='1000000'>"
        "<table:table-cell table:number-columns-repeated="
        "'9999' office:value-type='string'/></table:table-row></table:table>"
        "</office:document-content>"
    )
    with zipfile.ZipFile(tmp_path / "b.ods", "w") as packed:
        packed.writestr("content.xml", content)
    with pytest.raises(FitterError, match="cells far beyond the others"):
        import_sheet(tmp_path / "b.ods", stock)
    assert time.monotonic() - begun < 20


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=60), st.integers(0, 6000), st.sampled_from([".xlsx", ".ods", ".csv"]))
def test_damaged_files_are_refused_in_words(
    tmp_path_factory: pytest.TempPathFactory, junk: bytes, at: int, ending: str
) -> None:
    folder = tmp_path_factory.mktemp("junk")
    (folder / "s.yaml").write_text(STOCK, encoding="utf-8")
    good = workbook(folder / "w.xlsx", [["id", "kind"], ["a", "rod"]]).read_bytes()
    file = folder / f"t{ending}"
    file.write_bytes(good[:at] + junk + good[at + len(junk) :])
    with contextlib.suppress(FitterError):
        import_sheet(file, folder / "s.yaml", write=True)
    assert {lot.id for lot in load_stock(folder / "s.yaml").lots} >= {"m1", "p1"}


# ---------------------------------------------------------------- the command


def test_the_command(stock: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = tmp_path / "s.csv"
    sheet.write_text("id,kind,qty\nm1,,9\nr1,rod,x\n", encoding="utf-8")
    line = ["stock", "import", str(sheet), "--stock", str(stock)]
    assert cli.run([*line, "--write"]) == 2
    shown = capsys.readouterr().out
    assert "count: 2 -> 9" in shown
    assert "Nothing was written. Mend these rows" in " ".join(shown.split())
    sheet.write_text("id,kind,qty\nm1,,9\nr1,rod,1\n", encoding="utf-8")
    assert cli.run([*line, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert cli.run(["schema", "stock-import"]) == 0
    jsonschema.validate(answer, json.loads(capsys.readouterr().out))
    assert (answer["added"], answer["updated"], answer["written"]) == (1, 1, False)
    assert cli.run([*line, "--write"]) == 0
    assert "Written: " in capsys.readouterr().out
    assert load_stock(stock).lot("m1").count == 9
    assert cli.run(line) == 0
    assert "unchanged: rows 2-3" in capsys.readouterr().out


def test_ten_times_the_rows_take_about_ten_times_as_long(tmp_path: Path) -> None:
    """Changes made one after the other would take a hundred times."""

    def seconds(rows: int) -> float:
        lines = [f"r{n};rod;{n % 7 + 1};{300 + n % 50};steel" for n in range(rows)]
        stock = tmp_path / f"{rows}.yaml"
        taken(stock, "\n".join(["id;kind;count;length [mm];note", *lines]), write=True)
        changed = [line.replace("steel", "brass") + "\n" for line in lines]
        begun = time.process_time()
        assert (
            taken(stock, "".join(["id;kind;count;length [mm];note\n", *changed]), write=True).updated == rows
        )
        return time.process_time() - begun

    assert seconds(2000) < 40 * seconds(200)


def test_a_lot_that_came_into_another_file_meanwhile_is_not_doubled(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its id may be one that a row is about to get."""
    (tmp_path / "box").mkdir()
    (tmp_path / "box" / "a.yaml").write_text(STOCK, encoding="utf-8")
    (tmp_path / "rods.csv").write_text("kind;length [mm]\nrod;30\n", encoding="utf-8")
    wait = importing.stock_locked

    def slow(stock: Path) -> contextlib.AbstractContextManager[None]:
        monkeypatch.undo()
        add(stock, ["rod", "8", "mm", "300mm"], file="b.yaml")
        return wait(stock)

    monkeypatch.setattr(importing, "stock_locked", slow)
    with pytest.raises(FitterError, match="by another program meanwhile"):
        import_sheet(tmp_path / "rods.csv", tmp_path / "box", write=True)
    assert sorted(lot.id for lot in load_stock(tmp_path / "box").lots) == ["m1", "p1", "rod1"]
    import_sheet(tmp_path / "rods.csv", tmp_path / "box", write=True)
    assert sorted(lot.id for lot in load_stock(tmp_path / "box").lots) == ["m1", "p1", "rod1", "rod2"]
