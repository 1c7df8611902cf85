"""What a reading says: words, bounds, shares of the supply; what a survey tells; each value invented."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from kb.circuit import claims
from kb.circuit.survey import Survey, shows
from kb.circuit.verdicts import Load, Reading, in_words, meets
from kb.circuit.worlds import Bench, World
from tests.bases import base, node
from tests.circuit.glass import glass, pair
from tests.circuit.tables import Case


def ranges(text: str):
    """The ranges of a `Reading` cell, read as a page's are."""
    read = base(
        f"# Test: T\n\n- Takes: 1 min\n\n1. Look.\n\n| Finding | Reading | Clears |\n|---|---|---|\n| a | {text} | |\n"
    )
    return node(read, "T").findings[0].ranges


def volt(value: float, supply: float = 12.0, defined: bool = True) -> Reading:
    return Reading(value, "V", None, defined=defined, supply=supply)


@pytest.mark.parametrize(("text", "reading", "met"), [
    ("> 11 V", volt(11.01), True), ("> 11 V", volt(11.0), False), ("< 11 V", volt(10.9), True), ("< 11 V", volt(11.0), False),
    ("11 to 13 V", volt(11.0), True), ("11 to 13 V", volt(13.0), False), ("11 to 13 V", volt(10.9), False),
    ("> 11 V", Reading(12.0, "ohm", None), False), ("11 to 13 ohm", Reading(12.0, "ohm", None), True),
    ("> 11 V", volt(12.0, defined=False), False), ("undefined", volt(0.0, defined=False), True), ("undefined", volt(0.0), False),
    ("> 90 % of supply", volt(11.0), True), ("> 90 % of supply", volt(10.7), False), ("> 90 % of supply", volt(0.0, supply=0.0), False),
    ("within 0.5 V of supply", volt(11.6), True), ("within 0.5 V of supply", volt(12.4), True), ("within 0.5 V of supply", volt(12.6), False),
    ("within 0.5 V of supply", volt(11.4), False), ("within 0.5 V of supply", Reading(12.0, "A", None, supply=12.0), False),
    ("0.1 to 0.3 A", Reading(-0.2, "A", None), True), ("0.1 to 0.3 A", Reading(0.35, "A", None), False),
    ("11 to 13 V", volt(-12.0), False),
    ("bright", Reading(None, "", "bright"), True), ("bright, dim", Reading(None, "", "dim"), True), ("bright", Reading(None, "", "dark"), False),
    ("OL", Reading(None, "ohm", "OL"), True), ("> 11 V", Reading(None, "V", "bright"), False),
    ("moves", Reading(None, "", "moves", "up"), True), ("up", Reading(None, "", "moves", "up"), True), ("down", Reading(None, "", "moves", "up"), False),
])  # fmt: skip
def test_meets(text, reading, met):
    if text in ("up", "down"):
        case = Case("B1 | battery | + - | 12 V\nM1 | motor | a b | 12 ohm, runs at 0.1 A, a positive means up/down",
                    "W1 | B1.+ | M1.a\nW2 | M1.b | B1.-", readings=("on | | eye | M1",))  # fmt: skip
        assert case.read().direction == "up"
    assert meets(reading, ranges(text)) == met


@pytest.mark.parametrize(("reading", "words"), [
    (None, "nothing"), (volt(12.0), "12 V (100 % of supply)"), (volt(6.0), "6 V (50 % of supply)"), (volt(6.0, supply=0.0), "6 V"),
    (volt(0.0, defined=False), "no defined voltage"), (Reading(None, "ohm", "undefined", defined=False), "nothing: the circuit is live"),
    (Reading(12.04, "ohm", None), "12 ohm"), (Reading(0.1834, "A", None, supply=12.0), "0.183 A"), (Reading(9_000_000.0, "ohm", None), "9000000 ohm"),
    (Reading(None, "", "bright"), "`bright`"), (Reading(None, "", "moves", "up"), "`moves` up"), (Reading(1e-5, "A", None), "0 A"),
])  # fmt: skip
def test_in_words(reading, words):
    found = in_words(reading)
    assert found.replace("100%", "100 %").replace("50%", "50 %") == words


def test_shows():
    loads = {"M1": Load("slow", "up", 5.0, 0.2)}
    assert shows(loads, [("M1", "slow")])
    assert shows(loads, [("M1", "up")])
    assert not shows(loads, [("M1", "still")])
    assert not shows(loads, [("M1", "up"), ("M2", "up")])
    assert not shows({}, [("M1", "up")])


def test_seen_names_its_fault():
    case = pair("up | | eye | F7")
    seen = case.see("W4 open")
    assert seen.words == "W4 open"
    assert [c.what for c in seen.changes] == ["W4"]
    assert list(seen.loads) == list(seen.fuses) == ["rest", "up", "down"]
    assert seen.fuses["up"] == {"F7": "whole"}


def test_rows_of_a_survey_stand_in_page_order():
    case = pair()
    rows = case.circuit("W4 open", "M1 seized").faults
    seen = Survey(case.circuit("W4 open", "M1 seized")).faults()
    assert [s.words for s in seen] == ["", "W4 open", "M1 seized"]
    assert [s.row.words if s.row else None for s in seen] == [None, *(r.words for r in rows)]


def test_pattern_is_what_is_seen():
    """Two opens in a row of parts look alike; a blown fuse is seen; a meter is not."""
    case = glass()
    assert case.see("W4 open").pattern == case.see("W7 open").pattern
    assert case.see("W4 open").pattern != case.see("W5 open").pattern
    assert case.see("F7 blown").pattern != case.see("W2 open").pattern
    assert case.see("W4 1 ohm").pattern == case.see().pattern


def test_fuse_by_eye():
    case = pair("up | | eye | F7", "up | | eye | J2")
    assert [case.read(0, w).verdict for w in ("", "F7 blown", "F7 0.5 ohm", "M1 seized", "F7 open", "W4 touches ground")] == [
        "whole", "blown", "whole", "whole", "whole", "blown"]  # fmt: skip
    assert case.read(1).verdict == "undefined"  # a plug neither moves, glows nor heats


def test_wiper_at_its_ends():
    for place, share in ((0, 0.0), (50, 0.5), (100, 1.0)):
        case = Case(f"B1 | battery | + - | 8 V, 1 mohm\nP1 | potentiometer | top wiper bottom | 1 kohm, at {place} %",
                    "W1 | B1.+ | P1.top\nW2 | P1.bottom | B1.-", readings=("on | | voltmeter | P1.wiper | P1.bottom",))  # fmt: skip
        assert case.read().value == pytest.approx(8 * share, abs=2e-3)


def test_motor_just_above_its_start_moves():
    """2.3 V against 2.16 V: it turns, at a hundredth of its speed, and this is all that this circuit gives it."""
    case = Case("B1 | battery | + - | 2.3 V, 1 mohm\nM1 | motor | a b | 12 ohm, runs at 0.18 A, a positive means up/down",
                "W1 | B1.+ | M1.a\nW2 | M1.b | B1.-")  # fmt: skip
    assert case.does("M1") == "up"


def test_lamp_circuits_of_all_supplies():
    """A driven output, an input to feed and the battery all follow the share of the stated volts."""
    parts = "B1 | battery | + - | 10 V, 1 mohm\nU1 | output | out | 1 ohm, limit 5 A\nI1 | input | in | 10 ohm to feed\nR1 | resistor | a b | 9 ohm\nR2 | resistor | a b | 10 ohm\nG1 | ground | p |\nR3 | resistor | a b | 10 ohm"
    wires = "W1 | U1.out | R1.a\nW2 | R1.b | G1.p\nW3 | I1.in | R2.a\nW4 | R2.b | G1.p\nW5 | B1.- | G1.p\nW6 | B1.+ | R3.a\nW7 | R3.b | G1.p"
    for share in (0.94, 1.0, 1.15):
        case = Case(parts, wires, "Position | U1 drives\non | high", share=share)
        assert [case.load(r).volts for r in ("R1", "R2", "R3")] == pytest.approx(
            [9 * share, 5 * share, 10 * share], rel=2e-3
        )


def test_voltmeter_does_not_show_its_own_load_on_the_supply():
    case = pair("up | | voltmeter | M1.a | M1.b", "up | | clamp | W4")
    healthy = case.answer("up")
    assert case.read(0).supply == pytest.approx(healthy.voltage("B1"))
    assert case.read(1).supply == pytest.approx(12.6, abs=0.02)
    assert case.read(0).value == pytest.approx(healthy.voltage("M1"), abs=1e-5)


def test_driving_parts_are_live():
    """An output that drives makes its island live; at rest and floating it doesn't."""
    parts = "B1 | battery | + - | 12 V\nU1 | output | out | 0.2 ohm, limit 5 A\nR1 | resistor | a b | 9 ohm\nR2 | resistor | a b | 9 ohm"
    wires = "W1 | U1.out | R1.a\nW2 | B1.+ | R2.a\nW3 | R2.b | B1.-"
    case = Case(
        parts,
        wires,
        "Position | U1 drives\nrest |\non | high",
        ("rest | | ohmmeter | R1.a | R1.b", "on | | ohmmeter | R1.a | R1.b"),
    )
    assert case.read(0).value == pytest.approx(9.0, rel=1e-3)
    assert case.read(1).verdict == "undefined"


def test_a_world_solved_again_is_the_same_answer():
    case = pair()
    bench, circuit = Bench(case.circuit()), case.circuit()
    known: dict = {}
    first = bench.solve([World(circuit.positions["up"])], known)[0]
    again, other = bench.solve([World(circuit.positions["up"]), World(circuit.positions["down"])], known)
    assert again is first
    assert other is not first
    assert len(known) == 2


def test_idle_faults_are_told():
    """A row that changes nothing seen or read: a wire of 1 ohm more in a circuit without a reading of it."""
    held = claims.hold(pair().circuit("W4 0.3 ohm", "W4 open"))
    assert isinstance(held, claims.Held)
    assert [s.words for s in claims.idle_rows(held)] == ["W4 0.3 ohm"]
    held = claims.hold(pair("up | | voltmeter | S1.x | J2.x body").circuit("W4 0.3 ohm", "W4 open"))
    assert isinstance(held, claims.Held)
    assert list(claims.idle_rows(held)) == []


def test_unsound_circuits_are_told():
    """What must happen and doesn't, a load that never works, a fuse that the healthy circuit blows."""
    positions = "Position | S1 joins | Must happen\nup | feed-x, ground-y | M1 down\nrest | | M1 still"
    case = pair()
    wrong = Case(case.parts, case.wires, positions).circuit()
    assert [w.message for w in claims.hold(wrong)] == ["`M1 down` doesn't happen in `up`: it is up"]  # type: ignore[union-attr]
    idle = Case(case.parts, case.wires, "Position | S1 joins\nrest |").circuit()
    assert [w.message for w in claims.hold(idle)] == ["`M1` works in no position"]  # type: ignore[union-attr]
    blows = Case(
        case.parts, case.wires, "Position | S1 joins\nup | feed-x, ground-x\ndown | feed-y, ground-x"
    ).circuit()
    assert [w.message for w in claims.hold(blows)] == ["`up` blows `F7` in the healthy circuit"]  # type: ignore[union-attr]


def test_a_cell_is_dimmed_tinted_or_clear():
    """1.3 V of its 1.3 V, 0.7 of it behind 5 ohm, a fifth behind 50 ohm; a lamp's words in a page are met too."""
    case = Case("U1 | output | out | 0.1 ohm, limit 1 A, rest 1.3 V behind 0.1 ohm\nC1 | cell | + - | 1.3 V, 12 ohm\nG1 | ground | p |",
                "W1 | U1.out | C1.+\nW2 | C1.- | G1.p", readings=("on | | eye | C1",))  # fmt: skip
    assert [case.does("C1", "on", words) for words in ("", "W1 5 ohm", "W1 50 ohm", "C1 open")] == [
        "dimmed", "tinted", "clear", "clear"]  # fmt: skip
    assert meets(case.read(), ranges("dimmed"))
    assert meets(case.read(), ranges("bright"))
    assert meets(case.read(0, "C1 open"), ranges("dark"))
    assert not meets(case.read(), ranges("dim, clear"))
    assert not meets(Reading(None, "", "bright"), ranges("dimmed"))



@pytest.mark.parametrize(("one", "other", "alike"), [
    (1000060.0004, 1000060.0013, True),  # a megohm: the last of 16 digits, times the steps of a solution
    (60.0004, 60.0003, True),
    (60.001, 60.003, False),
    (1000060.0, 1000070.0, False),
    (None, None, True),
    (0.0004, 0.0, True),
])  # fmt: skip
def test_what_is_read_is_compared_to_the_digits_that_a_solution_has(one, other, alike):
    """Values invented; three decimals, seven digits: what the rule about idle faults compares."""
    seen = [SimpleNamespace(readings=(Reading(value, "ohm", None),)) for value in (one, other)]
    assert (claims.told(seen[0]) == claims.told(seen[1])) is alike
