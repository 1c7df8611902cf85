"""The numbers behind the drawings: trunks and branches, scales, wire colours, heading levels, times."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.model import Cell, Finding, ReadingRange
from kb.site.context import codes
from kb.site.drawing.metrics import width
from kb.site.loom import TRUNK, branches, trunk
from kb.site.render import duration, percent, plural
from kb.site.scale import scales
from kb.site.sheets import heading_levels
from kb.site.wiring import COLOURS, paint
from kb.source import Span
from tests.bases import base

NOWHERE = Span("page.md", 1, 1, 1, 1)


def finding(*ranges: ReadingRange) -> Finding:
    """A finding that reads these."""
    cell = Cell(NOWHERE, "")
    return Finding(NOWHERE, cell, cell, ranges, (), (), None, False)


def test_the_trunk_thins_as_weight_leaves_it():
    """6, 3 and 1 of 10: 14 px, then 14 x 4/10 = 6, then 14 x 1/10 = 1, drawn no thinner than 2. (worked here)"""
    drawn = branches([6, 3, 1])
    assert [(b.above, b.below) for b in drawn] == [(14, 6), (6, 2), (2, 0)]
    assert [b.thick for b in drawn] == [12, 6, 2]
    assert [b.reach for b in drawn] == [78, 53, 36]


@given(st.lists(st.integers(0, 500), max_size=30))
def test_branches_hang_together_whatever_the_weights(weights):
    drawn = branches(weights)
    assert len(drawn) == len(weights)
    for first, second in zip(drawn, drawn[1:], strict=False):
        assert first.below == second.above <= first.above <= TRUNK
    assert not drawn or drawn[-1].below == 0


def test_a_trunk_of_nothing_is_not_drawn():
    assert (trunk(0, 5), trunk(5, 5), trunk(1, 100), trunk(0, 0)) == (0, 14, 2, 0)


def test_a_scale_of_volts_runs_to_15():
    (scale,) = scales([finding(ReadingRange(low=10.5, high=15.0, unit="V"))])
    assert scale is not None
    assert [label for _, label in scale.ticks] == ["0", "5", "10", "15"]
    assert scale.blocks == ((70.0, 30.0),)


def test_an_open_reading_runs_to_the_end_and_a_point_is_still_seen():
    above, point = scales([
        finding(ReadingRange(low=11.0, unit="V")), finding(ReadingRange(low=12.0, high=12.0, unit="V")),
    ])  # fmt: skip
    assert above is not None and point is not None
    assert above.blocks == ((73.33, 26.67),)
    assert point.blocks == ((80.0, 1.0),)


def test_other_units_get_a_scale_of_round_steps():
    """The highest bound is 30 ohm, a quarter more is 37.5: steps of 10 up to 40. (worked here)"""
    (scale,) = scales([finding(ReadingRange(low=8.0, high=30.0, unit="ohm"))])
    assert scale is not None
    assert [label for _, label in scale.ticks] == ["0", "10", "20", "", "40"]
    assert scale.blocks == ((20.0, 55.0),)


@given(st.floats(0.001, 1e6), st.sampled_from(["V", "A", "ohm"]))
def test_labels_of_a_scale_stand_apart_on_a_small_phone(high, unit):
    (scale,) = scales([finding(ReadingRange(low=0.0, high=high, unit=unit))])
    assert scale is not None
    last = len(scale.ticks) - 1
    spans = []
    for i, (at, label) in enumerate(scale.ticks):
        long = width(f"{label} {unit}" if i == last else label, 13)
        left = 1.76 * at - (0 if i == 0 else long if i == last else long / 2)
        spans += [(left, left + long)] if label else []
    assert spans[0][0] == 0 and len(spans) >= 2
    assert all(b[0] - a[1] >= 7.9 for a, b in zip(spans, spans[1:], strict=False))


@pytest.mark.parametrize(
    "ranges",
    [
        (ReadingRange(word="bright"),),
        (ReadingRange(low=1.0, high=2.0, unit="V"), ReadingRange(low=1.0, high=2.0, unit="A")),
        (ReadingRange(low=0.9, unit="%", relative="percent"),),
        (ReadingRange(low=-12.0, high=-11.0, unit="V"),),
        (),
    ],
)
def test_words_mixed_units_and_signs_get_no_scale(ranges):
    assert scales([finding(*ranges)]) == (None,)


@given(st.floats(0.001, 1e6), st.floats(0.0, 1.0), st.sampled_from(["V", "A", "ohm"]))
def test_blocks_lie_on_the_scale(high, part, unit):
    (scale,) = scales([finding(ReadingRange(low=high * part, high=high, unit=unit))])
    assert scale is not None
    ((start, width),) = scale.blocks
    assert start >= 0 and start + width <= 101.1
    assert 2 <= len(scale.ticks) <= 12 and scale.ticks[-1][0] == 100.0


def test_colours_are_the_codes_of_iec_60757():
    """The codes and words as the page format names them, from IEC 60757."""
    assert {code: words for code, (words, _) in COLOURS.items()} == {
        "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue",
        "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "GD": "gold", "TQ": "turquoise", "SR": "silver",
    }  # fmt: skip


def test_a_tracer_is_named_after_the_base():
    assert codes("WHBK") == codes("wh/bk") == ("WH", "BK")
    both = paint(("WH", "BK"))
    assert both is not None and (both.code, both.words) == ("WH/BK", "white with black")
    assert paint(("XX",)) is None and paint(()) is None and paint(codes("sand")) is None


def test_heading_levels_close_gaps():
    page = base("# A\n\n### B\n\nwords\n\n## C\n\n###### D\n\n# E\n").pages["page.md"]
    assert heading_levels(page) == {1: 1, 3: 2, 7: 2, 9: 3, 11: 1}
    assert heading_levels(page, above=1) == {1: 2, 3: 3, 7: 3, 9: 4, 11: 2}


def test_times_counts_and_shares_in_words():
    assert [duration(m) for m in (0.5, 1, 8, 59.5, 60, 90, 125, None)] == [
        "30 s", "1 min", "8 min", "59.5 min", "1 h", "1 h 30 min", "2 h 5 min", "",
    ]  # fmt: skip
    assert [plural(n, "cause") for n in (0, 1, 2)] == ["no causes", "1 cause", "2 causes"]
    assert percent(0.375) == "38 %"
