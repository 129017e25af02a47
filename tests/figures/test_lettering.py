"""Text is never wider than the room reserved for it: held against the fonts' own tables."""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib import font_manager
from matplotlib.ft2font import FT2Font, LoadFlags

from fitter.figures.lettering import width_of, wrapped


@pytest.mark.parametrize("weight", ["normal", "bold"])
def test_letters_are_at_most_as_wide_as_reckoned(weight: str) -> None:
    """DejaVu Sans, as it comes with matplotlib."""
    font = FT2Font(font_manager.findfont(font_manager.FontProperties(family="DejaVu Sans", weight=weight)))
    font.set_size(100, 72)
    signs = "Ωµμ°²·×–…äöüßéñçøåÄÖÜłžŽБжЖΣφθ≥≤→±№€½"
    for letter in string.printable[:95] + signs:
        advance = font.load_char(ord(letter), LoadFlags.NO_HINTING).linearHoriAdvance / 65536
        assert advance <= width_of(letter, 100), letter


@given(st.text("abcW mi.", max_size=80), st.floats(15, 200))
def test_wrapped_lines_fit_and_keep_every_letter(text: str, room: float) -> None:
    lines = wrapped(text, 10, room, most=1000)
    assert all(width_of(line, 10) <= room for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


@given(st.text("abcW mi.", max_size=80), st.floats(30, 200), st.integers(1, 3))
def test_what_is_left_out_shows(text: str, room: float, most: int) -> None:
    lines, every = wrapped(text, 10, room, most), wrapped(text, 10, room, 1000)
    assert len(lines) <= most
    assert all(width_of(line, 10) <= room for line in lines)
    assert lines == every if len(every) <= most else lines[-1].endswith("...")
