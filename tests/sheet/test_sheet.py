"""The bench sheet holds what the checks hold, and nothing that a stock writes does harm."""

from __future__ import annotations

import base64
import json
import struct
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import html5lib
import jsonschema
import pytest

from fitter import words
from fitter.answers import match
from fitter.cli import run
from fitter.errors import FitterError
from fitter.physics import wires
from fitter.shed import Shed
from fitter.sheet.answers import sheet
from fitter.sheet.models import SheetAnswer
from fitter.sheet.photos import LARGEST, Album
from fitter.sheet.rails import FUSES, fuse_for, gauge_for, metric
from fitter.show.sheet import page as page_of
from fitter.stock.lots import Lot
from fitter.units import show

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
SHED, BOX = EXAMPLES / "repair_shed", EXAMPLES / "small_box.yaml"
RECIPES = ("camera-slider", "drawer-rails", "lab-supply", "pen-plotter")
SVG = "{http://www.w3.org/2000/svg}"
EVIL = "<script>alert(1)</script>"


@pytest.fixture(scope="module")
def shed() -> Shed:
    return Shed.open(SHED)


@pytest.fixture(scope="module", params=RECIPES)
def made(request: pytest.FixtureRequest, shed: Shed) -> SheetAnswer:
    return sheet(shed, request.param, stock=SHED)


@pytest.fixture(scope="module")
def slider(shed: Shed) -> SheetAnswer:
    return sheet(shed, "camera-slider", stock=SHED)


@pytest.fixture(scope="module")
def plotter(shed: Shed) -> SheetAnswer:
    return sheet(shed, "pen-plotter", stock=SHED)


def near(value: float | None) -> object:
    assert value is not None
    return pytest.approx(value, rel=1e-9)


# ---------------------------------------------------------------- the same values as elsewhere


@pytest.mark.parametrize("recipe", ["camera-slider", "drawer-rails", "lab-supply"])
def test_the_set_is_the_one_that_match_gives(shed: Shed, recipe: str) -> None:
    made = sheet(shed, recipe, stock=SHED)
    found = match(shed, recipe, top=1, order="diverse").sets[0]
    assert made.chosen.model_dump(exclude={"substitutes"}) == found.model_dump(exclude={"substitutes"})
    assert made.state == found.state


def test_the_second_set_is_the_second(shed: Shed) -> None:
    found = match(shed, "camera-slider", top=2, order="diverse").sets[1]
    assert sheet(shed, "camera-slider", stock=SHED, number=2).chosen.parts == found.parts


def test_torque_curves_pass_through_what_the_check_has(made: SheetAnswer) -> None:
    curves_hold(made)


def curves_hold(made: SheetAnswer) -> None:
    """Torque falls with speed: points on both sides of the demanded speed enclose what the check has."""
    checks = {c.roles[2]: c for c in made.chosen.checks if c.check == "torque at speed"}
    assert len(checks) == len(made.drives)
    for drive in made.drives:
        check = checks[drive.motor]
        assert drive.torque is not None
        assert drive.torque.need_torque == (near(check.need[0]), near(check.need[1]))
        speeds, (slow, fast) = drive.torque.speeds, drive.torque.need_speed
        below = max(i for i, s in enumerate(speeds) if s <= (slow or 0.0))
        above = min(i for i, s in enumerate(speeds) if s >= (fast or 0.0))
        for curve, had in ((drive.torque.least, check.have[0]), (drive.torque.most, check.have[1])):
            assert had is not None
            assert curve[above] <= had * (1 + 1e-9)
            assert had <= curve[below] * (1 + 1e-9)


def test_a_drive_with_a_dc_motor(tmp_path: Path) -> None:
    text = (EXAMPLES.parent / "recipes" / "camera-slider.yaml").read_text(encoding="utf-8")
    principles = "[stepper and belt, stepper and screw, stepper and rack, DC motor and belt with encoder]"
    assert principles in text
    own = text.replace(principles, "[DC motor and belt with encoder]").replace("camera-slider", "dc-slider")
    (tmp_path / "dc-slider.yaml").write_text(own, encoding="utf-8")
    made = sheet(Shed.open(SHED, tmp_path), "dc-slider", stock=SHED)
    curves_hold(made)
    (drive,) = made.drives
    assert drive.formulas == []
    assert {"current limit of the driver", "ramp", "soft limits"} <= {s.name for s in drive.settings}
    html5lib.HTMLParser(strict=True).parse(page_of(made))


def test_a_driver_without_current_control_wants_a_resistor(shed: Shed) -> None:
    """R = (V - drop)/I - R of the coil, the resistor that makes a voltage drive hold a current."""
    made = sheet(shed, "camera-slider", {"speed": "10 mm/s"}, stock=SHED, fixed={"slide.driver": "drv5"})
    (drive,) = made.drives
    assert drive.formulas == []
    ohms = next(s for s in drive.settings if s.name == "resistor in series with each coil").value[1]
    sentence = next(c.sentence for c in made.chosen.checks if c.check == "torque at speed")
    assert ohms is not None
    assert f"{show(ohms, 'resistance')} in series with each coil" in sentence


def test_likely_torque_lies_within_the_band(made: SheetAnswer) -> None:
    """The curve at the least rail voltage; that at the most may leave it, which the band leaves out."""
    for drive in made.drives:
        assert drive.torque is not None
        curve = drive.torque.curves[0].torque
        for least, likely, most in zip(drive.torque.least, curve, drive.torque.most, strict=True):
            assert least <= likely * (1 + 1e-9)
            assert likely <= most * (1 + 1e-9)


def test_rails_draw_what_the_check_needs(made: SheetAnswer) -> None:
    sums = [c for c in made.chosen.checks if c.check in ("current of the rail", "current of the front end")]
    assert sorted(r.role for r in made.rails) == sorted(_source(made, c.roles) for c in sums)
    for check in sums:
        rail = next(r for r in made.rails if r.role == _source(made, check.roles))
        assert rail.peak / rail.loading == near(check.need[1])
        assert rail.rating == (near(check.have[0]), near(check.have[1]))
        assert 0 < rail.typical <= rail.peak


def _source(made: SheetAnswer, roles: list[str]) -> str:
    return next(role for role in roles if any(rail.role == role for rail in made.rails))


def test_settings_of_the_slider(slider: SheetAnswer) -> None:
    """By hand: 20 teeth of 2 mm are 40 mm a turn; 200 steps times 16 over 40 mm are 80 pulses a mm."""
    settings = {s.name: s for s in slider.drives[0].settings}
    assert settings["steps per mm"].value == (near(80.0), near(80.0))
    assert settings["maximum rate"].value == (near(80.0 * 40), near(80.0 * 40))
    peak, rms = settings["driver current, peak"].value, settings["driver current, rms"].value
    assert rms[0] == near((peak[0] or 0) / 2**0.5)
    assert settings["soft limits"].value == (0.0, near(0.6))
    # Vref = 8 I Rs: the formula of the data sheet of that sort of driver chip
    assert "0.288 V with Rs 0.1 Ω" in slider.drives[0].formulas[0]
    assert peak[0] == near(0.288 / 8 / 0.1)


def test_a_move_covers_the_travel(slider: SheetAnswer) -> None:
    move = slider.drives[0].move
    assert move is not None
    area = sum(
        (a + b) / 2 * (t - s)
        for (s, a), (t, b) in zip(
            zip(move.times, move.speeds, strict=True),
            zip(move.times[1:], move.speeds[1:], strict=True),
            strict=False,
        )
    )
    assert area == pytest.approx(0.6)


@pytest.mark.parametrize("amps", [0.05, 0.3, 1.0, 2.4, 7.0, 14.0])
def test_fuse_and_wire_protect_each_other(amps: float) -> None:
    """The fuse carries the current at 75 % of its rating, the wire both: tables of `physics.wires`."""
    fuse = fuse_for(amps)
    assert fuse in FUSES
    assert fuse is not None
    assert fuse * wires.UL_FUSE_LOADING >= amps - 1e-9
    gauge = gauge_for(amps, fuse)
    assert wires.AWG_BUNDLED_CURRENT[gauge] >= amps
    assert wires.AWG_FREE_AIR_CURRENT[gauge] >= fuse
    assert metric(gauge) >= 0.94 * wires.gauge_area(gauge)


def test_output_region_of_the_lab_supply_agrees_with_the_checks(shed: Shed) -> None:
    made = sheet(shed, "lab-supply", stock=SHED)
    region = made.region
    assert region is not None
    heat = [c for c in made.chosen.checks if "junction" in c.check or "safe area" in c.check]
    assert heat
    fits = all(c.verdict == "fits" for c in heat)
    assert (region.heat[0] >= region.current) == fits, "the checks judge the lowest output"
    assert all(a <= b for a, b in zip(region.heat, region.heat[1:], strict=False)), "less heat at more volts"
    assert all(a <= b for a, b in zip(region.heat, region.heat_at_best, strict=True))


def test_every_open_rating_has_a_box_with_its_command(made: SheetAnswer) -> None:
    boxes = {f"{b.lot}.{b.rating}": b for b in made.boxes}
    for path in made.chosen.measure:
        assert boxes[path].decides
        lot, _, rating = path.partition(".")
        assert boxes[path].command.startswith(f"fitter record {lot} {rating}=")


def test_cautions_stand_once_each(made: SheetAnswer) -> None:
    keys = [c.key for c in made.cautions]
    assert len(keys) == len(set(keys))
    assert "hot motor" in keys or not made.drives
    assert all(c.place == "supply" for c in made.cautions if c.key == "mains")


def test_first_power_begins_without_motors_and_below_the_fuse(slider: SheetAnswer) -> None:
    texts = [step.text for step in slider.first_power]
    unplugged = next(i for i, t in enumerate(texts) if "motors unplugged" in t)
    plugged = next(i for i, t in enumerate(texts) if "plug in the motors" in t)
    assert unplugged < plugged
    limits = [step.limit for step in slider.first_power if step.limit is not None]
    assert limits == sorted(limits)
    assert slider.rails[0].fuse is not None
    assert max(limits) <= slider.rails[0].fuse


# ---------------------------------------------------------------- the command


def test_the_command_writes_a_page_quickly(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "slider.html"
    begun = time.process_time()
    assert run(["sheet", "camera-slider", "-o", str(file), "--stock", str(SHED)]) == 0
    assert time.process_time() - begun < 3
    assert file.stat().st_size < 1_000_000
    assert [f.name for f in tmp_path.iterdir()] == ["slider.html"]
    assert "wrote" in capsys.readouterr().err


def test_json_is_the_model(tmp_path: Path, capsys: pytest.CaptureFixture[str], slider: SheetAnswer) -> None:
    assert run(["sheet", "camera-slider", "--json", "--stock", str(SHED)]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document == slider.model_dump(mode="json")
    assert run(["schema", "sheet"]) == 0
    jsonschema.validate(document, json.loads(capsys.readouterr().out))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "no file to write"),
        (["-o", "no-such-folder/x.html"], "cannot write"),
        (["-o", "."], "cannot write"),
        (["-o", "/"], "cannot write"),
        (["-o", "x.html", "--set", "load=8kg", "--set-number", "40"], "no set 40"),
        (["-o", "x.html", "--set", "loud=8kg"], "loud"),
    ],
)
def test_bad_input_is_one_clear_line(
    words: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["sheet", "drawer-rails", "--stock", str(SHED), *words]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
    assert not list(tmp_path.iterdir())


def test_a_recipe_with_no_set_says_why_and_shows_the_nearest(shed: Shed) -> None:
    made = sheet(shed, "drawer-rails", {"load": "150 kg"}, stock=SHED)
    assert made.number == 0
    assert any("load of the slides" in line for line in made.why_not)
    assert "Do not build this" in page_of(made)


def test_a_set_that_is_not_there(shed: Shed) -> None:
    with pytest.raises(FitterError, match="no set 99"):
        sheet(shed, "drawer-rails", stock=SHED, number=99)


# ---------------------------------------------------------------- the page


@pytest.mark.parametrize(
    ("stock", "recipe"),
    [
        (SHED, "camera-slider"),
        (SHED, "pen-plotter"),
        (SHED, "lab-supply"),
        (BOX, "drawer-rails"),
        (BOX, "lab-supply"),
    ],
)
def test_pages_are_valid(stock: Path, recipe: str) -> None:
    text = page_of(sheet(Shed.open(stock), recipe, stock=stock))
    html5lib.HTMLParser(strict=True).parse(text)
    assert len(text) < 1_000_000


def test_the_page_prints_each_check_as_match_has_it(shed: Shed, slider: SheetAnswer) -> None:
    tree = html5lib.parse(page_of(slider), namespaceHTMLElements=False)
    rows = [
        [" ".join("".join(cell.itertext()).split()) for cell in row.iter("td")]
        for row in tree.iter("tr")
        if row.get("class") in ("fits", "unproven", "fails")
    ]
    found = match(shed, "camera-slider", top=1, order="diverse").sets[0].checks
    shown = [c for c in found if c.quantity != "flag"]
    assert len(rows) == len(shown) > 15
    for row, check in zip(rows, shown, strict=True):
        assert row[0].startswith(check.check)
        assert row[1:] == [*words.cells(check), check.verdict]
    text = "".join(tree.itertext())
    assert all(role in text for c in found for role in c.roles), "checks without figures name their parts"


def test_a_page_is_the_same_each_time(slider: SheetAnswer) -> None:
    assert page_of(slider) == page_of(slider)


def test_every_figure_has_words_for_those_who_do_not_see_it(made: SheetAnswer) -> None:
    tree = html5lib.parse(page_of(made), namespaceHTMLElements=False)
    ids = [e.get("id") for e in tree.iter() if e.get("id")]
    assert len(ids) == len(set(ids)), "ids are unique over the page"
    figures = list(tree.iter(f"{SVG}svg"))
    assert len(figures) >= 1 + len(made.drives)
    for svg in figures:
        assert svg.get("role") == "img"
        words = {
            e.get("id"): "".join(e.itertext()) for e in svg.iter() if e.tag in (f"{SVG}title", f"{SVG}desc")
        }
        named = (svg.get("aria-labelledby") or "").split()
        assert len(named) == 2
        assert all(len(words[n]) > 5 for n in named)
        assert next(svg.iter(f"{SVG}text"), None) is not None, "text stays text"


def test_a_page_carries_no_script_and_no_address(made: SheetAnswer) -> None:
    tree = html5lib.parse(page_of(made), namespaceHTMLElements=False)
    assert not list(tree.iter("script"))
    for element in tree.iter():
        for name, value in element.attrib.items():
            assert not str(name).startswith("on")
            if "href" in str(name) or name == "src":
                assert value.startswith(("#", "data:image/"))
    policy = next(e for e in tree.iter("meta") if e.get("http-equiv") == "Content-Security-Policy")
    assert policy.get("content") == "default-src 'none'; style-src 'unsafe-inline'; img-src data:"


@pytest.fixture(scope="module")
def evil(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A stock in which every text is a piece of a web page."""
    file = tmp_path_factory.mktemp("evil") / "stock.yaml"
    file.write_text(
        "lots:\n"
        f"  - id: '{EVIL}'\n    kind: drawer slide\n    count: 2\n"
        "    name: '\"><img src=x onerror=alert(1)>'\n"
        f"    bin: '{EVIL}'\n    note: '</small></table>{EVIL}'\n    donor: '{EVIL}'\n"
        "    travel: 360 mm, measured\n    closed_length: 370 mm, measured\n    load: 30 kg, measured\n",
        encoding="utf-8",
    )
    return file


def test_text_of_a_stock_is_shown_and_does_nothing(evil: Path) -> None:
    text = page_of(sheet(Shed.open(evil), "drawer-rails", stock=evil))
    tree = html5lib.parse(text, namespaceHTMLElements=False)
    assert not list(tree.iter("script"))
    assert not list(tree.iter("img"))
    assert EVIL in "".join(tree.itertext())


# ---------------------------------------------------------------- photos


def png(width: int = 1) -> bytes:
    """A real picture: one row of grey."""

    def chunk(kind: bytes, content: bytes) -> bytes:
        return (
            struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))
        )

    head = struct.pack(">IIBBBBB", width, 1, 8, 0, 0, 0, 0)
    rows = zlib.compress(b"\0" + b"\x80" * width)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.fixture
def shot(tmp_path: Path) -> Callable[[str], tuple[str, str]]:
    """What an album makes of the name of a picture, for a stock in a folder of its own."""
    stock = tmp_path / "stock"
    stock.mkdir()
    (stock / "lots.yaml").write_text("lots: []\n", encoding="utf-8")
    (stock / "good.png").write_bytes(png())
    (stock / "page.png").write_text("<svg onload=alert(1)>", encoding="utf-8")
    (stock / "huge.png").write_bytes(png() + b"\0" * LARGEST)
    (tmp_path / "secret.png").write_bytes(png())
    (stock / "link.png").symlink_to(tmp_path / "secret.png")

    def of(photo: str) -> tuple[str, str]:
        lot = Lot("a", "rod", photo=photo, file=str(stock / "lots.yaml"))
        return Album(stock).of(lot)

    return of


def test_a_picture_is_carried_along(shot: Callable[[str], tuple[str, str]]) -> None:
    address, problem = shot("good.png")
    assert problem == ""
    assert base64.b64decode(address.removeprefix("data:image/png;base64,")) == png()


@pytest.mark.parametrize(
    ("photo", "said"),
    [
        ("../secret.png", "outside"),
        ("link.png", "outside"),
        ("/etc/hostname", "outside"),
        ("page.png", "neither PNG nor JPEG"),
        ("lots.yaml", "neither PNG nor JPEG"),
        ("huge.png", "larger"),
        ("none.png", "not there"),
        (".", "not there"),
        ("a\0b", ""),
    ],
)
def test_only_real_pictures_beside_the_stock(
    shot: Callable[[str], tuple[str, str]], photo: str, said: str
) -> None:
    address, problem = shot(photo)
    assert address == ""
    assert problem
    assert said in problem


def test_a_photo_named_in_a_stock_stands_on_the_page(tmp_path: Path) -> None:
    (tmp_path / "slide.png").write_bytes(png(4))
    file = tmp_path / "stock.yaml"
    file.write_text(
        "lots:\n  - {id: s1, kind: drawer slide, count: 2, photo: slide.png, travel: '360 mm, measured',"
        " closed_length: '370 mm, measured', load: '30 kg, measured'}\n",
        encoding="utf-8",
    )
    tree = html5lib.parse(
        page_of(sheet(Shed.open(file), "drawer-rails", stock=file)), namespaceHTMLElements=False
    )
    (image,) = tree.iter("img")
    assert image.get("alt") == "photo of s1"
    assert image.get("src", "").startswith("data:image/png;base64,")
