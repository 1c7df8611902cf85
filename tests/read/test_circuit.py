"""Circuit tables: each table, each kind of part and fault, and each kind of bad cell.

All values are invented; the colours are the codes of IEC 60757 that the page format lists.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from kb.circuit.net import compile_net
from kb.circuit.own import own_faults
from kb.netlist import Change, Quantity, Terminal
from kb.read.parts import PART_KINDS
from tests.bases import base, told, under

NODES = "\n# Cause: C\n\n# Symptom: S\n\n# Test: T\n\n# Test: U\n"
PARTS = """| Part | Kind | Pins | Values |
|---|---|---|---|
| B1 | battery | + - | 12.6 V, 20 mohm |
| F7 | fuse | in out | 7.5 A |
| S1 | switch | feed ground V H | contact 30 mohm |
| J2 | connector | tilt swing common | 5 mohm, sides body mirror |
| M1 | motor | a b | 12 ohm, runs at 0.18 A, a positive means up/down |
| U1 | output | out | 0.2 ohm, limit 5 A, rest floating |
| G1 | ground | p | 5 mohm |
"""
WIRES = """
| Wire | From | To | Colour | mm2 | Length | Bundle |
|---|---|---|---|---|---|---|
| W1 | B1.+ | F7.in | RD | 2.5 | 1 m | |
| W4 | S1.V | J2.tilt body | VT | 0.5 | 3.5 m | hinge |
| W7 | J2.tilt mirror | M1.a | WH/BK | 0.35 mm2 | 30 cm | |
"""
POSITIONS = """
| Position | S1 joins | U1 drives | Must happen |
|---|---|---|---|
| rest | | | |
| up | feed-V, ground-H | high | M1 up |
| hold down | feed-H | low | M1 down, M1 slow |
"""


def circuit(*tables: str, more: str = NODES):
    """A base whose page holds a circuit of these tables, and the circuit."""
    read = base("# Circuit: K\n\n" + "\n".join(tables) + more)
    return read, read.circuits["page.md#circuit-k"]


def bad(*tables: str) -> list[tuple[str, str]]:
    """Rule and marked words of each problem."""
    read, found = circuit(*tables)
    assert found.sound == (not read.problems)
    return [(rule, words) for rule, _, words in told(read)]


def test_parts():
    read, found = circuit(PARTS)
    assert told(read) == []
    assert found.sound
    assert list(found.parts) == ["B1", "F7", "S1", "J2", "M1", "U1", "G1"]
    motor = found.parts["M1"]
    assert (motor.kind, motor.pins, motor.turns) == ("motor", ("a", "b"), ("up", "down"))
    assert motor.values == {"ohms": Quantity(12, "ohm"), "runs": Quantity(0.18, "A")}
    assert motor.value_text == "12 ohm, runs at 0.18 A, a positive means up/down"
    assert under(read, motor.span).startswith("| M1 | motor")
    plug = found.parts["J2"]
    assert (plug.pins, plug.sides, plug.values) == (
        ("tilt", "swing", "common"), ("body", "mirror"), {"ohms": Quantity(0.005, "ohm")},
    )  # fmt: skip
    assert found.parts["U1"].words == {"rest": "floating"}


def test_wires():
    read, found = circuit(PARTS, WIRES)
    assert told(read) == []
    wire = found.wires["W7"]
    assert (wire.start, wire.end) == (Terminal("J2", "tilt", "mirror"), Terminal("M1", "a"))
    assert (wire.colour, wire.mm2, wire.metres, wire.bundle) == (("WH", "BK"), 0.35, 0.3, "")
    assert (found.wires["W4"].bundle, found.wires["W4"].metres) == ("hinge", 3.5)


def test_a_point_on_a_connector_without_a_side_is_on_its_first():
    _, found = circuit(PARTS, "| Wire | From | To |\n|---|---|---|\n| W1 | S1.V | J2.tilt |\n")
    wire = found.wires["W1"]
    assert wire.end == Terminal("J2", "tilt", "body")
    assert (wire.colour, wire.mm2, wire.metres, wire.bundle) == ((), None, None, "")


def test_positions():
    read, found = circuit(PARTS, POSITIONS)
    assert told(read) == []
    assert list(found.positions) == ["rest", "up", "hold down"]
    up = found.positions["up"]
    assert (up.joins, up.drives, up.must) == (
        {"S1": (("feed", "V"), ("ground", "H"))}, {"U1": "high"}, (("M1", "up"),),
    )  # fmt: skip
    assert found.positions["rest"].joins == {"S1": ()}
    assert found.positions["rest"].drives == {"U1": ""}
    assert found.positions["hold down"].must == (("M1", "down"), ("M1", "slow"))


def test_tables_may_stand_in_any_order_and_may_be_split():
    read, found = circuit(POSITIONS, WIRES, PARTS, "| Part | Kind | Pins | Values |\n|---|---|---|---|\n| G2 | ground | p | |\n")
    assert told(read) == []
    assert (len(found.parts), len(found.wires), len(found.positions)) == (8, 3, 3)


# The page format's own table of faults.
@pytest.mark.parametrize(
    ("written", "change"),
    [
        ("W4 open", Change("open", "W4")),
        ("M1 open", Change("open", "M1")),
        ("J2.tilt open", Change("open", Terminal("J2", "tilt", "body"))),
        ("J2.tilt mirror open", Change("open", Terminal("J2", "tilt", "mirror"))),
        ("W4 60 ohm", Change("ohms", "W4", ohms=60)),
        ("J2.common 0.5 kohm", Change("ohms", Terminal("J2", "common", "body"), ohms=500)),
        ("G1 2ohm", Change("ohms", "G1", ohms=2)),
        ("W4 touches ground", Change("ground", "W4")),
        ("J2.tilt touches ground", Change("ground", Terminal("J2", "tilt", "body"))),
        ("W4 touches W7", Change("touches", "W4", "W7")),
        ("J2.tilt touches J2.swing", Change("touches", Terminal("J2", "tilt", "body"), Terminal("J2", "swing", "body"))),
        ("J2 unplugged", Change("unplugged", "J2")),
        ("J2.tilt crossed with J2.swing", Change("crossed", Terminal("J2", "tilt", "body"), Terminal("J2", "swing", "body"))),
        ("S1 feed-V open", Change("contact-open", "S1", contact=("feed", "V"))),
        ("S1 feed-V welded", Change("welded", "S1", contact=("feed", "V"))),
        ("M1 seized", Change("seized", "M1")),
        ("F7 blown", Change("blown", "F7")),
    ],
)
def test_what_is_wrong(written, change):
    read, found = circuit(PARTS, WIRES, f"| Fault of | What is wrong |\n|---|---|\n| [C] | {written} |\n")
    assert told(read) == []
    (fault,) = found.faults
    assert (fault.changes, fault.words) == ((change,), written)
    assert read.target(fault.cause).name == "C"


KINDS = """
| Part | Kind | Pins | Values |
|---|---|---|---|
| B1 | battery | + - | 12 V |
| F1 | fuse | in out | 5 A |
| S1 | switch | x y | |
| K1 | relay | 85 86 30 87 | 90 ohm, pulls at 8 V, drops at 4 V |
| J1 | connector | x y | sides body door |
| M1 | motor | a b | 12 ohm, runs at 0.2 A |
| H1 | heater | a b | 8 ohm |
| R1 | resistor | a b | 9 ohm |
| L1 | lamp | a b | 12 V, 5 W |
| L2 | led | + - | 2 V, 470 ohm |
| D1 | diode | + - | |
| P1 | potentiometer | top wiper bottom | 5 kohm, at 50 % |
| C1 | cell | + - | 1.3 V, 12 ohm |
| U1 | output | out | 0.2 ohm, limit 5 A |
| I1 | input | in | 3 kohm to ground |
| G1 | ground | p | |
| P2 | splice | a b | |

| Wire | From | To | Bundle |
|---|---|---|---|
| W1 | B1.+ | F1.in | loom |
| W2 | F1.out | S1.x | loom |

| Position | S1 joins |
|---|---|
| on | x-y |

"""


@pytest.mark.parametrize(
    ("written", "change"),
    [
        ("B1 low", Change("low", "B1")), ("F1 loose", Change("ohms", "F1", ohms=0.5)), ("S1 x-y 5 ohm", Change("ohms", "S1", contact=("x", "y"), ohms=5)),
        ("K1 30-87 1 ohm", Change("ohms", "K1", contact=("30", "87"), ohms=1)), ("K1 coil open", Change("open", Terminal("K1", "85"))),
        ("L2 reversed", Change("reversed", "L2")), ("D1 reversed", Change("reversed", "D1")), ("D1 shorted", Change("ohms", "D1", ohms=0.01)),
        ("C1 shorted", Change("ohms", "C1", ohms=0.01)), ("U1 stuck on", Change("stuck-on", "U1")), ("U1.out stuck off", Change("stuck-off", "U1")),
        ("M1 half the ohms", Change("ohms", "M1", ohms=6)), ("H1 double the ohms", Change("ohms", "H1", ohms=16)), ("R1 double the ohms", Change("ohms", "R1", ohms=18)),
    ],
)  # fmt: skip
def test_words_of_faults_that_parts_have_by_themselves(written, change):
    read, found = circuit(KINDS, f"| Fault of | What is wrong |\n|---|---|\n| [C] | {written} |\n")
    assert told(read) == []
    assert found.faults[0].changes == (change,)


def test_every_fault_that_a_part_has_by_itself_can_be_written():
    _, found = circuit(KINDS)
    own = dict(own_faults(compile_net(found)))
    read, written = circuit(KINDS, "| Fault of | What is wrong |\n|---|---|\n" + "".join(f"| [C] | {words} |\n" for words in own))
    assert told(read) == []
    sided = {words: tuple(_sided(change) for change in changes) for words, changes in own.items()}
    assert {row.words: row.changes for row in written.faults} == sided
    assert {"low", "stuck-on", "stuck-off", "reversed", "seized", "blown"} <= {c.how for changes in own.values() for c in changes}


def _sided(change: Change) -> Change:
    """A plug's pin without side is its first side's."""
    sided = [replace(at, side="body") if isinstance(at, Terminal) and at.part == "J1" else at for at in (change.what, change.other)]
    return replace(change, what=sided[0], other=sided[1])


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ("M1 low", "`M1` can't be low: that is said of a battery"), ("L1 shorted", "`L1` can't be shorted: that is said of a diode or cell"),
        ("M1 reversed", "`M1` can't be reversed: that is said of a led or diode"), ("B1 stuck on", "`B1` can't be stuck on: that is said of an output"),
        ("W1 low", "`W1` can't be low: that is said of a battery"), ("J1.x low", "`J1.x` can't be low: that is said of a battery"),
        ("H1 half the ohms", "`H1` can't be half the ohms: that is said of a motor"), ("M1 coil open", "`M1` is a motor, which has no coil"),
        ("U1 stuck", "`U1 stuck` says no fault"), ("S1 x-y 5 V", "`S1 x-y 5 V` says no fault"), ("S1 x-y 0 ohm", "`0 ohm` has to be more than zero"),
    ],
)  # fmt: skip
def test_words_that_do_not_fit_a_part(written, message):
    read, _ = circuit(KINDS, f"| Fault of | What is wrong |\n|---|---|\n| [C] | {written} |\n")
    assert [(p.rule, p.message) for p in read.problems] == [("bad-value", message)]


def test_two_faults_joined():
    _, found = circuit(PARTS, WIRES, "| Fault of | What is wrong |\n|---|---|\n| [C] | W4 open; W7 open |\n| [C] | F7 blown |\n")
    assert [[c.what for c in f.changes] for f in found.faults] == [["W4", "W7"], ["F7"]]


@pytest.mark.parametrize(
    ("written", "rule", "marked"),
    [
        ("W9 open", "unknown-point", "W9"), ("J2.top open", "unknown-point", "top"),
        ("J2.tilt inside open", "unknown-point", "inside"), ("W4 broken", "bad-value", "W4 broken"),
        ("open", "bad-value", "open"), ("the wire is open", "bad-value", "the wire is open"), ("W4 60", "bad-value", "W4 60"),
        ("W4 60 V", "bad-value", "W4 60 V"), ("W4 0 ohm", "bad-value", "W4 0 ohm"), ("W4 open; W9 open", "unknown-point", "W9"),
        ("M1 blown", "bad-value", "M1 blown"), ("F7 seized", "bad-value", "F7 seized"), ("M1 unplugged", "bad-value", "M1 unplugged"),
        ("W4 seized", "bad-value", "W4 seized"), ("S1 feed-X open", "unknown-point", "X"),
        ("S9 feed-V open", "unknown-point", "S9"), ("W4 touches W9", "unknown-point", "W9"),
        ("W4 open, W7 open", "bad-value", "W4 open, W7 open"), ("W4 touches ground and W7", "bad-value", "W4 touches ground and W7"),
    ],
)  # fmt: skip
def test_faults_that_can_not_be_read(written, rule, marked):
    assert bad(PARTS, WIRES, f"| Fault of | What is wrong |\n|---|---|\n| [C] | {written} |\n") == [(rule, marked)]


def test_a_fault_without_words():
    row = "| [C] | |"
    assert bad(PARTS, f"| Fault of | What is wrong |\n|---|---|\n{row}\n") == [("bad-value", row)]


@pytest.mark.parametrize(
    ("table", "column", "good", "wrong"),
    [
        ("Fault of", "What is wrong", "C", "S"), ("Symptom of", "Shows as", "S", "C"),
    ],
)  # fmt: skip
def test_first_cells_name_nodes_of_one_kind(table, column, good, wrong):
    cell = "F7 blown" if table == "Fault of" else "up: M1 still"
    for written, problem in [
        (f"[{good}]", []), (f"[{wrong}]", [("wrong-kind", f"[{wrong}]")]), ("[Gone]", [("unknown-name", "[Gone]")]),
        ("words", [("bad-value", "words")]), ("", [("bad-value", "")]), (f"[{good}] [{good}]", [("bad-value", f"[{good}] [{good}]")]),
        (f"the [{good}]", [("bad-value", f"the [{good}]")]),
    ]:  # fmt: skip
        read, _ = circuit(PARTS, POSITIONS, f"| {table} | {column} |\n|---|---|\n| {written} | {cell} |\n")
        assert [(rule, words) for rule, _, words in told(read)] == problem


def test_symptoms():
    read, found = circuit(PARTS, POSITIONS, "| Symptom of | Shows as |\n|---|---|\n| [S] | up: M1 still; hold down: M1 slow, M1 down |\n")
    assert told(read) == []
    assert [s.shows for s in found.symptoms] == [(("up", (("M1", "still"),)), ("hold down", (("M1", "slow"), ("M1", "down"))))]


@pytest.mark.parametrize(
    ("written", "problem"),
    [
        ("M1 still", ("bad-value", "M1 still")), ("down: M1 still", ("unknown-point", "down")),
        ("up: M2 still", ("unknown-point", "M2")), ("up: M1 loud", ("bad-value", "M1 loud")), ("up: M1", ("bad-value", "M1")),
        ("up: M1 still; M1 up", ("bad-value", "M1 up")), ("up: M1 is still", ("bad-value", "M1 is still")),
    ],
)  # fmt: skip
def test_symptoms_that_can_not_be_read(written, problem):
    assert bad(PARTS, POSITIONS, f"| Symptom of | Shows as |\n|---|---|\n| [S] | {written} |\n") == [problem]


def reading(*rows: str) -> str:
    return "\n".join(["| Reading of | Position | Unplugged | Instrument | Red lead | Black lead |", "|---|---|---|---|---|---|", *rows, ""])


@pytest.mark.parametrize(
    ("row", "red", "black", "unplugged"),
    [
        ("| [T] | up | | test lamp | J2.tilt mirror | J2.common mirror |", Terminal("J2", "tilt", "mirror"), Terminal("J2", "common", "mirror"), ()),
        ("| [T] | up | J2 | voltmeter | B1.+ | B1.- |", Terminal("B1", "+"), Terminal("B1", "-"), ("J2",)),
        ("| [T] | rest | J2; J2 | ohmmeter | M1.a | M1.b |", Terminal("M1", "a"), Terminal("M1", "b"), ("J2", "J2")),
        ("| [T] | up | | LED lamp | J2.tilt | G1.p |", Terminal("J2", "tilt", "body"), Terminal("G1", "p"), ()),
        ("| [T] | up | | clamp | W4 | |", "W4", None, ()),
        ("| [T] | up | | clamp | F7 | |", "F7", None, ()),
        ("| [T] | up | | eye | M1 | |", "M1", None, ()),
    ],
)
def test_readings(row, red, black, unplugged):
    read, found = circuit(PARTS, WIRES, POSITIONS, reading(row))
    assert told(read) == []
    (got,) = found.readings
    assert (got.red, got.black, got.unplugged) == (red, black, unplugged)
    assert read.target(got.test).name == "T"


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ("| [C] | up | | eye | M1 | |", ("wrong-kind", "[C]")), ("| T | up | | eye | M1 | |", ("bad-value", "T")),
        ("| [T] | left | | eye | M1 | |", ("unknown-point", "left")), ("| [T] | up | M1 | eye | M1 | |", ("bad-value", "M1")),
        ("| [T] | up | J9 | eye | M1 | |", ("unknown-point", "J9")), ("| [T] | up | | ear | M1 | |", ("bad-value", "ear")),
        ("| [T] | up | | eye | M9 | |", ("unknown-point", "M9")), ("| [T] | up | | clamp | M1.a | |", ("unknown-point", "M1.a")),
        ("| [T] | up | | eye | M1 | G1.p |", ("bad-value", "G1.p")), ("| [T] | up | | voltmeter | B1.+ | |", ("bad-value", "")),
        ("| [T] | up | | voltmeter | B1.x | B1.- |", ("unknown-point", "x")), ("| [T] | up | | voltmeter | B1 | B1.- |", ("bad-value", "B1")),
        ("| [T] | up | | test lamp | J2.tilt left | G1.p |", ("unknown-point", "left")),
    ],
)  # fmt: skip
def test_readings_that_can_not_be_read(row, problem):
    assert bad(PARTS, WIRES, POSITIONS, reading(row)) == [problem]


def test_one_row_a_test_and_circuit():
    rows = ("| [T] | up | | eye | M1 | |", "| [U] | up | | eye | M1 | |", "| [T] | rest | | eye | M1 | |")
    assert bad(PARTS, POSITIONS, reading(*rows)) == [("bad-value", rows[2])]


def test_cavities():
    read, found = circuit(PARTS, "| Cavity of | J2 |\n|---|---|\n| tilt | 3 |\n| swing | A4 |\n| common | |\n")
    assert told(read) == []
    assert found.cavities == {Terminal("J2", "tilt"): "3", Terminal("J2", "swing"): "A4"}


@pytest.mark.parametrize(
    ("head", "pin", "problem"),
    [("J9", "tilt", ("unknown-point", "J9")), ("M1", "a", ("bad-value", "M1")), ("J2", "top", ("unknown-point", "top"))],
)
def test_cavities_that_can_not_be_read(head, pin, problem):
    assert bad(PARTS, f"| Cavity of | {head} |\n|---|---|\n| {pin} | 3 |\n") == [problem]


# Parts: each kind with its least values (the table of the page format).
LEAST = {
    "battery": ("+ -", "12.6 V"), "fuse": ("in out", "7.5 A"), "ground": ("p", ""), "splice": ("a b c", ""), "connector": ("1 2", "sides near far"),
    "switch": ("a b", ""), "limit switch": ("a b", ""), "relay": ("85 86 30 87 87a", "90 ohm, pulls at 7 V, drops at 3 V"),
    "motor": ("a b", "12 ohm, runs at 0.2 A"), "heater": ("a b", "7 ohm"), "resistor": ("a b", "470 ohm"), "lamp": ("a b", "12 V, 5 W"),
    "led": ("+ -", "3.4 V, series 470 ohm"), "diode": ("+ -", ""), "potentiometer": ("top wiper bottom", "5 kohm, at 50 %"),
    "cell": ("+ -", "1.2 V, 8 ohm"), "output": ("out", "0.1 ohm, limit 8 A"), "input": ("in", "10 kohm"),
}  # fmt: skip


def test_all_kinds_of_part_are_tried():
    assert LEAST.keys() == PART_KINDS.keys()


def part(kind: str, pins: str, values: str) -> str:
    return f"| Part | Kind | Pins | Values |\n|---|---|---|---|\n| X1 | {kind} | {pins} | {values} |\n"


@pytest.mark.parametrize("kind", LEAST)
def test_each_kind_of_part(kind):
    pins, values = LEAST[kind]
    read, found = circuit(part(kind, pins, values))
    assert told(read) == []
    assert found.parts["X1"].pins == tuple(pins.split())


@pytest.mark.parametrize("kind", [kind for kind, (_, values) in LEAST.items() if values])
def test_a_part_needs_its_values(kind):
    pins, values = LEAST[kind]
    row = f"| X1 | {kind} | {pins} |  |"
    assert bad(part(kind, pins, "")) == [("bad-value", row)]
    for left_out in values.split(", "):
        rest = ", ".join(v for v in values.split(", ") if v != left_out)
        if rest:
            assert bad(part(kind, pins, rest)) == [("bad-value", rest)]


DEFAULTS = [("battery", "inside", 0.02), ("ground", "ohms", 0.005), ("connector", "ohms", 0.005), ("switch", "contact", 0.03),
            ("relay", "contact", 0.03), ("diode", "volts", 0.7)]  # fmt: skip


@pytest.mark.parametrize(("kind", "value", "default"), DEFAULTS)
def test_values_that_have_a_default(kind, value, default):
    _, found = circuit(part(kind, *LEAST[kind]))
    assert found.parts["X1"].values[value].value == default


@pytest.mark.parametrize(
    ("kind", "values", "marked"),
    [
        ("motor", "12 ohm, runs at 0.2 A, 5 V", "5 V"), ("motor", "12 ohm, runs at 0.2 A, fast", "fast"),
        ("motor", "12 ohm, 13 ohm, runs at 0.2 A", "13 ohm"), ("motor", "-12 ohm, runs at 0.2 A", "-12 ohm"),
        ("motor", "12 ohm, runs at 0 A", "runs at 0 A"), ("motor", "12 ohms, runs at 0.2 A", "12 ohms"),
        ("motor", "12 ohm, runs at 0.2 A, b positive means up/down", "b positive means up/down"),
        ("motor", "12 ohm, runs at 0.2 A, a positive means up", "a positive means up"), ("connector", "sides one", "sides one"),
        ("connector", "sides one one", "sides one one"), ("output", "0.1 ohm, limit 8 A, rest high", "rest high"),
        ("fuse", "7.5", "7.5"), ("battery", "12.6 V; 20 mohm", "12.6 V; 20 mohm"),
    ],
)  # fmt: skip
def test_values_that_can_not_be_read(kind, values, marked):
    assert bad(part(kind, LEAST[kind][0], values)) == [("bad-value", marked)]


@pytest.mark.parametrize(
    ("kind", "pins"),
    [("motor", "a"), ("motor", "a b c"), ("switch", "a"), ("splice", "a"), ("fuse", "a a"), ("relay", "85 86 30"), ("ground", "p q"),
     ("connector", "1 2 1")],
)  # fmt: skip
def test_pins_that_a_part_can_not_have(kind, pins):
    assert bad(part(kind, pins, LEAST[kind][1])) == [("bad-value", pins)]


@pytest.mark.parametrize("kind", ["motor", "fuse", "battery", "ground", "led", "potentiometer"])
def test_a_part_without_pins_has_those_of_its_kind(kind):
    _, found = circuit(part(kind, "", LEAST[kind][1]))
    assert found.parts["X1"].pins == tuple(LEAST[kind][0].split())


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ("| 1X | fuse | in out | 5 A |", ("bad-value", "1X")), ("| X 1 | fuse | in out | 5 A |", ("bad-value", "X 1")),
        ("| X.1 | fuse | in out | 5 A |", ("bad-value", "X.1")), ("| | fuse | in out | 5 A |", ("bad-value", "")),
        ("| X1 | fuze | in out | 5 A |", ("bad-value", "fuze")), ("| X1 | | in out | 5 A |", ("bad-value", "")),
        ("| X1 | Fuse | in out | 5 A |", ("bad-value", "Fuse")), ("| X1 | fuse | in out |", ("bad-value", "| X1 | fuse | in out |")),
    ],
)  # fmt: skip
def test_parts_that_can_not_be_read(row, problem):
    assert bad("| Part | Kind | Pins | Values |\n|---|---|---|---|\n" + row + "\n") == [problem]


def test_a_part_twice():
    row = "| F7 | fuse | in out | 5 A |"
    assert bad(PARTS + row + "\n") == [("bad-value", "F7")]


# Wires.


@pytest.mark.parametrize("code", "BK BN RD OG YE GN BU VT GY WH PK GD TQ SR GNYE".split())
def test_colour_codes(code):
    _, found = circuit(PARTS, f"| Wire | From | To | Colour |\n|---|---|---|---|\n| W1 | B1.+ | F7.in | {code} |\n")
    assert "".join(found.wires["W1"].colour) == code


@pytest.mark.parametrize(("written", "codes"), [("WHBK", ("WH", "BK")), ("WH/BK", ("WH", "BK")), ("wh/bk", ("WH", "BK")), ("", ())])
def test_a_tracer_is_the_second_colour(written, codes):
    _, found = circuit(PARTS, f"| Wire | From | To | Colour |\n|---|---|---|---|\n| W1 | B1.+ | F7.in | {written} |\n")
    assert found.wires["W1"].colour == codes


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ("| W1 | B1 | F7.in | RD | 1 | 1 m | |", ("bad-value", "B1")), ("| W1 | B1.x | F7.in | RD | 1 | 1 m | |", ("unknown-point", "x")),
        ("| W1 | B9.+ | F7.in | RD | 1 | 1 m | |", ("unknown-point", "B9")), ("| W1 | B1.+ | | RD | 1 | 1 m | |", ("bad-value", "")),
        ("| W1 | J2.tilt door | F7.in | RD | 1 | 1 m | |", ("unknown-point", "door")),
        ("| W1 | B1.+ body | F7.in | RD | 1 | 1 m | |", ("unknown-point", "body")),
        ("| W1 | B1.+ | F7.in | red | 1 | 1 m | |", ("bad-value", "red")), ("| W1 | B1.+ | F7.in | RDBKWH | 1 | 1 m | |", ("bad-value", "RDBKWH")),
        ("| W1 | B1.+ | F7.in | RD | thin | 1 m | |", ("bad-value", "thin")), ("| W1 | B1.+ | F7.in | RD | 0 | 1 m | |", ("bad-value", "0")),
        ("| W1 | B1.+ | F7.in | RD | 1 | -1 m | |", ("bad-value", "-1 m")), ("| W1 | B1.+ | F7.in | RD | 1 | 1 ohm | |", ("bad-value", "1 ohm")),
        ("| W 1 | B1.+ | F7.in | RD | 1 | 1 m | |", ("bad-value", "W 1")), ("| F7 | B1.+ | F7.in | RD | 1 | 1 m | |", ("bad-value", "F7")),
        ("| W1 | B1.+ | F7.in |", ("bad-value", "| W1 | B1.+ | F7.in |")),
    ],
)  # fmt: skip
def test_wires_that_can_not_be_read(row, problem):
    table = "| Wire | From | To | Colour | mm2 | Length | Bundle |\n|---|---|---|---|---|---|---|\n"
    assert bad(PARTS, table + row + "\n") == [problem]


@pytest.mark.parametrize(("written", "metres"), [("3.5 m", 3.5), ("3.5", 3.5), ("35 cm", 0.35), ("350mm", 0.35)])
def test_lengths(written, metres):
    _, found = circuit(PARTS, f"| Wire | From | To | Length |\n|---|---|---|---|\n| W1 | B1.+ | F7.in | {written} |\n")
    assert found.wires["W1"].metres == pytest.approx(metres)


# Positions.


@pytest.mark.parametrize(
    ("header", "row", "problem"),
    [
        ("S1 joins", "feed-X", ("unknown-point", "X")), ("S1 joins", "feed V", ("bad-value", "feed V")),
        ("S1 joins", "feed-V; ground-H", ("bad-value", "feed-V; ground-H")), ("S1 joins", "feed-feed", ("bad-value", "feed-feed")),
        ("S9 joins", "feed-V", ("unknown-point", "S9")), ("M1 joins", "a-b", ("bad-value", "M1 joins")),
        ("U1 drives", "up", ("bad-value", "up")), ("S1 drives", "high", ("bad-value", "S1 drives")), ("S1", "feed-V", ("unknown-fact", "S1")),
        ("Must happen", "M1", ("bad-value", "M1")), ("Must happen", "M9 up", ("unknown-point", "M9")),
        ("Must happen", "M1 left", ("bad-value", "M1 left")), ("Must happen", "M1 up; M1 down", ("bad-value", "M1 up; M1 down")),
    ],
)  # fmt: skip
def test_positions_that_can_not_be_read(header, row, problem):
    found = bad(PARTS, f"| Position | {header} |\n|---|---|\n| x | {row} |\n")
    assert found == [problem]


@pytest.mark.parametrize("name", ["", "a:b", "a;b", "a,b", "rest"])
def test_names_that_a_position_can_not_have(name):
    assert bad(PARTS, f"| Position | S1 joins |\n|---|---|\n| rest | |\n| {name} | |\n") == [("bad-value", name)]


def test_a_pin_with_a_hyphen_in_its_name():
    parts = "| Part | Kind | Pins | Values |\n|---|---|---|---|\n| S1 | switch | a-b c | |\n"
    _, found = circuit(parts, "| Position | S1 joins |\n|---|---|\n| on | a-b-c |\n")
    assert found.positions["on"].joins == {"S1": (("a-b", "c"),)}


# Tables.


@pytest.mark.parametrize(("header", "column"), [("| Part | Kind | Pins | Values | Price |", "Price"), ("| Part | Knd | Pins | Values |", "Knd")])
def test_an_unknown_column(header, column):
    width = header.count("|") - 1
    row = "| F7 | fuse | in out | 5 A |" + (" x |" if width == 5 else "")
    assert bad(f"{header}\n|{'---|' * width}\n{row}\n") == [("unknown-fact", column)]


@pytest.mark.parametrize(
    ("header", "known"),
    [
        ("| Part | Kind |", True), ("| Wire | From |", True), ("| Position | S1 joins |", True), ("| Position | Must happen |", True),
        ("| Fault of | What is wrong |", True), ("| Symptom of | Shows as |", True), ("| Reading of | Position |", True),
        ("| Part | Number |", False), ("| Wire | Gauge |", False), ("| Position | Remark |", False),
    ],
)  # fmt: skip
@pytest.mark.parametrize("kind", ["Test", "Vehicle", "Function", "Lesson"])
def test_a_wiring_table_in_a_node_of_another_kind(kind, header, known):
    read = base(f"# {kind}: X\n\nWords.\n\n{header}\n|---|---|\n| a | b |\n")
    assert told(read) == ([("misplaced-table", 5, header)] if known else [])


def test_a_bad_circuit_leaves_the_others_sound():
    read = base("# Circuit: A\n\n" + PARTS + "\n# Circuit: B\n\n" + PARTS.replace("battery", "batery"))
    assert [c.sound for c in read.circuits.values()] == [True, False]


def test_a_circuit_without_tables_is_empty_and_sound():
    _, found = circuit("Words.\n")
    assert (found.parts, found.sound) == ({}, True)


def test_a_row_cut_off_makes_the_circuit_unsound():
    read, found = circuit(PARTS + "| G2 | ground | p | 5 mohm | extra |\n")
    assert told(read) == [("lost-text", 12, "extra")]
    assert not found.sound


def test_markup_in_cells_is_read_as_its_words():
    _, found = circuit("| Part | Kind | Pins | Values |\n|---|---|---|---|\n| `F7` | *fuse* | in out | **5 A** |\n")
    assert found.parts["F7"].values["amps"].value == 5


@pytest.mark.parametrize(
    ("written", "words", "values"),
    [
        ("0.1 ohm, limit 8 A, rest ground", {"rest": "ground"}, {}),
        ("0.1 ohm, limit 8 A, rest 5 V behind 10 kohm", {}, {"rest": Quantity(5, "V"), "rest ohms": Quantity(10_000, "ohm")}),
    ],
)
def test_what_an_output_does_at_rest(written, words, values):
    read, found = circuit(part("output", "out", written))
    assert told(read) == []
    assert found.parts["X1"].words == words
    assert {k: v for k, v in found.parts["X1"].values.items() if k.startswith("rest")} == values


@pytest.mark.parametrize("to", ["ground", "feed"])
def test_where_an_input_leads(to):
    read, found = circuit(part("input", "in", f"10 kohm to {to}"))
    assert told(read) == []
    assert (found.parts["X1"].values["ohms"].value, found.parts["X1"].words["to"]) == (10_000, to)


def test_only_what_has_contacts_can_have_one_open_and_only_pins_can_be_crossed():
    for written in ("M1 a-b open", "W4 crossed with W7", "J2.tilt crossed with M1.a"):
        found = bad(PARTS, WIRES, f"| Fault of | What is wrong |\n|---|---|\n| [C] | {written} |\n")
        assert [rule for rule, _ in found] == ["bad-value"], written


@pytest.mark.parametrize(
    ("table", "columns"),
    [
        ("| Part | Values |\n|---|---|\n| F7 | 5 A |", "| Part | Values |"), ("| Wire | From |\n|---|---|\n| W1 | B1.+ |", "| Wire | From |"),
    ],
)  # fmt: skip
def test_a_table_without_a_column_that_each_row_needs_is_told_once(table, columns):
    assert bad(PARTS, POSITIONS, table + "\n") == [("bad-value", columns)]


def test_what_hangs_on_a_part_that_can_not_be_read_is_not_told_again():
    parts = PARTS.replace("| motor | a b |", "| moter | a b |")
    assert bad(parts, WIRES, POSITIONS) == [("bad-value", "moter")]


@pytest.mark.parametrize(("written", "read_as"), [
    ("dimmed", "dimmed"), ("tinted", "tinted"), ("clear", "clear"), ("bright", "dimmed"), ("dim", "tinted"), ("dark", "clear"),
])  # fmt: skip
def test_a_dimming_cell_has_words_of_its_own_and_takes_a_lamps(written, read_as):
    """Earlier pages say of a cell what is said of a lamp."""
    row = f"| Symptom of | Shows as |\n|---|---|\n| [S] | on: C1 {written} |\n"
    read, found = circuit(KINDS, row)
    assert told(read) == []
    assert found.symptoms[0].shows == (("on", (("C1", read_as),)),)


@pytest.mark.parametrize(("written", "message"), [
    ("C1 hot", "`hot` is nothing that the cell `C1` shows"), ("L1 dimmed", "`dimmed` is nothing that the lamp `L1` shows"),
])  # fmt: skip
def test_a_cells_words_are_no_lamps(written, message):
    read, _ = circuit(KINDS, f"| Symptom of | Shows as |\n|---|---|\n| [S] | on: {written} |\n")
    assert [p.message for p in read.problems] == [message]
