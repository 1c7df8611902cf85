"""A circuit's drawing: every path, box and word with its place in px.

Rail 30 lies on top and rail 31 at the foot, parts stand in rows between, wires run in tracks of their own.
Words stand only where no wire and no part can: in bands above and below the tracks of each channel, in the
columns that an item keeps for its title, and in the name bands of boxes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from kb.netlist import Circuit
from kb.site.drawing.channel import Run, Tip, route
from kb.site.drawing.columns import settle
from kb.site.drawing.inside import inside
from kb.site.drawing.parts import part_drawing
from kb.site.drawing.plan import NAME, PITCH, SMALL, TWO_ENDED, Item, Link, Plan
from kb.site.drawing.shapes import MARGIN, Arrow, Drawing, Label, WireDrawing, number, x_of
from kb.site.wiring import Paint, paint

TRACK, HOP = 30, 13  # px between tracks, and the radius of a hop
VOLTS = (68, 20)  # the plate of a voltage
BAND = 62  # voltages, arrow and colour code above the tracks
FOOT_BAND = 26  # voltages below the tracks
CODE_BAND = 36  # arrow and code below the tracks, where a wire makes a bow
RAIL = 10


def draw(circuit: Circuit) -> Drawing:
    """Lay a circuit out. Cost: some hundredths of a second for 60 parts."""
    return _Layout(circuit).drawing()


@dataclass(slots=True)
class _Channel:
    """The space below a row: its links, their tracks, and where bands and tracks begin."""

    links: list[Link] = field(default_factory=list)
    corners: list[tuple[tuple[float, int], ...]] = field(default_factory=list)
    tracks: int = 0
    top: float = 0.0
    first_track: float = 0.0
    bottom: float = 0.0
    bows: bool = False


class _Layout:
    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.plan = Plan(circuit)
        self.columns = settle(self.plan)
        self.insides = {name: inside(circuit, item) for name, item in self.plan.items.items()}
        self.channels = self._route()
        self.width = 0.0
        self.tops: list[float] = []
        self.bottoms: list[float] = []
        self._stack()

    def _route(self) -> list[_Channel]:
        channels = [_Channel() for _ in self.plan.rows]
        for link in self.plan.links:
            channels[link.channel].links.append(link)
        for channel in channels:
            runs = [Run(*self._tips(link)) for link in channel.links]
            channel.corners, channel.tracks = route(runs)
            channel.bows = any(not link.first_top and not link.second_top for link in channel.links)
        return channels

    def _tips(self, link: Link) -> tuple[Tip, Tip]:
        return (
            Tip(link.first.column(link.first_end), link.first_top, (link.wire, 0)),
            Tip(link.second.column(link.second_end), link.second_top, (link.wire, 1)),
        )

    def _stack(self) -> None:
        """Rows and channels from the top down."""
        y = 40.0 if self.plan.rows[0] else 8.0
        for row, channel in zip(self.plan.rows, self.channels, strict=True):
            self.tops.append(y)
            y += max((self.height(item) for item in row), default=0.0)
            self.bottoms.append(y)
            channel.top = y
            if row is not self.plan.rows[-1] and (row or channel.links):
                channel.first_track = y + BAND + HOP + 8
                tracks = channel.tracks * TRACK + (4 if channel.tracks else -HOP - 8)
                y += BAND + HOP + 8 + tracks + FOOT_BAND + (CODE_BAND if channel.bows else 0)
            channel.bottom = y

    def height(self, item: Item) -> float:
        """The height of an item in px."""
        kind = item.part.kind if item.part else ""
        if not kind:
            return 0.0
        if kind == "battery":
            return RAIL if item.row == 0 else 44.0
        if kind == "connector":
            return 62.0
        if kind in TWO_ENDED:
            low = any(pin.foot and not pin.top for pin in item.pins)
            return 94.0 if item.inline else 100.0 if low else 80.0
        return {"ground": 44.0, "splice": 66.0}.get(kind, self.insides[item.name].height)

    def y(self, item: Item) -> float:
        """The top of an item: in the middle of its row, in the foot row at the bottom."""
        top, bottom = self.tops[item.row], self.bottoms[item.row]
        spare = bottom - top - self.height(item)
        return top + (spare if item.row == len(self.tops) - 1 else spare / 2)

    def track_y(self, channel: _Channel, track: int) -> float:
        """The y of a track's middle."""
        return channel.first_track + track * TRACK + 4

    # Wires.

    def drawing(self) -> Drawing:
        """Everything in its place."""
        ways = self._ways()
        wires = tuple(self._wire(name, ways) for name in self.circuit.wires)
        parts = tuple(
            part_drawing(item, item.part, self.y(item), self.height(item), self.insides[item.name])
            for row in self.plan.rows
            for item in row
            if item.part and not (item.row == 0 and item.part.kind == "battery")
        )
        wires = tuple(sorted(wires, key=lambda wire: "a" in wire.path))  # what hops is drawn over what it crosses
        words = [label.box[2] + 6 for wire in wires for label in wire.labels]
        self.width = max(2 * MARGIN - PITCH + self.columns * PITCH, *words)
        foot = self.bottoms[-1]
        rails, labels = self._rails(foot)
        return Drawing(self.width, foot + RAIL + 30, rails, labels, wires, parts)

    def _rails(self, foot: float) -> tuple[tuple[tuple[float, float, float], ...], tuple[Label, ...]]:
        feeds = [item for item in self.plan.rows[0] if item.part]
        whole = (8.0, self.width - 8)
        bars = [(x_of(i.x) - 30, x_of(i.x + i.width - 1) + 30) if len(feeds) > 1 else whole for i in feeds]
        labels = [Label(i.title[0], bar[0] + 4, 30, NAME, "rail-name") for i, bar in zip(feeds, bars, strict=True)]
        labels.append(Label("31 ground", 12, foot + RAIL + 20, NAME, "rail-name"))
        return (*((a, b, self.tops[0]) for a, b in bars), (*whole, foot)), tuple(labels)

    def _ways(self) -> Mapping[str, list[tuple[int, tuple[float, float]]]]:
        """The corners of each wire in order, each with its channel."""
        ways: dict[str, list[tuple[int, tuple[float, float]]]] = defaultdict(list)
        for number_, channel in enumerate(self.channels):
            for link, corners in zip(channel.links, channel.corners, strict=True):
                first, second = self._tips(link)
                points = [(x_of(first.column), self._edge(link.first, channel, link.first_top))]
                points += [(x_of(column), self.track_y(channel, track)) for column, track in corners]
                points.append((x_of(second.column), self._edge(link.second, channel, link.second_top)))
                ways[link.wire].extend((number_, point) for point in points)
        order = {(link.wire, link.channel): i for i, link in enumerate(self.plan.links)}
        return {name: sorted(way, key=lambda at, n=name: order[n, at[0]]) for name, way in ways.items()}  # type: ignore[misc]

    def _edge(self, item: Item, channel: _Channel, top: bool) -> float:
        """Where a wire meets an item, or the row that it passes."""
        if item.passing:
            return channel.top if top else channel.bottom
        return self.y(item) + (self.height(item) if top else 0.0)

    def _wire(self, name: str, ways: Mapping[str, list[tuple[int, tuple[float, float]]]]) -> WireDrawing:
        wire = self.circuit.wires[name]
        way = ways[name]
        points = tuple(point for _, point in way)
        paint_ = paint(wire.colour)
        links = [link for link in self.plan.links if link.wire == name]
        labels = tuple(self._labels(name, paint_, links[0] if links[0].channel <= links[-1].channel else links[-1]))
        arrows = tuple(self._arrow(link) for link in links)
        path = "".join(_steps(way, self._verticals(ways, name)))
        return WireDrawing(
            name, path, points, paint_, labels, arrows, (self._plate(links[0], 0), self._plate(links[-1], 1))
        )

    def _verticals(
        self, ways: Mapping[str, list[tuple[int, tuple[float, float]]]], but: str
    ) -> Mapping[int, list[tuple[float, float, float]]]:
        """In each channel the upright stretches of all other wires: x, top, bottom."""
        found: dict[int, list[tuple[float, float, float]]] = defaultdict(list)
        for name, way in ways.items():
            if name != but:
                for (channel, (x, y)), (other, (x2, y2)) in zip(way, way[1:], strict=False):
                    if x == x2 and channel == other:
                        found[channel].append((x, min(y, y2), max(y, y2)))
        return found

    def _spot(self, link: Link) -> tuple[float, float, bool]:
        """Where a link's arrow stands: x, y, and whether the wire leaves downwards there."""
        channel = self.channels[link.channel]
        first, second = self._tips(link)
        tip, own = (first, True) if first.top == (first.top or second.top) else (second, False)
        y = channel.top + 44 if tip.top else channel.bottom - FOOT_BAND - CODE_BAND + 16
        return x_of(tip.column), y, tip.top == own

    def _arrow(self, link: Link) -> Arrow:
        return Arrow(*self._spot(link))

    def _labels(self, name: str, paint_: Paint | None, link: Link) -> Iterator[Label]:
        x, y, _ = self._spot(link)
        if paint_:
            yield Label(paint_.code, x + 13, y - 2, 14, "code")
        yield Label(name, x + 13, y + (13 if paint_ else 5), SMALL, "wire-name")

    def _plate(self, link: Link, end: int) -> tuple[float, float]:
        """The middle of the plate for the voltage at a wire's end."""
        channel = self.channels[link.channel]
        tip = self._tips(link)[end]
        top, bottom = channel.top + 4 + VOLTS[1] / 2, channel.bottom - 4 - VOLTS[1] / 2
        return x_of(tip.column), top if tip.top else bottom


def _steps(
    way: Sequence[tuple[int, tuple[float, float]]], verticals: Mapping[int, list[tuple[float, float, float]]]
) -> Iterator[str]:
    """The path's commands; a sideways stretch hops over each upright that it crosses."""
    yield f"M{number(way[0][1][0])} {number(way[0][1][1])}"
    for (channel, (x, y)), (_, (x2, y2)) in zip(way, way[1:], strict=False):
        if y == y2 and x != x2:
            yield from hops(
                x,
                x2,
                y,
                [v for v in verticals[channel] if v[1] < y < v[2]] if channel in verticals else [],
                HOP,
            )
        if y != y2:
            yield f"V{number(y2)}"


def hops(x: float, x2: float, y: float, crossed: Sequence[tuple[float, float, float]], radius: float) -> Iterator[str]:
    """A sideways stretch with a half circle over each crossed upright."""
    forward = x2 > x
    for at in sorted({v[0] for v in crossed if min(x, x2) < v[0] < max(x, x2)}, reverse=not forward):
        sign = 1 if forward else -1
        arc = f"a{radius} {radius} 0 0 {int(forward)} {number(sign * 2 * radius)} 0"
        yield f"H{number(at - sign * radius)}{arc}"
    yield f"H{number(x2)}"
