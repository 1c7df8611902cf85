"""Findings tables: what a test's rows clear and prove, where they lead, what an instrument shows."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from kb.diagnostic import Problem
from kb.model import Cell, Finding, ReadingRange, Row, Table
from kb.quantity import nearest, quantity
from kb.read.blocks import Blocks
from kb.reference import Kind, Ref

COLUMNS = ("Finding", "Reading", "Clears", "Proves", "Next", "Only on")
VERDICTS = frozenset(
    "bright dim dark moves slow still hot warm cold dimmed tinted clear whole blown OL undefined".split()
)
NEXT_KINDS = frozenset((Kind.TEST, Kind.REPAIR, Kind.CAUSE, Kind.SYMPTOM))
_N = r"([+-]?\d+(?:\.\d+)?)"
_UNIT = r"\s*(mV|V|mA|A|mohm|kohm|Mohm|ohm|W|%)"
_OF = r"\s+of\s+supply"
_BOUND = re.compile(rf"(>=|<=|>|<|≥|≤)\s*{_N}{_UNIT}({_OF})?")
_RANGE = re.compile(rf"{_N}(?:{_UNIT})?\s+to\s+{_N}{_UNIT}({_OF})?")
_WITHIN = re.compile(rf"within\s+{_N}\s*(V|mV){_OF}")


def read_reading(text: str) -> tuple[ReadingRange, ...] | None:
    """The alternatives of a `Reading` cell; None where one of them can't be read."""
    parts = [part.strip() for part in text.split(",")]
    found = [_alternative(part) for part in parts]
    return tuple(r for r in found if r) if all(found) else None


def _alternative(text: str) -> ReadingRange | None:
    if match := _BOUND.fullmatch(text):
        return _bound(*match.groups())
    if match := _RANGE.fullmatch(text):
        return _range(*match.groups())
    if match := _WITHIN.fullmatch(text):
        volts = quantity(f"{match[1]} {match[2]}")
        return ReadingRange(high=volts[0], unit="V", relative="within") if volts and volts[0] > 0 else None
    word = next((v for v in VERDICTS if v.casefold() == text.casefold()), text)
    return ReadingRange(word=word) if re.fullmatch(r"[^\W\d_]+(-[^\W\d_]+)*", word) else None


def _bound(sign: str, amount: str, unit: str, of: str | None) -> ReadingRange | None:
    read = quantity(f"{amount} {unit}")
    if not read or (read[1] == "%") != bool(of):
        return None
    value, symbol = read
    relative = "percent" if of else ""
    if sign in (">", ">=", "≥"):
        return ReadingRange(low=value, low_open=sign == ">", unit=symbol, relative=relative)
    return ReadingRange(high=value, high_closed=sign != "<", unit=symbol, relative=relative)


def _range(low: str, low_unit: str | None, high: str, unit: str, of: str | None) -> ReadingRange | None:
    a, b = quantity(f"{low} {low_unit or unit}"), quantity(f"{high} {unit}")
    if not a or not b or a[1] != b[1] or a[0] >= b[0] or (b[1] == "%") != bool(of):
        return None
    return ReadingRange(low=a[0], high=b[0], unit=b[1], relative="percent" if of else "")


class FindingsReader:
    """Reads a test's findings table; `problems` are what was met, `refs` names in other cells."""

    def __init__(self, blocks: Blocks) -> None:
        self.blocks = blocks
        self.problems: list[Problem] = []
        self.refs: list[Ref] = []

    def read(self, table: Table) -> tuple[Finding, ...]:
        """The rows of a findings table, in order."""
        columns = columns_of(table, COLUMNS, "findings table", self.problems)
        named = {index for name, index in columns.items() if name in ("Clears", "Proves", "Next", "Only on")}
        for row in (table.header, *table.rows):
            self.refs.extend(r for i, cell in enumerate(row.cells) if i not in named for r in cell.refs)
        width = len(table.header.cells)
        return tuple(self._finding(row, columns, width) for row in table.rows)

    def _finding(self, row: Row, columns: Mapping[str, int], width: int) -> Finding:
        short_row(row, width, self.problems)
        cells = {name: row.cells[index] for name, index in columns.items()}
        nothing = Cell(row.span, "")
        words = cells["Finding"]
        if not words.text and row.written >= width:
            self._problem(row.cells[0], "a row without a finding", "say in words what is observed")
        reading = cells.get("Reading", nothing)
        next_, done = self._next(cells.get("Next", nothing))
        cause = frozenset((Kind.CAUSE,))
        return Finding(
            row.span,
            words,
            reading,
            self._ranges(reading),
            self._refs(cells.get("Clears", nothing), cause),
            self._refs(cells.get("Proves", nothing), cause),
            next_,
            done,
            self._refs(cells.get("Only on", nothing), frozenset((Kind.VEHICLE,))),
        )

    def _problem(self, cell: Cell, message: str, help: str) -> None:
        self.problems.append(Problem("bad-value", cell.span, message, help))

    def _ranges(self, cell: Cell) -> tuple[ReadingRange, ...]:
        ranges = read_reading(cell.text) if cell.text else ()
        if ranges is None:
            self._problem(
                cell,
                f"`{cell.text}` is no reading",
                "write words such as `bright, dim`, or `> 11 V`, `11 to 13 ohm`, `> 90 % of supply`",
            )
        return ranges or ()

    def _refs(self, cell: Cell, kinds: frozenset[Kind]) -> tuple[Ref, ...]:
        refs: list[Ref] = []
        for part in self.blocks.split(cell.span, ";") if cell.text else ():
            if len(part.refs) != 1 or "".join(i.text for i in part.inlines if i.type != "ref").strip(" ."):
                self._problem(part, f"`{part.text}` is no reference", "write names in brackets with `;` between")
            refs.extend(replace(ref, kinds=kinds) for ref in part.refs)
        return tuple(refs)

    def _next(self, cell: Cell) -> tuple[Ref | None, bool]:
        if not cell.text:
            return None, False
        if cell.text.casefold().strip(".") == "done":
            return None, True
        before = len(self.problems)
        refs = self._refs(cell, NEXT_KINDS)
        if len(refs) > 1 and len(self.problems) == before:
            self._problem(cell, "`Next` leads to more than one place", "name one test, repair, cause or symptom")
        return (refs[0] if refs else None), False


def columns_of(table: Table, known: tuple[str, ...], what: str, problems: list[Problem]) -> Mapping[str, int]:
    """The index of each known column, found by its header; the first column is always the first."""
    columns: dict[str, int] = {known[0]: 0}
    for index, cell in enumerate(table.header.cells[1:], 1):
        exact = next((k for k in known if k.casefold() == cell.text.casefold()), None)
        near = exact or nearest(cell.text, known)
        if exact is None:
            help = f"did you mean `{near}`?" if near else "its columns: " + ", ".join(known)
            problems.append(Problem("unknown-fact", cell.span, f"`{cell.text}` is no column of a {what}", help))
        if exact and exact in columns:
            problems.append(
                Problem("bad-value", cell.span, f"the column `{exact}` stands here twice", "keep one of them")
            )
        elif near:
            columns.setdefault(near, index)
    return columns


def short_row(row: Row, width: int, problems: list[Problem]) -> bool:
    """Report a row that has fewer cells than its header."""
    if row.written >= width:
        return False
    message = f"the row has {row.written} {'cell' if row.written == 1 else 'cells'} and the header {width}"
    problems.append(Problem("bad-value", row.span, message, "write an empty cell as `| |`"))
    return True


def overlap(a: ReadingRange, b: ReadingRange) -> bool:
    """True where one reading meets both. What depends on the battery's voltage isn't judged."""
    if a.word or b.word:
        return a.word == b.word or "moves" in (a.word, b.word) and _direction(a.word, b.word)
    if a.relative != b.relative:
        percent, other = (a, b) if a.relative == "percent" else (b, a)
        return percent.relative == "percent" and other.relative == "within" and _holds(percent, 1.0)
    if a.relative == "within":
        return True
    return a.unit == b.unit and _meet(a, b) and _meet(b, a)


def _direction(a: str, b: str) -> bool:
    other = b if a == "moves" else a
    return bool(other) and other not in VERDICTS


def _holds(r: ReadingRange, value: float) -> bool:
    above = r.low is None or value > r.low or (value == r.low and not r.low_open)
    return above and (r.high is None or value < r.high or (value == r.high and r.high_closed))


def _meet(a: ReadingRange, b: ReadingRange) -> bool:
    """The lower end of `b` lies below the upper end of `a`."""
    if a.high is None or b.low is None:
        return True
    return b.low < a.high or (b.low == a.high and a.high_closed and not b.low_open)
