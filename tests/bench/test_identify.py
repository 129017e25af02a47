"""`fitter identify`: readings as people type them, states, questions, and cards."""

from __future__ import annotations

import io
import json
import math
from pathlib import Path
from typing import Any

import pytest
import typer

from fitter import cli
from fitter.errors import FitterError
from fitter.identify import card, identify_wires, ohms_of, parse_readings, readings_of_text

SIX = ["1-2=4.9", "1-3=9.6", "2-3=4.8", "4-5=4.7", "4-6=4.9", "5-6=9.7", "1-4=open"]
FIVE = ["a-e=33", "b-e=33", "c-e=34", "d-e=33", "a-b=66", "a-c=66"]
EIGHT = ["1-2=1.4", "3-4=1.4", "5-6=1.4", "7-8=1.4", "1-3=open"]


@pytest.mark.parametrize(
    ("text", "ohms"),
    [("3.1", 3.1), ("3,1", 3.1), ("3.1 ohm", 3.1), ("2k2", 2200), ("4R7", 4.7), ("0", 0.0)]
    + [(t, math.inf) for t in ("OL", "o.l.", "inf", "open", "-", "1.")],
)
def test_ohms_as_a_meter_shows_them(text: str, ohms: float) -> None:
    assert ohms_of(text) == ohms


@pytest.mark.parametrize("words", [["1-2"], ["1-1=3"], ["1-2=3", "2-1=3"], ["1-2=soup"], ["1-2=-3"], ["=3"]])
def test_what_is_no_reading_is_refused(words: list[str]) -> None:
    with pytest.raises(FitterError):
        parse_readings(words)


def test_readings_of_a_file() -> None:
    text = "# colours\nred-blue = 3.1, red-black=open\nblue-black=3,1; white-red=OL\n"
    assert readings_of_text(text) == ["red-blue=3.1", "red-black=open", "blue-black=3,1", "white-red=OL"]


def test_six_wires_are_clear() -> None:
    found = identify_wires(SIX)
    assert (found.state, found.form) == ("clear", "two coils with centre taps")
    assert [(c.ends, c.tap) for c in found.coils] == [(["1", "3"], ["2"]), (["5", "6"], ["4"])]
    assert [c.name for c in found.connections] == ["series", "half coil", "unipolar"]
    assert "1, 5, 3, 6" in found.connections[2].how  # coil by coil: full steps in this order turn the shaft


def test_leads_are_taken_off() -> None:
    found = identify_wires(["1-2=2.4", "3-4=2.4", "1-3=open"], leads=0.4)
    ends = found.coils[0].resistance
    assert ends is not None
    assert ends == pytest.approx((2.0 * 0.95, 2.0 * 1.05))


@pytest.mark.parametrize(
    ("words", "about"), [(FIVE, "halves of one coil"), (EIGHT, "which way round")], ids=["five", "eight"]
)
def test_what_ohms_cannot_tell_is_said(words: list[str], about: str) -> None:
    """The ends of a 5-wire motor and the halves of an 8-wire one are alike to an ohm-meter."""
    found = identify_wires(words)
    assert found.state == "ambiguous"
    assert found.form
    assert about in found.questions[0].question
    assert found.questions[0].trial


def test_a_coil_that_nothing_has_shown_is_asked_for() -> None:
    """Three open readings leave 3-4 only, if no coil is broken."""
    found = identify_wires(["1-2=2", "1-3=open", "1-4=open", "2-3=open"])
    assert (found.state, found.form, found.measure_next) == ("ambiguous", "two coils", ["3-4"])
    assert identify_wires(["1-2=2", "1-3=open", "1-4=open", "2-3=open", "3-4=2.1"]).state == "clear"


def test_few_readings_name_candidates_and_the_next_pair() -> None:
    found = identify_wires(["1-2=2"], count=4)
    assert found.wires == ["1", "2", "3", "4"]
    assert found.state == "ambiguous"
    assert len(found.candidates) > 1
    assert found.measure_next


def test_a_broken_coil_is_no_match() -> None:
    pairs = ["1-3", "1-4", "2-3", "2-4", "3-4"]
    found = identify_wires(["1-2=2", *(f"{p}=open" for p in pairs)])
    assert found.state == "no match"
    assert found.groups == [["1", "2"], ["3"], ["4"]]
    assert found.notes


def test_unlike_coils_and_high_ohms_are_noted() -> None:
    notes = " ".join(identify_wires(["1-2=20", "3-4=33", "1-3=open"]).notes)
    assert "shorted turns" in notes
    assert "chopper" in notes


# ---------------------------------------------------------------- cards


def test_supply_card_reads_an_unregulated_adapter() -> None:
    found = card("supply", {"open_voltage": "17.6 V", "loaded_voltage": "12 V", "capacitor_print": "35 V"})
    said = {(f.kind, f.rating): f for f in found.findings}
    assert said["adapter", "regulated"].sentence.startswith("adapter: regulated no")
    # rails are half to four fifths of the print on their output capacitor; common practice, no source
    assert said["switch-mode supply", "voltage"].value == pytest.approx((17.5, 28))
    assert "mains" in found.cautions
    assert [p.code for p in found.procedures][:2] == ["P16", "P17"]


def test_board_card_gives_the_speed() -> None:
    found = card("board", {"tacho_frequency": "300 Hz", "pulses_per_turn": "6"})
    (speed,) = found.findings
    assert speed.value == pytest.approx((3000 * math.pi / 30, 3000 * math.pi / 30), rel=0.02)
    assert len(found.procedures[0].steps) >= 6


@pytest.mark.parametrize("given", [{"open_volts": "12 V"}, {"open_voltage": "12 A"}])
def test_card_refuses_what_it_does_not_take(given: dict[str, str]) -> None:
    with pytest.raises(FitterError):
        card("supply", given)


# ---------------------------------------------------------------- on the command line


def run(*words: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    status = cli.run(["identify", *words])
    return (status, *capsys.readouterr())


def test_command_prints_text_and_json(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run("wires", *SIX, capsys=capsys)
    assert status == 0
    assert "coil 1 - 3, tap 2" in out
    status, out, _ = run("wires", *SIX, "--json", capsys=capsys)
    assert json.loads(out)["state"] == "clear"
    for name in ("board", "supply"):
        status, out, _ = run(name, capsys=capsys)
        assert status == 0
        assert "1. " in out


def test_command_reads_files_and_standard_input(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    text = "\n".join(SIX)
    file = tmp_path / "ohms.txt"
    file.write_text(text, encoding="utf-8")
    assert "clear" in run("wires", "--file", str(file), capsys=capsys)[1]
    monkeypatch.setattr("sys.stdin", io.StringIO(text))
    assert "clear" in run("wires", "-", capsys=capsys)[1]


def test_command_without_readings_says_how(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    status, _, err = run("wires", capsys=capsys)
    assert status == 2
    assert "1-2=3.1" in err


def test_command_asks_on_a_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pairs 1-2 and 3-4 of a 4-wire motor; one answer is not understood and asked again."""
    monkeypatch.setattr("sys.stdin", type("Terminal", (io.StringIO,), {"isatty": lambda self: True})(""))
    asked: list[str] = []

    def answer(text: str, **_: Any) -> Any:
        asked.append(text)
        if "How many" in text:
            return 4
        if len(asked) == 2:
            return "soup"
        return "2.1" if text in ("1-2", "3-4") else "open"

    monkeypatch.setattr(typer, "prompt", answer)
    status, out, err = run("wires", capsys=capsys)
    assert status == 0
    assert "soup" in err
    assert "two coils  clear" in out
    assert "coil 1 - 2" in out


def test_leaving_the_questions_is_no_fault(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", type("Terminal", (io.StringIO,), {"isatty": lambda self: True})(""))

    def leave(text: str, **_: Any) -> Any:
        raise typer.Abort

    monkeypatch.setattr(typer, "prompt", leave)
    status, _, err = run("wires", capsys=capsys)
    assert (status, err.strip()) == (130, "stopped")
