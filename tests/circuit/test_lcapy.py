"""Linear circuits solved by lcapy, which computes with fractions and symbols; skipped where it isn't installed."""

from __future__ import annotations

import pytest

from kb.circuit.worlds import Bench, World
from tests.circuit import spice
from tests.circuit.made import made

lcapy = pytest.importorskip("lcapy", reason="lcapy is not installed; ngspice and fractions referee the same circuits")


@pytest.mark.parametrize("seed", range(3))
def test_same_voltages(seed: int):
    case = made(seed, bent=False, parts=4, faults=1)
    answer = Bench(case.circuit).solve([World(case.position, case.changes)])[0]
    deck = spice.deck(case.circuit, case.position, case.changes, answer.blown)
    of = spice.islands(deck.branches)
    lines = [f"RT{i} {n} 0 1" for i, n in enumerate(sorted(set(of.values()) - {of["0"]}))]
    for i, branch in enumerate(deck.branches.values()):
        far = f"m{i}" if branch.volts else branch.b
        lines += [f"R{i} {branch.a} {far} {branch.ohms!r}"]
        lines += [f"V{i} m{i} {branch.b} dc {branch.volts!r}"] if branch.volts else []
    circuit = lcapy.Circuit("\n".join(lines))
    for terminal, place in answer.net.nodes.items():
        name = spice.node(case.circuit, terminal)
        if name in of and of[name] == of["0"]:
            theirs = float(circuit[name].v.evalf().sympy)
            assert float(answer.volts[place]) == pytest.approx(theirs, abs=1e-6)
