"""A circuit's drawing for narrow screens: its parts one below the other, its wires in tracks beside them.

Rail 30 lies on top, each ground on a piece of rail 31 of its own. Where more wires pass a row than there are
tracks, the longest are broken, and both ends say where the wire goes on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from kb.netlist import Circuit
from kb.site.drawing.layout import hops
from kb.site.drawing.order import settled
from kb.site.drawing.plan import NAME, End, Item, Pin, Plan
from kb.site.drawing.ranks import FOOT, ends
from kb.site.drawing.shapes import Arrow, Drawing, Label, WireDrawing, number
from kb.site.drawing.strip import PLATE, RAIL, Frame, Strip, drawing_of, strip
from kb.site.drawing.tracks import Reach, Tracks, tangled, tracks
from kb.site.wiring import paint

WIDTH = 304  # px: a screen of 320 less its margins
LIVE = 10  # px of a wire that carries current, with its outline
MOST, BROKEN_MOST = 8, 5  # tracks, and where some wires are broken
STUB = 30  # px that a broken wire shows of itself
EDGE, NEAR = 13.0, 17.0  # px from the drawing's edge to the last track, from the first track to the parts
ROOM = 119.0  # px that tracks may take
PITCH = 20.0
GAP = 14
SWEEPS = 6
ARROW = (6, 12)  # half the width and the height of an arrowhead
CLEAR = 22  # px of a track that it needs
APART = 420  # px between a wire's arrowheads


def draw_narrow(circuit: Circuit) -> Drawing:
    """Lay a circuit out in a width of 304 px, however large it is."""
    return _Narrow(circuit).drawing()


@dataclass(frozen=True, slots=True)
class _Way:
    """A wire's ends and its track (None: broken)."""

    name: str
    y: tuple[float, float]
    x: float | None


class _Narrow:
    def __init__(self, circuit: Circuit) -> None:
        self.circuit, self.plan = circuit, Plan(circuit)
        self.ends = {name: ends(circuit, wire) for name, wire in circuit.wires.items()}
        self.items = self._order()
        self._order_ends()
        self.tracks = self._tracks()
        stub = STUB if self.tracks.broken else 0
        room = ROOM - EDGE - NEAR - stub
        self.pitch = min(PITCH, room / max(self.tracks.count - 1, 1))
        self.near = NEAR + stub
        left = EDGE + self.pitch * max(self.tracks.count - 1, 0) + self.near
        self.frame = Frame(left, WIDTH - 6)
        self.strips = self._stack()

    # What stands below what.

    def _order(self) -> list[Item]:
        """All parts but poles that no wire hangs on, from rail 30 down."""
        used = [item for item in self.plan.items.values() if _ends_of(item) or item.part and item.part.kind not in FOOT]
        edges = [(self.plan.item(a).name, self.plan.item(b).name) for a, b in self.ends.values()]
        plus = [i.name for i in used if i.row == 0]
        foot = [i.name for i in used if i.row == self.plan.ranks.last]
        minus = [name for name in foot if self.plan.items[name].part.kind == "battery"]  # type: ignore[union-attr]
        fixed = next(iter(plus), ""), next(iter([*minus, *foot]), "")
        names = settled([i.name for i in used], edges, {i.name: i.row for i in used}, fixed)
        return [self.plan.items[name] for name in names]

    def _order_ends(self) -> None:
        """Order the pins of all parts, and the wires of each pin, so that few wires must cross."""
        best, kept = tangled(self._reaches()), _state(self.items)
        for _ in range(SWEEPS):
            for item in self.items:
                self._order_pins(item)
            if (now := tangled(self._reaches())) < best:
                best, kept = now, _state(self.items)
        for item, pins in zip(self.items, kept, strict=True):
            item.pins = pins

    def _order_pins(self, item: Item) -> None:
        """What goes up stands above what goes down, and each before what goes less far down."""
        place = self._rows()
        here = min((place[end] for end in _ends_of(item)), default=0)
        keys = {end: (place[_other(end)] > here, -place[_other(end)]) for end in _ends_of(item)}
        for pin in item.pins:
            pin.top.sort(key=lambda end: keys[end])
            pin.foot.sort(key=lambda end: keys[end])
        item.pins.sort(key=lambda pin: min((keys[end] for end in (*pin.top, *pin.foot)), default=(True, 0)))

    def _rows(self) -> Mapping[End, int]:
        """The number of each wire end's row, from the top."""
        return {end: i for i, end in enumerate(end for item in self.items for end in _ends_of(item))}

    def _reaches(self) -> Mapping[str, Reach]:
        place = self._rows()
        pairs = {name: (place[name, 0], place[name, 1]) for name in self.circuit.wires}
        return {name: (min(pair), max(pair)) for name, pair in pairs.items()}

    def _tracks(self) -> Tracks:
        reaches = self._reaches()
        found = tracks(reaches, MOST)
        return tracks(reaches, BROKEN_MOST) if found.broken else found

    def _stack(self) -> list[Strip]:
        far = {(name, i): str(self.ends[name][1 - i]) for name in self.tracks.broken for i in (0, 1)}
        made, y = [], 8.0
        for item in self.items:
            made.append(strip(self.circuit, item, self.frame, y, far))
            y = made[-1].bottom + GAP
        return made

    # Shapes.

    def drawing(self) -> Drawing:
        """Everything in its place."""
        rows = {end: row for made in self.strips for end, row in made.rows.items()}
        ways = [self._way(name, rows[name, 0].y, rows[name, 1].y) for name in self.circuit.wires]
        wires = [self._wire(way, ways, (*rows[way.name, 0].labels, *rows[way.name, 1].labels)) for way in ways]
        wires.sort(key=lambda wire: self.tracks.track.get(wire.name, -1))  # the outer one hops over the inner
        parts = tuple(
            drawing_of(item, item.part, self.frame, made)
            for item, made in zip(self.items, self.strips, strict=True) if item.part
        )  # fmt: skip
        rails = tuple(self._rails())
        foot = rails[-1][2]
        height = max(self.strips[-1].bottom if self.strips else 0.0, foot + RAIL) + 28
        name = Label("31 ground", 12, foot + RAIL + 18, NAME, "rail-name")
        return Drawing(WIDTH, height, rails, (name,), tuple(wires), parts, PLATE[0], ARROW, LIVE)

    def _rails(self) -> Iterator[tuple[float, float, float]]:
        for i, made in enumerate(self.strips):
            if made.rail is not None:
                whole = i in (0, len(self.strips) - 1)
                yield 8.0 if whole else self.frame.left, WIDTH - 6, made.rail
        if not self.strips or self.strips[-1].rail is None:
            yield 8.0, WIDTH - 6, (self.strips[-1].bottom if self.strips else 0.0) + GAP

    def _way(self, name: str, first: float, second: float) -> _Way:
        track = self.tracks.track.get(name)
        x = None if track is None else self.frame.left - self.near - track * self.pitch
        return _Way(name, (first, second), x)

    def _wire(self, way: _Way, ways: Sequence[_Way], labels: tuple[Label, ...]) -> WireDrawing:
        colour = paint(self.circuit.wires[way.name].colour)
        left, plates = self.frame.left, ((self.frame.plate, way.y[0]), (self.frame.plate, way.y[1]))
        turn = left - STUB + 4 if way.x is None else way.x
        points = ((left, way.y[0]), (turn, way.y[0]), (turn, way.y[1]), (left, way.y[1]))
        if way.x is None:
            path = "".join(f"M{number(x)} {number(y)}H{number(x2)}" for (x, y), (x2, _) in (points[:2], points[2:]))
            arrows = (Arrow(left - 14, way.y[0], False, True), Arrow(left - 14, way.y[1], True, True))
            return WireDrawing(way.name, path, points, colour, labels, arrows, plates, points[1:3])
        path = "".join(self._steps(way, way.x, ways))
        return WireDrawing(way.name, path, points, colour, labels, tuple(self._arrows(way, way.x, ways)), plates)

    def _steps(self, way: _Way, x: float, ways: Sequence[_Way]) -> Iterator[str]:
        """The path's commands; a sideways stretch hops over each upright that it crosses."""
        yield f"M{number(self.frame.left)} {number(way.y[0])}"
        for start, goal, y in ((self.frame.left, x, way.y[0]), (x, self.frame.left, way.y[1])):
            crossed = [
                (w.x, min(w.y), max(w.y)) for w in ways if w.x is not None and w is not way and min(w.y) < y < max(w.y)
            ]
            yield from hops(start, goal, y, crossed, self.pitch / 2 - 0.5)
            if start != x:
                yield f"V{number(way.y[1])}"

    def _arrows(self, way: _Way, x: float, ways: Sequence[_Way]) -> Iterator[Arrow]:
        """Arrowheads where nothing crosses the wire's track, far apart; in the widest gap where all are tight."""
        gaps = self._gaps(way, x, ways)
        wide = [gap for gap in gaps if gap[1] - gap[0] >= CLEAR] or [max(gaps, key=lambda gap: gap[1] - gap[0])]
        last = -float(APART)
        for top, foot in wide:
            if top - last >= APART or last < 0:
                last = min((top + foot) / 2, top + 60)
                yield Arrow(x, last, way.y[1] > way.y[0])

    def _gaps(self, way: _Way, x: float, ways: Sequence[_Way]) -> list[tuple[float, float]]:
        """The stretches of a wire's track between the wires that hop over it."""
        low, high = min(way.y), max(way.y)
        outer = [w for w in ways if w.x is not None and w.x < x]
        bounds = [low, *sorted({y for w in outer for y in w.y if low < y < high}), high]
        hop = self.pitch / 2
        return [(a + 8, b - 8 - (hop if b != high else 0)) for a, b in zip(bounds, bounds[1:], strict=False)]


def _ends_of(item: Item) -> list[End]:
    return [end for pin in item.pins for end in (*pin.top, *pin.foot)]


def _other(end: End) -> End:
    return end[0], 1 - end[1]


def _state(items: Sequence[Item]) -> list[list[Pin]]:
    return [[replace(pin, top=list(pin.top), foot=list(pin.foot)) for pin in item.pins] for item in items]
