"""Each kind of part, each form of `What is wrong`, each fault that parts have by themselves. All values are invented."""

from __future__ import annotations

import itertools
import time

import pytest

from kb.circuit import claims, curves
from kb.circuit.faults import Draft
from kb.circuit.net import compile_net
from kb.circuit.own import own_faults
from kb.circuit.soundness import MOST_NODES, too_large
from kb.circuit.survey import Survey
from kb.circuit.worlds import Bench, World
from kb.netlist import Change, Terminal
from kb.read.parts import PART_KINDS
from tests.circuit.glass import glass, pair
from tests.circuit.made import made
from tests.circuit.tables import Case, drawn, volts

ALL_PARTS = """
    B1 | battery | + - | 12.6 V, 20 mohm
    F1 | fuse | in out | 7.5 A
    G1 | ground | p | 5 mohm
    G2 | ground | p | 5 mohm
    X1 | splice | a b c | 5 mohm
    J1 | connector | x y | 5 mohm, sides near far
    S1 | switch | p q | 30 mohm
    E1 | limit switch | p q | 30 mohm
    K1 | relay | 85 86 30 87 87a | 85 ohm, pulls at 8 V, drops at 3 V
    M1 | motor | a b | 12 ohm, runs at 0.18 A, a positive means up/down
    H1 | heater | a b | 7 ohm
    R1 | resistor | a b | 100 ohm
    L1 | lamp | a b | 12 V, 5 W
    D1 | led | + - | 2.1 V, series 470 ohm
    D2 | diode | + - |
    P1 | potentiometer | top wiper bottom | 5 kohm, at 40 %
    C1 | cell | + - | 1.4 V, 10 ohm
    U1 | output | out | 0.2 ohm, limit 5 A, rest floating
    I1 | input | in | 1 kohm to feed
"""
ALL_WIRES = """
    W1 | B1.+ | F1.in | 2.5 | 1 m | trunk
    W2 | F1.out | X1.a | 2.5 | 1 m | trunk
    W3 | X1.b | J1.x near
    W4 | J1.x far | S1.p
    W5 | S1.q | E1.p
    W6 | E1.q | M1.a
    W7 | M1.b | J1.y far
    W8 | J1.y near | G1.p
    W9 | B1.- | G2.p
    W10 | X1.c | K1.30
    W11 | S1.q | K1.86
    W12 | K1.85 | G1.p
    W13 | K1.87 | H1.a
    W14 | H1.b | G1.p
    W15 | K1.87a | L1.a
    W16 | L1.b | G1.p
    W17 | S1.q | D2.+
    W18 | D2.- | D1.+
    W19 | D1.- | G1.p
    W20 | X1.c | P1.top
    W21 | P1.bottom | G1.p
    W22 | P1.wiper | R1.a
    W23 | R1.b | C1.+
    W24 | C1.- | G1.p
    W25 | U1.out | I1.in
"""
ALL_POSITIONS = "Position | S1 joins | E1 joins | U1 drives\noff | | p-q |\non | p-q | p-q | high\nend | p-q | | low"


def everything(*readings: str) -> Case:
    """A circuit with a part of each kind."""
    return Case(ALL_PARTS, ALL_WIRES, ALL_POSITIONS, readings)


def test_every_kind_is_there():
    assert {p.kind for p in everything().circuit().parts.values()} == set(PART_KINDS)


def test_every_kind_does_its_part():
    """By hand: 12.6 V less small drops; LED (12.5 - 0.7 - 2.1) / 470 = 20 mA; wiper 40 % up; input 1 kohm to feed."""
    case = everything()
    assert [case.does("M1", p) for p in ("off", "on", "end")] == ["still", "up", "still"]
    assert [case.does("H1", p) for p in ("off", "on")] == ["cold", "hot"]
    assert [case.does("L1", p) for p in ("off", "on")] == ["bright", "dark"]
    assert [case.does("D1", p) for p in ("off", "on")] == ["dark", "bright"]
    assert case.load("D1", "on").amps == pytest.approx((12.45 - 0.7 - 2.1) / 470, abs=5e-4)
    on = case.answer("on")
    # 5 kohm cut at 40 % from the bottom: 2 kohm beside R1 and C1, 110 ohm, behind 3 kohm.
    beside = 2000 * 110 / 2110
    assert on.across[on.net.index[("P1", "bottom")]] == pytest.approx(12.5 * beside / (3000 + beside), abs=0.02)
    assert volts(on, "U1.out") == pytest.approx(12.6, abs=0.01)
    assert volts(case.answer("end"), "U1.out") == pytest.approx(12.6 * 0.2 / 1000.2, abs=1e-3)
    assert volts(case.answer("off"), "U1.out") == pytest.approx(
        12.6, abs=0.01
    )  # at rest it floats: the input pulls it up
    assert case.does("C1", "on") == "clear"
    assert case.load("C1", "on").volts == pytest.approx(on.across[on.net.index[("P1", "bottom")]] * 10 / 110, abs=0.01)


OWN = {
    "battery": ["B1 low"],
    "fuse": ["F1 blown", "F1 loose"],
    "ground": ["G1 open", "G1 2 ohm", "G1 40 ohm"],
    "splice": [f"X1.{p} {w}" for p in "abc" for w in ("open", "2 ohm", "40 ohm")],
    "connector": ["J1 unplugged", *(f"J1.{p} {w}" for p in "xy" for w in ("open", "20 ohm", "200 ohm")),
                  "J1.x touches J1.y", "J1.x crossed with J1.y"],
    "switch": ["S1 p-q open", "S1 p-q welded", "S1 p-q 5 ohm"],
    "limit switch": ["E1 p-q open", "E1 p-q welded", "E1 p-q 5 ohm"],
    "relay": ["K1 coil open", *(f"K1 {c} {w}" for c in ("30-87", "30-87a") for w in ("open", "welded", "1 ohm"))],
    "motor": ["M1 open", "M1 seized", "M1 half the ohms"],
    "heater": ["H1 open", "H1 double the ohms"],
    "resistor": ["R1 open", "R1 double the ohms"],
    "lamp": ["L1 open"],
    "led": ["D1 open", "D1 reversed"],
    "diode": ["D2 open", "D2 shorted"],
    "potentiometer": ["P1.top open", "P1.wiper open", "P1.bottom open"],
    "cell": ["C1 open", "C1 shorted"],
    "output": ["U1 stuck off", "U1 stuck on"],
    "input": ["I1 open"],
}  # fmt: skip


@pytest.mark.parametrize("kind", PART_KINDS)
def test_faults_of_each_kind(kind):
    """Just those of the page format's table, each once."""
    circuit = everything().circuit()
    name = next(p.name for p in circuit.parts.values() if p.kind == kind)
    found = [words for words, _ in own_faults(compile_net(circuit)) if words.split()[0].split(".")[0] == name]
    assert sorted(found) == sorted(OWN[kind])


def test_faults_of_wires():
    found = [words for words, _ in own_faults(compile_net(everything().circuit())) if words.startswith("W1 ")]
    assert found == ["W1 open", "W1 20 ohm", "W1 200 ohm", "W1 touches ground", "W1 touches F1.out", "W1 touches W2"]


def test_each_fault_changes_what_is_solved():
    """No fault of the list is without effect on the circuit's own numbers in all positions."""
    case = everything()
    circuit = case.circuit()
    bench, whole = Bench(circuit), {}
    for name, position in circuit.positions.items():
        whole[name] = bench.solve([World(position)])[0]
    idle = []
    for words, changes in own_faults(bench.net):
        answers = bench.solve([World(p, changes) for p in circuit.positions.values()])
        same = [
            a.state == w.state
            and len(a.volts) == len(w.volts)
            and abs(a.volts - w.volts).max() < 1e-7
            and abs(a.amps - w.amps).max() < 1e-9
            and a.pulled == w.pulled
            and (a.island == w.island).all()
            for a, w in zip(answers, whole.values(), strict=True)
        ]
        if all(same):
            idle.append(words)
    assert idle == []


# The words of `What is wrong`, and what each does to a motor on a pair of wires, as one finds the vehicle.
WORDS = {
    "W4 open": ("still", "still"), "M1 open": ("still", "still"), "J2.x open": ("still", "still"), "M1.a open": ("still", "still"),
    "G1 open": ("still", "still"), "F7 open": ("still", "still"), "S1.feed open": ("still", "still"), "B1 open": ("still", "still"),
    "W4 30 ohm": ("slow", "slow"), "J2.y 30 ohm": ("slow", "slow"), "M1.b 30 ohm": ("slow", "slow"), "G1 30 ohm": ("slow", "slow"),
    "S1 15 ohm": ("slow", "slow"), "F7 30 ohm": ("slow", "slow"), "B1 30 ohm": ("slow", "slow"), "S1.feed 30 ohm": ("slow", "slow"),
    "B1.+ 30 ohm": ("slow", "slow"), "J2 15 ohm": ("slow", "slow"), "S1.x 30 ohm": ("slow", "slow"),
    "M1 100 ohm": ("still", "still"), "M1 13 ohm": ("up", "down"),
    "W4 touches W5": ("still", "still"), "J2.x touches J2.y": ("still", "still"), "M1.a touches M1.b": ("still", "still"),
    "J2 unplugged": ("still", "still"), "J2.x crossed with J2.y": ("down", "up"),
    "S1 feed-x open": ("still", "down"), "S1 ground-x open": ("up", "still"), "S1 ground-y welded": ("still", "still"),
    "M1 seized": ("still", "still"), "F7 blown": ("still", "still"),
    "W4 open; W5 open": ("still", "still"), "S1 feed-x open; S1 feed-y open": ("still", "still"),
    "W4 30 ohm; J2.x crossed with J2.y": ("slow", "slow"),
    "W4 open; W4 1 ohm": ("still", "still"),
    "J2 unplugged; J2.x 1 ohm": ("still", "still"),
    "M1 open; M1 13 ohm": ("still", "still"),
    "W4 touches ground": ("still", "still"), "M1 touches ground": ("still", "still"), "J2.x touches ground": ("still", "still"),
}  # fmt: skip


@pytest.mark.parametrize("words", WORDS)
def test_words_of_a_fault(words):
    case = pair()
    assert (case.does("M1", "up", words), case.does("M1", "down", words)) == WORDS[words]


def test_a_pin_goes_bad_between_the_wires_and_the_part():
    """Two wires meet at M1.b: a bad pin there slows M1 and not M2, whose wire goes on from the joint."""
    case = glass()
    assert (case.does("M1", "up", "M1.b 30 ohm"), case.does("M2", "left", "M1.b 30 ohm")) == ("slow", "left")
    assert (case.does("M1", "up", "W9 30 ohm"), case.does("M2", "left", "W9 30 ohm")) == ("slow", "slow")


def test_many_shorts_at_once():
    """Each wire that touches something is cut in its middle; any number may be."""
    case = glass()
    words = "W4 touches W5; W5 touches W6; W11 touches W12; W13 touches ground"
    assert case.does("M1", "up", words) == "still"
    assert case.load("M1", "up", words).volts == pytest.approx(0, abs=0.2)


def test_touching_in_the_middle():
    """Half of the wire's ohms lie before the touching place: 3.5 m of 0.5 mm2, 68 mohm each."""
    case = pair()
    circuit = case.circuit("W4 touches W5")
    net = compile_net(circuit)
    draft = Draft(net)
    draft.change(circuit.faults[0].changes[0])
    halves = [draft.curve(net.index[(name,)]).slopes[0] for name in ("W4", "W5")]
    assert [1 / s for s in halves] == pytest.approx([0.06825, 0.06825], rel=1e-6)
    assert sorted(1 / c.slopes[0] for _, _, c in draft.extra) == pytest.approx([0.001, 0.06825, 0.06825], rel=1e-6)
    assert draft.spare == 2


def test_resistance_of_sources_keeps_their_volts():
    """`B1 5 ohm` is a battery behind 5 ohm; an output behind more still drives; an input still pulls up."""
    parts = "B1 | battery | + - | 12 V, 20 mohm\nU1 | output | out | 0.2 ohm, limit 5 A\nI1 | input | in | 100 ohm to feed\nR1 | resistor | a b | 7 ohm\nG1 | ground | p |\nR2 | resistor | a b | 7 ohm\nR3 | resistor | a b | 100 ohm"
    wires = "W1 | B1.+ | R1.a\nW2 | R1.b | G1.p\nW3 | B1.- | G1.p\nW4 | U1.out | R2.a\nW5 | R2.b | G1.p\nW6 | I1.in | R3.a\nW7 | R3.b | G1.p"
    case = Case(parts, wires, "Position | U1 drives\non | high")
    assert case.load("R1", "on", "B1 5 ohm").amps == pytest.approx(1.0, abs=0.01)
    assert case.load("R2", "on", "U1 5 ohm").amps == pytest.approx(1.0, abs=0.01)
    assert case.load("R3", "on", "I1 300 ohm").volts == pytest.approx(3.0, abs=0.01)
    assert case.load("R2", "on", "U1 stuck off").amps == pytest.approx(0.0, abs=1e-9)


def test_led_reversed_and_its_ohms():
    parts = "B1 | battery | + - | 12.1 V, 1 mohm\nD1 | led | + - | 2.1 V, series 500 ohm"
    case = Case(parts, "W1 | B1.+ | D1.+\nW2 | D1.- | B1.-")
    assert case.load("D1").amps == pytest.approx(0.02, rel=1e-4)
    assert [case.does("D1", "on", w) for w in ("", "D1 reversed", "D1 1500 ohm", "D1 8 kohm", "W1 20 kohm")] == [
        "bright", "dark", "dim", "dim", "dark"]  # fmt: skip


def test_led_that_its_battery_cannot_light():
    """Its threshold above the battery's volts: dark, and nothing is divided by zero."""
    for v in (12, 13):
        case = Case(
            f"B1 | battery | + - | 12 V, 1 mohm\nD1 | led | + - | {v} V, series 500 ohm",
            "W1 | B1.+ | D1.+\nW2 | D1.- | B1.-",
        )
        assert case.does("D1") == "dark"


def test_potentiometer_keeps_its_place():
    """Its whole resistance becomes another; the wiper stays at 25 %."""
    parts = "B1 | battery | + - | 8 V, 1 mohm\nP1 | potentiometer | top wiper bottom | 1 kohm, at 25 %"
    case = Case(parts, "W1 | B1.+ | P1.top\nW2 | P1.bottom | B1.-", readings=("on | | voltmeter | P1.wiper | P1.bottom",
                "on | | ohmmeter | P1.wiper | P1.bottom", "on | | clamp | W1"))  # fmt: skip
    assert case.read(0).value == pytest.approx(2.0, abs=1e-3)
    assert case.read(0, "P1 2 kohm").value == pytest.approx(2.0, abs=1e-3)
    assert case.read(2, "P1 2 kohm").value == pytest.approx(0.004, abs=1e-6)
    assert case.read(0, "P1.top open").value == pytest.approx(0.0, abs=1e-3)
    assert not case.read(0, "P1.wiper open").defined


def test_welded_contacts_that_no_position_joins():
    """A pair of pins that is never joined can still weld; a relay's two contacts too."""
    case = pair()
    words = "S1 x-y welded"
    assert case.does("M1", "up", words) == "still"
    both = everything()
    assert both.load("L1", "on", "K1 87-87a welded").volts == pytest.approx(12.4, abs=0.3)


def test_a_battery_alone_and_none_at_all():
    """A circuit without a battery reads nothing and raises nothing."""
    case = Case("R1 | resistor | a b | 5 ohm\nL1 | lamp | a b | 12 V, 5 W", "W1 | R1.a | L1.a\nW2 | R1.b | L1.b",
                readings=("on | | test lamp | R1.a | R1.b", "on | | voltmeter | R1.a | R1.b", "on | | ohmmeter | R1.a | R1.b"))  # fmt: skip
    assert case.read(0).verdict == "dark"
    assert (case.read(1).value, case.read(1).supply) == (0.0, 0.0)
    assert case.does("L1") == "dark"
    assert case.read(2).value == pytest.approx(1 / (1 / 5 + at_zero(5, 12)), rel=1e-3)


def at_zero(watts: float, volts_: float) -> float:
    """The conductance of a cold filament: the first point of its curve, 2 % of the volts at 0.02^0.55 of the current."""
    return watts / volts_ * 0.02**0.55 / (0.02 * volts_)


def test_odd_numbers_raise_nothing():
    """Huge and tiny values give numbers or no settled state."""
    huge = "9" * 400
    for values in (f"{huge} V", "0.000001 V", "12 V, 0.000000001 ohm", f"12 V, {huge} ohm"):
        for ohms in ("0.000000001 ohm", f"{huge} ohm", "5 ohm"):
            case = Case(f"B1 | battery | + - | {values}\nR1 | resistor | a b | {ohms}\nM1 | motor | a b | {ohms}, runs at 0.2 A",
                        "W1 | B1.+ | R1.a\nW2 | R1.b | B1.-\nW3 | B1.+ | M1.a\nW4 | M1.b | B1.-")  # fmt: skip
            assert case.see().state in ("", "unsettled", "shorted")


def test_ohms_of_an_open_part_stay_open():
    net = compile_net(
        drawn("U1 | output | out | 0.2 ohm, limit 5 A\nR1 | resistor | a b | 1 ohm", "W1 | U1.out | R1.a")
    )
    draft = Draft(net)
    draft.change(Change("ohms", "U1", ohms=5.0))
    assert draft.curve(net.index[("U1",)]) == curves.OPEN


def test_crossed_pins_cross_again():
    """Crossed twice is as before; three crossed in a row turn round."""
    case = pair()
    twice = "J2.x crossed with J2.y; J2.x crossed with J2.y"
    assert (case.does("M1", "up", twice), case.does("M1", "down", twice)) == ("up", "down")


def test_terminals_of_connectors_have_two_sides():
    circuit = glass().circuit()
    net = compile_net(circuit)
    sides = {net.node(Terminal("J2", "tilt", side)) for side in ("body", "mirror")}
    assert len(sides) == 2
    assert net.node(Terminal("J2", "tilt")) == net.node(Terminal("J2", "tilt", "body"))


def test_healthy_circuits_are_sound():
    assert isinstance(claims.hold(glass().circuit()), claims.Held)
    assert [w.message for w in claims.unsound(Survey(everything().circuit()))] == ["`C1` works in no position"]


def test_a_circuit_of_2000_parts_is_too_large():
    """It is known to be without being solved."""
    parts = "\n".join(["B1 | battery | + - | 12 V", *(f"R{i} | resistor | a b | 5 ohm" for i in range(2000))])
    wires = "\n".join(["W0 | B1.+ | R0.a", *(f"W{i + 1} | R{i}.b | R{i + 1}.a" for i in range(1999))])
    circuit = drawn(parts, wires)
    started = time.process_time()
    assert too_large(circuit)
    assert time.process_time() - started < 0.05
    assert not too_large(glass().circuit())
    few = drawn("\n".join(f"R{i} | resistor | a b | 5 ohm" for i in range(MOST_NODES // 2)), "W1 | R0.a | R1.a")
    assert not too_large(few)


def test_a_circuit_just_small_enough_is_solved_in_small_batches():
    """400 nodes with faults: the matrices of a batch stay small."""
    count = MOST_NODES // 2 - 1
    parts = "\n".join(["B1 | battery | + - | 12 V, 1 mohm", *(f"R{i} | resistor | a b | 5 ohm" for i in range(count))])
    wires = "\n".join(
        [
            "W0 | B1.+ | R0.a",
            *(f"W{i + 1} | R{i}.b | R{i + 1}.a" for i in range(count - 1)),
            f"W{count} | R{count - 1}.b | B1.-",
        ]
    )
    survey = Survey(drawn(parts, wires))
    seen = survey.see([("", ()), *((f"W{i} open", (Change("open", f"W{i}"),)) for i in range(40))])
    assert seen[0].loads["on"]["R7"].volts == pytest.approx(12 / count, rel=1e-3)
    assert all(s.loads["on"]["R7"].amps == pytest.approx(0, abs=1e-9) for s in seen[1:])


def test_feed_that_a_wire_meets_by_chance():
    """Behind each fuse; in a circuit without one at the battery."""
    plain = drawn("B1 | battery | + - | 12 V\nR1 | resistor | a b | 5 ohm", "W1 | B1.+ | R1.a\nW2 | R1.b | B1.-")
    words = [words for words, _ in own_faults(compile_net(plain)) if words.startswith("W2 touches")]
    assert words == ["W2 touches ground", "W2 touches B1.+"]


def test_a_part_touches_with_its_first_pin():
    case = pair()
    assert case.answer("up", "M1 touches ground").blown == {"F7"}  # M1.a is the fed one there
    assert case.answer("down", "M1 touches ground").blown == frozenset()


def test_numbers_without_an_answer_are_unsettled():
    case = Case(
        f"B1 | battery | + - | {'9' * 400} V\nR1 | resistor | a b | 5 ohm", "W1 | B1.+ | R1.a\nW2 | R1.b | B1.-"
    )
    assert case.see().state == case.answer().state == "unsettled"


def test_a_broken_wire_touches_with_its_first_half():
    """A wire rubbed through: what comes from its first end reaches the touching place, what lies behind is cut off.

    By hand: W4 is fed in "up" and blows the fuse; in "down" it would have been at ground. The half at the motor hangs
    loose, so touching ground it can't let the motor run down, as a whole wire at ground can.
    """
    case = pair()
    both = ("W4 touches ground; W4 open", "W4 open; W4 touches ground")
    for words in both:
        assert case.answer("up", words).blown == {"F7"}
        assert case.answer("down", words).blown == frozenset()
        assert case.answer("down", words).current("M1") == pytest.approx(0, abs=1e-9)
    assert case.answer("down", "W4 touches ground").current("M1") == pytest.approx(-0.2, abs=0.01)
    other = pair(changed=(("W4 | S1.x | J2.x body", "W4 | J2.x body | S1.x"),))  # now the first half is the motor's
    for words in both:
        assert other.answer("up", words).blown == frozenset()
        assert other.does("M1", "down", words) == "down"
        assert other.does("M1", "up", words) == "still"


SEVERAL = ("W4 touches ground; W4 open", "W4 30 ohm; W4 touches W5", "W4 touches ground; W4 touches W5", "J2.x open; J2.x 30 ohm",
           "W4 30 ohm; W4 open; W4 touches W5", "S1 feed-x open; S1 15 ohm", "J2 unplugged; J2.x touches J2.y", "M1 13 ohm; M1 seized",
           "S1 feed-x welded; S1 feed-x open", "M1.a 30 ohm; W6 touches ground; M1 open", "F7 blown; F7 30 ohm", "B1 30 ohm; B1 low")  # fmt: skip


@pytest.mark.parametrize("words", SEVERAL)
def test_the_order_of_words_does_not_matter(words):
    """Several things wrong at once give the same voltages and currents in every order."""
    orders = ["; ".join(order) for order in itertools.permutations(words.split("; "))]
    case = pair()
    for way in ("rest", "up", "down"):
        first, *others = (case.answer(way, order) for order in orders)
        count = len(case.circuit().wires) + len(first.net.nodes)
        assert count > 20
        for other in others:
            nodes = list(first.net.nodes.values())
            assert other.volts[nodes].tolist() == pytest.approx(first.volts[nodes].tolist(), abs=1e-9)
            assert other.amps.tolist() == pytest.approx(first.amps.tolist(), abs=1e-9)
            assert (other.blown, other.state) == (first.blown, first.state)


def test_two_things_wrong_with_one_part_both_hold():
    """By hand: a low battery gives 0.8 x 12 V behind its stated 4 ohm; an LED the wrong way round carries nothing at any ohms."""
    parts = "B1 | battery | + - | 12 V, 1 mohm\nR1 | resistor | a b | 12 ohm\nD1 | led | + - | 2 V, series 500 ohm"
    case = Case(parts, "W1 | B1.+ | R1.a\nW2 | R1.b | B1.-\nW3 | B1.+ | D1.+\nW4 | D1.- | B1.-")
    for words in ("B1 low; B1 4 ohm; D1 open", "D1 open; B1 4 ohm; B1 low"):
        assert case.load("R1", "on", words).volts == pytest.approx(9.6 * 12 / 16, abs=0.01)
    for words in ("D1 reversed; D1 100 ohm", "D1 100 ohm; D1 reversed"):
        assert case.load("D1", "on", words).amps == pytest.approx(0, abs=1e-9)


def test_a_wire_touches_two_things_at_one_place():
    """In its middle, both: no wire lies between them, whatever the wire's ohms."""
    case = pair()
    answer = case.answer("up", "W4 30 ohm; W4 touches ground; W4 touches W5")
    assert abs(answer.current("W4")) == pytest.approx(12.6 / 15, abs=0.1)  # half of 30 ohm lies before it
    assert answer.blown == frozenset()


def test_no_order_matters_in_random_circuits():
    """All orders of up to three things wrong in circuits from a seed; crossings of one plug are steps, and left out."""
    tried = 0
    for seed in range(90):
        case = made(seed, bent=False)
        if len(case.changes) < 2 or sum(c.how == "crossed" for c in case.changes) > 1:
            continue
        tried += 1
        worlds = [World(case.position, order) for order in itertools.permutations(case.changes)]
        first, *others = Bench(case.circuit).solve(worlds)
        nodes = list(first.net.nodes.values())
        for other in others:
            assert other.volts[nodes].tolist() == pytest.approx(first.volts[nodes].tolist(), abs=1e-7), seed
            assert other.amps.tolist() == pytest.approx(first.amps.tolist(), abs=1e-6), seed
    assert tried > 20
