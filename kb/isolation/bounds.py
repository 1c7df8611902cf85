"""What no plan can undercut: seconds that each cause left has to cost, whatever is done.

A cause ends in one of its repairs. Unless that repair may be tried, each cause left that it doesn't mend
has to be told apart from it first, by a test or by a repair that may be tried, where any test can.
"""

from __future__ import annotations

from collections.abc import Sequence

from kb.isolation.matrix import RepairRow
from kb.isolation.states import State, States, bits


class Bounds:
    """Seconds for each cause left of a state, lowest number first; never more than the least plan spends on it."""

    def __init__(self, states: States) -> None:
        self.states = states
        matrix = states.matrix
        tries = [] if states.isolate else [r for r in matrix.repairs if r.try_it]
        # Whatever tells causes apart, cheapest first: (seconds, accesses, test number or -1).
        tellers = [(t.seconds, t.needs, i) for i, t in enumerate(matrix.tests)]
        tellers += [(r.seconds, r.needs, -1 - j) for j, r in enumerate(tries)]
        self.tellers = sorted(tellers, key=lambda t: (t[0], t[2] < 0, t[2]))
        causes = range(len(matrix.causes))
        self.share = [[[self._share(c, d, t, tries) for t in self.tellers] for d in causes] for c in causes]
        self.order = [[self._order(self.share[c][d]) for d in causes] for c in causes]
        self.apart = [[sum(1 << p for p in self.order[c][d]) for d in causes] for c in causes]
        self.mending = [[r for r in matrix.repairs if r.mends >> c & 1] for c in causes]
        self._cheap: dict[tuple[int, int], int] = {}
        self._expect: dict[tuple[int, int, int], int] = {}
        self._access: dict[tuple[int, int], int] = {}
        self.tests_only = sum(1 << place for place, t in enumerate(self.tellers) if t[2] >= 0)
        self._open: dict[int, int] = {}
        self._seconds: dict[tuple[int, int, int], list[int]] = {}
        self._ends: dict[tuple[int, int], list[int]] = {}

    def _share(self, cause: int, other: int, teller: tuple[int, int, int], tries: Sequence[RepairRow]) -> float:
        """In which share of a teller's findings under a cause another is cleared."""
        number = teller[2]
        if number < 0:
            mends = tries[-1 - number].mends
            return float(mends >> other & 1 and not mends >> cause & 1)
        met = [m for m in self.states.tests[number].leaves if m >> cause & 1]
        return sum(1 for m in met if not m >> other & 1) / len(met) if met else 0.0

    def _order(self, share: list[float]) -> list[int]:
        useful = [p for p, s in enumerate(share) if s]
        return sorted(useful, key=lambda p: (self.tellers[p][0] / share[p], p))

    def _opened(self, to_do: int) -> int:
        """The tellers that are still there: tests to do, and repairs that may be tried."""
        found = self._open.get(to_do)
        if found is None:
            found = sum(1 << p for p, t in enumerate(self.tellers) if t[2] < 0 or to_do >> t[2] & 1)
            self._open[to_do] = found
        return found

    def seconds(self, state: State) -> list[int]:
        """For each cause left, seconds that any plan spends before and on its repair."""
        key = state[:3]
        found = self._seconds.get(key)
        if found is None:
            found = self._seconds[key] = self._all(*key)
        return found

    def _all(self, left: int, paid: int, to_do: int) -> list[int]:
        opened = self._opened(to_do)
        return [self._cause(cause, left, paid, opened) for cause in bits(left)]

    def _cause(self, cause: int, left: int, paid: int, opened: int) -> int:
        """The better of two bounds: one repair's own way, and the cheapest repair after what any of them needs."""
        isolate, unpaid = self.states.isolate, self.states.unpaid
        own, bare, way, common = -1, -1, -1, left & ~(1 << cause)
        for repair in self.mending[cause]:
            needs = 0 if isolate else repair.needs & ~paid
            price = 0 if isolate else repair.seconds + unpaid(needs)
            others = 0 if repair.try_it and not isolate else left & ~repair.mends
            common &= others
            own = price if own < 0 else min(own, price)
            seconds = 0 if isolate else repair.seconds
            bare = seconds if bare < 0 else min(bare, seconds)
            if way < 0 or price < way:
                price += self._dearest(cause, others, paid | needs, opened)
                way = price if way < 0 else min(way, price)
        if own < 0:
            own, bare, common = 0, 0, common if isolate else 0
        dearest, total = self._telling(cause, common, paid, opened)
        return max(way, own + total, bare + dearest)

    def _dearest(self, cause: int, others: int, paid: int, opened: int) -> int:
        """Seconds of the dearest to tell of some others, each by its cheapest teller."""
        dearest = 0
        for other in bits(others):
            tellers = self.apart[cause][other] & opened
            if tellers & self.tests_only:
                dearest = max(dearest, self._cheapest(tellers, paid))
        return dearest

    def _cheapest(self, tellers: int, paid: int) -> int:
        key = (tellers, paid)
        found = self._cheap.get(key)
        if found is None:
            unpaid = self.states.unpaid
            found = self._cheap[key] = min(
                self.tellers[p][0] + unpaid(self.tellers[p][1] & ~paid) for p in bits(tellers)
            )
        return found

    def _telling(self, cause: int, others: int, paid: int, opened: int) -> tuple[int, int]:
        """Expected seconds of telling a cause from others: of the dearest with its access, of a sum without either."""
        dearest, total, used = 0, 0, 0
        for other in bits(others):
            tellers = self.apart[cause][other] & opened
            if not tellers & self.tests_only:
                continue
            least = self._expected(cause, other, tellers)
            dearest = max(dearest, least + self._first(tellers, paid))
            if not tellers & used:
                used |= tellers
                total += least
        return dearest, total

    def _expected(self, cause: int, other: int, tellers: int) -> int:
        """The least expected seconds until one of some tellers clears a cause while another is the fault.

        Each teller clears it in a share of its findings; by seconds over share is the best order (Smith 1956).
        It ends too when all tests are done.
        """
        key = (cause, other, tellers)
        found = self._expect.get(key)
        if found is None:
            found = self._in_turn(cause, other, tellers & self.tests_only)
            if tellers & ~self.tests_only:
                found = min(found, self._in_turn(cause, other, tellers))
            self._expect[key] = found
        return found

    def _in_turn(self, cause: int, other: int, tellers: int) -> int:
        seconds, going_on = 0.0, 1.0
        for place in self.order[cause][other]:
            if tellers >> place & 1:
                seconds += going_on * self.tellers[place][0]
                going_on *= 1 - self.share[cause][other][place]
        return int(seconds + 1e-6)

    def _first(self, tellers: int, paid: int) -> int:
        """The least unpaid access of some tellers."""
        key = (tellers, paid)
        found = self._access.get(key)
        if found is None:
            found = self._access[key] = min(self.states.unpaid(self.tellers[p][1] & ~paid) for p in bits(tellers))
        return found

    def ends(self, left: int, paid: int) -> list[int]:
        """For each cause left, the seconds of its cheapest repair with the access still unpaid."""
        if self.states.isolate:
            return [0] * left.bit_count()
        key = (left, paid)
        found = self._ends.get(key)
        if found is None:
            unpaid, repairs = self.states.unpaid, self.states.repairs
            found = self._ends[key] = [
                min((r.seconds + unpaid(r.needs & ~paid) for r in repairs if r.mends >> c & 1), default=0)
                for c in bits(left)
            ]
        return found
