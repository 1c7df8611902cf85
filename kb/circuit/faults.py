"""What a fault, a position or an unplugged connector changes in a net."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from kb.circuit import curves
from kb.circuit.batch import Variant
from kb.circuit.curves import OPEN, Curve
from kb.circuit.net import GROUND, Element, Key, Net, contact_key, neighbours, output_curve
from kb.netlist import Change, Part, Position, Terminal

TOUCH = 1e-3  # ohm where bare metal touches
SPARE = 2  # nodes that stand ready for the middles of two wires


@dataclass(slots=True)
class Draft:
    """A variant while it is put together; later words win, as a fault does over a switch."""

    net: Net
    share: float = 1.0
    curves: dict[int, Curve] = field(default_factory=dict)
    ends: dict[int, tuple[int, int]] = field(default_factory=dict)
    extra: list[tuple[int, int, Curve]] = field(default_factory=list)
    spare: int = 0

    def variant(self) -> Variant:
        """The finished variant."""
        return Variant(dict(self.curves), dict(self.ends), tuple(self.extra))

    def curve(self, place: int) -> Curve:
        """The curve of an element as it stands now."""
        return self.curves.get(place, self.net.elements[place].curve)

    def set(self, key: Key, curve: Curve) -> None:
        """Give the element of this key a curve."""
        self.curves[self.net.index[key]] = curve

    def of(self, part: str) -> Iterator[tuple[int, Element]]:
        """The elements of a part or wire."""
        return ((i, e) for i, e in enumerate(self.net.elements) if e.key[0] == part)

    # Switches, outputs, plugs.

    def position(self, position: Position) -> None:
        """Close what the position joins, drive what it drives."""
        for part, pairs in position.joins.items():
            contact = self.net.circuit.parts[part].values["contact"].value
            for a, b in pairs:
                self.set(contact_key(part, a, b), curves.ohms(contact))
        for name, drive in position.drives.items():
            part = self.net.circuit.parts.get(name)
            if part and drive:
                self.set((name,), output_curve(self.net.circuit, part, drive, self.share))

    def relay(self, part: Part, pulled: bool) -> None:
        """Set a relay's contacts."""
        make, rest = self._relay_keys(part)
        closed = curves.ohms(part.values["contact"].value)
        for key, on in ((make, pulled), (rest, not pulled)):
            if key in self.net.index and self.net.index[key] not in self.curves:
                self.set(key, closed if on else OPEN)

    def _relay_keys(self, part: Part) -> tuple[Key, Key]:
        make = contact_key(part.name, part.pins[2], part.pins[3])
        return make, contact_key(part.name, part.pins[2], part.pins[4]) if len(part.pins) > 4 else ()

    def unplug(self, connector: str) -> None:
        """Take a connector apart."""
        for place, _ in self.of(connector):
            self.curves[place] = OPEN

    # Faults.

    def change(self, change: Change) -> None:
        """Put one thing wrong."""
        if change.how in ("open", "unplugged", "blown"):
            self._open(change.what)
        elif change.how == "ohms":
            self._ohms(change.what, change.ohms or 0.0)
        elif change.how == "ground":
            self.extra.append((self._point(change.what), GROUND, curves.ohms(TOUCH)))
        elif change.how == "touches" and change.other is not None:
            self.extra.append((self._point(change.what), self._point(change.other), curves.ohms(TOUCH)))
        elif change.how == "crossed":
            self._cross(change.what, change.other)
        elif change.how in ("contact-open", "welded") and change.contact and isinstance(change.what, str):
            self._contact(change.what, change.contact, change.how == "welded")
        elif change.how == "seized" and isinstance(change.what, str):
            self.set((change.what,), curves.ohms(self.net.circuit.parts[change.what].values["ohms"].value))

    def _at(self, what: str | Terminal) -> Iterator[int]:
        """The elements that a word stands for: a wire, a part's, or those of a part at one terminal."""
        if isinstance(what, str):
            yield from (place for place, _ in self.of(what))
            return
        node = self.net.node(what)
        yield from (place for place, e in self.of(what.part) if node in (e.a, e.b))

    def _open(self, what: str | Terminal) -> None:
        for place in self._at(what):
            self.curves[place] = OPEN
        self.extra = [e for e in self.extra if isinstance(what, str) or self.net.node(what) not in e[:2]]

    def _ohms(self, what: str | Terminal, value: float) -> None:
        part = self.net.circuit.parts.get(what.part if isinstance(what, Terminal) else what)
        if part is None or part.kind in ("connector", "splice", "ground"):
            for place in self._at(what):
                self.curves[place] = curves.ohms(value)
        elif isinstance(what, Terminal):
            self._in_series(self.net.node(what), value)
        elif part.kind in ("switch", "limit switch", "relay"):
            self._contacts_ohms(part, value)
        elif part.kind == "motor":
            self.set((part.name,), curves.motor(value, part.values["runs"].value))
        else:
            for place in self._at(what):
                self.curves[place] = curves.ohms(value)

    def _contacts_ohms(self, part: Part, value: float) -> None:
        for place, element in self.of(part.name):
            if self.curve(place) != OPEN and element.key[-1] != "coil":
                self.curves[place] = curves.ohms(value)

    def _in_series(self, node: int, value: float) -> None:
        """A bad terminal of a part: its resistance goes into the wires that end there."""
        for place, element in enumerate(self.net.elements):
            if element.key[0] in self.net.circuit.wires and node in (element.a, element.b):
                self.curves[place] = curves.ohms(value + 1 / self.curve(place).slopes[0]) if self.curve(place) != OPEN else OPEN

    def _contact(self, part: str, contact: tuple[str, str], welded: bool) -> None:
        key = contact_key(part, *contact)
        value = self.net.circuit.parts[part].values["contact"].value
        if key in self.net.index:
            self.set(key, curves.ohms(value) if welded else OPEN)

    def _point(self, what: str | Terminal) -> int:
        """The node where something touches: a wire's middle, a terminal, a part's first terminal."""
        if isinstance(what, Terminal):
            return self.net.node(what)
        if what in self.net.circuit.wires:
            return self._middle(self.net.index[(what,)])
        part = self.net.circuit.parts[what]
        return self.net.node(Terminal(part.name, part.pins[0]))

    def _middle(self, place: int) -> int:
        node = self.net.count + self.spare
        self.spare += 1
        a, b = self.ends.get(place, (self.net.elements[place].a, self.net.elements[place].b))
        curve = self.curve(place)
        half = Curve(curve.ends, tuple(2 * s for s in curve.slopes), curve.offsets)
        self.ends[place], self.curves[place] = (a, node), half
        self.extra.append((node, b, half))
        return node

    def _cross(self, what: object, other: object) -> None:
        if not isinstance(what, Terminal) or not isinstance(other, Terminal):
            return
        first, second = (self.net.index.get((t.part, t.pin)) for t in (what, other))
        if first is None or second is None:
            return
        a, b = self.net.elements[first], self.net.elements[second]
        self.ends[first], self.ends[second] = (a.a, b.b), (b.a, a.b)


def own_faults(net: Net) -> Iterator[tuple[str, tuple[Change, ...]]]:
    """The faults that parts and wires have by themselves, in words and as changes."""
    for part in net.circuit.parts.values():
        yield from _own_faults(net, part)
    for name, wire in net.circuit.wires.items():
        yield f"{name} open", (Change("open", name),)
        yield from ((f"{name} {o} ohm", (Change("ohms", name, ohms=float(o)),)) for o in (20, 200))
        yield f"{name} touches ground", (Change("ground", name),)
        yield from ((f"{name} touches {b.name}", (Change("touches", name, b.name),))
                    for b in net.circuit.wires.values() if wire.bundle and b.bundle == wire.bundle and b.name > name)  # fmt: skip


def _own_faults(net: Net, part: Part) -> Iterator[tuple[str, tuple[Change, ...]]]:
    name, kind = part.name, part.kind
    if kind in ("motor", "heater", "resistor", "lamp", "led", "diode", "output", "input", "potentiometer", "cell"):
        yield f"{name} open", (Change("open", name),)
    if kind == "motor":
        yield f"{name} seized", (Change("seized", name),)
        yield f"{name} half the ohms", (Change("ohms", name, ohms=part.values["ohms"].value / 2),)
    if kind in ("heater", "resistor"):
        yield f"{name} double the ohms", (Change("ohms", name, ohms=part.values["ohms"].value * 2),)
    if kind == "fuse":
        yield f"{name} blown", (Change("blown", name),)
        yield f"{name} loose", (Change("ohms", name, ohms=0.5),)
    if kind == "ground":
        yield f"{name} open", (Change("open", name),)
        yield from ((f"{name} {o} ohm", (Change("ohms", name, ohms=float(o)),)) for o in (2, 40))
    if kind == "connector":
        yield from _plug_faults(part)
    if kind in ("switch", "limit switch", "relay"):
        yield from _contact_faults(net, name)


def _plug_faults(part: Part) -> Iterator[tuple[str, tuple[Change, ...]]]:
    yield f"{part.name} unplugged", (Change("unplugged", part.name),)
    for pin in part.pins:
        at = Terminal(part.name, pin)
        yield f"{at} open", (Change("open", at),)
        yield from ((f"{at} {o} ohm", (Change("ohms", at, ohms=float(o)),)) for o in (20, 200))
    for a, b in neighbours(part.pins):
        pair = Terminal(part.name, a), Terminal(part.name, b)
        yield f"{pair[0]} touches {pair[1]}", (Change("touches", *pair),)
        yield f"{pair[0]} crossed with {pair[1]}", (Change("crossed", *pair),)


def _contact_faults(net: Net, name: str) -> Iterator[tuple[str, tuple[Change, ...]]]:
    for element in net.elements:
        if element.key[0] == name and len(element.key) == 3:
            contact = (element.key[1], element.key[2])
            yield f"{name} {'-'.join(contact)} open", (Change("contact-open", name, contact=contact),)
            yield f"{name} {'-'.join(contact)} welded", (Change("welded", name, contact=contact),)
        if element.key == (name, "coil"):
            yield f"{name} coil open", (Change("open", Terminal(name, net.circuit.parts[name].pins[0])),)
