"""Random circuits with faults, solved by ngspice too: an outside program that knows nothing of this one.

The circuit goes to it from the tables, by other code than the solver's. All values are invented.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.circuit.worlds import Answer, Bench, World
from tests.circuit import spice
from tests.circuit.made import Made, made
from tests.circuit.tables import Case
from tests.conftest import RUN_ALL

COUNT = 200 if RUN_ALL else 20
NEAR = 1e-6  # V

pytestmark = pytest.mark.skipif(spice.NGSPICE is None, reason="ngspice is not installed; .ci/run installs it")


def solved(case: Made) -> Answer:
    """What the solver says."""
    return Bench(case.circuit).solve([World(case.position, case.changes)])[0]


def apart(case: Made, answer: Answer, volts: dict[str, float], deck: spice.Deck) -> tuple[float, int]:
    """The largest difference between the two in V, and how many nodes were compared.

    What floats is compared with what it hangs together with, by ngspice's own account.
    """
    groups: dict[str, list[tuple[float, float, int]]] = {}
    of = spice.islands(deck.branches, volts)
    for terminal, place in answer.net.nodes.items():
        name = spice.node(case.circuit, terminal)
        if name in volts:
            groups.setdefault(of[name], []).append((float(answer.volts[place]), volts[name], int(answer.island[place])))
    groups.setdefault(of[spice.GROUND], []).insert(0, (0.0, 0.0, 0))
    assert all(len({island for _, _, island in group}) == 1 for group in groups.values())
    gaps = [
        abs((mine - group[0][0]) - (theirs - group[0][1])) for group in groups.values() for mine, theirs, _ in group
    ]
    return max(gaps), sum(len(group) - 1 for group in groups.values())


@pytest.mark.parametrize("bent", [False, True], ids=["straight", "with motors, lamps, LEDs and diodes"])
def test_same_voltages(bent: bool, tmp_path: Path):
    cases = [made(seed, bent) for seed in range(COUNT)]
    answers = [solved(case) for case in cases]
    assert not [seed for seed, answer in enumerate(answers) if answer.state == "unsettled"]
    decks = [spice.deck(c.circuit, c.position, c.changes, a.blown) for c, a in zip(cases, answers, strict=True)]
    found = spice.run(decks, tmp_path)
    compared = 0
    for seed, volts in enumerate(found):
        assert volts is not None, f"ngspice has no answer for {seed}"
        gap, nodes = apart(cases[seed], answers[seed], volts, decks[seed])
        assert gap < NEAR, f"{seed}: {gap} V apart"
        compared += nodes
    assert compared > 15 * COUNT
    assert sum(bool(case.changes) for case in cases) > COUNT / 2  # most have faults
    assert sum(len(set(answer.island.tolist())) > 1 for answer in answers) > COUNT / 12  # many have a floating part


def test_fuses_that_hold(tmp_path: Path):
    """Where the solver leaves a fuse in, ngspice too sends it less than twice its rating; the blown ones had more."""
    case = Case(
        """
        B1 | battery | + - | 12.6 V, 20 mohm
        F1 | fuse | in out | 30 A
        F2 | fuse | in out | 5 A
        R1 | resistor | a b | 2 ohm
        R2 | resistor | a b | 0.5 ohm
        G1 | ground | p | 5 mohm
        """,
        "W1 | B1.+ | F1.in | 2.5 | 1 m\nW2 | F1.out | F2.in | 2.5 | 1 m\nW3 | F2.out | R2.a | 0.5 | 1 m\n"
        "W4 | F1.out | R1.a | 0.5 | 1 m\nW5 | R1.b | G1.p\nW6 | R2.b | G1.p\nW7 | B1.- | G1.p",
    )
    circuit, answer = case.circuit(), case.answer()
    assert answer.blown == {"F2"}
    whole, after = (spice.deck(circuit, circuit.positions["on"], (), out) for out in (frozenset(), answer.blown))
    before, volts = spice.run([whole, after], tmp_path)
    assert before is not None
    assert volts is not None
    drop = {name: branch.ohms for name, branch in whole.branches.items()}
    assert (before["nf2_in_"] - before["nf2_out_"]) / drop["F2"] > 2 * 5
    assert (before["nf1_in_"] - before["nf1_out_"]) / drop["F1"] < 2 * 30
    assert (volts["nf1_in_"] - volts["nf1_out_"]) / drop["F1"] == pytest.approx(answer.current("F1"), rel=1e-6)
