"""Durations, numbers, quantities, and words that are nearly right."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.quantity import edits, minutes, nearest, number, quantity


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("5 min", 5),
        ("1 h 30 min", 90),
        ("90 s", 1.5),
        ("2 h", 120),
        ("1.5 h", 90),
        ("1h30min", 90),
        ("1 h 2 min 30 s", 62.5),
        (" 5  min ", 5),
        ("0 min", 0),
        *((wrong, None) for wrong in ("", "5", "min", "5 minutes", "5 m", "-5 min", "1,5 h", "5 min 1 h", "5 min 5 min")),
        *((wrong, None) for wrong in ("about 5 min", "5-10 min", "5. min", ".5 h", "1e3 min", "five min", "h", "5 MIN")),
    ],
)
def test_durations(text, value):
    assert minutes(text) == value


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", 12), ("12.5", 12.5), ("0", 0), (" 7 ", 7), ("007", 7),
        ("-3", None), ("+3", None), ("1,5", None), ("1e3", None), ("", None), ("70 EUR", None), ("nan", None),
        ("inf", None), ("٣", None), ("1_000", None), (".5", None), ("5.", None),
    ],
)  # fmt: skip
def test_plain_numbers(text, value):
    assert number(text) == value


# SI prefixes; the names of the units are the page format's.
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12.6 V", (12.6, "V")), ("12.6V", (12.6, "V")), ("250 mV", (0.25, "V")),
        ("1 A", (1, "A")), ("180 mA", (0.18, "A")), ("5 W", (5, "W")),
        ("12 ohm", (12, "ohm")), ("20 mohm", (0.02, "ohm")), ("4.7 kohm", (4700, "ohm")), ("10 Mohm", (1e7, "ohm")),
        ("3.5 m", (3.5, "m")), ("30 cm", (0.3, "m")), ("8 mm", (0.008, "m")), ("94 %", (0.94, "%")),
        ("0.5 mm2", (0.5, "mm2")), ("-0.3 V", (-0.3, "V")), ("+1 V", (1, "V")),
        ("5", None), ("V", None), ("5 v", None), ("5 Ohm", None), ("5 Ω", None), ("1,5 V", None), ("5 V 3", None),
        ("", None), ("1e3 V", None), ("5 mV V", None),
    ],
)  # fmt: skip
def test_quantities(text, value):
    assert quantity(text) == value


@given(st.text(), st.sampled_from((minutes, number, quantity)))
def test_any_text_is_a_quantity_or_none(text, read):
    read(text)


# Damerau 1964: one insertion, deletion, change or swap of neighbours is one edit. Words invented.
@pytest.mark.parametrize(
    ("a", "b", "distance"),
    [
        ("", "", 0), ("lamp", "lamp", 0), ("lamp", "lam", 1), ("lam", "lamp", 1), ("lamp", "lamb", 1),
        ("lamp", "lapm", 1), ("lamp", "alpm", 2), ("lamp", "lx", 3), ("ab", "ba", 1), ("abc", "cab", 2),
        ("ca", "abc", 3),  # 2 without the rule that no stretch is edited twice
    ],
)  # fmt: skip
def test_edits(a, b, distance):
    assert edits(a, b, 5) == distance
    assert edits(b, a, 5) == distance
    assert edits(a, b, 1) == min(distance, 2)


def slow_edits(a: str, b: str) -> int:
    """The same by its recursive definition."""
    if not a or not b:
        return len(a) + len(b)
    ways = [slow_edits(a[1:], b) + 1, slow_edits(a, b[1:]) + 1, slow_edits(a[1:], b[1:]) + (a[0] != b[0])]
    if len(a) > 1 and len(b) > 1 and a[0] == b[1] and a[1] == b[0]:
        ways.append(slow_edits(a[2:], b[2:]) + 1)
    return min(ways)


@given(st.text("abc", max_size=5), st.text("abc", max_size=5))
def test_edits_are_those_of_the_definition(a, b):
    assert edits(a, b, 9) == slow_edits(a, b)


@pytest.mark.parametrize(
    ("word", "near"),
    [
        ("Takes", "Takes"), ("takes", "Takes"), ("Taks", "Takes"), ("Tkaes", "Takes"), ("Tks", None),
        ("Caused", "Causes"), ("Cause", "Causes"), ("Oder", "Order"), ("xyz", None), ("", None),
    ],
)  # fmt: skip
def test_nearest(word, near):
    assert nearest(word, ("Causes", "Order", "Takes")) == near


def test_nearest_does_not_hang_on_the_order_given():
    assert nearest("bat", ("cat", "hat")) == nearest("bat", ("hat", "cat"))
