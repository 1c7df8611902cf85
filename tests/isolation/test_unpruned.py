"""The planner held against a programme without any pruning, on invented symptoms."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from itertools import product
from math import prod

import pytest

from kb.isolation.matrix import Matrix, TestRow
from kb.isolation.plan import Planner
from tests.isolation.made import ENOUGH, MANY, SOME, costed, least, made, tried, union
from tests.isolation.unpruned import State, Unpruned


@pytest.mark.parametrize("isolate", [False, True], ids=["until-fixed", "until-isolated"])
def test_the_plan_is_the_least_of_all_there_are(isolate: bool) -> None:
    for seed in range(MANY):
        m = made(seed)
        plan = Planner(m, isolate, ENOUGH).plan()
        assert plan.proved, seed
        assert plan.seconds == Unpruned(m, isolate).seconds(), seed
        assert costed(plan) == plan.seconds, seed


def middle(referee: Unpruned, seed: int) -> State:
    """Where a hunt stands that a few acts, chosen by lot, have led to."""
    dice, state = random.Random(seed), referee.start()
    for _ in range(dice.randint(1, 3)):
        acts = referee.acts(state)
        below = [s for s in dice.choice(acts)[1] if s[0]] if acts else []
        state = dice.choice(below) if below else state
    return state


@pytest.mark.parametrize("isolate", [False, True], ids=["until-fixed", "until-isolated"])
def test_from_the_middle_of_a_hunt_too(isolate: bool) -> None:
    """With causes cleared, accesses paid and tests done, as a hunt stands that left the plan."""
    for seed in range(SOME):
        m = made(seed)
        referee = Unpruned(m, isolate)
        state = middle(referee, seed)
        plan = Planner(m, isolate, ENOUGH).plan(*state)
        assert (plan.proved, plan.seconds) == (True, referee.seconds(state)), seed


def test_one_planner_asked_for_several_states_gives_what_fresh_ones_give() -> None:
    for seed in range(SOME):
        m = made(seed)
        used, referee = Planner(m, budget=ENOUGH), Unpruned(m)
        used.in_order(range(len(m.tests)))
        for state in {referee.start(), middle(referee, seed), middle(referee, seed + 1)}:
            assert used.plan(*state) == Planner(m, budget=ENOUGH).plan(*state), seed


def ordered(referee: Unpruned, state: State, order: list[int]) -> Fraction:
    """Weight x seconds of a written order: the next of its tests that splits, else the least there is."""
    m, (left, paid, done) = referee.matrix, state
    splitting = [
        t for t in order if not done >> t & 1 and any(x & left not in (0, left) for x in m.tests[t].leaves)
    ]
    if not splitting or any(not left & ~r.mends for r in m.repairs):
        return referee.value(state)
    test = splitting[0]
    while missing := m.tests[test].after & ~done:
        test = (missing & -missing).bit_length() - 1
    row = m.tests[test]
    opens = sum(s for i, s in enumerate(m.access) if (row.needs & ~paid) >> i & 1)
    below = [(x & left, paid | row.needs, done | 1 << test) for x in row.leaves]
    return referee.weight(left, done) * (row.seconds + opens) + sum(ordered(referee, s, order) for s in below if s[0])


def test_a_written_order_is_followed_and_then_the_plan() -> None:
    for seed in range(SOME):
        m = made(seed)
        order = random.Random(seed).sample(range(len(m.tests)), random.Random(seed).randint(0, len(m.tests)))
        referee = Unpruned(m)
        value = ordered(referee, referee.start(), order) / sum(m.weights)
        assert Planner(m, budget=ENOUGH).in_order(order) == value, seed


def parted(m: Matrix) -> Matrix:
    """One cause for each combination of findings after which a cause survives: no finding overlaps any more."""
    old: list[int] = []
    ways: list[tuple[int, ...]] = []
    for cause in range(len(m.causes)):
        met = [[f for f, mask in enumerate(t.leaves) if mask >> cause & 1] for t in m.tests]
        for way in product(*met):
            old.append(cause)
            ways.append(way)
    scale = prod(old.count(c) for c in range(len(m.causes)))
    weights = tuple(m.weights[c] * scale // old.count(c) for c in old)
    tests = [_parted(t, [way[number] for way in ways]) for number, t in enumerate(m.tests)]
    repairs = [replace(r, mends=union(1 << i for i, c in enumerate(old) if r.mends >> c & 1)) for r in m.repairs]
    return Matrix(tuple(f"c{i}" for i in range(len(old))), weights, tuple(tests), tuple(repairs), m.access)


def _parted(test: TestRow, finding: list[int]) -> TestRow:
    rows = (union(1 << i for i, f in enumerate(finding) if f == row) for row in range(len(test.leaves)))
    return replace(test, leaves=tuple(rows))


def test_overlapping_findings_are_the_same_as_parted_causes() -> None:
    """A cause that survives k findings of a test is k causes with a kth of its weight each.

    With every repair to be tried: else a test that only parts one cause's parts would hold repairs up.
    """
    for seed in range(SOME):
        m = tried(made(seed, causes=4, tests=3))
        apart = parted(m)
        if len(apart.causes) <= 24:
            assert least(m) == least(apart), seed
