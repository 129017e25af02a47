"""How wide text is, before any browser has set it.

A page is read with whatever sans-serif font the device has. Widths are those of the bold cut of DejaVu Sans,
one of the widest in common use, so that text set in another font is narrower than the room it was given.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

# advance widths in em, read from the font's own table; tests read it again
_BY_WIDTH = {
    0.39: "' ijl/IJ\\|,.",
    0.53: ':;-f!()[]tr_`"*',
    0.61: "?zcs",
    0.70: "LvxyakEFTeo",
    0.74: "$0123456789hnu{}SYbdgpqCPZ",
    0.88: "BAKRVXUGD#+<=>HN^~OQ&",
    1.01: "w%@M",
    1.12: "mW",
}
_WIDTHS = {letter: width for width, letters in _BY_WIDTH.items() for letter in letters}
_OTHER = 1.3  # any other letter of a Latin, Greek or Cyrillic alphabet
_WIDE = 1.35  # one that Unicode calls wide or full-width, and signs such as the number sign


def width_of(text: str, size: float) -> float:
    """Upper bound of the width of one line of text, px at a font size in px.

    >>> round(width_of("24 V", 10), 1)
    27.5
    """
    return size * sum(map(_letter, text))


def _letter(letter: str) -> float:
    known = _WIDTHS.get(letter)
    if known is not None:
        return known
    if unicodedata.combining(letter):
        return 0.0
    return _WIDE if ord(letter) > 0x2100 or unicodedata.east_asian_width(letter) in "WF" else _OTHER


def wrapped(text: str, size: float, room: float, most: int = 9) -> list[str]:
    """Text in lines that fit a width in px, broken at spaces, and inside a word that is too long by itself.

    What would take more than ``most`` lines ends in three dots.

    >>> wrapped("flat square motor", 10, 60)
    ['flat', 'square', 'motor']
    >>> wrapped("flat square motor", 10, 60, most=2)
    ['flat', 'squa...']
    """
    lines = list(_lines(text, size, room))
    if len(lines) <= most:
        return lines
    last = lines[most - 1]
    while last and width_of(f"{last}...", size) > room:
        last = last[:-1]
    return [*lines[: most - 1], f"{last.rstrip()}..."]


def _lines(text: str, size: float, room: float) -> Iterator[str]:
    line = ""
    for word in _pieces(text.split(), size, room):
        longer = f"{line} {word}" if line else word
        if line and width_of(longer, size) > room:
            yield line
            longer = word
        line = longer
    yield line


def _pieces(words: list[str], size: float, room: float) -> Iterator[str]:
    """Words, those wider than the room cut into pieces that fit."""
    for word in words:
        start = 0
        for end in range(1, len(word) + 1):
            if end - start > 1 and width_of(word[start:end], size) > room:
                yield word[start : end - 1]
                start = end - 1
        yield word[start:]
