"""What a symptom's plan comes to: minutes of plan and orders, and how far its tests tell causes apart."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import combinations
from typing import Any

from kb.isolation.matrix import Matrix
from kb.isolation.plan import Lead, Plan, Planner, Step
from kb.isolation.search import BUDGET

ORDERS = ("fixed", "in_order", "cheapest_first", "swap")
ENDS = ("isolated",)


@dataclass(frozen=True, slots=True)
class Swap:
    """Two tests of a written order (numbers in the matrix) that cost least changed round, and what that saves."""

    first: int
    second: int
    seconds: Fraction


class Hunt:
    """A symptom's plans and figures, each found when first asked for.

    Costs are expected seconds, shares parts of the symptom's weight (0 to 1). `order` is the writer's, by
    numbers in the matrix. What costs time is found in one turn, whichever of it is asked for first: within a
    budget, an order that is costed after another may come out otherwise.
    """

    def __init__(self, matrix: Matrix, order: Sequence[int] = (), budget: int = BUDGET) -> None:
        self.matrix, self.order, self.budget = matrix, tuple(order), budget
        self._fix = Planner(matrix, budget=budget)
        self._tell = Planner(matrix, isolate=True, budget=budget)

    @cached_property
    def fixed(self) -> Plan:
        """The plan until fixed."""
        return self._fix.plan()

    @cached_property
    def isolated(self) -> Plan:
        """The plan until one repair mends all that is left, or no test splits it."""
        return self._tell.plan()

    @cached_property
    def in_order(self) -> Fraction | None:
        """The writer's order until fixed; None where there is none."""
        return self._fix.in_order(self.order) if self.order and self.fixed.first else None

    @cached_property
    def cheapest_first(self) -> Fraction:
        """Always the test that takes least first, until fixed."""
        _ = self.in_order
        return self._fix.cheapest_first()

    @cached_property
    def swap(self) -> Swap | None:
        """The two tests of the writer's order that, changed round, save most; None where no swap saves anything."""
        _ = self.cheapest_first
        return None if self.in_order is None else _best_swap(self._fix, self.order, self.in_order)

    def known(self, figures: Sequence[str]) -> bool:
        """True where these figures (`ORDERS`, `ENDS`) were found before."""
        return all(name in vars(self) for name in figures)

    def learn(self, found: Mapping[str, Any]) -> None:
        """Take over figures that were found elsewhere, of a hunt that equals this one: all of `ORDERS` or `ENDS`."""
        vars(self).update(found)

    @cached_property
    def settled_first(self) -> Fraction:
        """What is down to one repair, or fixed by one that was tried, before anything comes off."""
        return settled_first(self.matrix, self.fixed.first)

    @cached_property
    def detected(self) -> Fraction:
        """What some test tells from another cause."""
        return _detected(self.matrix)

    @cached_property
    def together(self) -> list[tuple[int, ...]]:
        """The causes (numbers) in groups that no finding splits, whatever is found; single causes too."""
        groups: dict[tuple[bool, ...], list[int]] = {}
        for cause in range(len(self.matrix.causes)):
            rows = tuple(bool(mask >> cause & 1) for test in self.matrix.tests for mask in test.leaves)
            groups.setdefault(rows, []).append(cause)
        return [tuple(group) for group in groups.values()]

    @cached_property
    def ends(self) -> list[tuple[int, Fraction]]:
        """What is left when all is told apart that can be (masks), each with its chance."""
        return list(_ends(self.isolated.first, self.matrix.everything))

    def down_to(self, repairs: int) -> Fraction:
        """What all tests bring down to at most so many repairs."""
        return sum((share for left, share in self.ends if _repairs(self.matrix, left) <= repairs), Fraction(0))

    @cached_property
    def group(self) -> Fraction:
        """How many causes are left in the end, on average."""
        return sum((left.bit_count() * share for left, share in self.ends), Fraction(0))


def seconds_by_cause(matrix: Matrix, first: Step | None, spent: Callable[[Step], int]) -> list[Fraction]:
    """For each cause, what a plan is expected to take where it is the one, each step `spent` seconds.

    A cause that several findings of a test leave gives each of them alike.
    """
    return [_seconds_of(matrix, first, 1 << cause, spent) for cause in range(len(matrix.causes))]


def _seconds_of(matrix: Matrix, first: Step | None, cause: int, spent: Callable[[Step], int]) -> Fraction:
    memory: dict[int, Fraction] = {}

    def walk(step: Step | None) -> Fraction:
        if step is None:
            return Fraction(0)
        if id(step) not in memory:
            met = [lead.then for lead in step.leads if lead.left & cause]
            memory[id(step)] = spent(step) + sum(map(walk, met), Fraction(0)) / max(len(met), 1)
        return memory[id(step)]

    return walk(first)


def _best_swap(planner: Planner, order: Sequence[int], cost: Fraction) -> Swap | None:
    best: Swap | None = None
    for a, b in combinations(range(len(order)), 2):
        changed = list(order)
        changed[a], changed[b] = changed[b], changed[a]
        saved = cost - planner.in_order(changed)
        if saved > 0 and (best is None or saved > best.seconds):
            best = Swap(order[a], order[b], saved)
    return best


def settled_first(matrix: Matrix, first: Step | None) -> Fraction:
    """The share of weight that is down to one repair, or fixed by one that was tried, before anything comes off."""
    memory: dict[int, Fraction] = {}

    def walk(step: Step | None) -> Fraction:
        if step is None:
            return Fraction(0)
        if id(step) not in memory:
            memory[id(step)] = of(step)
        return memory[id(step)]

    def of(step: Step) -> Fraction:
        if step.kind == "test":
            comes_off = matrix.tests[step.number].needs & matrix.strips
            return Fraction(0) if comes_off else sum((lead.share * walk(lead.then) for lead in step.leads), Fraction(0))
        fixed, rest = step.leads
        repair = matrix.repairs[step.number]
        if not rest.share:
            return Fraction(1)
        if repair.needs & matrix.strips or not repair.try_it:
            return Fraction(0)
        return fixed.share + rest.share * walk(rest.then)

    return walk(first)


def _detected(matrix: Matrix) -> Fraction:
    """The share of weight that some test tells from some other cause."""
    whole = sum(matrix.weights)
    told = 0
    for cause, weight in enumerate(matrix.weights):
        rows = (m for t in matrix.tests for m in t.leaves if m >> cause & 1)
        told += weight if any(m != matrix.everything for m in rows) else 0
    return Fraction(told, whole) if whole else Fraction(0)


def _ends(first: Step | None, left: int) -> list[tuple[int, Fraction]]:
    """What is left where a plan ends, with its chance; chances of equal ends are added."""
    memory: dict[int, dict[int, Fraction]] = {}

    def ends(lead: Lead) -> dict[int, Fraction]:
        step = lead.then
        if step is None:
            return {lead.left: Fraction(1)}
        if id(step) not in memory:
            found: dict[int, Fraction] = {}
            for below in step.leads:
                for mask, share in ends(below).items() if below.share else ():
                    found[mask] = found.get(mask, Fraction(0)) + below.share * share
            memory[id(step)] = found
        return memory[id(step)]

    return sorted(ends(Lead(left, Fraction(1), first)).items())


def _repairs(matrix: Matrix, left: int) -> int:
    """How many repairs it takes at most to mend all that is left: 1 where one mends it all, found greedily beyond."""
    count = 0
    while left:
        best = max((r.mends & left for r in matrix.repairs), key=int.bit_count, default=0)
        left &= ~best if best else 0
        count += 1
    return count
