"""A symptom walked step by step: where the walk stands, and what each answer makes of it. Nothing is printed here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from kb.graph import Graph
from kb.isolation.found import Found, Road, Stand, stand
from kb.isolation.matrix import RepairRow, TestRow
from kb.isolation.named import findings_of
from kb.isolation.plan import Plan, Step
from kb.isolation.states import bits
from kb.model import Node

UNREAD = -1


@dataclass(frozen=True, slots=True)
class Past:
    """An act that was done: `row` is its finding's place (UNREAD: it couldn't be read; a repair's 0: fixed)."""

    kind: str
    number: int
    row: int


@dataclass(frozen=True, slots=True)
class Effect:
    """What a finding would do now: causes cleared and left (masks), and its chance."""

    words: str
    cleared: int
    left: int
    share: Fraction


class Walk:
    """A walk through one symptom. `there` is whether a fault that comes and goes is there now (None: not asked)."""

    def __init__(self, graph: Graph, symptom: Node, road: Road, past: Iterable[Past] = ()) -> None:
        self.graph, self.symptom, self.road, self.matrix = graph, symptom, road, road.matrix
        self.past = list(past)
        self.goes = symptom.yes("Comes and goes")
        self.there: bool | None = None
        self.chosen: int | None = None
        self._plans: dict[Stand, Plan] = {}

    # Where it stands.

    @property
    def at(self) -> Stand:
        """Causes left, accesses open, tests done and unread, findings set aside."""
        found = [f for f in map(self._found, self.past) if f]
        paid = 0
        for each in self.past:
            paid |= self.row(each.kind, each.number).needs
        unread = sum(1 << each.number for each in self.past if each.kind == "test" and each.row == UNREAD)
        return stand(self.matrix, found, paid, unread)

    def _found(self, each: Past) -> Found | None:
        if each.row == UNREAD:
            return None
        if each.kind == "test":
            return Found("test", each.number, each.row, self.matrix.tests[each.number].leaves[each.row])
        mends = self.matrix.repairs[each.number].mends
        return Found("repair", each.number, each.row, self.matrix.everything & ~mends if each.row else 0)

    @property
    def plan(self) -> Plan:
        """The plan from here."""
        at = self.at
        if at not in self._plans:
            self._plans[at] = self.road.plan(at)
        return self._plans[at]

    @property
    def step(self) -> Step | None:
        """What is to be done next: the test that was chosen out of order, else the plan's act."""
        if self.chosen is not None:
            seconds = self.road.seconds(self.at, self.chosen)
            return Step("test", self.chosen, seconds, ())
        return self.plan.first

    def row(self, kind: str, number: int) -> TestRow | RepairRow:
        """A test or repair of the matrix."""
        return (self.matrix.tests if kind == "test" else self.matrix.repairs)[number]

    def node(self, kind: str, number: int) -> Node:
        """A test or repair by its number."""
        return self.graph.base.nodes[self.row(kind, number).id]

    def causes(self, left: int) -> list[Node]:
        """Causes of a mask, in the writer's order."""
        return [self.graph.base.nodes[self.matrix.causes[i]] for i in bits(left)]

    @property
    def asks(self) -> bool:
        """True where it has to be said first whether the fault is there now."""
        step = self.step
        return self.goes and not self.there and step is not None and step.kind == "test"

    @property
    def spent(self) -> int:
        """Seconds of all that was done, each access paid once."""
        paid, seconds = 0, 0
        for each in self.past:
            row = self.row(each.kind, each.number)
            needs = row.needs
            seconds += row.seconds + sum(self.matrix.access[i] for i in bits(needs & ~paid))
            paid |= needs
        return seconds

    @property
    def found(self) -> int:
        """The causes left that a finding has spoken for: named in its `Proves`, or mended by a repair that helped."""
        base, spoken = self.graph.base, 0
        numbers = {cause: i for i, cause in enumerate(self.matrix.causes)}
        for each in self.past:
            if each.kind == "repair" and each.row == 0:
                spoken |= self.matrix.repairs[each.number].mends
            elif each.kind == "test" and each.row != UNREAD and (rows := self.node("test", each.number).findings):
                proved = base.all(rows[each.row].proves)
                spoken |= sum(1 << numbers[c.id] for c in proved if c.id in numbers)
        return spoken

    @property
    def mended(self) -> int:
        """The causes that the repair which helped may have mended, of those left before it."""
        if not self.at.fixed:
            return 0
        before = [each for each in self.past if not (each.kind == "repair" and each.row == 0)]
        left = replace_past(self, before).at.left
        last = next(each for each in self.past if each.kind == "repair" and each.row == 0)
        return left & self.matrix.repairs[last.number].mends

    def opens(self, step: Step) -> tuple[Node, ...]:
        """The accesses that a step still has to open, what comes off first at the head."""
        node, paid = self.node(step.kind, step.number), self.at.paid
        open_now = {self.matrix.access_ids[i] for i in bits(paid)}
        wanted = [*self.graph.access(node.id)]
        for proof in self.graph.base.all(node.refs("Verify"))[:1]:
            wanted += self.graph.access(proof.id)
        return tuple({a.id: a for a in wanted if a.id not in open_now}.values())

    def effects(self, step: Step) -> list[Effect]:
        """What each finding of a step would clear and leave."""
        node, at = self.node(step.kind, step.number), self.at
        words = findings_of(node)
        if step.kind == "repair":
            rest = at.left & ~self.matrix.repairs[step.number].mends
            share = Fraction(0) if not step.leads else step.leads[1].share
            return [Effect(words[0], at.left, 0, 1 - share), Effect(words[1], at.left & ~rest, rest, share)]
        leads = self.road.leads(at, step.number)
        return [
            Effect(word, at.left & ~to.left, to.left, share) for word, (to, share) in zip(words, leads, strict=True)
        ]

    def open_tests(self) -> list[int]:
        """The tests that weren't done, in page order."""
        done = {each.number for each in self.past if each.kind == "test"}
        return [i for i in range(len(self.matrix.tests)) if i not in done]

    # What answers make of it.

    def say(self, row: int) -> None:
        """The finding of the step at hand; UNREAD where it couldn't be read. A test done again counts anew."""
        step = self.step
        assert step is not None
        kept = [p for p in self.past if (p.kind, p.number) != (step.kind, step.number)]
        self.past = [*kept, Past(step.kind, step.number, row)]
        self.chosen, self.there = None, None

    def take_back(self) -> bool:
        """The last act is taken back; False where there is none."""
        self.chosen, self.there = None, None
        return bool(self.past) and bool(self.past.pop())

    def choose(self, test: int) -> None:
        """A test is done out of order."""
        self.chosen, self.there = test, None


def replace_past(walk: Walk, past: Iterable[Past]) -> Walk:
    """The same walk with another past."""
    return Walk(walk.graph, walk.symptom, walk.road, past)


def better(walk: Walk, step: Step, most: int = 2) -> list[tuple[Fraction, str, int]]:
    """The next best acts beside a step: expected seconds until fixed, kind, number."""
    found = walk.road.choices(replace(walk.at, aside=()))
    return [one for one in found if (one[1], one[2]) != (step.kind, step.number)][:most]
