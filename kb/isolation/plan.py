"""The plan with the least expected time until fixed, or until isolated to one repair, as a tree of steps.

Within the budget the plan is provably least; beyond it each step is the one with the least time if a
greedy hunt followed it (a rollout of one step), and the gap to the proved bound is told.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from kb.isolation.matrix import Matrix
from kb.isolation.search import BUDGET, Search
from kb.isolation.states import Act, State, States, bits


@dataclass(frozen=True, slots=True)
class Lead:
    """What a finding leads to: causes left (mask), its chance (0 to 1), the next step (None: the end)."""

    left: int
    share: Fraction
    then: Step | None


@dataclass(frozen=True, slots=True)
class Step:
    """One act of a plan. `kind` is `test` or `repair`; `number` its place in the matrix; `seconds` with
    the access it still has to pay. A test's `leads` are in the order of its findings; a repair's are
    fixed (nothing left) and not fixed. Steps that are reached in the same state are one object.
    """

    kind: str
    number: int
    seconds: int
    leads: tuple[Lead, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan: expected seconds, whether they are provably least, the gap in seconds, the first step."""

    seconds: Fraction
    proved: bool
    gap: Fraction
    first: Step | None


class Planner:
    """Plans for one symptom. `isolate` counts tests and access only, until one repair mends all left."""

    def __init__(self, matrix: Matrix, isolate: bool = False, budget: int = BUDGET) -> None:
        self.matrix, self.budget = matrix, budget
        self.states = States(matrix, isolate)
        self.search = Search(self.states, budget)
        self._greedy: dict[State, int] = {}
        self._policy: dict[State, tuple[int, Act | None]] = {}
        self._steps: dict[State, Step | None] = {}
        self._more = budget // 4  # states that may be opened for orders that somebody else chose

    def plan(self, left: int | None = None, paid: int = 0, done: int = 0, unread: int = 0) -> Plan:
        """The plan from causes left, accesses paid and tests done on (left out: from the start).

        `unread` are tests that gave no finding and aren't to be done again.
        """
        state, _ = self.states.start(self.matrix.everything if left is None else left, paid, done, unread)
        if state is None:
            return Plan(Fraction(0), True, Fraction(0), None)
        spot = self.search.solve(state, self.budget)
        whole = sum(spot.weights) or 1
        value = self._value(state)[0]
        return Plan(Fraction(value, whole), spot.settled, Fraction(value - spot.bound, whole), self._step(state))

    def choices(self, left: int, paid: int, done: int, unread: int, most: int) -> list[tuple[Fraction, Act]]:
        """The acts that could be done first, best first, at most so many: expected seconds until fixed, act.

        Which of them are looked into is told by a greedy hunt; how each then goes on is least within a
        hundredth of the budget.
        """
        state, _ = self.states.start(left, paid, done, unread)
        if state is None:
            return []
        hurried = sorted(self.states.acts(state), key=lambda a: (self._after(state, a, self._hurried), a))[:most]
        whole = sum(self.states.weights(state)) or 1
        return sorted((Fraction(self._after(state, act, self._looked), whole), act) for act in hurried)

    def _looked(self, state: State) -> int:
        self.search.solve(state, self.budget // 100)
        return self._value(state)[0]

    # Beyond the budget.

    def _after(self, state: State, act: Act, worth: Callable[[State], int]) -> int:
        """Weight x seconds of an act, and of what `worth` says of the states it leads to."""
        rest = sum(worth(below) // by for below, by in self.states.leads(state, act) if below)
        return sum(self.states.weights(state)) * act[0] + rest

    def _value(self, state: State) -> tuple[int, Act | None]:
        """Weight x seconds of the plan that stands, and its first act: the least one where that is settled."""
        spot = self.search.spots.get(state)
        if spot and spot.settled:
            return spot.bound, spot.best
        found = self._policy.get(state)
        if found is None:
            found = self._policy[state] = self._rollout(state)
        return found

    def _rollout(self, state: State) -> tuple[int, Act | None]:
        acts = self.states.acts(state)
        if not acts:
            return 0, None
        act = min(acts, key=lambda a: (self._after(state, a, self._hurried), a))
        return self._after(state, act, lambda below: self._value(below)[0]), act

    def _hurried(self, state: State) -> int:
        """Weight x seconds of a greedy hunt: always the act with the least time for what it clears."""
        spot = self.search.spots.get(state)
        if spot and spot.settled:
            return spot.bound
        found = self._greedy.get(state)
        if found is None:
            acts = self.states.acts(state)
            found = self._after(state, self._quickest(state, acts), self._hurried) if acts else 0
            self._greedy[state] = found
        return found

    def _quickest(self, state: State, acts: Sequence[Act]) -> Act:
        best, told = acts[0], self._told(state, acts[0])
        for act in acts[1:]:
            other = self._told(state, act)
            if act[0] * told < best[0] * other:
                best, told = act, other
        return best

    def _told(self, state: State, act: Act) -> int:
        """What an act tells: one less the sum of its findings' squared chances, times a common number."""
        left, weights = bits(state[0]), self.states.weights(state)
        whole = sum(weights)
        _, kind, number = act
        if kind:
            mends = self.matrix.repairs[number].mends
            kept = sum(w for i, w in zip(left, weights, strict=True) if not mends >> i & 1) ** 2
        else:
            spreads = self.states.spreads[number]
            parts = [w // (spreads[i] or 1) for i, w in zip(left, weights, strict=True)]
            leaves = self.matrix.tests[number].leaves
            kept = sum(sum(w for i, w in zip(left, parts, strict=True) if m >> i & 1) ** 2 for m in leaves)
        return max(whole * whole - kept, whole * whole // 1_000_000)

    # Trees.

    def _step(self, state: State) -> Step | None:
        if state not in self._steps:
            act = self._value(state)[1]
            self._steps[state] = None if act is None else self._follow(state, act)
        return self._steps[state]

    def _follow(self, state: State, act: Act) -> Step:
        seconds, kind, number = act
        whole = sum(self.states.weights(state)) or 1
        leads = []
        for below, by in self.states.leads(state, act):
            weight = sum(self.states.weights(below)) // by if below else 0
            then = self._step(below) if below else None
            leads.append(Lead(below[0] if below else 0, Fraction(weight, whole), then))
        if kind:
            leads.insert(0, Lead(0, 1 - leads[0].share, None))
        return Step("repair" if kind else "test", number, seconds, tuple(leads))

    # Orders that somebody else chose.

    def in_order(self, order: Sequence[int], left: int | None = None, paid: int = 0, done: int = 0) -> Fraction:
        """Expected seconds of a written order: its tests in turn, each skipped where it can't split what is
        left, then the plan for what remains. What has to come before a test is done first.
        """
        chosen = tuple(order)
        return self._ordered(left, paid, done, lambda state: self._next_of(state, chosen))

    def cheapest_first(self) -> Fraction:
        """Expected seconds of always doing the test that takes least, with its access, until none splits."""
        return self._ordered(None, 0, 0, self._cheapest)

    def _ordered(self, left: int | None, paid: int, done: int, choose: Callable[[State], Act | None]) -> Fraction:
        state, _ = self.states.start(self.matrix.everything if left is None else left, paid, done)
        if state is None:
            return Fraction(0)
        memory: dict[State, int] = {}

        def value(state: State) -> int:
            if state not in memory:
                mended = any(r.mends & state[0] == state[0] for r in self.matrix.repairs)
                act = None if mended else choose(state)
                memory[state] = self._after(state, act, value) if act else self._least(state)
            return memory[state]

        return Fraction(value(state), sum(self.states.weights(state)) or 1)

    def _least(self, state: State) -> int:
        before = self.search.opened
        self.search.solve(state, self._more)
        self._more -= self.search.opened - before
        return self._value(state)[0]

    def _next_of(self, state: State, order: Sequence[int]) -> Act | None:
        splitting = self.states.splitting(state[0]) & state[2]
        ready = (self._ready(state, t) for t in order if splitting >> t & 1)
        return next((self._act(state, t) for t in ready if t is not None), None)

    def _ready(self, state: State, wanted: int) -> int | None:
        """The test to be done first for a wanted one; None where tests wait for each other in a circle."""
        passed = 0
        while missing := self.matrix.tests[wanted].after & state[2]:
            passed |= 1 << wanted
            if missing & passed:
                return None
            wanted = min(t for t in range(len(self.matrix.tests)) if missing >> t & 1)
        return wanted

    def _cheapest(self, state: State) -> Act | None:
        splitting = self.states.splitting(state[0]) & state[2]
        ready = [t for t in range(len(self.matrix.tests)) if splitting >> t & 1]
        found = (a for t in ready if (a := self._next_of(state, [t])))
        return min(found, default=None)

    def _act(self, state: State, test: int) -> Act:
        row = self.matrix.tests[test]
        return row.seconds + self.states.unpaid(row.needs & ~state[1]), 0, test
