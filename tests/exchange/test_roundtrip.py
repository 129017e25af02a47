"""A stock written as a table and read again: every rating, text, rail and comment is what it was."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import jsonschema
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

from fitter import cli
from fitter.errors import FitterError, FitterErrors
from fitter.exchange.exporting import as_csv, as_xlsx, export, lots_of
from fitter.exchange.importing import import_sheet
from fitter.exchange.sheets import read_sheet
from fitter.stock.comments import comments_of
from fitter.stock.edit import SetField, edit, said_of
from fitter.stock.files import load_stock
from fitter.stock.tables import as_meant, harmless, rail_written, rails_of

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
STOCKS = sorted(p for p in EXAMPLES.iterdir() if p.is_dir() or p.suffix in (".yaml", ".csv"))
COMPLICATED = """# the head
lots:
  # --- above a
  # two lines
  - id: a   # behind the id
    kind: switch-mode supply
    # above the rails
    rails:   # behind the list
      - {voltage: "24 V, measured", current: "2..3 A, nameplate", isolated: "yes, measured"}   # first
      - voltage: ">= 5 V"
        isolated: unknown   # second
      - {voltage: "12,5 V +- 5 %", current: 1 A}
      - {voltage: unknown, current: "1 A, measured"}
    note: "= 1+1, a | b; c & d"

  - {id: "007", kind: rod, length: "  1,5 m, measured", note: '-5 "x", y', bin: "@home"}   # flow
  # above c
  - id: c
    kind: stepper driver
    count: 3
    condition: untested
    price_new: 8,50 EUR
    mass: 20 g, measured
    supply_voltage: 8..35 V, datasheet
    note: |
      two
      lines
# the foot
"""


@pytest.fixture
def complicated(tmp_path: Path) -> Path:
    file = tmp_path / "stock.yaml"
    file.write_text(COMPLICATED, encoding="utf-8")
    return file


def everything(stock: Path) -> dict[str, dict[str, object]]:
    return {lot.id: said_of(lot) for lot in load_stock(stock).lots}


def all_comments(stock: Path) -> dict[str, str]:
    return {row["id"]: row.get("file_comment", "") for row in lots_of(stock)}


def written(stock: Path, file: Path) -> Path:
    """An exported table, as ODS where its name says so: made of the CSV by another library."""
    if file.suffix != ".ods":
        export(stock, file)
        return file
    export(stock, file.with_suffix(".csv"))
    book, table = OpenDocumentSpreadsheet(), Table(name="stock")
    with file.with_suffix(".csv").open(encoding="utf-8-sig", newline="") as stream:
        for line in csv.reader(stream):
            row = TableRow()
            for text in line:
                cell = TableCell(valuetype="string", stringvalue=text)
                for part in text.split("\n"):
                    cell.addElement(P(text=part))
                row.addElement(cell)
            table.addElement(row)
    book.spreadsheet.addElement(table)
    book.save(str(file))
    return file


@pytest.mark.parametrize("ending", ["csv", "xlsx", "ods"])
@pytest.mark.parametrize("stock", STOCKS, ids=lambda p: p.stem)
def test_examples_come_back_in_all_they_say(tmp_path: Path, stock: Path, ending: str) -> None:
    file = written(stock, tmp_path / f"table.{ending}")
    answer = import_sheet(file, tmp_path / "new.yaml", write=True)
    assert (answer.wrong, answer.added, answer.written) == (0, len(everything(stock)), True)
    assert everything(tmp_path / "new.yaml") == everything(stock)
    assert all_comments(tmp_path / "new.yaml") == all_comments(stock)
    again = import_sheet(file, stock)
    assert again.unchanged == len(again.rows) == answer.added


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
@pytest.mark.parametrize("target", ["new.yaml", "new.csv"])
def test_all_that_a_lot_can_say_comes_back(complicated: Path, ending: str, target: str) -> None:
    file = written(complicated, complicated.with_name(f"table.{ending}"))
    new = complicated.with_name(target)
    assert import_sheet(file, new, write=True).added == 3
    assert everything(new) == everything(complicated)
    assert all_comments(new) == all_comments(complicated)


def test_comments_by_where_they_stand(complicated: Path) -> None:
    found = comments_of(COMPLICATED)
    assert found["a"].splitlines() == [
        "# --- above a",
        "# two lines",
        "id # behind the id",
        "above rails # above the rails",
        "rails # behind the list",
        "rails[1] # first",
        "rails[2] # second",
    ]
    assert (found["007"], found["c"]) == ("bin # flow", "# above c")


def test_an_exported_table_is_itself_a_stock(complicated: Path) -> None:
    file = complicated.parent / "table.csv"
    export(complicated, file)
    assert everything(file) == everything(complicated)
    edit(file, [SetField("a", "rails[2].voltage", "6 V, measured"), SetField("007", "note", "=A1")])
    assert load_stock(file).lot("007").note == "=A1"
    assert all_comments(file) == all_comments(complicated)


def test_an_exported_example_is_what_a_spreadsheet_shows_as_text(complicated: Path) -> None:
    """No cell is a formula; what starts like one is marked as text for whoever edits it."""
    file = written(complicated, complicated.with_name("t.xlsx"))
    cells = [c for row in openpyxl.load_workbook(file).active.iter_rows() for c in row if c.value is not None]
    assert not [c for c in cells if c.data_type == "f"]
    assert {c.value for c in cells if c.quotePrefix} == {"= 1+1, a | b; c & d", '-5 "x", y', "@home"}
    assert {c.value for c in cells if c.data_type == "n"} == {3}
    with written(complicated, complicated.with_name("t.csv")).open(
        encoding="utf-8-sig", newline=""
    ) as stream:
        assert not [c for row in csv.reader(stream) for c in row if c.startswith(tuple("=+-@\t\r"))]


@given(st.text(st.sampled_from("'=+-@\t1a \"")))
def test_a_cell_made_harmless_is_none_of_a_formula_and_read_back(cell: str) -> None:
    assert not harmless(cell).startswith(tuple("=+-@\t\r"))
    assert as_meant(harmless(cell)) == cell


FIGURES = ["24 V", "24 V, measured", ">= 24 V", "unknown", "20..28 V, nameplate", "24 V +- 5 %", "12,5 V DC"]
AMPS = ["3 A", "3 A, measured", "<= 2 A, nameplate", "unknown", "100..300 mA"]


@given(
    st.lists(
        st.fixed_dictionaries(
            {"voltage": st.sampled_from(FIGURES)},
            optional={
                "current": st.sampled_from(AMPS),
                "isolated": st.sampled_from(["yes", "no", "unknown", "no, measured"]),
            },
        ),
        min_size=1,
        max_size=4,
    )
)
def test_rails_on_one_line_are_read_back(rails: list[dict[str, str]]) -> None:
    line = " | ".join(map(rail_written, rails))
    said = [{n: f.text.removesuffix(", stated") for n, f in r.items()} for r in rails_of(line, 0)]  # type: ignore[union-attr]
    assert said == rails


TEXTS = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z")) | st.sampled_from(" ,;\"'=|"), max_size=30
)


@settings(max_examples=40, deadline=None)
@given(st.lists(TEXTS, min_size=1, max_size=6))
def test_any_text_comes_back_from_both_kinds_of_file(
    tmp_path_factory: pytest.TempPathFactory, texts: list[str]
) -> None:
    folder = tmp_path_factory.mktemp("texts")
    lines = [["id", "note"], *([f"m{n}", text.strip()] for n, text in enumerate(texts))]
    for name, content in {"t.csv": as_csv(lines), "t.xlsx": as_xlsx(lines)}.items():
        (folder / name).write_bytes(content)
        rows = read_sheet(folder / name, lambda _: True).rows
        assert [cells + [""] * (2 - len(cells)) for _, cells in rows] == lines


def test_what_is_not_written(complicated: Path, tmp_path: Path) -> None:
    with pytest.raises(FitterError, match="not a table by its name"):
        export(complicated, tmp_path / "t.docx")
    with pytest.raises(FitterError, match="as a part of the stock"):
        export(tmp_path, tmp_path / "t.csv")
    complicated.write_text("lots:\n- {id: a, kind: geer}\n", encoding="utf-8")
    with pytest.raises(FitterErrors, match="unknown kind"):
        export(complicated, tmp_path / "t.csv")
    assert not (tmp_path / "t.csv").exists()


def test_the_json_of_export_keeps_to_its_schema(
    complicated: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.run(["stock", "export", str(tmp_path / "t.csv"), "--stock", str(complicated), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert cli.run(["schema", "stock-export"]) == 0
    jsonschema.validate(answer, json.loads(capsys.readouterr().out))
    assert answer["lots"] == 3
    shutil.copy(tmp_path / "t.csv", tmp_path / "old.csv")
    assert cli.run(["stock", "export", str(tmp_path / "t.csv"), "--stock", str(complicated)]) == 0
    assert "not carried" in capsys.readouterr().out.lower()
    assert (tmp_path / "t.csv").read_bytes() == (tmp_path / "old.csv").read_bytes()
