"""The plan with the least expected time until fixed, or until isolated to one repair, and its proof.

`Planner` is an exact dynamic programme over (causes left, accesses paid, tests done that matter), with a
memory, lower bounds and a budget of nodes. Within the budget the value is provably least; beyond it a
greedy plan stands, with the gap to the bound.

Values are weight x seconds in whole numbers, so equal plans have equal values.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from kb.isolation.matrix import Matrix, RepairRow, TestRow, scale_of, spread

BUDGET = 60_000
State = tuple[int, int, int]
GoOn = Callable[[int, int, int], "Step | None"]


class OverBudget(Exception):
    """More nodes than the budget were looked at."""


@dataclass(frozen=True, slots=True)
class Step:
    """One act of a plan. `kind` is `test` or `repair`; `number` its place in the matrix; `seconds` with
    the access it still has to pay. `leads` are (causes left, weight, next step) by finding; a repair's
    are fixed (none left) and not fixed.
    """

    kind: str
    number: int
    seconds: int
    leads: tuple[tuple[int, Fraction, Step | None], ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan: expected seconds, whether they are provably least, the gap in seconds, the first step."""

    seconds: Fraction
    proved: bool
    gap: Fraction
    first: Step | None


@dataclass
class Planner:
    """Plans for one symptom. `isolate` counts tests and access only, until one repair mends all left."""

    matrix: Matrix
    isolate: bool = False
    budget: int = BUDGET
    nodes: int = 0
    memory: dict[State, tuple[int, int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.scale = scale_of(self.matrix)
        self.spreads = [[spread(t, 1 << i) for i in range(len(self.matrix.causes))] for t in self.matrix.tests]
        wanted = 0
        for test in self.matrix.tests:
            wanted |= test.after
        self.first_ones = wanted
        self.overlapping = [sum(1 << i for i, k in enumerate(row) if k > 1) for row in self.spreads]
        self.least = [self._least(1 << i) for i in range(len(self.matrix.causes))]

    def _least(self, cause: int) -> int:
        """The seconds of the cheapest repair of a cause, without access."""
        return 0 if self.isolate else min((r.seconds for r in self.matrix.repairs if r.mends & cause), default=0)

    # Weights and costs.

    def weight(self, left: int, done: int) -> int:
        """The scaled weight of the causes left, after tests that leave a cause more than once."""
        return sum(self._weight(i, done) for i in bits(left))

    def _weight(self, cause: int, done: int) -> int:
        weight = self.matrix.weights[cause] * self.scale
        for test in bits(done):
            weight //= self.spreads[test][cause] or 1
        return weight

    def unpaid(self, needs: int, paid: int) -> int:
        """Seconds of the accesses that are needed and not paid."""
        return sum(self.matrix.access[i] for i in bits(needs & ~paid))

    # Actions.

    def splits(self, test: int, left: int) -> bool:
        """True where some finding that can happen clears some cause left."""
        return any(mask & left not in (0, left) for mask in self.matrix.tests[test].leaves)

    def open_tests(self, left: int, done: int) -> list[int]:
        """The tests that can be done next: those that split, and what has to come before them."""
        useful = [t for t in range(len(self.matrix.tests)) if not done >> t & 1 and self.splits(t, left)]
        found: dict[int, None] = {}
        for test in useful:
            self._ready(test, done, found)
        return sorted(found)

    def _ready(self, test: int, done: int, found: dict[int, None]) -> None:
        missing = self.matrix.tests[test].after & ~done
        if not missing:
            found[test] = None
        for first in bits(missing):
            if first not in found:
                self._ready(first, done, found)

    def open_repairs(self, left: int, tests: list[int]) -> list[int]:
        """The repairs that may be done: proved, nothing left to test, or marked to be tried."""
        return [
            i for i, r in enumerate(self.matrix.repairs)
            if r.mends & left and (r.mends & left == left or r.try_it or not tests)
        ]  # fmt: skip

    def ended(self, left: int, tests: list[int]) -> bool:
        """True where there is nothing more to do."""
        if not left:
            return True
        if self.isolate:
            return not tests or any(r.mends & left == left for r in self.matrix.repairs)
        return False

    def actions(self, left: int, paid: int, done: int) -> Iterator[tuple[int, str, int]]:
        """(seconds, kind, number) of what can be done next, cheapest first, then tests before repairs."""
        tests = self.open_tests(left, done)
        if self.ended(left, tests):
            return
        found = [(self.price("test", t, paid), "test", t) for t in tests]
        if not self.isolate:
            found += [(self.price("repair", r, paid), "repair", r) for r in self.open_repairs(left, tests)]
        yield from sorted(found, key=lambda a: (a[0], a[1] == "repair", a[2]))

    def row(self, kind: str, number: int) -> TestRow | RepairRow:
        """A test or a repair."""
        return self.matrix.tests[number] if kind == "test" else self.matrix.repairs[number]

    def price(self, kind: str, number: int, paid: int) -> int:
        """Seconds of an act with the access it still has to pay."""
        row = self.row(kind, number)
        return row.seconds + self.unpaid(row.needs, paid)

    def leads(self, kind: str, number: int, left: int, done: int) -> list[tuple[int, int]]:
        """What is left after each finding, and which tests are then done."""
        if kind == "repair":
            return [(left & ~self.matrix.repairs[number].mends, done)]
        after = done | 1 << number
        return [(mask & left, after) for mask in self.matrix.tests[number].leaves]

    def matters(self, left: int, done: int) -> int:
        """Of the tests done, those that a state has to remember: ones that left a cause more than once,
        and ones that others wait for.
        """
        return sum(1 << t for t in bits(done) if self.overlapping[t] & left or self.first_ones >> t & 1)

    # The programme.

    def bound(self, left: int, done: int) -> int:
        """No plan is cheaper: each cause has to be repaired, and what no repair mends at once be told apart."""
        least = sum(self._weight(i, done) * self.least[i] for i in bits(left))
        if any(r.mends & left == left for r in self.matrix.repairs) or not left:
            return least
        tests = self.open_tests(left, done)
        cheapest = min((self.matrix.tests[t].seconds for t in tests), default=0)
        return least + (self.weight(left, done) * cheapest if self.isolate and tests else 0)

    def value(self, left: int, paid: int, done: int) -> int:
        """The least weight x seconds from a state on. Raises OverBudget."""
        return self._best(left, paid, done)[0]

    def _best(self, left: int, paid: int, done: int) -> tuple[int, int]:
        """The least value, and the place of the first act among `actions`."""
        done = self.matters(left, done)
        state = (left, paid, done)
        if state not in self.memory:
            self.nodes += 1
            if self.nodes > self.budget:
                raise OverBudget
            self.memory[state] = self._search(left, paid, done)
        return self.memory[state]

    def _search(self, left: int, paid: int, done: int) -> tuple[int, int]:
        best, chosen = -1, -1
        weight = self.weight(left, done)
        for place, (seconds, kind, number) in enumerate(self.actions(left, paid, done)):
            found = self._try(best, weight * seconds, kind, number, left, paid, done)
            if found is not None and (best < 0 or found < best):
                best, chosen = found, place
        return max(best, 0), chosen

    def _try(self, best: int, cost: int, kind: str, number: int, left: int, paid: int, done: int) -> int | None:
        """The value of an act, or None as soon as it can't beat the best."""
        paid |= self.row(kind, number).needs
        parts = self.leads(kind, number, left, done)
        rest = [self.bound(m, self.matters(m, d)) for m, d in parts]
        open_ = sum(rest)
        for (mask, after), least in zip(parts, rest, strict=True):
            if 0 <= best <= cost + open_:
                return None
            open_ -= least
            cost += self.value(mask, paid, after)
        return cost

    # Plans.

    def plan(self, left: int | None = None, paid: int = 0, done: int = 0) -> Plan:
        """The least plan from a state on (left out: from the start)."""
        left = self.matrix.everything if left is None else left
        whole = self.weight(left, self.matters(left, done)) or 1
        try:
            value = self.value(left, paid, done)
            return Plan(Fraction(value, whole), True, Fraction(0), self.step(left, paid, done))
        except OverBudget:
            value, step = self.greedy(left, paid, done)
            gap = Fraction(value - self.bound(left, self.matters(left, done)), whole)
            return Plan(Fraction(value, whole), False, gap, step)

    def step(self, left: int, paid: int, done: int) -> Step | None:
        """The first step of the least plan, with all that follows."""
        place = self._best(left, paid, done)[1]
        if place < 0:
            return None
        seconds, kind, number = list(self.actions(left, paid, done))[place]
        return self.follow(kind, number, seconds, left, paid, done, self.step)

    def follow(self, kind: str, number: int, seconds: int, left: int, paid: int, done: int, go_on: GoOn) -> Step:
        """A step whose findings are followed by `go_on(left, paid, done)`."""
        paid |= self.row(kind, number).needs
        whole = self.weight(left, self.matters(left, done)) or 1
        leads: list[tuple[int, Fraction, Step | None]] = []
        parts = self.leads(kind, number, left, done)
        if kind == "repair":
            fixed = left & self.matrix.repairs[number].mends
            leads.append((0, Fraction(self.weight(fixed, self.matters(left, done)), whole), None))
        for mask, after in parts:
            share = Fraction(self.weight(mask, self.matters(left, done) | (after & ~done)), whole)
            leads.append((mask, share, go_on(mask, paid, after) if mask else None))
        return Step(kind, number, seconds, tuple(leads))

    def greedy(self, left: int, paid: int, done: int) -> tuple[int, Step | None]:
        """Beyond the budget: the act with the least time for what it clears, then on in the same way."""
        acts = list(self.actions(left, paid, done))
        if not acts:
            return 0, None
        seconds, kind, number = min(acts, key=lambda a: self._worth(a, left, done))
        value = self.weight(left, self.matters(left, done)) * seconds

        def go_on(mask: int, paid: int, done: int) -> Step | None:
            nonlocal value
            more, step = self.greedy(mask, paid, done)
            value += more
            return step

        step = self.follow(kind, number, seconds, left, paid, done, go_on)
        return value, step

    def _worth(self, act: tuple[int, str, int], left: int, done: int) -> tuple[Fraction, int]:
        seconds, kind, number = act
        state = self.matters(left, done)
        whole = self.weight(left, state) or 1
        parts = self.leads(kind, number, left, done)
        kept = sum(self.weight(m, state | (d & ~done)) ** 2 for m, d in parts)
        cleared = max(Fraction(whole * whole - kept, whole * whole), Fraction(1, 1_000_000))
        return (Fraction(seconds) / cleared, seconds)

    def in_order(self, order: list[int], left: int | None = None, paid: int = 0, done: int = 0) -> Fraction:
        """Expected seconds of a written order: its tests in turn, each skipped where it can't split what
        is left, then the least plan for what remains. Raises OverBudget.
        """
        left = self.matrix.everything if left is None else left
        return Fraction(self._ordered(order, left, paid, done), self.weight(left, self.matters(left, done)) or 1)

    def _ordered(self, order: list[int], left: int, paid: int, done: int) -> int:
        tests = set(self.open_tests(left, done))
        if self.ended(left, sorted(tests)):
            return 0
        following = next((t for t in order if not done >> t & 1 and self.splits(t, left)), None)
        if following is None or not left:
            return self.value(left, paid, done)
        test = self._first_ready(following, done)
        value = self.weight(left, self.matters(left, done)) * self.price("test", test, paid)
        paid |= self.matrix.tests[test].needs
        for mask, after in self.leads("test", test, left, done):
            value += self._ordered(order, mask, paid, after) if mask else 0
        return value

    def _first_ready(self, test: int, done: int) -> int:
        found: dict[int, None] = {}
        self._ready(test, done, found)
        return min(found)


def bits(mask: int) -> Iterator[int]:
    """The numbers in a mask, lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low
