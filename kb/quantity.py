"""Durations, plain numbers, quantities with units, and how near two words are."""

from __future__ import annotations

import re
from collections.abc import Iterable

_NUMBER = r"\d+(?:\.\d+)?"
_DURATION = re.compile(rf"(?:({_NUMBER})\s*h)?\s*(?:({_NUMBER})\s*min)?\s*(?:({_NUMBER})\s*s)?")
_QUANTITY = re.compile(rf"([+-]?{_NUMBER})\s*(\S*)")

# Factor to the base unit, and the base unit's symbol (SI prefixes; the unit names of the format).
UNITS: dict[str, tuple[float, str]] = {
    "V": (1.0, "V"), "mV": (1e-3, "V"), "A": (1.0, "A"), "mA": (1e-3, "A"), "W": (1.0, "W"),
    "ohm": (1.0, "ohm"), "mohm": (1e-3, "ohm"), "kohm": (1e3, "ohm"), "Mohm": (1e6, "ohm"),
    "m": (1.0, "m"), "cm": (1e-2, "m"), "mm": (1e-3, "m"), "%": (1e-2, "%"), "mm2": (1.0, "mm2"),
}  # fmt: skip


def minutes(text: str) -> float | None:
    """`5 min`, `1 h 30 min` or `90 s` in minutes; None where the text is no duration."""
    match = _DURATION.fullmatch(text.strip())
    if not match or not any(match.groups()):
        return None
    hours, mins, seconds = (float(part or 0) for part in match.groups())
    return hours * 60 + mins + seconds / 60


def number(text: str) -> float | None:
    """A plain number without sign and unit, or None."""
    return float(text) if re.fullmatch(_NUMBER, text.strip(), re.ASCII) else None


def quantity(text: str) -> tuple[float, str] | None:
    """A number and its unit in base units (V, A, W, ohm, m, mm2, % as a fraction), or None."""
    match = _QUANTITY.fullmatch(text.strip())
    if not match or match[2] not in UNITS:
        return None
    factor, unit = UNITS[match[2]]
    return (round(float(match[1]) * factor, 12), unit)


def edits(a: str, b: str, limit: int = 2) -> int:
    """Optimal string alignment distance (insert, delete, change, swap neighbours), at most limit + 1.

    Source: Damerau 1964 as restricted edit distance; cost O(len(a) len(b)).
    """
    if abs(len(a) - len(b)) > limit:
        return limit + 1
    before: list[int] = []
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        before, last, row = row, before, [i]
        for j, y in enumerate(b, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (x != y))
            if i > 1 and j > 1 and x == b[j - 2] and a[i - 2] == y:
                cost = min(cost, last[j - 2] + 1)
            row.append(cost)
    return min(row[-1], limit + 1)


def nearest(word: str, known: Iterable[str], limit: int | None = None) -> str | None:
    """The known word with the fewest edits from `word`, regardless of case; None beyond `limit`.

    Without a limit: 1 edit up to five letters, 2 above, a quarter of the length for long names.
    """
    most = limit if limit is not None else 1 if len(word) <= 5 else max(2, len(word) // 4)
    folded = word.casefold()
    best = min(((edits(folded, k.casefold(), most), k) for k in known), default=(most + 1, ""))
    return best[1] if best[0] <= most else None
