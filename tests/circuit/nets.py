"""Bare nets for tests and strategies that make them: nodes, elements with curves, no tables. All values invented."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

from kb.circuit import curves
from kb.circuit.batch import Solved, Variant, solve
from kb.circuit.curves import Curve
from kb.circuit.net import Element, Net
from kb.netlist import Circuit

Piece = tuple[int, int, Curve]


def net(nodes: int, elements: Sequence[Piece]) -> Net:
    """A net of `nodes` nodes, the chassis included."""
    return Net(Circuit("k"), {}, nodes, tuple(Element((f"E{i}",), a, b, c) for i, (a, b, c) in enumerate(elements)))


def once(nodes: int, elements: Sequence[Piece]) -> Solved:
    """The net solved as it is; it has to settle."""
    solved = solve(net(nodes, elements), [Variant({}, {})])
    assert solved.settled.all()
    return solved


def out_of(nodes: int, elements: Sequence[Piece], solved: Solved, row: int = 0) -> np.ndarray:
    """The current that leaves each node: zero everywhere by Kirchhoff."""
    total = np.zeros(nodes)
    for (a, b, _), amps in zip(elements, solved.amps[row], strict=True):
        total[a] += amps
        total[b] -= amps
    return total


@dataclass(frozen=True)
class Drawn:
    """What a strategy drew."""

    nodes: int
    elements: tuple[Piece, ...]


OHMS = st.sampled_from((0.01, 0.03, 0.1, 0.5, 1.0, 4.7, 12.0, 47.0, 150.0, 1000.0))
RESISTANCES = st.builds(curves.ohms, OHMS)
SOURCES = st.builds(curves.source, st.sampled_from((-9.0, 1.5, 5.0, 12.6, 24.0)), st.sampled_from((0.02, 0.1, 1.0)))
BENT = st.one_of(
    st.builds(curves.motor, st.sampled_from((5.0, 12.0, 30.0)), st.sampled_from((0.05, 0.18, 0.4))),
    st.builds(curves.filament, st.sampled_from((6.0, 12.0)), st.sampled_from((3.0, 5.0, 21.0))),
    st.builds(curves.threshold, st.sampled_from((0.7, 2.1, 3.4)), st.sampled_from((0.05, 47.0, 900.0))),
    st.builds(curves.both_ways, st.just(3.4), st.just(900.0)),
)
LINEAR = st.one_of(RESISTANCES, RESISTANCES, RESISTANCES, SOURCES, st.just(curves.OPEN))


@st.composite
def drawn_nets(draw: st.DrawFn, kinds: st.SearchStrategy[Curve], most: int = 9) -> Drawn:
    """A net with up to `most` nodes; parts of it may hang on nothing."""
    nodes = draw(st.integers(2, most))
    ends = st.lists(st.integers(0, nodes - 1), min_size=2, max_size=2, unique=True)
    pieces = draw(st.lists(st.tuples(ends, kinds), min_size=1, max_size=2 * nodes))
    return Drawn(nodes, tuple((a, b, curve) for (a, b), curve in pieces))
