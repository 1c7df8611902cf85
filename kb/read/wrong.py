"""The `What is wrong` cells of a circuit: what a cause changes in it."""

from __future__ import annotations

import re

from kb.model import Cell
from kb.netlist import Change, Part, Terminal
from kb.quantity import quantity
from kb.read.circuit_names import CircuitNames

_HELP = (
    "write `W4 open`, `J2.common 60 ohm`, `W4 touches ground`, `W4 touches W5`, `J2 unplugged`, "
    "`J2.1 crossed with J2.3`, `S1 feed-V open`, `S1 feed-V welded`, `S1 feed-V 5 ohm`, `M1 seized`, `F7 blown`, "
    "`F7 loose`, `B1 low`, `K1 coil open`, `L1 reversed`, `D1 shorted`, `U1 stuck on`, `U1 stuck off`, "
    "`M1 half the ohms` or `H1 double the ohms`"
)
SHORTED, LOOSE = 0.01, 0.5  # ohm of a diode or cell that is shorted (from memory), of a fuse that is loose
_CONTACT = re.compile(r"(\S+) (\S+-\S+) (open|welded|\d\S*(?: \S+)?)")
_COIL = re.compile(r"(\S+) coil open")
_CROSSED = re.compile(r"(\S+) crossed with (\S+)")
_TOUCHES = re.compile(r"(\S+(?: \S+)?) touches (\S+(?: \S+)?)")
_STATE = re.compile(
    r"(\S+(?: [^\W\d]\S*)?) "
    r"(open|unplugged|seized|blown|loose|low|reversed|shorted|stuck on|stuck off|half the ohms|double the ohms)"
)
_OHMS = re.compile(r"(\S+(?: [^\W\d]\S*)?) (\d\S*(?: \S+)?)")
_SWITCHED = ("switch", "limit switch", "relay")
_FITS = {
    "unplugged": ("connector",), "seized": ("motor",), "blown": ("fuse",), "loose": ("fuse",), "low": ("battery",),
    "reversed": ("led", "diode"), "shorted": ("diode", "cell"), "stuck on": ("output",), "stuck off": ("output",),
    "half the ohms": ("motor",), "double the ohms": ("heater", "resistor"),
}  # fmt: skip
_OTHERWISE = ("shorted", "loose", "half the ohms", "double the ohms")  # told by other words of a change
_OF_OWN_OHMS = {"half the ohms": 0.5, "double the ohms": 2.0}


class WrongReader:
    """Reads one change at a time against the parts and wires of a circuit."""

    def __init__(self, circuit: CircuitNames) -> None:
        self.circuit = circuit

    def read(self, cell: Cell) -> Change | None:
        """The change that a cell states; None, and a problem, where it states none."""
        text = cell.text
        if match := _CONTACT.fullmatch(text):
            return self._contact(cell, *match.groups())
        if match := _COIL.fullmatch(text):
            return self._coil(cell, match[1])
        if match := _CROSSED.fullmatch(text):
            return self._pair(cell, "crossed", match[1], match[2])
        if match := _TOUCHES.fullmatch(text):
            if match[2] == "ground":
                what = self._thing(cell, match[1])
                return Change("ground", what) if what else None
            return self._pair(cell, "touches", match[1], match[2])
        if match := _STATE.fullmatch(text):
            return self._state(cell, match[1], match[2])
        if match := _OHMS.fullmatch(text):
            what, ohms = self._thing(cell, match[1]), self._ohms(cell, match[2])
            return Change("ohms", what, ohms=ohms) if what and ohms else None
        self._no_fault(cell)
        return None

    def _no_fault(self, cell: Cell) -> None:
        self.circuit.problem(cell, f"`{cell.text}` says no fault", _HELP)

    def _ohms(self, cell: Cell, text: str) -> float | None:
        """A resistance above zero."""
        read = quantity(text)
        if read is None or read[1] != "ohm":
            self._no_fault(cell)
        elif read[0] <= 0:
            self.circuit.problem(cell, f"`{text}` has to be more than zero", _HELP)
        else:
            return read[0]
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
        if state in ("open", "welded"):
            return Change("welded" if state == "welded" else "contact-open", name, contact=contact) if contact else None
        ohms = self._ohms(cell, state)
        return Change("ohms", name, contact=contact, ohms=ohms) if contact and ohms else None

    def _coil(self, cell: Cell, name: str) -> Change | None:
        part = self.circuit.parts.get(name)
        if part is None:
            self._thing(cell, name)
        elif part.kind == "relay" and part.pins:
            return Change("open", Terminal(name, part.pins[0]))
        elif name not in self.circuit.doubtful:
            self.circuit.problem(cell, f"`{name}` is a {part.kind}, which has no coil", _HELP)
        return None

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
        if what and state in _FITS:
            part = self._part(what, state)
            if part is not None and part.kind in _FITS[state]:
                return self._of_part(part, state)
            if name not in self.circuit.doubtful:
                fits = " or ".join(_FITS[state])
                article = "an" if fits[0] in "aeiou" else "a"
                self.circuit.problem(cell, f"`{name}` can't be {state}: that is said of {article} {fits}", _HELP)
                return None
        return Change(state, what) if what and state not in _OTHERWISE else None

    def _part(self, what: str | Terminal, state: str) -> Part | None:
        """The part that is in this state; an output may be named by its pin."""
        if isinstance(what, str):
            return self.circuit.parts.get(what)
        return self.circuit.parts[what.part] if state in ("stuck on", "stuck off") else None

    def _of_part(self, part: Part, state: str) -> Change | None:
        """What a state changes in a part that it fits; None where the part's own ohms couldn't be read."""
        if state == "shorted" or state == "loose":
            return Change("ohms", part.name, ohms=SHORTED if state == "shorted" else LOOSE)
        if state in _OF_OWN_OHMS:
            own = part.values.get("ohms")
            return Change("ohms", part.name, ohms=own.value * _OF_OWN_OHMS[state]) if own else None
        return Change(state.replace(" ", "-"), part.name)

    def _thing(self, cell: Cell, name: str) -> str | Terminal | None:
        """A part, a wire or a terminal."""
        circuit = self.circuit
        if name in circuit.parts or name in circuit.wires:
            return name
        if "." in name:
            return circuit.terminal(Cell(cell.span, name))
        circuit.unknown(cell, name, {**circuit.parts, **circuit.wires})
        return None
