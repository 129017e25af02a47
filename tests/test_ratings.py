"""Ratings: every way to write one, what is left open, and what is refused."""

from __future__ import annotations

import contextlib
import dataclasses
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitter.errors import FitterError
from fitter.intervals import Interval
from fitter.ratings import Evidence, Rating, _tolerances, parse_choice, parse_rating, parse_window
from fitter.units import QUANTITIES, parse

CURRENTS = Interval(0.05, 8.0)
TORQUES = Interval(0.001, 15.0)


def close(rating: Rating, lo: float, hi: float, likely: float | None = None) -> bool:
    """Whether a rating has these ends, and this likely value if one is named."""
    ends = [rating.lo, rating.hi, *([] if likely is None else [rating.likely])]
    return ends == pytest.approx([lo, hi, *([] if likely is None else [likely])], rel=1e-12)


# ------------------------------------------------------------------ the grammar


@pytest.mark.parametrize(
    ("text", "lo", "hi", "likely"),
    [
        ("1.4 A +- 5 %", 1.33, 1.47, 1.4),
        ("1.4 A ± 5 %", 1.33, 1.47, 1.4),
        ("1.4A±5%", 1.33, 1.47, 1.4),
        ("1.4 A +/- 5 %", 1.33, 1.47, 1.4),
        ("1,4 A +- 5 %", 1.33, 1.47, 1.4),
        ("1.4 A +- 0.1 A", 1.3, 1.5, 1.4),
        ("1.4 A +- 100 mA", 1.3, 1.5, 1.4),
        ("1.4 A +- 0.1", 1.3, 1.5, 1.4),
        ("1.4 +- 0.1 A", 1.3, 1.5, 1.4),
        ("1.4 A +- 60 %", 0.56, 2.24, 1.4),
        ("1.2..1.6 A", 1.2, 1.6, 1.4),
        ("1.2 A..1.6 A", 1.2, 1.6, 1.4),
        ("1.2 ... 1.6 A", 1.2, 1.6, 1.4),
        ("1.2…1.6 A", 1.2, 1.6, 1.4),
        ("1.2 to 1.6 A", 1.2, 1.6, 1.4),
        ("1.2 A to 1.6 A", 1.2, 1.6, 1.4),
        ("1.2–1.6 A", 1.2, 1.6, 1.4),
        ("1.2-1.6 A", 1.2, 1.6, 1.4),
        ("1200 mA .. 1.6 A", 1.2, 1.6, 1.4),
        ("1,2..1,6 A", 1.2, 1.6, 1.4),
        ("0.5..4.5 A", 0.5, 4.5, 1.5),  # ends far apart: geometric mean
        ("1.4..1.4 A", 1.4, 1.4, 1.4),
        (">= 0.5 A", 0.5, 8.0, math.sqrt(0.5 * 1.5)),
        (">=0.5A", 0.5, 8.0, math.sqrt(0.5 * 1.5)),
        ("≥ 0.5 A", 0.5, 8.0, math.sqrt(0.5 * 1.5)),
        ("> 0.5 A", 0.5, 8.0, math.sqrt(0.5 * 1.5)),
        (">= 5 A", 5.0, 8.0, math.sqrt(5.0 * 8.0)),
        ("<= 0.5 A", 0.05, 0.5, math.sqrt(0.5 * 0.5 / 3)),
        ("≤ 0.5 A", 0.05, 0.5, math.sqrt(0.5 * 0.5 / 3)),
        ("< 0.09 A", 0.05, 0.09, math.sqrt(0.09 * 0.05)),
        ("unknown", 0.05, 8.0, math.sqrt(0.05 * 8.0)),
        ("?", 0.05, 8.0, math.sqrt(0.05 * 8.0)),
        ("UNKNOWN", 0.05, 8.0, math.sqrt(0.05 * 8.0)),
    ],
)
def test_ways_to_write_a_rating(text: str, lo: float, hi: float, likely: float) -> None:
    rating = parse_rating(text, "current", plausible=CURRENTS)
    assert close(rating, lo, hi, likely)
    assert rating.known == (text.lower() not in ("unknown", "?"))
    assert rating.text == text


@pytest.mark.parametrize("evidence", [e for e in Evidence if e is not Evidence.UNKNOWN])
@pytest.mark.parametrize("form", ["{}, {}", "{},{}", "{} , {}", "{}; {}", "{} {}", "  {} ,  {}  "])
@pytest.mark.parametrize("value", ["1.4 A", "1,4 A", "1.2..1.6 A", ">= 1 A", "1.4 A +- 5 %"])
def test_evidence_follows_the_value(evidence: Evidence, form: str, value: str) -> None:
    for word in (evidence.value, evidence.value.upper()):
        assert parse_rating(form.format(value, word), "current", plausible=CURRENTS).evidence is evidence


def test_a_value_without_source_is_stated() -> None:
    assert parse_rating("1.4 A", "current").evidence is Evidence.STATED


def test_unknown_stays_unknown_whatever_follows() -> None:
    rating = parse_rating("unknown, measured", "current", plausible=CURRENTS)
    assert rating.evidence is Evidence.UNKNOWN
    assert not rating.known


def test_evidence_is_ordered_by_strength() -> None:
    order = ["unknown", "estimated", "stated", "nameplate", "datasheet", "measured"]
    assert [e.value for e in sorted(Evidence, key=lambda e: e.strength)] == order
    assert [e.strength for e in map(Evidence, order)] == [0, 1, 2, 3, 4, 5]


def test_a_rating_knows_whether_it_is_exact() -> None:
    assert parse_rating("4, measured", "count", tolerance="exact").exact
    assert not parse_rating("1.2..1.6 A", "current").exact
    assert parse_rating("1.2..1.6 A", "current").interval == Interval(1.2, 1.6)


def test_ratings_cannot_be_changed() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        parse_rating("1.4 A", "current").lo = 0.0  # type: ignore[misc]


# ------------------------------------------------------------------ open ends, likely values


def test_open_ends_without_a_plausible_range() -> None:
    above = parse_rating(">= 0.5 N m", "torque")
    assert (above.lo, above.hi) == (0.5, math.inf)
    assert above.likely == pytest.approx(math.sqrt(0.5 * 1.5))
    below = parse_rating("<= 0.5 N m", "torque")
    assert (below.lo, below.hi) == (0.0, 0.5)


def test_a_bound_outside_the_plausible_range_is_believed() -> None:
    above = parse_rating(">= 20 N m", "torque", plausible=TORQUES)
    assert above.lo == 20.0
    assert above.hi >= 20.0
    assert above.lo <= above.likely <= above.hi
    below = parse_rating("<= 0.0005 N m", "torque", plausible=TORQUES)
    assert below.hi == 0.0005
    assert 0 <= below.lo <= below.likely <= below.hi


def test_a_likely_value_may_be_given_for_what_is_left_open() -> None:
    assert parse_rating("unknown", "current", plausible=CURRENTS, likely=1.7).likely == 1.7
    assert parse_rating(">= 2 A", "current", plausible=CURRENTS, likely=1.7).likely == 2.0
    assert parse_rating("1.4 A", "current", plausible=CURRENTS, likely=1.7).likely == 1.4


def test_sizes_that_fall_as_the_number_rises() -> None:
    inch = 0.0254
    assert close(parse_rating("150..180 lpi", "length"), inch / 180, inch / 150)
    for text in ("18..22 AWG", "22..18 AWG"):
        wire = parse_rating(text, "length")
        assert (wire.lo, wire.hi) == (parse("22 AWG", "length"), parse("18 AWG", "length"))
    assert parse_rating(">= 150 lpi", "length").hi == inch / 150
    assert parse_rating("<= 22 AWG", "length").lo == parse("22 AWG", "length")


def test_codes_and_fractions_inside_ratings() -> None:
    assert close(parse_rating("4k7 +- 5 %", "resistance"), 4465.0, 4935.0, 4700.0)
    assert close(parse_rating("4k7..10k", "resistance"), 4700.0, 10000.0)
    assert close(parse_rating("1-1/2 in +- 1 %", "length"), 0.0381 * 0.99, 0.0381 * 1.01)
    assert close(parse_rating("1/4..3/8 in", "length"), 0.00635, 0.009525)
    assert close(
        parse_rating("AWG 22, datasheet", "length", tolerance="exact"), *[parse("22 AWG", "length")] * 2
    )
    assert close(parse_rating("-20..70 °C", "temperature"), 253.15, 343.15)
    assert close(parse_rating("60 °C +- 3 K", "temperature"), 330.15, 336.15)
    assert close(parse_rating("85 % +- 5 %", "ratio"), 0.80, 0.90)  # of percent, points
    assert close(parse_rating("0.85 +- 10 %", "ratio"), 0.765, 0.935)
    assert close(parse_rating("200 +- 5 %", "count"), 190, 210)


# ------------------------------------------------------------------ default tolerances


@pytest.mark.parametrize(
    ("text", "quantity", "tolerance", "percent"),
    [
        ("2 A, measured", "current", "electrical", 3),
        ("2 A, datasheet", "current", "electrical", 5),
        ("2 A, nameplate", "current", "electrical", 10),
        ("2 A", "current", "electrical", 10),
        ("2 A, estimated", "current", "electrical", 25),
        ("24 V, measured", "voltage", "rail", 2),
        ("24 V, nameplate", "voltage", "rail", 5),
        ("60 V, datasheet", "voltage", "limit", 0),
        ("0.4 N m, measured", "torque", "mechanical", 10),
        ("8 mm, measured", "length", "nominal", 0.1),
        ("30:1, nameplate", "ratio", "exact", 0),
    ],
)
def test_a_plain_value_is_as_good_as_its_class_and_evidence(
    text: str, quantity: str, tolerance: str, percent: float
) -> None:
    value = parse(text.partition(",")[0], quantity)
    rating = parse_rating(text, quantity, tolerance=tolerance)
    assert close(rating, value * (1 - percent / 100), value * (1 + percent / 100), value)


def test_lengths_have_an_absolute_part_of_at_most_half_the_value() -> None:
    assert close(parse_rating("10 mm, measured", "length", tolerance="length"), 9.5e-3, 10.5e-3)
    assert close(parse_rating("1 m, measured", "length", tolerance="length"), 0.998, 1.002)
    assert close(parse_rating("0.6 mm, measured", "length", tolerance="length"), 0.3e-3, 0.9e-3)


def test_counts_stay_whole() -> None:
    rating = parse_rating("48, estimated", "count", tolerance="exact")
    assert (rating.lo, rating.hi, rating.likely) == (44, 52, 48)
    four = parse_rating("4, estimated", "count", tolerance="exact")
    assert (four.lo, four.hi) == (4, 4)


def test_tolerance_of_a_temperature_counts_from_zero_celsius() -> None:
    rating = parse_rating("100 °C, measured", "temperature", tolerance="thermal")
    assert close(rating, 363.15, 383.15)


@pytest.mark.parametrize("name", sorted(_tolerances()))
def test_every_class_bounds_every_evidence_and_better_evidence_no_wider(name: str) -> None:
    entry = _tolerances()[name]
    evidence = {e.value for e in Evidence} - {"unknown"}
    assert set(entry["percent"]) == evidence
    assert set(entry.get("size", evidence)) == evidence
    assert entry["about"]
    widths = [entry["percent"][e] for e in ("datasheet", "nameplate", "stated", "estimated")]
    assert widths == sorted(widths)
    assert entry["percent"]["measured"] <= entry["percent"]["estimated"]
    for size in entry.get("size", {}).values():
        assert parse(size, "length") > 0


# ------------------------------------------------------------------ refusals


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("1.6..1.2 A", "smaller end first"),
        ("1.4 A +- -5 %", "without sign"),
        ("1.4 A +- 150 %", "range"),
        ("1.4 A +- 2 A", "range"),
        ("1.2..1.6 A +- 5 %", "one tolerance"),
        ("1.4 A +- 5 % +- 3 %", "one tolerance"),
        ("1.4 A +-", "+- 5 %"),
        ("1.4 A +- x", "number"),
        ("1.4", "1.4 A"),
        ("1.2..1.6", "1.4 A"),
        ("1.4 V", "1.4 A"),
        (">= 0.5", "1.4 A"),
        (">=", "number"),
        ("..1.6 A", "number"),
        ("1.2.. A", "number"),
        ("1.2....1.6 A", "1.4 A"),
        ("", "unknown"),
        (", measured", "unknown"),
        ("measured", "number"),
        ("1.4 A, guessed", "measured, datasheet, nameplate, stated, estimated"),
        ("nan A", "number"),
        ("nan..1 A", "number"),
        ("~1.4 A", "1.4 A, estimated"),
        ("about 1.4 A", "1.4 A, estimated"),
        ("1,000 A", "`1.000` or `1000`"),
        ("-1.4 A", "without sign"),
        ("-1..1 A", "without sign"),
        ("0 A", "unknown"),
        ("1 A" * 60, "1.4 A"),
    ],
)
def test_errors_name_the_text_and_the_remedy(text: str, remedy: str) -> None:
    with pytest.raises(FitterError, match=re.escape(remedy)) as caught:
        parse_rating(text, "current", plausible=CURRENTS)
    assert caught.value.got is not None


def test_unknown_needs_a_plausible_range() -> None:
    with pytest.raises(FitterError, match="cannot be left unknown"):
        parse_rating("unknown", "current")


@pytest.mark.parametrize(
    ("text", "quantity", "remedy"),
    [
        ("60 °C +- 5 %", "temperature", "amount"),
        ("150 lpi +- 5 lpi", "length", "150..180 lpi"),
        ("4.5", "count", "`4`"),
    ],
)
def test_tolerances_that_mean_nothing(text: str, quantity: str, remedy: str) -> None:
    with pytest.raises(FitterError, match=remedy):
        parse_rating(text, quantity)


def test_values_below_zero_where_they_make_sense() -> None:
    assert parse_rating("-12 V +- 1 V", "voltage").interval == Interval(-13.0, -11.0)
    assert parse_rating("0 deg +- 1 deg", "angle").lo == pytest.approx(-math.pi / 180)


# ------------------------------------------------------------------ windows

LOW, HIGH = Interval(4.5, 12.0), Interval(12.0, 50.0)


def window(text: str) -> tuple[Rating, Rating]:
    return parse_window(text, "voltage", tolerance="electrical", plausible_low=LOW, plausible_high=HIGH)


@pytest.mark.parametrize(
    "text", ["8..35 V", "8 V .. 35 V", "8-35 V", "8 to 35 V, datasheet", "8..35 V, nameplate"]
)
def test_both_ends_of_a_window_hold_at_once(text: str) -> None:
    low, high = window(text)
    assert (low.lo, low.hi, low.likely) == (8.0, 8.0, 8.0)
    assert (high.lo, high.hi, high.likely) == (35.0, 35.0, 35.0)
    assert low.evidence is high.evidence
    assert low.text == high.text == text


def test_measured_and_estimated_ends_have_their_tolerance() -> None:
    low, high = window("10..14 V, measured")
    assert close(low, 9.7, 10.3, 10.0)
    assert close(high, 13.58, 14.42, 14.0)
    low, high = window("10..14 V, estimated")
    assert close(low, 7.5, 12.5, 10.0)


@pytest.mark.parametrize("text", ["24 V", "24 V +- 10 %"])
def test_a_single_value_is_a_window_of_ten_percent(text: str) -> None:
    low, high = window(text)
    assert close(low, 21.6, 21.6)
    assert close(high, 26.4, 26.4)


def test_open_windows() -> None:
    low, high = window("<= 35 V")
    assert (low.lo, low.hi, low.known) == (4.5, 12.0, False)
    assert (high.lo, high.hi, high.evidence) == (35.0, 35.0, Evidence.STATED)
    low, high = window(">= 4.5 V, datasheet")
    assert (low.lo, low.hi, low.evidence) == (4.5, 4.5, Evidence.DATASHEET)
    assert (high.lo, high.hi, high.known) == (12.0, 50.0, False)
    low, high = window("unknown")
    assert (low.interval, high.interval) == (LOW, HIGH)
    assert not low.known
    assert not high.known


def test_an_open_end_never_crosses_the_known_one() -> None:
    low, high = window(">= 20 V")
    assert high.lo == 20.0
    low, high = window("<= 6 V")
    assert (low.lo, low.hi) == (4.5, 6.0)


@pytest.mark.parametrize(
    "text", ["35..8 V", "8..35", "", "-8..35 V", "0 V", "8..35 A", "~24 V", "8..35 V, perhaps"]
)
def test_windows_refused(text: str) -> None:
    with pytest.raises(FitterError) as caught:
        window(text)
    assert caught.value.expected


# ------------------------------------------------------------------ choices

YES_NO = ("no", "yes")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("yes", 1),
        ("no", 0),
        (True, 1),
        (False, 0),
        ("True", 1),
        ("false", 0),
        ("Y", 1),
        ("n", 0),
        ("YES", 1),
        ("on", 1),
    ],
)
def test_yes_and_no(text: str | bool, code: int) -> None:
    rating = parse_choice(text, YES_NO)
    assert (rating.lo, rating.hi, rating.likely, rating.evidence) == (code, code, code, Evidence.STATED)


def test_choices_take_evidence() -> None:
    assert parse_choice("yes, measured", YES_NO).evidence is Evidence.MEASURED


@pytest.mark.parametrize("text", ["unknown", "?"])
def test_an_unknown_choice_may_be_any(text: str) -> None:
    rating = parse_choice(text, ("a", "b", "c"))
    assert (rating.lo, rating.hi, rating.known) == (0.0, 2.0, False)


@pytest.mark.parametrize(
    ("text", "code"),
    [("NEMA 17", 1), ("nema17", 1), ("Nema_17", 1), ("17", 1), ("8", 0), ("NEMA-23, nameplate", 2)],
)
def test_frame_sizes(text: str, code: int) -> None:
    assert parse_choice(text, ("NEMA 8", "NEMA 17", "NEMA 23")).lo == code


@pytest.mark.parametrize("text", ["maybe", "", "18", "yes no", "yes, perhaps"])
def test_other_words_are_refused(text: str) -> None:
    with pytest.raises(FitterError, match=r"one of (NEMA 17|measured)"):
        parse_choice(text, ("NEMA 17", "NEMA 23"))


# ------------------------------------------------------------------ fuzz

PIECES = [
    "1.4", "0.2", "3/8", "-", "..", "...", " to ", "+-", "±", "%", ">=", "<", "?", "unknown", ",", " ", "A",
    "mm", "AWG", "lpi", "°C", "N m", "measured", "estimated", "~", "4k7", "1e30", "0",
]  # fmt: skip
texts = st.one_of(st.text(max_size=130), st.lists(st.sampled_from(PIECES), max_size=9).map("".join))


@given(texts, st.sampled_from([*QUANTITIES]), st.booleans())
def test_any_text_is_an_ordered_rating_or_a_clear_error(text: str, quantity: str, bounded: bool) -> None:
    plausible = Interval(0.5, 40.0) if bounded else None
    with contextlib.suppress(FitterError):
        rating = parse_rating(text, quantity, plausible=plausible)
        assert rating.lo <= rating.likely <= rating.hi
        assert math.isfinite(rating.likely)
        assert math.isfinite(rating.hi) or not bounded


FORMS = [
    "{0} {2}", "{0}..{1} {2}", "{0} {2} - {1} {3}", ">= {0} {2}", "<{0}{2}", "{0} {2} +- {1} %",
    "{0} {2} ± {1} {3}", "{0} +- {1} {2}, measured", "{0} {2}, estimated",
]  # fmt: skip


@st.composite
def nearly_right(draw: st.DrawFn) -> tuple[str, str]:
    """A text of the grammar in units of its quantity, with numbers that may make no sense."""
    quantity = draw(st.sampled_from([*QUANTITIES]))
    unit = st.sampled_from([*QUANTITIES[quantity].units])
    number = st.sampled_from(["0", "1", "4", "1,4", "3/8", "1 1/2", "1e29", "5e-30", "-3", "22", "150"])
    form = draw(st.sampled_from(FORMS))
    return form.format(draw(number), draw(number), draw(unit), draw(unit)), quantity


@given(
    nearly_right(), st.sampled_from([None, Interval(0.5, 40.0), Interval(-5.0, 5.0), Interval(0.0, math.inf)])
)
def test_texts_of_the_grammar_are_ordered_ratings_or_clear_errors(
    written: tuple[str, str], plausible: Interval | None
) -> None:
    with contextlib.suppress(FitterError):
        rating = parse_rating(*written, plausible=plausible)
        assert rating.lo <= rating.likely <= rating.hi
        assert math.isfinite(rating.likely)


@given(st.one_of(st.tuples(texts, st.sampled_from([*QUANTITIES])), nearly_right()))
def test_any_text_is_an_ordered_window_or_a_clear_error(written: tuple[str, str]) -> None:
    with contextlib.suppress(FitterError):
        low, high = parse_window(
            *written,
            tolerance="electrical",
            plausible_low=Interval(0.5, 40.0),
            plausible_high=Interval(10.0, 99.0),
        )
        assert low.lo <= low.likely <= low.hi
        assert high.lo <= high.likely <= high.hi
        assert low.likely <= high.likely


@given(texts)
def test_any_text_is_a_choice_or_a_clear_error(text: str) -> None:
    with contextlib.suppress(FitterError):
        assert parse_choice(text, YES_NO).lo in (0.0, 1.0)
