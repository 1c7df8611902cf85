"""The drawing for narrow screens: 304 px wide whatever the circuit, no word on another, on a wire or on a line.

Held on the demonstration base's circuits, on circuits made by chance, and on one with very long names.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace

import pytest

from kb.netlist import Circuit, Terminal
from kb.read.base import read_base
from kb.site.drawing.narrow import WIDTH, draw_narrow
from kb.site.drawing.order import settled
from kb.site.drawing.plan import TWO_ENDED
from kb.site.drawing.shapes import Drawing, PartDrawing, WireDrawing
from kb.site.drawing.strip import fitted
from kb.site.drawing.tracks import tangled, tracks
from tests.conftest import ROOT, RUN_ALL
from tests.site.circuits import circuits
from tests.site.test_drawing_geometry import Box, body, corners, meet, near, state_label, wire_boxes


def longer(circuit: Circuit) -> Circuit:
    """The same circuit with names that fit in no line of the drawing. Invented."""
    part = {name: f"{name} of the extraordinarily long loom" for name in circuit.parts}
    pin = "innumerable-and-unpronounceable-"

    def at(terminal: Terminal) -> Terminal:
        return Terminal(part[terminal.part], pin + terminal.pin, terminal.side)

    parts = {part[n]: replace(p, name=part[n], pins=tuple(pin + x for x in p.pins)) for n, p in circuit.parts.items()}
    wires = {f"wire-{n * 6}": replace(w, name=f"wire-{n * 6}", start=at(w.start), end=at(w.end)) for n, w in circuit.wires.items()}
    return Circuit(circuit.node + "-longer", parts, wires, {}, cavities={at(t): c for t, c in circuit.cavities.items()})


MADE = list(circuits(240 if RUN_ALL else 64))
DEMO = list(read_base(ROOT / "content").circuits.values())
ALL = [pytest.param(c, id=c.node.rpartition("#")[2]) for c in (*DEMO, *MADE, longer(MADE[12]))]


@pytest.fixture(params=ALL, scope="module")
def drawn(request: pytest.FixtureRequest) -> tuple[Circuit, Drawing]:
    """Each circuit with its narrow drawing."""
    return request.param, draw_narrow(request.param)


def words(circuit: Circuit, drawing: Drawing) -> list[tuple[str, Box]]:
    """All words and plates with their boxes; each plate may show, and the widest state of each part."""
    found = [(f"rail {label.words}", label.box) for label in drawing.labels]
    for wire in drawing.wires:
        found += [(f"{wire.name} {label.words}", label.box) for label in wire.labels]
        found += [(f"{wire.name} plate", plate(drawing, *at)) for at in wire.plates]
    for part in drawing.parts:
        labels = [*part.labels, *([label] if (label := state_label(circuit, part)) else [])]
        found += [(f"{part.name} {label.words}", label.box) for label in labels]
        found += [(f"{part.name} cavity {p.cavity}", (p.x - 15, p.y - 15, p.x + 15, p.y + 15)) for p in part.pins if p.cavity]
    return found


def plate(drawing: Drawing, x: float, y: float) -> Box:
    """The plate of a voltage."""
    return x - drawing.plate / 2, y - 10, x + drawing.plate / 2, y + 10


def stretches(wire: WireDrawing, wide: float) -> Iterator[Box]:
    """The straight stretches of a wire, of a broken one the two stubs; where it meets its parts it ends without a cap."""
    pieces = (wire.points[:2], wire.points[2:]) if wire.broken else (wire.points,)
    for points in pieces:
        for left, top, right, foot in wire_boxes(points, wide):
            yield left, top, min(right, max(wire.points[0][0], left)), foot


def lines(drawing: Drawing) -> list[tuple[str, Box]]:
    """All lines of parts: leads, contacts, symbols, the edges of boxes; and the rails."""
    found = [("rail", (left, top, right, top + 10)) for left, right, top in drawing.rails]
    for part in drawing.parts:
        found += [(part.name, box) for path in (*part.leads, *(c.path for c in part.contacts)) for box in wire_boxes(corners(path), 3)]
        if part.kind in TWO_ENDED:
            found.append((part.name, body(part)))
        elif part.kind not in ("splice", "ground", "battery"):
            found += [(part.name, edge) for edge in edges(part.box)]
    return found


def edges(box: Box) -> list[Box]:
    """The four lines of a box."""
    left, top, right, foot = box
    corners_ = ((left, top), (right, top), (right, foot), (left, foot), (left, top))
    return list(wire_boxes(corners_, 3))


def overlapping(circuit: Circuit, drawing: Drawing) -> list[tuple[str, str]]:
    """Pairs of words on one another."""
    listed = [(f"{i} {name}", box) for i, (name, box) in enumerate(words(circuit, drawing))]
    return [(a, b) for a, b in near(listed, listed) if int(a.split()[0]) < int(b.split()[0])]


def along(drawing: Drawing) -> list[tuple[str, str]]:
    """Wires that run along one another, nearer than they are wide."""
    boxes = [(f"{wire.name} {i}", box) for wire in drawing.wires for i, box in enumerate(stretches(wire, drawing.live))]
    found = []
    for upright in (True, False):
        alike = [(name, box) for name, box in boxes if (abs(box[2] - box[0] - drawing.live) < 0.01) == upright]
        found += [(a, b) for a, b in near(alike, alike) if a < b]
    return found


def crossings(drawing: Drawing) -> tuple[int, int]:
    """How many crossings of two wires there are, and how many hops."""
    boxes = [(f"{wire.name} {i}", box) for wire in drawing.wires for i, box in enumerate(stretches(wire, 0.2))]
    flat = [(n, (b[0] + 1, b[1], b[2] - 1, b[3])) for n, b in boxes if b[3] - b[1] < 0.3]
    upright = [(n, (b[0], b[1] + 1, b[2], b[3] - 1)) for n, b in boxes if b[2] - b[0] < 0.3]
    met = [(a, b) for a, at in flat for b, other in upright if meet(at, other, 0.0)]
    return len(met), sum(wire.path.count("a") for wire in drawing.wires)


def test_it_is_as_wide_as_the_narrowest_phone_whatever_the_circuit(drawn):
    circuit, drawing = drawn
    assert drawing.width == WIDTH == 304
    boxes = [*words(circuit, drawing), *((p.name, p.box) for p in drawing.parts)]
    boxes += [(w.name, box) for w in drawing.wires for box in stretches(w, drawing.live)]
    assert [(n, b) for n, b in boxes if b[0] < 0 or b[1] < 0 or b[2] > WIDTH or b[3] > drawing.height] == []


def test_no_letter_is_smaller_than_13_px(drawn):
    _, drawing = drawn
    labels = [*drawing.labels, *(label for thing in (*drawing.wires, *drawing.parts) for label in thing.labels)]
    assert labels and min(label.size for label in labels) >= 13


def test_no_word_on_another(drawn):
    assert overlapping(*drawn) == []


def test_no_word_on_a_wire_or_a_line(drawn):
    circuit, drawing = drawn
    wires = [(w.name, box) for w in drawing.wires for box in stretches(w, drawing.live)]
    found = words(circuit, drawing)
    assert near(found, wires) == []
    assert [(a, b) for a, b in near(found, lines(drawing)) if a.split(" cavity ")[0] != b] == []


def test_no_part_on_another_and_no_wire_through_a_part(drawn):
    _, drawing = drawn
    parts = [(part.name, part.box) for part in drawing.parts]
    assert [(a, b) for a, b in near(parts, parts) if a < b] == []
    assert near([(w.name, box) for w in drawing.wires for box in stretches(w, 3)], parts) == []


def test_no_wire_along_another_and_every_crossing_hops(drawn):
    _, drawing = drawn
    assert along(drawing) == []
    count, hops = crossings(drawing)
    assert count == hops


def test_every_wire_ends_at_its_parts_and_every_part_stands_there(drawn):
    circuit, drawing = drawn
    assert sorted(w.name for w in drawing.wires) == sorted(circuit.wires)
    boxes = {p.name: p.box for p in drawing.parts}
    assert {name.partition(".")[0] for name in boxes} >= {n for n, p in circuit.parts.items() if p.kind not in ("battery", "ground")} - {""}
    for wire in drawing.wires:
        stated = circuit.wires[wire.name]
        for terminal, (x, y) in ((stated.start, wire.points[0]), (stated.end, wire.points[-1])):
            battery = circuit.parts[terminal.part].kind == "battery"
            box = boxes[f"{terminal.part}.{terminal.pin}" if battery else terminal.part]
            assert x == box[0] and box[1] <= y <= box[3], (wire.name, terminal)


def test_a_broken_wire_says_at_both_ends_where_it_goes_on(drawn):
    circuit, drawing = drawn
    for wire in drawing.wires:
        said = "".join(label.words for label in wire.labels if label.cls == "far").replace(" ", "")
        stated = circuit.wires[wire.name]
        for terminal in (stated.start, stated.end):
            assert (str(Terminal(terminal.part, terminal.pin)).replace(" ", "") in said) == bool(wire.broken)
        assert (len(wire.broken), "V" in wire.path) == ((2, False) if wire.broken else (0, True))


def test_arrows_stand_on_their_wire_clear_of_words_and_of_other_wires_arrows(drawn):
    circuit, drawing = drawn
    half, long = drawing.arrow
    heads = []
    for wire in drawing.wires:
        assert wire.arrows
        own = list(stretches(wire, 1))
        for a in wire.arrows:
            assert any(b[0] <= a.x <= b[2] and b[1] <= a.y <= b[3] for b in own), wire.name
            wide, high = (long / 2, half) if a.level else (half, long / 2)
            heads.append((wire.name, (a.x - wide, a.y - high, a.x + wide, a.y + high)))
    assert near(heads, words(circuit, drawing)) == []
    assert [(a, b) for a, b in near(heads, heads) if a < b] == []


def test_the_demonstrations_circuits_break_no_wire():
    assert [c.node for c in DEMO if any(w.broken for w in draw_narrow(c).wires)] == []


def test_the_same_circuit_is_drawn_alike_each_time():
    assert draw_narrow(MADE[40]) == draw_narrow(MADE[40])


# The instruments and the parts of the work.


def test_the_instruments_see_what_is_wrong():
    circuit = DEMO[3]
    drawing = draw_narrow(circuit)
    first, second, *rest = drawing.wires
    moved = replace(drawing, wires=(first, replace(second, points=first.points, labels=first.labels), *rest))
    assert overlapping(circuit, moved) and along(moved)
    flat = replace(drawing, wires=tuple(replace(w, path=w.path.replace("a", "l")) for w in drawing.wires))
    assert crossings(flat)[0] != crossings(flat)[1]
    part = next(p for p in drawing.parts if p.kind == "connector")
    label = replace(part.labels[0], x=part.box[0] - 4, y=part.box[1] + 6)
    wrong = replace(drawing, parts=(replace(part, labels=(label,)), *(p for p in drawing.parts if p is not part)))
    assert near(words(circuit, wrong), lines(wrong))


def chain(count: int) -> tuple[list[str], list[tuple[str, str]]]:
    """Names in a row, shuffled, and the edges from each to the next."""
    names = [f"p{i}" for i in range(count)]
    found = list(zip(names, names[1:], strict=False))
    random.Random(3).shuffle(names)
    return names, found


def test_a_chain_is_put_in_its_order():
    """One edge passes each gap: no order has less."""
    names, found = chain(12)
    order = settled(names, found, {name: int(name[1:]) for name in names}, ("p0", "p11"))
    assert order == [f"p{i}" for i in range(12)]


def test_first_and_last_stay_and_every_name_is_kept():
    names, found = chain(9)
    order = settled(names, found, dict.fromkeys(names, 1), ("p5", "p2"))
    assert (order[0], order[-1]) == ("p5", "p2") and sorted(order) == sorted(names)
    assert settled([], [], {}, ("", "")) == []


def passing(reaches: Sequence[tuple[int, int]], row: int) -> int:
    """How many reach over a row."""
    return sum(low <= row <= high for low, high in reaches)


@pytest.mark.parametrize("seed", range(40))
def test_tracks_are_shared_by_none_and_the_fewest_are_broken(seed):
    """Against trying all choices of wires to break, from the fewest up."""
    chance = random.Random(seed)
    ends = chance.sample(range(18), 18)
    reaches = {f"W{i}": (min(pair), max(pair)) for i, pair in enumerate(zip(ends[::2], ends[1::2], strict=True))}
    found = tracks(reaches, 3)
    for a, low in found.track.items():
        for b, other in found.track.items():
            apart = reaches[a][1] < reaches[b][0] or reaches[b][1] < reaches[a][0]
            assert a == b or low != other or apart
    assert max(found.track.values()) < found.count <= 3 and set(found.track) | found.broken == set(reaches)
    assert len(found.broken) == fewest(list(reaches.values()), 3)


def fewest(reaches: list[tuple[int, int]], most: int) -> int:
    """How few must go so that no row has more than `most`."""
    return min(
        bits.bit_count()
        for bits in range(2 ** len(reaches))
        if all(passing([r for i, r in enumerate(reaches) if not bits >> i & 1], row) <= most for row in range(18))
    )


def test_nested_wires_do_not_cross_and_overlapping_ones_do_once():
    assert tangled({"a": (0, 3), "b": (1, 2), "c": (4, 5)}) == 0
    assert tangled({"a": (0, 2), "b": (1, 3), "c": (2, 4)}) == 2
    assert tracks({"out": (0, 5), "in": (1, 2), "in2": (3, 4)}, 8).track == {"out": 1, "in": 0, "in2": 0}


def test_long_words_go_on_in_the_next_line():
    """B612 is 650 thousandths wide for each figure: two of 10 px are 13. (worked here)"""
    assert list(fitted("12 34", 10, 13)) == ["12", "34"]
    assert list(fitted("1234", 10, 13)) == ["12", "34"]
    assert list(fitted("1234", 10, 26)) == ["1234"] and list(fitted("", 10, 26)) == []
    assert list(fitted("12", 10, 1)) == ["1", "2"]
    circuit = longer(next(c for c in MADE if any(p.kind == "connector" for p in c.parts.values())))
    part = next(p for p in draw_narrow(circuit).parts if p.kind == "connector")
    assert name_of(part) in circuit.parts


def name_of(part: PartDrawing) -> str:
    """A part's name put together from its lines, which are broken between words."""
    return " ".join(label.words for label in part.labels if label.cls == "name")
