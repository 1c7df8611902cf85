"""What a symptom's own page gathers: its tests with what each finding leaves, its causes, its vehicles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kb.graph import Graph, Likely
from kb.model import Base, Finding, Node, Value
from kb.site.loom import Branch, branches
from kb.site.onward import ByVehicle, Scope, View, by_vehicle, scopes, view
from kb.site.place import unique
from kb.site.wiring import Where, Wiring


@dataclass(frozen=True, slots=True)
class FindingCard:
    """A finding, where the writer goes next, and what it leaves of the symptom's causes, if there is one."""

    finding: Finding
    number: int
    glyph: str
    next: Node | None
    views: ByVehicle[View]


@dataclass(frozen=True, slots=True)
class TestCard:
    """A test in its place on the page. `ordered`: the writer's order names it.

    `unread` is the test to go on with where it can't be read.
    """

    node: Node
    number: int
    ordered: bool
    access: tuple[Node, ...]
    wheres: tuple[Where, ...]
    findings: tuple[FindingCard, ...]
    unread: ByVehicle[Node | None]

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
class Head:
    """The head of the page: how many causes, their weight together, the first test."""

    causes: int
    weight: int
    first: TestCard | None


@dataclass(frozen=True, slots=True)
class Gathering:
    """All that a symptom's page shows."""

    symptom: Node
    function: Node | None
    conditions: tuple[Value, ...]
    heads: ByVehicle[Head]
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


def gather(base: Base, graph: Graph, wiring: Wiring, symptom: Node) -> Gathering:
    """Ask the graph and the circuits for everything that concerns a symptom."""
    function = graph.function(symptom.id)
    around = scopes(base, graph, symptom)
    tests = _tests(base, graph, wiring, symptom, around)
    causes = _causes(around[0], tests)
    return Gathering(
        symptom,
        function,
        function.values("Works only when") if function else (),
        by_vehicle((scope.vehicle, _head(scope, tests)) for scope in around),
        tests,
        causes,
        unique(repair for card in causes for repair in card.repairs),
        tuple((circuit, wiring.vehicles(circuit.id)) for circuit in wiring.showing(symptom)),
        graph.lessons_of(symptom.id),
    )


def _head(scope: Scope, tests: Sequence[TestCard]) -> Head:
    first = next((card for card in tests if scope.has(card.node)), None)
    return Head(len(scope.causes), scope.weight, first)


def _tests(base: Base, graph: Graph, wiring: Wiring, symptom: Node, around: Sequence[Scope]) -> tuple[TestCard, ...]:
    ordered = {test.id for test in base.all(symptom.refs("Order"))}
    return tuple(
        TestCard(
            test,
            number,
            test.id in ordered,
            graph.access(test.id),
            wiring.wheres(test),
            finding_cards(base, test, around),
            by_vehicle((scope.vehicle, next(iter(scope.later(test)), None)) for scope in around),
        )
        for number, test in enumerate(graph.tests(symptom.id), 1)
    )


def finding_cards(base: Base, test: Node, around: Sequence[Scope] = ()) -> tuple[FindingCard, ...]:
    """The findings of a test; without a symptom's scopes nothing is said to be cleared or left."""
    return tuple(
        FindingCard(
            finding,
            number,
            glyph(finding),
            base.target(finding.next) if finding.next else None,
            by_vehicle((scope.vehicle, view(scope, test, finding)) for scope in around),
        )
        for number, finding in enumerate(test.findings)
    )


def glyph(finding: Finding) -> str:
    """The picture for a finding: its first verdict, `meter` for a number, `eye` where it gives none."""
    for range_ in finding.ranges:
        return range_.word or "meter"
    return "eye"


def _causes(scope: Scope, tests: Sequence[TestCard]) -> tuple[CauseCard, ...]:
    """The causes, likeliest first."""
    drawn = branches([item.weight for item in scope.causes])
    return tuple(
        CauseCard(item, branch, scope.repairs(item.cause), _speaking(scope.graph, item.cause, tests))
        for item, branch in zip(scope.causes, drawn, strict=True)
    )


def _speaking(graph: Graph, cause: Node, tests: Sequence[TestCard]) -> tuple[TestCard, ...]:
    naming = {node.id for node in graph.tests_of(cause.id)}
    return tuple(card for card in tests if card.node.id in naming)
