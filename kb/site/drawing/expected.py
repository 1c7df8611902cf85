"""Expected readings in words: what the healthy circuit gives, and what each fault gives in each test."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from kb.circuit.verdicts import Reading, meets
from kb.model import Base, Node
from kb.netlist import ReadingRow
from kb.site.drawing.drawn import Drawn
from kb.site.drawing.plan import ohms
from kb.site.drawing.shown import amperes


@dataclass(frozen=True, slots=True)
class Cell:
    """A reading in words, and the finding of its test that it meets (empty: none)."""

    words: str
    finding: str


@dataclass(frozen=True, slots=True)
class Row:
    """A fault (no words: none) and a cell for each test; `state` as `Seen.state`, then no cells."""

    cause: str
    words: str
    state: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Expected readings of a circuit: its tests with where each is read, and a row for each fault."""

    tests: tuple[tuple[Node, ReadingRow], ...]
    rows: tuple[Row, ...]

    def compared(self, row: Row) -> Iterator[tuple[Cell, bool]]:
        """The cells of a row, and whether each leads elsewhere than with nothing wrong: to another finding, or to
        another reading where neither meets one.
        """
        for cell, sound in zip(row.cells, self.rows[0].cells, strict=False):
            yield cell, cell.finding != sound.finding or (not cell.finding and cell.words != sound.words)


def table(base: Base, drawn: Drawn) -> Table | None:
    """The table of a circuit; None where it has no readings to give."""
    if drawn.shown is None:
        return None
    listed = [(i, row, base.target(row.test)) for i, row in enumerate(drawn.circuit.readings) if row.test]
    tests = [(i, row, test) for i, row, test in listed if test]
    rows = tuple(
        Row(fault.cause, fault.words, fault.state,
            () if fault.state else tuple(_cell(test, seen.readings[i]) for i, _, test in tests))
        for fault, seen in zip(drawn.faults, drawn.shown.seen, strict=True)
    )  # fmt: skip
    return Table(tuple((test, row) for _, row, test in tests), rows) if tests else None


def _cell(test: Node, reading: Reading | None) -> Cell:
    met = (finding.words.text for finding in test.findings if reading and meets(reading, finding.ranges))
    return Cell(reading_words(reading), next(met, ""))


def good(base: Base, drawn: Sequence[Drawn], row: ReadingRow) -> Iterator[tuple[Drawn, str]]:
    """What a test reads on each of these circuits where nothing is wrong."""
    test = base.targets.get(row.test) if row.test else None
    for one in drawn:
        for place, own in enumerate(one.circuit.readings):
            if one.shown and own.test and test and base.targets.get(own.test) == test:
                yield one, reading_words(one.shown.seen[0].readings[place])


def reading_words(reading: Reading | None) -> str:
    """A reading as a person would note it, volts also relative to the battery's own."""
    if reading is None:
        return "no reading"
    if not reading.defined:
        return "no defined voltage" if reading.unit == "V" else "refused: the leads are live"
    if reading.value is None:
        return f"{reading.verdict or ''} {reading.direction}".strip()
    if reading.unit == "A":
        return amperes(round(reading.value * 1000))
    if reading.unit == "ohm":
        return ohms(float(f"{reading.value:.3g}"))
    return _volts(reading.value, reading.supply)


def _volts(value: float, supply: float) -> str:
    if abs(value) < 0.995 or supply <= 0:
        return f"{value + 0.0:.2f} V".replace("-0.00 ", "0.00 ")
    return f"{value:.1f} V, {round(100 * value / supply)} % of supply"
