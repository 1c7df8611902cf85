"""What a rule may ask: the base, its graph, and what could not be read (which isn't judged further)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

from kb.circuit.claims import Held, Unsound, hold
from kb.circuit.soundness import idle_pins, joined, too_large
from kb.graph import Graph
from kb.isolation.ahead import work_out
from kb.isolation.figures import ORDERS, Hunt
from kb.isolation.ways import Hunts, Kept
from kb.model import Base, Node
from kb.read.names import lost_names
from kb.reference import Kind
from kb.source import Span

UNREAD = frozenset(("unknown-name", "ambiguous-name", "wrong-kind", "bad-value", "unknown-point", "lost-text"))


def _quiet(done: int, total: int, what: str) -> None:
    """Tell nobody."""


@dataclass(frozen=True)
class Asked:
    """A base and its graph.

    `unread_lines` are the lines on which something couldn't be read, `stray` the facts (page, line, key in
    lower case) that stand where none are read: they are told there, and not as absent too; `lost` the
    places of lost text; `swallowed` is True where lost text holds nodes, as then what hangs together can't
    be told. `kept` are hunts of an earlier base; plans are worked out in so many `processes`, and `tell` is
    told how far that has come.
    """

    base: Base
    graph: Graph
    kept: Kept | None = None
    processes: int = 1
    tell: Callable[[int, int, str], None] = _quiet
    hunts: Hunts = field(init=False)
    unread_lines: frozenset[tuple[str, int]] = field(init=False)
    stray: frozenset[tuple[str, int, str]] = field(init=False)
    lost: frozenset[tuple[str, int]] = field(init=False)
    swallowed: bool = field(init=False)
    surveyed: dict[str, Held | tuple[Unsound, ...]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        lines = frozenset(
            (p.span.path, line)
            for p in self.base.problems
            if p.rule in UNREAD
            for line in range(p.span.line, min(p.span.end_line, p.span.line + 1000) + 1)
        )
        object.__setattr__(self, "hunts", Hunts(self.base, self.graph, self.kept))
        object.__setattr__(self, "swallowed", any(map(lost_names, self.base.pages.values())))
        object.__setattr__(self, "unread_lines", lines | frozenset(self._unresolved()))
        object.__setattr__(self, "stray", frozenset(self._stray()))
        lost = (p.span for p in self.base.problems if p.rule == "lost-text")
        object.__setattr__(self, "lost", frozenset((span.path, span.line) for span in lost))

    def _unresolved(self) -> Iterator[tuple[str, int]]:
        """Where a name leads to a lost heading. With one vehicle, names of others lead nowhere too."""
        for page in self.base.pages.values() if self.swallowed and not self.base.vehicle else ():
            yield from ((page.path, ref.span.line) for ref in page.refs if ref not in self.base.targets)

    def _stray(self) -> Iterator[tuple[str, int, str]]:
        for problem in self.base.problems:
            if problem.rule == "stray-fact":
                span = problem.span
                line = self.base.pages[span.path].source.lines[span.line - 1]
                yield span.path, span.line, line[span.column - 1 : span.end_column - 1].casefold()

    def astray(self, node: Node, key: str) -> bool:
        """True where a fact of this key stands within the node, but where facts aren't read."""
        first = 1 if node.kind is Kind.BASE else node.span.line
        keys = {k for page, line, k in self.stray if page == node.page and first <= line <= node.end_line}
        return key.casefold() in keys

    def allowed(self, rule: str, span: Span) -> bool:
        """True where the writer allows a rule to pass."""
        return any(
            a.rule == rule and a.reason and a.first <= span.line <= a.last
            for a in self.base.pages[span.path].allowances
        )

    def unread(self, span: Span) -> bool:
        """True where something within these lines couldn't be read."""
        return any((span.path, line) in self.unread_lines for line in range(span.line, span.end_line + 1))

    def unread_fact(self, node: Node, key: str) -> bool:
        """True where a fact couldn't be read, or stands astray."""
        return self.astray(node, key) or key in node.facts and self.unread(node.facts[key].span)

    def unread_findings(self, node: Node) -> bool:
        """True where a row of a test couldn't be read, or text of the test is lost."""
        lost = any(node.page == p and node.span.line <= line <= node.end_line for p, line in self.lost)
        return lost or any(self.unread(row.span) for row in node.findings)

    def held(self, circuit: str) -> Held | tuple[Unsound, ...]:
        """A circuit surveyed, or why it isn't sound; an empty tuple where other problems keep it from being solved."""
        if circuit not in self.surveyed:
            stated = self.base.circuits[circuit]
            fit = stated.sound and not too_large(stated) and not any(idle_pins(stated))
            fit = fit and not any(joined(stated, position) for position in stated.positions.values())
            self.surveyed[circuit] = hold(stated) if fit else ()
        return self.surveyed[circuit]

    def already_held(self) -> dict[str, Held]:
        """The circuits that were surveyed for the rules asked so far."""
        return {name: held for name, held in self.surveyed.items() if isinstance(held, Held)}

    def all_held(self) -> list[Held]:
        """Every circuit of the base that is sound, surveyed."""
        found = (self.held(circuit) for circuit in self.base.circuits)
        return [held for held in found if isinstance(held, Held)]

    def hunt(self, symptom: str) -> Hunt:
        """A symptom's hunt for the fault, its plan worked out when it is asked for, and kept."""
        return self.hunts.hunt(symptom)

    def plan(self, symptoms: Iterable[str]) -> None:
        """Work out the plans and orders of symptoms that are going to be asked for, where that takes long."""
        jobs = ((self.hunt(symptom), ORDERS) for symptom in symptoms)
        work_out(jobs, self.processes, lambda done, total: self.tell(done, total, "planning"))

    def causes_spoken_of(self, test: Node) -> frozenset[str]:
        """The causes of all symptoms that a test speaks about."""
        return frozenset(c.cause.id for s in self.graph.symptoms_of(test.id) for c in self.graph.causes(s.id))
