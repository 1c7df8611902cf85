"""Numbers and cases at the corners of the solver: ends of curves, nets, the search for the right pieces. Each by hand.

The circuits and their values are invented; limits are the solver's own, stated beside `kb/circuit/curves.py`.
"""

from __future__ import annotations

import numpy as np
import pytest

from kb.circuit import batch, curves
from kb.circuit.batch import Variant, solve
from kb.circuit.curves import OPEN, Curve
from kb.circuit.faults import Draft
from kb.circuit.net import compile_net
from kb.netlist import Change, Terminal
from tests.circuit.glass import pair
from tests.circuit.nets import net, once
from tests.circuit.tables import Case, volts


def at(curve: Curve, volt: float) -> float:
    """The current of a curve at a voltage."""
    piece = next(k for k, end in enumerate(curve.ends) if volt <= end)
    return curve.slopes[piece] * volt + curve.offsets[piece]


# Curves.


@pytest.mark.parametrize("share", [0.02, 0.05, 0.1, 0.2, 0.35, 0.55, 0.8, 1.0, 1.3])
def test_filament_at_its_corners(share):
    """I goes as V to the 0.55 (common practice, no source): 21 W at 12 V draws 1.75 A, and share ** 0.55 of it."""
    assert at(curves.filament(12.0, 21.0), 12 * share) == pytest.approx(1.75 * share**0.55, rel=1e-12)
    assert at(curves.filament(12.0, 21.0), -12 * share) == pytest.approx(-1.75 * share**0.55, rel=1e-12)


def test_filament_beyond_its_last_corner():
    """From 130 % on it goes on by 0.55 of its rated slope: 1.75 A / 12 V x 0.55 = 80.2 mA a volt."""
    lamp = curves.filament(12.0, 21.0)
    assert at(lamp, 20.0) - at(lamp, 18.0) == pytest.approx(2 * 0.55 * 1.75 / 12, rel=1e-12)
    assert len(lamp.ends) == 19  # nine corners each way


def test_each_curve_starts_where_zero_volts_lie():
    for curve in (
        curves.filament(12.0, 5.0),
        curves.motor(12.0, 0.18),
        curves.threshold(0.5, 1.0),
        curves.both_ways(0.7, 9.0),
        OPEN,
    ):
        low = curve.ends[curve.start - 1] if curve.start else -np.inf
        assert low <= 0 < curve.ends[curve.start]


def test_smallest_and_largest_ohms():
    """Below 10 micro-ohm nothing is smaller; above 1 Gohm all is open."""
    assert at(curves.ohms(0.0), 1.0) == at(curves.ohms(1e-6), 1.0) == pytest.approx(1e5)
    assert at(curves.threshold(0.0, 0.0), 1.0) == pytest.approx(1e5)
    assert curves.ohms(1e9).slopes == (1e-9,)
    assert curves.ohms(1.5e9).slopes == curves.ohms(2.5e9).slopes == (0.0,)
    assert curves.motor(0.0, 1.0).slopes[1] == pytest.approx(1e5)
    assert curves.wire_ohms(25, 1e-9) == 1e-5
    assert pair().does("M1", "up", "W4 2000 Mohm") == "still"


def test_a_diode_has_a_little_behind_it():
    """0.7 V and 50 mohm: 1 A drops 0.75 V."""
    case = Case("B1 | battery | + - | 12 V, 1 mohm\nD1 | diode | + - |\nR1 | resistor | a b | 11.249 ohm",
                "W1 | B1.+ | D1.+ | 25 | 1 mm\nW2 | D1.- | R1.a | 25 | 1 mm\nW3 | R1.b | B1.- | 25 | 1 mm",
                readings=("on | | voltmeter | D1.+ | D1.-",))  # fmt: skip
    assert case.read().value == pytest.approx(0.75, abs=1e-3)


def test_a_wiper_never_leaves_its_track():
    """A ten-thousandth of the track is left at either end: 8 V x 0.9999 and x 0.0001."""
    for place, share in ((100, 0.9999), (0, 0.0001)):
        case = Case(f"B1 | battery | + - | 8 V, 1 mohm\nP1 | potentiometer | top wiper bottom | 100 kohm, at {place} %",
                    "W1 | B1.+ | P1.top\nW2 | P1.bottom | B1.-")  # fmt: skip
        answer = case.answer()
        assert volts(answer, "P1.wiper") - volts(answer, "P1.bottom") == pytest.approx(8 * share, abs=2e-5)


# The net.


def test_every_node_is_some_terminals_or_a_splices():
    """No node without an element but the chassis, none twice."""
    case = Case("B1 | battery | + - | 12 V\nX1 | splice | a b c | 5 mohm\nR1 | resistor | a b | 9 ohm",
                "W1 | B1.+ | X1.a\nW2 | X1.b | R1.a\nW3 | X1.c | R1.b\nW4 | R1.b | B1.-")  # fmt: skip
    made = compile_net(case.circuit())
    assert {n for e in made.elements for n in (e.a, e.b)} == set(range(1, made.count))
    assert made.count == 1 + 2 + 3 + 2 + 1  # chassis, terminals, the splice's middle
    battery = made.elements[made.index[("B1",)]].curve
    assert (battery.slopes, battery.offsets) == ((50.0,), (-600.0,))  # 12 V behind 20 mohm, all of them


def test_outputs_without_a_battery_drive_nothing():
    parts = "U1 | output | out | 0.2 ohm, limit 5 A\nR1 | heater | a b | 9 ohm\nI1 | input | in | 1 kohm to feed\nG1 | ground | p |"
    case = Case(parts, "W1 | U1.out | R1.a\nW2 | R1.b | G1.p\nW3 | I1.in | R1.a", "Position | U1 drives\non | high")
    assert case.load("R1").volts == 0
    assert case.does("R1") == "cold"
    assert case.survey.bench.net.volts == 0


def test_crossed_pins_of_what_has_no_halves():
    """Only pins of a plug or a splice can be crossed; a page can't say other things, and they change and raise nothing."""
    draft = Draft(compile_net(pair().circuit()))
    switch, plug = Terminal("S1", "x"), Terminal("J2", "x")
    for one, two in ((switch, Terminal("S1", "y")), (plug, switch), (switch, plug)):
        draft.change(Change("crossed", one, two))
    assert draft.ends == {}


# The search for the right pieces.


def diodes(count: int) -> list[tuple[int, int, Curve]]:
    """So many diodes in parallel behind 1 ohm at 12 V: each has to leave its first piece."""
    return [(1, 0, curves.source(12.0, 1.0)), *((1, 0, curves.threshold(0.7, 1.0)) for _ in range(count))]


def searched(pieces: list[tuple[int, int, Curve]]) -> batch._Batch:
    """A batch of one variant, ready to run."""
    made, table = net(2, pieces), batch.Curves()
    which, a, b = batch._arrays(made, [Variant({}, {})], table, 0)
    return batch._Batch(2, which, a, b, table)


def test_late_rounds_move_one_element_by_one_piece(monkeypatch):
    """At first all go at once and all the way; late, step by step; at last one after the other.

    By hand: a cold 5 W lamp has 0.2019 S, so 12 V behind 0.1 ohm is 11.76 V: in the eighth piece of those above 0 V.
    """
    lamp = [(1, 0, curves.source(12.0, 0.1)), (1, 0, curves.filament(12.0, 5.0))]
    for jumps, one_by_one, moved, steps in ((9, 9, 3, 7), (0, 9, 3, 1), (0, 0, 1, 1)):
        monkeypatch.setattr(batch, "_ROUNDS", 1)
        monkeypatch.setattr(batch, "_JUMPS", jumps)
        monkeypatch.setattr(batch, "_ONE_BY_ONE", one_by_one)
        three, one = searched(diodes(3)), searched(lamp)
        before = one.piece.copy()
        assert not three.run().settled.any()  # a round, and no answer yet
        one.run()
        assert three.piece.sum() == moved
        assert (one.piece - before).sum() == steps


def test_slow_ways_lead_to_the_same_answer(monkeypatch):
    """By hand: 12 V - V = 3 (V - 0.7), so V = 3.525 V, however the pieces are found."""
    for late in (0, 400):
        monkeypatch.setattr(batch, "_JUMPS", late)
        monkeypatch.setattr(batch, "_ONE_BY_ONE", late)
        assert once(2, diodes(3)).volts[0, 1] == pytest.approx(14.1 / 4)


def test_a_variant_with_less_on_top_has_no_current_there():
    """Variants of one batch have as many elements; those that one doesn't have carry nothing."""
    plain = net(2, [(1, 0, curves.source(12.0, 1.0))])
    solved = solve(plain, [Variant({}, {}), Variant({}, {}, ((1, 0, curves.ohms(2.0)),))])
    assert solved.amps.shape == (2, 2)
    assert solved.amps[:, 1].tolist() == pytest.approx([0.0, 4.0])
    assert solved.volts[:, 1].tolist() == pytest.approx([12.0, 8.0])
