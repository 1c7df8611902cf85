"""What a symptom's own page gathers: its tests with what each finding leaves, its causes, its plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from kb.graph import Graph, Likely
from kb.isolation.figures import Hunt
from kb.isolation.states import bits
from kb.isolation.ways import Hunts
from kb.model import Base, Finding, Node, Value
from kb.site.loom import Branch, branches
from kb.site.onward import View, view
from kb.site.place import unique
from kb.site.planned import Planned, planned
from kb.site.walk import walk_data
from kb.site.wiring import Where, Wiring


@dataclass(frozen=True, slots=True)
class FindingCard:
    """A finding, where the writer goes next, and what it leaves of the symptom's causes, if there is one."""

    finding: Finding
    number: int
    glyph: str
    next: Node | None
    view: View | None


@dataclass(frozen=True, slots=True)
class TestCard:
    """A test in its place on the page. `ordered`: the writer's order names it."""

    node: Node
    number: int
    ordered: bool
    access: tuple[Node, ...]
    wheres: tuple[Where, ...]
    findings: tuple[FindingCard, ...]


@dataclass(frozen=True, slots=True)
class CauseCard:
    """A cause as a branch of the loom, with its repairs."""

    likely: Likely
    branch: Branch
    repairs: tuple[Node, ...]


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
    hunt: Hunt
    planned: Planned
    off: tuple[str, ...]
    walk: dict[str, Any]

    @property
    def weight(self) -> int:
        """The weight of all causes together."""
        return sum(card.likely.weight for card in self.causes)

    @property
    def first(self) -> TestCard | None:
        """The test that the plan begins with; None where it begins with a repair, or there is no plan."""
        step = self.hunt.fixed.first
        if step is None or step.kind == "repair":
            return None
        wanted = self.hunt.matrix.tests[step.number].id
        return next((card for card in self.tests if card.node.id == wanted), None)

    @property
    def first_repair(self) -> Node | None:
        """The repair that the plan begins with, if it does."""
        step = self.hunt.fixed.first
        if step is None or step.kind == "test":
            return None
        wanted = self.hunt.matrix.repairs[step.number].id
        return next((repair for repair in self.repairs if repair.id == wanted), None)

    def first_uses(self, graph: Graph) -> dict[str, str]:
        """For each access the test or repair of the page that needs it first: there its steps stand."""
        found: dict[str, str] = {}
        first = self.first.node if self.first else self.first_repair
        for procedure in (*((first,) if first else ()), *(card.node for card in self.tests), *self.repairs):
            for access in graph.access(procedure.id):
                found.setdefault(access.id, procedure.id)
        return found


def gather(base: Base, graph: Graph, wiring: Wiring, hunts: Hunts, symptom: Node) -> Gathering:
    """Ask the graph, the circuits and the plans for everything that concerns a symptom."""
    function = graph.function(symptom.id)
    likely = tuple(sorted(graph.causes(symptom.id), key=lambda item: -item.weight))
    hunt = hunts.hunt(symptom.id)
    tests = _tests(base, graph, wiring, symptom, [item.cause for item in likely], hunt)
    causes = _causes(graph, likely)
    return Gathering(
        symptom,
        function,
        function.values("Works only when") if function else (),
        tests,
        causes,
        unique(repair for card in causes for repair in card.repairs),
        tuple((circuit, wiring.vehicles(circuit.id)) for circuit in wiring.showing(symptom)),
        graph.lessons_of(symptom.id),
        hunt,
        planned(graph, symptom, hunt),
        tuple(base.nodes[i].name for i in _taken_off(hunt)),
        walk_data(hunts, symptom),
    )


def _taken_off(hunt: Hunt) -> tuple[str, ...]:
    """The accesses of the plan's first step that take something off, by id."""
    matrix, step = hunt.matrix, hunt.fixed.first
    if step is None:
        return ()
    row = matrix.repairs[step.number] if step.kind == "repair" else matrix.tests[step.number]
    return tuple(matrix.access_ids[i] for i in bits(row.needs & matrix.strips))


def _tests(
    base: Base, graph: Graph, wiring: Wiring, symptom: Node, causes: Sequence[Node], hunt: Hunt
) -> tuple[TestCard, ...]:
    """The tests that speak about a symptom, then those that others have to wait for."""
    ordered = {test.id for test in base.all(symptom.refs("Order"))}
    waited = (base.nodes[test.id] for test in hunt.matrix.tests)
    return tuple(
        TestCard(
            test,
            number,
            test.id in ordered,
            graph.access(test.id),
            wiring.wheres(test),
            finding_cards(base, test, causes),
        )
        for number, test in enumerate(unique([*graph.tests(symptom.id), *waited]), 1)
    )


def finding_cards(base: Base, test: Node, causes: Sequence[Node] = ()) -> tuple[FindingCard, ...]:
    """The findings of a test; without a symptom's causes nothing is said to be cleared or left."""
    return tuple(
        FindingCard(
            finding,
            number,
            glyph(finding),
            base.target(finding.next) if finding.next else None,
            view(base, causes, finding) if causes else None,
        )
        for number, finding in enumerate(test.findings)
    )


def glyph(finding: Finding) -> str:
    """The picture for a finding: its first verdict, `meter` for a number, `eye` where it gives none."""
    for range_ in finding.ranges:
        return range_.word or "meter"
    return "eye"


def _causes(graph: Graph, likely: Sequence[Likely]) -> tuple[CauseCard, ...]:
    """The causes, likeliest first."""
    drawn = branches([item.weight for item in likely])
    return tuple(
        CauseCard(item, branch, graph.repairs(item.cause.id)) for item, branch in zip(likely, drawn, strict=True)
    )
