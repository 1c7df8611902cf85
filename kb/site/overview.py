"""The base seen from other sides: functions by their share of jobs, tools, parts, terms, lessons, hazards."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from kb.graph import Graph
from kb.isolation.figures import Hunt
from kb.isolation.ways import Hunts
from kb.model import Base, Node
from kb.reference import PROCEDURES, Kind
from kb.site.loom import trunk


@dataclass(frozen=True, slots=True)
class Entry:
    """A symptom on the front page, with its causes counted and its plan's expected seconds until fixed.

    `seconds` is None where nothing can be planned. `own`: the same of vehicles on which the plan is another.
    """

    symptom: Node
    causes: int
    seconds: Fraction | None
    own: tuple[tuple[Node, int, Fraction | None], ...] = ()


@dataclass(frozen=True, slots=True)
class Group:
    """A function and its symptoms; `width` is the trunk's, `share` its share of past jobs, if any."""

    function: Node | None
    entries: tuple[Entry, ...]
    width: int
    share: float | None


@dataclass(frozen=True, slots=True)
class ToolUse:
    """A tool and what is done with it."""

    tool: Node
    users: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class PartUse:
    """A part of that name in the circuits, and the tests, repairs and accesses that name its points."""

    name: str
    kinds: tuple[str, ...]
    circuits: tuple[Node, ...]
    users: tuple[Node, ...]


def groups(base: Base, graph: Graph, hunts: Hunts) -> tuple[Group, ...]:
    """Functions by their past jobs, then in page order; symptoms outside every function last."""
    jobs = Counter(job.symptom for job in base.jobs if job.symptom)
    by_function: dict[str, list[Node]] = {f.id: [] for f in base.of_kind(Kind.FUNCTION)}
    for symptom in base.of_kind(Kind.SYMPTOM):
        function = graph.function(symptom.id)
        by_function.setdefault(function.id if function else "", []).append(symptom)
    counts = {f: sum(jobs[s.id] for s in symptoms) for f, symptoms in by_function.items() if symptoms}
    total, most = sum(counts.values()), max(counts.values(), default=0)
    return tuple(
        Group(
            base.nodes.get(f),
            tuple(_entry(graph, hunts, symptom) for symptom in by_function[f]),
            max(trunk(counts[f], most), 2) if total else trunk(1, 1),
            counts[f] / total if total else None,
        )
        for f in sorted(counts, key=lambda f: (not f, -counts[f]))
    )


def _entry(graph: Graph, hunts: Hunts, symptom: Node) -> Entry:
    (_, plain), *others = hunts.ways(symptom.id)
    own = ((graph.base.nodes[vehicle], *_told(hunt)) for vehicle, hunt in others if vehicle)
    return Entry(symptom, len(graph.causes(symptom.id)), _told(plain)[1], tuple(own))


def _told(hunt: Hunt) -> tuple[int, Fraction | None]:
    plan = hunt.fixed
    return len(hunt.matrix.causes), plan.seconds if plan.first else None


def tools(base: Base) -> tuple[ToolUse, ...]:
    """Each tool with the tests, repairs and accesses that need it."""
    procedures = base.of_kind(*PROCEDURES)
    needs = {node.id: {need.id for need in base.all(node.refs("Needs"))} for node in procedures}
    return tuple(
        ToolUse(tool, tuple(node for node in procedures if tool.id in needs[node.id]))
        for tool in by_name(base.of_kind(Kind.TOOL))
    )


def parts(base: Base) -> tuple[PartUse, ...]:
    """The parts of all circuits by name, wherever they stand."""
    names = sorted({name for circuit in base.circuits.values() for name in circuit.parts}, key=_natural)
    return tuple(_part(base, name) for name in names)


def _part(base: Base, name: str) -> PartUse:
    having = {c: circuit.parts[name] for c, circuit in base.circuits.items() if name in circuit.parts}
    users = tuple(
        node for node in base.of_kind(*PROCEDURES) if any(point.text.partition(".")[0] == name for point in node.points)
    )
    kinds = tuple(dict.fromkeys(part.kind for part in having.values()))
    return PartUse(name, kinds, tuple(base.nodes[c] for c in having), users)


def lessons(base: Base) -> tuple[Node, ...]:
    """Lessons in page order, each after the lessons that it follows; a circle is broken in page order."""
    waiting = list(base.of_kind(Kind.LESSON))
    done: list[Node] = []
    while waiting:
        ready = next((n for n in waiting if not _pending(base, n, waiting)), waiting[0])
        waiting.remove(ready)
        done.append(ready)
    return tuple(done)


def _pending(base: Base, lesson: Node, waiting: list[Node]) -> bool:
    others = {node.id for node in waiting if node.id != lesson.id}
    return any(before.id in others for before in base.all(lesson.refs("After")))


def by_name(nodes: Iterable[Node]) -> tuple[Node, ...]:
    """Nodes in the order of their names, then of page and line."""
    return tuple(sorted(nodes, key=lambda node: (node.name.casefold(), node.id)))


def _natural(name: str) -> tuple[str, int, str]:
    letters = name.rstrip("0123456789")
    return letters, int(name[len(letters) :] or 0), name
