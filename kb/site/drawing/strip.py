"""A part in a narrow drawing: its box or symbol with a row for each wire, whose words stand to the right.

All wires come from the left. Words that are too long for their place go on in the next line.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from kb.netlist import Circuit, Part
from kb.site.drawing.inside import pairs
from kb.site.drawing.metrics import width
from kb.site.drawing.plan import NAME, SMALL, TWO_ENDED, End, Item, Pin, states, told
from kb.site.drawing.shapes import ContactDrawing, Label, PartDrawing, PinDrawing, number
from kb.site.wiring import paint

PLATE = (58, 20)
LINE = 16
ROW = 24  # px, the least height of a wire's row
CODE = 14
PAD = 6
RAIL = 10
DISC = 18  # from a box's left edge to its pins' discs, and to the leads of what has no box
SYMBOL = 36  # from a two-ended part's left edge to its symbol
LANE = 10  # px between contacts
_LANES = 5  # more contacts than so many stand one below the other


@dataclass(frozen=True, slots=True)
class Frame:
    """The column that parts stand in, in px."""

    left: float
    right: float

    @property
    def plate(self) -> float:
        """The middle of the plates."""
        return self.right - 4 - PLATE[0] / 2


@dataclass(frozen=True, slots=True)
class Row:
    """Where a wire's end meets its part, and what is said there of the wire."""

    y: float
    labels: tuple[Label, ...]


@dataclass(slots=True)
class Strip:
    """A part with its rows; `rail` is the top of its piece of a rail, if it has one."""

    top: float
    bottom: float = 0.0
    rows: dict[End, Row] = field(default_factory=dict)
    labels: list[Label] = field(default_factory=list)
    leads: list[str] = field(default_factory=list)
    pins: list[PinDrawing] = field(default_factory=list)
    contacts: list[ContactDrawing] = field(default_factory=list)
    pin_y: dict[str, list[float]] = field(default_factory=dict)
    centre: tuple[float, float] = (0.0, 0.0)
    state: tuple[float, float] = (0.0, 0.0)
    rail: float | None = None
    box: tuple[float, float] = (0.0, 0.0)


def strip(circuit: Circuit, item: Item, frame: Frame, top: float, far: Mapping[End, str]) -> Strip:
    """A part with its top at `top`; `far` says of a broken wire's end where the other is."""
    made = _Maker(circuit, item, frame, top, far)
    kind = made.part.kind
    if kind in TWO_ENDED:
        made.two_ended()
    elif kind in ("ground", "battery"):
        made.pole()
    elif kind == "splice":
        made.splice()
    else:
        made.boxed()
    return made.strip


def drawing_of(item: Item, part: Part, frame: Frame, made: Strip) -> PartDrawing:
    """A strip as the templates draw it."""
    forward = item.pins[0].name == part.pins[0]
    box = (frame.left, made.box[0], frame.right, made.box[1])
    return PartDrawing(
        item.name, part.kind, box, made.centre, 0 if forward else 180, tuple(made.leads), tuple(made.pins),
        tuple(made.labels), made.state, tuple(made.contacts),
    )  # fmt: skip


class _Maker:
    """Puts one strip together from the top down; `y` is how far it has come."""

    def __init__(self, circuit: Circuit, item: Item, frame: Frame, top: float, far: Mapping[End, str]) -> None:
        assert item.part is not None
        self.circuit, self.item, self.frame, self.far = circuit, item, frame, far
        self.part: Part = item.part
        self.strip, self.y = Strip(top), top

    # Words.

    def words(self, lines: Sequence[tuple[str, int, str]], x: float, room: float) -> None:
        """Lines one below the other from here on, broken where they are too wide."""
        for said, size, cls in lines:
            for piece in fitted(said, size, room):
                self.y += LINE
                self.strip.labels.append(Label(piece, x, self.y - 3, size, cls))

    def title(self, x: float, more: Sequence[str] = ()) -> None:
        """The part's name, its figure or kind, and a line left free for what it does."""
        room = self.frame.right - PAD - x
        name, *rest = [self.part.name, *more]
        if rest and width(name, NAME) + 8 + width(rest[0], SMALL) <= room:
            self.strip.labels.append(Label(rest[0], x + width(name, NAME) + 8, self.y + LINE - 3, SMALL, "value"))
            rest = rest[1:]
        self.words([(name, NAME, "name"), *((line, SMALL, "value") for line in rest)], x, room)
        widest = max((width(word, SMALL) for word in states(self.part)), default=0.0)
        if widest:
            self.y += LINE
            self.strip.state = (max(min(x, self.frame.right - PAD - widest), 0.0), self.y - 3)

    # Rows.

    def pin(self, pin: Pin, x: float, named: bool = True) -> None:
        """A pin's name and a row for each of its wires, those of the upper side first."""
        said = [(pin.name, SMALL, "pin-name")] if named else []
        ys: list[float] = []
        for end in (*pin.top, *pin.foot):
            ys.append(self.row(pin, end, x, said))
            said = []
        if not ys:
            start = self.y
            self.words(said, x, self.frame.right - PAD - x)
            self.y = max(self.y + PAD, start + ROW)
            ys.append((start + self.y) / 2)
        self.strip.pin_y[pin.name] = ys

    def row(self, pin: Pin, end: End, x: float, said: Sequence[tuple[str, int, str]]) -> float:
        """A wire's row, `said` above its code and name; gives the wire's y."""
        top, room = self.y, self.frame.plate - PLATE[0] / 2 - 4 - x
        self.y += PAD / 2
        self.words(said, x, room)
        wire, start = self.circuit.wires[end[0]], len(self.strip.labels)
        colour = paint(wire.colour)
        code = colour.code if colour else ""
        beside = width(code, CODE) + PAD if code else 0.0
        if beside + width(wire.name, SMALL) > room:
            beside = 0.0
        if code:
            self.words([(code, CODE, "code")], x, room)
        self.y -= LINE if beside else 0
        self.words([(wire.name, SMALL, "wire-name")], x + beside, room - beside)
        more = [self.side(pin, end), f"to {self.far[end]}" if end in self.far else ""]
        self.words([(line, SMALL, "far") for line in more if line], x, room)
        labels = tuple(self.strip.labels[start:])
        del self.strip.labels[start:]
        self.y = max(self.y + PAD / 2, top + ROW)
        y = (top + self.y) / 2
        self.strip.rows[end] = Row(y, labels)
        return y

    def side(self, pin: Pin, end: End) -> str:
        """The side of a plug that a wire is on, where it isn't one of two that the title tells of."""
        if not self.part.sides or (len(pin.top), len(pin.foot)) == (1, 1):
            return ""
        return self.item.title[1] if end in pin.top else self.item.title[2]

    def join(self, x: float, ys: Sequence[float]) -> None:
        """Leads from the left edge to `x`, and one that joins them."""
        self.strip.leads += [f"M{number(self.frame.left)} {number(y)}H{number(x)}" for y in ys]
        if ys and max(ys) > min(ys):
            self.strip.leads.append(f"M{number(x)} {number(min(ys))}V{number(max(ys))}")

    def done(self, top: float | None = None) -> None:
        """End the strip here; its box begins at `top`."""
        self.strip.bottom = self.y
        self.strip.box = (self.strip.top if top is None else top, self.y)

    # Kinds of parts.

    def two_ended(self) -> None:
        """A symbol upright between the rows of its two pins."""
        left, pins = self.frame.left, self.item.pins
        self.pin(pins[0], left + SYMBOL + 10)
        middle = self.y + 2
        self.y = middle
        self.title(left + SYMBOL + 36, told(self.part))
        self.y = max(self.y + 4, middle + 52)
        self.strip.centre = (left + SYMBOL, (middle + self.y) / 2)
        for pin in pins[1:]:
            self.pin(pin, left + SYMBOL + 10)
        for pin in pins:
            ys = self.strip.pin_y[pin.name]
            self.join(left + SYMBOL, ys if pin.top or pin.foot else ())
            first = min(ys) if pin is pins[0] else max(ys)
            self.strip.leads.append(f"M{number(left + SYMBOL)} {number(first)}V{number(self.strip.centre[1])}")
        self.done()

    def splice(self) -> None:
        """A dot on the lead that joins all rows."""
        x = self.frame.left + DISC
        self.title(x + 16)
        for pin in self.item.pins:
            self.pin(pin, x + 16)
        ys = [y for found in self.strip.pin_y.values() for y in found]
        self.join(x, [row.y for row in self.strip.rows.values()])
        self.strip.centre = (x, (min(ys) + max(ys)) / 2)
        self.done()

    def pole(self) -> None:
        """A pole or a ground: rows hanging on a piece of rail, on top for a battery's plus, else at the foot."""
        x, plus = self.frame.left + DISC, self.part.kind == "battery" and self.item.row == 0
        if plus:
            self.words([(self.item.title[0], NAME, "rail-name")], x - 14, self.frame.right - PAD - x + 14)
            self.y += 4
            self.strip.rail = self.y
            self.y += RAIL
        for pin in self.item.pins:
            self.pin(pin, x + 10, named=False)
        ys = [y for found in self.strip.pin_y.values() for y in found]
        if not plus:
            name = self.item.title[0] if self.part.kind == "battery" else f"31 {self.part.name}"
            self.words([(name, NAME, "name")], x + 10, self.frame.right - PAD - x - 10)
            self.y += 4
            self.strip.rail = self.y
            self.y += RAIL
        self.join(x, ys)
        end = (self.strip.rail or 0.0) + (RAIL if plus else 0)
        self.strip.leads.append(f"M{number(x)} {number(ys[0] if plus else ys[-1])}V{number(end)}")
        self.strip.box = (ys[0], ys[-1])
        self.strip.bottom = self.y

    def boxed(self) -> None:
        """A box: its title, its pins, and what it can join."""
        top, left = self.y, self.frame.left
        self.y += 4
        listed = list(pairs(self.circuit, self.item))
        lanes = _lanes(listed, [pin.name for pin in self.item.pins]) if listed else []
        pitch = 2 * LANE if any(kind in ("coil", "track") for _, kind, _, _ in listed) else LANE
        fits = max(lanes, default=-1) < (_LANES if pitch == LANE else 2)
        inner = left + (2 * DISC if self.part.kind == "connector" else 12 + pitch * (max(lanes, default=-1) + fits))
        inner = inner if fits else left + 12
        self.title(left + 12, self._about())
        self.y += 2
        for pin in self.item.pins:
            self.pin(pin, inner + 2)
        if self.part.kind == "connector":
            self._discs(left + DISC)
        elif fits:
            self._brackets(listed, [left + 12 + pitch * lane for lane in lanes])
        else:
            self._listed(listed)
        self.y += 4
        self.strip.centre = ((left + self.frame.right) / 2, (top + self.y) / 2)
        self.done(top)

    def _about(self) -> tuple[str, ...]:
        if not self.part.sides:
            return told(self.part)
        both = any((len(pin.top), len(pin.foot)) == (1, 1) for pin in self.item.pins)
        return (f"{self.item.title[1]} above, {self.item.title[2]} below",) if both else ()

    def _discs(self, x: float) -> None:
        for pin in self.item.pins:
            ys = self.strip.pin_y[pin.name]
            if pin.top or pin.foot:
                self.join(x, ys)
            self.strip.pins.append(PinDrawing(pin.name, x, (ys[0] + ys[-1]) / 2, pin.cavity, ()))

    def _brackets(self, listed: Sequence[tuple[tuple[str, ...], str, str, str]], xs: Sequence[float]) -> None:
        """Contacts as brackets from pin to pin."""
        left = self.frame.left
        self._joined()
        for (key, kind, a, b), x in zip(listed, xs, strict=True):
            y, y2 = self.strip.pin_y[a][0], self.strip.pin_y[b][0]
            steps = "L".join(f"{number(at)} {number(down)}" for at, down in ((left, y), (x, y), (x, y2), (left, y2)))
            self.strip.contacts.append(ContactDrawing(key, kind, f"M{steps}", (x, (y + y2) / 2)))

    def _joined(self) -> None:
        """Rows of one pin are joined at the edge."""
        for pin in self.item.pins:
            if len(self.strip.pin_y[pin.name]) > 1:
                self.join(self.frame.left + 5, self.strip.pin_y[pin.name])

    def _listed(self, listed: Sequence[tuple[tuple[str, ...], str, str, str]]) -> None:
        """Many contacts: each in a line of its own, with the names of its pins."""
        left = self.frame.left
        self._joined()
        for key, kind, a, b in listed:
            self.y += 6
            middle = self.y + LINE / 2
            path = f"M{number(left + 12)} {number(middle)}L{number(left + 40)} {number(middle)}"
            self.words([(f"{a} to {b}", SMALL, "pin-name")], left + 50, self.frame.right - PAD - left - 50)
            self.strip.contacts.append(ContactDrawing(key, kind, path, (left + 26, middle)))


def _lanes(listed: Sequence[tuple[tuple[str, ...], str, str, str]], order: Sequence[str]) -> list[int]:
    """A lane for each contact, short ones near the edge, none through another's."""
    spans = [tuple(sorted((order.index(a), order.index(b)))) for _, _, a, b in listed]
    found: dict[int, int] = {}
    for i in sorted(range(len(spans)), key=lambda i: (spans[i][1] - spans[i][0], spans[i], i)):
        taken = {found[j] for j in found if spans[j][0] <= spans[i][1] and spans[i][0] <= spans[j][1]}
        found[i] = next(lane for lane in range(len(taken) + 1) if lane not in taken)
    return [found[i] for i in range(len(spans))]


def fitted(words: str, size: int, room: float) -> Iterator[str]:
    """The words in lines no wider than `room`, broken between words, else between letters."""
    line = ""
    for word in words.split():
        if line and width(f"{line} {word}", size) > room:
            yield line
            line = ""
        line = f"{line} {word}".strip()
        while width(line, size) > room and len(line) > 1:
            cut = next((n for n in range(len(line) - 1, 0, -1) if width(line[:n], size) <= room), 1)
            yield line[:cut]
            line = line[cut:]
    if line:
        yield line
