"""What the circuits of the demonstration base say, asked apart from the rules, and what the rules say of a changed base.

The truth of a planted claim comes from three places only: the readings and loads of `Survey` for each stated
fault; this file's own reading of a `Reading` or `Shows as` cell, which shares no code with the checker's; and what
follows from a table by construction (a wire moved, a sign turned). No rule is asked whether a claim is wrong.
"""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from kb.checks import CATALOGUE
from kb.checks._allow import Allowances
from kb.checks._asked import Asked
from kb.circuit.claims import Held
from kb.circuit.survey import Seen
from kb.circuit.verdicts import Reading
from kb.diagnostic import Problem
from kb.graph import build_graph
from kb.model import Node
from kb.netlist import Circuit, FaultRow, ReadingRow
from kb.read.base import page_of
from kb.read.folder import is_page
from kb.reference import Kind
from tests.checks.trial import Demo, Edit, cells, row

SOLVED_RULES = ("false-claim", "uncovered-reading", "overlapping-readings", "cause-cannot-explain", "idle-fault",
                "unfused-short", "circuit-fault", "absolute-reading")  # fmt: skip
# Rules about what could be added and what an order costs: no claim, and they take seconds.
SLOW = frozenset(("missing-cause", "costly-order"))


@dataclass(frozen=True)
class Claim:
    """A changed base. Wrong: one of `rules` has to be told in the file `edit.path` at one of `lines` (none: any).

    `words` have to be in the message. Harmless: no rules, and nothing new may be told.
    """

    edit: Edit
    rules: frozenset[str] = frozenset()
    lines: frozenset[int] = frozenset()
    words: str = ""

    def met_by(self, problem: Problem) -> bool:
        """True where this is what had to be told."""
        at = problem.span.path == self.edit.path and (not self.lines or problem.span.line in self.lines)
        return at and problem.rule in self.rules and self.words in problem.message


@dataclass(frozen=True)
class Told:
    """What one instrument shows under one stated fault (or none), at the three battery voltages."""

    test: Node
    circuit: Circuit
    place: ReadingRow
    fault: FaultRow | None
    cause: str
    readings: tuple[Reading, ...]

    def within(self, cell: str) -> bool:
        """True where a `Reading` cell covers one of the three."""
        return any(covers(cell, reading) for reading in self.readings)

    def all_within(self, cell: str) -> bool:
        """True where it covers all three."""
        return all(covers(cell, reading) for reading in self.readings)


class Claims(Demo):
    """The base, its circuits surveyed, and all that they tell."""

    def __init__(self) -> None:
        super().__init__()
        asked = Asked(self.base, self.graph)
        self.held: dict[str, Held] = {held.circuit.node: held for held in asked.all_held()}
        assert set(self.held) == set(self.base.circuits)

    def allowed(self, claim: Claim) -> bool:
        """True where the writer lets the rule pass, with a reason, so that a wrong claim isn't told there."""
        allowances = self.base.pages[claim.edit.path].allowances
        return any(a.rule in claim.rules and any(a.first <= n <= a.last for n in claim.lines) for a in allowances)

    @cached_property
    def told(self) -> tuple[Told, ...]:
        """What every instrument shows under every stated fault that has an answer."""
        return tuple(told for held in self.held.values() for told in self._told(held))

    def _told(self, held: Held) -> Iterator[Told]:
        for place, placed in enumerate(held.circuit.readings):
            test = self.base.target(placed.test) if placed.test else None
            for seen, *others in zip(*held.seen, strict=True):
                shown = tuple(s.readings[place] for s in (seen, *others) if not s.state)
                if test and len(shown) == len(held.seen) and all(shown):
                    cause = self.cause_of(seen.row)
                    yield Told(test, held.circuit, placed, seen.row, cause, tuple(r for r in shown if r))

    def cause_of(self, fault: FaultRow | None) -> str:
        """The cause that a fault row is of; none for the healthy circuit."""
        return (self.base.targets.get(fault.cause) or "") if fault and fault.cause else ""

    def of_test(self, test: Node) -> list[Told]:
        """What the instruments of a test show."""
        return [told for told in self.told if told.test.id == test.id]

    def read_tests(self) -> Iterator[Node]:
        """The tests that a circuit has a reading of, with findings that state readings."""
        measured = {told.test.id for told in self.told}
        yield from (n for n in self.nodes(Kind.TEST) if n.id in measured and "Reading" in self.columns(n))

    def cells_of(self, test: Node) -> list[tuple[int, dict[str, str]]]:
        """The rows of a test's findings: line, and cells by column."""
        names = self.columns(test)
        return [(line, dict(zip(names, parts, strict=True))) for line, parts in self.rows(test)]

    def with_cell(self, test: Node, line: int, **new: str) -> Edit:
        """A findings row with other cells."""
        old = next(found for at, found in self.cells_of(test) if at == line)
        return self.edit(test.page, {line: [row([new.get(name, text) for name, text in old.items()])]})

    def ref(self, node: str) -> str:
        """A reference that names a node from any page."""
        found = self.base.nodes[node]
        return f"[{found.page.removesuffix('.md')}/{found.kind}: {found.name}]"

    def named(self, cell: str, test: Node) -> list[str]:
        """The causes that a cell of a test names."""
        refs = [ref for finding in test.findings for ref in (*finding.clears, *finding.proves)]
        labels = re.findall(r"\[([^\]]+)\]", cell)
        return [
            i
            for label in labels
            for i in [next((self.base.targets.get(r) for r in refs if r.label == label), None)]
            if i
        ]

    @cached_property
    def symptoms_with(self) -> Mapping[str, frozenset[str]]:
        """The symptoms that have each cause."""
        found: dict[str, set[str]] = {}
        for symptom in self.nodes(Kind.SYMPTOM):
            for likely in self.graph.causes(symptom.id):
                found.setdefault(likely.cause.id, set()).add(symptom.id)
        return {cause: frozenset(symptoms) for cause, symptoms in found.items()}

    def shows(self, circuit: Circuit, seen: tuple[Seen, ...], symptom: str) -> bool | None:
        """True where a fault shows, at all voltages, as a row of a symptom says; None where no row says it."""
        texts = [
            self.shows_as(circuit, r.span.line)
            for r in circuit.symptoms
            if r.symptom and self.base.targets.get(r.symptom) == symptom
        ]
        return all(any(shown(text, s) for text in texts) for s in seen) if texts else None

    def shows_as(self, circuit: Circuit, line: int) -> str:
        """The `Shows as` cell on a line of a circuit's page."""
        return cells(self.lines[self.base.nodes[circuit.node].page][line - 1])[1]

    def new_with(self, edit: Edit, all_rules: bool = False) -> list[Problem]:
        """What the rules tell of a changed base beyond as many problems of a rule and page as without the change."""
        found = self.problems_of(edit, all_rules)
        more = Counter((p.rule, p.span.path) for p in found) - self.usual
        return [p for p in found if (p.rule, p.span.path) in more]

    @cached_property
    def usual(self) -> Counter[tuple[str, str]]:
        """How many problems of each rule and page are told of the base as it is."""
        return Counter((p.rule, p.span.path) for p in self.problems_of(Edit(dict), all_rules=True))

    def problems_of(self, edit: Edit, all_rules: bool = False) -> list[Problem]:
        """What the rules tell of a changed base: those of circuits, or all that don't take seconds."""
        changed = edit.files()
        pages = self.read | {p: page_of(p, d) for p, d in changed.items() if is_page(p)}
        base = self._join(self.data | changed, pages)
        asked, allowances = Asked(base, build_graph(base)), Allowances(base, CATALOGUE)
        for name, circuit in base.circuits.items():
            if circuit == self.base.circuits.get(name):  # the same tables on the same lines
                asked.surveyed[name] = self.held[name]
        names = set(CATALOGUE) - SLOW if all_rules else SOLVED_RULES
        checks = [CATALOGUE[name].check for name in sorted(names)]
        found = dict.fromkeys([*base.problems, *(p for check in checks if check for p in check(asked))])
        return [problem for problem in found if not allowances.lets_pass(problem)]


Shape = Callable[[Claims], Iterator[Claim]]


def covers(cell: str, reading: Reading) -> bool:
    """True where a `Reading` cell covers a reading, by the format's own words."""
    return any(_covers(part.strip(), reading) for part in cell.split(",") if part.strip())


def _covers(part: str, reading: Reading) -> bool:
    if part.isalpha():
        word = "undefined" if not reading.defined else reading.verdict
        return part in (word, reading.direction)
    if reading.value is None or not reading.defined:
        return False
    low, high, unit = bounds(part)
    kind, factor = UNITS[unit]
    value = abs(reading.value) if kind == "A" else reading.value
    if unit == "%":
        value, kind = value / reading.supply * 100, "V"
    return kind == reading.unit and low <= value / factor < high


UNITS = {"%": ("%", 1.0), "V": ("V", 1.0), "mV": ("V", 1e-3), "A": ("A", 1.0), "mA": ("A", 1e-3),
         "ohm": ("ohm", 1.0), "kohm": ("ohm", 1e3), "Mohm": ("ohm", 1e6)}  # fmt: skip


def bounds(part: str) -> tuple[float, float, str]:
    """The ends and the unit of `> 2 V`, `< 20 % of supply`, `4 to 15 ohm`."""
    match = re.fullmatch(r"([<>]) ([\d.]+) (%|\w+)(?: of supply)?|([\d.]+) to ([\d.]+) (%|\w+)(?: of supply)?", part)
    assert match, part
    if match[1]:
        number = float(match[2])
        return (number, float("inf"), match[3]) if match[1] == ">" else (float("-inf"), number, match[3])
    return float(match[4]), float(match[5]), match[6]


def shown(text: str, seen: Seen) -> bool:
    """True where each load does what a `Shows as` cell says, in each of its positions."""
    for stretch in text.split(";"):
        position, _, wanted = stretch.strip().partition(": ")
        for pair in wanted.split(", "):
            load, word = pair.split()
            does = seen.loads[position][load]
            if word not in (does.verdict, does.direction):
                return False
    return True


def some(found: list[Claim], most: int, chance: random.Random) -> list[Claim]:
    """Some of a shape's claims, from as many pages as there are, always the same ones."""
    chance.shuffle(found)
    seen: Counter[str] = Counter()
    ranked: list[tuple[int, int, Claim]] = []
    for claim in found:
        ranked.append((seen[claim.edit.path], len(ranked), claim))
        seen[claim.edit.path] += 1
    return [claim for _, _, claim in sorted(ranked, key=lambda r: r[:2])[:most]]
