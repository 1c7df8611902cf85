"""Limits of what is told: short-circuits, fuses, sizes of faults, instruments, verdicts. Each by hand.

The circuits and their values are invented; the limits are the solver's own, stated in `kb/circuit/curves.py`.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from kb.circuit.net import output_curve
from kb.circuit.survey import readable
from kb.circuit.verdicts import Reading, finding_of, in_words, meets, percent, rated_amps
from kb.circuit.worlds import Bench, World
from kb.model import ReadingRange
from tests.bases import base, node
from tests.circuit.glass import glass, pair
from tests.circuit.tables import Case, drawn

# Shorts and fuses.


def unfused(ways: int, mm2: float = 0.5, metres: float = 10.0, ohms: str = "20 mohm") -> Case:
    """A battery whose poles a chain of wires joins; each 0.39 ohm by IEC 60228 (39 ohm per km) if nothing else is said."""
    plugs = "\n".join(f"J{i} | connector | p | 1 mohm, sides a b" for i in range(1, ways))
    ends = ["B1.+", *(f"J{i}.p {side}" for i in range(1, ways) for side in "ab"), "B1.-"]
    wires = [f"W{i + 1} | {ends[2 * i]} | {ends[2 * i + 1]} | {mm2} | {metres} m" for i in range(ways)]
    return Case(f"B1 | battery | + - | 12.6 V, {ohms}\n{plugs}", "\n".join(wires))


@pytest.mark.parametrize(("case", "state"), [
    (unfused(1), "shorted"),  # 12.6 / 0.41 = 31 A over a wire below half an ohm
    (unfused(2), "shorted"),  # 16 A
    (unfused(4), ""),  # 8 A: less than 10 A is no short-circuit
    (unfused(1, metres=20), ""),  # 0.78 ohm: more than half an ohm is no bare copper
    (unfused(1, metres=20, ohms="1 ohm"), "shorted"),  # 0.78 of 1.78 ohm: the battery is pulled below half its volts
    (unfused(1, metres=20, ohms="0.7 ohm"), ""),
])  # fmt: skip
def test_short_circuits(case: Case, state: str):
    assert case.answer().state == state


def test_a_bad_pin_in_an_unfused_short_is_no_copper():
    """12.6 V over 0.7 ohm of corrosion and 0.41 ohm: 11.4 A, and no bare metal all the way."""
    case = unfused(1)
    assert case.answer("on", "B1.+ 0.7 ohm").state == ""
    assert case.answer("on", "B1.+ 0.1 ohm").state == "shorted"


def blowing(count: int) -> Case:
    """Fuses side by side that all lead into a short, each of a larger rating: they blow one after the other."""
    fuses = "\n".join(f"F{i} | fuse | in out | {i * 0.1 + 1:.1f} A" for i in range(count))
    wires = "\n".join(f"W{i} | B1.+ | F{i}.in | 1 | {i + 1} m\nV{i} | F{i}.out | R1.a | 1 | 1 m" for i in range(count))
    return Case(
        f"B1 | battery | + - | 12.6 V, 1 mohm\n{fuses}\nR1 | resistor | a b | 0.01 ohm", f"{wires}\nV99 | R1.b | B1.-"
    )


def test_fuses_that_blow_one_after_the_other():
    """Four do, and all are out; of twenty no end is found within the rounds, and that is no answer."""
    few, many = blowing(4).answer(), blowing(20).answer()
    assert (few.state, few.blown) == ("", {"F0", "F1", "F2", "F3"})
    assert few.current("R1") == pytest.approx(0, abs=1e-9)
    assert many.state == "unsettled"


# Faults that parts have by themselves, in numbers.


def heated(*readings: str) -> Case:
    parts = "B1 | battery | + - | 12 V, 1 mohm\nF1 | fuse | in out | 40 A\nH1 | heater | a b | 3 ohm\nD1 | diode | + - |\nR1 | resistor | a b | 2 ohm"
    wires = "W1 | B1.+ | F1.in\nW2 | F1.out | H1.a\nW3 | H1.b | B1.-\nW4 | F1.out | R1.a\nW5 | R1.b | D1.+\nW6 | D1.- | B1.-"
    return Case(parts, wires, readings=readings)


def test_sizes_of_own_faults():
    """Twice the ohms draw half the current; a loose fuse has half an ohm; a shorted diode 10 mohm and no volts of its own."""
    case = heated(
        "on | | clamp | H1", "on | | voltmeter | F1.in | F1.out", "on | | voltmeter | D1.+ | D1.-", "on | | clamp | R1"
    )
    assert case.read(0).value == pytest.approx(4.0, abs=0.05)
    assert case.read(0, "H1 double the ohms").value == pytest.approx(2.0, abs=0.03)
    assert case.read(3, "R1 double the ohms").value == pytest.approx(11.3 / 4.05, abs=0.03)
    loose = case.read(1, "F1 loose").value or 0.0
    currents = (12 - loose) / 3 + (12 - loose - 0.7) / 2.05
    assert loose == pytest.approx(0.5 * currents, abs=0.02)
    assert case.read(2, "D1 shorted").value == pytest.approx(0.01 * 12 / 2.01, abs=1e-3)


def test_worn_contacts():
    """A switch's worn contact has 5 ohm, a relay's 1 ohm; a plug's bad pin 20 or 200, a ground's or splice's 2 or 40."""
    parts = "B1 | battery | + - | 12 V, 1 mohm\nS1 | switch | p q | 1 mohm\nX1 | splice | a b | 1 mohm\nJ1 | connector | p | 1 mohm, sides m n\nH1 | heater | a b | 3 ohm\nG1 | ground | p | 1 mohm\nG2 | ground | p | 1 mohm"
    wires = (
        "W1 | B1.+ | S1.p\nW2 | S1.q | X1.a\nW3 | X1.b | J1.p m\nW4 | J1.p n | H1.a\nW5 | H1.b | G1.p\nW6 | B1.- | G2.p"
    )
    case = Case(parts, wires, "Position | S1 joins\non | p-q", ("on | | clamp | H1",))
    sizes = {"S1 p-q 5 ohm": 5, "X1.a 2 ohm": 2, "X1.b 40 ohm": 40, "J1.p 20 ohm": 20, "J1.p 200 ohm": 200, "G1 2 ohm": 2, "G1 40 ohm": 40,
             "W4 20 ohm": 20, "W4 200 ohm": 200}  # fmt: skip
    assert {w: case.read(0, w).value for w in sizes} == {
        w: pytest.approx(12 / (3 + r), abs=0.012) for w, r in sizes.items()
    }
    assert all(case.own(words) for words in sizes)


@pytest.mark.parametrize("ohms", [6, 13])
def test_a_motor_of_other_ohms_still_turns_at_its_current(ohms):
    """By hand: 0.18 A, and of what lies above 0.18 A x R a fiftieth through R: 0.216 A at 6 ohm, 0.196 A at 13 ohm."""
    case = pair("up | | clamp | W4")
    assert case.read(0, f"M1 {ohms} ohm").value == pytest.approx(0.18 + 0.02 * (12.5 - 0.18 * ohms) / ohms, abs=1e-3)


def sensitive(pulls: str) -> Case:
    """A relay of 85 ohm whose contact feeds a lamp; the coil hangs on the battery."""
    parts = (
        f"B1 | battery | + - | 12 V, 1 mohm\nK1 | relay | 85 86 30 87 | 85 ohm, {pulls}\nL1 | lamp | a b | 12 V, 5 W"
    )
    return Case(parts, "W1 | B1.+ | K1.86\nW2 | K1.85 | B1.-\nW3 | B1.+ | K1.30\nW4 | K1.87 | L1.a\nW5 | L1.b | B1.-")


def test_a_relay_that_needs_little_still_needs_its_coil():
    case = sensitive("pulls at 0.9 V, drops at 0.5 V")
    assert case.does("L1") == "bright"
    assert case.does("L1", "on", "K1 coil open") == "dark"


def test_ohms_of_a_relay_are_its_contacts():
    """The coil keeps its 85 ohm and its 0.141 A; 30 ohm in the contact leave a 5 W lamp (29 ohm hot) half the volts."""
    case = sensitive("pulls at 8 V, drops at 3 V")
    answer = case.answer("on", "K1 30 ohm")
    assert abs(answer.amps[answer.net.index[("K1", "coil")]]) == pytest.approx(12 / 85, rel=1e-3)
    assert case.does("L1", "on", "K1 30 ohm") == "dim"


# Instruments.


def test_an_instrument_reads_beside_a_bad_pin():
    """What a fault puts on top isn't taken for the instrument: 12 V over 3 ohm behind 1 ohm at its pin: 9 V inside, 12 V at the pin's wire."""
    case = heated("on | | voltmeter | H1.a | H1.b", "on | | voltmeter | F1.out | H1.b", "on | | clamp | H1")
    assert case.read(2, "H1.a 1 ohm").value == pytest.approx(3.0, abs=0.03)
    for place in (0, 1):  # a lead on a part's terminal stands on the wire's side of it
        assert case.read(place, "H1.a 1 ohm").value == pytest.approx(12.0, abs=0.05)


def test_an_ohmmeter_with_both_leads_on_one_pin():
    case = pair("rest | J2 | ohmmeter | J2.x mirror | J2.x mirror")
    assert case.read().value == 0.0


def test_an_led_lamp_at_its_limits():
    """3.4 V and 900 ohm: bright above 1 mA, so above 4.3 V; dim above 0.1 mA, so above 3.49 V."""
    words = {v: Case(f"B1 | battery | + - | {v} V, 1 mohm\nR1 | resistor | a b | 100 ohm", "W1 | B1.+ | R1.a\nW2 | R1.b | B1.-",
                     readings=("on | | LED lamp | R1.a | R1.b",)).read().verdict for v in (4.5, 4.35, 4.25, 3.55, 3.47, 3.3)}  # fmt: skip
    assert words == {4.5: "bright", 4.35: "bright", 4.25: "dim", 3.55: "dim", 3.47: "dark", 3.3: "dark"}


def test_a_test_lamp_draws_three_watts():
    """3 W at the battery's stated volts: 12 V behind 4 ohm leaves less than 11.2 V, by 0.25 A."""
    case = Case("B1 | battery | + - | 12 V, 4 ohm\nR1 | resistor | a b | 100 kohm", "W1 | B1.+ | R1.a\nW2 | R1.b | B1.-",
                readings=("on | | test lamp | R1.a | R1.b",))  # fmt: skip
    survey = case.survey
    world = survey.reader.world(survey.circuit.readings[0], World(survey.circuit.positions["on"]))
    answer = survey.bench.solve([world])[0]
    assert answer.probe_amps == pytest.approx(0.25 * (answer.probe_volts / 12) ** 0.55, rel=2e-3)
    assert answer.probe_volts == pytest.approx(12 - 4 * answer.probe_amps, abs=2e-3)


def test_no_instrument_no_reading_of_it():
    answer = pair().answer("up")
    assert (answer.probe_volts, answer.probe_amps) == (0.0, 0.0)
    assert answer.current("no such wire") == 0.0


def test_a_row_without_its_lead_is_not_read():
    row = pair("up | | voltmeter | M1.a | M1.b").circuit().readings[0]
    assert readable(row)
    assert not readable(replace(row, black=None))
    assert not readable(replace(row, red=None))
    assert readable(replace(row, instrument="eye", red="M1", black=None))


def test_ohms_just_readable():
    """OL from 10 Mohm on."""
    case = glass("rest | J2 | ohmmeter | J2.tilt mirror | J2.common mirror")
    assert case.read(0, "W7 9.9 Mohm").value == pytest.approx(9.9e6, rel=1e-3)
    assert case.read(0, "W7 10.1 Mohm").verdict == "OL"


# Verdicts.


def test_an_led_in_three_steps():
    """Of the current that the battery's stated volts would give it: bright above 50 %, dim above 5 %. (12 - 2) / 500 = 20 mA."""
    parts = "B1 | battery | + - | 12 V, 1 mohm\nD1 | led | + - | 2 V, series 500 ohm"
    case = Case(parts, "W1 | B1.+ | D1.+\nW2 | D1.- | B1.-")
    steps = {
        "W1 480 ohm": "bright",
        "W1 520 ohm": "dim",
        "W1 9 kohm": "dim",
        "W1 10 kohm": "dark",
    }  # 10.2, 9.8, 1.05, 0.95 mA
    assert {w: case.does("D1", "on", w) for w in steps} == steps


def test_heat_at_its_limits():
    """Hot above 70 %, warm above 10 % of the healthy watts: (3 / (3 + R))^2 is 0.7 at 0.586 ohm, 0.1 at 6.49 ohm."""
    parts = "B1 | battery | + - | 12 V, 0.01 mohm\nH1 | heater | a b | 3 ohm"
    case = Case(parts, "W1 | B1.+ | H1.a\nW2 | H1.b | B1.-")
    steps = {"W1 0.56 ohm": "hot", "W1 0.61 ohm": "warm", "W1 6.4 ohm": "warm", "W1 6.6 ohm": "cold"}
    assert {w: case.does("H1", "on", w) for w in steps} == steps


def test_a_cell_is_told_by_its_own_current():
    """1.4 V and 100 ohm: rated at 14 mA, so 14 mA let it work; open it draws none."""
    case = Case(
        "B1 | battery | + - | 1.4 V, 1 mohm\nC1 | cell | + - | 1.4 V, 100 ohm", "W1 | B1.+ | C1.+\nW2 | C1.- | B1.-"
    )
    assert rated_amps(case.circuit().parts["C1"]) == pytest.approx(0.014)
    assert case.does("C1") == "dimmed"
    assert case.does("C1", "on", "C1 open") == "clear"


def test_a_load_that_rests_is_told_by_its_most():
    """In a position that gives it a thousandth of its heat a heater counts as resting: measured by its most, it stays cold."""
    parts = "B1 | battery | + - | 12 V, 1 mohm\nS1 | switch | p q r | 1 mohm\nH1 | heater | a b | 3 ohm\nR1 | resistor | a b | {ohms} ohm"
    wires = "W1 | B1.+ | S1.p\nW2 | S1.q | H1.a\nW3 | S1.r | R1.a\nW4 | R1.b | H1.a\nW5 | H1.b | B1.-"
    positions = "Position | S1 joins\nfull | p-q\nlittle | p-r"
    # (3 / (3 + R))^2: 0.0093 at 28.1 ohm, 0.0106 at 26.1 ohm; the limit is a hundredth.
    assert Case(parts.format(ohms=28.1), wires, positions).does("H1", "little") == "cold"
    assert Case(parts.format(ohms=26.1), wires, positions).does("H1", "little") == "hot"


def test_shares_of_a_small_supply():
    share = (ReadingRange(low=0.9, low_open=True, unit="V", relative="percent"),)
    assert meets(Reading(0.85, "V", None, supply=0.9), share)
    assert not meets(Reading(0.8, "V", None, supply=0.9), share)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (0.001, "0.001 V"),
        (0.0009, "0 V"),
        (999.0, "999 V"),
        (1000.0, "1000 V"),
        (1234.0, "1234 V"),
        (-0.5, "-0.5 V"),
        (-0.0005, "0 V"),
    ],
)
def test_figures(value, words):
    assert in_words(Reading(value, "V", None)) == words


@pytest.mark.parametrize(("share", "words"), [(0.856, "86%"), (0.001, "0%"), (-0.001, "0%"), (-0.25, "-25%")])
def test_percent(share, words):
    assert percent(share) == words


def test_which_finding_a_reading_meets():
    page = "# Test: T\n\n- Takes: 1 min\n\n1. Look.\n\n| Finding | Reading | Clears |\n|---|---|---|\n| odd | | |\n| low | < 4 V | |\n| high | > 4 V | |\n"
    test = node(base(page), "T")
    assert [finding_of(test, Reading(v, "V", None)) for v in (1.0, 9.0)] == [1, 2]
    assert finding_of(test, Reading(None, "ohm", "OL")) is None
    assert finding_of(test, None) is None


def test_a_bench_without_a_share_takes_the_stated_volts():
    circuit = drawn(
        "B1 | battery | + - | 12 V, 1 mohm\nR1 | resistor | a b | 6 ohm", "W1 | B1.+ | R1.a\nW2 | R1.b | B1.-"
    )
    assert Bench(circuit).solve([World(circuit.positions["on"])])[0].voltage("R1") == pytest.approx(12.0, abs=0.01)
    driven = drawn(
        "B1 | battery | + - | 12 V\nU1 | output | out | 2 ohm, limit 5 A\nR1 | resistor | a b | 6 ohm",
        "W1 | U1.out | R1.a\nW2 | R1.b | B1.-",
    )
    curve = output_curve(driven, driven.parts["U1"], "high")
    assert (curve.slopes, curve.offsets) == ((0.5,), (-6.0,))


def test_a_fuse_looks_blown_where_it_is():
    case = pair()
    looks = {
        "F7 blown": "blown",
        "F7 0.5 ohm": "whole",
        "F7 open": "whole",
        "W4 open": "whole",
        "S1 feed-x open": "whole",
    }
    assert {words: case.fuse("F7", "rest", words) for words in looks} == looks
