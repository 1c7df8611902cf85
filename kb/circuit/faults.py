"""What a fault, a position or an unplugged connector changes in a net."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from kb.circuit import curves
from kb.circuit.batch import Variant
from kb.circuit.curves import OPEN, Curve
from kb.circuit.net import GROUND, Element, Key, Net, contact_key, output_curve, own_curve
from kb.circuit.tolerances import Aside
from kb.netlist import Change, Part, Position, Terminal

TOUCH = 1e-3  # ohm where bare metal touches
COPPER = ("connector", "splice", "ground", "switch", "limit switch", "relay")
LOW = 0.8  # of a battery's stated volts; common practice, no source
# The order in which things wrong at once are put in, whatever the order of words: a battery's volts, how bad parts
# are, what they touch, what is open.
_TURNS = {"low": 0, "ohms": 1, "ground": 3, "touches": 3, "open": 4, "contact-open": 4, "unplugged": 4, "blown": 4}


@dataclass(slots=True)
class Draft:
    """A variant while it is put together; later words win, as a fault does over a switch.

    `spare` counts nodes beyond the net's; `worn` are the ohms of contacts that a relay has yet to close; `halves`
    are wires that touch something: the node in their middle, and the place of their second half in `extra`.
    `stated` are elements whose figure a fault states, `following` outputs that give the battery's volts.
    """

    net: Net
    share: float = 1.0
    curves: dict[int, Curve] = field(default_factory=dict)
    ends: dict[int, tuple[int, int]] = field(default_factory=dict)
    extra: list[tuple[int, int, Curve]] = field(default_factory=list)
    spare: int = 0
    worn: dict[Key, float] = field(default_factory=dict)
    halves: dict[int, tuple[int, int]] = field(default_factory=dict)
    stated: set[int] = field(default_factory=set)
    following: set[int] = field(default_factory=set)

    def variant(self) -> Variant:
        """The finished variant."""
        return Variant(self.curves, self.ends, tuple(self.extra))

    def aside(self) -> Aside:
        """What tolerances don't reach, or reach in another way."""
        alike = {second: place for place, (_, second) in self.halves.items()}
        return Aside(frozenset(self.stated), frozenset(self.following), len(self.extra), alike)

    def curve(self, place: int) -> Curve:
        """The curve of an element as it stands now."""
        return self.curves.get(place, self.net.elements[place].curve)

    def set(self, key: Key, curve: Curve) -> None:
        """Give the element of this key a curve."""
        self.curves[self.net.index[key]] = curve

    def of(self, part: str) -> Iterator[tuple[int, Element]]:
        """The elements of a part or wire."""
        return ((i, self.net.elements[i]) for i in self.net.places.get(part, ()))

    def ends_of(self, place: int) -> tuple[int, int]:
        """The nodes of an element as it stands now."""
        return self.ends.get(place) or (self.net.elements[place].a, self.net.elements[place].b)

    def copper(self, start: int, end: int) -> bool:
        """True where wires, plugs, contacts and touching metal alone lead from one node to another."""
        ways: dict[int, set[int]] = {}
        for a, b in self._copper():
            ways.setdefault(a, set()).add(b)
            ways.setdefault(b, set()).add(a)
        seen, ahead = {start}, [start]
        while ahead:
            new = ways.get(ahead.pop(), set()) - seen
            seen |= new
            ahead.extend(new)
        return end in seen

    def _copper(self) -> Iterator[tuple[int, int]]:
        least = 1 / curves.COPPER
        for place, element in enumerate(self.net.elements):
            part = self.net.circuit.parts.get(element.key[0])
            if (part is None or part.kind in COPPER and element.key[-1] != "coil") and self.curve(place).slopes[
                0
            ] >= least:
                yield self.ends_of(place)
        yield from ((a, b) for a, b, curve in self.extra if len(curve.ends) == 1 and curve.slopes[0] >= least)

    # Switches, outputs, plugs.

    def position(self, position: Position) -> None:
        """Close what the position joins, drive what it drives."""
        for part, pairs in position.joins.items():
            contact = self.net.circuit.parts[part].values["contact"].value
            for a, b in pairs:
                self.set(contact_key(part, a, b), curves.ohms(contact))
        for name, drive in position.drives.items():
            output = self.net.circuit.parts.get(name)
            if output and drive:
                self._drive(output, drive)

    def _drive(self, output: Part, drive: str) -> None:
        place = self.net.index[(output.name,)]
        self.curves[place] = output_curve(self.net.circuit, output, drive, self.share)
        if drive == "high":
            self.following.add(place)
        else:
            self.following.discard(place)

    def relay(self, part: Part, pulled: bool) -> None:
        """Set a relay's contacts."""
        make, rest = self._relay_keys(part)
        for key, on in ((make, pulled), (rest, not pulled)):
            if key in self.net.index and self.net.index[key] not in self.curves:
                self.set(key, curves.ohms(self.worn.get(key, part.values["contact"].value)) if on else OPEN)

    def _relay_keys(self, part: Part) -> tuple[Key, Key]:
        make = contact_key(part.name, part.pins[2], part.pins[3])
        return make, contact_key(part.name, part.pins[2], part.pins[4]) if len(part.pins) > 4 else ()

    def unplug(self, connector: str) -> None:
        """Take a connector apart."""
        for place, _ in self.of(connector):
            self.curves[place] = OPEN

    # Faults.

    def put(self, changes: Iterable[Change]) -> None:
        """Put several things wrong; the order of words doesn't matter."""
        for change in sorted(changes, key=lambda c: _TURNS.get(c.how, 2)):
            self.change(change)

    def change(self, change: Change) -> None:
        """Put one thing wrong."""
        if change.how in ("open", "unplugged", "blown"):
            self._open(change.what)
        elif change.how == "ohms" and change.contact and isinstance(change.what, str):
            self._contact_ohms(contact_key(change.what, *change.contact), change.ohms or 0.0)
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
        elif change.how in ("stuck-on", "stuck-off") and isinstance(change.what, str):
            self._drive(self.net.circuit.parts[change.what], "high" if change.how == "stuck-on" else "")
        elif isinstance(change.what, str):
            self._worn({self.net.index[(change.what,)]: self._odd(change.how, self.net.circuit.parts[change.what])})

    def _odd(self, how: str, part: Part) -> Curve:
        """The curve of a part that is seized, low or reversed."""
        if how == "seized":
            return curves.ohms(part.values["ohms"].value)
        if how == "low":
            return own_curve(self.net.circuit, part, self.share * LOW)
        return curves.backwards(self.curve(self.net.index[(part.name,)]))

    def _at(self, what: str | Terminal) -> Iterator[int]:
        """The elements that a word stands for: a wire, a part's, or those of a part at one terminal."""
        if isinstance(what, str):
            yield from (place for place, _ in self.of(what))
            return
        node = self.net.node(what)
        yield from (place for place, e in self.of(what.part) if node in (e.a, e.b))

    def _open(self, what: str | Terminal) -> None:
        """No way through. A wire that touches something is open behind that place, seen from its first end."""
        for place in self._at(what):
            if place in self.halves:
                node, second = self.halves[place]
                self.extra[second] = (node, self.extra[second][1], OPEN)
            else:
                self.curves[place] = OPEN

    def _ohms(self, what: str | Terminal, value: float) -> None:
        part = self.net.circuit.parts.get(what.part if isinstance(what, Terminal) else what)
        if part is None or part.kind in ("connector", "splice", "ground"):
            self._stated({place: curves.ohms(value) for place in self._at(what)})
        elif isinstance(what, Terminal):
            self._in_series(what, value)
        elif part.kind in ("switch", "limit switch", "relay"):
            for _, element in self.of(part.name):
                self._contact_ohms(element.key, value)
        else:
            self._stated({place: self._own_ohms(part, place, value) for place in self._at(what)})

    def _stated(self, new: dict[int, Curve]) -> None:
        """Curves whose ohms a fault states."""
        self.stated |= new.keys()
        self._worn(new)

    def _worn(self, new: dict[int, Curve]) -> None:
        """Curves that get worse; what is open already stays so."""
        self.curves.update({place: curve for place, curve in new.items() if self.curve(place) != OPEN})

    def _own_ohms(self, part: Part, place: int, value: float) -> Curve:
        """The curve of a part whose stated resistance becomes another."""
        if part.kind == "motor":
            return curves.motor(value, part.values["runs"].value)
        if part.kind == "led":
            return curves.threshold(part.values["volts"].value, value)
        if part.kind == "potentiometer":
            leg = self.net.elements[place].curve.slopes[0]
            return curves.ohms(value / (part.values["ohms"].value * leg))
        return curves.behind(self.curve(place), value) if len(self.curve(place).ends) == 1 else curves.ohms(value)

    def _contact_ohms(self, key: Key, value: float) -> None:
        place = self.net.index.get(key)
        if place is not None and key[-1] != "coil":
            self.worn[key] = value
            self.stated.add(place)
            if self.curve(place) != OPEN:
                self.curves[place] = curves.ohms(value)

    def _in_series(self, what: Terminal, value: float) -> None:
        """A bad terminal of a part: its resistance stands between the wires that end there and the part."""
        node, new = self.net.node(what), self._new_node()
        for place, _ in self.of(what.part):
            a, b = self.ends_of(place)
            self.ends[place] = (new if a == node else a, new if b == node else b)
        self.extra.append((node, new, curves.ohms(value)))

    def _new_node(self) -> int:
        self.spare += 1
        return self.net.count + self.spare - 1

    def _contact(self, part: str, contact: tuple[str, str], welded: bool) -> None:
        key = contact_key(part, *contact)
        value = curves.ohms(self.net.circuit.parts[part].values["contact"].value)
        if key in self.net.index:
            self.set(key, value if welded else OPEN)
        elif welded:
            a, b = (self.net.node(Terminal(part, pin)) for pin in contact)
            self.extra.append((a, b, value))

    def _point(self, what: str | Terminal) -> int:
        """The node where something touches: a wire's middle, a terminal, a part's first terminal."""
        if isinstance(what, Terminal):
            return self.net.node(what)
        if what in self.net.circuit.wires:
            return self._middle(self.net.index[(what,)])
        part = self.net.circuit.parts[what]
        return self.net.node(Terminal(part.name, part.pins[0]))

    def _middle(self, place: int) -> int:
        """The node in the middle of a wire, which is cut in two halves there."""
        if place not in self.halves:
            node = self._new_node()
            a, b = self.ends_of(place)
            half = curves.line(2 * self.curve(place).slopes[0])
            self.halves[place] = (node, len(self.extra))
            self.ends[place], self.curves[place] = (a, node), half
            self.extra.append((node, b, half))
        return self.halves[place][0]

    def _cross(self, what: object, other: object) -> None:
        if not isinstance(what, Terminal) or not isinstance(other, Terminal):
            return
        first, second = (self.net.index.get((t.part, t.pin)) for t in (what, other))
        if first is None or second is None:
            return
        (a, x), (b, y) = self.ends_of(first), self.ends_of(second)
        self.ends[first], self.ends[second] = (a, y), (b, x)
