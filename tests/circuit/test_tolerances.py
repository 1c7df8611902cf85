"""What tolerances do to a circuit, held against circuits whose tables state the other values; each value invented."""

from __future__ import annotations

import re

import numpy as np
import pytest

from kb.circuit.tolerances import BATTERY, FEED, PART
from kb.circuit.worlds import Answer, Bench, World
from tests.circuit.tables import Case

PARTS = """
    B1 | battery | + - | 12.6 V, 50 mohm
    F1 | fuse | in out | 5 A
    K1 | relay | 85 86 30 87 | 90 ohm, pulls at 7 V, drops at 3 V, contact 40 mohm
    J1 | connector | x y | 15 mohm, sides body door
    M1 | motor | a b | 12 ohm, runs at 0.18 A, a positive means up/down
    L1 | lamp | a b | 12 V, 5 W
    L2 | led | + - | 2 V, 470 ohm
    D1 | diode | + - | 0.7 V
    H1 | heater | a b | 7.5 ohm
    P1 | potentiometer | top wiper bottom | 4.7 kohm, at 40 %
    C1 | cell | + - | 1.3 V, 12 ohm
    U1 | output | out | 0.2 ohm, limit 5 A
    U2 | output | out | 0.5 ohm, limit 0.5 A, rest 1.35 V behind 30 ohm
    I1 | input | in | 3 kohm to feed
    G1 | ground | p | 20 mohm
    P2 | splice | a b c | 10 mohm
"""
WIRES = """
    W1 | B1.+ | F1.in | 2.5 | 1 m
    W2 | F1.out | P2.a | 0.75 | 2 m
    W3 | P2.b | K1.30 | 0.75 | 1 m
    W4 | P2.c | K1.85 | 0.5 | 1 m
    W5 | K1.86 | G1.p | 0.5 | 1 m
    W6 | K1.87 | J1.x body | 0.5 | 3 m
    W7 | J1.x door | M1.a | 0.5 | 1 m
    W8 | M1.b | J1.y door | 0.5 | 1 m
    W9 | J1.y body | G1.p | 0.5 | 3 m
    W10 | J1.x door | L1.a | 0.5 | 1 m
    W11 | L1.b | G1.p | 0.5 | 1 m
    W12 | J1.x door | D1.+ | 0.5 | 1 m
    W13 | D1.- | L2.+ | 0.5 | 1 m
    W14 | L2.- | G1.p | 0.5 | 1 m
    W15 | U1.out | H1.a | 0.5 | 1 m
    W16 | H1.b | G1.p | 0.5 | 1 m
    W17 | U2.out | C1.+ | 0.5 | 1 m
    W18 | C1.- | G1.p | 0.5 | 1 m
    W19 | P2.c | P1.top | 0.5 | 1 m
    W20 | P1.wiper | I1.in | 0.5 | 1 m
    W21 | P1.bottom | G1.p | 0.5 | 1 m
    W22 | B1.- | G1.p | 16 | 0.5 m
"""
POSITIONS = """
    Position | U1 drives | U2 drives
    on | high |
    other | low | low
    warm | high | high
"""
FAULTS = (
    "", "J1.x 20 ohm", "M1 seized", "M1 6 ohm", "H1 15 ohm", "B1 1 ohm", "W6 touches W10", "W7 touches W9", "U1 open",
    "L1 30 ohm", "L2 900 ohm", "K1.85 30 ohm", "P1.wiper 2 kohm",
)  # fmt: skip
# How a page would state each value: part, pattern of the number, in the order of the parts.
STATED = {
    FEED: ("B1", r"12\.6"), ("B1",): ("B1", r"\b50"), ("K1", "coil"): ("K1", r"\b90"), ("M1", "ohms"): ("M1", r"\b12"),
    ("K1", "30", "87"): ("K1", r"\b40(?= mohm)"), ("M1", "runs"): ("M1", r"0\.18"), ("L1", "watts"): ("L1", r"\b5(?= W)"),
    ("L2", "volts"): ("L2", r"\b2(?= V)"), ("L2", "series"): ("L2", r"\b470"), ("D1", "volts"): ("D1", r"0\.7"),
    ("H1",): ("H1", r"7\.5"), ("P1", "ohms"): ("P1", r"4\.7"), ("C1",): ("C1", r"\b12"), ("U1",): ("U1", r"0\.2"),
    ("I1",): ("I1", r"\b3(?= k)"), ("G1",): ("G1", r"\b20"), ("W6",): ("W6", r"\b3(?= m)"), ("W22",): ("W22", r"0\.5(?= m)"),
}  # fmt: skip


def changed(factors: dict[tuple[str, ...], float]) -> Case:
    """The circuit whose tables state each value times its factor."""
    rows = (PARTS + WIRES).splitlines()
    for value, factor in factors.items():
        name, number = STATED[value]
        at = next(i for i, row in enumerate(rows) if row.strip().startswith(f"{name} |"))
        head, _, last = rows[at].rpartition(" | ") if not name.startswith("W") else rows[at].partition(" | ")
        (stated,) = re.findall(number, last)[:1]
        rows[at] = f"{head} | " + re.sub(number, f"{float(stated) * factor:.12f}", last, count=1)
    return Case("\n".join(r for r in rows if not r.strip().startswith("W")),
                "\n".join(r for r in rows if r.strip().startswith("W")), POSITIONS)  # fmt: skip


def lot_of(bench: Bench, values: dict[tuple[str, ...], int]) -> bytes:
    """A lot by the names of its values: 1 high, 2 low."""
    return bytes(values.get(value, 0) for value in bench.tolerances.places)


@pytest.mark.parametrize("words", FAULTS)
@pytest.mark.parametrize("seed", range(3))
def test_a_lot_is_the_circuit_whose_tables_state_these_values(words, seed):
    ends = np.random.default_rng(seed).integers(0, 3, len(STATED))
    chosen = dict(zip(STATED, map(int, ends), strict=True))
    bench = Bench(Case(PARTS, WIRES, POSITIONS).circuit(*([words] if words else [])))
    changes = bench.circuit.faults[0].changes if words else ()
    lot = lot_of(bench, chosen)
    factors = dict(zip(bench.tolerances.places, bench.tolerances.factors(lot), strict=True))
    other = changed({value: factors[value] for value in STATED})
    for position in bench.circuit.positions.values():
        (ours,) = bench.solve([World(position, changes, lot=lot)])
        theirs = other.answer(position.name, words)
        assert ours.state == theirs.state
        assert ours.blown == theirs.blown
        assert ours.amps == pytest.approx(theirs.amps, rel=1e-6, abs=1e-9)
        assert ours.across == pytest.approx(theirs.across, rel=1e-6, abs=1e-9)


def test_how_far_values_go():
    """Common practice, no source."""
    assert BATTERY == (0.94, 1.15)
    assert PART == (0.8, 1.2)
    bench = Bench(Case(PARTS, WIRES, POSITIONS).circuit())
    more, less = bench.tolerances.extremes()
    named = dict(zip(bench.tolerances.places, zip(more, less, strict=True), strict=True))
    assert named[FEED] == (1, 2)  # more current at the high end
    assert named[("H1",)] == named[("M1", "ohms")] == named[("L2", "volts")] == named[("W6",)] == (2, 1)
    assert named[("M1", "runs")] == named[("L1", "watts")] == (1, 2)


@pytest.mark.parametrize("asked", ["M1", "W6", "L1", "L2", "H1", "W1", "P1", "J1", "C1", "B1", "U1", "F1"])
@pytest.mark.parametrize("words", ["", "J1.x 20 ohm", "M1 seized", "W6 touches W10", "H1 15 ohm", "B1 low"])
def test_leaning_is_the_slope_by_small_steps(asked, words, monkeypatch):
    """Against differences over a hundred-thousandth of each value."""
    case = Case(PARTS, WIRES, POSITIONS)
    bench, circuit = Bench(case.circuit()), case.circuit()
    changes = case.changes(words) if words else ()
    step, world = 1e-5, World(circuit.positions["on"], changes, asked=asked)
    (answer,) = bench.solve([world])
    monkeypatch.setattr(bench.tolerances, "high", np.full(len(bench.tolerances), 1 + step))
    place = max(bench.net.places[asked], key=lambda i: abs(answer.amps[i]))
    volts, amps = answer.leaning
    for number, value in enumerate(bench.tolerances.places):
        lot = bytes(1 if i == number else 0 for i in range(len(bench.tolerances)))
        (other,) = bench.solve([World(circuit.positions["on"], changes, lot=lot)])
        for ours, found in ((volts, (other.across - answer.across)[place]), (amps, (other.amps - answer.amps)[place])):
            assert ours[number] == pytest.approx(found / np.log1p(step), rel=1e-3, abs=3e-6), value


def test_a_probe_leans_too():
    case = Case("B1 | battery | + - | 10 V, 1 mohm\nR1 | resistor | a b | 1 kohm\nR2 | resistor | a b | 1 kohm",
                "W1 | B1.+ | R1.a\nW2 | R1.b | R2.a\nW3 | R2.b | B1.-", readings=("on | | voltmeter | R2.a | R2.b",))  # fmt: skip
    bench, row = case.survey.bench, case.circuit().readings[0]
    world = case.survey.reader.world(row, World(bench.circuit.positions["on"]))
    (answer,) = bench.solve([World(world.position, probe=world.probe, asked="")])
    volts = dict(zip(bench.tolerances.places, answer.leaning[0], strict=True))
    # V = E R2 / (R1 + R2): dV/dlnE = 5, dV/dlnR2 = 2.5, dV/dlnR1 = -2.5
    assert [volts[FEED], volts[("R2",)], volts[("R1",)]] == pytest.approx([5.0, 2.5, -2.5], rel=1e-3)
    assert isinstance(answer, Answer)
