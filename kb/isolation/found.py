"""Where a hunt stands after what was found, what it can come to from there, and what contradicts.

Findings that leave nothing can't all hold. Then the one that clears most is set aside, to be done again,
until something is left.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction

from kb.isolation.figures import Hunt
from kb.isolation.matrix import Matrix, spread
from kb.isolation.plan import Lead, Plan, Planner, Step
from kb.isolation.states import bits


@dataclass(frozen=True, slots=True)
class Found:
    """What came of an act: `kind` is `test` or `repair`, `number` its place in the matrix, `row` the finding's
    in its test (a repair's: 0 fixed, 1 not fixed), `leaves` the causes that it leaves (mask).
    """

    kind: str
    number: int
    row: int
    leaves: int


@dataclass(frozen=True, slots=True)
class Stand:
    """Where a hunt stands: causes left, accesses paid, tests done and unread (masks).

    `aside` are findings that can't hold with the others, first the one that clears most. `fixed` is True
    once a repair mended it: then nothing is left.
    """

    left: int
    paid: int = 0
    done: int = 0
    unread: int = 0
    aside: tuple[Found, ...] = ()
    fixed: bool = False


def stand(
    matrix: Matrix, found: Sequence[Found], paid: int = 0, unread: int = 0, trusted: Collection[Found] = ()
) -> Stand:
    """Where findings lead. `paid` are further accesses that are off, `unread` tests to go on without.

    Findings that are `trusted` are never set aside: where they alone leave nothing, nothing is left.
    """
    for each in found:
        paid |= (matrix.repairs if each.kind == "repair" else matrix.tests)[each.number].needs
    kept, aside = _agreed(matrix, tuple(dict.fromkeys(found)), trusted)
    done = 0
    for each in kept:
        done |= 1 << each.number if each.kind == "test" else 0
    fixed = any(each.kind == "repair" and not each.row for each in found)
    return Stand(0 if fixed else left_by(matrix, kept), paid, done, unread, () if fixed else aside, fixed)


def left_by(matrix: Matrix, found: Sequence[Found]) -> int:
    """The causes that all of some findings leave."""
    left = matrix.everything
    for each in found:
        left &= each.leaves
    return left


def _agreed(
    matrix: Matrix, found: tuple[Found, ...], trusted: Collection[Found]
) -> tuple[list[Found], tuple[Found, ...]]:
    """Findings of which something is left, and those set aside for it. A test found two ways can't hold either way."""
    rows: dict[tuple[str, int], list[Found]] = {}
    for each in found:
        rows.setdefault((each.kind, each.number), []).append(each)
    kept = [each for each in found if len(rows[each.kind, each.number]) == 1]
    aside = [each for each in found if each not in kept]
    if not left_by(matrix, [each for each in kept if each in trusted]):
        return kept, tuple(aside)
    while not left_by(matrix, kept) and (doubted := [each for each in kept if each not in trusted]):
        kept.remove(doubtful := min(doubted, key=lambda each: _rank(matrix, each)))
        aside.append(doubtful)
    return kept, tuple(sorted(aside, key=lambda each: _rank(matrix, each)))


def _rank(matrix: Matrix, each: Found) -> tuple[bool, int, int]:
    return each.kind == "repair", -cleared(matrix, each), each.number


def cleared(matrix: Matrix, each: Found) -> int:
    """The weight of the causes that a finding rules out."""
    return sum(matrix.weights[i] for i in bits(matrix.everything & ~each.leaves))


def weights(matrix: Matrix, at: Stand) -> dict[int, Fraction]:
    """The weight of each cause left; one that survives k findings of a test done keeps 1/k of it."""
    found = {i: Fraction(matrix.weights[i]) for i in bits(at.left)}
    for test in bits(at.done):
        for i in found:
            found[i] /= spread(matrix.tests[test], 1 << i) or 1
    return found


class Road:
    """What can come from anywhere in a hunt: plans until fixed, until isolated, in the writer's order."""

    def __init__(self, hunt: Hunt) -> None:
        self.matrix, self.order = hunt.matrix, hunt.order
        self._fix, self._tell = Planner(hunt.matrix), Planner(hunt.matrix, isolate=True)

    def plan(self, at: Stand) -> Plan:
        """The plan until fixed; after findings that contradict it begins with the test to do again."""
        return self._from(at, self._fix)

    def isolated(self, at: Stand) -> Fraction:
        """Expected seconds until one repair mends all that is left, or no test splits it."""
        return self._from(at, self._tell).seconds

    def in_order(self, at: Stand) -> Fraction | None:
        """Expected seconds of the writer's order from here; None without one."""
        if not self.order:
            return None
        again = self._again(at)
        if again is None:
            return self._fix.in_order(self.order, at.left, at.paid, at.done)
        return self.after(at, again, lambda s: self._fix.in_order(self.order, s.left, s.paid, s.done))

    def _again(self, at: Stand) -> int | None:
        """The test to do again."""
        return next((each.number for each in at.aside if each.kind == "test"), None)

    def _from(self, at: Stand, planner: Planner) -> Plan:
        if at.fixed:
            return Plan(Fraction(0), True, Fraction(0), None)
        test = self._again(at)
        return self._plain(at, planner) if test is None else self._repeated(at, test, planner)

    def _plain(self, at: Stand, planner: Planner) -> Plan:
        return planner.plan(at.left, at.paid, at.done, at.unread)

    def _repeated(self, at: Stand, test: int, planner: Planner) -> Plan:
        """The plan that begins with a test, whatever is least."""
        below = [(s, share, self._plain(s, planner)) for s, share in self.leads(at, test)]
        seconds = self.seconds(at, test)
        leads = tuple(Lead(s.left, share, plan.first if s.left else None) for s, share, plan in below)
        total = seconds + sum((share * plan.seconds for _, share, plan in below), Fraction(0))
        gap = sum((share * plan.gap for _, share, plan in below), Fraction(0))
        return Plan(total, all(plan.proved for _, _, plan in below), gap, Step("test", test, seconds, leads))

    def seconds(self, at: Stand, test: int) -> int:
        """Seconds of a test with the access it still has to pay."""
        row = self.matrix.tests[test]
        return row.seconds + sum(self.matrix.access[i] for i in bits(row.needs & ~at.paid))

    def leads(self, at: Stand, test: int) -> list[tuple[Stand, Fraction]]:
        """Where each finding of a test leads, with its chance."""
        row, whole = self.matrix.tests[test], sum(weights(self.matrix, at).values())
        found = []
        for mask in row.leaves:
            to = Stand(at.left & mask, at.paid | row.needs, at.done | 1 << test, at.unread)
            share = sum(weights(self.matrix, to).values()) / whole if whole else Fraction(0)
            found.append((to, share))
        return found

    def after(self, at: Stand, test: int, worth: Callable[[Stand], Fraction]) -> Fraction:
        """Expected seconds of a test and of what `worth` says of where its findings lead."""
        rest = sum((share * worth(to) for to, share in self.leads(at, test) if to.left), Fraction(0))
        return self.seconds(at, test) + rest

    def choices(self, at: Stand, most: int) -> list[tuple[Fraction, str, int]]:
        """The best acts to begin with, best first: expected seconds until fixed, kind, number in the matrix."""
        found = self._fix.choices(at.left, at.paid, at.done, at.unread, most)
        return [(seconds, "repair" if kind else "test", number) for seconds, (_, kind, number) in found]
