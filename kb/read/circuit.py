"""Circuit tables, read as data: parts and wires first, then what refers to them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from kb.diagnostic import Problem
from kb.model import Cell, Row, Table
from kb.netlist import Circuit, FaultRow, Part, Position, ReadingRow, SymptomRow, Terminal
from kb.read.blocks import Blocks
from kb.read.findings import columns_of, short_row
from kb.read.part_rows import PartRows
from kb.read.wrong import WrongReader
from kb.reference import Kind, Ref

TABLES: Mapping[str, tuple[str, ...]] = {
    "Part": ("Part", "Kind", "Pins", "Values"),
    "Wire": ("Wire", "From", "To", "Colour", "mm2", "Length", "Bundle"),
    "Position": ("Position", "Must happen"),
    "Fault of": ("Fault of", "What is wrong"),
    "Symptom of": ("Symptom of", "Shows as"),
    "Reading of": ("Reading of", "Position", "Unplugged", "Instrument", "Red lead", "Black lead"),
    "Cavity of": ("Cavity of",),
}
NAMED = frozenset(("Fault of", "Symptom of", "Reading of"))  # their first cell is a reference
INSTRUMENTS = ("test lamp", "LED lamp", "voltmeter", "ohmmeter", "clamp", "eye")
_SWITCHES = ("switch", "limit switch")
_STATES = ("Part", "Wire", "Position")  # what the other tables refer to
_NEEDED: Mapping[str, tuple[str, ...]] = {"Part": ("Kind",), "Wire": ("From", "To")}


class CircuitReader(PartRows):
    """Reads the tables of one circuit node; `problems` are what was met."""

    def __init__(self, node: str, blocks: Blocks) -> None:
        super().__init__(blocks)
        self.node = node
        self.cavities: dict[Terminal, str] = {}
        self.refs: list[Ref] = []

    def read(self, tables: list[Table]) -> Circuit:
        """The circuit that these tables state."""
        for role in ("Part", "Wire", "Position", "Cavity of"):
            self._each(tables, role)
        faults = tuple(f for f in self._each(tables, "Fault of") if isinstance(f, FaultRow))
        symptoms = tuple(s for s in self._each(tables, "Symptom of") if isinstance(s, SymptomRow))
        readings = tuple(r for r in self._each(tables, "Reading of") if isinstance(r, ReadingRow))
        self._once(readings)
        return Circuit(
            self.node,
            self.parts,
            self.wires,
            self.positions,
            faults,
            symptoms,
            readings,
            self.cavities,
            sound=not self.problems,
        )

    def _each(self, tables: list[Table], role: str) -> list[object]:
        read: Callable[[Row, dict[str, Cell], Table], object] = {
            "Part": self.read_part, "Wire": self.read_wire, "Position": self._position, "Cavity of": self._cavity,
            "Fault of": self._fault, "Symptom of": self._symptom, "Reading of": self._reading,
        }[role]  # fmt: skip
        found = []
        for table in tables:
            if table.role == role:
                columns = self._columns(table, role)
                whole = self._whole(table, role, columns)
                for row in table.rows:
                    self.refs.extend(ref for cell in row.cells[role in NAMED :] for ref in cell.refs)
                    before = len(self.problems)
                    if not short_row(row, len(table.header.cells), self.problems) and whole:
                        cells = {name: row.cells[i] for name, i in columns.items()}
                        found.append(read(row, _Cells(cells, row), table))
                    if role in _STATES and (len(self.problems) > before or not whole):
                        self.doubtful.add(row.cells[0].text)
        return found

    def _whole(self, table: Table, role: str, columns: Mapping[str, int]) -> bool:
        """False, and one problem, where a column is absent without which no row can be read."""
        missing = [f"`{name}`" for name in _NEEDED.get(role, ()) if name not in columns]
        if missing:
            self.problems.append(
                Problem(
                    "bad-value",
                    table.header.span,
                    f"the table has no column {', '.join(missing)}",
                    "its columns: " + ", ".join(TABLES[role]),
                )
            )
        return not missing

    def _columns(self, table: Table, role: str) -> Mapping[str, int]:
        if role == "Cavity of":
            return {role: 0}
        if role != "Position":
            return columns_of(table, TABLES[role], f"`{role}` table", self.problems)
        columns = {"Position": 0}
        for index, cell in enumerate(table.header.cells[1:], 1):
            columns[self._position_column(cell)] = index
        return columns

    def _position_column(self, cell: Cell) -> str:
        if cell.text.casefold() == "must happen":
            return "Must happen"
        match = re.fullmatch(r"(\S+) (joins|drives)", cell.text)
        if match is None:
            self.problem(
                cell,
                f"`{cell.text}` is no column of a `Position` table",
                "write `S1 joins`, `U1 drives` or `Must happen`",
                "unknown-fact",
            )
            return cell.text
        part = self.parts.get(match[1])
        fits = _SWITCHES if match[2] == "joins" else ("output",)
        if part is None:
            self.unknown(cell, match[1], self.parts)
        elif part.kind not in fits and part.name not in self.doubtful:
            self.problem(cell, f"`{part.name}` is a {part.kind}, not a {fits[0]}", "")
        return cell.text

    def _position(self, row: Row, cells: Mapping[str, Cell], table: Table) -> None:
        name = cells["Position"].text
        if not name or name in self.positions or set(name) & set(":;,"):
            self.problem(cells["Position"], f"`{name}` is no name for a position, or stands here twice", "")
            return
        joins, drives = {}, {}
        for column, cell in cells.items():
            part, _, verb = column.partition(" ")
            if verb == "joins" and part in self.parts and self.parts[part].kind in _SWITCHES:
                joins[part] = tuple(self._joins(self.parts[part], cell))
            elif verb == "drives":
                drives[part] = self._drive(cell)
        must = tuple(p for c in self.split(cells["Must happen"], ",") if (p := self.verdict(c)))
        self.positions[name] = Position(name, joins, drives, must, row.span)

    def _drive(self, cell: Cell) -> str:
        if cell.text not in ("high", "low", ""):
            self.problem(cell, f"`{cell.text}` is no state of an output", "write `high`, `low`, or leave it empty")
        return cell.text

    def _joins(self, part: Part, cell: Cell) -> Iterator[tuple[str, str]]:
        for pair in self.split(cell, ","):
            found = self.contact(part, pair, pair.text)
            if found:
                yield found

    def _cavity(self, row: Row, cells: Mapping[str, Cell], table: Table) -> None:
        for head, cell in zip(table.header.cells[1:], row.cells[1:], strict=False):
            part, pin = self.parts.get(head.text), row.cells[0].text
            if part is None or part.kind != "connector":
                if row is table.rows[0]:
                    self._no_plug(head)
            elif pin not in part.pins:
                if head.text not in self.doubtful:
                    self.unknown(row.cells[0], pin, part.pins)
            elif cell.text:
                self.cavities[Terminal(part.name, pin)] = cell.text

    def _named(self, cell: Cell, kind: Kind) -> Ref | None:
        if len(cell.refs) != 1 or "".join(i.text for i in cell.inlines if i.type != "ref").strip():
            self.problem(cell, f"`{cell.text}` is no reference", f"write one {kind.value.lower()}'s name in brackets")
        refs = [replace(ref, kinds=frozenset((kind,))) for ref in cell.refs]
        self.refs.extend(refs)
        return refs[0] if refs else None

    def _fault(self, row: Row, cells: Mapping[str, Cell], table: Table) -> FaultRow:
        cause, wrong = self._named(cells["Fault of"], Kind.CAUSE), cells["What is wrong"]
        if not wrong.text:
            self.problem(replace(wrong, span=row.span), "a fault without words", "say what is wrong: `W4 open`")
        reader = WrongReader(self)
        changes = tuple(c for part in self.split(wrong, ";") if (c := reader.read(part)))
        return FaultRow(cause, wrong.text, changes, row.span)

    def _symptom(self, row: Row, cells: Mapping[str, Cell], table: Table) -> SymptomRow:
        symptom, shows = self._named(cells["Symptom of"], Kind.SYMPTOM), cells["Shows as"]
        if not shows.text:
            self.problem(replace(shows, span=row.span), "a symptom that shows as nothing", "`up: M1 still`")
        stretches = tuple(s for cell in self.split(shows, ";") if (s := self._shows(cell)))
        return SymptomRow(symptom, stretches, row.span)

    def _shows(self, cell: Cell) -> tuple[str, tuple[tuple[str, str], ...]] | None:
        position, colon, _ = cell.text.partition(":")
        if not colon:
            self.problem(cell, f"`{cell.text}` is no position with verdicts", "write `position: LOAD verdict`")
            return None
        self.known_position(cell, position.strip())
        content, _ = self.blocks.contents[cell.span]
        inner = self.blocks.split(cell.span, ",", content.index(":") + 1)
        return position.strip(), tuple(v for c in inner if (v := self.verdict(c)))

    def _reading(self, row: Row, cells: Mapping[str, Cell], table: Table) -> ReadingRow:
        test = self._named(cells["Reading of"], Kind.TEST)
        self.known_position(cells["Position"], cells["Position"].text)
        instrument, red, black = cells["Instrument"], cells["Red lead"], cells["Black lead"]
        unplugged = tuple(self._unplugged(cells["Unplugged"]))
        if instrument.text not in INSTRUMENTS:
            self.problem(instrument, f"`{instrument.text}` is no instrument", "one of: " + ", ".join(INSTRUMENTS))
            return ReadingRow(test, cells["Position"].text, unplugged, "", None, None, row.span)
        on_part = instrument.text in ("clamp", "eye")
        if on_part and black.text:
            self.problem(black, f"a {instrument.text} has no black lead", "leave the cell empty")
        return ReadingRow(
            test,
            cells["Position"].text,
            unplugged,
            instrument.text,
            self._carrier(red) if on_part else self.terminal(red),
            None if on_part else self.terminal(black),
            row.span,
        )

    def _carrier(self, cell: Cell) -> str | None:
        """The wire or part that a clamp embraces or an eye looks at."""
        if cell.text not in self.parts and cell.text not in self.wires:
            self.unknown(cell, cell.text, {**self.parts, **self.wires})
            return None
        return cell.text

    def _unplugged(self, cell: Cell) -> Iterator[str]:
        for name in self.split(cell, ";"):
            part = self.parts.get(name.text)
            if part is None or part.kind != "connector":
                self._no_plug(name)
            else:
                yield part.name

    def _no_plug(self, cell: Cell) -> None:
        """Report a part that should be a connector and is another kind, or that the circuit doesn't have."""
        part = self.parts.get(cell.text)
        if part is None:
            self.unknown(cell, cell.text, tuple(p for p, v in self.parts.items() if v.kind == "connector"))
        elif part.name not in self.doubtful:
            self.problem(cell, f"`{part.name}` is a {part.kind}, not a connector", "name a connector")

    def _once(self, readings: tuple[ReadingRow, ...]) -> None:
        seen: set[str] = set()
        for row in readings:
            label = row.test.label.casefold() if row.test else ""
            if label in seen and row.test:
                self.problems.append(
                    Problem(
                        "bad-value",
                        row.span,
                        f"`{row.test.label}` has a row here already",
                        "keep one row a test and circuit",
                    )
                )
            seen.add(label)


class _Cells(dict[str, Cell]):
    """A row's cells by column; a column that the table doesn't have is empty, at the row."""

    def __init__(self, cells: Mapping[str, Cell], row: Row) -> None:
        super().__init__(cells)
        self.row = row

    def __missing__(self, name: str) -> Cell:
        return Cell(self.row.span, "")
