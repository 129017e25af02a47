"""What is fuzzed: each target takes bytes and must come to an answer or an error for people, nothing else.

A *target* is a function of bytes and a folder of its own. :func:`hold` runs one case of it and looks from
outside at what must hold: no other exception, errors of one printable line each, nothing written but the
files that the target names, and bounded time.
"""

from __future__ import annotations

import io
import os
import re
import time
import zipfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from fitter.bench.contradictions import contradictions
from fitter.cookbook.answers import check_recipes
from fitter.documents import visible
from fitter.entering.add import enter
from fitter.entering.line import understand
from fitter.errors import FitterError, FitterErrors
from fitter.exchange.importing import import_sheet
from fitter.expressions import Value, evaluate
from fitter.kinds import KINDS, Spec
from fitter.listings import check_stock, list_stock
from fitter.ratings import Rating
from fitter.recipes import bind, read_recipe
from fitter.stock.conditions import condition
from fitter.stock.edit import AddLot, Change, RemoveLot, SetField, edit
from fitter.stock.entries import parsed
from fitter.stock.files import Stock, load_stock
from fitter.stock.left import held_by_lot, left_of
from fitter.stock.lots import Lot
from fitter.stock.set_aside import read_file
from fitter.units import QUANTITIES, parse, show

ROOT = Path(__file__).parents[2]
LONGEST_MESSAGE = 2000  # characters; more is no line for people
LONGEST_CASE = 4.0  # seconds of computing on a shared machine, cover of every branch being counted


def _stock_seeds() -> list[bytes]:
    """Each lot of the examples in a file of its own, as it is written there: small cases are quick ones."""
    files = sorted((ROOT / "inventory_examples" / "repair_shed").glob("*.yaml"))
    lots = [lot for file in files for lot in re.split(r"(?m)^(?=  - )", file.read_text(encoding="utf-8"))[1:]]
    return [f"lots:\n{lot}".encode() for lot in lots[::3]]


def _recipe_seeds() -> list[bytes]:
    return [file.read_bytes() for file in sorted((ROOT / "recipes").glob("*.yaml"))]


@cache
def example() -> Stock:
    """The lots that conditions and records of what is set aside are held against."""
    return load_stock(ROOT / "inventory_examples" / "repair_shed")


@cache
def specs() -> list[tuple[str, Spec]]:
    """Every rating of every kind."""
    return [
        (name, spec)
        for kind in KINDS.values()
        for name, spec in [*kind.ratings.items(), *(kind.rails or {}).items()]
    ]


def _text(data: bytes) -> str:
    return data.decode("utf-8", "surrogateescape")


def _picked(data: bytes, number: int) -> tuple[int, bytes]:
    """A choice among so many by the first two bytes, and the rest."""
    return int.from_bytes(data[:2], "big") % number, data[2:]


# ---------------------------------------------------------------- targets


def stock_yaml(data: bytes, folder: Path) -> None:
    """A stock file: read, listed, checked."""
    _stock(folder / "stock.yaml", data)


def stock_table(data: bytes, folder: Path) -> None:
    """A table of lots: the same."""
    _stock(folder / "stock.csv", data)


def _stock(file: Path, data: bytes) -> None:
    file.write_bytes(data)
    answer = check_stock(file)
    _printable(answer.errors)
    stock = load_stock(file, skip_bad=True)
    list_stock(stock).model_dump_json()
    for lot in stock.lots[:50]:
        _used(lot)
    load_stock(file)


def _used(lot: Lot) -> None:
    """What every question does with a lot."""
    for rating in lot.complete.values():
        _sound(rating)
    assert len(lot.offers()) < 1000
    contradictions(lot)


def edited(data: bytes, folder: Path) -> None:
    """A stock file of which lots are added, changed and taken out: the rest stays, or nothing happens."""
    file = folder / ("stock.csv" if data[:1] > b"\x7f" else "stock.yaml")
    data = data[1:]
    file.write_bytes(data)
    lots = load_stock(file, skip_bad=True).lots[:2]
    changes: list[Change] = [AddLot({"id": "new-1", "kind": "rod", "length": "1 m"})]
    changes += [SetField(lot.id, "note", "seen: a 'b' \"c\" # d") for lot in lots]
    changes += [RemoveLot(lot.id) for lot in lots[1:]]
    for change in changes:
        before = file.read_bytes()
        try:
            edit(file, [change])
        except FitterError as error:
            assert file.read_bytes() == before, "refused, and yet written"
            _said(error)


def recipe(data: bytes, folder: Path) -> None:
    """A recipe file: read, checked in every way, worked out."""
    file = folder / "recipe.yaml"
    file.write_bytes(data)
    answer = check_recipes([file])
    for each in answer.files:
        _printable(each.errors)
    bind(read_recipe(file))


def rating(data: bytes, folder: Path) -> None:
    """The words of a rating, of any kind."""
    place, rest = _picked(data, len(specs()))
    for found in parsed(*specs()[place], _text(rest)).values():
        _sound(found)


def _sound(found: Rating) -> None:
    assert found.lo <= found.likely <= found.hi, found


def unit(data: bytes, folder: Path) -> None:
    """A figure with its unit, and the same shown."""
    place, rest = _picked(data, len(QUANTITIES))
    quantity = list(QUANTITIES)[place]
    value = parse(_text(rest), quantity)
    assert abs(value) < 1e40, value
    assert show(value, quantity)


def expression(data: bytes, folder: Path) -> None:
    """Arithmetic on demands."""
    place, rest = _picked(data, len(QUANTITIES))
    names = {"payload": Value.of(1.5, "mass"), "travel": Value.of(0.6, "length"), "n": Value.of(3, "count")}
    value = evaluate(_text(rest), names, list(QUANTITIES)[place])
    assert value - value == 0, value  # finite


def line(data: bytes, folder: Path) -> None:
    """A lot as typed in one line, its words apart by line ends; nothing may be written in a dry run."""
    meant = understand(_text(data).split("\n"))
    enter(folder / "stock.yaml", meant, file=None, dry_run=True).model_dump_json()
    assert not list(folder.iterdir())
    enter(folder / "stock.yaml", meant, file=None, dry_run=False)
    load_stock(folder / "stock.yaml")


def sheet(data: bytes, folder: Path) -> None:
    """A text sheet: its headings, its encoding, its rows against a stock; then written."""
    _imported(folder, data, "sheet.csv")


_BOOK = {
    "[Content_Types].xml": (
        '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/></Types>'
    ),
    "_rels/.rels": (
        '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        '<Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/'
        'officeDocument" Target="xl/workbook.xml"/></Relationships>'
    ),
    "xl/_rels/workbook.xml.rels": (
        '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        '<Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/'
        'worksheet" Target="worksheets/sheet1.xml"/></Relationships>'
    ),
    "xl/workbook.xml": (
        '<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" '
        'xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">'
        '<sheets><sheet name="a" sheetId="1" r:id="r1"/></sheets></workbook>'
    ),
    "xl/worksheets/sheet1.xml": (
        '<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        '<dimension ref="A1:C2"/><sheetData>'
        '<row r="1"><c r="A1" t="inlineStr"><is><t>id</t></is></c>'
        '<c r="B1" t="inlineStr"><is><t>kind</t></is></c>'
        '<c r="C1" t="inlineStr"><is><t>length [mm]</t></is></c></row>'
        '<row r="2"><c r="A2" t="inlineStr"><is><t>r9</t></is></c>'
        '<c r="B2" t="inlineStr"><is><t>rod</t></is></c>'
        '<c r="C2"><v>1.5</v></c></row></sheetData></worksheet>'
    ),
}
_PARTS = list(_BOOK)


def workbook(data: bytes, folder: Path) -> None:
    """A workbook of which one part is the data; with an odd first byte the packed file itself is broken."""
    place, rest = _picked(data, 2 * len(_PARTS))
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as book:
        for number, name in enumerate(_PARTS):
            book.writestr(name, rest if number == place else _BOOK[name])
    content = packed.getvalue()
    if place >= len(_PARTS):
        at = int.from_bytes(rest[:2], "big") % len(content)
        content = content[:at] + rest[2:] + content[at + len(rest[2:]) :]
    _imported(folder, content, "sheet.xlsx")


_STOCK = b"# box\nlots:\n  - id: m1  # black\n    kind: stepper motor\n    resistance: 2.1 ohm, measured\n"


def _imported(folder: Path, data: bytes, name: str) -> None:
    stock = folder / "stock.yaml"
    stock.write_bytes(_STOCK)
    (folder / name).write_bytes(data)
    answer = import_sheet(folder / name, stock)
    assert stock.read_bytes() == _STOCK, "written in a dry run"
    for row in answer.rows:
        _printable(row.errors)
    written = import_sheet(folder / name, stock, write=True)
    assert written.written != bool(written.wrong)
    assert load_stock(stock).places["m1"] == 0, "a lot was lost"


def set_aside(data: bytes, folder: Path) -> None:
    """A file of what is set aside, and what it leaves of a stock."""
    record = read_file(folder / "set_aside.yaml", data)
    assert len(left_of(example(), record.builds).lots) == len(example().lots)
    for held in held_by_lot(record.builds).values():
        assert held.pieces >= 0


def where(data: bytes, folder: Path) -> None:
    """A condition of ``--where``, held against every lot."""
    found = condition(_text(data))
    for lot in example().lots:
        found.met(lot)


Target = Callable[[bytes, Path], None]


@dataclass(frozen=True)
class Fuzzed:
    """A target with cases to start from, words that such input is made of, and the files it may write."""

    run: Target
    seeds: Sequence[bytes]
    words: Sequence[str] = ()
    files: Sequence[str] = ()
    longest: int = 4096  # bytes of a case

    @property
    def name(self) -> str:
        """Its name on the command line."""
        return self.run.__name__.replace("_", "-")


_UNITS = sorted({unit for q in QUANTITIES.values() for unit in q.units if unit})
_VALUES = [
    "1.4 A +- 5 %, measured",
    "1,2..1,6 A",
    ">= 0.5 N m",
    "unknown",
    "8..35 V",
    "22 AWG",
    "3-1/2 in",
    "4k7",
    "NEMA 17, nameplate",
    "20..40 °C",
    "1e30",
    "yes",
    "-3 dB",
    "1/0 AWG",
    "12 V ± 10 %",
    '3 1/8"',
]
_NUMBERS = [
    "1e999",
    "9" * 300,
    "nan",
    "inf",
    "-0",
    "1/0",
    "\u0663",
    "\u00bd",
    "\u22125",
    "0x10",
    "1_000",
    "1e-400",
]
_NAMES = sorted({name for name, _ in specs()})
_KINDS = [kind.name for kind in KINDS.values()]
_YAML = [
    "lots:",
    "  - id: ",
    "\n    kind: ",
    "rails:",
    "- {voltage: ",
    "&a ",
    "*a",
    "!!set",
    "? ",
    "|\n",
    ">-\n",
    "'",
    '"',
    "[",
    "{",
    "}",
    "]",
    "---\n",
    "...\n",
    "%YAML 1.2\n",
    "\t",
    "# ",
    "\\x1b",
    "\u202e",
    "<<: ",
    "\r\n",
]
_TABLE = (
    b"id;kind;count;length [mm];ratings\nc;rod;2;1,5;\nd;rod;1;>= 200;\n",
    b"sep=,\nid,kind,bin,ratings\np1,switch-mode supply,A,rails=24 V 3 A | 5 V 2 A; total_power=90 W\n",
    b'ID\tKind\tresistance (ohm)\tname\nm1\tstepper motor\t2,8\t"a ""b"""\n',
)
_ARITHMETIC = [
    "payload + 0.4 kg",
    "(n - 1) * travel",
    "sqrt(travel * 0.2 m)",
    "min(travel, 3 in)",
    "2 * sin(30 deg)",
    "travel / 20 s",
    "-n",
    "max(1, n)",
    "payload * 9.81 m/s2",
    "5 g",
    "3 1/2",
    "1e300 * 1e300",
]
_LINES = [
    "stepper\n42x40\n4 wires\n2.9 ohm measured\nbin B3\nx8",
    "rod 8 mm 300mm",
    "psu 24 V 3 A 5V 2A",
    "2N3055 x4",
    "nema 17 stepper from printer untested",
    "note=odd id=k3 gear 20 teeth",
    "belt 6 mm bin=A",
]
_SET_ASIDE = b"""set_aside:
  - name: slider
    recipe: camera-slider
    date: 2026-05-01
    state: ready
    demands: payload=2 kg
    parts:
      - {role: slide.motor, lot: m1, count: 1}
      - {role: power.supply, lot: psu-till, rail: 1, current: 1.5 A, power: 36 W}
    to_buy:
      - {role: slide.belt, what: belt}
history:
  - {date: 2026-05-01, what: take, build: slider, recipe: camera-slider, parts: m1 x1}
"""
_CONDITIONS = [
    "holding_torque > 0.5 N m",
    "count >= 2",
    "frame = NEMA 17",
    "rated current ≤ 2 A",
    "mass<1 kg",
    "voltage = 24 V",
]


def _rating_seeds() -> list[bytes]:
    """Something to say of every rating, each after the choice of it."""
    seeds = []
    for place, (_, spec) in enumerate(specs()):
        example = spec.choices[-1] if spec.choices else QUANTITIES[spec.quantity].example
        forms = (
            example,
            f"{example}, measured",
            f">= {example}",
            f"{example}..{example}",
            f"{example} +- 2 %",
        )
        seeds.append(place.to_bytes(2, "big") + forms[place % len(forms)].encode())
    return seeds


def _unit_seeds() -> list[bytes]:
    return [
        place.to_bytes(2, "big") + f"1.5 {unit}".encode()
        for place, quantity in enumerate(QUANTITIES.values())
        for unit in [*quantity.units][::4]
    ]


def _expression_seeds() -> list[bytes]:
    wanted = (
        "mass",
        "length",
        "length",
        "length",
        "ratio",
        "speed",
        "count",
        "count",
        "force",
        "acceleration",
    )
    return [
        list(QUANTITIES).index(quantity).to_bytes(2, "big") + text.encode()
        for quantity, text in zip(wanted, _ARITHMETIC, strict=False)
    ]


TARGETS = {
    each.name: each
    for each in (
        Fuzzed(stock_yaml, _stock_seeds(), [*_YAML, *_KINDS, *_NAMES, *_VALUES], ["stock.yaml"], 1500),
        Fuzzed(stock_table, _TABLE, [*_KINDS, *_NAMES, *_VALUES, ";", "\t", '""', " | "], ["stock.csv"]),
        Fuzzed(
            edited,
            [*(b"\0" + s for s in _stock_seeds()), *(b"\xff" + t for t in _TABLE), b"\0" + _STOCK],
            [*_YAML, *_KINDS, *_NAMES, *_VALUES],
            ["stock.yaml", "stock.yaml.bak", "stock.csv", "stock.csv.bak"],
            1500,
        ),
        Fuzzed(recipe, _recipe_seeds(), [*_YAML, *_ARITHMETIC, *_UNITS, *QUANTITIES], ["recipe.yaml"], 8192),
        Fuzzed(rating, _rating_seeds(), [*_VALUES, *_NUMBERS, *_UNITS], longest=200),
        Fuzzed(unit, _unit_seeds(), [*_NUMBERS, *_UNITS], longest=100),
        Fuzzed(expression, _expression_seeds(), [*_NUMBERS, *_UNITS, *_ARITHMETIC], longest=300),
        Fuzzed(
            line,
            [each.encode() for each in _LINES],
            [*_KINDS, *_VALUES, *_NUMBERS, *_UNITS, "bin ", " x8", "note=", "id=", "untested"],
            ["stock.yaml", "stock.yaml.bak"],
            150,
        ),
        Fuzzed(
            sheet,
            _TABLE,
            [*_KINDS, *_NAMES, *_VALUES, *_NUMBERS, ";", "\t", '""', "\ufeff", "=1+1"],
            ["stock.yaml", "stock.yaml.bak", "sheet.csv"],
        ),
        Fuzzed(
            workbook,
            [i.to_bytes(2, "big") + _BOOK[name].encode() for i, name in enumerate(_PARTS)],
            [
                "<row ",
                "<c r=",
                ' t="s"',
                ' t="e"',
                ' t="d"',
                ' t="b"',
                "<v>",
                "</v>",
                "<f>",
                "<mergeCell ",
                "XFD1048576",
                *_NUMBERS,
            ],
            ["stock.yaml", "stock.yaml.bak", "sheet.xlsx"],
        ),
        Fuzzed(set_aside, [_SET_ASIDE], [*_YAML, *_NUMBERS, *_UNITS], longest=4096),
        Fuzzed(
            where,
            [each.encode() for each in _CONDITIONS],
            [*_NAMES, *_VALUES, *_NUMBERS, *_UNITS, "≥", "<="],
            longest=150,
        ),
    )
}


# ---------------------------------------------------------------- what must hold


def hold(target: Fuzzed, data: bytes, folder: Path) -> str:
    """One case in an empty folder, which is emptied again; gives ``good`` or ``refused``.

    Raises:
        AssertionError: Something that must hold does not.
        Exception: Whatever else the case makes come out.
    """
    outcome, began = "good", time.process_time()
    try:
        target.run(data, folder)
    except FitterError as error:
        _said(error)
        outcome = "refused"
    finally:
        strays = {entry.name for entry in os.scandir(folder)} - {*target.files}
        for entry in os.scandir(folder):
            os.unlink(entry.path)
    took = time.process_time() - began
    assert not strays, f"written besides: {sorted(strays)}"
    assert took < LONGEST_CASE, f"{took:.1f} s"
    return outcome


def _said(error: FitterError) -> None:
    _printable(str(each) for each in _single(error))


def _single(error: FitterError) -> Iterator[FitterError]:
    if isinstance(error, FitterErrors):
        assert error.errors, "errors, and none of them"
        for each in error.errors:
            yield from _single(each)
    else:
        yield error


def _printable(messages: Iterable[str]) -> None:
    for message in messages:
        shown = visible(message)
        assert message.strip(), "an error without words"
        assert "\n" not in message, message
        assert shown.encode("utf-8"), message
        assert len(shown) < LONGEST_MESSAGE, shown
