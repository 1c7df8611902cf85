"""The state of a base: what its pages cover, what nothing covers, and what is wrong with them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from kb.circuit.claims import Held
from kb.circuit.separated import Separation, separation
from kb.diagnostic import Diagnostic, Severity
from kb.graph import Graph
from kb.isolation.ways import Hunts
from kb.model import Base, Node
from kb.reference import HEADING_KINDS, Kind
from kb.site.figures import Figures, figures
from kb.site.place import vehicles
from kb.site.wiring import Wiring


@dataclass(frozen=True, slots=True)
class Gap:
    """Nodes that something is missing for, and what."""

    title: str
    nodes: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Covered:
    """How many symptoms of a function a vehicle's circuits show; `apply` of them apply to it."""

    shown: int
    apply: int

    @property
    def glyph(self) -> str:
        """`full`, `half` or `empty`; `none` where no symptom applies."""
        if not self.apply:
            return "none"
        return "empty" if not self.shown else "full" if self.shown == self.apply else "half"


@dataclass(frozen=True, slots=True)
class Tested:
    """How many of each symptom's causes each test can clear; None where it doesn't speak about the symptom."""

    function: Node
    symptoms: tuple[Node, ...]
    rows: tuple[tuple[Node, tuple[Covered | None, ...]], ...]


@dataclass(frozen=True, slots=True)
class State:
    """All that the page `State of the base` shows."""

    diagnostics: tuple[Diagnostic, ...]
    severities: dict[str, int]
    kinds: tuple[tuple[str, int], ...]
    gaps: tuple[Gap, ...]
    vehicles: tuple[Node, ...]
    coverage: tuple[tuple[Node, tuple[Covered, ...]], ...]
    jobs: int
    figures: Figures
    parted: tuple[tuple[Node, Separation], ...]
    tested: tuple[Tested, ...]


def state(
    base: Base,
    graph: Graph,
    wiring: Wiring,
    hunts: Hunts,
    diagnostics: Iterable[Diagnostic],
    held: Mapping[str, Held],
) -> State:
    """Count what the base holds and what it lacks."""
    listed = tuple(diagnostics)
    counts = Counter(diagnostic.severity for diagnostic in listed)
    kinds = tuple((kind.value, len(base.of_kind(kind))) for kind in HEADING_KINDS)
    shown = vehicles(base)
    return State(
        _dearest_first(listed),
        {severity.value: counts[severity] for severity in Severity},
        tuple((kind, count) for kind, count in kinds if count),
        tuple(gap for gap in _gaps(base, graph) if gap.nodes),
        shown,
        tuple((f, _coverage(base, graph, wiring, f, shown)) for f in base.of_kind(Kind.FUNCTION)),
        len(base.jobs),
        figures(base, hunts),
        tuple(_parted(base, wiring, hunts, held)),
        tuple(_tested(graph, function) for function in base.of_kind(Kind.FUNCTION) if _speaking(graph, function)),
    )


def _parted(base: Base, wiring: Wiring, hunts: Hunts, held: Mapping[str, Held]) -> Iterator[tuple[Node, Separation]]:
    """How far the tests of its vehicle bring each circuit's own faults down; circuits that say how no symptom
    shows are left out."""
    for circuit in (node for node in base.of_kind(Kind.CIRCUIT) if node.id in held):
        owner = None if base.vehicle else next((v.id for v in wiring.vehicles(circuit.id)), None)
        found = separation(hunts.graph(owner), held[circuit.id])
        if found.shown:
            yield circuit, found


def _dearest_first(diagnostics: Sequence[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Errors first; the order of the report within."""
    rank = list(Severity)
    return tuple(sorted(diagnostics, key=lambda d: rank.index(d.severity)))


def _gaps(base: Base, graph: Graph) -> tuple[Gap, ...]:
    symptoms, causes = base.of_kind(Kind.SYMPTOM), base.of_kind(Kind.CAUSE)
    taught = base.of_kind(Kind.FUNCTION, Kind.SYMPTOM, Kind.TEST)
    lessons = base.of_kind(Kind.LESSON)
    return (
        Gap("Symptoms without a test", tuple(n for n in symptoms if not graph.tests(n.id))),
        Gap("Causes that no test speaks of", tuple(n for n in causes if not graph.tests_of(n.id))),
        Gap("Causes without a repair", tuple(n for n in causes if not graph.repairs(n.id))),
        Gap(
            "Functions, symptoms and tests that no lesson covers",
            tuple(n for n in taught if lessons and not graph.lessons_of(n.id)),
        ),
    )


def _symptoms(graph: Graph, function: Node) -> tuple[Node, ...]:
    listed = graph.base.of_kind(Kind.SYMPTOM)
    return tuple(s for s in listed if (around := graph.function(s.id)) and around.id == function.id)


def _speaking(graph: Graph, function: Node) -> tuple[Node, ...]:
    """The tests that speak about a function's symptoms, in page order."""
    found = {test.id for symptom in _symptoms(graph, function) for test in graph.tests(symptom.id)}
    return tuple(test for test in graph.base.of_kind(Kind.TEST) if test.id in found)


def _tested(graph: Graph, function: Node) -> Tested:
    symptoms = _symptoms(graph, function)
    rows = ((test, tuple(_clears(graph, test, symptom) for symptom in symptoms)) for test in _speaking(graph, function))
    return Tested(function, symptoms, tuple(rows))


def _clears(graph: Graph, test: Node, symptom: Node) -> Covered | None:
    if test.id not in graph.speaking.get(symptom.id, ()):
        return None
    causes = {likely.cause.id for likely in graph.causes(symptom.id)}
    left = [{node.id for node in graph.left(test.id, row, symptom.id)} for row in range(len(test.findings))]
    return Covered(len(set().union(*(causes - some for some in left))), len(causes))


def _coverage(
    base: Base, graph: Graph, wiring: Wiring, function: Node, vehicles: Sequence[Node]
) -> tuple[Covered, ...]:
    symptoms = [
        symptom
        for symptom in base.of_kind(Kind.SYMPTOM)
        if (around := graph.function(symptom.id)) and around.id == function.id
    ]
    return tuple(_covered(base, wiring, symptoms, vehicle) for vehicle in vehicles)


def _covered(base: Base, wiring: Wiring, symptoms: Sequence[Node], vehicle: Node) -> Covered:
    fitting = [s for s in symptoms if not s.refs("Only on") or _has(base.all(s.refs("Only on")), vehicle)]
    shown = [s for s in fitting if any(_has(wiring.vehicles(c.id), vehicle) for c in wiring.showing(s))]
    return Covered(len(shown), len(fitting))


def _has(nodes: Sequence[Node], wanted: Node) -> bool:
    return any(node.id == wanted.id for node in nodes)
