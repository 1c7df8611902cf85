"""How wide words are in the drawing's typeface."""

from __future__ import annotations

# Advance widths of B612 in thousandths of the size, from U+0020 to U+007E; regular and bold are alike.
_WIDTHS = (
    350, 350, 400, 850, 550, 900, 700, 200, 450, 450, 550, 600, 250, 450, 300, 550, 650, 650, 650,
    650, 650, 650, 650, 650, 650, 650, 300, 250, 650, 500, 650, 550, 1000, 650, 650, 600, 650, 600,
    550, 650, 700, 300, 450, 600, 550, 900, 750, 800, 600, 800, 650, 550, 600, 700, 650, 950, 650,
    600, 600, 450, 550, 500, 750, 550, 550, 525, 600, 500, 600, 550, 400, 600, 600, 300, 300, 550,
    350, 900, 600, 600, 600, 600, 400, 450, 400, 600, 550, 750, 550, 550, 500, 649, 200, 600, 750,
)  # fmt: skip
OTHER = 1000  # thousandths that a letter outside the table is given
ASCENT, DESCENT = 0.80, 0.25  # of the size, above and below the line; no letter of the subset reaches further


def width(words: str, size: float) -> float:
    """The width of words in px at a size in px, without kerning."""
    return sum(_letter(letter) for letter in words) * size / 1000


def _letter(letter: str) -> int:
    place = ord(letter) - 32
    return _WIDTHS[place] if 0 <= place < len(_WIDTHS) else OTHER
