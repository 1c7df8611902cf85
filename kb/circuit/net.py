"""A circuit as a net: terminals as numbered nodes, parts and wires as elements with a curve."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from kb.circuit import curves
from kb.circuit.curves import OPEN, Curve
from kb.netlist import Circuit, Part, Terminal

GROUND = 0
Key = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Element:
    """Between nodes `a` and `b`. `key` names it: (part,), (wire,), (part, pin) or (part, pin, pin)."""

    key: Key
    a: int
    b: int
    curve: Curve


@dataclass(frozen=True)
class Net:
    """The healthy circuit with all switches open. Node 0 is the chassis.

    `index` is each element's place by key, `places` those of each part and wire.
    """

    circuit: Circuit
    nodes: dict[Terminal, int]
    count: int
    elements: tuple[Element, ...]
    index: dict[Key, int] = field(init=False)
    places: dict[str, tuple[int, ...]] = field(init=False)

    def __post_init__(self) -> None:
        places: dict[str, list[int]] = {}
        for place, element in enumerate(self.elements):
            places.setdefault(element.key[0], []).append(place)
        object.__setattr__(self, "index", {e.key: i for i, e in enumerate(self.elements)})
        object.__setattr__(self, "places", {name: tuple(found) for name, found in places.items()})

    def node(self, terminal: Terminal) -> int:
        """The node of a terminal; a connector's pin without side is its first side."""
        return self.nodes[full(self.circuit, terminal)]

    @property
    def volts(self) -> float:
        """The stated volts of the first battery; 0 without one."""
        return next((p.values["volts"].value for p in self.circuit.parts.values() if p.kind == "battery"), 0.0)


def full(circuit: Circuit, terminal: Terminal) -> Terminal:
    """The terminal with its side, where its part has sides."""
    part = circuit.parts[terminal.part]
    return terminal if terminal.side or not part.sides else replace(terminal, side=part.sides[0])


def compile_net(circuit: Circuit, share: float = 1.0) -> Net:
    """The net of a circuit whose sources give `share` of their stated volts."""
    nodes: dict[Terminal, int] = {}
    for part in circuit.parts.values():
        for terminal in terminals(part):
            nodes[terminal] = len(nodes) + 1
    count = len(nodes) + 1
    elements: list[Element] = []
    for part in circuit.parts.values():
        if part.kind == "splice":
            elements.extend(_star(part, nodes, count))
            count += 1
        else:
            elements.extend(_part(circuit, part, nodes, share))
    for name, wire in circuit.wires.items():
        curve = curves.ohms(curves.wire_ohms(wire.mm2, wire.metres))
        ends = full(circuit, wire.start), full(circuit, wire.end)
        elements.append(Element((name,), nodes[ends[0]], nodes[ends[1]], curve))
    return Net(circuit, nodes, count, tuple(elements))


def terminals(part: Part) -> Iterator[Terminal]:
    """All terminals of a part: a connector with sides has two a pin."""
    for side in part.sides or ("",):
        yield from (Terminal(part.name, pin, side) for pin in part.pins)


def _star(part: Part, nodes: dict[Terminal, int], middle: int) -> Iterator[Element]:
    for pin in part.pins:
        yield Element((part.name, pin), nodes[Terminal(part.name, pin)], middle, curves.ohms(part.values["ohms"].value))


def _part(circuit: Circuit, part: Part, nodes: dict[Terminal, int], share: float) -> Iterator[Element]:
    at = [nodes[Terminal(part.name, pin, part.sides[0] if part.sides else "")] for pin in part.pins]
    if part.kind == "connector":
        yield from _plug(part, nodes)
    elif part.kind in ("switch", "limit switch"):
        yield from _contacts(circuit, part, nodes)
    elif part.kind == "relay":
        yield from _relay(part, at)
    elif part.kind == "potentiometer":
        whole, place = part.values["ohms"].value, min(max(part.values["at"].value, 1e-4), 1 - 1e-4)
        yield Element((part.name, "top"), at[0], at[1], curves.ohms(whole * (1 - place)))
        yield Element((part.name, "bottom"), at[1], at[2], curves.ohms(whole * place))
    elif part.kind in ("output", "input", "ground"):
        yield Element((part.name,), at[0], GROUND, own_curve(circuit, part, share))
    else:
        yield Element((part.name,), at[0], at[1], own_curve(circuit, part, share))


def _plug(part: Part, nodes: dict[Terminal, int]) -> Iterator[Element]:
    for pin in part.pins if part.sides else ():
        a, b = (nodes[Terminal(part.name, pin, side)] for side in part.sides or ())
        yield Element((part.name, pin), a, b, curves.ohms(part.values["ohms"].value))


def _contacts(circuit: Circuit, part: Part, nodes: dict[Terminal, int]) -> Iterator[Element]:
    """Each pair that some position joins or some fault names, open at first."""
    pairs = {tuple(sorted(p)): p for position in circuit.positions.values() for p in position.joins.get(part.name, ())}
    for change in (c for row in circuit.faults for c in row.changes if c.what == part.name and c.contact):
        pairs.setdefault(tuple(sorted(change.contact or ("", ""))), change.contact or ("", ""))
    for a, b in sorted(pairs):
        yield Element((part.name, a, b), nodes[Terminal(part.name, a)], nodes[Terminal(part.name, b)], OPEN)


def _relay(part: Part, at: list[int]) -> Iterator[Element]:
    yield Element((part.name, "coil"), at[0], at[1], curves.ohms(part.values["coil"].value))
    yield Element((part.name, *sorted((part.pins[2], part.pins[3]))), at[2], at[3], OPEN)
    if len(at) > 4:
        yield Element((part.name, *sorted((part.pins[2], part.pins[4]))), at[2], at[4], OPEN)


def contact_key(part: str, a: str, b: str) -> Key:
    """The key of a switch's or relay's contact between two pins."""
    return (part, *sorted((a, b)))


def own_curve(circuit: Circuit, part: Part, share: float = 1.0) -> Curve:
    """The curve of a part with one element: what it draws from its first pin to its second or to ground."""
    value = {name: quantity.value for name, quantity in part.values.items()}
    if part.kind == "battery":
        return curves.source(value["volts"] * share, value["inside"])
    if part.kind == "fuse":
        return curves.ohms(curves.FUSE_DROP / value["amps"])
    if part.kind == "motor":
        return curves.motor(value["ohms"], value["runs"])
    if part.kind == "lamp":
        return curves.filament(value["volts"], value["watts"])
    if part.kind == "led":
        return curves.threshold(value["volts"], value["series"])
    if part.kind == "diode":
        return curves.threshold(value["volts"], curves.CONTACT_BEHIND)
    if part.kind == "output":
        return output_curve(circuit, part, "", share)
    if part.kind == "input" and part.words.get("to") == "feed":
        return curves.source(_feed(circuit) * share, value["ohms"])
    return curves.ohms(value["ohms"])


def _feed(circuit: Circuit) -> float:
    return next((p.values["volts"].value for p in circuit.parts.values() if p.kind == "battery"), 0.0)


def output_curve(circuit: Circuit, part: Part, drive: str, share: float = 1.0) -> Curve:
    """A module's output to ground: high = the battery's volts behind its ohms, low = its ohms, else at rest."""
    behind = part.values["ohms"].value
    if drive == "high":
        return curves.source(_feed(circuit) * share, behind)
    if drive == "low" or part.words.get("rest") == "ground":
        return curves.ohms(behind)
    if "rest" in part.values:
        volts = part.values["rest"].value
        return curves.source(volts, part.values["rest ohms"].value if "rest ohms" in part.values else behind)
    return OPEN


def neighbours(pins: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Pins side by side in a plug, in the order of its row."""
    listed = list(pins)
    return iter(list(zip(listed, listed[1:], strict=False)))
