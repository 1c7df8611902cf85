"""The game of guessing a code of places and colours, as fault isolation: codes are causes, guesses are tests.

What a guess is answered with, places right and colours right elsewhere, is a test's finding. Published totals
over all codes hold the masks of findings, and on small boards the planner.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import cache
from itertools import product

import numpy as np
import pytest

from kb.isolation.matrix import Matrix, RepairRow, TestRow
from tests.isolation.made import least

Parts = Sequence[int]  # how many codes each answer leaves


def guesses(places: int, colours: int) -> list[TestRow]:
    """A test for each code as a guess, in order; its first finding is that the guess is the code."""
    codes = np.array(list(product(range(colours), repeat=places)), np.int8)
    of_colour = np.stack([(codes == c).sum(1, dtype=np.int8) for c in range(colours)], 1)
    rows = []
    for number, guess in enumerate(codes):
        right = (codes == guess).sum(1)
        anywhere = np.minimum(of_colour, of_colour[number]).sum(1)
        told = right * (places + 1) + anywhere
        leaves = [_mask(told == answer) for answer in np.unique(told)[::-1]]  # all places right is the greatest
        rows.append(TestRow("".join(map(str, guess)), 0, 1 << number, tuple(leaves)))
    return rows


def _mask(codes: np.ndarray) -> int:
    return int.from_bytes(np.packbits(codes, bitorder="little").tobytes(), "little")


@cache
def board() -> list[TestRow]:
    """Four places, six colours: 1,296 codes."""
    return guesses(4, 6)


@cache
def product_of_powers(n: int) -> int:
    return n**n


def information(parts: Parts) -> int:
    """n to the nth of all parts multiplied: the less, the more information; whole numbers, so that ties are ties."""
    found = 1
    for n in parts:
        found *= product_of_powers(n)
    return found


# Rule, how many codes are found with the first, second ... guess. The totals over 1,296 codes are 5801, 5696,
# 5722 and 5668: Knuth 1976 (The Computer as Master Mind), Irving 1978, Neuwirth 1982, Kooi 2005 (Yet Another
# Mastermind Strategy, which compares the four).
RULES: list[tuple[str, Callable[[Parts], int], list[int], int]] = [
    ("smallest worst part", max, [1, 6, 62, 533, 694], 5801),
    ("smallest expected part", lambda parts: sum(n * n for n in parts), [1, 10, 54, 645, 583, 3], 5696),
    ("most information", information, [1, 4, 71, 612, 596, 12], 5722),
    ("most parts", lambda parts: -len(parts), [1, 12, 72, 635, 569, 7], 5668),
]


def next_guess(left: int, rule: Callable[[Parts], int]) -> TestRow:
    """The guess with the least by a rule; of equals one that is still possible, then the lowest."""
    if left.bit_count() < 3:  # the lowest possible code tells the other from itself
        return board()[(left & -left).bit_length() - 1]
    best: tuple[int, bool] | None = None
    chosen = board()[0]
    for row in board():
        parts = [n for mask in row.leaves if (n := (mask & left).bit_count())]
        found = rule(parts), not row.leaves[0] & left
        if best is None or found < best:
            best, chosen = found, row
    return chosen


def found_with(left: int, rule: Callable[[Parts], int], nth: int, counts: Counter[int]) -> None:
    """How many codes left are found with which guess, when `nth` is the next."""
    guess = next_guess(left, rule)
    right, *others = guess.leaves
    counts[nth] += (right & left).bit_count()
    for mask in others:
        if mask & left:
            found_with(mask & left, rule, nth + 1, counts)


@pytest.mark.parametrize(("rule", "counts", "total"), [r[1:] for r in RULES], ids=[r[0] for r in RULES])
def test_greedy_rules_on_findings_masks(rule: Callable[[Parts], int], counts: list[int], total: int) -> None:
    found: Counter[int] = Counter()
    found_with((1 << 1296) - 1, rule, 1, found)
    assert [found[n] for n in sorted(found)] == counts
    assert sum(n * count for n, count in found.items()) == total


def game(places: int, colours: int) -> Matrix:
    """A game whose least expected guesses are a plan's seconds.

    To guess a code, as a test or in the end as a repair, takes an access of its own: a second, paid once.
    """
    tests = guesses(places, colours)
    n = len(tests)
    repairs = tuple(RepairRow(f"r{i}", 0, 1 << i, 1 << i) for i in range(n))
    return Matrix(tuple(t.id for t in tests), (1,) * n, tuple(tests), repairs, (1,) * n)


# Least total of guesses over all codes, from memory (Goddard 2004, Mastermind Revisited, gives averages).
SMALL = [((2, 2), 8), ((2, 3), 21), ((2, 4), 45), ((2, 5), 81), ((3, 2), 18), ((3, 3), 73)]


@pytest.mark.parametrize(("size", "total"), SMALL)
def test_the_least_on_small_boards(size: tuple[int, int], total: int) -> None:
    places, colours = size
    assert least(game(places, colours)) == Fraction(total, colours**places)
