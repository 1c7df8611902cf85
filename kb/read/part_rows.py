"""The rows of `Part` and `Wire` tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from kb.model import Cell, Row, Table
from kb.netlist import Part, Wire
from kb.quantity import nearest, quantity
from kb.read.circuit_names import NAME, CircuitNames
from kb.read.parts import PART_KINDS, Values, read_value

COLOURS: frozenset[str] = frozenset("BK BN RD OG YE GN BU VT GY WH PK GD TQ SR".split())  # IEC 60757


class PartRows(CircuitNames):
    """Reads parts and wires into the names of a circuit."""

    def read_part(self, row: Row, cells: Mapping[str, Cell], table: Table) -> None:
        """A part by its row."""
        name, kind = cells["Part"].text, cells["Kind"].text
        if not NAME.fullmatch(name):
            self.problem(cells["Part"], f"`{name}` is no part's name", "write a letter, then letters and digits")
        elif name in self.parts:
            self.problem(cells["Part"], f"`{name}` stands here twice", "give each part its own name")
        elif kind not in PART_KINDS:
            near = nearest(kind, PART_KINDS)
            self.problem(
                cells["Kind"],
                f"`{kind}` is no kind of part",
                f"did you mean `{near}`?" if near else "kinds: " + ", ".join(PART_KINDS),
            )
            pins = tuple(cells["Pins"].text.split())
            self.parts[name] = Part(name, near or kind, pins, span=row.span, value_text=cells["Values"].text)
        else:
            self.parts[name] = self._known_part(row, cells, name, kind)

    def _known_part(self, row: Row, cells: Mapping[str, Cell], name: str, kind: str) -> Part:
        spec = PART_KINDS[kind]
        pins = self._pins(cells["Pins"], row, spec.pins, spec.least)
        values = Values()
        for cell in self.split(cells["Values"], ","):
            wrong = read_value(kind, pins or ("a",), cell.text, values)
            if wrong:
                self.problem(cell, wrong, self._value_help(kind))
        missing = [n for n in spec.needed if n not in values.quantities]
        missing += ["sides"] if kind == "connector" and not values.sides else []
        if missing and not any(p.span.line == row.span.line for p in self.problems):
            where = cells["Values"] if cells["Values"].text else replace(cells["Part"], span=row.span)
            self.problem(where, f"a {kind} needs its {', '.join(missing)}", self._value_help(kind))
        quantities = {**spec.defaults, **values.quantities}
        return Part(
            name, kind, pins, quantities, values.words, values.sides, values.turns, row.span, cells["Values"].text
        )

    def _value_help(self, kind: str) -> str:
        forms = [f"{words} {unit}".strip() for words, unit in PART_KINDS[kind].values]
        return f"a {kind} takes: " + ", ".join([*forms, *(["sides NEAR FAR"] if kind == "connector" else [])])

    def _pins(self, cell: Cell, row: Row, names: tuple[str, ...], least: int) -> tuple[str, ...]:
        pins = tuple(cell.text.split()) or names[: max(least, 1)]
        where = cell if cell.text else replace(cell, span=row.span)
        if len(set(pins)) < len(pins):
            self.problem(where, "a pin stands here twice", "give each pin its own name")
        elif len(pins) < least or names and len(pins) > len(names):
            count = f"{least}" if len(names) in (0, least) else f"{least} or {len(names)}"
            more = "" if names else " or more"
            self.problem(where, f"this part has {count}{more} pins", " ".join(names))
        return pins

    def read_wire(self, row: Row, cells: Mapping[str, Cell], table: Table) -> None:
        """A wire by its row, with its colour, size and length."""
        name = cells["Wire"].text
        if not NAME.fullmatch(name) or name in self.wires or name in self.parts:
            self.problem(
                cells["Wire"],
                f"`{name}` is no wire's name, or stands here twice",
                "give each wire a name of its own, such as `W4`",
            )
            return
        start, end = self.terminal(cells["From"]), self.terminal(cells["To"])
        mm2, metres = self._number(cells["mm2"], "mm2"), self._number(cells["Length"], "m")
        self.doubtful |= set() if start and end else {name}
        if start and end:
            colour = self._colour(cells["Colour"])
            self.wires[name] = Wire(name, start, end, colour, mm2, metres, cells["Bundle"].text, row.span)

    def _number(self, cell: Cell, unit: str) -> float | None:
        if not cell.text:
            return None
        read = quantity(cell.text) or quantity(f"{cell.text} {unit}")
        if read is None or read[1] != unit or read[0] <= 0:
            self.problem(cell, f"`{cell.text}` is no size in {unit}", f"write a number above zero, in {unit}")
            return None
        return read[0]

    def _colour(self, cell: Cell) -> tuple[str, ...]:
        text = cell.text.upper().replace("/", "")
        codes = tuple(text[i : i + 2] for i in range(0, len(text), 2))
        if any(code not in COLOURS for code in codes) or len(codes) > 2:
            self.problem(
                cell,
                f"`{cell.text}` is no wire colour",
                "one or two IEC 60757 codes, base first: " + " ".join(sorted(COLOURS)),
            )
            return ()
        return codes
