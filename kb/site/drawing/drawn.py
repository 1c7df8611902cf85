"""A circuit as the templates draw it: its shapes, and what each of them shows at first."""

from __future__ import annotations

from dataclasses import dataclass

from kb.circuit.claims import Held
from kb.circuit.soundness import joined, too_large
from kb.model import Base, Node
from kb.netlist import Change, Circuit, Terminal
from kb.site.drawing.layout import draw
from kb.site.drawing.narrow import WIDTH, draw_narrow
from kb.site.drawing.shapes import Drawing, WireDrawing
from kb.site.drawing.shown import Picture, Shown, level, told, volts

BESIDE = 840  # px
STEPS = (700, 800, 900, 1100, 1300, 1400)  # px of a screen from which on a drawing has room
MARGIN = 64  # px that a screen is wider than a drawing on it


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault to put in; the first is none.

    `wrong` names the wires, parts and pins that it sits in; `state` is as `Seen.state`.
    """

    cause: str
    words: str
    wrong: tuple[str, ...]
    state: str


class Drawn:
    """A circuit's drawing and, where it can be solved, its pictures; `held` is its survey, where there is one."""

    def __init__(self, base: Base, node: Node, slug: str, held: Held | None = None) -> None:
        self.circuit: Circuit = base.circuits[node.id]
        self.name, self.slug, self.anchor, self.node = node.name, slug, node.anchor, node
        self.drawing: Drawing = draw(self.circuit)
        self.narrow: Drawing | None = draw_narrow(self.circuit) if self.drawing.width > WIDTH else None
        fit = not too_large(self.circuit) and not any(joined(self.circuit, p) for p in self.circuit.positions.values())
        solved = Shown(self.circuit, held) if fit and self.circuit.positions else None
        self.shown = solved if solved and not solved.seen[0].state else None
        self.positions = tuple(self.circuit.positions)
        self.faults = (Fault("", "", (), ""), *self._faults(base)) if self.shown else ()

    def _faults(self, base: Base) -> list[Fault]:
        if self.shown is None:
            return []
        causes = [base.target(row.cause) if row.cause else None for row in self.circuit.faults]
        return [
            Fault(cause.name if cause else "", row.words, tuple(dict.fromkeys(_wrong(row.changes))), seen.state)
            for cause, row, seen in zip(causes, self.circuit.faults, self.shown.seen[1:], strict=True)
        ]

    @property
    def first(self) -> int:
        """The number of the position that is drawn at first."""
        return self.shown.first if self.shown else 0

    @property
    def now(self) -> Picture | None:
        """What is drawn at first: the healthy circuit at work."""
        return self.shown.pictures[0][self.first] if self.shown else None

    @property
    def beside(self) -> bool:
        """True for a drawing that leaves room for its keys at its side on a wide screen."""
        return self.drawing.width <= BESIDE

    @property
    def room(self) -> int:
        """The step in px from which on a screen has room for the drawing; less wide ones show the narrow one."""
        return next((step for step in STEPS if self.drawing.width + MARGIN <= step), STEPS[-1])

    @property
    def broken(self) -> bool:
        """True where wires of the narrow drawing are broken."""
        return self.narrow is not None and any(wire.broken for wire in self.narrow.wires)

    @property
    def silent(self) -> str:
        """Why nothing is told."""
        return "nothing is computed: this circuit has no solved state."

    @property
    def alternative(self) -> str:
        """The drawing in one sentence, for those who can't see it."""
        return (
            f"Wiring of {self.name}: {len(self.circuit.parts)} parts and {len(self.circuit.wires)} wires "
            "between rail 30 and rail 31. What it shows stands in words beside it, and parts and wires in tables below."
        )

    def said(self, fault: int, position: int) -> str:
        """A picture in words."""
        return told(self.circuit, self.shown.pictures[fault][position]) if self.shown else ""

    # Classes and words of shapes in a picture.

    def flow(self, now: Picture | None, wire: str) -> str:
        """Classes of a wire: whether it carries current, and whether from its end to its start."""
        return _run(now.amps[wire]) if now else ""

    def joint(self, now: Picture | None, key: tuple[str, ...]) -> str:
        """Classes of what a box joins."""
        if now is None or key not in now.contacts:
            return " shut" if now else ""
        amps = now.contacts[key]
        return "" if amps is None else " shut" + _run(amps)

    def level(self, now: Picture | None, part: str) -> str:
        """Class of a part by what it does."""
        found = level(self.state(now, part))
        return f" is-{found}" if found else ""

    def state(self, now: Picture | None, part: str) -> str:
        """What a part does, in words."""
        return now.states.get(part, "") if now else ""

    def volts(self, now: Picture | None, wire: str, end: int) -> str:
        """A plate's words."""
        return volts(now.volts[wire][end]) if now else ""

    def plate(self, now: Picture | None, wire: WireDrawing, end: int) -> bool:
        """True where a plate is shown: at the lower end, and at the upper where its voltage is another."""
        if now is None:
            return False
        return self.low(wire) == end or differ(now.volts[wire.name])

    def low(self, wire: WireDrawing) -> int:
        """The end of a wire that stands lower in the drawing."""
        return int(wire.plates[1][1] >= wire.plates[0][1])


def differ(ends: tuple[int | None, int | None]) -> bool:
    """True for a wire whose ends stand 0.05 V apart or more, or one of them floats."""
    first, second = ends
    return first != second and (first is None or second is None or abs(first - second) >= 5)


def _run(amps: int) -> str:
    return "" if not amps else " live" if amps > 0 else " live back"


def _wrong(changes: tuple[Change, ...]) -> list[str]:
    """Names of what the changes sit in."""
    found = []
    for change in changes:
        for thing in (change.what, change.other):
            if isinstance(thing, Terminal):
                found += [thing.part, f"{thing.part}.{thing.pin}"]
            elif thing:
                found.append(thing)
    return found
