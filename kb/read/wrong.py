"""The `What is wrong` cells of a circuit: what a cause changes in it."""

from __future__ import annotations

import re

from kb.model import Cell
from kb.netlist import Change, Terminal
from kb.quantity import quantity
from kb.read.circuit_names import CircuitNames

_HELP = (
    "write `W4 open`, `J2.common 60 ohm`, `W4 touches ground`, `W4 touches W5`, `J2 unplugged`, "
    "`J2.1 crossed with J2.3`, `S1 feed-V open`, `S1 feed-V welded`, `M1 seized` or `F7 blown`"
)
_CONTACT = re.compile(r"(\S+) (\S+-\S+) (open|welded)")
_CROSSED = re.compile(r"(\S+) crossed with (\S+)")
_TOUCHES = re.compile(r"(\S+(?: \S+)?) touches (\S+(?: \S+)?)")
_STATE = re.compile(r"(\S+(?: [^\W\d]\S*)?) (open|unplugged|seized|blown)")
_OHMS = re.compile(r"(\S+(?: [^\W\d]\S*)?) (\d\S*(?: \S+)?)")
_SWITCHED = ("switch", "limit switch", "relay")
_FITS = {"unplugged": ("connector",), "seized": ("motor",), "blown": ("fuse",)}


class WrongReader:
    """Reads one change at a time against the parts and wires of a circuit."""

    def __init__(self, circuit: CircuitNames) -> None:
        self.circuit = circuit

    def read(self, cell: Cell) -> Change | None:
        """The change that a cell states; None, and a problem, where it states none."""
        text = cell.text
        if match := _CONTACT.fullmatch(text):
            return self._contact(cell, *match.groups())
        if match := _CROSSED.fullmatch(text):
            return self._pair(cell, "crossed", match[1], match[2])
        if match := _TOUCHES.fullmatch(text):
            if match[2] == "ground":
                what = self._thing(cell, match[1])
                return Change("ground", what) if what else None
            return self._pair(cell, "touches", match[1], match[2])
        if match := _STATE.fullmatch(text):
            return self._state(cell, match[1], match[2])
        if (match := _OHMS.fullmatch(text)) and (read := quantity(match[2])) and read[1] == "ohm":
            what = self._thing(cell, match[1])
            if read[0] <= 0:
                self.circuit.problem(cell, f"`{match[2]}` has to be more than zero", _HELP)
            return Change("ohms", what, ohms=read[0]) if what and read[0] > 0 else None
        self.circuit.problem(cell, f"`{text}` says no fault", _HELP)
        return None

    def _contact(self, cell: Cell, name: str, pins: str, state: str) -> Change | None:
        part = self.circuit.parts.get(name)
        if part is None:
            self._thing(cell, name)
            return None
        if part.kind not in _SWITCHED and name not in self.circuit.doubtful:
            self.circuit.problem(cell, f"`{name}` is a {part.kind}, which has no contacts", _HELP)
            return None
        contact = self.circuit.contact(part, cell, pins)
        return Change("welded" if state == "welded" else "contact-open", name, contact=contact) if contact else None

    def _pair(self, cell: Cell, how: str, a: str, b: str) -> Change | None:
        what, other = self._thing(cell, a), self._thing(cell, b)
        if what and other and how == "crossed" and not (self._plug_pin(what) and self._plug_pin(other)):
            self.circuit.problem(cell, "only pins of a connector can be crossed", _HELP)
            return None
        return Change(how, what, other) if what and other else None

    def _plug_pin(self, thing: str | Terminal) -> bool:
        return isinstance(thing, Terminal) and self.circuit.parts[thing.part].kind == "connector"

    def _state(self, cell: Cell, name: str, state: str) -> Change | None:
        what = self._thing(cell, name)
        part = self.circuit.parts.get(what) if isinstance(what, str) else None
        if (
            what
            and state in _FITS
            and name not in self.circuit.doubtful
            and (part is None or part.kind not in _FITS[state])
        ):
            self.circuit.problem(cell, f"`{name}` can't be {state}: that is said of a {_FITS[state][0]}", _HELP)
            return None
        return Change(state, what) if what else None

    def _thing(self, cell: Cell, name: str) -> str | Terminal | None:
        """A part, a wire or a terminal."""
        circuit = self.circuit
        if name in circuit.parts or name in circuit.wires:
            return name
        if "." in name:
            return circuit.terminal(Cell(cell.span, name))
        circuit.unknown(cell, name, {**circuit.parts, **circuit.wires})
        return None
