"""The rules of a fault hunt once more, with nothing left out, cut off or kept short: every act in every state.

A state is (causes left, accesses paid, tests done). It shares no line with the planner.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cache

from kb.isolation.matrix import Matrix

State = tuple[int, int, int]
Which = tuple[int, int, int]  # seconds with unpaid access, 0 test or 1 repair, number in the matrix
Act = tuple[Which, Fraction, list[State]]  # which it is, weight x seconds, the states that it can lead to


class Unpruned:
    """One symptom, until fixed or until isolated."""

    def __init__(self, matrix: Matrix, isolate: bool = False) -> None:
        self.matrix, self.isolate = matrix, isolate
        self.value = cache(self._value)

    def weight(self, left: int, done: int) -> Fraction:
        """The weight left; a cause has but a part of its own where it survives several findings of a test done."""
        total = Fraction(0)
        for cause in _in(left):
            part = Fraction(self.matrix.weights[cause])
            for test in _in(done):
                part /= max(1, sum(mask >> cause & 1 for mask in self.matrix.tests[test].leaves))
            total += part
        return total

    def acts(self, state: State) -> list[Act]:
        """All that may be done."""
        left, paid, done = state
        tests = self.matrix.tests
        splitting = [
            t
            for t in range(len(tests))
            if not done >> t & 1 and any(m & left not in (0, left) for m in tests[t].leaves)
        ]
        together = any(left & ~r.mends == 0 for r in self.matrix.repairs)
        if not left or self.isolate and (together or not splitting):
            return []
        found = [self._test(state, t) for t in self._ready(splitting, done)]
        return found if self.isolate else [*found, *self._repairs(state, bool(splitting))]

    def _ready(self, wanted: list[int], done: int) -> list[int]:
        """The tests wanted, or what has to come before them, or before that."""
        ready, waiting = set(), list(wanted)
        while waiting:
            test = waiting.pop()
            first = [t for t in _in(self.matrix.tests[test].after) if not done >> t & 1]
            waiting.extend(first)
            ready.update(() if first else (test,))
        return sorted(ready)

    def _test(self, state: State, number: int) -> Act:
        left, paid, done = state
        row = self.matrix.tests[number]
        seconds = row.seconds + self._opens(row.needs, paid)
        below = [(mask & left, paid | row.needs, done | 1 << number) for mask in row.leaves]
        return (seconds, 0, number), self.weight(left, done) * seconds, below

    def _repairs(self, state: State, splits: bool) -> Iterator[Act]:
        left, paid, done = state
        for number, row in enumerate(self.matrix.repairs):
            if row.mends & left and (row.try_it or not splits or not left & ~row.mends):
                seconds = row.seconds + self._opens(row.needs, paid)
                below = [(left & ~row.mends, paid | row.needs, done)]
                yield (seconds, 1, number), self.weight(left, done) * seconds, below

    def _opens(self, needs: int, paid: int) -> int:
        return sum(self.matrix.access[i] for i in _in(needs & ~paid))

    def _value(self, state: State) -> Fraction:
        return min((self.after(act) for act in self.acts(state)), default=Fraction(0))

    def after(self, act: Act) -> Fraction:
        """Weight x seconds of an act and of the least that can follow it."""
        return act[1] + sum(map(self.value, act[2]))

    def best(self, state: State) -> Act:
        """The act with the least value; of equals the one of fewer seconds, then a test, then by number."""
        return min(self.acts(state), key=lambda act: (self.after(act), act[0]))

    def start(self, left: int | None = None, paid: int = 0, done: int = 0) -> State:
        """The state with these causes left; left out: all of them."""
        return self.matrix.everything if left is None else left, paid, done

    def seconds(self, state: State | None = None) -> Fraction:
        """Expected seconds from a state on; left out: from the start."""
        state = state or self.start()
        return self.value(state) / (self.weight(state[0], state[2]) or 1)


def _in(mask: int) -> list[int]:
    return [i for i in range(mask.bit_length()) if mask >> i & 1]
