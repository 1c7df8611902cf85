"""What the circuits' tables say of a point: its cavity and wire colour on each vehicle; connector faces."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from kb.model import Base, Node
from kb.netlist import Circuit, Part, ReadingRow, Terminal, Wire
from kb.reference import Kind
from kb.site.place import unique

# IEC 60757 codes: the colour in words, and an approximation for the screen.
COLOURS: Mapping[str, tuple[str, str]] = {
    "BK": ("black", "#111111"), "BN": ("brown", "#7a4a1e"), "RD": ("red", "#d0121b"),
    "OG": ("orange", "#ff7a00"), "YE": ("yellow", "#ffdd00"), "GN": ("green", "#138a36"),
    "BU": ("blue", "#1557c0"), "VT": ("violet", "#7b2fa8"), "GY": ("grey", "#8b9296"),
    "WH": ("white", "#ffffff"), "PK": ("pink", "#f08cb0"), "GD": ("gold", "#b8962e"),
    "TQ": ("turquoise", "#1fb5b0"), "SR": ("silver", "#c5cbce"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Paint:
    """A wire's colour: code as the trade writes it, words, and screen colours (tracer may be empty)."""

    code: str
    words: str
    base: str
    tracer: str


def paint(codes: tuple[str, ...]) -> Paint | None:
    """The paint of IEC 60757 codes (base, then tracer); None without a known code."""
    if not codes or any(code not in COLOURS for code in codes[:2]):
        return None
    words = " with ".join(COLOURS[code][0] for code in codes[:2])
    tracer = COLOURS[codes[1]][1] if len(codes) > 1 else ""
    return Paint("/".join(codes[:2]), words, COLOURS[codes[0]][1], tracer)


@dataclass(frozen=True, slots=True)
class Spot:
    """A terminal as one circuit's tables give it."""

    terminal: Terminal
    cavity: str
    paints: tuple[Paint, ...]

    @property
    def told(self) -> bool:
        """True where the tables say more than the name."""
        return bool(self.cavity or self.paints)


@dataclass(frozen=True, slots=True)
class Seen:
    """A point of a page's text on one vehicle."""

    vehicle: Node
    spot: Spot


@dataclass(frozen=True, slots=True)
class Where:
    """Where a test's instrument goes, alike on these vehicles.

    On a whole part it has no spot but the part's `kind`, round a wire the wire's `paint`.
    """

    vehicles: tuple[Node, ...]
    circuits: tuple[Node, ...]
    row: ReadingRow
    red: Spot | None
    black: Spot | None
    kind: str = ""
    paint: Paint | None = None

    @property
    def told(self) -> tuple[object, ...]:
        """What the tables say of the place."""
        return self.red, self.black, self.kind, self.paint


@dataclass(frozen=True, slots=True)
class Cavity:
    """A cavity of a connector's face."""

    number: str
    pin: str
    paint: Paint | None


@dataclass(frozen=True, slots=True)
class Face:
    """One side of a connector whose cavities the tables name, in the order of their numbers."""

    part: Part
    side: str
    cavities: tuple[Cavity, ...]


class Wiring:
    """The base's circuits, asked by page, test and vehicle."""

    def __init__(self, base: Base) -> None:
        self._base = base
        self._vehicles = _vehicles(base)
        self._by_page = _by_page(base)
        self._showing = _showing(base)
        self._rows = _rows(base)

    def vehicles(self, circuit: str) -> tuple[Node, ...]:
        """The vehicles that have a circuit."""
        return self._vehicles.get(circuit, ())

    def circuits(self, vehicle: Node) -> tuple[Node, ...]:
        """The circuits of a vehicle."""
        return tuple(self._base.nodes[c] for c, owners in self._vehicles.items() if _owned(owners, vehicle))

    def showing(self, symptom: Node) -> tuple[Node, ...]:
        """The circuits that say how a symptom shows."""
        return unique(self._showing.get(symptom.id, ()))

    def seen(self, path: str, text: str) -> tuple[Seen, ...]:
        """A point named on a page, on each vehicle whose circuit tells more of it."""
        found = []
        for name in self._by_page.get(path, ()):
            circuit = self._base.circuits[name]
            if terminal := _terminal(circuit, text):
                spot = _spot(circuit, terminal)
                found += [Seen(vehicle, spot) for vehicle in self.vehicles(name) if spot.told]
        return tuple(found)

    def wheres(self, test: Node) -> tuple[Where, ...]:
        """Where a test's instrument goes; vehicles on which it goes to the same place stand together."""
        alike: dict[tuple[object, ...], list[Where]] = defaultdict(list)
        for name, circuit, row in self._rows.get(test.id, ()):
            red, black = _lead(circuit, row.red), _lead(circuit, row.black)
            kind, colour = _whole(circuit, row.red)
            place = Where(self.vehicles(name), (self._base.nodes[name],), row, red, black, kind, colour)
            alike[row.position, row.unplugged, row.instrument, str(row.red), *place.told].append(place)
        return tuple(_together(places) for places in alike.values())


def faces(circuit: Circuit) -> tuple[Face, ...]:
    """The connector faces that a circuit's `Cavity of` tables give, one for each side with a wire."""
    return tuple(
        Face(part, side, cavities)
        for part in circuit.parts.values()
        for side in part.sides or ("",)
        if (cavities := _cavities(circuit, part, side)) and any(c.paint for c in cavities)
    )


def _cavities(circuit: Circuit, part: Part, side: str) -> tuple[Cavity, ...]:
    spots = [_spot(circuit, Terminal(part.name, pin, side)) for pin in part.pins]
    cavities = [Cavity(spot.cavity, spot.terminal.pin, next(iter(spot.paints), None)) for spot in spots if spot.cavity]
    return tuple(sorted(cavities, key=lambda c: (len(c.number), c.number)))


def _vehicles(base: Base) -> dict[str, tuple[Node, ...]]:
    """A circuit belongs to the vehicles that name it, else to the one it stands in, else to its page's."""
    owners: dict[str, list[Node]] = defaultdict(list)
    for vehicle in base.of_kind(Kind.VEHICLE):
        for circuit in base.all(vehicle.refs("Circuits")):
            owners[circuit.id].append(vehicle)
    for name in base.circuits:
        owners[name] = owners[name] or _around(base, base.nodes[name])
    return {name: unique(found) for name, found in owners.items()}


def _owned(owners: tuple[Node, ...], vehicle: Node) -> bool:
    return any(owner.id == vehicle.id for owner in owners)


def _around(base: Base, circuit: Node) -> list[Node]:
    around = [node for node in base.ancestors(circuit) if node.kind is Kind.VEHICLE]
    return around[:1] or [n for n in base.pages[circuit.page].nodes if n.kind is Kind.VEHICLE]


def _by_page(base: Base) -> dict[str, list[str]]:
    """A page's circuits: those on it, and those whose tables name a node of it."""
    found: dict[str, list[str]] = defaultdict(list)
    for name, circuit in base.circuits.items():
        refs = [row.cause for row in circuit.faults] + [row.symptom for row in circuit.symptoms]
        refs += [row.test for row in circuit.readings]
        named = base.all(tuple(ref for ref in refs if ref))
        for page in dict.fromkeys([base.nodes[name].page, *(node.page for node in named)]):
            found[page].append(name)
    return found


def _showing(base: Base) -> dict[str, list[Node]]:
    """For each symptom the circuits that say how it shows."""
    found: dict[str, list[Node]] = defaultdict(list)
    for name, circuit in base.circuits.items():
        for row in circuit.symptoms:
            if row.symptom and (symptom := base.targets.get(row.symptom)):
                found[symptom].append(base.nodes[name])
    return found


def _rows(base: Base) -> dict[str, list[tuple[str, Circuit, ReadingRow]]]:
    rows: dict[str, list[tuple[str, Circuit, ReadingRow]]] = defaultdict(list)
    for name, circuit in base.circuits.items():
        for row in circuit.readings:
            if row.test and (test := base.targets.get(row.test)):
                rows[test].append((name, circuit, row))
    return rows


def _terminal(circuit: Circuit, text: str) -> Terminal | None:
    point, _, side = text.partition(" ")
    name, _, pin = point.partition(".")
    part = circuit.parts.get(name)
    return _sided(circuit, Terminal(name, pin, side.strip())) if part and pin in part.pins else None


def _sided(circuit: Circuit, terminal: Terminal) -> Terminal:
    """A connector's point without a side is on the first."""
    part = circuit.parts.get(terminal.part)
    if part and part.sides and not terminal.side:
        return Terminal(terminal.part, terminal.pin, part.sides[0])
    return terminal


def _together(places: list[Where]) -> Where:
    """Places that are alike, as one."""
    vehicles = unique(vehicle for place in places for vehicle in place.vehicles)
    circuits = unique(circuit for place in places for circuit in place.circuits)
    return replace(places[0], vehicles=vehicles, circuits=circuits)


def _lead(circuit: Circuit, what: str | Terminal | None) -> Spot | None:
    return _spot(circuit, what) if isinstance(what, Terminal) else None


def _whole(circuit: Circuit, what: str | Terminal | None) -> tuple[str, Paint | None]:
    """The kind of a part that is looked at whole, and the paint of a wire that is clamped."""
    if not isinstance(what, str):
        return "", None
    part, wire = circuit.parts.get(what), circuit.wires.get(what)
    return (part.kind if part else "wire" if wire else ""), paint(wire.colour) if wire else None


def _spot(circuit: Circuit, terminal: Terminal) -> Spot:
    paints = [paint(wire.colour) for wire in _wires_at(circuit, _sided(circuit, terminal))]
    pins = {(at.part, at.pin): cavity for at, cavity in circuit.cavities.items()}
    cavity = pins.get((terminal.part, terminal.pin), "")
    return Spot(terminal, cavity, tuple(dict.fromkeys(p for p in paints if p)))


def _wires_at(circuit: Circuit, terminal: Terminal) -> Iterator[Wire]:
    for wire in circuit.wires.values():
        if terminal in (_sided(circuit, wire.start), _sided(circuit, wire.end)):
            yield wire
