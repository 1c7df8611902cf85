"""One symptom as numbers: causes with weights, what each finding leaves, seconds of tests, access, repairs.

Causes, tests and accesses are numbered; sets of them are bit masks (bit i is number i). Times are whole
seconds, so that equal sums are equal; money becomes time by the base's `Hour costs`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import lcm, prod

from kb.graph import Graph, Likely, survivors
from kb.model import Base, Node

TAKEN_OFF = frozenset("off out removed apart loose back away down".split())


@dataclass(frozen=True, slots=True)
class TestRow:
    """A test: its own seconds, the accesses it needs (mask, closed), the causes that each finding leaves
    (masks), and the tests that come first (mask).
    """

    __test__ = False

    id: str
    seconds: int
    needs: int
    leaves: tuple[int, ...]
    after: int = 0


@dataclass(frozen=True, slots=True)
class RepairRow:
    """A repair: seconds with its proof and its parts' costs, accesses of both, the causes that it mends."""

    id: str
    seconds: int
    needs: int
    mends: int
    try_it: bool = False


@dataclass(frozen=True, slots=True)
class Matrix:
    """A symptom ready to be planned. `weights` are whole numbers, in the order of the symptom's `Causes`;
    `strips` are the accesses that take something off the vehicle.
    """

    causes: tuple[str, ...]
    weights: tuple[int, ...]
    tests: tuple[TestRow, ...]
    repairs: tuple[RepairRow, ...]
    access: tuple[int, ...]
    access_ids: tuple[str, ...] = ()
    strips: int = 0

    @property
    def everything(self) -> int:
        """The mask of all causes."""
        return (1 << len(self.causes)) - 1


def build_matrix(graph: Graph, symptom: str) -> Matrix:
    """The matrix of a symptom: its tests in page order, the repairs of its causes, their accesses.

    A cause without a repair stays in the matrix; nothing mends it. A test that every finding of which
    clears a cause is taken to say nothing about that cause.
    """
    return _Builder(graph, symptom).build()


class _Builder:
    def __init__(self, graph: Graph, symptom: str) -> None:
        self.graph, self.base, self.symptom = graph, graph.base, symptom
        self.likely: tuple[Likely, ...] = graph.causes(symptom)
        self.causes = tuple(c.cause.id for c in self.likely)
        self.tests = [t for t in map(self.base.nodes.get, graph.speaking.get(symptom, ())) if t]
        self.access: dict[str, int] = {}
        self.seconds: list[int] = []

    def build(self) -> Matrix:
        tests = self._with_first(self.tests)
        rows = tuple(self._test(test, tests) for test in tests)
        repairs = {r.id: r for cause in self.causes for r in self.graph.repairs(cause)}
        listed = sorted(repairs.values(), key=lambda n: (n.page, n.span.line))
        weights = tuple(c.weight for c in self.likely)
        return Matrix(
            self.causes,
            weights,
            rows,
            tuple(self._repair(r) for r in listed),
            tuple(self.seconds),
            tuple(self.access),
            _mask(i for i, a in enumerate(self.access) if strips(self.base.nodes[a])),
        )

    def _with_first(self, tests: list[Node]) -> list[Node]:
        """The tests and those that have to come before them, in page order."""
        found: dict[str, Node] = {}
        waiting = list(tests)
        while waiting:
            test = waiting.pop()
            if test.id not in found:
                found[test.id] = test
                waiting.extend(self.base.all(test.refs("After")))
        return sorted(found.values(), key=lambda n: (n.page, n.span.line))

    def _test(self, test: Node, tests: list[Node]) -> TestRow:
        numbers = {t.id: i for i, t in enumerate(tests)}
        kept = [survivors(self.base, row, self.causes) for row in test.findings]
        never = [c for c in self.causes if not any(c in k for k in kept)]
        leaves = tuple(_mask(i for i, c in enumerate(self.causes) if c in k or c in never) for k in kept)
        after = _mask(numbers[n.id] for n in self.base.all(test.refs("After")))
        # A test that only comes before others, and has no findings, leaves all.
        whole = _mask(range(len(self.causes)))
        return TestRow(test.id, seconds_of(self.base, test), self._needs(test), leaves or (whole,), after)

    def _repair(self, repair: Node) -> RepairRow:
        proof = self.graph.proof(repair.id, self.symptom)
        time = seconds_of(self.base, repair) + (seconds_of(self.base, proof) if proof else 0)
        needs = self._needs(repair) | (self._needs(proof) if proof else 0)
        mends = _mask(i for i, c in enumerate(self.causes) if repair in self.graph.repairs(c))
        return RepairRow(repair.id, time + money_seconds(self.base, repair), needs, mends, repair.yes("Try"))

    def _needs(self, node: Node) -> int:
        return _mask(self._access(access) for access in self.graph.access(node.id))

    def _access(self, access: Node) -> int:
        if access.id not in self.access:
            self.access[access.id] = len(self.access)
            undo = access.values("Undo")
            put_back = undo[0].number if undo and undo[0].number else 0.0
            self.seconds.append(seconds_of(self.base, access) + round(put_back * 60))
        return self.access[access.id]


def _mask(numbers: Iterable[int]) -> int:
    mask = 0
    for number in numbers:
        mask |= 1 << number
    return mask


def strips(access: Node) -> bool:
    """True for an access in the name of which something is off, out, apart: strip-down, not set-up."""
    return bool(TAKEN_OFF & set(access.name.lower().replace("-", " ").split()))


def seconds_of(base: Base, node: Node) -> int:
    """A node's own `Takes` in seconds; on a limited base the time stated for its vehicle."""
    values = node.values("Takes")
    own = [v.number for v in values if v.refs and base.vehicle and base.targets.get(v.refs[0]) == base.vehicle]
    usual = [v.number for v in values if not v.refs]
    return round(next((t for t in (*own, *usual) if t is not None), 0.0) * 60)


def money_seconds(base: Base, repair: Node) -> int:
    """A repair's `Costs` as time, by the base's `Hour costs`; 0 without either."""
    hour = next((v.number for v in base.root.values("Hour costs")), None)
    cost = next((v.number for v in repair.values("Costs")), None)
    return round(cost / hour * 3600) if hour and cost else 0


def scale_of(matrix: Matrix) -> int:
    """What weights are multiplied by so that a cause's share of any overlapping findings is whole."""
    return lcm(*(prod(spread(test, 1 << i) or 1 for test in matrix.tests) for i in range(len(matrix.causes))))


def spread(test: TestRow, cause: int) -> int:
    """How many findings of a test leave a cause (a one-bit mask)."""
    return sum(1 for mask in test.leaves if mask & cause)


def shares(matrix: Matrix) -> Mapping[str, Fraction]:
    """Each cause's share of the symptom's weight."""
    whole = sum(matrix.weights)
    return {c: Fraction(w, whole) for c, w in zip(matrix.causes, matrix.weights, strict=True)} if whole else {}
