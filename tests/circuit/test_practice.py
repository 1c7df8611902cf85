"""What workshops know about such circuits, solved. Common practice, no source, unless a line says otherwise.

The circuits and their values are invented.
"""

from __future__ import annotations

import pytest

from kb.circuit.own import own_faults
from kb.circuit.worlds import World
from tests.circuit.glass import OWN_WAYS, glass, pair
from tests.circuit.tables import Case, drawn

PLUG = "J2.tilt {side} | J2.common {side}"


def at_plug(instrument: str, unplugged: str = "", side: str = "body") -> str:
    """A reading row at the mirror plug while up is held."""
    return f"up | {unplugged} | {instrument} | " + PLUG.format(side=side)


def test_healthy():
    case = glass()
    assert {way: case.does(m, way) for way, m in zip(OWN_WAYS, ("M1", "M1", "M2", "M2"), strict=True)} == {
        way: way for way in OWN_WAYS
    }
    assert case.does("M5", "far up") == "up"
    assert case.does("M1", "rest") == case.does("M1", "far up") == case.does("M2", "up") == "still"


def test_reversing_the_two_reverses_the_direction():
    """Up and down send the same volts through the motor, the other way round."""
    case = pair()
    up, down = case.load("M1", "up"), case.load("M1", "down")
    assert (up.direction, down.direction) == ("up", "down")
    assert up.volts == pytest.approx(-down.volts)
    assert up.amps == pytest.approx(-down.amps)


def test_crossed_wires_reverse_the_direction():
    case = pair()
    assert case.does("M1", "up", "J2.x crossed with J2.y") == "down"
    assert case.does("M1", "down", "J2.x crossed with J2.y") == "up"


def test_power_and_ground_at_the_motor_and_no_sound_is_the_motor():
    """Full voltage at the motor's own pins while it is connected, and it stands: open or seized. None there: upstream."""
    case = glass("up | | voltmeter | M1.a | M1.b")
    assert case.does("M1", "up", "M1 open") == "still"
    assert case.read(0, "M1 open").value == pytest.approx(12.5, abs=0.2)
    assert case.does("M1", "up", "M1 seized") == "still"
    assert case.read(0, "M1 seized").value == pytest.approx(12.2, abs=0.3)
    for upstream in ("W4 open", "W6 open", "F7 blown", "G1 open", "S1 feed-V open"):
        assert case.does("M1", "up", upstream) == "still"
        assert abs(case.read(0, upstream).value or 0.0) < 0.01


def test_lost_shared_common_kills_both_motors():
    """A tilt wire kills tilt only, the common wire all four ways; the other side moves on."""
    case = glass()
    for words, dead in (("W4 open", {"up", "down"}), ("W5 open", {"left", "right"}), ("W6 open", set(OWN_WAYS))):
        motors = {"up": "M1", "down": "M1", "left": "M2", "right": "M2"}
        assert {way for way in OWN_WAYS if case.does(motors[way], way, words) == "still"} == dead
        assert case.does("M5", "far up", words) == "up"


def test_other_side_works_clears_what_is_shared():
    """What the two sides share stops both; with the other side at work none of it is at fault, and no more is cleared."""
    case = glass()
    shared = ("F7 blown", "W1 open", "W2 open", "W3 open", "G1 open", "S1 feed-V open")
    own = ("W4 open", "W6 open", "J2 unplugged", "M1 open", "S2 V-tilt open")
    for words in shared:
        assert case.does("M5", "far up", words) == case.does("M1", "up", words) == "still"
    for words in own:
        assert case.does("M5", "far up", words) == "up"
        assert case.does("M1", "up", words) == "still"


def test_lost_shared_ground_sends_current_backwards():
    """Two lamps share a ground. It is lost: one lamp's current goes backwards through its neighbour, and on to ground."""
    parts = """
        B1 | battery | + - | 12.6 V, 20 mohm
        F1 | fuse | in out | 10 A
        S1 | switch | feed a b | 30 mohm
        L1 | lamp | a b | 12 V, 5 W
        L2 | lamp | a b | 12 V, 21 W
        L3 | lamp | a b | 12 V, 5 W
        G1 | ground | p | 5 mohm
        G2 | ground | p | 5 mohm
    """
    wires = """
        W1 | B1.+ | F1.in
        W2 | F1.out | S1.feed
        W3 | S1.a | L1.a
        W4 | S1.b | L2.a
        W5 | L1.b | L2.b
        W6 | L2.b | G1.p
        W7 | L2.a | L3.a
        W8 | L3.b | G2.p
        W9 | B1.- | G2.p
    """
    case = Case(parts, wires, "Position | S1 joins\nrest |\nfirst | feed-a\nsecond | feed-b")
    assert case.load("L2", "first").amps == pytest.approx(0, abs=1e-3)
    assert case.does("L1", "first") == "bright"
    lost = case.load("L2", "first", "W6 open")
    assert lost.amps < -0.05
    assert case.does("L1", "first", "W6 open") == "dim"
    assert case.load("L3", "first", "W6 open").amps > 0.05
    assert case.does("L3", "second", "W6 open") == "bright"


def test_ghost_voltage():
    """Behind 100 kohm a voltmeter shows full voltage and a test lamp is dark; an LED lamp glows faintly or not."""
    rows = [at_plug(i, "J2") for i in ("voltmeter", "test lamp", "LED lamp")]
    case = glass(*rows)
    assert case.read(0, "W4 100 kohm").value == pytest.approx(12.6 * 10e6 / 10.1e6, abs=0.01)
    assert case.read(1, "W4 100 kohm").verdict == "dark"
    assert case.read(2, "W4 100 kohm").verdict == "dark"  # (12.6 - 3.4) V / 101 kohm = 91 uA, below 0.1 mA
    assert case.read(2, "W4 50 kohm").verdict == "dim"  # 9.2 V / 51 kohm = 0.18 mA
    assert [case.read(i).verdict for i in (1, 2)] == ["bright", "bright"]


def test_dirty_ground_with_the_motor_plugged():
    """Behind a 40 ohm ground, motor connected: the meter reads about 5 V, and the lamp beside the motor is dark."""
    case = glass(at_plug("voltmeter"), at_plug("test lamp"))
    assert case.read(0, "G1 40 ohm").value == pytest.approx(5.0, abs=0.35)
    assert case.read(1, "G1 40 ohm").verdict == "dark"
    assert case.does("M1", "up", "G1 40 ohm") == "slow"


def test_dirty_ground_with_the_motor_unplugged():
    """The same with the motor unplugged: the meter reads 12.6 V, the lamp is dim."""
    case = glass(at_plug("voltmeter", "J2"), at_plug("test lamp", "J2"))
    assert case.read(0, "G1 40 ohm").value == pytest.approx(12.6, abs=0.01)
    assert case.read(1, "G1 40 ohm").verdict == "dim"


HEATER = """
    B1 | battery | + - | 12.6 V, 1 mohm
    F1 | fuse | in out | 10 A
    S1 | switch | feed out | 10 mohm
    R1 | heater | a b | 7.5 ohm
    G1 | ground | p | 1 mohm
"""
HEATER_WIRES = "W1 | B1.+ | F1.in\nW2 | F1.out | S1.feed\nW3 | S1.out | R1.a\nW4 | R1.b | G1.p\nW5 | B1.- | G1.p"
HEATER_ON = "Position | S1 joins\noff |\non | feed-out"


def heater(*readings: str) -> Case:
    return Case(HEATER, HEATER_WIRES, HEATER_ON, readings)


def test_heater_behind_one_ohm_loses_a_fifth_and_no_lamp_shows_it():
    """Exact: (7.5 / 8.5)^2 = 0.779, 22 % less heat. A lamp in the heater's place is as bright; a drop under load shows it."""
    case = heater("on | | test lamp | R1.a | R1.b", "on | | voltmeter | S1.out | R1.a")
    whole, behind = (case.load("R1", "on", words) for words in ("", "W3 1 ohm"))
    assert 1 - behind.volts * behind.amps / (whole.volts * whole.amps) == pytest.approx(1 - (7.5 / 8.5) ** 2, abs=0.003)
    assert behind.verdict == "hot"
    assert case.read(0).verdict == case.read(0, "W3 1 ohm").verdict == "bright"
    assert case.read(1).value == pytest.approx(0.0017, abs=5e-4)  # 1 mohm x 1.7 A
    assert case.read(1, "W3 1 ohm").value == pytest.approx(12.6 / 8.5, abs=0.02)


def test_heat_in_three_steps():
    """Hot above 70 % of the healthy watts, warm above 10 %: (7.5 / (7.5 + R))^2."""
    case = heater()
    steps = {"W3 1 ohm": "hot", "W3 2 ohm": "warm", "W3 15 ohm": "warm", "W3 20 ohm": "cold", "R1 open": "cold"}
    assert {words: case.does("R1", "on", words) for words in steps} == steps


def test_voltage_drop_of_a_healthy_wire():
    """Exact by IEC 60228: 3.5 m of 0.5 mm2 at 39 ohm/km is 0.1365 ohm; at 2.1 A it drops 0.287 V, at 0.18 A 25 mV.

    A limit of 0.2 V would condemn it in the one case and miss 1.1 ohm in the other.
    """
    parts = HEATER.replace("7.5 ohm", "5.84 ohm")
    wires = HEATER_WIRES.replace("W3 | S1.out | R1.a", "W3 | S1.out | R1.a | 0.5 | 3.5 m")
    case = Case(parts, wires, HEATER_ON, ("on | | voltmeter | S1.out | R1.a", "on | | clamp | W3"))
    assert case.read(1).value == pytest.approx(2.1, abs=0.005)
    assert case.read(0).value == pytest.approx(0.287, abs=0.001)
    glass_motor = glass("up | | voltmeter | S2.tilt | J2.tilt body", "up | | clamp | W4")
    assert glass_motor.read(1).value == pytest.approx(0.2, abs=0.01)
    assert glass_motor.read(0).value == pytest.approx(0.2 * 0.1365, abs=0.002)
    assert (glass_motor.read(0, "W4 1 ohm").value or 0) < 0.21


def directions(case: Case, words: str) -> tuple[bool, bool]:
    """Whether the motor of the pair moves up, and down; neither where nobody should try."""
    if case.see(words).state:
        return (False, False)
    return tuple(case.does("M1", way, words) == way for way in ("up", "down"))  # type: ignore[return-value]


def test_one_direction_dead_is_a_contact_or_a_wire_at_ground():
    """In a plain reversing circuit no open wire kills one direction only: only a contact, or a wire that touches ground.

    Held for every fault that the parts have by themselves, and every wire and pin.
    """
    case = pair()
    lame = [words for words, _ in own_faults(case.survey.bench.net) if sum(directions(case, words)) == 1]
    assert lame
    for words in lame:
        assert words.startswith("S1 ") or "touches" in words, words
    for words in ("S1 feed-x open", "S1 ground-y open"):
        assert directions(case, words) == (False, True)
    opened = [
        words for words, _ in own_faults(case.survey.bench.net) if words.endswith(" open") and words[0] in "WJMGF"
    ]
    assert len(opened) > 12
    for words in opened:
        assert directions(case, words) in ((True, True), (False, False)), words


def test_one_direction_dead_through_a_diode():
    """With a diode in the circuit the rule doesn't hold: a diode open kills one direction (and so do limit switches)."""
    case = pair(changed=(("W6 | J2.x mirror | M1.a", "W6 | J2.x mirror | D1.+"),
                         ("    G1 | ground", "    D1 | diode | + - | 0.7 V\n    D2 | diode | + - | 0.7 V\n    G1 | ground"),
                         ("    W8 |", "    W9 | D1.- | M1.a\n    W10 | D2.- | J2.x mirror\n    W11 | D2.+ | M1.a\n    W8 |")))  # fmt: skip
    assert directions(case, "") == (True, True)
    assert directions(case, "D1 open") == (False, True)
    assert directions(case, "D2 open") == (True, False)


@pytest.mark.parametrize(("words", "least", "most"), [
    ("M1 open", 0.0, 1e-6), ("W4 open", 0.0, 1e-6), ("J2 unplugged", 0.0, 1e-6),
    ("", 0.15, 0.25), ("M1 seized", 0.9, 1.1),
])  # fmt: skip
def test_current_at_the_fuse(words, least, most):
    """0 A open, about 0.2 A turning, about 1 A stuck; the trim is still on. By clamp or over the fuse's test points."""
    case = glass("up | | clamp | W2", "up | | voltmeter | F7.in | F7.out")
    amps = case.read(0, words).value
    assert least <= abs(amps) <= most
    assert case.read(1, words).value == pytest.approx(amps * 0.08 / 7.5, abs=2e-6)


def test_which_press_blows_the_fuse():
    """A wire of a pair that touches ground blows the fuse when that wire is fed: it tells which wire it is.

    The switch feeds and grounds the wires itself, so no press in the other direction does.
    """
    case = pair()
    for words, way, other in (("W4 touches ground", "up", "down"), ("W5 touches ground", "down", "up")):
        answer = case.answer(way, words)
        assert answer.blown == {"F7"}
        assert case.answer(other, words).blown == frozenset()
        assert {case.fuse("F7", way, words) for way in ("rest", "up", "down")} == {"blown"}  # it stays blown
        assert directions(case, words) == (False, False)
    both = glass()
    assert both.answer("up", "W4 touches ground").blown == {"F7"}
    assert not any(both.answer(way, "W4 touches ground").blown for way in ("rest", "down", "left", "right", "far up"))
    common = {way for way in OWN_WAYS if both.answer(way, "W6 touches ground").blown}
    assert common == {"down", "right"}


FUSED = """
    B1 | battery | + - | 12.6 V, 1 mohm
    F1 | fuse | in out | 5 A
    R1 | heater | a b | {ohms} ohm
    G1 | ground | p | 1 mohm
"""
FUSED_WIRES = "W1 | B1.+ | F1.in\nW2 | F1.out | R1.a\nW3 | R1.b | G1.p\nW4 | B1.- | G1.p"


@pytest.mark.parametrize(
    ("ohms", "word"), [(3, "whole"), (1.9, "whole"), (1.84, "may blow"), (1.27, "may blow"), (1.22, "blown")]
)
def test_fuse(ohms, word):
    """Blows above twice its rating, may blow in minutes from 1.35 times on: 12.6 V / (ohms + 0.021) against 10 and 6.75 A."""
    case = Case(FUSED.format(ohms=ohms), FUSED_WIRES)
    assert case.fuse("F1") == word
    assert (abs(case.load("R1").amps) < 1e-9) == (word == "blown")
    assert case.does("R1") == ("cold" if word == "blown" else "hot")


def test_blown_fuse_stays_blown_on_arrival():
    """What was fed by it is dead in all positions, also where the short isn't reached; readings are taken as found."""
    case = glass("rest | | test lamp | S1.feed | G2.p", "rest | | eye | F7", "far up | | eye | M5")
    assert [case.read(i).verdict for i in range(3)] == ["bright", "whole", "moves"]
    words = "W4 touches ground"
    assert [case.read(i, words).verdict for i in range(3)] == ["dark", "blown", "still"]
    assert case.does("M5", "far up", words) == "still"


def test_smaller_fuse_blows_first():
    """Of two fuses in a row the more overloaded one goes, and protects the other."""
    parts = FUSED.format(ohms=3).replace("R1 |", "F2 | fuse | in out | 30 A\n    R1 |")
    wires = "W1 | B1.+ | F2.in\nW5 | F2.out | F1.in\n" + FUSED_WIRES.partition("\n")[2]
    case = Case(parts, wires)
    assert case.answer("on", "W2 touches ground").blown == {"F1"}
    assert case.answer("on", "W5 touches ground").blown == {"F2"}


RELAY = """
    B1 | battery | + - | {volts} V, 1 mohm
    F1 | fuse | in out | 10 A
    S1 | switch | feed out | 10 mohm
    K1 | relay | 85 86 30 87 87a | 85 ohm, pulls at 8 V, drops at 3 V, contact 20 mohm
    L1 | lamp | a b | 12 V, 5 W
    L2 | lamp | a b | 12 V, 5 W
    G1 | ground | p | 1 mohm
"""
RELAY_WIRES = """
    W1 | B1.+ | F1.in
    W2 | F1.out | S1.feed
    W3 | S1.out | K1.86
    W4 | K1.85 | G1.p
    W5 | F1.out | K1.30
    W6 | K1.87 | L1.a
    W7 | K1.87a | L2.a
    W8 | L1.b | G1.p
    W9 | L2.b | G1.p
    W10 | B1.- | G1.p
"""


def relay(volts: float = 12.6) -> Case:
    return Case(RELAY.format(volts=volts), RELAY_WIRES, HEATER_ON)


def test_relay_makes_and_breaks():
    case = relay()
    assert (case.does("L1", "off"), case.does("L2", "off")) == ("dark", "bright")
    assert (case.does("L1", "on"), case.does("L2", "on")) == ("bright", "dark")
    for words in ("K1 coil open", "W3 open", "S1 feed-out open"):
        assert (case.does("L1", "on", words), case.does("L2", "on", words)) == ("dark", "bright")
    assert case.does("L1", "off", "K1 30-87 welded") == "bright"
    assert case.does("L1", "on", "K1 30-87 open") == "dark"
    assert case.does("L1", "on", "K1 30 ohm") == "dim"
    assert case.load("L1", "on", "K1 30-87 1 ohm").volts < case.load("L1", "on").volts - 0.3


def test_relay_needs_its_pulling_voltage():
    """85 ohm behind R gets 12.6 x 85 / (85 + R): 8 V up to 48 ohm."""
    case = relay()
    assert case.does("L1", "on", "W3 45 ohm") == "bright"
    assert case.does("L1", "on", "W3 52 ohm") == "dark"
    assert relay(7.9).does("L2", "on") == "dim"


def test_relay_that_feeds_its_own_coil_holds():
    """Pulled once by a touch of the key; the coil then hangs on its own contact and holds above the dropping voltage.

    Its first touch is the position; at rest nothing pulls, so it stays dropped.
    """
    wires = RELAY_WIRES + "    W11 | K1.87 | D1.+\n    W12 | D1.- | K1.86\n"
    case = Case(RELAY.format(volts=12.6) + "D1 | diode | + - | 0.7 V\n", wires, HEATER_ON)
    assert case.answer("off").pulled == frozenset()
    assert case.answer("on").pulled == {"K1"}
    # A contact of 40 ohm in the way of the coil lets it hold at what wouldn't pull it: 12.6 x 85 / 125 = 8.6; 100 ohm: 5.8 V.
    assert case.answer("on", "W3 100 ohm").pulled == frozenset()


def test_relay_holds_below_its_pulling_voltage():
    """Its own contact's load pulls the feed down to about 5 V: above the dropping voltage it holds."""
    parts = RELAY.replace(
        "20 mohm\n", "20 mohm\n    R1 | heater | a b | 1 ohm\n    R2 | resistor | a b | 1 ohm\n", 1
    ).format(volts=12.6)
    wires = RELAY_WIRES.replace("W2 | F1.out | S1.feed", "W2 | F1.out | R2.a\n    W12 | R2.b | S1.feed").replace(
        "W5 | F1.out | K1.30", "W5 | R2.b | K1.30") + "    W13 | K1.87 | R1.a\n    W14 | R1.b | G1.p\n"  # fmt: skip
    case = Case(parts, wires, HEATER_ON)
    answer = case.answer("on")
    assert answer.state == ""
    assert answer.pulled == {"K1"}
    coil = answer.across[answer.net.index[("K1", "coil")]]
    assert 3.0 < abs(coil) < 8.0


def test_relay_without_a_settled_state():
    """A coil fed over its own breaking contact buzzes: no state, and so no readings."""
    wires = RELAY_WIRES.replace("W3 | S1.out | K1.86", "W3 | K1.87a | K1.86").replace("W2 | F1.out | S1.feed\n", "")
    wires = wires.replace("W5 | F1.out | K1.30", "W5 | S1.out | K1.30").replace(
        "    W3", "    W2 | F1.out | S1.feed\n    W3"
    )
    case = Case(
        RELAY.format(volts=12.6),
        wires,
        HEATER_ON,
        ("on | | voltmeter | K1.30 | G1.p", "off | | voltmeter | K1.30 | G1.p"),
    )
    assert case.answer("on").state == "unsettled"
    assert case.answer("off").state == ""
    seen = case.see()
    assert (seen.state, seen.readings) == ("unsettled", ())
    assert seen.loads["on"] == {}


def test_fuse_that_blows_drops_the_relay():
    """A short behind the contact blows the fuse that feeds the coil as well: the relay falls back, and that is a settled state."""
    case = relay()
    answer = case.answer("on", "W6 touches ground")
    assert (answer.blown, answer.pulled, answer.state) == ({"F1"}, frozenset(), "")


LIMIT = """
    B1 | battery | + - | 12.6 V, 20 mohm
    F1 | fuse | in out | 7.5 A
    S1 | switch | feed ground x y | 30 mohm
    E1 | limit switch | p q | 30 mohm
    D1 | diode | + - |
    M1 | motor | a b | 4 ohm, runs at 0.8 A, a positive means out/in
    G1 | ground | p | 5 mohm
"""
LIMIT_WIRES = """
    W1 | B1.+ | F1.in
    W2 | F1.out | S1.feed
    W3 | S1.ground | G1.p
    W4 | S1.x | E1.p
    W5 | E1.q | M1.a
    W6 | S1.y | M1.b
    W7 | D1.- | E1.p
    W8 | D1.+ | E1.q
    W9 | B1.- | G1.p
"""


def test_limit_switch():
    """At its end the limit switch stops the motor in that direction; the diode beside it lets it come back."""
    positions = (
        """
        Position | S1 joins | E1 joins
        out, midway | feed-x, ground-y | p-q
        out, at the end | feed-x, ground-y |
        in, from the end | feed-y, ground-x |
        in, midway | feed-y, ground-x | p-q
    """.replace(", ", " ")
        .replace("feed-x ground-y", "feed-x, ground-y")
        .replace("feed-y ground-x", "feed-y, ground-x")
    )
    case = Case(LIMIT, LIMIT_WIRES, positions)
    found = [case.does("M1", way) for way in ("out midway", "out at the end", "in from the end", "in midway")]
    assert found == ["out", "still", "in", "in"]
    assert case.load("M1", "in from the end").volts == pytest.approx(-12.6 + 0.7 + 0.12, abs=0.1)
    assert case.does("M1", "in from the end", "D1 open") == "still"
    assert case.does("M1", "out at the end", "D1 shorted") == "out"
    assert case.does("M1", "in from the end", "D1 shorted") == "in"


MODULE = """
    B1 | battery | + - | 12.6 V, 20 mohm
    U1 | output | out | 0.2 ohm, limit 5 A{rest}
    U2 | output | out | 0.2 ohm, limit 5 A{rest}
    M1 | motor | a b | 12 ohm, runs at 0.18 A, a positive means up/down
    G1 | ground | p | 5 mohm
"""
MODULE_WIRES = "W1 | U1.out | M1.a\nW2 | U2.out | M1.b\nW3 | B1.- | G1.p"
MODULE_POSITIONS = "Position | U1 drives | U2 drives\nrest | |\nup | high | low\ndown | low | high"


def module(rest: str = "", *readings: str) -> Case:
    return Case(MODULE.format(rest=rest), MODULE_WIRES, MODULE_POSITIONS, readings)


def test_module_drives():
    case = module()
    assert [case.does("M1", way) for way in ("rest", "up", "down")] == ["still", "up", "down"]
    assert case.does("M1", "rest", "U1 stuck on") == "still"  # the other output hangs on nothing
    assert case.does("M1", "down", "U1 stuck on") == "still"  # both high
    assert case.does("M1", "up", "U1 stuck off") == "still"


def test_module_shuts_off_on_overcurrent():
    """12.6 V behind 0.2 ohm into a short is far above 5 A: off, and no fuse blows; the other direction still works."""
    case = module("", "up | | voltmeter | U1.out | G1.p")
    answer = case.answer("up", "W1 touches ground")
    assert answer.blown == {"U1"}
    assert case.see("W1 touches ground").state == ""
    assert case.does("M1", "up", "W1 touches ground") == "still"
    assert case.does("M1", "down", "W1 touches ground") == "down"
    assert case.answer("up").blown == frozenset()


@pytest.mark.parametrize(
    ("rest", "volts"), [(", rest ground", 0.0), (", rest 5 V behind 1 kohm", 5.0), (", rest floating", None)]
)
def test_module_at_rest(rest, volts):
    """Both low, at a few volts of test current, or floating: then no voltage is defined."""
    case = module(rest, "rest | | voltmeter | M1.a | G1.p")
    assert case.read().defined == (volts is not None)
    assert case.read().value == pytest.approx(volts or 0.0, abs=0.01)


def test_wrong_load_is_not_a_fault():
    """A test lamp draws 0.24 A: within the limit, so the output drives it."""
    case = module("", "up | | test lamp | U1.out | G1.p")
    assert case.read().verdict == "bright"


OHMS = ("rest | J2 | ohmmeter | J2.tilt mirror | J2.common mirror", "rest | | ohmmeter | M1.a | M1.b",
        "up | | ohmmeter | M1.a | M1.b", "rest | | ohmmeter | S1.feed | G2.p")  # fmt: skip


def test_ohmmeter():
    """The motor alone reads its winding; on a live circuit the meter is refused; open reads OL."""
    case = glass(*OHMS)
    assert case.read(0).value == pytest.approx(12.0, abs=0.05)
    assert case.read(1).value == pytest.approx(12.0, abs=0.05)
    for live in (2, 3):
        assert (case.read(live).defined, case.read(live).value, case.read(live).verdict) == (False, None, "undefined")
    assert (case.read(0, "M1 open").verdict, case.read(0, "M1 open").value) == ("OL", None)
    assert case.read(0, "W7 open").verdict == "OL"
    assert case.read(0, "M1 half the ohms").value == pytest.approx(6.0, abs=0.05)
    assert case.read(0, "W7 20 ohm").value == pytest.approx(32.0, abs=0.05)
    assert case.read(0, "W7 9 Mohm").value == pytest.approx(9e6, rel=1e-3)
    assert case.read(0, "W7 11 Mohm").verdict == "OL"


def test_ohmmeter_and_a_diode():
    """1 mA goes through a diode one way only, and finds 0.7 V there: 700 ohm; the other way OL."""
    parts = "B1 | battery | + - | 12.6 V\nD1 | diode | + - | 0.7 V\nR1 | resistor | a b | 100 ohm\nR2 | resistor | a b | 9 ohm"
    wires = "W1 | D1.- | R1.a\nW2 | B1.+ | R2.a\nW3 | B1.- | R2.b"
    case = Case(parts, wires, readings=("on | | ohmmeter | D1.+ | R1.b", "on | | ohmmeter | R1.b | D1.+"))
    assert case.read(0).value == pytest.approx(800.0, abs=0.2)
    assert case.read(1).verdict == "OL"


def test_clamp():
    """A clamp tells the current of a wire or a part; a plug's is its largest."""
    case = glass(
        "up | | clamp | W2", "up | | clamp | M1", "up | | clamp | J2", "down | | clamp | W4", "rest | | clamp | W2"
    )
    read = [case.read(i).value or 0.0 for i in range(5)]
    assert read[0] == pytest.approx(read[1], rel=1e-6)
    assert abs(read[2]) == pytest.approx(read[1], rel=1e-6)
    assert read[3] == pytest.approx(-read[0], rel=1e-6)
    assert read[4] == 0
    assert case.read(0).unit == "A"


def test_eye():
    case = glass("up | | eye | M1", "up | | eye | F7", "far up | | eye | M5", "up | | eye | M2")
    assert [(case.read(i).verdict, case.read(i).direction) for i in range(4)] == [
        ("moves", "up"), ("whole", ""), ("moves", "up"), ("still", "")]  # fmt: skip
    assert case.read(0, "J2.tilt 40 ohm").verdict == "slow"
    assert case.read(1, "F7 blown").verdict == "blown"


def test_led_lamp_hardly_loads():
    """Through 2 kohm an LED lamp is bright (9.2 V / 2.9 kohm = 3 mA) where the filament lamp is dark."""
    case = glass(at_plug("LED lamp", "J2"), at_plug("test lamp", "J2"))
    assert (case.read(0, "W4 2 kohm").verdict, case.read(1, "W4 2 kohm").verdict) == ("bright", "dark")
    assert (case.read(0, "W4 open").verdict, case.read(1, "W4 open").verdict) == ("dark", "dark")
    backwards = glass("down | J2 | LED lamp | J2.tilt body | J2.common body")
    assert backwards.read().verdict == "bright"  # it lights either way round


def test_instrument_is_a_part_of_the_circuit():
    """A lamp beside the motor draws its own current through the bad spot: the motor slows further."""
    case = glass(at_plug("test lamp"), at_plug("voltmeter"))
    world = case.survey.reader.world(case.survey.circuit.readings[0], case_world(case))
    with_lamp = case.survey.bench.solve([world])[0].voltage("M1")
    assert with_lamp < case.load("M1", "up", "G1 40 ohm").volts - 0.3


def case_world(case: Case) -> World:
    """The world of a 40 ohm ground while up is held."""
    return World(case.survey.circuit.positions["up"], case.changes("G1 40 ohm"))


def test_no_defined_voltage_between_islands():
    """Across an open plug a voltmeter has no defined voltage: 0 V is shown and told to be none."""
    case = glass("rest | J2 | voltmeter | J2.tilt mirror | G2.p", "up | | voltmeter | M1.a | G2.p")
    assert (case.read(0).defined, case.read(0).value) == (False, 0.0)
    assert case.read(1).defined
    assert not case.read(1, "J2 unplugged").defined
    assert case.read(1, "W4 open").defined  # over the motor it hangs on the common wire at ground
    assert case.read(1, "W4 open").value == pytest.approx(0.0, abs=1e-3)


def test_lamps_in_three_steps():
    """Bright above 0.8 of the rated volts, dim above 0.33, dark below; without current dark whatever the volts."""
    parts = "B1 | battery | + - | {volts} V, 1 mohm\nL1 | lamp | a b | 12 V, 5 W"
    wires = "W1 | B1.+ | L1.a\nW2 | L1.b | B1.-"
    found = {v: Case(parts.format(volts=v), wires).does("L1") for v in (12, 9.7, 9.5, 4.1, 3.9, 1)}
    assert found == {12: "bright", 9.7: "bright", 9.5: "dim", 4.1: "dim", 3.9: "dark", 1: "dark"}
    whole = Case(parts.format(volts=12), wires)
    assert whole.load("L1").amps == pytest.approx(5 / 12, rel=1e-3)
    assert whole.does("L1", "on", "L1 open") == "dark"
    assert whole.load("L1", "on", "L1 open").volts == pytest.approx(12.0, abs=1e-3)


def test_filament_takes_more_than_its_share_when_cold():
    """I goes as V to the 0.55 (common practice, no source): half the volts, 0.68 of the current."""
    parts = "B1 | battery | + - | 6 V, 1 mohm\nL1 | lamp | a b | 12 V, 5 W"
    case = Case(parts, "W1 | B1.+ | L1.a\nW2 | L1.b | B1.-")
    assert case.load("L1").amps == pytest.approx(5 / 12 * 0.5**0.55, rel=0.01)


def test_motor_needs_its_starting_volts():
    """It stands below 0.18 A x 12 ohm = 2.16 V and draws V / R there; above it draws about 0.18 A and a little more."""
    parts = (
        "B1 | battery | + - | {volts} V, 1 mohm\nM1 | motor | a b | 12 ohm, runs at 0.18 A, a positive means up/down"
    )
    wires = "W1 | B1.+ | M1.a\nW2 | M1.b | B1.-"
    stands, runs = (Case(parts.format(volts=v), wires) for v in (2.1, 12.6))
    assert (stands.does("M1"), runs.does("M1")) == ("still", "up")
    assert stands.load("M1").amps == pytest.approx(2.1 / 12, rel=1e-3)
    assert runs.load("M1").amps == pytest.approx(0.18 + 0.02 * (12.6 - 2.16) / 12, rel=1e-3)
    assert runs.does("M1", "on", "M1 seized") == "still"
    assert runs.load("M1", "on", "M1 seized").amps == pytest.approx(12.6 / 12, rel=1e-3)


def test_slow_is_told_against_the_healthy_speed():
    """Below 60 % of (volts - 2.16 V) in the same position: 12.5 - 2.16 = 10.3, so below 8.4 V at the motor."""
    case = pair()
    for ohms, verdict in ((5, "up"), (15, "up"), (25, "slow"), (45, "slow"), (60, "still")):
        load = case.load("M1", "up", f"W4 {ohms} ohm")
        turning = (load.volts - 2.16) / (case.load("M1", "up").volts - 2.16)
        assert (turning < 0.6) == (verdict != "up")
        assert case.does("M1", "up", f"W4 {ohms} ohm") == verdict


def test_low_battery_slows_nothing_by_itself():
    """At 80 % of the battery the glass moves, slower: 7.9 of 10.3 V of speed is above 60 %."""
    case = pair()
    assert case.does("M1", "up", "B1 low") == "up"
    assert case.load("M1", "up", "B1 low").volts == pytest.approx(0.8 * case.load("M1", "up").volts, rel=0.01)


def test_three_battery_voltages():
    """94, 100 and 115 % of the stated volts: the battery's own reading is the measure."""
    for share in (0.94, 1.0, 1.15):
        case = glass(at_plug("voltmeter"), share=share)
        assert case.read().supply == pytest.approx(12.6 * share, abs=0.01)
        assert case.read().value / case.read().supply == pytest.approx(0.993, abs=0.003)


def test_unfused_short_gives_no_readings():
    """A wire before the fuse at ground: a hazard, so nothing is shown but the state; also over long thin wire."""
    case = glass(at_plug("voltmeter"))
    for words in ("W1 touches ground", "B1.+ touches ground"):
        seen = case.see(words)
        assert (seen.state, seen.readings) == ("shorted", ())
        assert all(loads == {} for loads in seen.loads.values())
    assert case.see("W2 touches ground").state == ""
    long = pair(changed=(("W1 | B1.+ | F7.in | 2.5 | 1 m", "W1 | B1.+ | F7.in | 0.5 | 6 m"),))
    assert long.see("F7.in touches ground").state == "shorted"  # 12.6 V / 0.25 ohm = 50 A, and no fuse in the way


def test_load_is_no_short():
    """A starter of 0.1 ohm draws 100 A without a fuse; as a load it shorts nothing."""
    parts = "B1 | battery | + - | 12.6 V, 20 mohm\nR1 | resistor | a b | 0.1 ohm"
    case = Case(parts, "W1 | B1.+ | R1.a\nW2 | R1.b | B1.-")
    assert case.see().state == ""
    assert case.load("R1").amps > 90


def test_own_faults_of_a_three_wire_circuit_seldom_tell_themselves_apart():
    """Many faults, few patterns: what is seen without an instrument isolates little."""
    case = glass()
    faults = list(own_faults(case.survey.bench.net))
    seen = case.survey.see(faults, readings=False)
    patterns = {s.pattern for s in seen if not s.state}
    assert len(faults) > 150
    assert 10 < len(patterns) < len(faults) / 4
    healthy = case.see().pattern
    assert sum(s.pattern == healthy for s in seen if not s.state) > 10  # some show nothing at all


def test_drawn_circuits_are_what_they_say():
    """The helper reads tables as pages are read: a part's name wrong is a failed test, not another circuit."""
    with pytest.raises(AssertionError):
        drawn("B1 | battery | + - | 12.6 V", "W1 | B1.+ | B9.x")
