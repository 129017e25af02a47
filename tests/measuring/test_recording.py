"""Values recorded: ratings, raw readings, dates, refusals, and what an interrupt leaves behind."""

from __future__ import annotations

import datetime
import os
import random
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from fitter.errors import FitterError
from fitter.measuring.dates import measured_on, noted
from fitter.measuring.readings import values
from fitter.measuring.recording import record
from fitter.ratings import Evidence
from fitter.shed import Shed
from fitter.stock.files import load_stock

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "inventory_examples" / "repair_shed"
DAY = "2026-05-01"


@pytest.fixture
def stock(tmp_path: Path) -> Path:
    return Path(shutil.copytree(EXAMPLE, tmp_path / "shed"))


def lot(name: str):  # type: ignore[no-untyped-def]
    return load_stock(EXAMPLE).lot(name)


def test_torque_from_scale_and_arm(stock: Path) -> None:
    """100 g at 50 mm are 0.049 N m: a figure of the bench procedure; scale 2 %, ruler 0.5 mm."""
    answer = record(stock, lambda: Shed.open(stock), "m1", {"hold_mass": "100 g", "arm": "50 mm"}, date=DAY)
    (stored,) = answer.stored
    now = load_stock(stock).lot("m1")
    torque = now.ratings["holding_torque"]
    assert torque.evidence is Evidence.MEASURED
    assert torque.lo == pytest.approx(9.80665 * 0.098 * 0.0495, rel=1e-3)
    assert torque.hi == pytest.approx(9.80665 * 0.102 * 0.0505, rel=1e-3)
    assert torque.lo <= 0.049 <= torque.hi
    assert measured_on(now.note) == {"holding_torque": DAY}
    assert stored.working[0].startswith("P4")
    assert "50" in stored.working[1]


def test_a_result_is_rounded_outwards() -> None:
    (value,) = values(lot("m1"), {"hold_mass": "0.42 kg", "arm": "80 mm"})
    low, high = value.text.removesuffix(" N m, measured").split("..")
    exact = (9.80665 * 0.42 * 0.98 * 0.0795, 9.80665 * 0.42 * 1.02 * 0.0805)
    assert float(low) <= exact[0] < float(low) * 1.001
    assert float(high) * 0.999 < exact[1] <= float(high)


def test_a_reading_uses_what_is_known_and_what_is_given() -> None:
    """L = sqrt((V/I)^2 - R^2)/(2 pi f) with the ohms of the lot, by hand for 5 V, 80 mA, 50 Hz and 30 ohm."""
    readings = {"coil_voltage": "5 V", "coil_current": "80 mA", "frequency": "50 Hz"}
    (value,) = values(lot("m9"), readings)
    assert value.field == "inductance"
    middle = ((5 / 0.08) ** 2 - 30**2) ** 0.5 / (2 * 3.14159265 * 50)
    low, high = (float(x) / 1e3 for x in value.text.removesuffix(" mH, measured").split(".."))
    assert low < middle < high
    both = values(lot("m9"), {**readings, "resistance": "20 ohm"})
    assert {v.field for v in both} == {"inductance", "resistance"}
    assert both[1].text != value.text


def test_what_moved_is_said(tmp_path: Path) -> None:
    file = tmp_path / "s.yaml"
    text = (
        "lots:\n  - id: s1   # from the big drawer\n    kind: drawer slide\n    count: 2\n"
        "    closed_length: 400 mm, measured\n    load: 30 kg, nameplate\n    play: 0.3 mm, measured\n"
    )
    file.write_text(text, encoding="utf-8")
    answer = record(file, lambda: Shed.open(file), "s1", {"travel": "400 mm"}, date=DAY)
    (moved,) = [m for m in answer.moved if m.recipe == "drawer-rails"]
    assert (moved.recipe, moved.before, moved.after) == ("drawer-rails", "measure first", "ready")
    assert file.read_text(encoding="utf-8") == text + (
        f"    travel: 400 mm, measured\n    note: measured {DAY} travel\n"
    )
    answer = record(file, lambda: Shed.open(file), "s1", {"travel": "200 mm"}, date=DAY)
    assert answer.stored[0].before == "400 mm, measured"
    moved = next(m for m in answer.moved if m.recipe == "drawer-rails")
    assert (moved.before, moved.after, moved.to_buy_after) == ("ready", "buy first", 1)


@pytest.mark.parametrize(
    ("name", "given", "said"),
    [
        ("m1", {"resistance": "2 ohm, estimated"}, "it was measured"),
        ("m1", {"resistance": "2 ohm, nameplate"}, "it was measured"),
        ("m1", {"resistance": "unknown"}, "nothing to record"),
        ("m1", {"resistance": "2"}, "no unit"),
        ("m1", {"resistence": "2 ohm"}, "no rating or reading"),
        ("m1", {"hold_mass": "100 g"}, "not enough"),
        ("m1", {"hold_mass": "100 g", "arm": "50 mm", "holding_torque": "1 N m"}, "is given by itself"),
        ("m1", {"hold_mass": "100 m", "arm": "50 mm"}, "hold_mass"),
        ("m1", {"condition": "broken"}, "unknown condition"),
        ("psu-copier", {"rails[9].current": "1 A"}, "no rating or reading"),
        ("m9", {"coil_voltage": "1 V", "coil_current": "80 mA", "frequency": "50 Hz"}, "frequency"),
    ],
)  # fmt: skip
def test_what_is_refused_says_why(name: str, given: dict[str, str], said: str) -> None:
    with pytest.raises(FitterError) as error:
        values(lot(name), given)
    assert said in str(error.value)
    assert error.value.lot == name


def test_evidence_is_measured_unless_said_otherwise() -> None:
    (value,) = values(lot("m9"), {"holding-torque": "0.3 N m +- 5 %"})
    assert value.text == "0.3 N m +- 5 %, measured"
    (value,) = values(lot("m9"), {"rated current": "0.4 A, datasheet"})
    assert value.text == "0.4 A, datasheet"
    (value,) = values(lot("m10"), {"condition": "Working"})
    assert value.text == "working"


def test_dates_stay_with_their_ratings_and_the_words_of_a_note() -> None:
    note = noted("found in the attic; two screws", ["resistance", "inductance"], "2026-01-02")
    note = noted(note, ["resistance"], DAY)
    assert measured_on(note) == {"inductance": "2026-01-02", "resistance": DAY}
    assert note.startswith("found in the attic; two screws; measured")
    full = "x" * 990
    assert noted(full, ["resistance"], DAY) == full  # no room: the words are worth more


def fitter(*words: str, **named: object) -> subprocess.Popen[str]:
    environment = {
        **{k: v for k, v in os.environ.items() if not k.startswith("FITTER_")},
        "PYTHONPATH": str(ROOT),
    }
    command = [sys.executable, "-m", "fitter", *words]
    return subprocess.Popen(
        command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def test_the_command_says_what_it_stored(stock: Path) -> None:
    process = fitter("record", "m1", "hold_mass=0.42kg", "arm=80mm", "--stock", str(stock))
    out, err = process.communicate(timeout=120)
    assert (process.returncode, err) == (0, "")
    assert "m1, holding torque: 0.3208..0.3382 N m, measured" in out
    assert datetime.date.today().isoformat() in load_stock(stock).lot("m1").note


def test_killed_at_any_time_record_leaves_the_old_file_or_the_new_one(tmp_path: Path) -> None:
    """A real process, killed at times spread over the whole of its run and a little beyond."""
    source = "lots:\n  - id: s1   # kept\n    kind: drawer slide\n    count: 2\n"
    folder = tmp_path / "whole"
    folder.mkdir()
    (folder / "s.yaml").write_text(source, encoding="utf-8")
    begun = time.monotonic()
    assert (
        fitter("record", "s1", "travel=400mm", "--limit-seconds", "0.1", "--stock", str(folder)).wait(120)
        == 0
    )
    whole = time.monotonic() - begun
    new = (folder / "s.yaml").read_text(encoding="utf-8")
    assert new.startswith(source)
    dice, found = random.Random(3), set()
    for number in range(40):
        if number >= 8 and len(found) == 2:
            break  # where the machine is busy, it takes later kills to find the new file
        folder = tmp_path / str(number)
        folder.mkdir()
        file = folder / "s.yaml"
        file.write_text(source, encoding="utf-8")
        process = fitter("record", "s1", "travel=400mm", "--limit-seconds", "0.1", "--stock", str(folder))
        time.sleep(whole * (number + dice.random()) / 6.5)
        process.kill()
        process.communicate()
        text = file.read_text(encoding="utf-8")
        assert text in (source, new)
        found.add(text == new)
        assert len(load_stock(folder).lots) == 1
    assert len(found) == 2
