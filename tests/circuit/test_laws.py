"""Laws that hold in every net, on random ones: Kirchhoff, Tellegen, reciprocity, superposition, Thevenin and more.

The laws are those of textbooks on electrical networks (from memory); the values are invented.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from kb.circuit import batch, curves
from kb.circuit.batch import Variant, solve
from kb.circuit.curves import Curve
from tests.circuit.nets import BENT, LINEAR, RESISTANCES, SOURCES, Drawn, drawn_nets, net, once, out_of

ALL = st.one_of(LINEAR, BENT)
HARD = st.one_of(RESISTANCES, SOURCES, BENT, BENT)
PICK = st.integers(0, 10**6)


def scale(drawn: Drawn, factor: float) -> Drawn:
    """All curves with their currents divided by a factor: all ohms multiplied by it."""

    def scaled(c: Curve) -> Curve:
        return Curve(c.ends, tuple(s / factor for s in c.slopes), tuple(o / factor for o in c.offsets))

    return replace(drawn, elements=tuple((a, b, scaled(c)) for a, b, c in drawn.elements))


def largest(solved: batch.Solved) -> float:
    """The largest current, for the measure of what is small beside it."""
    return 1.0 + float(np.abs(solved.amps).max())


@given(drawn_nets(ALL))
def test_no_current_is_left_over_at_any_node(drawn: Drawn):
    """Kirchhoff's current law, in floating parts too."""
    solved = once(drawn.nodes, drawn.elements)
    assert np.abs(out_of(drawn.nodes, drawn.elements, solved)).max() < 1e-8 * largest(solved)


@given(drawn_nets(ALL))
def test_voltages_add_up_and_currents_lie_on_the_curves(drawn: Drawn):
    """Kirchhoff's voltage law by node voltages; each current is what its curve gives at its voltage."""
    solved = once(drawn.nodes, drawn.elements)
    for (a, b, curve), across, amps in zip(drawn.elements, solved.across[0], solved.amps[0], strict=True):
        assert across == pytest.approx(solved.volts[0, a] - solved.volts[0, b], abs=1e-12)
        piece = next(k for k, end in enumerate(curve.ends) if across <= end)
        assert amps == pytest.approx(curve.slopes[piece] * across + curve.offsets[piece], abs=1e-6)


@given(drawn_nets(ALL))
def test_power_in_is_power_out(drawn: Drawn):
    """Tellegen: the sum of volts times amperes over all elements is zero."""
    solved = once(drawn.nodes, drawn.elements)
    power = solved.across[0] * solved.amps[0]
    assert abs(power.sum()) < 1e-9 * (1 + np.abs(power).sum()) + 1e-7


@given(drawn_nets(ALL), drawn_nets(ALL))
def test_power_of_one_net_with_currents_of_another(drawn: Drawn, other: Drawn):
    """Tellegen's stronger form: voltages and currents may come from two nets of one shape."""
    curves_of = [c for _, _, c in other.elements]
    twin = replace(
        drawn, elements=tuple((a, b, curves_of[i % len(curves_of)]) for i, (a, b, _) in enumerate(drawn.elements))
    )
    one, two = once(drawn.nodes, drawn.elements), once(twin.nodes, twin.elements)
    terms = one.across[0] * two.amps[0]
    assert abs(terms.sum()) < 1e-8 * (1 + np.abs(terms).sum()) * largest(two)


@given(drawn_nets(RESISTANCES), PICK, PICK)
def test_reciprocity(drawn: Drawn, one: int, other: int):
    """A current into one pair of nodes gives, at another pair, the voltage that it gives the other way round."""
    p, q = one % (drawn.nodes - 1) + 1, other % (drawn.nodes - 1) + 1
    island = once(drawn.nodes, drawn.elements).island[0]
    assume(island[p] == island[q] == 0)
    push = [Curve((np.inf,), (0.0,), (-1.0,))]
    there = once(drawn.nodes, [*drawn.elements, (p, 0, *push)]).volts[0, q]
    back = once(drawn.nodes, [*drawn.elements, (q, 0, *push)]).volts[0, p]
    assert there == pytest.approx(back, abs=1e-9, rel=1e-9)


@given(drawn_nets(LINEAR))
def test_superposition(drawn: Drawn):
    """In a linear net each source alone, the others at zero volts, adds up to all together."""
    whole = once(drawn.nodes, drawn.elements)
    driving = [i for i, (_, _, c) in enumerate(drawn.elements) if c.offsets[0]]

    def alone(keep: int) -> np.ndarray:
        off = [(a, b, c if i == keep else curves.line(c.slopes[0])) for i, (a, b, c) in enumerate(drawn.elements)]
        return once(drawn.nodes, off).across[0]

    total = sum((alone(i) for i in driving), np.zeros(len(drawn.elements)))
    joined = whole.island[0]
    for i, (a, b, _) in enumerate(drawn.elements):
        if joined[a] == joined[b]:
            assert total[i] == pytest.approx(whole.across[0, i], abs=1e-7)


@given(drawn_nets(ALL), st.sampled_from((0.1, 3.0, 1000.0)))
def test_all_ohms_times_a_factor(drawn: Drawn, factor: float):
    """Voltages stay, currents are divided by the factor."""
    assume(not dangling(drawn))
    plain, scaled = once(drawn.nodes, drawn.elements), once(drawn.nodes, scale(drawn, factor).elements)
    assert scaled.across[0].tolist() == pytest.approx(plain.across[0].tolist(), abs=1e-6)
    assert (scaled.amps[0] * factor).tolist() == pytest.approx(plain.amps[0].tolist(), abs=1e-5 * largest(plain))


def dangling(drawn: Drawn) -> bool:
    """True where a threshold's end hangs on nothing else, so that its voltage isn't told by the net."""
    kept = [(a, b, c if min(c.slopes) > 0 else curves.OPEN) for a, b, c in drawn.elements]
    return len(set(once(drawn.nodes, kept).island[0].tolist())) > 1


@given(drawn_nets(LINEAR), PICK, st.sampled_from((0.05, 2.0, 100.0)))
def test_equivalent_source(drawn: Drawn, pick: int, ohms: float):
    """Thevenin: what a load gets follows from the open voltage and the ohms seen; re-solving gives the same."""
    p = pick % (drawn.nodes - 1) + 1
    bare = once(drawn.nodes, drawn.elements)
    assume(bare.island[0, p] == 0)
    dead = [(a, b, curves.line(c.slopes[0])) for a, b, c in drawn.elements]
    seen = once(drawn.nodes, [*dead, (p, 0, Curve((np.inf,), (0.0,), (-1.0,)))]).volts[0, p]
    loaded = once(drawn.nodes, [*drawn.elements, (p, 0, curves.ohms(ohms))]).volts[0, p]
    assert loaded == pytest.approx(bare.volts[0, p] * ohms / (ohms + seen), abs=1e-7)


@given(drawn_nets(HARD), st.data())
def test_start_does_not_matter(drawn: Drawn, data: st.DataObject):
    """Rising curves have one answer: from other pieces the currents come out the same."""
    plain = once(drawn.nodes, drawn.elements)
    pieces = [data.draw(st.integers(0, len(c.ends) - 1)) for _, _, c in drawn.elements]
    other = from_pieces(drawn, pieces)
    assert other.settled.all()
    assert other.amps[0].tolist() == pytest.approx(plain.amps[0].tolist(), abs=1e-6 * largest(plain))


def from_pieces(drawn: Drawn, pieces: list[int]) -> batch.Solved:
    """The net solved from these pieces on."""
    made = net(drawn.nodes, drawn.elements)
    table = batch.Curves()
    which, a, b = batch._arrays(made, [Variant({}, {})], table, 0)
    started = batch._Batch(drawn.nodes, which, a, b, table)
    started.piece[:] = pieces
    return started.run()


@settings(max_examples=60)
@given(drawn_nets(HARD, most=16))
def test_slow_search_gives_the_same(drawn: Drawn):
    """The same net by halving steps on its energy, which is convex: no step by pieces at all."""
    plain = once(drawn.nodes, drawn.elements)
    wanted = energy_of(drawn, plain.volts[0])
    rng = np.random.default_rng(7)
    for size in (1e-3, 1e-1, 3.0):
        for _ in range(10):
            moved = plain.volts[0] + size * rng.standard_normal(drawn.nodes) * (np.arange(drawn.nodes) > 0)
            assert energy_of(drawn, moved) >= wanted - 1e-8 * (1 + abs(wanted))


def energy_of(drawn: Drawn, volts: np.ndarray) -> float:
    """The sum over elements of the integral of current over voltage; least where Kirchhoff's law holds."""
    return sum(integral(c, float(volts[a] - volts[b])) for a, b, c in drawn.elements)


def integral(curve: Curve, volts: float) -> float:
    """The integral of a curve from zero."""
    corners = [v for v in curve.ends if min(0.0, volts) < v < max(0.0, volts)]
    ways = [0.0, *(corners if volts > 0 else reversed(corners)), volts]
    total = 0.0
    for start, end in zip(ways, ways[1:], strict=False):
        piece = next(k for k, limit in enumerate(curve.ends) if (start + end) / 2 <= limit)
        total += (curve.slopes[piece] * (start + end) / 2 + curve.offsets[piece]) * (end - start)
    return total


@given(drawn_nets(ALL), drawn_nets(ALL))
def test_islands_do_not_feel_each_other(drawn: Drawn, other: Drawn):
    """A second net beside the first, joined by nothing: both answer as alone; no voltage is shared."""
    shifted = [(a + drawn.nodes, b + drawn.nodes, c) for a, b, c in other.elements]
    both = once(drawn.nodes + other.nodes, [*drawn.elements, *shifted])
    alone, floating = once(drawn.nodes, drawn.elements), once(other.nodes, other.elements)
    assert both.volts[0, : drawn.nodes].tolist() == pytest.approx(alone.volts[0].tolist(), abs=1e-7)
    count = len(drawn.elements)
    assert both.amps[0, count:].tolist() == pytest.approx(floating.amps[0].tolist(), abs=1e-6 * largest(floating))
    assert set(both.island[0, : drawn.nodes].tolist()).isdisjoint(both.island[0, drawn.nodes :].tolist())


@given(st.lists(drawn_nets(ALL, most=6), min_size=1, max_size=5), PICK)
def test_a_batch_answers_as_each_alone(nets: list[Drawn], pick: int):
    """Variants of one net solved together: other curves, other ends, elements on top."""
    first = nets[0]
    variants = [
        Variant(
            {i % len(first.elements): c for i, (_, _, c) in enumerate(other.elements)},
            {pick % len(first.elements): (0, pick % first.nodes)},
            tuple(
                (a % first.nodes, b % first.nodes, c)
                for a, b, c in other.elements
                if a % first.nodes != b % first.nodes
            ),
        )
        for other in nets
    ]
    together = solve(net(first.nodes, first.elements), variants)
    for row, variant in enumerate(variants):
        alone = solve(net(first.nodes, first.elements), [variant])
        assert together.volts[row].tolist() == pytest.approx(alone.volts[0].tolist(), abs=1e-9)
        assert together.island[row].tolist() == alone.island[0].tolist()


def test_singular_numbers_are_told():
    """Ohms far out of scale give no number, and nothing is raised."""
    pieces = [(1, 0, curves.line(1e300)), (1, 2, curves.line(1e-300)), (2, 0, curves.source(np.inf, 1.0))]
    assert not solve(net(3, pieces), [Variant({}, {})]).settled.all()

    lost = net(3, [(1, 2, curves.line(1e20)), (2, 0, curves.line(1e-3)), (1, 0, curves.line(0.0, -1.0))])
    both = solve(lost, [Variant({}, {}), Variant({0: curves.ohms(1.0)}, {})])
    assert both.settled.tolist() == [False, True]  # the digits of 1e-3 are lost beside 1e20: singular
    assert both.volts[1].tolist() == pytest.approx([0.0, 1001.0, 1000.0])


@given(st.one_of(ALL))
def test_backwards_is_the_mirror(curve: Curve):
    """An element the wrong way round draws the opposite current at the opposite voltage."""
    turned = curves.backwards(curve)
    for volts in (-20.0, -3.1, -0.4, 0.0, 0.2, 2.5, 13.0):
        assert at(turned, volts) == pytest.approx(-at(curve, -volts), abs=1e-12)


@given(BENT)
def test_curves_rise_without_a_jump(curve: Curve):
    """Each end joins two pieces; no slope falls below zero; nothing flows at 0 V."""
    assert at(curve, 0.0) == 0
    assert min(curve.slopes) >= 0
    assert list(curve.ends) == sorted(curve.ends)
    for k, end in enumerate(curve.ends[:-1]):
        left, right = (curve.slopes[i] * end + curve.offsets[i] for i in (k, k + 1))
        assert left == pytest.approx(right, abs=1e-9)


def at(curve: Curve, volts: float) -> float:
    """The current of a curve at a voltage."""
    piece = next(k for k, end in enumerate(curve.ends) if volts <= end)
    return curve.slopes[piece] * volts + curve.offsets[piece]
