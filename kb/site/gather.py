"""What a symptom's own page gathers: its tests with what each finding leaves, its causes, its vehicles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kb.graph import Graph, Likely
from kb.model import Base, Finding, Node, Value
from kb.site.loom import Branch, branches
from kb.site.place import unique
from kb.site.wiring import Where, Wiring


@dataclass(frozen=True, slots=True)
class FindingCard:
    """A finding, what it leaves of the symptom's causes, and where the writer goes next."""

    finding: Finding
    number: int
    glyph: str
    cleared: tuple[Node, ...]
    left: tuple[Node, ...]
    next: Node | None


@dataclass(frozen=True, slots=True)
class TestCard:
    """A test in its place on the page. `ordered`: the writer's order names it."""

    node: Node
    number: int
    ordered: bool
    access: tuple[Node, ...]
    wheres: tuple[Where, ...]
    findings: tuple[FindingCard, ...]

    @property
    def off(self) -> tuple[str, ...]:
        """Names of what the test needs off or set up."""
        return tuple(node.name for node in self.access)


@dataclass(frozen=True, slots=True)
class CauseCard:
    """A cause as a branch of the loom, with its repairs and the tests of this page that speak of it."""

    likely: Likely
    branch: Branch
    repairs: tuple[Node, ...]
    tests: tuple[TestCard, ...]


@dataclass(frozen=True, slots=True)
class Gathering:
    """All that a symptom's page shows."""

    symptom: Node
    function: Node | None
    conditions: tuple[Value, ...]
    tests: tuple[TestCard, ...]
    causes: tuple[CauseCard, ...]
    repairs: tuple[Node, ...]
    circuits: tuple[tuple[Node, tuple[Node, ...]], ...]
    lessons: tuple[Node, ...]

    def first_uses(self, graph: Graph) -> dict[str, str]:
        """For each access the test or repair of the page that needs it first: there its steps stand."""
        found: dict[str, str] = {}
        for procedure in (*(card.node for card in self.tests), *self.repairs):
            for access in graph.access(procedure.id):
                found.setdefault(access.id, procedure.id)
        return found

    @property
    def weight(self) -> int:
        """The weight of all causes together."""
        return sum(card.likely.weight for card in self.causes)


def gather(base: Base, graph: Graph, wiring: Wiring, symptom: Node) -> Gathering:
    """Ask the graph and the circuits for everything that concerns a symptom."""
    function = graph.function(symptom.id)
    tests = _tests(base, graph, wiring, symptom)
    causes = _causes(graph, symptom, tests)
    return Gathering(
        symptom,
        function,
        function.values("Works only when") if function else (),
        tests,
        causes,
        unique(repair for card in causes for repair in card.repairs),
        tuple((circuit, wiring.vehicles(circuit.id)) for circuit in wiring.showing(symptom)),
        graph.lessons_of(symptom.id),
    )


def _tests(base: Base, graph: Graph, wiring: Wiring, symptom: Node) -> tuple[TestCard, ...]:
    ordered = {test.id for test in base.all(symptom.refs("Order"))}
    return tuple(
        TestCard(
            test,
            number,
            test.id in ordered,
            graph.access(test.id),
            wiring.wheres(test),
            finding_cards(base, graph, test, symptom),
        )
        for number, test in enumerate(graph.tests(symptom.id), 1)
    )


def finding_cards(base: Base, graph: Graph, test: Node, symptom: Node | None) -> tuple[FindingCard, ...]:
    """The findings of a test; without a symptom nothing is cleared or left."""
    causes = [likely.cause for likely in graph.causes(symptom.id)] if symptom else []
    return tuple(
        _finding(base, graph, test, number, finding, symptom, causes)
        for number, finding in enumerate(test.findings)
    )


def _finding(
    base: Base,
    graph: Graph,
    test: Node,
    number: int,
    finding: Finding,
    symptom: Node | None,
    causes: Sequence[Node],
) -> FindingCard:
    left = graph.left(test.id, number, symptom.id) if symptom else ()
    staying = {cause.id for cause in left}
    cleared = tuple(cause for cause in causes if cause.id not in staying)
    following = base.target(finding.next) if finding.next else None
    return FindingCard(finding, number, glyph(finding), cleared, left, following)


def glyph(finding: Finding) -> str:
    """The picture for a finding: its first verdict, `meter` for a number, `eye` where it gives none."""
    for range_ in finding.ranges:
        return range_.word or "meter"
    return "eye"


def _causes(graph: Graph, symptom: Node, tests: Sequence[TestCard]) -> tuple[CauseCard, ...]:
    likely = graph.causes(symptom.id)
    drawn = branches([item.weight for item in likely])
    return tuple(
        CauseCard(item, branch, graph.repairs(item.cause.id), _speaking(graph, item.cause, tests))
        for item, branch in zip(likely, drawn, strict=True)
    )


def _speaking(graph: Graph, cause: Node, tests: Sequence[TestCard]) -> tuple[TestCard, ...]:
    naming = {node.id for node in graph.tests_of(cause.id)}
    return tuple(card for card in tests if card.node.id in naming)
