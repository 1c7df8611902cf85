"""Plans held against published values, an unpruned programme, and the identities that any plan obeys."""

from __future__ import annotations

import os
import random
from fractions import Fraction
from functools import cache
from itertools import combinations, permutations

import pytest

from kb.isolation.matrix import Matrix, RepairRow, TestRow
from kb.isolation.plan import Plan, Planner, Step
from kb.isolation.states import bits

INSTANCES = 10_000 if os.environ.get("BACKPROBE_ALL") else 250


def matrix(weights: list[int], tests: list[tuple[int, ...]], costs: list[int] | None = None, repairs=None, access=(), needs=None) -> Matrix:
    """Causes with a repair each that costs nothing, unless stated; tests by what their findings leave."""
    n = len(weights)
    rows = tuple(
        TestRow(f"t{i}", (costs or [1] * len(tests))[i], (needs or [0] * len(tests))[i], leaves) for i, leaves in enumerate(tests)
    )
    mends = repairs or tuple(RepairRow(f"r{i}", 0, 0, 1 << i) for i in range(n))
    return Matrix(tuple(f"c{i}" for i in range(n)), tuple(weights), rows, tuple(mends), tuple(access))


def every_subset(n: int) -> list[tuple[int, ...]]:
    """A yes-or-no test for every way to part n causes in two."""
    whole = (1 << n) - 1
    return [(m, whole ^ m) for m in range(1, 1 << (n - 1))]


def isolated(m: Matrix) -> Fraction:
    plan = Planner(m, isolate=True, budget=10**7).plan()
    assert plan.proved
    return plan.seconds * sum(m.weights)


# Source of each value beside it.
HUFFMAN = [
    ([45, 13, 12, 16, 9, 5], 224),  # Cormen, Leiserson, Rivest, Stein, Introduction to Algorithms, Huffman figure
    ([40, 15, 15, 15, 15], 220),  # 2.2 a letter; Huffman coding by hand
    ([9, 3, 1, 1, 1, 1, 1, 1], 42),  # Abelson and Sussman, SICP 2.3.4: 42 bits variable
    ([25, 25, 20, 15, 15], 230),  # Cover and Thomas: 2.30 binary (from memory)
]


@pytest.mark.parametrize(("weights", "value"), HUFFMAN)
def test_tests_for_every_subset_give_huffmans_code(weights: list[int], value: int) -> None:
    if len(weights) > 6:
        weights_tests = [(m, 255 ^ m) for m in range(1, 128)]
        assert isolated(matrix(weights, weights_tests)) == value
    else:
        assert isolated(matrix(weights, every_subset(len(weights)))) == value


def test_cover_and_thomas_in_three_ways() -> None:
    """.25 .25 .20 .15 .15 with three-way tests: 1.5 (from memory)."""
    whole = 31
    tests = [
        (a, b, whole & ~a & ~b)
        for a in range(1, 32)
        for b in range(a + 1, 32)
        if not a & b and whole & ~a & ~b
    ]
    assert isolated(matrix([25, 25, 20, 15, 15], tests)) == 150


def test_pattipati_and_alexandridis() -> None:
    """1990: P = .70 .01 .02 .10 .05 .12, five unit tests: 2.18 (from memory, reproduced by exact computation)."""
    rows = ["00000", "01001", "00110", "10011", "11000", "11110"]
    tests = []
    for t in range(5):
        ones = sum(1 << i for i, row in enumerate(rows) if row[t] == "1")
        tests.append((ones, 63 ^ ones))
    assert isolated(matrix([70, 1, 2, 10, 5, 12], tests)) == 218


def test_smiths_rule() -> None:
    """Kleinberg and Tardos, exercise on Smith's rule: times 1 3, weights 10 2: 18 one way, 46 the other."""
    repairs = (RepairRow("short", 1, 0, 1, True), RepairRow("long", 3, 0, 2, True))
    m = matrix([10, 2], [], repairs=repairs)
    assert Planner(m).plan().seconds * 12 == 18
    costs = {order: sum(w * t for w, t in zip((10, 2) if order == (0, 1) else (2, 10), (1, 4) if order == (0, 1) else (3, 4), strict=True)) for order in permutations((0, 1))}
    assert sorted(costs.values()) == [18, 46]


@pytest.mark.parametrize("coins", [8, 9])
def test_one_heavy_coin_takes_two_weighings_at_worst(coins: int) -> None:
    """Folklore, published in many textbooks: one heavy coin among 8 or 9 in two weighings."""
    whole = (1 << coins) - 1
    tests = []
    for size in range(1, coins // 2 + 1):
        for left in combinations(range(coins), size):
            if left[0] != 0 and size > 1:
                continue
            mask = sum(1 << i for i in left)
            others = [i for i in range(coins) if not mask >> i & 1][:size]
            right = sum(1 << i for i in others)
            tests.append((mask, right, whole & ~mask & ~right))
    plan = Planner(matrix([1] * coins, tests), isolate=True, budget=10**7).plan()
    assert depth(plan.first) == 2


def depth(step: Step | None) -> int:
    return 0 if step is None else 1 + max(depth(lead.then) for lead in step.leads)


# The unpruned programme: every act in every state, exact fractions, no bounds, all tests done remembered.


def unpruned(m: Matrix, isolate: bool) -> Fraction:
    @cache
    def value(left: int, paid: int, done: int) -> Fraction:
        weight = [Fraction(m.weights[i]) for i in range(len(m.weights))]
        for t in bits(done):
            for i in range(len(weight)):
                weight[i] /= sum(1 for mask in m.tests[t].leaves if mask >> i & 1) or 1
        total = sum(weight[i] for i in bits(left))
        splitting = [t for t in range(len(m.tests)) if not done >> t & 1 and any(mask & left not in (0, left) for mask in m.tests[t].leaves)]
        if not left or isolate and (not splitting or any(r.mends & left == left for r in m.repairs)):
            return Fraction(0)
        ready = set()
        for t in splitting:
            waiting = [t]
            while waiting:
                x = waiting.pop()
                missing = m.tests[x].after & ~done
                if missing:
                    waiting.extend(bits(missing))
                else:
                    ready.add(x)
        found = []
        for t in ready:
            row = m.tests[t]
            cost = total * (row.seconds + sum(m.access[i] for i in bits(row.needs & ~paid)))
            found.append(cost + sum(value(mask & left, paid | row.needs, done | 1 << t) for mask in row.leaves))
        for r in m.repairs if not isolate else ():
            if r.mends & left and (r.mends & left == left or r.try_it or not splitting):
                cost = total * (r.seconds + sum(m.access[i] for i in bits(r.needs & ~paid)))
                found.append(cost + value(left & ~r.mends, paid | r.needs, done))
        return min(found, default=Fraction(0))

    return value((1 << len(m.weights)) - 1, 0, 0)


def made(seed: int) -> Matrix:
    """A small invented symptom: overlapping findings, shared accesses, tests that wait for others."""
    dice = random.Random(seed)
    n, tests, access = dice.randint(1, 5), dice.randint(0, 4), dice.randint(0, 3)
    whole = (1 << n) - 1
    rows = []
    for t in range(tests):
        leaves = [dice.randint(0, whole) for _ in range(dice.randint(1, 3))]
        missing = whole & ~_union(leaves)
        leaves[-1] |= missing
        after = 1 << dice.randrange(t) if t and dice.random() < 0.2 else 0
        rows.append(TestRow(f"t{t}", dice.randint(1, 9), dice.randint(0, (1 << access) - 1), tuple(leaves), after))
    repairs = [RepairRow(f"r{i}", dice.randint(1, 20), dice.randint(0, (1 << access) - 1), 1 << i, dice.random() < 0.2) for i in range(n)]
    if dice.random() < 0.5:
        repairs.append(RepairRow("whole", dice.randint(5, 40), 0, dice.randint(1, whole), dice.random() < 0.2))
    return Matrix(tuple(f"c{i}" for i in range(n)), tuple(dice.randint(1, 9) for _ in range(n)), tuple(rows), tuple(repairs), tuple(dice.randint(1, 20) for _ in range(access)))


def _union(masks: list[int]) -> int:
    union = 0
    for mask in masks:
        union |= mask
    return union


@pytest.mark.parametrize("isolate", [False, True])
def test_the_plan_is_what_the_unpruned_programme_gives(isolate: bool) -> None:
    for seed in range(INSTANCES):
        m = made(seed)
        plan = Planner(m, isolate, budget=10**6).plan()
        assert plan.proved
        assert plan.seconds * sum(m.weights) == unpruned(m, isolate), seed


def costed(planner: Planner, plan: Plan) -> Fraction:
    """The plan's tree walked and added up."""

    def walk(step: Step | None) -> Fraction:
        if step is None:
            return Fraction(0)
        return step.seconds + sum((lead.share * walk(lead.then) for lead in step.leads), Fraction(0))

    return walk(plan.first)


def test_the_tree_costs_what_the_plan_says() -> None:
    for seed in range(INSTANCES // 4):
        for budget in (10**6, 1):
            planner = Planner(made(seed), budget=budget)
            plan = planner.plan()
            assert costed(planner, plan) == plan.seconds, seed


def test_beyond_the_budget_the_gap_holds_the_least() -> None:
    for seed in range(INSTANCES // 4):
        m = made(seed)
        greedy, least = Planner(m, budget=0).plan(), Planner(m, budget=10**6).plan()
        assert not greedy.proved or not m.causes
        assert greedy.seconds - greedy.gap <= least.seconds <= greedy.seconds


def test_scaling_and_dearer_tests() -> None:
    """Weights times 7 change no time, times times 3 treble it, a dearer test never helps, a double changes nothing."""
    for seed in range(INSTANCES // 4):
        m = made(seed)
        least = Planner(m, budget=10**6).plan().seconds
        heavier = Matrix(m.causes, tuple(7 * w for w in m.weights), m.tests, m.repairs, m.access)
        assert Planner(heavier, budget=10**6).plan().seconds == least
        slower = Matrix(
            m.causes, m.weights,
            tuple(TestRow(t.id, 3 * t.seconds, t.needs, t.leaves, t.after) for t in m.tests),
            tuple(RepairRow(r.id, 3 * r.seconds, r.needs, r.mends, r.try_it) for r in m.repairs),
            tuple(3 * a for a in m.access))  # fmt: skip
        assert Planner(slower, budget=10**6).plan().seconds == 3 * least
        if m.tests:
            first = m.tests[0]
            dear = TestRow(first.id, first.seconds + 5, first.needs, first.leaves, first.after)
            assert Planner(Matrix(m.causes, m.weights, (dear, *m.tests[1:]), m.repairs, m.access), budget=10**6).plan().seconds >= least


def test_a_written_order_never_beats_the_plan() -> None:
    for seed in range(INSTANCES // 4):
        m = made(seed)
        planner = Planner(m, budget=10**6)
        order = list(range(len(m.tests)))
        random.Random(seed).shuffle(order)
        assert planner.in_order(order) >= planner.plan().seconds


def test_no_whole_unit_is_fitted_on_suspicion() -> None:
    """Minutes alone would fit the whole unit at once (invented figures): 30 s against 12 s of testing first."""
    repairs = (RepairRow("a", 20, 0, 1), RepairRow("b", 20, 0, 2), RepairRow("whole", 15, 0, 3))
    tests = [(1, 2)]
    plan = Planner(matrix([1, 1], tests, [12], repairs)).plan()
    assert plan.first is not None
    assert (plan.first.kind, plan.seconds) == ("repair", 15)  # it mends every cause left: allowed
    apart = (RepairRow("a", 20, 0, 1), RepairRow("b", 20, 0, 2), RepairRow("c", 20, 0, 4), RepairRow("most", 1, 0, 3))
    plan = Planner(matrix([5, 5, 1], [(1, 6), (3, 4)], [50, 50], apart)).plan()
    assert plan.first is not None
    assert plan.first.kind == "test"  # a one-second repair of 10 in 11 waits for its proof
