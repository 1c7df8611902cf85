"""A plan's steps in reading order, each once: what every finding of a step leaves, and where it goes on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from kb.graph import Graph
from kb.isolation.matrix import Matrix, money_seconds
from kb.isolation.plan import Lead, Step
from kb.isolation.states import bits
from kb.model import Node


@dataclass(frozen=True, slots=True)
class Way:
    """Findings of a step that lead to one state: their words and readings, their chance together (0 to 1),
    the causes left, those of them that a finding proves, the number of the step that follows (None: the end).

    `rungs` are the steps told right here; `on` tells that the next step of the same list goes on.
    """

    words: tuple[str, ...]
    readings: tuple[str, ...]
    share: Fraction
    left: tuple[Node, ...]
    proved: tuple[Node, ...]
    then: int | None
    rungs: tuple[Stop, ...] = ()
    on: bool = False

    @property
    def chance(self) -> str:
        """The share in whole per cent; nothing is rounded to never or to always."""
        if self.share in (0, 1):
            return "always" if self.share else "not to be expected"
        if Fraction(1, 100) <= self.share <= Fraction(99, 100):
            return f"{round(100 * self.share)} %"
        return "under 1 %" if self.share < 1 / 2 else "over 99 %"


@dataclass(frozen=True, slots=True)
class Stop:
    """A step: its number, its test or repair, seconds in all, what it opens first, how many steps hang on it
    (itself too), and its ways; a repair's ways are mended and not mended.

    `causes` are left before it. `proof` and `money` (seconds that stand for a repair's costs) are a repair's.
    """

    number: int
    node: Node
    kind: str
    seconds: int
    opens: tuple[Node, ...]
    below: int
    causes: tuple[Node, ...]
    ways: tuple[Way, ...]
    proof: Node | None = None
    money: int = 0

    @property
    def minutes(self) -> float:
        """Minutes in all: as they are below 1, half ones below 10, else whole ones."""
        if self.seconds < 60:
            return self.seconds / 60
        return round(self.seconds / 30) / 2 if self.seconds < 600 else round(self.seconds / 60)

    @property
    def mends(self) -> tuple[Node, ...]:
        """Of the causes left, those that a repair mends."""
        rest = {cause.id for cause in self.ways[-1].left}
        return tuple(cause for cause in self.causes if cause.id not in rest)


@dataclass(slots=True)
class _Bunch:
    """Leads of a step that go to one state."""

    rows: list[int]
    lead: Lead
    proved: tuple[Node, ...]
    share: Fraction


@dataclass(slots=True)
class _Rung:
    """A step in its list: its bunches, which of them goes on in the list, and what is told under the others."""

    step: Step
    bunches: list[_Bunch]
    main: int | None
    under: dict[int, list[_Rung]] = field(default_factory=dict)


def unfold(graph: Graph, symptom: Node, matrix: Matrix, first: Step | None) -> tuple[Stop, ...]:
    """The steps of a plan as nested lists. The lead with most steps below it goes on in the list of its step."""
    return _Unfolding(graph, symptom, matrix, first).stops() if first else ()


def each(stops: Sequence[Stop]) -> Iterator[Stop]:
    """All stops, in the order of their numbers."""
    for stop in stops:
        yield stop
        for way in stop.ways:
            yield from each(way.rungs)


class _Unfolding:
    def __init__(self, graph: Graph, symptom: Node, matrix: Matrix, first: Step) -> None:
        self.base, self.graph, self.symptom, self.matrix = graph.base, graph, symptom, matrix
        self.causes = tuple(self.base.nodes[cause] for cause in matrix.causes)
        self.left: dict[int, int] = {id(first): matrix.everything}
        self.paid: dict[int, int] = {id(first): 0}
        self.below: dict[int, int] = {}
        self._walk(first)
        self.told: set[int] = set()
        self.rungs = self._list(first)
        self.numbers = {id(rung.step): i for i, rung in enumerate(_in_order(self.rungs), 1)}

    def stops(self) -> tuple[Stop, ...]:
        return self._stops(self.rungs)

    # What holds at each step, whichever way leads to it.

    def _walk(self, step: Step) -> int:
        """The steps at and below one as a mask; on the way down, what is left and what is open."""
        if id(step) not in self.below:
            own = 1 << len(self.below)
            self.below[id(step)] = own
            for lead in step.leads:
                if lead.then:
                    self.left.setdefault(id(lead.then), lead.left)
                    self.paid.setdefault(id(lead.then), self.paid[id(step)] | self._needs(step))
                    own |= self._walk(lead.then)
            self.below[id(step)] = own
        return self.below[id(step)]

    def _needs(self, step: Step) -> int:
        rows = self.matrix.tests if step.kind == "test" else self.matrix.repairs
        return rows[step.number].needs

    def _size(self, step: Step) -> int:
        return self.below[id(step)].bit_count()

    # Which step is told where.

    def _list(self, step: Step) -> list[_Rung]:
        """The steps of one list. What its last steps lead to is told first, so that it stands as high as it can."""
        rungs = [self._rung(step)]
        while (main := rungs[-1].main) is not None:
            following = rungs[-1].bunches[main].lead.then
            assert following is not None
            rungs.append(self._rung(following))
        for rung in reversed(rungs):
            for number, bunch in enumerate(rung.bunches):
                then = bunch.lead.then
                if then and number != rung.main and id(then) not in self.told:
                    rung.under[number] = self._list(then)
        return rungs

    def _rung(self, step: Step) -> _Rung:
        self.told.add(id(step))
        bunches = self._bunches(step)
        free = [
            (self._size(b.lead.then), b.share, -i)
            for i, b in enumerate(bunches)
            if b.lead.then and id(b.lead.then) not in self.told
        ]
        return _Rung(step, bunches, -max(free)[2] if free else None)

    def _bunches(self, step: Step) -> list[_Bunch]:
        found: dict[tuple[int, int, tuple[str, ...]], _Bunch] = {}
        for row, lead in enumerate(step.leads):
            proved = self._proved(step, row, lead)
            key = (lead.left, id(lead.then), tuple(node.id for node in proved))
            bunch = found.setdefault(key, _Bunch([], lead, proved, Fraction(0)))
            bunch.rows.append(row)
            bunch.share += lead.share
        return list(found.values())

    def _proved(self, step: Step, row: int, lead: Lead) -> tuple[Node, ...]:
        """The causes left that a finding proves."""
        if step.kind != "test":
            return ()
        finding = self.base.nodes[self.matrix.tests[step.number].id].findings[row]
        kept = {node.id for node in self._nodes(lead.left)}
        return tuple(node for node in self.base.all(finding.proves) if node.id in kept)

    def _nodes(self, mask: int) -> tuple[Node, ...]:
        return tuple(self.causes[i] for i in bits(mask))

    # In words.

    def _stops(self, rungs: Sequence[_Rung]) -> tuple[Stop, ...]:
        return tuple(self._stop(rung) for rung in rungs)

    def _stop(self, rung: _Rung) -> Stop:
        step = rung.step
        rows = self.matrix.tests if step.kind == "test" else self.matrix.repairs
        node = self.base.nodes[rows[step.number].id]
        missing = rows[step.number].needs & ~self.paid[id(step)]
        repair = step.kind == "repair"
        return Stop(
            self.numbers[id(step)],
            node,
            step.kind,
            step.seconds,
            tuple(self.base.nodes[self.matrix.access_ids[i]] for i in bits(missing)),
            self._size(step),
            self._nodes(self.left[id(step)]),
            tuple(self._way(rung, node, i) for i in range(len(rung.bunches))),
            self.graph.proof(node.id, self.symptom.id) if repair else None,
            money_seconds(self.base, node) if repair else 0,
        )

    def _way(self, rung: _Rung, node: Node, number: int) -> Way:
        bunch = rung.bunches[number]
        findings = [node.findings[row] for row in bunch.rows] if rung.step.kind == "test" else []
        then = bunch.lead.then
        return Way(
            tuple(dict.fromkeys(f.words.text for f in findings)),
            tuple(f.reading.text for f in findings),
            bunch.share,
            self._nodes(bunch.lead.left),
            bunch.proved,
            self.numbers[id(then)] if then else None,
            self._stops(rung.under.get(number, ())),
            number == rung.main,
        )


def _in_order(rungs: Sequence[_Rung]) -> Iterator[_Rung]:
    for rung in rungs:
        yield rung
        for number in sorted(rung.under):
            yield from _in_order(rung.under[number])
