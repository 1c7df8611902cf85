"""Random linear nets against elimination in fractions. All values are invented."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings

from tests.circuit import exact
from tests.circuit.nets import LINEAR, Drawn, drawn_nets, once


def branches(drawn: Drawn) -> list[exact.Branch]:
    """The elements in fractions, just as the solver holds them."""
    return [(a, b, Fraction(c.slopes[0]), Fraction(c.offsets[0])) for a, b, c in drawn.elements]


@given(drawn_nets(LINEAR))
def test_same_voltages_and_islands(drawn: Drawn):
    solved = once(drawn.nodes, drawn.elements)
    island = exact.islands(drawn.nodes, branches(drawn))
    assert solved.island[0].tolist() == island
    wanted = exact.voltages(drawn.nodes, branches(drawn))
    found = [v - solved.volts[0, island[n]] for n, v in enumerate(solved.volts[0])]
    assert found == pytest.approx([float(v) for v in wanted], abs=1e-8)


@settings(max_examples=20)
@given(drawn_nets(LINEAR, most=20))
def test_same_currents_in_larger_nets(drawn: Drawn):
    solved = once(drawn.nodes, drawn.elements)
    volts = exact.voltages(drawn.nodes, branches(drawn))
    wanted = [float(g * (volts[a] - volts[b]) + c) for a, b, g, c in branches(drawn)]
    assert solved.amps[0].tolist() == pytest.approx(wanted, abs=1e-6)


def test_referee_by_hand():
    """12 V behind 1 ohm into 2 ohm: 8 V (exact); two nodes that hang on each other alone lie at zero."""
    half = Fraction(1, 2)
    circuit = [(1, 0, Fraction(1), Fraction(-12)), (1, 0, half, Fraction(0)), (2, 3, half, Fraction(0))]
    assert exact.voltages(4, circuit) == [0, 8, 0, 0]
    assert exact.islands(4, circuit) == [0, 0, 2, 2]
