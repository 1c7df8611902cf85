"""A circuit as rows of items: parts with their pins in columns, and wires that pass a row."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import ceil

from kb.netlist import Circuit, Part, Terminal
from kb.site.drawing.metrics import width
from kb.site.drawing.ranks import Ranks, at_foot, ends, is_feed

PITCH = 80  # px between two tracks
NAME, SMALL = 15, 13  # sizes of letters in px
TWO_ENDED = frozenset(("fuse", "motor", "heater", "resistor", "lamp", "led", "diode", "cell"))
WORDS = {
    "motor": ("moves", "slow", "still"), "lamp": ("bright", "dim", "dark"), "led": ("bright", "dim", "dark"),
    "cell": ("dimmed", "tinted", "clear"), "heater": ("hot", "warm", "cold"), "resistor": ("hot", "warm", "cold"),
    "fuse": ("blown", "may blow"), "output": ("high", "low", "at rest"), "relay": ("pulled in",),
}  # fmt: skip

End = tuple[str, int]  # a wire and which of its ends


@dataclass(slots=True)
class Pin:
    """A pin with the wire ends on its top and on its foot; `column` is its first, within its item."""

    name: str
    cavity: str = ""
    top: list[End] = field(default_factory=list)
    foot: list[End] = field(default_factory=list)
    column: int = 0
    least: int = 1

    @property
    def ports(self) -> int:
        """How many columns its wires need."""
        return max(len(self.top), len(self.foot), 1)

    @property
    def columns(self) -> int:
        """How many columns it needs, with its name."""
        return max(self.ports, self.least)

    def place(self, end: End) -> int:
        """The column of a wire end, within the item."""
        return self.column + (self.top if end in self.top else self.foot).index(end)


@dataclass(slots=True)
class Item:
    """What stands in a row: a part, or a wire passing (no part). `x` is its first column."""

    name: str
    row: int
    part: Part | None
    pins: list[Pin] = field(default_factory=list)
    title: tuple[str, ...] = ()
    x: int = 0
    width: int = 1
    body: int = 1
    inline: bool = False
    passing: str = ""

    def column(self, end: End) -> int:
        """The column of a wire end in the drawing."""
        if self.passing:
            return self.x
        return self.x + next(pin.place(end) for pin in self.pins if end in pin.top or end in pin.foot)

    def arrange(self) -> None:
        """Give each pin its column: tops from the left, feet from the left, what has both in line."""
        tops = feet = 0
        for pin in self.pins:
            both = bool(pin.top and pin.foot) or not self.apart
            pin.column = max(tops, feet) if both else tops if pin.top else feet
            if both or pin.top:
                tops = pin.column + pin.columns
            if both or not pin.top:
                feet = pin.column + pin.columns
        if self.inline:
            for pin in self.pins:
                pin.column = 0
        self.body = max((pin.column + pin.columns for pin in self.pins), default=1)
        self.width = max(self.body, ceil((self._reach() + PITCH / 2 + 6) / PITCH)) if self.part else 1

    @property
    def apart(self) -> bool:
        """True for a box whose pins on top and on the foot stand in rows of their own."""
        return self.part is not None and not self.inline and self.part.kind not in ("connector", *TWO_ENDED)

    @property
    def boxed(self) -> bool:
        """True for what is drawn as a box around its pins."""
        return self.part is not None and self.part.kind not in (*TWO_ENDED, "ground", "battery", "splice")

    def _reach(self) -> float:
        """From the first column to the end of the title, or of a pin's name that stands beside its wire."""
        title = (0 if self.inline else PITCH * (self.body - 1)) + self.indent + self.title_width
        beside = () if self.boxed or not self.part or self.part.kind in ("ground", "battery") else self.pins
        return max(title, *((p.column + p.ports - 1) * PITCH + 7 + width(p.name, SMALL) for p in beside), 0)

    @property
    def indent(self) -> int:
        """From the column the title hangs on to its first letter."""
        if self.part is None or self.inline:
            return 26
        return 44 if self.boxed else 18 if self.part.kind == "battery" else 14

    @property
    def title_width(self) -> float:
        """The width of the widest line of the title."""
        return max((width(line, NAME if i == 0 else SMALL) for i, line in enumerate(self.title)), default=0.0)


@dataclass(slots=True)
class Link:
    """A stretch of a wire in the channel below row `channel`; ends are items and wire ends."""

    wire: str
    channel: int
    first: Item
    second: Item
    first_end: End
    second_end: End
    first_top: bool
    second_top: bool


class Plan:
    """The rows of a circuit's drawing, the items in them, and the stretches of wires between."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.ranks = Ranks(circuit)
        self.rows: list[list[Item]] = [[] for _ in range(self.ranks.last + 1)]
        self.items: dict[str, Item] = {}
        for part in circuit.parts.values():
            for item in self._items(part):
                self.items[item.name] = item
                self.rows[item.row].append(item)
        for name in circuit.wires:
            self._hang(name)
        for item in self.items.values():
            _shape(item)
        self.links = [link for name in circuit.wires for link in self._links(name)]

    def item(self, terminal: Terminal) -> Item:
        """The item that a terminal stands on; a battery has one for each pole."""
        pole = f".{terminal.pin}" if self.circuit.parts[terminal.part].kind == "battery" else ""
        return self.items[terminal.part + pole]

    def _items(self, part: Part) -> Iterator[Item]:
        if part.kind == "battery":
            for pin, row in zip(part.pins, (0, self.ranks.last), strict=False):
                yield Item(f"{part.name}.{pin}", row, part, [Pin(pin)], self._title(part, pin))
            return
        row = self.ranks.last if part.kind == "ground" else self.ranks.rank[part.name]
        cavities = {at.pin: cavity for at, cavity in self.circuit.cavities.items() if at.part == part.name}
        pins = [Pin(pin, cavities.get(pin, "")) for pin in part.pins]
        yield Item(part.name, row, part, pins, self._title(part))

    def _title(self, part: Part, pole: str = "") -> tuple[str, ...]:
        """Name, value or kind, and the widest word for what it does."""
        if part.kind in ("ground", "splice"):
            return (part.name,)
        if pole:
            return (f"30 {part.name} {pole}, {value(part)}",) if pole == part.pins[0] else (f"{part.name} {pole}",)
        if part.sides:
            top = self.ranks.top_side.get(part.name, part.sides[0])
            return (part.name, top, *(side for side in part.sides if side != top))
        widest = max(states(part), key=lambda word: width(word, SMALL), default="")
        return tuple(line for line in (part.name, *told(part), widest) if line)

    def _hang(self, name: str) -> None:
        """Put a wire's ends on top or foot of its pins."""
        a, b = ends(self.circuit, self.circuit.wires[name])
        for number, (own, other) in enumerate(((a, b), (b, a))):
            pin = next(p for p in self.item(own).pins if p.name == own.pin)
            (pin.top if self.on_top(own, other) else pin.foot).append((name, number))

    def on_top(self, own: Terminal, other: Terminal) -> bool:
        """True where a wire leaves its pin upwards."""
        part = self.circuit.parts[own.part]
        if part.sides:
            return own.side == self.ranks.top_side.get(own.part, part.sides[0])
        if is_feed(self.circuit, own) or at_foot(self.circuit, own):
            return not is_feed(self.circuit, own)
        return self.ranks.row(other) < self.ranks.row(own)

    def _links(self, name: str) -> Iterator[Link]:
        """The stretches of a wire, from its first end to its second, with an item in each row it passes."""
        a, b = ends(self.circuit, self.circuit.wires[name])
        first, last = self.item(a), self.item(b)
        start = first.row - (1 if self.on_top(a, b) else 0)
        goal = last.row - (1 if self.on_top(b, a) else 0)
        down = goal > start
        here, end, top = first, (name, 0), not self.on_top(a, b)
        while start != goal:
            row = start + 1 if down else start
            passing = Item(f"{name} in {row}", row, None, passing=name)
            self.rows[row].append(passing)
            yield Link(name, start, here, passing, end, (name, 0), top, not down)
            here, end, top = passing, (name, 0), down
            start += 1 if down else -1
        yield Link(name, goal, here, last, end, (name, 1), top, not self.on_top(b, a))


def _shape(item: Item) -> None:
    """Whether a part with two ends stands upright, and how many columns its pins' names need."""
    kind = item.part.kind if item.part else ""
    if kind in TWO_ENDED and len(item.pins) == 2:
        tops = sorted(bool(pin.top) for pin in item.pins)
        feet = sorted(bool(pin.foot) for pin in item.pins)
        item.inline = tops == [False, True] == feet and not any(p.top and p.foot for p in item.pins)
        if item.inline:
            item.pins.sort(key=lambda pin: not pin.top)
    for pin in item.pins if kind not in ("battery", "ground") else ():
        wide = width(pin.name, SMALL)
        pin.least = ceil((wide + 8) / PITCH) if item.boxed else pin.ports - 1 + ceil((wide + 14) / PITCH)
    item.arrange()


def states(part: Part) -> tuple[str, ...]:
    """All words that may stand for what a part does."""
    words = WORDS.get(part.kind, ())
    return (*words, *(f"{verdict} {turn}" for turn in part.turns or () for verdict in ("moves", "slow")))


def told(part: Part) -> tuple[str, ...]:
    """What stands below a part's name: its figure, else its kind, a word a line."""
    return (value(part),) if value(part) else tuple(part.kind.split())


def value(part: Part) -> str:
    """The figure that tells a part from its like."""
    for name, unit in (("amps", "A"), ("watts", "W")):
        if name in part.values:
            return f"{part.values[name].value:.6g} {unit}"
    if part.kind == "battery" and "volts" in part.values:
        return f"{part.values['volts'].value:.6g} V"
    return ohms(part.values["ohms"].value) if part.kind in ("heater", "resistor") and "ohms" in part.values else ""


def ohms(size: float) -> str:
    """A resistance with the prefix it is written with."""
    if size >= 1e6:
        return f"{size / 1e6:.6g} Mohm"
    if size >= 1e3:
        return f"{size / 1e3:.6g} kohm"
    return f"{size:.6g} ohm" if size >= 0.1 or not size else f"{size * 1e3:.6g} mohm"
