"""How the nodes of a base hang together: symptom, cause, test, finding, repair, access, hazard, lesson."""

from __future__ import annotations

import posixpath
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import unquote

from kb.model import Base, Finding, Job, Moment, Node, Value
from kb.phrases import phrase_pattern
from kb.reference import PROCEDURES, Kind, Ref
from kb.weights import counted, jobs_by_symptom, source

if TYPE_CHECKING:
    import networkx as nx

ROOTS = frozenset((Kind.BASE, Kind.SYMPTOM, Kind.LESSON))
FLEETING = "Comes and goes"
INSIDE_LESSONS = frozenset((Kind.QUESTION, Kind.EXERCISE))


@dataclass(frozen=True, slots=True)
class Likely:
    """A cause of a symptom. `weight` = the writer's (6, 3, 1 or a count) plus `jobs`, the history's.

    `source` says in words where the weight comes from.
    """

    cause: Node
    weight: int
    word: str
    jobs: int
    ref: Ref
    source: str = ""


@dataclass(frozen=True, slots=True)
class Call:
    """A hazard that a node calls for; `moment` is the first step that does (None: it has no step)."""

    hazard: Node
    moment: Moment | None
    trigger: str


@dataclass(frozen=True, slots=True)
class Graph:
    """A base's links, ready to be asked. All methods take node ids and give nodes in a fixed order.

    The maps go from ids to ids: `speaking` from a symptom to its tests, `naming` from a cause to its tests,
    `concerned` from a test or cause to its symptoms, `mended` from a repair to its causes.
    """

    base: Base
    likely: Mapping[str, tuple[Likely, ...]]
    speaking: Mapping[str, tuple[str, ...]]
    naming: Mapping[str, tuple[str, ...]]
    concerned: Mapping[str, tuple[str, ...]]
    mended: Mapping[str, tuple[str, ...]]
    all_hazards: tuple[Node, ...]
    place: Mapping[str, int]
    references: nx.DiGraph

    def _nodes(self, ids: Iterable[str]) -> tuple[Node, ...]:
        return tuple(self.base.nodes[i] for i in ids if i in self.base.nodes)

    def causes(self, symptom: str) -> tuple[Likely, ...]:
        """The causes of a symptom in the writer's order, with their weights."""
        return self.likely.get(symptom, ())

    def tests(self, symptom: str) -> tuple[Node, ...]:
        """The tests that speak about a symptom: those of its `Order` first, then in page order."""
        ordered = [n.id for n in self.base.all(self.base.nodes[symptom].refs("Order"))]
        spoken = self.speaking.get(symptom, ())
        return self._nodes(dict.fromkeys([*ordered, *spoken]))

    def tests_of(self, cause: str) -> tuple[Node, ...]:
        """The tests with a finding that names a cause."""
        return self._nodes(self.naming.get(cause, ()))

    def symptoms_of(self, node: str) -> tuple[Node, ...]:
        """The symptoms that a cause explains, or that a test speaks about."""
        return self._nodes(self.concerned.get(node, ()))

    def left(self, test: str, row: int, symptom: str) -> tuple[Node, ...]:
        """The causes of a symptom that stay possible after finding number `row` (from 0) of a test."""
        causes = [c.cause for c in self.causes(symptom)]
        kept = survivors(self.base, self.base.nodes[test].findings[row], [c.id for c in causes])
        return tuple(c for c in causes if c.id in kept)

    def repairs(self, cause: str) -> tuple[Node, ...]:
        """The repairs that remove a cause; several are alternatives."""
        return self.base.all(self.base.nodes[cause].refs("Repair"))

    def causes_of(self, repair: str) -> tuple[Node, ...]:
        """The causes that a repair removes."""
        return self._nodes(self.mended.get(repair, ()))

    def access(self, node: str) -> tuple[Node, ...]:
        """All access that a node needs, what has to be off first before what it lays open."""
        found: dict[str, Node] = {}
        self._open(self.base.nodes[node], found, {node})
        return tuple(found.values())

    def _open(self, node: Node, found: dict[str, Node], passed: set[str]) -> None:
        for access in self.base.all(node.refs("Access")):
            if access.id not in passed:
                passed.add(access.id)
                self._open(access, found, passed)
                found[access.id] = access

    def function(self, node: str) -> Node | None:
        """The function around a node."""
        return next((n for n in self.base.ancestors(self.base.nodes[node]) if n.kind is Kind.FUNCTION), None)

    def proof(self, repair: str, symptom: str) -> Node | None:
        """The test that proves a repair done for a symptom: of those it names, the first in the symptom's function.

        Where none of them stands there it is the first named; None where it names none.
        """
        named = self.base.all(self.base.nodes[repair].refs("Verify"))
        function = self.function(symptom)
        own = (test for test in named if function and self.function(test.id) == function)
        return next(own, named[0] if named else None)

    def functions(self, node: str) -> frozenset[str]:
        """The functions a procedure belongs to: those around it, else those of what it speaks about."""
        around = {n.id for n in self.base.ancestors(self.base.nodes[node]) if n.kind is Kind.FUNCTION}
        if around:
            return frozenset(around)
        return frozenset(
            f.id
            for s in self._concerned(self.base.nodes[node])
            for f in self.base.ancestors(s)
            if f.kind is Kind.FUNCTION
        )

    def _concerned(self, node: Node) -> Iterator[Node]:
        if node.kind is Kind.TEST:
            yield from self.symptoms_of(node.id)
        elif node.kind is Kind.REPAIR:
            for cause in self.causes_of(node.id):
                yield from self.symptoms_of(cause.id)

    def hazards(self, node: str) -> tuple[Call, ...]:
        """The hazards that a test, repair or access calls for, in the base's order."""
        asked = self.base.nodes[node]
        if asked.kind not in PROCEDURES:
            return ()
        return tuple(c for h in self.all_hazards if (c := self._call(asked, h)))

    def _call(self, node: Node, hazard: Node) -> Call | None:
        if not share_vehicle(self.base, node, hazard):
            return None
        steps = [m for m in node.moments if m.message is None]
        trigger = self._trigger(node, hazard)
        if trigger:
            return Call(hazard, steps[0] if steps else None, trigger)
        patterns = [phrase_pattern(phrase) for phrase in hazard.words("At words")]
        for step in steps:
            match = next((m for p in patterns if (m := p.search(step.text))), None)
            if match:
                return Call(hazard, step, f"the phrase `{match[0]}`")
        return None

    def _trigger(self, node: Node, hazard: Node) -> str:
        for key, own in (("With access", "Access"), ("With tool", "Needs")):
            named = {n.id for n in self.base.all(node.refs(own))} | ({node.id} if own == "Access" else set())
            found = next((n for n in self.base.all(hazard.refs(key)) if n.id in named), None)
            if found:
                return f"the {found.kind.value.lower()} `{found.name}`"
        wanted = self.base.all(hazard.refs("In function"))
        belongs = self.functions(node.id) if wanted else frozenset()
        return next((f"the function `{f.name}`" for f in wanted if f.id in belongs), "")

    def lessons_of(self, node: str) -> tuple[Node, ...]:
        """The lessons that name a node, in `Covers`, in their prose or in a question."""
        lessons = {i for n in self.named_on(node) for i in self._lesson_around(n)}
        return self._nodes(sorted(lessons, key=lambda i: self.place.get(i, -1)))

    def _lesson_around(self, node: Node) -> Iterator[str]:
        yield from (n.id for n in (node, *self.base.ancestors(node)) if n.kind is Kind.LESSON)

    def named_on(self, node: str) -> tuple[Node, ...]:
        """The nodes whose facts, steps, findings or prose refer to a node, in the base's order."""
        if node not in self.references:
            return ()
        return self._nodes(sorted(self.references.predecessors(node), key=lambda i: self.place.get(i, -1)))

    def reached(self) -> frozenset[str]:
        """What a reader comes to from the front page, the symptoms, the lessons and the tests on."""
        roots = [n.id for n in self.base.nodes.values() if n.kind in ROOTS or self._in_lesson(n)]
        roots.extend(test for tests in self.speaking.values() for test in tests)
        from networkx import descendants

        graph = self.references.copy()
        graph.add_edges_from(("", root) for root in roots)
        return frozenset(descendants(graph, "")) if roots else frozenset()

    def _in_lesson(self, node: Node) -> bool:
        return node.kind in INSIDE_LESSONS and any(n.kind is Kind.LESSON for n in self.base.ancestors(node))


def build_graph(base: Base) -> Graph:
    """The graph of a base. Cost: linear in nodes and references."""
    jobs = jobs_by_symptom(base)
    likely = {s.id: tuple(_likely(base, s, jobs)) for s in base.of_kind(Kind.SYMPTOM)}
    naming: dict[str, dict[str, None]] = defaultdict(dict)
    for test in base.of_kind(Kind.TEST):
        for cause in named_causes(base, test):
            naming[cause][test.id] = None
    speaking = {s: _speaking(base, base.nodes[s], causes, naming) for s, causes in likely.items()}
    causes = {s: tuple(c.cause.id for c in found) for s, found in likely.items()}
    repairs = {c.id: tuple(r.id for r in base.all(c.refs("Repair"))) for c in base.of_kind(Kind.CAUSE)}
    return Graph(
        base,
        likely,
        speaking,
        {c: tuple(t) for c, t in naming.items()},
        _reversed(speaking) | _reversed(causes),
        _reversed(repairs),
        base.of_kind(Kind.HAZARD),
        {id_: i for i, id_ in enumerate(base.nodes)},
        _references(base),
    )


def _reversed(links: Mapping[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for start, ends in links.items():
        for end in ends:
            found[end][start] = None
    return {end: tuple(starts) for end, starts in found.items()}


def _likely(base: Base, symptom: Node, jobs: Mapping[str, Sequence[Job]]) -> Iterator[Likely]:
    named: dict[str, Value] = {}
    for value in symptom.values("Causes"):
        cause = base.targets.get(value.refs[0]) if value.refs else None
        if cause:
            named.setdefault(cause, value)
    found = counted(base, symptom.id, tuple(named), jobs)
    for id_, value in named.items():
        own = next(iter(base.nodes[id_].values("How often")), None)
        weight = value.number or (own.number if own else None) or 1
        word = value.remark or (own.text if own else "")
        here = found.jobs.get(id_, 0)
        yield Likely(base.nodes[id_], int(weight) + here, word, here, value.refs[0], source(word, here, found))


def named_causes(base: Base, test: Node) -> frozenset[str]:
    """The causes that the findings of a test clear or prove."""
    refs = (ref for row in test.findings for ref in (*row.clears, *row.proves))
    return frozenset(i for ref in refs if (i := base.targets.get(ref)))


def _speaking(
    base: Base, symptom: Node, causes: tuple[Likely, ...], naming: Mapping[str, Mapping[str, None]]
) -> tuple[str, ...]:
    """What provokes a fault that comes and goes says nothing of one that is there all the time, unless the writer
    orders it.
    """
    ordered = base.all(symptom.refs("Order"))
    found = {
        test
        for likely in causes
        for test in naming.get(likely.cause.id, ())
        if symptom.yes(FLEETING) or not base.nodes[test].yes(FLEETING) or base.nodes[test] in ordered
    }
    return tuple(sorted(found, key=lambda i: (base.nodes[i].page, base.nodes[i].span.line)))


def _references(base: Base) -> nx.DiGraph:
    import networkx as nx  # takes a third of the time that `find` may take

    graph: nx.DiGraph = nx.DiGraph()
    graph.add_nodes_from(base.nodes)
    for node in base.nodes.values():
        for ref in refs_of(node):
            target = base.targets.get(ref)
            if target and target != node.id:
                graph.add_edge(node.id, target)
    _circuit_references(base, graph)
    graph.add_edges_from(_links(base))
    return graph


def _links(base: Base) -> Iterator[tuple[str, str]]:
    """Ordinary links between pages: from the node they stand in to the page, or the node of the anchor."""
    for page in base.pages.values():
        for link in page.links:
            path, _, anchor = link.href.partition("#")
            target = posixpath.normpath(posixpath.join(posixpath.dirname(page.path), unquote(path)))
            found = base.pages.get(target if path else page.path)
            inside = [n for n in page.nodes if n.span.line <= link.span.line <= n.end_line]
            ends = found.nodes if found else ()
            for end in ends:
                if (not anchor and end is ends[0]) or (anchor and _holds(end, unquote(anchor))):
                    yield (inside[-1] if inside else page.nodes[0]).id, end.id


def _holds(node: Node, anchor: str) -> bool:
    """True where an anchor is a node's own, now or formerly, or that of a heading in its prose."""
    return anchor in (node.anchor, *node.old_anchors) or any(
        b.anchor == anchor and b.type == "heading" for b in node.blocks
    )


def _circuit_references(base: Base, graph: nx.DiGraph) -> None:
    for circuit in base.circuits.values():
        rows = [r.cause for r in circuit.faults] + [r.symptom for r in circuit.symptoms]
        for ref in [*rows, *(r.test for r in circuit.readings)]:
            target = base.targets.get(ref) if ref else None
            if target:
                graph.add_edge(circuit.node, target)


def refs_of(node: Node) -> Iterator[Ref]:
    """Every reference of a node: of its facts, its body and its findings."""
    for fact in node.facts.values():
        for value in fact.values:
            yield from value.refs
    yield from node.prose_refs
    for row in node.findings:
        yield from (*row.words.refs, *row.refs)


def elsewhere(base: Base, row: Finding) -> bool:
    """True where a finding is for other vehicles than the one that the base is limited to."""
    return bool(base.vehicle and row.only) and base.vehicle not in {base.targets.get(ref) for ref in row.only}


def survivors(base: Base, row: Finding, causes: Iterable[str]) -> frozenset[str]:
    """Of `causes`, those that stay possible after a finding.

    A row that proves clears every other cause; else a row clears what it names. A row for other vehicles
    than the base is limited to is never found: it leaves none.
    """
    if elsewhere(base, row):
        return frozenset()
    proved = {base.targets.get(ref) for ref in row.proves}
    if row.proves:
        return frozenset(c for c in causes if c in proved)
    cleared = {base.targets.get(ref) for ref in row.clears}
    return frozenset(c for c in causes if c not in cleared)


def signatures(graph: Graph, symptom: str) -> Mapping[str, tuple[tuple[bool, ...], ...]]:
    """For each cause of a symptom, under which findings of which speaking test it survives.

    Two causes with equal signatures are told apart by no test.
    """
    causes = [c.cause.id for c in graph.causes(symptom)]
    table: dict[str, list[tuple[bool, ...]]] = {c: [] for c in causes}
    for test in graph.speaking.get(symptom, ()):
        kept = [survivors(graph.base, row, causes) for row in graph.base.nodes[test].findings]
        for cause in causes:
            table[cause].append(tuple(cause in row for row in kept))
    return {cause: tuple(rows) for cause, rows in table.items()}


def ambiguity_groups(graph: Graph, symptom: str) -> tuple[tuple[Node, ...], ...]:
    """The causes of a symptom in groups that no test splits, in the writer's order."""
    marks = signatures(graph, symptom)
    groups: dict[tuple[tuple[bool, ...], ...], list[Node]] = defaultdict(list)
    for likely in graph.causes(symptom):
        groups[marks[likely.cause.id]].append(likely.cause)
    return tuple(tuple(group) for group in groups.values())


def share_vehicle(base: Base, a: Node, b: Node) -> bool:
    """True where both nodes apply to some vehicle; a node without `Only on` applies to all."""
    on_a, on_b = a.refs("Only on"), b.refs("Only on")
    if not on_a or not on_b:
        return True
    return bool({base.targets.get(r) for r in on_a} & {base.targets.get(r) for r in on_b} - {None})


def loops(edges: Iterable[tuple[str, str, Ref]]) -> tuple[tuple[Ref, tuple[str, ...]], ...]:
    """Each circle of (from, to, reference) edges once: its first reference in page order, its nodes.

    A circle is a strongly connected component with an edge inside (Tarjan, by networkx).
    """
    import networkx as nx

    listed = list(edges)
    graph: nx.DiGraph = nx.DiGraph((a, b) for a, b, _ in listed)
    found = []
    for part in nx.strongly_connected_components(graph):
        inside = [(ref.span.path, ref.span.start, ref) for a, b, ref in listed if a in part and b in part]
        if inside:
            first = min(inside, key=lambda edge: edge[:2])[2]
            found.append((first, tuple(sorted(part))))
    return tuple(sorted(found, key=lambda loop: (loop[0].span.path, loop[0].span.start)))
