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
    """A walk through one symptom. `there` is whether a fault that comes and goes is there now (None: not asked).

    `past` holds all that was done, in order; of an act that was done again the last time counts. `paid` are
    accesses that were open before (mask).
    """

    def __init__(self, graph: Graph, symptom: Node, road: Road, past: Iterable[Past] = (), paid: int = 0) -> None:
        self.graph, self.symptom, self.road, self.matrix = graph, symptom, road, road.matrix
        self.past, self.paid = list(past), paid
        self.goes = symptom.yes("Comes and goes")
        self.there: bool | None = None
        self.chosen: int | None = None
        self._plans: dict[Stand, Plan] = {}

    # Where it stands.

    @property
    def counted(self) -> list[Past]:
        """The acts that count: each as it was done last."""
        last = {(each.kind, each.number): each for each in self.past}
        return list(last.values())

    @property
    def at(self) -> Stand:
        """Causes left, accesses open, tests done and unread, findings set aside."""
        return self._stand(self.counted)

    def without(self, step: Step) -> Stand:
        """Where it would stand if an act hadn't been done."""
        return self._stand([p for p in self.counted if (p.kind, p.number) != (step.kind, step.number)])

    def _stand(self, counted: Iterable[Past]) -> Stand:
        """What was found twice alike is trusted, and so is a repair that didn't help."""
        acts = list(counted)
        found = {each: f for each in acts if (f := self._found(each))}
        paid = self.paid
        for each in self.past:
            paid |= self.row(each.kind, each.number).needs
        unread = sum(1 << each.number for each in acts if each.kind == "test" and each.row == UNREAD)
        trusted = [f for each, f in found.items() if each.kind == "repair" or self.past.count(each) > 1]
        return stand(self.matrix, list(found.values()), paid, unread, trusted)

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
        paid, seconds = self.paid, 0
        for each in self.past:
            row = self.row(each.kind, each.number)
            seconds += row.seconds + sum(self.matrix.access[i] for i in bits(row.needs & ~paid))
            paid |= row.needs
        return seconds

    @property
    def found(self) -> int:
        """The causes that a finding has spoken for: named in the `Proves` of one that counts."""
        spoken, aside = 0, self.at.aside
        numbers = {cause: i for i, cause in enumerate(self.matrix.causes)}
        for each in self.counted:
            rows = self.node(each.kind, each.number).findings
            if each.kind == "test" and each.row != UNREAD and rows and self._found(each) not in aside:
                proved = self.graph.base.all(rows[each.row].proves)
                spoken |= sum(1 << numbers[c.id] for c in proved if c.id in numbers)
        return spoken

    @property
    def helped(self) -> Past | None:
        """The repair that mended it."""
        return next((each for each in self.counted if each.kind == "repair" and each.row == 0), None)

    @property
    def mended(self) -> int:
        """The causes that the repair which helped may have mended, of those left before it."""
        if self.helped is None:
            return 0
        left = self._stand([each for each in self.counted if each != self.helped]).left
        return left & self.matrix.repairs[self.helped.number].mends

    def opens(self, step: Step) -> tuple[Node, ...]:
        """The accesses that a step still has to open, what comes off first at the head."""
        node, paid = self.node(step.kind, step.number), self.at.paid
        open_now = {self.matrix.access_ids[i] for i in bits(paid)}
        wanted = [*self.graph.access(node.id)]
        if step.kind == "repair" and (proof := self.graph.proof(node.id, self.symptom.id)):
            wanted += self.graph.access(proof.id)
        return tuple({a.id: a for a in wanted if a.id not in open_now}.values())

    def effects(self, step: Step) -> list[Effect]:
        """What each finding of a step would clear and leave."""
        node, at = self.node(step.kind, step.number), self.without(step)
        words = findings_of(node)
        if step.kind == "repair":
            rest = at.left & ~self.matrix.repairs[step.number].mends
            share = Fraction(0) if not step.leads else step.leads[1].share
            return [Effect(words[0], at.left, 0, 1 - share), Effect(words[1], at.left & ~rest, rest, share)]
        leads = self.road.leads(at, step.number)
        return [
            Effect(word, at.left & ~to.left, to.left, share) for word, (to, share) in zip(words, leads, strict=True)
        ]

    def waits_for(self, test: int) -> int | None:
        """The first test that has to come before one and wasn't done; None without."""
        done = {each.number for each in self.past if each.kind == "test"}
        return next((i for i in bits(self.matrix.tests[test].after) if i not in done and i != test), None)

    # What answers make of it.

    def say(self, row: int) -> None:
        """The finding of the step at hand; UNREAD where it couldn't be read. A test done again counts anew.

        While a fault that comes and goes isn't there, nothing is found.
        """
        step = self.step
        if step is None or self.asks:
            return
        self.past.append(Past(step.kind, step.number, row))
        self.chosen, self.there = None, None

    def take_back(self) -> bool:
        """A test chosen out of order is taken back, else the last act; False where there is neither."""
        chosen, self.chosen, self.there = self.chosen, None, None
        return chosen is not None or bool(self.past) and bool(self.past.pop())

    def choose(self, test: int) -> None:
        """A test is done out of order; where another has to come before it, that one."""
        passed: set[int] = set()
        while (first := self.waits_for(test)) is not None and first not in passed:
            passed.add(test)
            test = first
        self.chosen, self.there = test, None


def better(walk: Walk, step: Step, most: int = 2) -> list[tuple[Fraction, str, int]]:
    """The next best acts beside a step: expected seconds until fixed, kind, number."""
    found = walk.road.choices(replace(walk.at, aside=()), most + 1)
    return [one for one in found if (one[1], one[2]) != (step.kind, step.number)][:most]
