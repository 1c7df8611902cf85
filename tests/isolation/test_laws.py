"""What holds of any plan: laws of codes and orders, and what may change without changing a value."""

from __future__ import annotations

import heapq
import random
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import permutations
from math import log2

import pytest

from kb.isolation.matrix import Matrix, RepairRow, TestRow
from kb.isolation.plan import Planner
from tests.isolation.made import ENOUGH, SOME, isolated, least, made, matrix, tried, union

MODES = pytest.mark.parametrize("isolate", [False, True], ids=["until-fixed", "until-isolated"])


# Codes.


def huffman(weights: Sequence[int], findings: int = 2) -> int:
    """Huffman 1952: the least total length, by joining the lightest again and again."""
    short = (1 - len(weights)) % (findings - 1)
    heap = [*weights, *[0] * short]
    heapq.heapify(heap)
    total = 0
    while len(heap) > 1:
        joined = sum(heapq.heappop(heap) for _ in range(findings))
        total += joined
        heapq.heappush(heap, joined)
    return total


def thrown(seed: int, most: int) -> list[int]:
    """Weights by lot, at least two."""
    dice = random.Random(seed)
    return [dice.randint(1, dice.choice((3, 30, 300))) for _ in range(dice.randint(2, most))]


def test_with_a_test_for_every_subset_a_plan_is_a_huffman_code() -> None:
    """Huffman 1952; Shannon 1948: entropy <= length < entropy + 1."""
    for seed in range(SOME // 2):
        weights = thrown(seed, 6)
        whole = (1 << len(weights)) - 1
        length = isolated(matrix(weights, [(mask, whole ^ mask) for mask in range(1, 1 << (len(weights) - 1))]))
        assert length == huffman(weights), seed
        entropy = -sum(w * log2(w / sum(weights)) for w in weights)
        assert entropy - 1e-9 <= length < entropy + sum(weights), seed


def test_with_weights_in_order_splits_of_the_order_are_enough() -> None:
    """Hu and Tucker 1971: for weights in order an alphabetic code is as short as any."""
    for seed in range(SOME // 2):
        weights = sorted(thrown(seed, 14))
        whole = (1 << len(weights)) - 1
        firsts = [((1 << k) - 1, whole & -(1 << k)) for k in range(1, len(weights))]
        assert isolated(matrix(weights, firsts)) == huffman(weights), seed


def test_three_findings_give_the_ternary_code() -> None:
    """Huffman 1952, for more than two digits. With two causes one test is a digit still."""
    for seed in range(SOME // 4):
        weights = thrown(seed, 5)
        whole = (1 << len(weights)) - 1
        tests = [(a, b, whole & ~a & ~b) for a in range(1, whole) for b in range(whole) if not a & b]
        assert isolated(matrix(weights, tests)) == huffman(weights, 3), seed


# Orders: one test or repair for each cause.


def each_alone(times: Sequence[int], weights: Sequence[int]) -> Matrix:
    """A test for each cause that tells it from all others; repairs for nothing."""
    whole = (1 << len(times)) - 1
    return matrix(weights, [(1 << i, whole ^ 1 << i) for i in range(len(times))], costs=times)


def checked(order: Sequence[int], times: Sequence[int], weights: Sequence[int], last: bool) -> int:
    """Weight x seconds of checking causes in turn; without `last`, the last one is known when all others are clear."""
    total = now = 0
    for place, cause in enumerate(order):
        now += times[cause] if last or place < len(order) - 1 else 0
        total += weights[cause] * now
    return total


def thrown_jobs(seed: int) -> tuple[list[int], list[int]]:
    dice = random.Random(seed)
    n = dice.randint(1, 6)
    return [dice.randint(0, 20) for _ in range(n)], [dice.randint(1, 20) for _ in range(n)]


def test_chance_over_cost_is_the_best_order_where_every_cause_is_checked() -> None:
    """Smith 1956, against all orders: repairs in turn, each to be tried."""
    for seed in range(SOME):
        times, weights = thrown_jobs(seed)
        repairs = [RepairRow(f"r{i}", t, 0, 1 << i, True) for i, t in enumerate(times)]
        orders = list(permutations(range(len(times))))
        best = min(checked(order, times, weights, True) for order in orders)
        ratio = sorted(range(len(times)), key=lambda i: Fraction(times[i], weights[i]))
        assert least(matrix(weights, [], repairs=repairs)) * sum(weights) == best, seed
        assert checked(ratio, times, weights, True) == best, seed


def test_where_the_last_cause_needs_no_check_all_orders_are_looked_at() -> None:
    for seed in range(SOME):
        times, weights = thrown_jobs(seed)
        best = min(checked(order, times, weights, False) for order in permutations(range(len(times))))
        assert isolated(each_alone(times, weights)) == best, seed


def test_chance_over_cost_less_the_last_check_is_not_always_best() -> None:
    """Invented: the dear check of a likely cause comes first by chance over cost, and can be left out altogether."""
    times, weights = [1, 10], [1, 19]
    assert Fraction(weights[1], times[1]) > Fraction(weights[0], times[0])
    assert checked([1, 0], times, weights, False) == 200
    assert isolated(each_alone(times, weights)) == 20 == checked([0, 1], times, weights, False)


# Changes that change nothing, or scale, or can only help or harm.


def shuffled(m: Matrix, seed: int) -> Matrix:
    """The same symptom with causes, tests, repairs and accesses in another order."""
    dice = random.Random(seed)
    causes, tests, access = (dice.sample(range(k), k) for k in (len(m.causes), len(m.tests), len(m.access)))

    def moved(mask: int, order: list[int]) -> int:
        return union(1 << new for new, old in enumerate(order) if mask >> old & 1)

    rows = [
        replace(
            t,
            needs=moved(t.needs, access),
            leaves=tuple(moved(x, causes) for x in dice.sample(t.leaves, len(t.leaves))),
            after=moved(t.after, tests),
        )
        for t in (m.tests[old] for old in tests)
    ]
    repairs = [replace(r, needs=moved(r.needs, access), mends=moved(r.mends, causes)) for r in m.repairs]
    return Matrix(
        tuple(m.causes[i] for i in causes),
        tuple(m.weights[i] for i in causes),
        tuple(rows),
        tuple(dice.sample(repairs, len(repairs))),
        tuple(m.access[i] for i in access),
    )


@MODES
def test_other_names_and_another_page_order_change_nothing(isolate: bool) -> None:
    for seed in range(SOME):
        assert least(made(seed), isolate) == least(shuffled(made(seed), seed), isolate), seed


@MODES
def test_seven_times_the_weights_change_nothing(isolate: bool) -> None:
    for seed in range(SOME):
        m = made(seed)
        plan = Planner(m, isolate, ENOUGH).plan()
        assert Planner(replace(m, weights=tuple(7 * w for w in m.weights)), isolate, ENOUGH).plan() == plan, seed


def times(m: Matrix, factor: int) -> Matrix:
    """All seconds multiplied."""
    return replace(
        m,
        tests=tuple(replace(t, seconds=factor * t.seconds) for t in m.tests),
        repairs=tuple(replace(r, seconds=factor * r.seconds) for r in m.repairs),
        access=tuple(factor * a for a in m.access),
    )


@MODES
def test_three_times_the_costs_treble_the_value(isolate: bool) -> None:
    for seed in range(SOME):
        assert least(times(made(seed), 3), isolate) == 3 * least(made(seed), isolate), seed


def changed(m: Matrix, number: int, **values: object) -> Matrix:
    """The same with one test changed."""
    rows = [replace(t, **values) if i == number else t for i, t in enumerate(m.tests)]
    return replace(m, tests=tuple(rows))


@MODES
def test_a_dearer_test_never_lowers_the_value(isolate: bool) -> None:
    for seed in range(SOME):
        m = made(seed)
        for number, test in enumerate(m.tests):
            assert least(changed(m, number, seconds=test.seconds + 5), isolate) >= least(m, isolate), seed


@MODES
def test_a_double_of_a_test_changes_nothing(isolate: bool) -> None:
    """Of a test that leaves each cause after one finding: nobody learns anything from it twice."""
    doubled = 0
    for seed in range(SOME):
        m = made(seed)
        for test in m.tests:
            if sum(map(int.bit_count, test.leaves)) == len(m.causes):
                doubled += 1
                twice = replace(m, tests=(*m.tests, replace(test, id="double")))
                assert least(twice, isolate) == least(m, isolate), seed
    assert doubled > SOME


def test_an_overlapping_test_can_be_worth_doing_twice() -> None:
    """Invented, by hand: each time half of what c0 weighs is told from c1, and c0's repair is the dear one."""
    repairs = [RepairRow("r0", 100, 0, 1, True), RepairRow("r1", 30, 0, 2, True)]
    once = matrix([1, 1], [(1, 3)], repairs=repairs)
    twice = matrix([1, 1], [(1, 3), (1, 3)], repairs=repairs)
    assert least(once) * 2 == 2 + 50 + (45 + 50)
    assert least(twice) * 2 == 2 + 50 + (Fraction(3, 2) + 25 + Fraction(75, 2) + 25)


def charged(m: Matrix) -> Matrix:
    """Every test and repair pays all its access itself, each time."""

    def own(row: TestRow | RepairRow) -> int:
        return row.seconds + sum(s for i, s in enumerate(m.access) if row.needs >> i & 1)

    tests = tuple(replace(t, seconds=own(t), needs=0) for t in m.tests)
    return replace(m, tests=tests, repairs=tuple(replace(r, seconds=own(r), needs=0) for r in m.repairs))


@MODES
def test_free_access_shared_access_and_access_charged_every_time(isolate: bool) -> None:
    between = 0
    for seed in range(SOME):
        m = made(seed)
        free, shared, every = (least(x, isolate) for x in (replace(m, access=(0,) * len(m.access)), m, charged(m)))
        assert free <= shared <= every, seed
        between += free < shared < every
    assert between > SOME // 20


def test_nobody_elses_order_beats_the_plan() -> None:
    """Greedy hunts, the cheapest test first, a writer's order: none is below the least."""
    worse = [0, 0, 0]
    for seed in range(SOME):
        m = made(seed)
        value = least(m)
        order = random.Random(seed).sample(range(len(m.tests)), len(m.tests))
        planner = Planner(m, budget=ENOUGH)
        others = [Planner(m, budget=0).plan().seconds, planner.cheapest_first(), planner.in_order(order)]
        assert min(others) >= value, seed
        worse = [n + (other > value) for n, other in zip(worse, others, strict=True)]
    assert all(worse)


def test_a_written_order_of_checks_costs_what_they_cost_in_turn() -> None:
    """One test a cause, the last cause known when all others are clear."""
    for seed in range(SOME):
        seconds, weights = thrown_jobs(seed)
        m = each_alone(seconds, weights)
        costs = {order: checked(order, seconds, weights, False) for order in permutations(range(len(seconds)))}
        planner = Planner(m, budget=ENOUGH)
        for order, cost in list(costs.items())[:: max(1, len(costs) // 6)]:
            assert planner.in_order(order) * sum(weights) == cost, seed


def test_with_every_repair_to_be_tried_another_test_never_harms() -> None:
    """Nobody is held up then by a test that could be done; and every cause has a repair."""
    for seed in range(SOME):
        m = tried(made(seed))
        for number in range(len(m.tests)):
            if not any(t.after for t in m.tests):
                fewer = replace(m, tests=m.tests[:number] + m.tests[number + 1 :])
                assert least(m) <= least(fewer), seed


def test_another_test_can_make_isolation_dearer() -> None:
    """Invented: what no test told apart before took no time to be isolated as far as it went."""
    m = matrix([1, 1], [])
    assert least(m, isolate=True) == 0
    assert least(matrix([1, 1], [(1, 2)], costs=[5]), isolate=True) == 5


def test_another_test_can_make_a_fix_dearer_where_repairs_wait_for_proof() -> None:
    """Invented: two causes, repairs of 1 s and 9 s; no test: 1 s and then 9 s for half of them; a 60 s test first."""
    repairs = [RepairRow("r0", 1, 0, 1), RepairRow("r1", 9, 0, 2)]
    assert least(matrix([1, 1], [], repairs=repairs)) == 1 + Fraction(9, 2)
    assert least(matrix([1, 1], [(1, 2)], [60], repairs=repairs)) == 60 + 5


@MODES
def test_causes_with_equal_rows_and_the_same_repairs_are_as_good_as_one(isolate: bool) -> None:
    for seed in range(SOME):
        m = made(seed)
        half = replace(m, weights=tuple(2 * w for w in m.weights))
        assert least(twinned(half), isolate) == least(m, isolate), seed


def twinned(m: Matrix) -> Matrix:
    """The first cause in two halves, alike in everything."""
    n = len(m.causes)

    def both(mask: int) -> int:
        return mask | (1 << n if mask & 1 else 0)

    return Matrix(
        (*m.causes, "twin"),
        (m.weights[0] // 2, *m.weights[1:], m.weights[0] // 2),
        tuple(replace(t, leaves=tuple(map(both, t.leaves))) for t in m.tests),
        tuple(replace(r, mends=both(r.mends)) for r in m.repairs),
        m.access,
    )


def test_causes_with_the_same_repair_are_not_told_apart() -> None:
    """Isolation is to the repair: a free test that would part them is no use."""
    m = matrix([1, 2, 3], [(1, 6), (3, 4)], costs=[5, 7], repairs=[RepairRow("a", 1, 0, 3), RepairRow("b", 2, 0, 4)])
    plan = Planner(m, isolate=True).plan()
    assert plan.first is not None and plan.first.number == 1
    assert plan.seconds == 7


def test_nothing_left_has_no_next_step() -> None:
    """Findings that contradict each other leave no cause: no step, no time, and nothing goes wrong."""
    m = matrix([1, 1, 1], [(1, 6), (2, 5)])
    first, second = m.tests[0].leaves[0], m.tests[1].leaves[0]
    for isolate in (False, True):
        plan = Planner(m, isolate).plan(first & second, done=3)
        assert (plan.seconds, plan.proved, plan.gap, plan.first) == (0, True, 0, None)
    assert Planner(m).in_order([0, 1], left=0) == 0
