"""Symptoms for tests: by what their findings leave, and invented ones by number, with everything that can be nasty."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from kb.isolation.matrix import Matrix, RepairRow, TestRow
from kb.isolation.plan import Plan, Planner, Step
from tests.conftest import RUN_ALL

MANY = 10_000 if RUN_ALL else 600
SOME = 2_000 if RUN_ALL else 150
ENOUGH = 10**6  # states: more than any symptom here has


def matrix(
    weights: Sequence[int],
    tests: Sequence[tuple[int, ...]],
    costs: Sequence[int] = (),
    needs: Sequence[int] = (),
    repairs: Sequence[RepairRow] = (),
    access: Sequence[int] = (),
) -> Matrix:
    """Tests by the causes that their findings leave, a second each; a repair for each cause, for nothing."""
    n = len(weights)
    rows = [
        TestRow(f"t{i}", costs[i] if costs else 1, needs[i] if needs else 0, leaves) for i, leaves in enumerate(tests)
    ]
    mends = repairs or [RepairRow(f"r{i}", 0, 0, 1 << i) for i in range(n)]
    return Matrix(tuple(f"c{i}" for i in range(n)), tuple(weights), tuple(rows), tuple(mends), tuple(access))


def made(seed: int, causes: int = 6, tests: int = 5) -> Matrix:
    """An invented symptom: findings that overlap, leave nothing or say the same; accesses inside accesses; chains
    of tests that wait for others; whole units; repairs to be tried; causes that nothing mends.
    """
    dice = random.Random(seed)
    n = max(dice.randint(1, causes), dice.randint(1, causes))  # mostly many
    m, opened = max(dice.randint(0, tests), dice.randint(0, tests)), dice.randint(0, 3)
    inside = [_closed(dice, i) for i in range(opened)]
    rows = [_test(dice, t, n, _needs(dice, inside)) for t in range(m)]
    repairs = [_repair(dice, f"r{i}", 1 << i, _needs(dice, inside)) for i in range(n) if dice.random() < 0.9]
    for unit in range(dice.choice((0, 0, 0, 1, 2))):
        repairs.append(_repair(dice, f"unit{unit}", dice.randint(1, (1 << n) - 1), _needs(dice, inside)))
    weights = tuple(dice.choice((1, 1, 3, 6, dice.randint(1, 30))) for _ in range(n))
    seconds = tuple(dice.randint(0, 20) for _ in range(opened))
    return Matrix(tuple(f"c{i}" for i in range(n)), weights, tuple(rows), tuple(repairs), seconds)


def _closed(dice: random.Random, access: int) -> int:
    """An access and those it lies behind: the one before it or none, and all that is before that."""
    return 1 << access if not access or dice.random() < 0.5 else (1 << (access + 1)) - 1


def _needs(dice: random.Random, inside: Sequence[int]) -> int:
    return union(mask for mask in inside if dice.random() < 0.4)


def _test(dice: random.Random, number: int, n: int, needs: int) -> TestRow:
    whole = (1 << n) - 1
    leaves = [dice.randint(0, whole) for _ in range(dice.randint(1, 4))]
    if dice.random() < 0.5:  # each cause after one finding only
        left = whole
        for i, mask in enumerate(leaves):
            leaves[i] = mask & left
            left &= ~mask
    leaves[-1] |= whole & ~union(leaves)
    after = union(1 << t for t in range(number) if dice.random() < 0.15)
    return TestRow(f"t{number}", dice.choice((0, *range(1, 12))), needs, tuple(leaves), after)


def _repair(dice: random.Random, name: str, mends: int, needs: int) -> RepairRow:
    return RepairRow(name, dice.randint(0, 60), needs, mends, dice.random() < 0.2)


def union(masks: Iterable[int]) -> int:
    """All that is in some of the masks."""
    found = 0
    for mask in masks:
        found |= mask
    return found


def least(m: Matrix, isolate: bool = False) -> Fraction:
    """The seconds of a plan that is proved to be the least."""
    plan = Planner(m, isolate, ENOUGH).plan()
    assert plan.proved
    return plan.seconds


def isolated(m: Matrix) -> Fraction:
    """The least until isolated, times all weight: what published examples state in whole numbers."""
    return least(m, isolate=True) * sum(m.weights)


def tried(m: Matrix) -> Matrix:
    """The same with every repair to be tried, and one for each cause that had none."""
    mended = union(r.mends for r in m.repairs)
    more = [RepairRow(f"more{i}", 10, 0, 1 << i) for i in range(len(m.causes)) if not mended >> i & 1]
    return replace(m, repairs=tuple(replace(r, try_it=True) for r in (*m.repairs, *more)))


def costed(plan: Plan) -> Fraction:
    """The tree of a plan walked and added up."""

    def walk(step: Step | None) -> Fraction:
        if step is None:
            return Fraction(0)
        return step.seconds + sum((lead.share * walk(lead.then) for lead in step.leads), Fraction(0))

    return walk(plan.first)


def depth(step: Step | None) -> int:
    """How many tests the longest way of a plan has."""
    return 0 if step is None else (step.kind == "test") + max(depth(lead.then) for lead in step.leads)
