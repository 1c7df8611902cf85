"""Where a fault hunt can stand, what can be done there, and where each finding leads.

A state is (causes left, accesses paid, tests still to do, how often each cause left survived). Only what
can still matter is kept, so that hunts which differ in nothing that counts meet in one state.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import gcd

from kb.isolation.matrix import Matrix, scale_of, spread

State = tuple[int, int, int, tuple[int, ...]]
Act = tuple[int, int, int]  # seconds with unpaid access, 0 test or 1 repair, number in the matrix
Lead = tuple[State | None, int]  # the state after a finding (None: nothing is left), and its divisor


@lru_cache(maxsize=100_000)
def bits(mask: int) -> tuple[int, ...]:
    """The numbers in a mask, lowest first."""
    found = []
    while mask:
        low = mask & -mask
        found.append(low.bit_length() - 1)
        mask ^= low
    return tuple(found)


class States:
    """The states of one symptom. `isolate` leaves repairs out: a state ends where one mends all that is left."""

    def __init__(self, matrix: Matrix, isolate: bool = False) -> None:
        self.matrix, self.isolate = matrix, isolate
        self.tests, self.repairs = matrix.tests, matrix.repairs
        self.scale = scale_of(matrix)
        self.scaled = [w * self.scale for w in matrix.weights]
        self.spreads = [[spread(t, 1 << i) for i in range(len(matrix.causes))] for t in matrix.tests]
        self.overlaps = [sum(1 << i for i, k in enumerate(row) if k > 1) for row in self.spreads]
        self.waiting = [t for t, row in enumerate(matrix.tests) if row.after]
        self._splitting: dict[int, int] = {}
        self._useful: dict[tuple[int, int], int] = {}
        self._unpaid: dict[int, int] = {0: 0}

    # What still matters.

    def splitting(self, left: int) -> int:
        """The tests of which some finding that can happen clears some cause left, as a mask."""
        found = self._splitting.get(left)
        if found is None:
            found = 0
            for number, test in enumerate(self.tests):
                if any(mask & left not in (0, left) for mask in test.leaves):
                    found |= 1 << number
            self._splitting[left] = found
        return found

    def to_do(self, left: int, undone: int) -> int:
        """Of the tests undone, those that split what is left and those that have to come before them."""
        found = self.splitting(left) & undone
        if found and self.waiting:
            more = True
            while more:
                first = 0
                for test in self.waiting:
                    if found >> test & 1:
                        first |= self.tests[test].after & undone
                more = bool(first & ~found)
                found |= first
        return found

    def useful(self, left: int, to_do: int) -> int:
        """The accesses that some test to do, or some repair of a cause left, needs."""
        key = (left, to_do)
        found = self._useful.get(key)
        if found is None:
            found = 0
            for test in bits(to_do):
                found |= self.tests[test].needs
            for repair in self.repairs:
                if repair.mends & left and not self.isolate:
                    found |= repair.needs
            self._useful[key] = found
        return found

    def unpaid(self, missing: int) -> int:
        """Seconds of some accesses."""
        found = self._unpaid.get(missing)
        if found is None:
            found = self._unpaid[missing] = sum(self.matrix.access[i] for i in bits(missing))
        return found

    # States.

    def start(self, left: int, paid: int = 0, done: int = 0, unread: int = 0) -> Lead:
        """The state with these causes left, accesses paid and tests done, and its divisor.

        `unread` are tests that gave no finding and aren't to be done again.
        """
        times = [1] * len(self.matrix.causes)
        for test in bits(done):
            times = [n * (k or 1) for n, k in zip(times, self.spreads[test], strict=True)]
        every = (1 << len(self.tests)) - 1
        return self._state(left, paid, every & ~done & ~unread, [times[i] for i in bits(left)])

    def _state(self, left: int, paid: int, undone: int, times: Sequence[int]) -> Lead:
        if not left:
            return None, 1
        to_do = self.to_do(left, undone)
        common = gcd(*times)
        kept = tuple(times) if common == 1 else tuple(n // common for n in times)
        return (left, paid & self.useful(left, to_do), to_do, kept), common

    def weights(self, state: State) -> list[int]:
        """The scaled weights of the causes left, lowest number first."""
        return [self.scaled[i] // n for i, n in zip(bits(state[0]), state[3], strict=True)]

    def leads(self, state: State, act: Act) -> list[Lead]:
        """Where each finding of a test, or a repair that didn't help, leads to."""
        left, paid, to_do, times = state
        _, kind, number = act
        if kind:
            repair = self.repairs[number]
            rest = left & ~repair.mends
            return [self._state(rest, paid | repair.needs, to_do, _kept(left, times, rest))]
        test = self.tests[number]
        if self.overlaps[number] & left:
            row = self.spreads[number]
            times = tuple(n * row[i] for i, n in zip(bits(left), times, strict=True))
        paid, to_do = paid | test.needs, to_do & ~(1 << number)
        return [self._state(m & left, paid, to_do, _kept(left, times, m & left)) for m in test.leaves]

    # Acts.

    def ended(self, state: State) -> bool:
        """True where there is nothing more to do."""
        if self.isolate:
            left = state[0]
            return not state[2] or any(r.mends & left == left for r in self.repairs)
        return False

    def acts(self, state: State) -> list[Act]:
        """What can be done: least seconds first, then tests before repairs, then in page order.

        A repair has to mend all that is left, or be marked to be tried, or there is no test left to do.
        """
        if self.ended(state):
            return []
        left, paid, to_do, _ = state
        found = [
            (row.seconds + self.unpaid(row.needs & ~paid), 0, t)
            for t in bits(to_do)
            if not (row := self.tests[t]).after & to_do
        ]
        if not self.isolate:
            found += [
                (r.seconds + self.unpaid(r.needs & ~paid), 1, i)
                for i, r in enumerate(self.repairs)
                if r.mends & left and (r.try_it or not to_do or r.mends & left == left)
            ]
        return self._without_doubles(state, sorted(found))

    def _without_doubles(self, state: State, acts: list[Act]) -> list[Act]:
        """Of tests that part what is left in the same way, the cheapest that also opens no more.

        Only of tests that leave each cause after one finding: after such a test its doubles tell nothing.
        """
        left, paid, to_do, _ = state
        waited = 0
        for test in self.waiting:
            waited |= self.tests[test].after if to_do >> test & 1 else 0
        alone = self.splitting(left) & ~waited
        kept: list[Act] = []
        seen: dict[tuple[int, ...], list[int]] = {}
        for act in acts:
            _, kind, number = act
            if kind or self.overlaps[number] & left or not alone >> number & 1:
                kept.append(act)
                continue
            parts = tuple(sorted(m & left for m in self.tests[number].leaves if m & left))
            needs = self.tests[number].needs & ~paid
            cheaper = seen.setdefault(parts, [])
            if not any(self._less(other, number, needs, paid) for other in cheaper):
                kept.append(act)
                cheaper.append(number)
        return kept

    def _less(self, other: int, number: int, needs: int, paid: int) -> bool:
        opens = self.tests[other].needs & ~paid
        return not opens & ~needs and self.tests[other].seconds <= self.tests[number].seconds


def _kept(left: int, times: Sequence[int], rest: int) -> list[int]:
    return [n for i, n in zip(bits(left), times, strict=True) if rest >> i & 1]
