"""Labels as a browser shows them: what is written fits, and a reader of codes reads the ids back."""

from __future__ import annotations

import io
import subprocess
import sys
import time
from collections.abc import Callable
from html import escape
from pathlib import Path

import headless
import matplotlib.image
import numpy as np
import pytest
import zxingcpp

from fitter.errors import FitterError
from fitter.labels.answers import labels
from fitter.labels.models import LabelAnswer, LabelsAnswer
from fitter.labels.page import ACROSS, DOWN
from fitter.labels.page import page as page_of
from fitter.stock.files import load_stock

STOCK = Path(__file__).parents[2] / "inventory_examples" / "repair_shed"
Open = Callable[[str], headless.Page]
LONG = LabelAnswer(
    id="drawer-42/" + "W" * 50,
    kind="brushless motor with driver",
    count=12,
    ratings=[f"rated something quite long number {i} 1234.5 W" for i in range(5)],
    donor="a discarded machine with a name that does not want to end, ever",
    bin="the third shelf from the left, in the box behind the other boxes",
    tested="tested: works",
    measured="2026-05-01",
    refused="",
)
ODD = [
    LONG,
    LONG.model_copy(update={"id": "<script>alert(1)</script>", "kind": "<b>gear</b>", "donor": "a & b"}),
    LONG.model_copy(update={"id": "Motor größer Ω 3", "refused": "makes more than a thousand volts " * 3}),
    LONG.model_copy(update={"id": "日本語の部品" * 10, "ratings": []}),
]


def read_codes(png: bytes) -> list[str]:
    """What a reader of codes (ZXing) finds in a picture."""
    grey = (matplotlib.image.imread(io.BytesIO(png))[..., :3].mean(axis=2) * 255).astype(np.uint8)
    return [found.text for found in zxingcpp.read_barcodes(np.ascontiguousarray(grey))]


@pytest.fixture(scope="module")
def shed_page(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[str], str]:
    file = tmp_path_factory.mktemp("labels") / "labels.html"
    answer = labels(load_stock(STOCK), file)
    return [label.id for label in answer.labels], file.read_text(encoding="utf-8")


def test_every_code_reads_as_its_id(page: Open, shed_page: tuple[list[str], str]) -> None:
    ids, text = shed_page
    shown = page(text)
    shown.resize(800)
    assert sorted(read_codes(shown.screenshot())) == sorted(ids)


def test_odd_ids_are_read_too_and_do_nothing(page: Open) -> None:
    shown = page(page_of(ODD))
    shown.resize(800)
    assert sorted(read_codes(shown.screenshot())) == sorted(label.id for label in ODD)
    assert shown.boxes("script, b") == []
    assert shown.console() == []
    assert shown.requests() == []


@pytest.mark.parametrize("which", ["shed", "odd"])
def test_everything_stays_on_its_label(page: Open, shed_page: tuple[list[str], str], which: str) -> None:
    shown = page(shed_page[1] if which == "shed" else page_of(ODD))
    shown.resize(800)
    inner = shown.script(
        "return [...document.querySelectorAll('.label')].map(l => {"
        "const r = e => {const b = e.getBoundingClientRect(); return [b.left, b.top, b.right, b.bottom]};"
        "const t = e => {const s = document.createRange(); s.selectNodeContents(e); return r(s)};"
        "return [r(l), r(l.querySelector('svg')), ...[...l.querySelectorAll('p')].map(t)]})"
    )
    assert inner
    for box, code, *texts in inner:
        for left, top, right, bottom in (code, *texts):
            assert box[0] <= left
            assert box[1] <= top
            assert right <= box[2]
            assert bottom <= box[3]
        for left, top, right, _ in texts:
            assert right <= code[0] or top >= code[3], (left, top, code)


def test_sheets_print_one_a_page(page: Open, shed_page: tuple[list[str], str]) -> None:
    ids, text = shed_page
    pdf = page(text).pdf()
    assert headless.pages_of(pdf) == -(-len(ids) // (ACROSS * DOWN))


def test_a_label_says_what_matters(shed_page: tuple[list[str], str], tmp_path: Path) -> None:
    answer = labels(load_stock(STOCK), tmp_path / "l.html", ["m7", "psu-copier", "las1", "m7"])
    motor, supply, laser = answer.labels
    assert motor.ratings[:2] == ["rated current 2.2 A", "resistance 1.4 ohm"]
    assert supply.ratings[:2] == ["1: 24 V, 5 A", "2: 38 V, 1 A"]
    assert laser.refused
    assert "DO NOT USE" in (tmp_path / "l.html").read_text(encoding="utf-8")
    for label in answer.labels:
        assert escape(label.tested) in shed_page[1]
    assert answer.sheets == 1


def test_the_day_of_the_last_measurement_is_told(tmp_path: Path) -> None:
    stock = tmp_path / "stock.yaml"
    note = "measured 2026-05-01 resistance; measured 2026-06-02 shaft_diameter"
    lot = f"id: m1\n    kind: stepper motor\n    count: 1\n    condition: untested\n    note: {note}\n"
    stock.write_text(f"lots:\n  - {lot}    resistance: 2 ohm, measured\n    shaft_diameter: 5 mm, measured\n")
    (label,) = labels(load_stock(stock), tmp_path / "l.html").labels
    assert (label.measured, label.tested) == ("2026-06-02", "not tested")
    text = (tmp_path / "l.html").read_text(encoding="utf-8")
    assert "not tested" in text
    assert "measured 2026-06-02" in text


@pytest.mark.parametrize(
    ("file", "lots", "problem"),
    [
        ("l.txt", [], "ends in .html"),
        ("no/l.html", [], "cannot write"),
        ("l.html", ["m77"], "no lot 'm77' in stock"),
    ],
)
def test_what_cannot_be_is_told(tmp_path: Path, file: str, lots: list[str], problem: str) -> None:
    with pytest.raises(FitterError, match=problem):
        labels(load_stock(STOCK), tmp_path / file, lots)
    assert not (tmp_path / file).exists()


def test_many_labels_take_little_time() -> None:
    """A thousand took 1.9 s of processor time; this is a fifth of them."""
    start = time.process_time()
    text = page_of([LONG.model_copy(update={"id": f"lot-{i}"}) for i in range(200)])
    assert time.process_time() - start < 4
    assert text.count("<article") == 200


def test_json_says_what_stands_on_them(tmp_path: Path) -> None:
    file = tmp_path / "l.html"
    line = ["stock", "labels", "m1", "drv2", "-o", str(file), "--stock", str(STOCK), "--json"]
    done = subprocess.run([sys.executable, "-m", "fitter", *line], capture_output=True, text=True, check=True)
    answer = LabelsAnswer.model_validate_json(done.stdout)
    assert [label.id for label in answer.labels] == ["m1", "drv2"]
    text = file.read_text(encoding="utf-8")
    assert all(escape(words) in text for label in answer.labels for words in (label.kind, *label.ratings))
