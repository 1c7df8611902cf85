"""Ranges over tolerance: the search against all corners, one by one; what steps at one end only. Values invented."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product

import pytest

from kb.circuit.ranges import Range, Ranged, ranges
from kb.circuit.ranges import ends as ends_of
from kb.circuit.survey import Survey
from kb.circuit.verdicts import Healthy, Reading
from kb.circuit.worlds import Known, World
from kb.model import ReadingRange
from kb.netlist import ReadingRow
from tests.circuit.glass import pair
from tests.circuit.tables import STILL, Case

B = "B1 | battery | + - | 12.6 V, 60 mohm"


@dataclass(frozen=True)
class Small:
    """A circuit of few enough values to try all corners; joins are wires between points."""

    name: str
    parts: str
    joins: str
    readings: tuple[str, ...]
    faults: tuple[str, ...] = ("",)
    positions: str = STILL

    def case(self) -> Case:
        wires = "\n".join(f"W{i} | {' | '.join(pair.split())} | 0.5 | 2 m" for i, pair in enumerate(self.joins.split(", "), 1))
        return Case(self.parts.replace("; ", "\n"), wires, self.positions, self.readings)


SMALL = (
    Small("divider", f"{B}; R1 | resistor | a b | 40 ohm; R2 | resistor | a b | 60 ohm", "B1.+ R1.a, R1.b R2.a, R2.b B1.-",
          ("on | | voltmeter | R2.a | R2.b", "on | | clamp | R1", "on | | ohmmeter | R2.a | B1.-"), ("", "W2 30 ohm", "B1 low", "W1 open")),
    Small("motor", f"{B}; F1 | fuse | in out | 5 A; M1 | motor | a b | 12 ohm, runs at 0.18 A, a positive means up/down",
          "B1.+ F1.in, F1.out M1.a, M1.b B1.-", ("on | | voltmeter | M1.a | M1.b", "on | | clamp | W2", "on | | eye | M1"),
          ("", "W3 40 ohm", "M1 seized", "M1 6 ohm", "W2 60 ohm", "W3 55 ohm")),
    Small("two motors", f"{B}; M1 | motor | a b | 12 ohm, runs at 0.18 A; M2 | motor | a b | 20 ohm, runs at 0.4 A",
          "B1.+ M1.a, M1.a M2.a, M1.b M2.b, M2.b B1.-", ("on | | voltmeter | M1.a | M1.b", "on | | eye | M2"), ("", "W4 14 ohm", "M1 seized")),
    Small("bridge", f"{B}; R1 | resistor | a b | 30 ohm; R2 | resistor | a b | 50 ohm; R3 | resistor | a b | 40 ohm; R4 | resistor | a b | 60 ohm",
          "B1.+ R1.a, R1.a R3.a, R1.b R2.a, R3.b R4.a, R2.b R4.b, R4.b B1.-",
          ("on | | voltmeter | R2.a | R4.a", "on | | clamp | W1"), ("", "R1 20 ohm", "W5 30 ohm")),
    Small("crossing", f"{B}; R1 | resistor | a b | 30 ohm; R2 | resistor | a b | 50 ohm; P1 | splice | x y z",
          "B1.+ R1.a, R1.b P1.x, P1.y R2.a, P1.z B1.-, R2.b B1.-", ("on | | clamp | R2", "on | | voltmeter | P1.x | P1.y"), ("", "W4 12 ohm", "P1.z open")),
    Small("filament", f"{B}; L1 | lamp | a b | 12 V, 21 W; L2 | lamp | a b | 12 V, 5 W", "B1.+ L1.a, L1.a L2.a, L1.b L2.b, L2.b B1.-",
          ("on | | eye | L1", "on | | clamp | W4", "on | | voltmeter | L2.a | L2.b"), ("", "W4 2 ohm", "W4 20 ohm", "W3 open")),
    Small("LED", f"{B}; L1 | led | + - | 2.2 V, 470 ohm; D1 | diode | + - | 0.7 V", "B1.+ D1.+, D1.- L1.+, L1.- B1.-",
          ("on | | eye | L1", "on | | voltmeter | L1.+ | L1.-"), ("", "W2 1 kohm", "W2 20 kohm", "L1 reversed")),
    Small("heater", f"{B}; F1 | fuse | in out | 10 A; H1 | heater | a b | 7.5 ohm; G1 | ground | p; G2 | ground | p",
          "B1.+ F1.in, F1.out H1.a, H1.b G1.p, B1.- G2.p", ("on | | eye | H1", "on | | voltmeter | H1.b | B1.-"), ("", "G1 3 ohm", "H1 15 ohm")),
    Small("relay", f"{B}; K1 | relay | 85 86 30 87 | 80 ohm, pulls at 8 V, drops at 4 V; R1 | resistor | a b | 10 ohm",
          "B1.+ K1.85, B1.+ K1.30, K1.86 B1.-, K1.87 R1.a, R1.b B1.-", ("on | | voltmeter | R1.a | R1.b", "on | | clamp | W3"),
          ("", "W3 40 ohm", "W3 30 ohm", "K1 1 ohm")),
    Small("fuse at its end", f"{B}; F1 | fuse | in out | 7.5 A; R1 | resistor | a b | 0.85 ohm", "B1.+ F1.in, F1.out R1.a, R1.b B1.-",
          ("on | | voltmeter | R1.a | R1.b", "on | | eye | F1", "on | | clamp | W1"), ("", "R1 0.45 ohm", "R1 3 ohm")),
    Small("output", f"{B}; U1 | output | out | 0.3 ohm, limit 1.6 A; H1 | heater | a b | 8 ohm; R1 | resistor | a b | 50 ohm; G1 | ground | p; G2 | ground | p",
          "U1.out H1.a, H1.b G1.p, B1.- G2.p, B1.+ R1.a, R1.b H1.b", ("on | | voltmeter | H1.a | G1.p", "on | | clamp | W1"),
          ("", "W2 open", "U1 stuck off", "H1 16 ohm"), "Position | U1 drives\non | high"),
    Small("cell", "U1 | output | out | 0.5 ohm, limit 0.5 A, rest 1.35 V behind 0.5 ohm; C1 | cell | + - | 1.3 V, 12 ohm; G1 | ground | p",
          "U1.out C1.+, C1.- G1.p", ("on | | voltmeter | C1.+ | C1.-", "on | | voltmeter | U1.out | G1.p"), ("", "W1 10 ohm", "W2 open")),
    Small("sensor", "U1 | output | out | 20 ohm, limit 0.05 A, rest 5 V behind 20 ohm; P1 | potentiometer | top wiper bottom | 4.7 kohm, at 40 %; I1 | input | in | 100 kohm to ground; G1 | ground | p",
          "U1.out P1.top, P1.wiper I1.in, P1.bottom G1.p", ("on | | voltmeter | I1.in | G1.p",), ("", "P1.wiper 40 kohm", "W3 open", "W1 5 kohm")),
    Small("plug out", f"{B}; J1 | connector | x y | 30 mohm, sides body door; R1 | resistor | a b | 9 ohm; R2 | resistor | a b | 15 ohm",
          "B1.+ J1.x body, J1.x door R1.a, R1.a R2.a, R1.b R2.b, R2.b B1.-".replace(" body", "").replace("J1.x door", "J1.y"),
          ("on | J1 | ohmmeter | R1.a | B1.-",), ("", "W4 5 ohm")),
    Small("test lamps", f"{B}; R1 | resistor | a b | 40 ohm; R2 | resistor | a b | 900 ohm", "B1.+ R1.a, R1.b R2.a, R2.b B1.-",
          ("on | | test lamp | R2.a | R2.b", "on | | LED lamp | R2.a | R2.b"), ("", "W1 12 ohm", "W1 9 kohm", "R1 90 ohm")),
    Small("pull-up", f"{B}; I1 | input | in | 3 kohm to feed; S1 | switch | a b | 30 mohm; R1 | resistor | a b | 500 ohm",
          "I1.in S1.a, S1.b R1.a, R1.b B1.-, B1.+ R1.b", ("on | | voltmeter | I1.in | B1.-", "open | | voltmeter | I1.in | B1.-"),
          ("W4 open", "W4 open; S1 2 kohm"), "Position | S1 joins\non | a-b\nopen |"),
)  # fmt: skip


@lru_cache
def searched(small: Small, words: str) -> tuple[Survey, Ranged]:
    """The search's ranges under a fault."""
    case = small.case()
    survey = Survey(case.circuit(*([words] if words and not case.own(words) else [])))
    seen = survey.see([(words, case.changes(words) if words else ())])
    return survey, ranges(survey, seen)[0]


def corners(survey: Survey, words: str, case: Case, place: int) -> list[Reading]:
    """What the instrument shows at each corner, as one finds the vehicle there."""
    bench, row = survey.bench, survey.circuit.readings[place]
    changes, positions = case.changes(words) if words else (), list(survey.circuit.positions.values())
    lots = [bytes(ends) for ends in product((1, 2), repeat=len(bench.tolerances))]
    came = bench.solve([World(p, changes, lot=lot) for lot in lots for p in positions])
    fuses, size = {fuse.name for fuse in bench.fuses}, len(positions)
    found = []
    for number, lot in enumerate(lots):
        out = frozenset().union(*(a.blown for a in came[number * size : (number + 1) * size])) & fuses
        found.append(World(survey.circuit.positions[row.position], changes, row.unplugged, out, lot=lot))
    asked = [replace(survey.reader.world(row, world), lot=world.lot) for world in found]
    main, bare = bench.solve(asked), bench.solve(found)
    judged = row.instrument == "eye" and survey.circuit.parts[str(row.red)].kind in ("motor", "heater")
    known: Known = {}
    bench.solve([w for lot in lots for w in Healthy.worlds(bench, lot)] if judged else [], known)
    return [
        survey.reader.reading(row, world, a, b, Healthy(bench, world.lot, known=known) if judged else None)
        for world, a, b in zip(asked, main, bare, strict=True)
        if not a.state and not b.state
    ]


def ends(readings: list[Reading]) -> tuple[float, float] | None:
    """The least and the most of the figures."""
    figures = [r.value for r in readings if r.value is not None and r.defined]
    return (min(figures), max(figures)) if figures else None


def test_enough_circuits_are_small_enough():
    sizes = [len(searched(small, small.faults[0])[0].bench.tolerances) for small in SMALL]
    assert len(SMALL) >= 12
    assert max(sizes) <= 12
    assert max(sizes) >= 10


@dataclass(frozen=True)
class Held:
    """A reading's range against all corners."""

    words: str
    row: ReadingRow
    range_: Range
    every: list[Reading]


def held(small: Small) -> Iterator[Held]:
    """Each reading under each fault."""
    for words in small.faults:
        survey, found = searched(small, words)
        for place, row in enumerate(survey.circuit.readings):
            range_ = found.readings[place]
            assert range_ is not None
            yield Held(words, row, range_, corners(survey, words, small.case(), place))


@pytest.mark.parametrize("small", SMALL, ids=lambda small: small.name)
def test_the_search_finds_what_all_corners_give(small):
    """The same ends and words; where something acts at one end only, each word and no end beyond."""
    for one in held(small):
        told, every = (one.words, one.row.instrument, one.row.red), ends(one.every)
        assert {r.verdict for r in one.every if r.verdict} <= set(one.range_.words), told
        if one.range_.steps and every and one.range_.value:
            assert every[0] == pytest.approx(one.range_.value[0], rel=1e-5, abs=1e-7), told
            assert every[1] == pytest.approx(one.range_.value[1], rel=0.2), told
            continue
        assert one.range_.value == (pytest.approx(every, rel=1e-5, abs=1e-7) if every else None), told
        if one.range_.share:
            shares = [r.value / r.supply for r in one.every if r.value is not None]
            assert one.range_.share == pytest.approx((min(shares), max(shares)), rel=1e-5, abs=1e-7), told


def ranged(case: Case, words: str = "", place: int = 0) -> Range:
    """A reading's range."""
    survey = Survey(case.circuit(*([words] if words else [])))
    found = ranges(survey, survey.see([(words, case.changes(words) if words else ())]))[0].readings[place]
    assert found is not None
    return found


def test_a_fuse_that_blows_at_one_end_is_named():
    """12.6 V on 0.85 ohm behind a fuse of 7.5 A: 1.8 times its rating, more than twice at the high end."""
    whole, short, small = (searched(SMALL[9], words)[1] for words in ("", "R1 0.45 ohm", "R1 3 ohm"))
    assert (whole.blows, whole.saved) == (("F1",), ())
    assert (short.blows, short.saved) == ((), ("F1",))
    assert (small.blows, small.saved) == ((), ())
    assert whole.readings[1].words == ("whole", "blown")
    assert whole.readings[0].steps


def test_what_a_fault_states_has_no_tolerance():
    case = Case("R1 | resistor | a b | 10 ohm", "W1 | R1.a | R1.b", readings=("on | | ohmmeter | R1.a | R1.b",))
    assert ranged(case, "W1 1 kohm; R1 2 ohm").value == pytest.approx((1.996, 1.996), rel=1e-3)
    assert ranged(case, "W1 open").value == pytest.approx((8, 12), rel=1e-6)


def test_figures_beside_ol():
    """8.4 Mohm is shown; 20 % more is too much for the instrument, which shows OL from 10 Mohm on."""
    case = Case("R1 | resistor | a b | 8.4 Mohm", "W1 | R1.a | R1.b", readings=("on | | ohmmeter | R1.a | R1.b",))
    found = ranged(case, "W1 open")
    assert found.words == ("OL",)
    assert ends_of(found) == (pytest.approx(6.72e6, rel=1e-6), None)


def test_a_motor_that_may_turn_either_way_says_so():
    """A bridge near its balance: 25 against 24.5 ohm."""
    parts = "B1 | battery | + - | 12 V\n" + "\n".join(f"R{i} | resistor | a b | {ohms} ohm" for i, ohms in enumerate((25, 25, 24, 25)))
    case = Case(f"{parts}\nM1 | motor | a b | 12 ohm, runs at 0.02 A, a positive means up/down",
                "W1 | B1.+ | R0.a\nW2 | R0.b | R1.a\nW3 | R1.b | B1.-\nW4 | B1.+ | R2.a\nW5 | R2.b | R3.a\nW6 | R3.b | B1.-\nW7 | R0.b | M1.a\nW8 | R2.b | M1.b",
                readings=("on | | eye | M1",))  # fmt: skip
    found = ranged(case)
    assert found.directions == ("down", "up")
    assert found.words == ("moves", "slow", "still")


def test_words_between_the_ends_are_met_too():
    """From dark to bright an eye meets dim; where something acts at one end only it needn't."""
    dark, bright = (Reading(None, "", word) for word in ("dark", "bright"))
    assert Range((bright, dark)).words == ("bright", "dim", "dark")
    assert Range((dark, bright), steps=True).words == ("bright", "dark")
    assert Range((Reading(None, "ohm", "undefined", defined=False),)).words == ("undefined",)


@pytest.mark.parametrize(("wanted", "met"), [
    (ReadingRange(low=11, unit="V"), True), (ReadingRange(low=12, unit="V"), False), (ReadingRange(high=9, unit="V"), False),
    (ReadingRange(low=10.2, high=10.4, unit="V"), True), (ReadingRange(low=10, high=11, unit="ohm"), False),
    (ReadingRange(low=0.9, unit="%", relative="percent"), True), (ReadingRange(low=0.95, unit="%", relative="percent"), False),
    (ReadingRange(high=0.5, unit="V", relative="within"), True), (ReadingRange(high=0.2, unit="V", relative="within"), False),
    (ReadingRange(word="bright"), False),
])  # fmt: skip
def test_what_lies_between_the_ends(wanted, met):
    read = (Reading(10.0, "V", None, supply=12.0), Reading(12.0, "V", None, supply=12.6))
    found = Range(read, (10.0, 12.0), (0.85, 0.94), (-1.5, -0.4))
    assert found.between(wanted) == met
    assert not replace(found, steps=True).between(wanted)


def test_amperes_are_judged_by_their_size():
    read = (Reading(-0.3, "A", None), Reading(0.1, "A", None))
    assert Range(read, (-0.3, 0.1)).between(ReadingRange(low=0.25, high=0.4, unit="A"))
    assert Range(read, (-0.3, 0.1)).between(ReadingRange(high=0.05, unit="A"))
    assert not Range(read[:1], (-0.3, -0.2)).between(ReadingRange(high=0.1, unit="A"))


def test_a_motors_range_is_told_by_its_speed():
    """Behind 20 ohm it is near the limit of slow: judged by what the same motor does in the whole circuit."""
    case = pair("up | | eye | M1", "up | | voltmeter | M1.a | M1.b")
    assert ranged(case).words == ("moves",)
    assert ranged(case, "W4 21 ohm").words == ("moves", "slow")
    assert ranged(case, "W4 60 ohm").words[-1] == "still"
    assert ranged(case, "W4 open").words == ("still",)
