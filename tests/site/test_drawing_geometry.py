"""No word of a drawing on another word, on a wire or on a part; no wire through a part or along another wire.

Boxes are computed from the font's own widths. Held on the demonstration base's circuits and on circuits made by
chance; each instrument is also shown a drawing that is wrong.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from types import SimpleNamespace

import pytest

from kb.netlist import Circuit
from kb.read.base import read_base
from kb.site.drawing.channel import Run, Tip, route
from kb.site.drawing.layout import HOP, TRACK, draw
from kb.site.drawing.metrics import width
from kb.site.drawing.plan import PITCH, SMALL, states
from kb.site.drawing.shapes import Drawing, Label, PartDrawing
from kb.site.render import environment
from tests.conftest import ROOT, RUN_ALL
from tests.site.circuits import circuits

Box = tuple[float, float, float, float]
LIVE = 13  # px of a wire that carries current, with its casing
MADE = list(circuits(240 if RUN_ALL else 64))
DEMO = list(read_base(ROOT / "content").circuits.values())
ALL = [pytest.param(c, id=c.node.rpartition("#")[2]) for c in (*DEMO, *MADE)]


def meet(a: Box, b: Box, slack: float = 0.5) -> bool:
    """True where two boxes share more than an edge."""
    return a[0] < b[2] - slack and b[0] < a[2] - slack and a[1] < b[3] - slack and b[1] < a[3] - slack


def near(first: Sequence[tuple[str, Box]], second: Sequence[tuple[str, Box]], slack: float = 0.5) -> list[tuple[str, str]]:
    """Names of boxes of two lists that meet, found by squares of 160 px."""
    squares: dict[tuple[int, int], list[tuple[str, Box]]] = defaultdict(list)
    for item in second:
        for square in covered(item[1]):
            squares[square].append(item)
    found = (
        (name, other) for name, box in first for square in covered(box) for other, at in squares[square] if meet(box, at, slack)
    )
    return list(dict.fromkeys(found))


def covered(box: Box) -> Iterator[tuple[int, int]]:
    """The squares that a box touches."""
    for x in range(int(box[0] // 160), int(box[2] // 160) + 1):
        for y in range(int(box[1] // 160), int(box[3] // 160) + 1):
            yield x, y


def wire_boxes(points: Sequence[tuple[float, float]], wide: float = LIVE) -> Iterator[Box]:
    """The straight stretches of a way, as wide as they are drawn."""
    half = wide / 2
    for (x, y), (x2, y2) in zip(points, points[1:], strict=False):
        if x != x2:
            yield min(x, x2) - half, y - half, max(x, x2) + half, y + half
        elif y != y2:
            yield x - half, min(y, y2), x + half, max(y, y2)


def plate(x: float, y: float) -> Box:
    """The plate of a voltage."""
    return x - 34, y - 10, x + 34, y + 10


def state_label(circuit: Circuit, part: PartDrawing) -> Label | None:
    """The widest word for what a part does, in its place."""
    found = circuit.parts.get(part.name)
    words = states(found) if found else ()
    widest = max(words, key=lambda word: width(word, SMALL), default="")
    return Label(widest, *part.state, SMALL) if widest else None


def words(circuit: Circuit, drawing: Drawing) -> list[tuple[str, Box]]:
    """All words with their boxes; plates too, since each may show."""
    labels = [("rail " + label.words, label.box) for label in drawing.labels]
    for wire in drawing.wires:
        labels += [(f"{wire.name} {label.words}", label.box) for label in wire.labels]
        labels += [(f"{wire.name} plate {end}", plate(*at)) for end, at in enumerate(wire.plates)]
    for part in drawing.parts:
        found = [*part.labels, *([label] if (label := state_label(circuit, part)) else [])]
        labels += [(f"{part.name} {label.words}", label.box) for label in found]
    return labels


def body(part: PartDrawing) -> Box:
    """What a part covers: its box, or for an open one its symbol."""
    if part.kind in ("motor", "lamp", "led", "diode", "heater", "resistor", "cell", "fuse"):
        x, y = part.centre
        wide, high = (30, 22) if part.kind == "motor" else (26, 24)
        return x - wide, y - high, x + wide, y + high
    return part.box


def overlapping(circuit: Circuit, drawing: Drawing) -> list[tuple[str, str]]:
    """Pairs of words on one another."""
    listed = [(f"{i} {name}", box) for i, (name, box) in enumerate(words(circuit, drawing))]
    return [(a, b) for a, b in near(listed, listed) if int(a.split()[0]) < int(b.split()[0])]


def words_on_wires(circuit: Circuit, drawing: Drawing) -> list[tuple[str, str]]:
    """Words under a wire that carries current; a plate stands on its own wire's end."""
    wires = [(wire.name, box) for wire in drawing.wires for box in wire_boxes(wire.points)]
    return [(a, b) for a, b in near(words(circuit, drawing), wires) if not a.startswith(f"{b} plate")]


def words_on_parts(circuit: Circuit, drawing: Drawing) -> list[tuple[str, str]]:
    """Words on another part, or on their own part's lines."""
    others = near(words(circuit, drawing), [(part.name, body(part)) for part in drawing.parts])
    found = [(a, b) for a, b in others if a.split()[0] not in (b, b.partition(".")[0])]
    for part in drawing.parts:
        lines = [*part.leads, *(c.path for c in part.contacts)]
        labels = [*part.labels, *([label] if (label := state_label(circuit, part)) else [])]
        boxes = [b for line in lines for b in wire_boxes(corners(line), 3)]
        boxes += [plate_of for pin in part.pins for a, b, y in pin.bars for plate_of in [(a - 5, y - 3, b + 5, y + 3)]]
        boxes += [(p.x - 15, p.y - 15, p.x + 15, p.y + 15) for p in part.pins if part.kind == "connector" and p.cavity]
        found += [(f"{part.name} {label.words}", "line") for label in labels for b in boxes if meet(label.box, b)]
    return found


def corners(path: str) -> list[tuple[float, float]]:
    """The corners of a path of M, L, H, V and h."""
    x = y = 0.0
    found = []
    letters = "MLHVh"
    for command in "".join(f" {c} " if c in letters else c for c in path).split(" "):
        if command in letters and command:
            kind, numbers = command, []
            continue
        if not command:
            continue
        numbers.append(float(command))
        if kind in "ML" and len(numbers) == 2:
            x, y = numbers
        elif kind == "H":
            x = numbers[0]
        elif kind == "h":
            x += numbers[0]
        elif kind == "V":
            y = numbers[0]
        else:
            continue
        found.append((x, y))
    return found


def wires_on_parts(drawing: Drawing) -> list[tuple[str, str]]:
    """Wires through a part."""
    wires = [(wire.name, box) for wire in drawing.wires for box in wire_boxes(wire.points)]
    return near(wires, [(part.name, body(part)) for part in drawing.parts], 1.0)


def along(drawing: Drawing) -> list[tuple[str, str]]:
    """Wires that run along one another, nearer than they are wide."""
    boxes = [(wire.name, box) for wire in drawing.wires for box in wire_boxes(wire.points)]
    found = []
    for upright in (True, False):
        alike = [(name, box) for name, box in boxes if (box[2] - box[0] == LIVE) == upright]
        found += [(a, b) for a, b in near(alike, alike) if a < b]
    return found


def crossings(drawing: Drawing) -> tuple[int, int]:
    """How many crossings of two wires there are, and how many hops."""
    flat, upright = [], []
    for wire in drawing.wires:
        for i, ((x, y), (x2, y2)) in enumerate(zip(wire.points, wire.points[1:], strict=False)):
            if x != x2:
                flat.append((f"{wire.name}-{i}", (min(x, x2) + 1, y - 0.1, max(x, x2) - 1, y + 0.1)))
            else:
                upright.append((f"{wire.name}-{i}", (x - 0.1, min(y, y2) + 1, x + 0.1, max(y, y2) - 1)))
    return len(near(flat, upright, 0.0)), sum(wire.path.count("a") for wire in drawing.wires)


@pytest.fixture(params=ALL, scope="module")
def drawn(request: pytest.FixtureRequest) -> tuple[Circuit, Drawing]:
    """Each circuit with its drawing."""
    return request.param, draw(request.param)


def test_there_are_enough_circuits_of_every_kind_and_size():
    assert len(MADE) >= 60 and len(DEMO) >= 4
    assert {len(c.parts) for c in MADE} >= {4, 60}
    assert len({part.kind for c in MADE for part in c.parts.values()}) == 18


def test_no_word_on_another(drawn):
    assert overlapping(*drawn) == []


def test_no_word_on_a_wire(drawn):
    assert words_on_wires(*drawn) == []


def test_no_word_on_a_part(drawn):
    assert words_on_parts(*drawn) == []


def test_no_wire_through_a_part(drawn):
    assert wires_on_parts(drawn[1]) == []


def test_no_part_on_another(drawn):
    boxes = [(part.name, part.box) for part in drawn[1].parts]
    assert [(a, b) for (a, box), (b, other) in combinations(boxes, 2) if meet(box, other)] == []


def test_no_wire_along_another(drawn):
    assert along(drawn[1]) == []


def test_every_crossing_hops(drawn):
    count, hops = crossings(drawn[1])
    assert hops == count


def test_everything_lies_within_the_drawing(drawn):
    circuit, drawing = drawn
    edge = (0.0, 0.0, drawing.width, drawing.height)
    boxes = [*words(circuit, drawing), *((p.name, p.box) for p in drawing.parts)]
    boxes += [(w.name, box) for w in drawing.wires for box in wire_boxes(w.points)]
    out = [(n, b) for n, b in boxes if b[0] < edge[0] or b[1] < edge[1] or b[2] > edge[2] or b[3] > edge[3]]
    assert out == []


def test_every_wire_and_part_is_drawn_once_and_wires_end_at_their_pins(drawn):
    circuit, drawing = drawn
    assert sorted(w.name for w in drawing.wires) == sorted(circuit.wires)
    assert {p.name.partition(".")[0] for p in drawing.parts} >= {n for n, p in circuit.parts.items() if p.kind != "battery"}
    boxes = {p.name: p.box for p in drawing.parts}
    for wire in drawing.wires:
        stated = circuit.wires[wire.name]
        for terminal, (x, y) in ((stated.start, wire.points[0]), (stated.end, wire.points[-1])):
            battery = circuit.parts[terminal.part].kind == "battery"
            box = boxes.get(f"{terminal.part}.{terminal.pin}" if battery else terminal.part)
            if box:
                assert box[0] <= x <= box[2] and min(abs(y - box[1]), abs(y - box[3])) < 0.01, wire.name
            else:
                assert battery and any(left <= x <= right and abs(y - top - 10) < 0.01 for left, right, top in drawing.rails)


def test_arrows_keep_clear_of_parts_and_plates(drawn):
    _, drawing = drawn
    arrows = [(w.name, (a.x - 8, a.y - 9, a.x + 8, a.y + 9)) for w in drawing.wires for a in w.arrows]
    assert near(arrows, [(wire.name, plate(*at)) for wire in drawing.wires for at in wire.plates]) == []
    assert near(arrows, [(part.name, body(part)) for part in drawing.parts]) == []


# The instruments themselves.


def test_the_instruments_see_what_is_wrong():
    circuit = next(c for c in DEMO if any(p.kind == "switch" for p in c.parts.values()))
    drawing = draw(circuit)
    first, second = drawing.wires[0], drawing.wires[1]
    moved = replace(second, labels=first.labels, points=first.points)
    wrong = replace(drawing, wires=(first, moved, *drawing.wires[2:]))
    assert overlapping(circuit, wrong) and along(wrong)
    x, y = next(p.centre for p in drawing.parts if p.kind == "switch")
    through = replace(first, points=((x, 0.0), (x, drawing.height)), labels=(Label("GN", x, y, 14),))
    wrong = replace(drawing, wires=(through, *drawing.wires[1:]))
    assert wires_on_parts(wrong) and words_on_wires(circuit, wrong) and words_on_parts(circuit, wrong)
    flat = replace(drawing, wires=tuple(replace(w, path=w.path.replace("a", "l")) for w in drawing.wires))
    assert crossings(flat)[0] != crossings(flat)[1]


def test_hops_fit_between_tracks_and_columns():
    """A hop and half a live wire on it stay clear of the track above, and of a hop at the next half column."""
    assert HOP + LIVE / 2 + LIVE / 2 < TRACK
    assert 2 * HOP + LIVE <= PITCH / 2


def test_widths_are_the_fonts_own():
    fonttools = pytest.importorskip("fontTools.ttLib", reason="fonttools is absent")
    for weight in (400, 700):
        font = fonttools.TTFont(ROOT / f"templates/static/fonts/b612-{weight}.woff2")
        letters, scale = font.getBestCmap(), font["head"].unitsPerEm
        for code in range(32, 127):
            assert width(chr(code), 1000) == pytest.approx(1000 * font["hmtx"][letters[code]][0] / scale, abs=0.6), chr(code)


def test_a_wire_above_another_takes_the_higher_track_and_a_circle_is_stepped():
    """Two wires that change places: each would need the higher track. (worked here)"""
    a, b = (Run(Tip(0, True, "a"), Tip(1, False, "a2")), Run(Tip(1, True, "b"), Tip(0, False, "b2")))
    corners_, tracks = route([a, b])
    assert sorted(len(c) for c in corners_) == [2, 4] and tracks == 3
    straight, none = route([Run(Tip(3, True, "a"), Tip(3, False, "b"))])
    assert (straight, none) == ([()], 0)
    first, second = route([Run(Tip(0, True, "a"), Tip(2, False, "b")), Run(Tip(2, True, "c"), Tip(4, False, "d"))])[0]
    assert first[0][1] > second[0][1]  # the second's upper end stands above the first's lower end


@pytest.mark.parametrize("turned", [0, 90, 180, 270])
def test_rays_of_an_led_point_away_from_the_words_at_its_right(turned):
    symbol = environment().get_template("wiring.html.j2").module.symbol
    drawn = str(symbol(SimpleNamespace(kind="led", turned=turned), "0", "0"))
    path = re.search(r'class="rays" d="([^"]+)"', drawn)
    assert path and (f"rotate({turned})" in drawn) == (turned > 0)
    strokes = re.findall(r"M(-?\d+)(-\d+|\s\d+)l(-?\d+)(-\d+)", path[1])
    ends = [(float(x) + dx, float(y) + dy) for x, y, *to in strokes for dx, dy in [(0, 0), tuple(map(float, to))]]
    across, down = {0: (1, 0), 90: (0, -1), 180: (-1, 0), 270: (0, 1)}[turned]
    assert len(ends) == 4
    assert all(across * x + down * y <= 17 for x, y in ends)  # the symbol itself is 15 wide
