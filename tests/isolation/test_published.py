"""Plans held against values that others published; the source stands beside each.

A letter of a code is a cause, a bit of it a test: expected seconds, with tests of a second, are code lengths.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations, permutations
from math import log2

import pytest

from kb.isolation.matrix import RepairRow
from kb.isolation.plan import Planner
from kb.isolation.states import States
from tests.isolation.made import ENOUGH, depth, isolated, least, matrix, union


def every_subset(n: int) -> list[tuple[int, ...]]:
    """A yes-or-no test for every way to part n causes in two."""
    whole = (1 << n) - 1
    return [(mask, whole ^ mask) for mask in range(1, 1 << (n - 1))]


def every_first(n: int) -> list[tuple[int, ...]]:
    """A yes-or-no test for the first causes, one to all but one."""
    whole = (1 << n) - 1
    return [((1 << k) - 1, whole ^ ((1 << k) - 1)) for k in range(1, n)]


HUFFMAN = [
    # Cormen, Leiserson, Rivest and Stein, Introduction to Algorithms, the figure of Huffman's algorithm.
    ([45, 13, 12, 16, 9, 5], 224),
    # Abelson and Sussman, Structure and Interpretation of Computer Programs, 2.3.4: the message of 18 letters in 42 bits.
    ([9, 3, 1, 1, 1, 1, 1, 1], 42),
    # Published example of an entropy of 2.171 bits coded in 2.2.
    ([40, 15, 15, 15, 15], 220),
    # MacKay, Information Theory, Inference, and Learning Algorithms, example 5.15: 2.30 (the same in Cover and Thomas).
    ([25, 25, 20, 15, 15], 230),
]


@pytest.mark.parametrize(("weights", "value"), HUFFMAN)
def test_with_a_test_for_every_subset_a_plan_is_huffmans_code(weights: list[int], value: int) -> None:
    assert isolated(matrix(weights, every_subset(len(weights)))) == value


def test_huffmans_own_thirteen_messages() -> None:
    """Huffman 1952, table I: 3.42 digits a message.

    Of the 4,095 subsets only twelve are tests here: the likeliest one, two, three. No choice from all subsets
    can beat all of them, and for weights in order these reach it (Hu and Tucker 1971): equality shows it.
    """
    weights = [20, 18, 10, 10, 10, 6, 6, 4, 4, 4, 4, 3, 1]
    assert isolated(matrix(weights, every_first(13))) == 342


def test_eight_letters_in_three_bits_each() -> None:
    """Abelson and Sussman, as above: three fixed bits a letter are 54 bits for weights of 18 in all."""
    bits = [(mask, 255 ^ mask) for mask in (0b01010101, 0b00110011, 0b00001111)]
    assert isolated(matrix([9, 3, 1, 1, 1, 1, 1, 1], bits)) == 54


def test_the_entropy_of_the_example_is_below_its_code() -> None:
    """.40 and four times .15: entropy 2.171 (published with the 2.2)."""
    weights = [40, 15, 15, 15, 15]
    entropy = -sum(w / 100 * log2(w / 100) for w in weights)
    assert round(entropy, 3) == 2.171
    assert entropy <= least(matrix(weights, every_subset(5)), isolate=True) < entropy + 1


def test_three_findings_a_test() -> None:
    """Cover and Thomas, Elements of Information Theory: .25 .25 .20 .15 .15 in 1.5 ternary digits (from memory)."""
    parts = [(a, b, 31 & ~a & ~b) for a in range(1, 32) for b in range(a + 1, 32) if not a & b and a | b != 31]
    assert isolated(matrix([25, 25, 20, 15, 15], parts)) == 150


# Search trees: keys k1 to k5 between gaps d0 to d5 as causes d0 k1 d1 k2 ... d5; a key's test: less, equal, more.

KEYS, GAPS = [15, 10, 5, 10, 20], [5, 10, 5, 5, 5, 10]  # Cormen and others, optimal search trees, in hundredths
SEARCHED = [GAPS[0], *(w for pair in zip(KEYS, GAPS[1:], strict=True) for w in pair)]
COMPARED = [((2 << 2 * k) - 1, 2 << 2 * k, 2047 & -(4 << 2 * k)) for k in range(5)]
# The book counts a comparison more for a search that ends in a gap: here the gap's repair.
ENDS = [RepairRow(f"r{i}", 1 - i % 2, 0, 1 << i) for i in range(11)]


def test_the_optimal_search_tree() -> None:
    """Cormen and others: 2.75 at best (also set as an examination question, UGC NET September 2013, III 41)."""
    assert least(matrix(SEARCHED, COMPARED, repairs=ENDS)) == Fraction(275, 100)


def test_a_search_tree_that_is_given() -> None:
    """Cormen and others: 2.80 with k2 on top, k1 and k4 below it, k3 and k5 at the ends."""
    planner = Planner(matrix(SEARCHED, COMPARED, repairs=ENDS), budget=ENOUGH)
    assert planner.in_order([1, 0, 3, 2, 4]) == Fraction(280, 100)
    assert planner.in_order([1, 0, 4, 3, 2]) == Fraction(275, 100)  # the book's optimal tree


def test_smiths_rule() -> None:
    """Kleinberg and Tardos, Algorithm Design, chapter 4, the photocopying exercise: times 1 and 3, weights 10 and 2.

    In this order 18, in the other 46.
    """
    repairs = [RepairRow("short", 1, 0, 1, True), RepairRow("long", 3, 0, 2, True)]
    plan = Planner(matrix([10, 2], [], repairs=repairs)).plan()
    assert plan.first is not None and plan.first.number == 0
    assert plan.seconds * 12 == 18
    assert in_turn([(3, 2), (1, 10)]) == 46


def in_turn(jobs: Sequence[tuple[int, int]]) -> int:
    """The weighted sum of completion times of (time, weight) in this order."""
    total = now = 0
    for time, weight in jobs:
        now += time
        total += weight * now
    return total


def test_smiths_rule_is_the_best_of_all_orders() -> None:
    """W. E. Smith 1956: by time over weight. Invented times and weights."""
    jobs = [(4, 3), (1, 2), (7, 9), (2, 1), (5, 5), (3, 3)]
    repairs = [RepairRow(f"r{i}", time, 0, 1 << i, True) for i, (time, _) in enumerate(jobs)]
    value = least(matrix([w for _, w in jobs], [], repairs=repairs)) * sum(w for _, w in jobs)
    assert value == min(map(in_turn, permutations(jobs)))
    assert value == in_turn(sorted(jobs, key=lambda j: Fraction(*j)))


def test_pattipati_and_alexandridis() -> None:
    """IEEE Transactions on Systems, Man and Cybernetics 20 (1990): 2.18 (from memory; computed exactly)."""
    rows = ["00000", "01001", "00110", "10011", "11000", "11110"]
    failing = [union(1 << i for i, row in enumerate(rows) if row[t] == "1") for t in range(5)]
    assert isolated(matrix([70, 1, 2, 10, 5, 12], [(mask, 63 ^ mask) for mask in failing])) == 218


def test_what_each_test_leaves_of_the_candidates() -> None:
    """Balakrishnan and Semmelbauer 1999: rows 0000 0001 0011 0111 1111, defect 3 on the bench.

    Tests 1, 2, 3 leave 1234, 123, 3; tests 2, 3 leave 123, 3.
    """
    rows = ["0000", "0001", "0011", "0111", "1111"]
    failing = [union(1 << i for i, row in enumerate(rows) if row[t] == "1") for t in range(4)]
    states = States(matrix([1] * 5, [(31 ^ mask, mask) for mask in failing]))

    def left(*tests: int) -> list[list[int]]:
        state, _ = states.start(31)
        found = []
        for test in tests:
            assert state is not None
            state, _ = states.leads(state, (1, 0, test - 1))[int(rows[2][test - 1])]
            found.append([i + 1 for i in range(5) if state and state[0] >> i & 1])
        return found

    assert left(1, 2, 3) == [[1, 2, 3, 4], [1, 2, 3], [3]]
    assert left(2, 3) == [[1, 2, 3], [3]]


@pytest.mark.parametrize("coins", [8, 9])
def test_one_heavy_coin_in_two_weighings(coins: int) -> None:
    """A heavy coin among 8 or 9, two weighings at worst (an old puzzle, published in many places).

    Tests are all weighings of some coins against as many others; of nine coins, only of one or three: fewer
    tests can't make the worst case better, and one weighing with its three findings never does.
    """
    whole = (1 << coins) - 1
    weighings = []
    for size in range(1, 5) if coins == 8 else (1, 3):
        for pan in combinations(range(coins), size):
            others = [c for c in range(pan[0] + 1, coins) if c not in pan]
            for other in combinations(others, size):
                a, b = union(1 << c for c in pan), union(1 << c for c in other)
                weighings.append((a, b, whole & ~a & ~b))
    plan = Planner(matrix([1] * coins, weighings), isolate=True, budget=ENOUGH).plan()
    assert plan.proved
    assert depth(plan.first) == 2
