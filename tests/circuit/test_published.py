"""Networks, wires and temperatures whose values are published: the solver has to give the same.

Marks: F = the value was read in the source named; exact = it follows by arithmetic.
"""

from __future__ import annotations

import math

import pytest

from kb.circuit.curves import OHM_PER_KM, PLAIN_WIRE, wire_ohms
from kb.circuit.worlds import Answer
from tests.circuit.tables import Case, at, short, volts

IDEAL = "0.001 mohm"  # a source without resistance has the least there is
NEAR = 1e-4  # 10 micro-ohm a wire


def solved(parts: str, *wires: str) -> Answer:
    """The one state of a network with ideal wires; `parts` name kinds by their first letter."""
    return Case(parts, short(*wires)).answer()


def between(answer: Answer, a: str, b: str) -> float:
    """The voltage from one terminal to another."""
    net = answer.net
    return float(answer.volts[net.node(at(a))] - answer.volts[net.node(at(b))])


def test_series():
    """F: OpenStax, University Physics 2, 10.2: 9 V into 4 x 20 + 10 ohm: 0.1 A, 2 V on each 20 ohm, 1 V on the 10 ohm."""
    resistors = "\n".join(f"R{i} | resistor | a b | {20 if i < 5 else 10} ohm" for i in range(1, 6))
    chain = ["B1.+ R1.a", *(f"R{i}.b R{i + 1}.a" for i in range(1, 5)), "R5.b B1.-"]
    answer = solved(f"B1 | battery | + - | 9 V, {IDEAL}\n{resistors}", *chain)
    assert answer.current("R1") == pytest.approx(0.1, rel=NEAR)
    assert answer.voltage("R1") == pytest.approx(2.0, rel=NEAR)
    assert answer.voltage("R5") == pytest.approx(1.0, rel=NEAR)
    assert answer.current("B1") == pytest.approx(-0.1, rel=NEAR)


def test_parallel():
    """F: OpenStax 10.2: 3 V on 1, 2, 2 ohm in parallel: 6.00 A in all, 3.00, 1.50, 1.50 A."""
    parts = f"B1 | battery | + - | 3 V, {IDEAL}\nR1 | resistor | a b | 1 ohm\nR2 | resistor | a b | 2 ohm\nR3 | resistor | a b | 2 ohm"
    answer = solved(parts, "B1.+ R1.a", "B1.+ R2.a", "B1.+ R3.a", "B1.- R1.b", "B1.- R2.b", "B1.- R3.b")
    assert -answer.current("B1") == pytest.approx(6.0, rel=NEAR)
    assert [answer.current(r) for r in ("R1", "R2", "R3")] == pytest.approx([3.0, 1.5, 1.5], rel=NEAR)


def test_series_and_parallel():
    """F: OpenStax 10.2: 12 V, 1 ohm + (6 ohm with 4 + 6 + 3 = 13 ohm): 2.35 A."""
    parts = f"""
        B1 | battery | + - | 12 V, {IDEAL}
        R1 | resistor | a b | 1 ohm
        R2 | resistor | a b | 6 ohm
        R3 | resistor | a b | 13 ohm
    """
    answer = solved(parts, "B1.+ R1.a", "R1.b R2.a", "R1.b R3.a", "R2.b B1.-", "R3.b B1.-")
    whole = 1 + 6 * 13 / 19  # exact: 5.105 ohm
    assert answer.current("R1") == pytest.approx(12 / whole, rel=NEAR)
    assert round(answer.current("R1"), 2) == 2.35
    assert answer.current("R2") == pytest.approx(12 / whole * 13 / 19, rel=NEAR)


def test_two_loops():
    """F: OpenStax, University Physics 2, 10.3, second example: I1, I2, I3 = 0.20, 0.30, 0.50 A.

    F: the network, by the figure's description and the equations below it (module m58455 of the book's source): 0.5 V
    with R1 + R4 = 1 + 2 ohm; 2.3 V with R2 + R5 + R6 = 5 + 1 + 2 ohm; both currents go on through 0.6 V, which helps,
    and R3 = 1 ohm. The figure's words give R1 as 3 ohm; its equation (3 ohm for R1 + R4) and its power (0.04 W) give 1.
    """
    parts = f"""
        B1 | battery | + - | 0.5 V, {IDEAL}
        B2 | battery | + - | 0.6 V, {IDEAL}
        B3 | battery | + - | 2.3 V, {IDEAL}
        R1 | resistor | a b | 1 ohm
        R2 | resistor | a b | 5 ohm
        R3 | resistor | a b | 1 ohm
        R4 | resistor | a b | 2 ohm
        R5 | resistor | a b | 1 ohm
        R6 | resistor | a b | 2 ohm
    """
    answer = solved(parts, "B1.+ R4.a", "R4.b R1.a", "B3.+ R5.a", "R5.b R2.a", "R2.b R6.a", "R1.b R6.b", "R6.b R3.a",
                    "R3.b B2.-", "B2.+ B1.-", "B3.- B1.-")  # fmt: skip
    assert [answer.current(r) for r in ("R1", "R2", "R3")] == pytest.approx([0.20, 0.30, 0.50], rel=1e-4)
    watts = {r: round(answer.current(r) * answer.voltage(r), 2) for r in ("R1", "R2", "R3", "R4", "R5", "R6")}
    assert watts == {
        "R1": 0.04,
        "R2": 0.45,
        "R3": 0.25,
        "R4": 0.08,
        "R5": 0.09,
        "R6": 0.18,
    }  # F: the same; 1.09 W in all
    given = [round(-answer.current(b) * answer.voltage(b), 2) for b in ("B1", "B3", "B2")]
    assert given == [0.10, 0.69, 0.30]  # F: the same


def test_two_loops_with_a_current_against_its_arrow():
    """F: OpenStax 10.3, the worked text: (R1 + R2) I1 - R2 I3 = 24 V with 6 and 3 ohm, 3 I1 + 7 I3 = -5 V: 3, 5, -2 A; 130 W.

    By its equations R1 = R2 = 3 ohm, R3 + R4 = 7 ohm (here 5 + 2), V1 = 24 V, and V1 - V2 = -5 V, so V2 = 29 V (58 W at 2 A).
    """
    parts = f"""
        B1 | battery | + - | 24 V, {IDEAL}
        B2 | battery | + - | 29 V, {IDEAL}
        R1 | resistor | a b | 3 ohm
        R2 | resistor | a b | 3 ohm
        R3 | resistor | a b | 5 ohm
        R4 | resistor | a b | 2 ohm
    """
    answer = solved(parts, "B1.+ R1.a", "R1.b R2.a", "R1.b R3.a", "R3.b R4.a", "R4.b B2.+", "R2.b B1.-", "B2.- B1.-")
    assert [answer.current(r) for r in ("R1", "R2", "R3")] == pytest.approx([3.0, 5.0, -2.0], rel=1e-4)
    assert -answer.current("B2") * answer.voltage("B2") == pytest.approx(58, rel=1e-4)


def test_two_sources_against_each_other():
    """F: OpenStax 10.3, third example: 24 V against 12 V over 10 + 30 + 20 ohm: 0.20 A, 2.40 W into the 12 V source."""
    parts = f"""
        B1 | battery | + - | 12 V, {IDEAL}
        B2 | battery | + - | 24 V, {IDEAL}
        R1 | resistor | a b | 10 ohm
        R2 | resistor | a b | 30 ohm
        R3 | resistor | a b | 20 ohm
    """
    answer = solved(parts, "B2.+ R3.a", "R3.b R1.a", "R1.b B1.+", "B1.- R2.a", "R2.b B2.-")
    assert answer.current("R1") == pytest.approx(0.20, rel=1e-4)
    assert answer.current("B1") * answer.voltage("B1") == pytest.approx(2.40, rel=1e-4)


def test_combination():
    """F: Lessons in Electric Circuits I, ch. 7: 24 V, (100 with 250) + (350 with 200) ohm: 120.78 mA, 8.627 V, 15.373 V."""
    parts = f"""
        B1 | battery | + - | 24 V, {IDEAL}
        R1 | resistor | a b | 100 ohm
        R2 | resistor | a b | 250 ohm
        R3 | resistor | a b | 350 ohm
        R4 | resistor | a b | 200 ohm
    """
    answer = solved(parts, "B1.+ R1.a", "B1.+ R2.a", "R1.b R2.b", "R2.b R3.a", "R2.b R4.a", "R3.b B1.-", "R4.b B1.-")
    assert round(-answer.current("B1") * 1000, 2) == 120.78
    assert [round(answer.voltage(r), 3) for r in ("R1", "R2", "R3", "R4")] == [8.627, 8.627, 15.373, 15.373]


TWO_SOURCES = f"""
    B1 | battery | + - | 28 V, {IDEAL}
    B2 | battery | + - | 7 V, {IDEAL}
    R1 | resistor | a b | 4 ohm
    R3 | resistor | a b | 1 ohm
"""
TWO_SOURCES_WIRES = ("B1.+ R1.a", "R1.b R3.a", "R3.b B2.+", "B1.- B2.-")


def test_two_sources():
    """F: Lessons in Electric Circuits I, ch. 10: 28 V-4 ohm, 2 ohm, 1 ohm-7 V: 5, 4, -1 A; 8 V on the 2 ohm."""
    parts = TWO_SOURCES + "R2 | resistor | a b | 2 ohm"
    answer = solved(parts, *TWO_SOURCES_WIRES, "R1.b R2.a", "R2.b B1.-")
    assert answer.current("R1") == pytest.approx(5.0, rel=NEAR)
    assert answer.current("R2") == pytest.approx(4.0, rel=NEAR)
    assert answer.current("R3") == pytest.approx(1.0, rel=NEAR)  # into the 7 V source: -1 A out of it
    assert answer.voltage("R2") == pytest.approx(8.0, rel=NEAR)


def test_equivalent_source():
    """F: the same network without the 2 ohm, ch. 10: Thevenin 11.2 V behind 0.8 ohm."""
    bare = solved(TWO_SOURCES, *TWO_SOURCES_WIRES)
    assert between(bare, "R1.b", "B1.-") == pytest.approx(11.2, rel=NEAR)
    for ohms in (0.1, 0.8, 2.0, 50.0):  # exact: 11.2 V x R / (R + 0.8)
        parts = TWO_SOURCES + f"R2 | resistor | a b | {ohms} ohm"
        loaded = solved(parts, *TWO_SOURCES_WIRES, "R1.b R2.a", "R2.b B1.-")
        assert loaded.voltage("R2") == pytest.approx(11.2 * ohms / (ohms + 0.8), rel=1e-4)


def test_meter_loads():
    """F: Lessons in Electric Circuits I, ch. 8: 24 V, 250 M + 250 Mohm, a 10 Mohm meter reads 0.8889 V instead of 12 V."""
    parts = f"B1 | battery | + - | 24 V, {IDEAL}\nR1 | resistor | a b | 250 Mohm\nR2 | resistor | a b | 250 Mohm"
    wires = "W1 | B1.+ | R1.a\nW2 | R1.b | R2.a\nW3 | R2.b | B1.-"
    case = Case(parts, wires, readings=("on | | voltmeter | R2.a | R2.b",))
    assert round(case.read().value or 0, 4) == 0.8889  # 250 with 10 Mohm is 9.615 Mohm; 24 x 9.615 / 259.615
    assert case.answer().voltage("R2") == pytest.approx(12.0, rel=1e-4)


def test_ladder():
    """Exact: ten 1 ohm in a ladder, 89 V at its head: 89 34 13 5 2 1 V, each second Fibonacci number."""
    rungs = 5
    parts = [f"B1 | battery | + - | 89 V, {IDEAL}"]
    wires = ["B1.+ R1.a"]
    for i in range(1, rungs + 1):
        parts += [f"R{i} | resistor | a b | 1 ohm", f"S{i} | resistor | a b | 1 ohm"]
        wires += [f"R{i}.b S{i}.a", f"S{i}.b B1.-"] + ([f"R{i}.b R{i + 1}.a"] if i < rungs else [])
    answer = solved("\n".join(parts), *wires)
    found = [answer.voltage("R1") + answer.voltage("S1"), *(answer.voltage(f"S{i}") for i in range(1, rungs + 1))]
    assert found == pytest.approx([89, 34, 13, 5, 2, 1], rel=1e-3)


# F: IEC 60228 class 5, plain copper, as given by four public tables: most ohm per km at 20 degrees C, by mm2.
CLASS_5 = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.780}


@pytest.mark.parametrize("mm2", CLASS_5)
def test_wire(mm2):
    assert wire_ohms(mm2, 1000.0) == pytest.approx(CLASS_5[mm2])
    assert wire_ohms(mm2, 3.5) == pytest.approx(CLASS_5[mm2] * 3.5 / 1000)


def test_wire_of_other_sizes():
    """By cross-section from the nearest size; common practice, no source: 0.35 mm2 is 0.5 mm2 x 0.5 / 0.35."""
    assert wire_ohms(0.35, 1000.0) == pytest.approx(39.0 * 0.5 / 0.35)
    assert wire_ohms(35, 1000.0) == pytest.approx(0.780 * 25 / 35)
    assert wire_ohms(None, 3.0) == wire_ohms(0.5, None) == PLAIN_WIRE
    sizes = [wire_ohms(mm2, 1000.0) for mm2 in (0.22, 0.35, 0.5, 0.6, 0.75, 0.85, 1, 2, 2.5, 3, 35, 50)]
    assert sizes == sorted(sizes, reverse=True)


@pytest.mark.parametrize(("celsius", "factor"), [(40, 0.926), (70, 0.833)])  # F: IEC 60228, 1 / R's own factor
def test_temperature_within_the_tolerance(celsius, factor):
    """F: R = R20 (230 + t) / 250. The table's values hold at 20 degrees C; a hot engine bay stays within +- 20 %."""
    assert 250 / (230 + celsius) == pytest.approx(factor, abs=6e-4)
    assert (230 + celsius) / 250 <= 1.2


@pytest.mark.parametrize(("number", "per_1000_ft"), [(10, 0.9989), (14, 2.525), (18, 6.385), (22, 16.14)])
def test_table_against_bare_copper(number, per_1000_ft):
    """F: AWG diameter 0.127 mm x 92^((36 - n) / 39), copper 1.7241e-8 ohm m; ohm per 1000 ft by the wire tables.

    IEC 60228's largest resistance lies above that of a solid wire of the same copper, by less than a fifth.
    """
    mm2 = math.pi / 4 * (0.127 * 92 ** ((36 - number) / 39)) ** 2
    copper = 1.7241e-8 / (mm2 * 1e-6) * 1000  # ohm per km
    assert copper * 0.3048 == pytest.approx(per_1000_ft, rel=3e-4)
    assert 1.0 < wire_ohms(mm2, 1000.0) / copper < 1.2


def test_table_is_the_published_one():
    assert {float(k): v for k, v in CLASS_5.items()} == OHM_PER_KM


def test_volts_of_terminals():
    """Exact: with the battery's minus at ground, terminals read what they stand at."""
    parts = f"B1 | battery | + - | 12 V, {IDEAL}\nG1 | ground | p | 0.001 mohm\nR1 | resistor | a b | 6 ohm"
    answer = solved(parts, "B1.+ R1.a", "R1.b G1.p", "B1.- G1.p")
    assert (volts(answer, "R1.a"), volts(answer, "R1.b")) == pytest.approx((12.0, 0.0), abs=1e-3)
